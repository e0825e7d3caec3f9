// Tags: printed ones read back by a scanner that isn't ours, scanned with the camera, typed on the large keys; racks.

import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, describe, test } from 'node:test';
import {
  SCHEMES, SITE, SIZES, accessibilityFaults, overflow, signedIn, smallTargets, startService, the, visit,
} from './kit.mjs';

let service;
let shop;
let folder;
before(async () => {
  service = await startService();
  shop = `${service.base}/s/${SITE}`;
  folder = mkdtempSync(join(tmpdir(), 'counterclock-tags-'));
});
after(() => rmSync(folder, { recursive: true, force: true }));

/** What a scanner reads from what the page shows, in the order of the alphabet. */
async function scanned(page, name) {
  const path = join(folder, `${name}.png`);
  await page.locator('.sheet').screenshot({ path });
  const read = execFileSync('zbarimg', ['--quiet', '--raw', path], { encoding: 'utf8' });
  return read.trim().split('\n').sort();
}

/** The tags' codes as they stand in addresses. */
async function codes(page) {
  return (await page.locator('.sheet .code').allInnerTexts()).map((c) => c.replace('-', ''));
}

async function click(page, locator) {
  await Promise.all([page.waitForEvent('load'), locator.click()]);
}

async function newSheet(page, count) {
  await page.goto(`${shop}/tags`);
  await page.fill('input[name=count]', String(count));
  await click(page, page.locator('main button.main'));
}

describe('a printed sheet', () => {
  for (const [name, options, media] of [
    ['on a phone', { size: SIZES[0] }, 'screen'],
    ['in the dark', { size: SIZES[2], scheme: 'dark' }, 'screen'],
    ['on paper', { size: SIZES[2], script: false }, 'print'],
  ]) {
    test(`is read back ${name}`, async () => {
      const { page, trouble, close } = await signedIn(service, options);
      await newSheet(page, 6);
      await page.emulateMedia({ media });
      const all = await codes(page);
      assert.equal(all.length, 6);
      const wanted = all.map((code) => `${service.base}/t/${code}`).sort();
      assert.deepEqual(await scanned(page, name.replaceAll(' ', '-')), wanted);
      assert.deepEqual(trouble, []);
      await close();
    });
  }
});

