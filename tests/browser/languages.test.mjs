// Spanish on every screen; and that no layout breaks in a language that is longer, from right to left, in twice the size
// of text, or on the narrowest phone.
// Guards against S-52 of SAFETY.md.

import assert from 'node:assert/strict';
import { before, describe, test } from 'node:test';
import { SCHEMES, accessibilityFaults, overflow, screens, signedIn, smallTargets, startService, visit } from './kit.mjs';

let service;
before(async () => { service = await startService(); });

/** Signed in, in a language. */
async function inLanguage(tag, options) {
  const window = await signedIn(service, options);
  await window.page.context().addCookies([{ name: 'counterclock-language', value: tag, url: service.base }]);
  return window;
}

/** Texts that stick out of their own box, or are cut off by it. */
function cutOff(page) {
  return page.evaluate(() => {
    const found = [];
    for (const e of document.querySelectorAll('button, a.do, a.main, summary, th, td, h1, h2, h3, label, .big, .lead, .left')) {
      const box = e.getBoundingClientRect();
      const style = getComputedStyle(e);
      if (box.width === 0 || style.overflow === 'hidden' || style.display === 'inline' || e.closest('.off-screen, svg')) continue;
      if (e.scrollWidth > e.clientWidth + 2 && style.overflowX === 'visible') found.push(`${e.tagName} "${e.textContent.trim().slice(0, 40)}" is ${e.scrollWidth} px wide in ${e.clientWidth}`);
    }
    return found.slice(0, 5);
  });
}

async function open(page) {
  await page.evaluate(() => { for (const d of document.querySelectorAll('details')) d.open = true; });
}

describe('in Spanish', () => {
  for (const scheme of SCHEMES) {
    test(scheme, async (t) => {
      const { page, trouble, close } = await inLanguage('es', { scheme });
      for (const screen of await screens(service, page)) {
        await t.test(screen.name, async () => {
          trouble.length = 0;
          await visit(page, screen);
          await open(page);
          assert.equal(await page.locator('html').getAttribute('lang'), 'es');
          assert.deepEqual(await accessibilityFaults(page, scheme), [], 'axe-core finds nothing');
          assert.deepEqual(await overflow(page), [], 'nothing is wider than the window');
          assert.deepEqual(await smallTargets(page), [], 'everything can be hit with a thumb');
          assert.deepEqual(trouble, [], 'the console is silent and everything was loaded');
        });
      }
      await close();
    });
  }
});

for (const [name, tag, size, text] of [
  ['longer', 'x-long', { width: 390, height: 844 }, '100%'],
  ['from right to left', 'x-left', { width: 390, height: 844 }, '100%'],
  ['320 px wide', 'en', { width: 320, height: 640 }, '100%'],
  ['with text of twice the size', 'es', { width: 640, height: 900 }, '200%'],
]) {
  test(`nothing breaks ${name}`, async (t) => {
    const { page, close } = await inLanguage(tag, { size });
    for (const screen of await screens(service, page)) {
      await t.test(screen.name, async () => {
        await visit(page, screen);
        await open(page);
        await page.evaluate((to) => { document.documentElement.style.fontSize = to; }, text);
        assert.equal(await page.locator('html').getAttribute('lang'), tag);
        assert.deepEqual(await overflow(page), [], 'nothing is wider than the window');
        assert.deepEqual(await cutOff(page), [], 'no text is wider than its box');
      });
    }
    await close();
  });
}
