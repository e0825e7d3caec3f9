// Labels: what the page shows and what the browser prints, read back by a scanner that isn't ours.

import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, describe, test } from 'node:test';
import { SCHEMES, SITE, SIZES, overflow, signedIn, startService } from './kit.mjs';

let service;
let shop;
let folder;
before(async () => {
  service = await startService();
  shop = `${service.base}/s/${SITE}`;
  folder = mkdtempSync(join(tmpdir(), 'counterclock-labels-'));
});
after(() => rmSync(folder, { recursive: true, force: true }));

const scan = (path) => execFileSync('zbarimg', ['--quiet', '--raw', path], { encoding: 'utf8' }).trim();

/** Prints the page as the browser does, and answers its pages' sizes in points and the codes on them. */
async function printed(page, name) {
  const path = join(folder, `${name}.pdf`);
  writeFileSync(path, await page.pdf({ preferCSSPageSize: true }));
  const info = execFileSync('pdfinfo', [path], { encoding: 'utf8' });
  execFileSync('pdftoppm', ['-r', '203', '-gray', path, join(folder, name)]);
  const pages = readdirSync(folder).filter((f) => f.startsWith(`${name}-`) && f.endsWith('.pgm'));
  const size = info.match(/Page size: +([\d.]+) x ([\d.]+)/).slice(1).map(Number);
  return { count: pages.length, size, codes: pages.map((f) => scan(join(folder, f))) };
}

describe('a label', () => {
  for (const [i, scheme] of SCHEMES.entries()) {
    test(`is made with one touch and its code reads, ${scheme}`, async () => {
      const { page, trouble, close } = await signedIn(service, { size: SIZES[0], scheme, script: i === 0 });
      await page.goto(`${shop}/`);
      // Something that is out: the first whose page offers a print.
      const items = await page.locator('main h3 a').evaluateAll((links) => links.map((a) => a.href));
      let item;
      for (const address of items) {
        await page.goto(address);
        if (await page.locator('.mark button[value=printed]').count() > 0) { item = address; break; }
      }
      assert.ok(item, 'nothing on the board can be marked');
      const by = (await page.locator('.mark legend').innerText()).match(/\d\d:\d\d$/)[0];
      await Promise.all([page.waitForEvent('load'), page.locator('.mark button[value=printed]').click()]);
      assert.match(page.url(), /\/label\?/);
      assert.equal(await page.locator('.ticket .time').innerText(), by);
      const picture = join(folder, `ticket-${scheme}.png`);
      await page.locator('.ticket').screenshot({ path: picture });
      assert.equal(scan(picture), item);
      assert.deepEqual(await overflow(page), []);
      // 57 mm, A4 (ISO 216) and Letter (ANSI/ASME Y14.1), in points of 1/72 in; a browser rounds to whole pixels.
      for (const [size, wide, high] of [['57mm', 161.6, null], ['a4', 595.3, 841.9], ['letter', 612, 792]]) {
        await page.goto(`${item}/label?size=${size}`);
        const on = await printed(page, `${size}-${scheme}`);
        assert.equal(on.count, 1, size);
        assert.ok(Math.abs(on.size[0] - wide) < 1 && (high === null || Math.abs(on.size[1] - high) < 1), `${size}: ${on.size}`);
        assert.deepEqual(on.codes, [item], size);
      }
      assert.deepEqual(trouble, []);
      await close();
    });
  }

  test('of several things comes as one PDF', async () => {
    const { page, trouble, close } = await signedIn(service, { size: SIZES[1] });
    await page.goto(`${shop}/labels`);
    const ticks = page.locator('[name=items]');
    const ids = [];
    for (const n of [0, 1, 2]) {
      await ticks.nth(n).check();
      ids.push(await ticks.nth(n).getAttribute('value'));
    }
    const query = new URLSearchParams([...ids.map((id) => ['items', id]), ['size', 'letter']]);
    const answer = await page.request.get(`${shop}/labels.pdf?${query}`);
    assert.equal(answer.headers()['content-type'], 'application/pdf');
    assert.equal((await answer.body()).subarray(0, 5).toString(), '%PDF-');
    assert.deepEqual(trouble, []);
    await close();
  });
});
