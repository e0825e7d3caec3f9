// What changes on one screen is seen on the others by itself, and what is in somebody's hand stays as it is.
// Guards against S-35, S-36, S-42, S-44 of SAFETY.md.

import assert from 'node:assert/strict';
import { after, before, describe, test } from 'node:test';
import { ELSEWHERE, SITE, SIZES, openWindow, signedIn, startService, the } from './kit.mjs';

let service;
let shop;
before(async () => {
  service = await startService();
  shop = `${service.base}/s/${SITE}`;
});
after(() => service.stop());

const row = (page, id) => page.locator(`#i-${id}`);

/** Somebody's own window at an address of the shop, marked so that loading it anew would be noticed. */
async function at(path, options) {
  const window = await signedIn(service, options);
  await window.page.goto(`${shop}/${path}`);
  await window.page.evaluate(() => { globalThis.never = 'loaded anew'; });
  return window;
}

const stayed = (page) => page.evaluate(() => globalThis.never === 'loaded anew');

async function cookie(page) {
  return (await page.context().cookies()).map((c) => `${c.name}=${c.value}`).join('; ');
}

/** Moves it by a form of its own, as another hand would. */
async function move(page, id, place) {
  const key = [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, '0')).join('');
  const answer = await fetch(`${shop}/items/${id}/move`, {
    method: 'POST', redirect: 'manual', headers: { cookie: await cookie(page) }, body: new URLSearchParams({ key, place }),
  });
  assert.equal(answer.status, 303, `${id} to ${place}`);
}

/** The ledger's events until one is over, by number; `last` is where to go on. */
async function events(headers, last, count, until) {
  const cut = new AbortController();
  const answer = await fetch(`${shop}/api/stream`, { headers: { ...headers, 'last-event-id': last }, signal: cut.signal });
  assert.equal(answer.status, 200);
  const found = [];
  let text = '';
  const decoder = new TextDecoder();
  try {
    for await (const piece of answer.body) {
      const blocks = (text + decoder.decode(piece, { stream: true })).split('\n\n');
      text = blocks.pop();
      for (const block of blocks) {
        const id = block.match(/^id: (\d+)$/m);
        if (id && /^data: /m.test(block)) found.push(Number(id[1]));
      }
      if (found.length >= count) {
        if (!until) break;
        await until();
        until = undefined;
      }
    }
  } catch (e) {
    // The line breaks where the service is killed.
    if (until !== undefined) throw e;
  }
  cut.abort();
  return found;
}

