// A power cut at four in the morning: from the board to recorded and over, with a thumb, while another screen looks on.
// Guards against S-39 of SAFETY.md.

import assert from 'node:assert/strict';
import { before, test } from 'node:test';
import { SITE, SIZES, signedIn, startService } from './kit.mjs';

let service;
before(async () => { service = await startService(); });

test('a power cut in four touches and one time, without script, and the wall shows it', async () => {
  const board = `${service.base}/s/${SITE}/`;
  const { page, trouble, close } = await signedIn(service, { script: false });
  const other = await signedIn(service, { size: SIZES[2] });
  await other.page.goto(`${board}wall`);
  const failing = other.page.locator('.cold-says', { hasText: 'without its cold' });
  assert.equal(await failing.count(), 0);

  let touches = 0;
  const touch = async (what) => {
    touches += 1;
    await Promise.all([page.waitForEvent('load'), what.first().tap()]);
  };
  await touch(page.locator('main a[href$="/cold"]'));
  const places = await page.locator('input[name=place]:checked').count();
  assert.ok(places >= 4, `${places} cold places are ticked`);
  assert.equal(await page.locator('.failed').count(), 0);
  // Ten minutes ago, by the shop's own clock, or midnight.
  const [, h, m] = (await page.locator('.asof').innerText()).match(/(\d\d):(\d\d)/);
  const minutes = Math.max(0, Number(h) * 60 + Number(m) - 10);
  const since = [minutes / 60, minutes % 60].map((n) => String(Math.floor(n)).padStart(2, '0')).join(':');
  await page.locator('input[name=at]').fill(since);

  await touch(page.getByRole('button', { name: 'Show what this means' }));
  assert.equal(await page.locator('.spans li', { hasText: since }).count(), places);
  const affected = await page.locator('table.affected tbody tr').count();
  assert.ok(affected >= 5, `${affected} items are affected`);
  assert.equal(await page.locator('table.grid tr.here').count(), 1);
  assert.equal(await failing.count(), 0, 'nothing is recorded yet');

  await touch(page.getByRole('button', { name: /^Record it/ }));
  assert.equal(await page.locator('.failed').count(), places);
  await failing.first().waitFor();
  const said = await other.page.locator('.cold-says').allInnerTexts();
  assert.match(said.at(-1), new RegExp(`^${places - 2} more places`), `the wall says so by itself: ${said}`);

  await touch(page.getByRole('button', { name: new RegExp(`^All ${places} cold again`) }));
  assert.equal(await page.locator('.failed').count(), 0);
  await failing.first().waitFor({ state: 'detached' });
  assert.equal(touches, 4);
  assert.deepEqual([trouble, other.trouble], [[], []]);
  await other.close();
  await close();
});
