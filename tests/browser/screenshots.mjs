// Pictures of every screen at each size and in both schemes:
//   COUNTERCLOCK_BINARY=target/debug/counterclock node tests/browser/screenshots.mjs OUTDIR

import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { SCHEMES, SIZES, screens, signedIn, startService, tidy, visit } from './kit.mjs';

const folder = process.argv[2];
if (!folder) {
  console.error('screenshots.mjs OUTDIR');
  process.exit(2);
}
mkdirSync(folder, { recursive: true });
try {
  const service = await startService();
  for (const size of SIZES) {
    for (const scheme of SCHEMES) {
      const { page, close } = await signedIn(service, { size, scheme });
      for (const screen of await screens(service, page)) {
        await visit(page, screen);
        const file = join(folder, `${screen.name}-${size.width}x${size.height}-${scheme}.png`);
        await page.screenshot({ path: file, fullPage: true });
        console.log(file);
      }
      await close();
    }
  }
} finally {
  await tidy();
}
