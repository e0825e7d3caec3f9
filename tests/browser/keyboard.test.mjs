// By keyboard alone, from signing in to the closing round; what a screen reader is told; and a display of few colours.
// Guards against S-43 of SAFETY.md.

import assert from 'node:assert/strict';
import { before, describe, test } from 'node:test';
import { PASSWORD, SITE, openWindow, setUp, signedIn, startService } from './kit.mjs';

/** Presses Tab until the focus is there, and that shows. */
async function reach(page, css) {
  for (let n = 0; n < 90; n += 1) {
    const here = await page.evaluate((what) => {
      const at = document.activeElement;
      if (!at.matches(what)) return null;
      const style = getComputedStyle(at);
      return { outline: style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2 };
    }, css);
    if (here) {
      assert.ok(here.outline, `${css} shows that it has the focus`);
      return;
    }
    await page.keyboard.press('Tab');
  }
  throw new Error(`no Tab leads to ${css}`);
}

/** Goes there and does it; the page it leads to has come. */
async function press(page, css, key = 'Enter') {
  await reach(page, css);
  await Promise.all([page.waitForEvent('load'), page.keyboard.press(key)]);
}

async function type(page, css, text) {
  await reach(page, css);
  await page.keyboard.type(text);
}

test('a day by keyboard alone', async () => {
  const service = await startService({ demo: false });
  const { page, trouble, close } = await openWindow({ size: { width: 1280, height: 800 } });
  await setUp(service, page);
  await press(page, 'form[action$="sign-out"] button');
  // In by name and password.
  await type(page, 'input[name=name]', 'Noor');
  await type(page, 'input[name=password]', PASSWORD);
  await press(page, 'main button.main');
  if (new URL(page.url()).pathname.endsWith('/procedure/read')) await page.goto(`${service.base}/s/${SITE}/`);
  // Two new items: the space bar ticks, the arrows choose.
  for (let n = 0; n < 2; n += 1) {
    await press(page, 'nav a[href$="new"]');
    await reach(page, 'input[name=product]');
    await page.keyboard.press('Space');
    await reach(page, 'input[name=place]');
    await page.keyboard.press('Space');
    await press(page, 'main .stay button.main');
  }
  // A move, a join, the round at closing.
  await page.goto(`${service.base}/s/${SITE}/`);
  await press(page, 'li.row h3 a');
  const where = await page.locator('main .where').innerText();
  await press(page, 'main .acts form[action$="/move"] button.main');
  assert.notEqual(await page.locator('main .where').innerText(), where, 'it has moved');
  await press(page, 'main .tasks a[href$="/coat"]');
  await press(page, 'main .choose a');
  await press(page, 'main .stay button.main');
  assert.match(await page.locator('.notice').first().innerText(), /counts what went into it/);
  await page.goto(`${service.base}/s/${SITE}/round`);
  await press(page, 'main a[href*="/round/"]');
  await type(page, 'input[name=value]', '4.0');
  await press(page, 'main .stay button.main');
  assert.match(await page.locator('.notice').first().innerText(), /4.0 °C recorded|seen in/);
  assert.deepEqual(trouble, []);
  await close();
});

describe('the board as it changes', () => {
  let service;
  before(async () => { service = await startService(); });

  test('moves are told politely, what is over at once', async () => {
    const { page, trouble, close } = await signedIn(service, { size: { width: 1280, height: 800 } });
    const said = (id) => page.locator(`#${id}`);
    assert.deepEqual(
      [await said('moves-told').getAttribute('aria-live'), await said('overs-told').getAttribute('aria-live')],
      ['polite', 'assertive'],
    );
    assert.equal(await page.locator('[aria-live=assertive], [role=alert]:not([hidden])').count(), 1, 'nothing else interrupts');
    const token = new URL(service.signIn).searchParams.get('token');
    const write = async (entry) => {
      const answer = await fetch(`${service.base}/s/${SITE}/api/entries`, {
        method: 'POST', body: JSON.stringify(entry), headers: { authorization: `Bearer ${token}`, 'content-type': 'application/json' },
      });
      assert.equal(answer.status, 201, await answer.text());
    };
    const ago = (hours) => new Date(Date.now() - hours * 3_600_000).toISOString();
    await write({ kind: 'item', item: 'told-1', name: 'Quince slice', place: 'bench', rules: ['house-2h-4h'] });
    await page.waitForFunction(() => document.getElementById('moves-told').textContent.includes('Quince slice'));
    assert.equal(await said('overs-told').textContent(), '');
    await write({ kind: 'item', item: 'told-2', name: 'Fig roll', place: 'bench', rules: ['house-2h-4h'], at: ago(5) });
    await page.waitForFunction(() => document.getElementById('overs-told').textContent === 'Discard: Fig roll');
    assert.doesNotMatch(await said('moves-told').textContent(), /Fig roll/);
    assert.deepEqual(trouble, []);
    await close();
  });

  test('with forced colours a verdict still shows by word and border', async () => {
    const { page, close } = await signedIn(service);
    await page.emulateMedia({ forcedColors: 'active' });
    const row = page.locator('li.row.v-discard').first();
    assert.equal(await row.locator('.verdict').innerText(), 'Discard');
    const [over, within] = await Promise.all(['li.row.v-discard', 'li.row.v-within'].map((css) => (
      page.locator(css).first().evaluate((e) => parseFloat(getComputedStyle(e).borderTopWidth)))));
    assert.ok(over > within, `${over} px against ${within} px`);
    const button = page.locator('main button.main').first();
    assert.ok(await button.evaluate((e) => parseFloat(getComputedStyle(e).borderTopWidth) >= 2), 'a button has its edge');
    const bars = await row.locator('svg.strip rect, svg.strip path').evaluateAll((all) => all.map((e) => getComputedStyle(e).fill));
    assert.ok(bars.length > 0 && bars.every((fill) => fill !== 'none'), 'the strip is drawn');
    await close();
  });
});
