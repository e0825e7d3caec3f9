// The main job as a person does it, and what every screen must keep.
// Guards against S-23, S-53 of SAFETY.md.

import assert from 'node:assert/strict';
import { readFile } from 'node:fs/promises';
import { before, describe, test } from 'node:test';
import {
  SCHEMES, SITE, SIZES, accessibilityFaults, openWindow, overflow, screens, signedIn, smallTargets, startService, the,
  visit,
} from './kit.mjs';

let service;
before(async () => { service = await startService(); });

/** `1:02:05` in seconds. */
function seconds(text) {
  const parts = text.trim().match(/^(\d+):(\d\d):(\d\d)$/);
  assert.ok(parts, `${JSON.stringify(text)} is a length like 1:02:05`);
  return Number(parts[1]) * 3600 + Number(parts[2]) * 60 + Number(parts[3]);
}

/** At that address, whatever the question mark brings: a page may be told what just happened. */
function at(address) {
  return (url) => new URL(url).pathname === new URL(address).pathname;
}

/** The lines of an item's page add up to the total it shows, to the second; the total in seconds. */
async function addsUp(page) {
  const lines = (await page.locator(the.lengths).allInnerTexts()).map(seconds);
  const total = seconds(await page.locator(the.total).innerText());
  assert.ok(lines.length > 0, 'at least one line is shown');
  assert.equal(lines.reduce((a, b) => a + b, 0), total, `${lines.join(' + ')} = ${total}`);
  return total;
}

async function mainJob(options) {
  const { page, trouble, close } = await signedIn(service, options);
  const board = `${service.base}/s/${SITE}/`;
  assert.ok(at(board)(page.url()), 'the printed address leads to the board');
  assert.ok(await page.locator(the.row).count() >= 5, 'the board lists items');

  // Out with one tap.
  const row = page.locator(the.coldRows).filter({ has: page.locator(the.move) }).first();
  const link = row.locator(the.itemLink);
  const [name, address] = [await link.innerText(), await link.evaluate((a) => a.href)];
  const id = decodeURIComponent(address.split('/').pop());
  await Promise.all([page.waitForEvent('load'), row.locator(the.move).click()]);
  assert.ok(at(board)(page.url()), `${page.url()} is the board`);
  const moved = page.locator(the.row).filter({ has: page.locator(`a[href$="items/${id}"]`) });
  await moved.waitFor();
  assert.equal(await page.locator(the.coldRows).filter({ has: page.locator(`a[href$="items/${id}"]`) }).count(), 0,
    `${name} is no longer among what is cold`);

  // How long, and until when.
  await Promise.all([page.waitForEvent('load'), moved.locator(the.itemLink).click()]);
  assert.ok(at(address)(page.url()), `${page.url()} is the item's page`);
  assert.match(await page.locator(the.lead).innerText(), /discard by/i);
  assert.match(await page.locator(the.big).innerText(), /^\d\d:\d\d$/, 'the large figure is a clock time');
  const out = await addsUp(page);
  const outPlace = await page.locator(the.where).innerText();

  // Back again.
  await Promise.all([page.waitForEvent('load'), page.locator(the.action).click()]);
  assert.ok(at(address)(page.url()), `${page.url()} is the item's page`);
  assert.notEqual((await page.locator(the.where).innerText()).split('·')[0], outPlace.split('·')[0], 'it stands elsewhere');
  const back = await addsUp(page);
  assert.ok(back >= out, 'being put back takes nothing off the time out');
  await page.goto(board);
  assert.equal(await page.locator(the.coldRows).filter({ has: page.locator(`a[href$="items/${id}"]`) }).count(), 1,
    `${name} is cold again`);

  // And the log.
  const [download] = await Promise.all([page.waitForEvent('download'), page.locator(the.csvToday).first().click()]);
  assert.match(download.suggestedFilename(), /\.csv$/);
  const log = await readFile(await download.path(), 'utf8');
  assert.ok(log.includes(id), `the log of today names ${id}`);

  assert.deepEqual(trouble, []);
  await close();
}

describe('the main job', () => {
  for (const size of [SIZES[0], SIZES[2]]) {
    test(`at ${size.width}x${size.height}`, () => mainJob({ size }));
  }
  test('with JavaScript off', () => mainJob({ script: false }));
});

test('nobody reads a shop without signing in', async () => {
  const { page, close } = await openWindow();
  const response = await page.goto(`${service.base}/s/${SITE}/`);
  const there = new URL(page.url()).pathname;
  assert.ok(response.status() === 401 || there.endsWith('/sign-in'), `${response.status()} at ${there}`);
  assert.equal(await page.locator(the.row).count(), 0);
  await close();
});

describe('every screen', () => {
  for (const scheme of SCHEMES) {
    for (const size of SIZES) {
      test(`${scheme}, ${size.width}x${size.height}`, async (t) => {
        const { page, trouble, close } = await signedIn(service, { size, scheme });
        for (const screen of await screens(service, page)) {
          await t.test(screen.name, async () => {
            trouble.length = 0;
            const response = await visit(page, screen);
            const policy = response.headers()['content-security-policy'] ?? '';
            assert.match(policy, /default-src/, 'a content security policy is sent');
            assert.doesNotMatch(policy, /unsafe-/);
            // What is folded away is looked at too.
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