describe('two screens', () => {
  test('one moves, the other shows it without being loaded anew', async () => {
    const one = await at('', { size: SIZES[0] });
    const other = await at('', { size: SIZES[2] });
    const cold = one.page.locator(the.coldRows).filter({ has: one.page.locator(the.move) }).first();
    const id = (await cold.getAttribute('id')).slice(2);
    await Promise.all([one.page.waitForEvent('load'), cold.locator(the.move).click()]);
    await other.page.locator(`#s-out #i-${id}, #s-act #i-${id}`).waitFor({ timeout: 5000 });
    assert.equal(await other.page.locator(`#s-cold #i-${id}`).count(), 0);
    assert.ok(await stayed(other.page));
    assert.deepEqual([...one.trouble, ...other.trouble], []);
    await one.close();
    await other.close();
  });

  test('what is half typed, folded open and scrolled to stays', async () => {
    const { page, trouble, close } = await at('racks', { size: SIZES[0] });
    await page.fill('main input[name=name]', 'Trolley');
    await Promise.all([page.waitForEvent('load'), page.locator('main form button').last().click()]);
    await page.locator('main label.pick', { has: page.locator('input[value=lemon-1]') }).click();
    await Promise.all([page.waitForEvent('load'), page.locator('main .stay button').click()]);
    await page.evaluate(() => { globalThis.never = 'loaded anew'; });
    const before = await page.locator('main .where').first().innerText();
    await page.evaluate(() => { for (const d of document.querySelectorAll('main details')) d.open = true; });
    const open = await page.locator('main details[open]').count();
    // A temperature being typed into a form further down.
    const typed = page.locator('main details input[name=value]');
    await typed.fill('10');
    await typed.evaluate((e) => scrollTo(0, scrollY + e.getBoundingClientRect().top - 200));
    const top = () => typed.evaluate((e) => Math.round(e.getBoundingClientRect().top));
    const [stood, focused] = [await top(), await typed.evaluate((e) => e === document.activeElement)];
    assert.ok(focused);
    await move(page, 'lemon-1', 'bench');
    await page.waitForFunction((was) => document.querySelector('main .where').innerText !== was, before, { timeout: 5000 });
    assert.equal(await page.locator('main details[open]').count(), open);
    assert.equal(await typed.inputValue(), '10');
    assert.ok(await typed.evaluate((e) => e === document.activeElement), 'the hand is still in it');
    assert.ok(Math.abs(await top() - stood) <= 2, 'it stands where it stood on the screen');
    assert.ok(await stayed(page));
    assert.deepEqual(trouble, []);
    await close();
  });

  test('nothing moves under a finger that is pressing', async () => {
    const { page, trouble, close } = await at('', { size: SIZES[2] });
    const other = await at('', { size: SIZES[2] });
    const button = row(page, 'lemon-2').locator(the.move);
    const [was, others] = [await button.innerText(), row(other.page, 'lemon-2').locator(the.move)];
    await button.scrollIntoViewIfNeeded();
    const box = await button.boundingBox();
    await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
    await page.mouse.down();
    await move(page, 'lemon-2', 'bench');
    await other.page.waitForFunction((w) => document.querySelector('#i-lemon-2 button.main')?.innerText !== w, was, { timeout: 5000 });
    assert.notEqual(await others.innerText(), was);
    assert.equal(await button.innerText(), was, 'the button is what it was when the finger came down');
    // The finger slides off it.
    await page.mouse.move(2, 2);
    await page.mouse.up();
    await page.waitForFunction((w) => document.querySelector('#i-lemon-2 button.main')?.innerText !== w, was, { timeout: 5000 });
    assert.ok(await stayed(page));
    assert.deepEqual(trouble, []);
    await close();
    await other.close();
  });

  test('a tap on a button that has just become another does nothing', async () => {
    const { page, close } = await at('items/sponge-1', { size: SIZES[0] });
    const button = page.locator(the.action);
    const was = await button.innerText();
    const posts = [];
    page.on('request', (r) => { if (r.method() === 'POST') posts.push(r.url()); });
    // As soon as it says something else, it is touched.
    await page.evaluate((w) => {
      new MutationObserver((_, all) => {
        const now = document.querySelector('main .acts form[action$="/move"] button.main');
        if (!now || now.innerText === w) return;
        all.disconnect();
        now.click();
        globalThis.touched = true;
      }).observe(document.querySelector('main'), { childList: true, subtree: true, characterData: true });
    }, was);
    await move(page, 'sponge-1', 'bench');
    await page.waitForFunction(() => globalThis.touched, null, { timeout: 5000 });
    await page.waitForTimeout(1000);
    assert.deepEqual(posts, []);
    assert.notEqual(await button.innerText(), was);
    await Promise.all([page.waitForEvent('load'), button.click()]);
    assert.equal(posts.length, 1, 'a moment later it is what it says');
    await close();
  });

  test('the focus stays on a row that moves', async () => {
    const { page, close } = await at('', { size: SIZES[2] });
    const id = (await page.locator(the.coldRows).filter({ has: page.locator(the.move) }).last().getAttribute('id')).slice(2);
    await row(page, id).locator(the.itemLink).focus();
    await move(page, id, 'bench');
    await page.locator(`#s-out #i-${id}, #s-act #i-${id}`).waitFor({ timeout: 5000 });
    assert.equal(await page.evaluate(() => document.activeElement.closest('li')?.id), `i-${id}`);
    await close();
  });

  test('a filter in the address is kept through a tap', async () => {
    const { page, close } = await at('?place=bench', { size: SIZES[2] });
    const places = await page.locator('main li.row .where').allInnerTexts();
    assert.ok(places.length > 0 && places.every((p) => p.startsWith('Icing bench')), String(places));
    await Promise.all([page.waitForEvent('load'), page.locator(the.move).first().click()]);
    assert.equal(new URL(page.url()).searchParams.get('place'), 'bench');
    assert.equal(await page.locator('main li.row').count(), places.length - 1);
    await close();
  });
});

