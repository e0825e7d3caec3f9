// The written procedure: a manager fills it in and approves it, whoever works there reads it at their next sign-in.
// Guards against S-26 of SAFETY.md.

import assert from 'node:assert/strict';
import { before, describe, test } from 'node:test';
import { SITE, SIZES, accessibilityFaults, fill, openWindow, overflow, setUp, smallTargets, startService, tap } from './kit.mjs';

/** What every screen must keep. */
async function keeps(page, trouble) {
  await page.evaluate(() => { for (const d of document.querySelectorAll('details')) d.open = true; });
  assert.deepEqual(await accessibilityFaults(page), [], `axe-core finds nothing on ${page.url()}`);
  assert.deepEqual(await overflow(page), [], `nothing is wider than the window on ${page.url()}`);
  assert.deepEqual(await smallTargets(page), [], `everything can be hit with a thumb on ${page.url()}`);
  assert.deepEqual(trouble, [], 'the console is silent and everything was loaded');
}

/** Fills in whatever field is empty. */
async function fillIn(page) {
  for (const field of await page.locator('main form :is(textarea, input:not([type=hidden]))').all()) {
    const name = await field.getAttribute('name');
    if (await field.inputValue()) continue;
    await field.fill(name === 'review-on' ? '2099-05-04' : `What is said of ${name}`);
  }
}

for (const script of [true, false]) {
  describe(`the written procedure, script ${script ? 'on' : 'off'}`, () => {
    let service;
    let office;
    before(async () => {
      service = await startService({ demo: false });
      office = await openWindow({ size: SIZES[2], script });
      await setUp(service, office.page);
    });
    const at = (path) => `${service.base}/s/${SITE}/${path}`;

    test('filled in, approved, read at the next sign-in', async () => {
      const { page, trouble } = office;
      await page.goto(at('people'));
      await page.locator('main form').first().getByLabel('Name').fill('Ada');
      await page.locator('main form').first().getByLabel('PIN').fill('4711');
      await tap(page, 'Add');
      await page.goto(at(''));
      assert.match(await page.locator('main .warn').innerText(), /No version of the written procedure has been approved/);
      await page.locator('main .warn a').click();
      await page.getByRole('link', { name: 'Fill in the procedure' }).click();
      await fill(page, { Address: '4 Mill Reach' });
      await tap(page, 'Save and look at it');
      assert.match(await page.locator('#missing ~ ul').innerText(), /“Licence or registration number” is still to be filled in/);
      assert.equal(await page.getByRole('button', { name: /Approve as/ }).count(), 0, 'not with a gap');
      if (script) await keeps(page, trouble);
      // From the gap to its field.
      await page.getByRole('link', { name: /Licence or registration number/ }).click();
      assert.equal(await page.getByLabel('Address').inputValue(), '4 Mill Reach');
      assert.equal(await page.evaluate(() => location.hash), '#f-licence');
      await fillIn(page);
      if (script) await keeps(page, trouble);
      await tap(page, 'Save and look at it');
      await tap(page, 'Approve as Noor');
      assert.match(await page.locator('main').innerText(), /Version 1, approved by Noor, in force since/);
      assert.match(await page.locator('#readers ~ table').innerText(), /Ada\s+not yet/);
      if (script) await keeps(page, trouble);
      assert.equal(await page.locator('a[href*="procedure.pdf"]').count(), 2);

      await page.goto(at('devices'));
      await page.getByLabel('Its name').fill('phone');
      await tap(page, 'Make a code for it');
      const code = await page.locator('#the-code').innerText();
      const bench = await openWindow({ script });
      await bench.page.goto(`${service.base}/enrol`);
      await bench.page.getByLabel('Code').fill(code);
      await tap(bench.page, 'Enrol this device');
      const signIn = async () => {
        await tap(bench.page, /Ada/);
        if (await bench.page.locator('input[name=pin]').count()) {
          await bench.page.locator('input[name=pin]').fill('4711');
          await tap(bench.page, 'Sign in');
        }
      };
      await signIn();
      assert.match(await bench.page.locator('main h1').innerText(), /Read this once/);
      if (script) await keeps(bench.page, bench.trouble);
      // Cream on the bench comes first.
      await bench.page.getByRole('link', { name: 'Later' }).click();
      assert.equal(new URL(bench.page.url()).pathname, `/s/${SITE}/`);
      await bench.page.goto(`${service.base}/sign-in`);
      await signIn();
      await tap(bench.page, 'I have read it');
      assert.equal(new URL(bench.page.url()).pathname, `/s/${SITE}/`);
      await bench.page.goto(`${service.base}/sign-in`);
      await signIn();
      assert.equal(new URL(bench.page.url()).pathname, `/s/${SITE}/`, 'asked once only');
      await page.goto(at('procedure'));
      assert.match(await page.locator('#readers ~ table').innerText(), /Ada\s+\d{4}-\d\d-\d\d \d\d:\d\d/);
      assert.deepEqual(bench.trouble, []);
      await bench.close();
    });

    test('what is too long is said, and still stands there', async () => {
      const { page, trouble } = office;
      await page.goto(at('procedure/edit'));
      await page.getByLabel('How it is discarded').fill('x'.repeat(2001));
      await tap(page, 'Save the draft');
      trouble.length = 0;
      assert.match(await page.getByRole('alert').first().innerText(), /has 2001 characters; at most 2000/);
      assert.equal((await page.getByLabel('How it is discarded').inputValue()).length, 2001);
      await page.getByLabel('How it is discarded').fill('Into the bin');
      await tap(page, 'Save the draft');
      assert.match(await page.getByRole('status').first().innerText(), /The draft is saved/);
      await page.goto(at('procedure/draft'));
      assert.match(await page.locator('#changes ~ table').first().innerText(), /Into the bin/);
      await office.close();
      await service.stop();
    });
  });
}