test('from the code that was read to the item, out and back', async () => {
  const { page, trouble, close } = await signedIn(service, { size: SIZES[0], script: false });
  await newSheet(page, 1);
  const [address] = await scanned(page, 'one');
  await page.goto(address);
  assert.match(page.url(), /\/tags\//, 'a new tag is on nothing');
  // Something that is cold now.
  await page.goto(`${shop}/`);
  const cold = page.locator(the.coldRows).filter({ has: page.locator(the.move) }).first();
  const item = await cold.locator(the.itemLink).evaluate((a) => a.href);
  const id = item.split('/').pop();
  await page.goto(address);
  await click(page, page.locator(`button[name=item][value="${id}"]`));
  for (const then of ['out', 'back']) {
    await page.goto(address);
    assert.equal(new URL(page.url()).pathname, new URL(item).pathname, 'the tag leads to its item');
    const was = (await page.locator(the.where).innerText()).split('·')[0];
    await click(page, page.locator(the.action));
    const is = (await page.locator(the.where).innerText()).split('·')[0];
    assert.notEqual(is, was, `${then} with one touch`);
  }
  assert.deepEqual(trouble, []);
  await close();
});

describe('the page that scans', () => {
  /** A tag of the demo's sheet that is on something, and where it leads. */
  async function tied(page) {
    await page.goto(`${shop}/sheets/demo`);
    const [code] = await codes(page);
    await page.goto(`${service.base}/t/${code}`);
    return [code, page.url()];
  }

  test('reads with the camera', async () => {
    const { page, trouble, close } = await signedIn(service, { size: SIZES[0] });
    const [code, leads] = await tied(page);
    await page.context().grantPermissions(['camera'], { origin: service.base });
    // This browser has no reader of codes, so it is given one; the camera's picture is its own.
    await page.addInitScript((text) => {
      let looks = 0;
      globalThis.BarcodeDetector = class {
        async detect(view) {
          if (view.videoWidth === 0) return [];
          looks += 1;
          return [[], [{ rawValue: 'https://elsewhere.example/' }], [{ rawValue: text }]][Math.min(looks - 1, 2)];
        }
      };
    }, `https://elsewhere.example/t/${code}`);
    await page.goto(`${shop}/scan`);
    const button = page.locator('#camera button');
    await button.waitFor();
    await Promise.all([page.waitForURL(leads), button.click()]);
    assert.deepEqual(trouble, []);
    await close();
  });

  test('says so where the camera is refused', async () => {
    const { page, close } = await signedIn(service, { size: SIZES[0] });
    await page.addInitScript(() => {
      globalThis.BarcodeDetector = class {};
      navigator.mediaDevices.getUserMedia = () => Promise.reject(new Error('refused'));
    });
    await page.goto(`${shop}/scan`);
    await page.locator('#camera button').click();
    await page.locator('#said', { hasText: 'can’t be used' }).waitFor();
    await close();
  });

  for (const script of [true, false]) {
    test(`takes the large keys ${script ? 'at once' : 'without script'}`, async () => {
      const { page, trouble, close } = await signedIn(service, { size: SIZES[0], script });
      const [code, leads] = await tied(page);
      await page.goto(`${shop}/scan`);
      assert.equal(await page.locator('#camera').isVisible(), false, 'without a reader of codes there is no camera');
      const key = (k) => page.locator(`#keys button[value="${k}"]`).first();
      await key('Z').click();
      await key('back').click();
      for (const k of code) await key(k).click();
      await page.waitForURL(leads);
      assert.deepEqual(trouble, []);
      await close();
    });
  }

  for (const script of [true, false]) {
    test(`ties what was typed to the item it was opened for${script ? '' : ', without script'}`, async () => {
      const { page, trouble, close } = await signedIn(service, { size: SIZES[0], script });
      await newSheet(page, 1);
      const [code] = await codes(page);
      await page.goto(`${shop}/`);
      const item = await page.locator(`main ${the.itemLink}`).first().evaluate((a) => a.href);
      await page.goto(`${shop}/scan?item=${item.split('/').pop()}`);
      for (const k of code) await page.locator(`#keys button[value="${k}"]`).first().click();
      if (!script) await page.locator('#send button.main').click();
      await page.waitForURL(/said=tied/);
      await page.goto(`${service.base}/t/${code}`);
      assert.equal(new URL(page.url()).pathname, new URL(item).pathname);
      assert.deepEqual(trouble, []);
      await close();
    });
  }

  test('fills a rack with the camera, label after label', async () => {
    const { page, trouble, close } = await signedIn(service, { size: SIZES[0] });
    await newSheet(page, 3);
    const labels = await codes(page);
    await page.goto(`${shop}/`);
    const cold = page.locator(`${the.coldRows} ${the.itemLink}`);
    const ids = (await cold.evaluateAll((all) => all.map((a) => a.href.split('/').pop()))).slice(0, 3);
    for (const [n, id] of ids.entries()) {
      await page.goto(`${shop}/items/${id}/tag`);
      await page.fill('input[name=code]', labels[n]);
      await click(page, page.locator('main button.main'));
      if (await page.locator('button[name=before]').count()) await click(page, page.locator('button[value=stays]'));
    }
    await page.goto(`${shop}/racks`);
    await page.fill('input[name=name]', 'Shelf 9');
    await click(page, page.locator('main button.main'));
    const rack = page.url().split('/').pop();
    await page.context().grantPermissions(['camera'], { origin: service.base });
    // Each label lies under the camera a moment longer than it takes to read it.
    await page.addInitScript((all) => {
      globalThis.BarcodeDetector = class {
        async detect(view) {
          if (view.videoWidth === 0) return [];
          const before = all.indexOf(document.querySelector('.scan').dataset.last);
          globalThis.looks = (globalThis.looks ?? 0) + 1;
          const at = globalThis.looks < 3 ? Math.max(before, 0) : before + 1;
          return all[at] ? [{ rawValue: `http://shop/t/${all[at]}` }] : [];
        }
      };
    }, labels);
    await page.goto(`${shop}/scan?rack=${rack}`);
    await page.locator('#camera button').click();
    await page.locator('[role=status]', { hasText: '3 in all' }).waitFor();
    await page.goto(`${shop}/racks/${rack}`);
    assert.equal(await page.locator('section[aria-labelledby=on] li').count(), 3);
    assert.deepEqual(trouble, []);
    await close();
  });
});

test('a rack goes with one touch', async () => {
  const { page, trouble, close } = await signedIn(service, { size: SIZES[0] });
  await page.goto(`${shop}/racks`);
  await page.fill('input[name=name]', 'Trolley');
  await click(page, page.locator('main button.main'));
  const rows = page.locator('section[aria-labelledby=put] .pick', { hasText: 'Walk-in' });
  for (let n = 0; n < 3; n += 1) await rows.nth(n).click();
  await click(page, page.locator('.stay button'));
  assert.equal(await page.locator('section[aria-labelledby=on] li').count(), 3);
  await click(page, page.locator('.acts button.main'));
  await page.locator('[role=status]', { hasText: '3 items moved' }).waitFor();
  // Marked with one touch, each with its own time.
  await click(page, page.locator('main .marks button[value=written]'));
  await page.locator('[role=status]', { hasText: '3 items marked' }).waitFor();
  await page.locator('summary', { hasText: 'Temperature' }).click();
  await page.fill('input[name=value]', '4.5');
  await page.locator('.acts .pick').first().click();
  await click(page, page.locator('.acts details button', { hasText: 'Record it for all' }));
  await page.locator('[role=status]', { hasText: 'for 3 items' }).waitFor();
  // The wrong rack: taken back with one touch.
  const where = await page.locator('main .where').innerText();
  await click(page, page.locator('.acts button.main'));
  await page.locator('[role=status]', { hasText: '3 items moved' }).waitFor();
  assert.notEqual(await page.locator('main .where').innerText(), where);
  await click(page, page.locator('.notice button'));
  await page.locator('[role=status]', { hasText: 'Taken back' }).waitFor();
  assert.equal(await page.locator('main .where').innerText(), where);
  assert.deepEqual(trouble, []);
  await close();
});

describe('every screen of tags and racks', () => {
  for (const scheme of SCHEMES) {
    for (const size of SIZES) {
      test(`${scheme}, ${size.width}x${size.height}`, async (t) => {
        const { page, trouble, close } = await signedIn(service, { size, scheme });
        await page.goto(`${shop}/sheets/demo`);
        const [onItem, , free] = await codes(page);
        const [item] = await Promise.all([page.goto(`${service.base}/t/${onItem}`).then(() => page.url())]);
        const screens = ['scan', 'scan?rack=rack-4', 'tags', 'sheets/demo', `tags/${onItem}`, `tags/${free}`, 'racks', 'racks/rack-4'];
        const addresses = [...screens.map((s) => `${shop}/${s}`), `${item}/tag`];
        for (const address of addresses) {
          await t.test(new URL(address).pathname.split('/').slice(3).join('/'), async () => {
            trouble.length = 0;
            await visit(page, { address, status: 200 });
            await page.evaluate(() => { for (const d of document.querySelectorAll('details')) d.open = true; });
            assert.deepEqual(await accessibilityFaults(page, scheme), [], 'axe-core finds nothing');
            assert.deepEqual(await overflow(page), [], 'nothing is wider than the window');
            assert.deepEqual(await smallTargets(page), [], 'everything can be hit with a thumb');
            assert.deepEqual(trouble, [], 'the console is silent and everything was loaded');
          });
        }
        await close();
      });
    }
  }
});
