// Pictures of every screen at each size and in both schemes:
//   COUNTERCLOCK_BINARY=target/debug/counterclock node tests/browser/screenshots.mjs OUTDIR

import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { SCHEMES, SITE, SIZES, screens, signedIn, startService, tidy, visit } from './kit.mjs';

const folder = process.argv[2];
if (!folder) {
  console.error('screenshots.mjs OUTDIR');
  process.exit(2);
}
mkdirSync(folder, { recursive: true });
try {
  const service = await startService();
  // A screen on the wall, and what is meant for it.
  const wall = { width: 1920, height: 1080 };
  for (const size of [...SIZES, wall]) {
    for (const scheme of SCHEMES) {
      const { page, close } = await signedIn(service, { size, scheme });
      const far = { name: 'wall', address: `${service.base}/s/${SITE}/wall`, status: 200 };
      for (const screen of size === wall ? [far] : await screens(service, page)) {
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