describe('a server that dies', () => {
  test('pages say how old their figures are, and go on by themselves when it is back', async () => {
    const { page, close } = await at('', { size: SIZES[0] });
    const big = await page.locator('#s-out .big').first().innerText();
    const left = page.locator('#s-out [data-ms]').first();
    assert.match(await left.innerText(), /left$/);
    await service.kill();
    await page.locator('body.adrift').waitFor({ timeout: 15_000 });
    assert.equal(await left.innerText(), 'time left: not known without the server');
    assert.match(await page.locator('#stale').innerText(), /No answer from the server\. These figures are as of \d\d:\d\d/);
    assert.equal(await page.locator('#s-out .big').first().innerText(), big, 'the clock time stands');
    await service.again();
    await page.locator('body:not(.adrift)').waitFor({ timeout: 15_000 });
    assert.match(await left.innerText(), /left$/);
    assert.ok(await stayed(page));
    await move(page, 'tub-2', 'bench');
    await page.locator('#s-out #i-tub-2, #s-act #i-tub-2').waitFor({ timeout: 5000 });
    await close();
  });

  test('a listener that comes again has every entry once and in order', async () => {
    const { page, close } = await signedIn(service);
    const headers = { cookie: await cookie(page) };
    const head = async () => (await (await fetch(`${shop}/api/entries?limit=1`, { headers })).json()).head;
    const begun = await head();
    const places = ['bench', 'walk-in'];
    let moves = 0;
    const some = async (count) => {
      for (let n = 0; n < count; n += 1) {
        await move(page, 'small-19', places[moves % 2]);
        moves += 1;
      }
    };
    const seen = [];
    for (let round = 0; round < 3; round += 1) {
      await some(4);
      // Killed while it is being listened to; what was written is sent again from where the listener was.
      seen.push(...await events(headers, String(seen.at(-1) ?? begun), round === 1 ? 2 : 4, () => service.kill()));
      await service.again();
      await some(2);
    }
    const rest = (await head()) - begun - seen.length;
    if (rest > 0) seen.push(...await events(headers, String(seen.at(-1)), rest));
    assert.deepEqual(seen, Array.from({ length: moves }, (_, n) => begun + 1 + n));
    await close();
  });
});

describe('the wall', () => {
  test('asks once for a touch to allow sound, and is silenced by one touch without being loaded anew', async () => {
    const { page, trouble, close } = await at('wall', { size: { width: 1920, height: 1080 } });
    assert.equal(await page.locator('#sound-said').innerText(), 'sound is off');
    await page.locator('#sound').click();
    await page.locator('#sound-said', { hasText: 'sound is on' }).waitFor();
    assert.ok(!await page.locator('#sound').isVisible());
    const calling = page.locator('.far li[data-call]').first();
    const id = await calling.getAttribute('id');
    await calling.locator('.know button').click();
    await page.locator(`#${id} .known`).waitFor({ timeout: 5000 });
    assert.equal(await page.locator(`#${id}[data-call]`).count(), 0);
    assert.match(await page.locator(`#${id} .known`).innerText(), /knows, \d\d:\d\d: seen on the board/);
    assert.equal(await page.locator('#sound-said').innerText(), 'sound is on');
    assert.ok(await stayed(page));
    assert.deepEqual(trouble, []);
    await close();
  });

  test('says so where it cannot keep the screen awake', async () => {
    const window = await openWindow({ size: SIZES[2] });
    // Plain http at a name that isn't this machine's own: no browser keeps a screen awake there.
    const away = (address) => address.replace('127.0.0.1', ELSEWHERE);
    await window.page.goto(away(service.signIn));
    await window.page.goto(away(`${shop}/wall`));
    await window.page.locator('#sleeps', { hasText: 'cannot keep the screen awake' }).waitFor({ timeout: 5000 });
    assert.equal(await window.page.locator('#sound-said').innerText(), 'sound is off');
    await window.close();
  });
});
