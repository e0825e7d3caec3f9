// People: from an empty database to the first move, the PIN at the bench, and every screen on the way.

import assert from 'node:assert/strict';
import { before, describe, test } from 'node:test';
import {
  ELSEWHERE, PASSWORD, SCHEMES, SITE, SIZES, accessibilityFaults, fill, openWindow, overflow, setUp, signedIn, smallTargets,
  startService, tap, the,
} from './kit.mjs';

/** What every screen must keep. */
async function keeps(page, trouble) {
  await page.evaluate(() => { for (const d of document.querySelectorAll('details')) d.open = true; });
  assert.deepEqual(await accessibilityFaults(page), [], `axe-core finds nothing on ${page.url()}`);
  assert.deepEqual(await overflow(page), [], `nothing is wider than the window on ${page.url()}`);
  assert.deepEqual(await smallTargets(page), [], `everything can be hit with a thumb on ${page.url()}`);
  assert.deepEqual(trouble, [], 'the console is silent and everything was loaded');
}

describe('the first run', () => {
  for (const script of [true, false]) {
    test(`from the printed address to the first move, script ${script ? 'on' : 'off'}`, async () => {
      const service = await startService({ demo: false });
      const { page, trouble, close } = await openWindow({ script });
      await setUp(service, page, { shop: '"Törtchen" <b>& Söhne</b>' });
      assert.equal(new URL(page.url()).pathname, `/s/${SITE}/`);
      assert.match(await page.locator('footer').innerText(), /"Törtchen" <b>& Söhne<\/b>/);
      await page.getByRole('link', { name: 'New item' }).click();
      await fill(page, { 'Layer cake': true, Bench: true });
      await tap(page, 'Begin');
      await Promise.all([page.waitForEvent('load'), page.locator(the.action).click()]);
      assert.match(await page.locator(the.where).innerText(), /Fridge/);
      assert.match(await page.locator('ol.log').innerText(), /by Noor/);
      // The address was good once.
      const again = await page.goto(service.signIn);
      assert.equal(again.status(), 410);
      assert.deepEqual(trouble, []);
      await close();
      await service.stop();
    });
  }

  for (const scheme of SCHEMES) {
    test(`every step, ${scheme}`, async () => {
      const service = await startService({ demo: false });
      const { page, trouble, close } = await openWindow({ size: SIZES[0], scheme });
      await page.goto(service.signIn);
      await keeps(page, trouble);
      await fill(page, { 'Its name': 'A', 'Its time zone': 'Europe/London', 'Somewhere else': true });
      for (let step = 0; step < 4; step += 1) {
        await tap(page, 'Next');
        await keeps(page, trouble);
      }
      await close();
      await service.stop();
    });
  }
});

describe('at the bench', () => {
  let service;
  let office;
  before(async () => {
    service = await startService({ demo: false });
    office = await openWindow({ size: SIZES[2] });
    await setUp(service, office.page);
  });

  /** Adds somebody with a PIN. */
  async function add(name, pin) {
    await office.page.goto(`${service.base}/s/${SITE}/people`);
    await office.page.locator('main form').first().getByLabel('Name').fill(name);
    await office.page.locator('main form').first().getByLabel('PIN').fill(pin);
    await tap(office.page, 'Add');
    return office.page;
  }

  /** A window on a device that was enrolled by its code. */
  async function enrolled(name, options) {
    await office.page.goto(`${service.base}/s/${SITE}/devices`);
    await office.page.getByLabel('Its name').fill(name);
    await tap(office.page, 'Make a code for it');
    const code = await office.page.locator('#the-code').innerText();
    const window = await openWindow(options);
    await window.page.goto(`${service.base}/enrol`);
    await window.page.getByLabel('Code').fill(code.toLowerCase());
    await tap(window.page, 'Enrol this device');
    return window;
  }

  test('a PIN, and then by name alone', async () => {
    const refused = await add('Ada "O’Hara" <i>أمينة</i> 🧁', '12ab');
    assert.match(await refused.getByRole('alert').first().innerText(), /4 to 6 digits/);
    assert.equal(await refused.locator('main form').first().getByLabel('Name').inputValue(), 'Ada "O’Hara" <i>أمينة</i> 🧁');
    await refused.locator('main form').first().getByLabel('PIN').fill('4711');
    await tap(refused, 'Add');
    await add('Ben', '20815');
    for (const scheme of SCHEMES) {
      const { page, trouble, close } = await enrolled(`phone, ${scheme}`, { scheme });
      await keeps(page, trouble);
      await tap(page, /Ada/);
      await keeps(page, trouble);
      // The large keys, as a wet finger hits them.
      for (const key of ['4', '7', '1', '2']) await page.getByRole('button', { name: key, exact: true }).click();
      await page.getByRole('button', { name: 'Delete last' }).click();
      await page.getByRole('button', { name: '1', exact: true }).click();
      await tap(page, 'Sign in');
      assert.equal(new URL(page.url()).pathname, `/s/${SITE}/`);
      await keeps(page, trouble);
      await page.getByRole('link', { name: /somebody else/ }).click();
      await tap(page, /Ben/);
      await page.locator('input[name=pin]').fill('2081x');
      await tap(page, 'Sign in');
      assert.match(await page.getByRole('alert').first().innerText(), /4 to 6 digits, 0 to 9, and nothing else/);
      trouble.length = 0;
      await page.locator('input[name=pin]').fill('20815');
      await tap(page, 'Sign in');
      await page.getByRole('link', { name: /somebody else/ }).click();
      assert.match(await page.getByRole('button', { name: /Ada/ }).innerText(), /no PIN until (.+, )?\d\d:\d\d/);
      await keeps(page, trouble);
      await tap(page, /Ada/);
      assert.equal(new URL(page.url()).pathname, `/s/${SITE}/`);
      assert.match(await page.locator('.top .person').innerText(), /Ada/);
      assert.deepEqual(trouble, []);
      await close();
    }
  });

  test('without script', async () => {
    const { page, close } = await enrolled('old tablet', { script: false });
    await tap(page, /Ben/);
    await page.locator('input[name=pin]').fill('20815');
    await tap(page, 'Sign in');
    assert.equal(new URL(page.url()).pathname, `/s/${SITE}/`);
    await tap(page, 'Sign out');
    assert.match(await page.getByRole('button', { name: /Ben/ }).innerText(), /with PIN/);
    await close();
  });

  test('a manager’s password on another machine', async () => {
    const { page, trouble, close } = await openWindow();
    await page.goto(`${service.base}/s/${SITE}/people`);
    await fill(page, { 'Your name': 'noor', 'Your password': PASSWORD });
    await tap(page, 'Sign in');
    assert.equal(new URL(page.url()).pathname, `/s/${SITE}/people`);
    await keeps(page, trouble);
    await page.goto(`${service.base}/s/${SITE}/devices`);
    await keeps(page, trouble);
    await close();
  });

  test('forms are taken over plain http from another machine', async () => {
    const { page, close } = await openWindow();
    await page.goto(`${service.base.replace('127.0.0.1', ELSEWHERE)}/sign-in`);
    await fill(page, { 'Your name': 'noor', 'Your password': PASSWORD });
    await tap(page, 'Sign in');
    assert.equal(new URL(page.url()).pathname, `/s/${SITE}/`);
    await close();
  });

  test('a code that isn’t one', async () => {
    const { page, close } = await openWindow();
    await page.goto(`${service.base}/enrol?code=0000-0000`);
    await tap(page, 'Enrol this device');
    assert.match(await page.getByRole('alert').first().innerText(), /no such code, or it was used/);
    await close();
  });
});
