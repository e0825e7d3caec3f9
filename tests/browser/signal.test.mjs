// Without signal: what is tapped waits on the device with its time, is sent in order, and what the ledger doesn't take is
// shown beside what it says.
// Guards against S-44, S-46, S-48 of SAFETY.md.

import assert from 'node:assert/strict';
import { before, test } from 'node:test';
import { SITE, accessibilityFaults, lineTo, openWindow, overflow, setUp, signedIn, smallTargets, startService, tap } from './kit.mjs';

let service;
before(async () => { service = await startService(); });

/** Through the line, signed in, with the standings kept. */
async function atTheLine(options) {
  const line = await lineTo(service);
  const window = await signedIn({ base: line.base, signIn: service.signIn.replace(service.base, line.base) }, options);
  await keeping(window.page);
  return { ...window, ...line, board: `${line.base}/s/${SITE}/` };
}

/** What the worker says it keeps. */
const shown = (page) => page.evaluate((site) => new Promise((done) => {
  const to = navigator.serviceWorker.controller;
  if (!to) return done(null);
  const { port1, port2 } = new MessageChannel();
  port1.onmessage = (e) => done(e.data);
  to.postMessage({ what: 'show', site }, [port2]);
}), SITE);

async function keeping(page, good = ({ kept }) => kept) {
  for (let tries = 0; tries < 300; tries += 1) {
    const said = await shown(page);
    if (said && good(said)) return said;
    await page.waitForTimeout(100);
  }
  assert.fail('the worker never said so');
}
const sent = (page) => keeping(page, ({ taps }) => taps.every((t) => t.untaken));

/** The newest entries of an item, as the API has them: oldest first. */
async function entries(page, item) {
  const answer = await page.request.get(`${service.base}/s/${SITE}/api/items/${item}`, { headers: { cookie: await cookies(page) } });
  assert.equal(answer.status(), 200);
  return (await answer.json()).entries;
}
const cookies = async (page) => (await page.context().cookies()).map((c) => `${c.name}=${c.value}`).join('; ');

/** An item of the test's own, in the fridge. */
async function item(page, base) {
  await page.goto(`${base}/s/${SITE}/new`);
  await page.locator('input[name=product]').first().check();
  await page.locator('input[name=place][value="walk-in"]').check();
  await tap(page, 'Begin');
  return page.url().match(/items\/([^?]+)/)[1];
}

const moves = (list) => list.filter((e) => e.kind === 'move').map((e) => e.place);
const row = (page, id) => page.locator(`#i-${id}`);
const go = (page, id, form = 'form.go') => Promise.all([page.waitForEvent('load'), row(page, id).locator(`${form} button.main`).click()]);

test('three moves without signal, by a phone seven minutes fast', { timeout: 120_000 }, async () => {
  const { page, cut, mend, board, base, close } = await atTheLine();
  const FAST = 7 * 60_000;
  await page.addInitScript((ms) => { const now = Date.now; Date.now = () => now() + ms; }, FAST);
  const [worker] = page.context().serviceWorkers();
  await worker.evaluate((ms) => { const now = Date.now; Date.now = () => now() + ms; }, FAST);
  const id = await item(page, base);
  await page.goto(board);
  await keeping(page, ({ kept }) => kept?.items.some((i) => i.id === id) && Math.abs(kept.offset + FAST) < 2000);
  await cut();
  const times = [];
  for (let n = 0; n < 3; n += 1) {
    times.push(Date.now());
    await go(page, id);
    assert.match(page.url(), /no-signal\?put=/);
    await page.locator('#queue li').nth(n).waitFor();
    await page.locator('#waiting', { hasText: n ? `${n + 1} taps wait` : '1 tap waits' }).waitFor();
  }
  // What it knew stays: how old it is, the time by which it is to be discarded, and where it is by what was tapped.
  assert.match(await page.locator('#age').innerText(), /Figures as of \d\d:\d\d/);
  assert.match(await row(page, id).locator('.big').innerText(), /^\d\d:\d\d$/);
  assert.equal(await row(page, id).locator('.waits li').count(), 3);
  assert.equal(await page.locator('li.v-discard .left').first().innerText(), 'no time left', 'said by the server, and not to be asked about');
  // Loaded again, at whatever page, it waits still.
  await page.reload();
  await page.goto(`${board}items/${id}`);
  await page.locator('#queue li').nth(2).waitFor();
  await mend();
  await page.goto(board);
  await sent(page);
  const all = (await entries(page, id)).filter((e) => e.kind === 'move');
  assert.equal(all.length, 3);
  assert.equal(new Set(moves(all)).size, 2, 'out, back and out again');
  for (const [n, e] of all.entries()) {
    const off = Date.parse(e.at) - times[n];
    assert.ok(off > -2000 && off < 2000, `entry ${n} is ${off} ms off`);
    const [, read] = e.note.match(/clock read (\d{4}-\d\d-\d\d \d\d:\d\d:\d\d [+-]\d\d:\d\d)\./);
    const ahead = Date.parse(read.replace(' ', 'T').replace(' ', '')) - times[n];
    assert.ok(Math.abs(ahead - FAST) < 3000, `the device's own reading is kept: ${read}`);
  }
  await page.locator('#waiting').waitFor({ state: 'hidden' });
  await close();
});

test('nothing moves under a finger, and its tap counts', { timeout: 120_000 }, async () => {
  const { page, cut, board, base, close } = await atTheLine();
  const id = await item(page, base);
  await page.goto(board);
  await keeping(page, ({ kept }) => kept?.items.some((i) => i.id === id));
  await cut();
  await page.goto(board);
  const button = row(page, id).locator('form.go button.main');
  const press = async () => {
    await button.hover();
    await page.mouse.down();
    return button.elementHandle();
  };
  // A press during which the worker says something is a tap all the same.
  const same = await press();
  await page.evaluate(() => new Promise((done) => {
    navigator.serviceWorker.addEventListener('message', done, { once: true });
    navigator.serviceWorker.controller.postMessage({ what: 'send', site: document.body.dataset.site, person: document.body.dataset.person });
  }));
  await shown(page);
  assert.ok(await same.evaluate((e) => e.isConnected));
  await Promise.all([page.waitForEvent('load'), page.mouse.up()]);
  const waits = row(page, id).locator('.waits li');
  await waits.waitFor();
  await row(page, id).locator('summary').click();
  await row(page, id).locator('input[name=time]').fill('04:10');
  const under = await press();
  const was = await button.innerText();
  // The same in another tab, where it is tapped.
  const other = await page.context().newPage();
  await other.goto(board);
  await go(other, id);
  await row(other, id).locator('.waits li').nth(1).waitFor();
  await shown(page);
  assert.ok(await under.evaluate((e) => e.isConnected), 'it is the button that the finger came down on');
  assert.equal(await waits.count(), 1);
  // The finger slides off it.
  await page.mouse.move(2, 2);
  await page.mouse.up();
  await waits.nth(1).waitFor();
  assert.notEqual(await button.innerText(), was);
  assert.equal(await row(page, id).locator('details[open]').count(), 1, 'what was folded open is');
  assert.equal(await row(page, id).locator('input[name=time]').inputValue(), '04:10', 'what was typed stands');
  // What was chosen from a list stays chosen where the list is another by now, or nothing is.
  const choice = row(page, id).locator('select[name=with]');
  const listed = (change) => page.evaluate(async ([site, how]) => {
    const store = await new Promise((done) => { indexedDB.open('counterclock', 1).onsuccess = (e) => done(e.target.result); });
    const kept = () => store.transaction('kept', 'readwrite').objectStore('kept');
    const figures = await new Promise((done) => { kept().get(site).onsuccess = (e) => done(e.target.result); });
    if (how === 'less') figures.items.splice(1, 1);
    else figures.items.reverse();
    await new Promise((done) => { kept().put(figures).onsuccess = done; });
    store.close();
    const to = navigator.serviceWorker.controller;
    to.postMessage({ what: 'drop', n: 0 });
  }, [SITE, change]);
  const names = () => choice.locator('option').evaluateAll((all) => all.map((o) => o.value).join());
  for (const change of ['less', 'turned']) {
    const at = await choice.locator('option').nth(4).getAttribute('value');
    await choice.selectOption(at);
    await choice.blur();
    const before = await names();
    await listed(change);
    await page.waitForFunction(([list, element]) =>
      [...document.querySelectorAll(`${element} option`)].map((o) => o.value).join() !== list, [before, `#i-${id} select`]);
    assert.ok([at, ''].includes(await choice.inputValue()), `${at} was chosen, ${await choice.inputValue()} is`);
  }
  // Taken back in the other tab, it is another button again: what is touched too soon after that does nothing.
  await page.evaluate((element) => {
    globalThis.touched = new Promise((done) => {
      new MutationObserver((_, all) => {
        const now = document.querySelector(element);
        if (!now || now === globalThis.last) return;
        all.disconnect();
        now.click();
        done(true);
      }).observe(document.getElementById('signal'), { childList: true, subtree: true });
    });
    globalThis.last = document.querySelector(element);
  }, `#i-${id} form.go button.main`);
  await other.locator('#queue button.off').last().click();
  assert.ok(await page.evaluate(() => globalThis.touched));
  await waits.nth(1).waitFor({ state: 'detached' });
  assert.equal((await shown(page)).taps.length, 1);
  await close();
});

test('A takes it out without signal, B finds it logged in the cold: the true total in the end', { timeout: 120_000 }, async () => {
  const a = await atTheLine();
  const b = await signedIn(service);
  const id = await item(b.page, service.base);
  const [{ place: home }] = await entries(b.page, id);
  await a.page.goto(a.board);
  await keeping(a.page, ({ kept }) => kept?.items.some((i) => i.id === id));
  await a.cut();
  const out = Date.now();
  await go(a.page, id);
  // B holds it in the hand and wants to put it back: it is logged there already, and nothing is written.
  const back = await b.page.evaluate(async ([address, place]) => {
    const answer = await fetch(address, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify({ kind: 'move', item: address.id, place }) });
    return answer.status;
  }, [`${service.base}/s/${SITE}/api/entries`, home]);
  assert.notEqual(back, 201);
  await b.page.goto(`${service.base}/s/${SITE}/items/${id}/was-out`);
  assert.match(await b.page.locator('h1').innerText(), /out/i);
  // A's tap comes, and the log has it out since then.
  await a.mend();
  await a.page.goto(a.board);
  await sent(a.page);
  await b.page.goto(`${service.base}/s/${SITE}/items/${id}`);
  await Promise.all([b.page.waitForEvent('load'), b.page.locator('.acts button.main').click()]);
  const [first, second] = (await entries(b.page, id)).filter((e) => e.kind === 'move');
  assert.ok(Math.abs(Date.parse(first.at) - out) < 2000);
  const { standing } = await (await b.page.request.get(`${service.base}/s/${SITE}/api/items/${id}`, { headers: { cookie: await cookies(b.page) } })).json();
  assert.equal(standing.total_out_ms, Date.parse(second.at) - Date.parse(first.at));
  await a.close();
  await b.close();
});

test('what the ledger refuses is shown beside what it says, to the person and in Decisions', { timeout: 120_000 }, async () => {
  const { page, cut, mend, board, base, close } = await atTheLine();
  const b = await signedIn(service);
  const id = await item(page, base);
  await page.goto(board);
  await keeping(page, ({ kept }) => kept?.items.some((i) => i.id === id));
  await cut();
  await go(page, id);
  // Meanwhile somebody else moved it to that very place: with the first move, the second would be to where it is.
  await b.page.goto(`${service.base}/s/${SITE}/items/${id}`);
  await Promise.all([b.page.waitForEvent('load'), b.page.locator('.acts button.main').click()]);
  await mend();
  await page.goto(board);
  await sent(page);
  await page.locator('#waiting', { hasText: 'not taken' }).waitFor();
  await page.locator('#waiting a').click();
  await page.locator('#refused li').waitFor();
  await page.locator('#refused a').click();
  await page.waitForURL(/\/taps\//);
  const stories = page.locator('.stories section');
  assert.match(await stories.nth(0).innerText(), /tapped.*Not taken/s);
  assert.match(await stories.nth(1).innerText(), /In the log.*to/s);
  assert.deepEqual(await accessibilityFaults(page), []);
  assert.deepEqual(await smallTargets(page), []);
  assert.deepEqual(await overflow(page), []);
  await page.goto(`${board}decisions`);
  const matter = page.locator('.m-not-taken', { hasText: /\S/ }).first();
  assert.equal(await matter.locator('.stories section').count(), 2);
  // It is put aside on the device by whoever has read it, and stays in Decisions until it is decided.
  await page.goto(`${board}no-signal`);
  await Promise.all([keeping(page, ({ taps }) => taps.length === 0), page.getByRole('button', { name: 'I have read it' }).click()]);
  await page.goto(`${board}decisions`);
  const before = await page.locator('.m-not-taken').count();
  assert.ok(before > 0);
  const first = page.locator('.m-not-taken').first();
  await first.locator('summary').click();
  await first.locator('input[value=acknowledge]').check();
  await first.locator('input[name=reason]').fill('Spoken about: the second of two hands on one cake.');
  await Promise.all([page.waitForEvent('load'), first.locator('button.main').click()]);
  assert.equal(await page.locator('.m-not-taken').count(), before - 1);
  await close();
  await b.close();
});

test('joins and marks wait too, and what cannot wait says so', { timeout: 120_000 }, async () => {
  const { page, cut, mend, board, base, close } = await atTheLine({ size: { width: 320, height: 700 } });
  const id = await item(page, base);
  await page.goto(board);
  await keeping(page, ({ kept }) => kept?.items.some((i) => i.id === id));
  await cut();
  // The board still stands there: a tap on it waits like any other.
  await go(page, id, 'form');
  await row(page, id).locator('summary').click();
  await row(page, id).locator('select[name=with]').selectOption('tub-2');
  await Promise.all([page.waitForEvent('load'), row(page, id).locator('.joins button').click()]);
  await row(page, id).locator('summary').click();
  await row(page, id).locator('.typed input[name=time]').fill('23:50');
  await Promise.all([page.waitForEvent('load'), row(page, id).locator('.typed button').click()]);
  assert.equal(await page.locator('#queue li').count(), 3);
  // What came with the tub isn't counted yet, and no figure without it is offered to be written on the box.
  assert.match(await row(page, id).locator('.left').innerText(), /may be shorter/);
  assert.equal(await row(page, id).locator('.written').isVisible(), false);
  for (const scheme of ['light', 'dark']) {
    await page.emulateMedia({ colorScheme: scheme });
    assert.deepEqual(await accessibilityFaults(page), []);
  }
  assert.deepEqual(await overflow(page), []);
  assert.deepEqual(await smallTargets(page), []);
  // A slip is taken back before it was sent.
  await page.locator('#queue li').nth(2).getByRole('button').click();
  await keeping(page, ({ taps }) => taps.length === 2);
  await mend();
  await page.goto(board);
  await sent(page);
  const kinds = (await entries(page, id)).map((e) => e.kind);
  assert.deepEqual(kinds.slice(-2), ['move', 'join']);
  // A round is not sent later.
  await page.goto(`${board}round/walk-in`);
  await cut();
  await Promise.all([page.waitForURL(/no-signal\?not/), page.locator('main form button').last().click()]);
  assert.match(await page.locator('#told').innerText(), /nothing was recorded/);
  await mend();
  await close();
});

test('a line that hangs, a tap that had arrived, and 500 that wait', { timeout: 180_000 }, async () => {
  const { page, cut, hang, mend, board, base, close } = await atTheLine();
  const id = await item(page, base);
  await page.goto(board);
  await keeping(page, ({ kept }) => kept?.items.some((i) => i.id === id));
  // Nothing gets through; then all but the answers, so that what is sent again had been recorded already.
  for (const [n, way] of ['both', 'answers'].entries()) {
    await row(page, id).locator('form button.main', { hasText: n ? 'Back' : 'Out' }).waitFor();
    // A button that has just become another takes no tap; on a page loaded anew it is what it was.
    await page.goto(board);
    const at = Date.now();
    hang(way);
    await Promise.all([page.waitForURL(/no-signal\?put/, { timeout: 30_000 }), row(page, id).locator('form button.main').click()]);
    await cut();
    await mend();
    await page.goto(board);
    await sent(page);
    const list = (await entries(page, id)).filter((e) => e.kind === 'move');
    assert.equal(list.length, n + 1);
    assert.ok(Math.abs(Date.parse(list[n].at) - at) < 2000, 'at the time of the tap');
    assert.equal(Boolean(list[n].note), way === 'both', 'what had arrived needed no second sending');
  }
  // Many, of two days ago by the device's own clock: that they are old is written on each.
  const old = await page.evaluate(async (address) => {
    const at = new Date(Date.now() - 3 * 86_400_000).toISOString();
    const entry = { kind: 'item', at, name: 'Old tray', place: 'walk-in', rules: ['keep-7d'] };
    const answer = await fetch(address, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(entry) });
    return (await answer.json()).entries[0].item;
  }, `${board}api/entries`);
  await page.evaluate(({ site, item: thing }) => new Promise((done, failed) => {
    const asked = indexedDB.open('counterclock');
    asked.onerror = () => failed(asked.error);
    asked.onsuccess = () => {
      const work = asked.result.transaction(['kept', 'taps'], 'readwrite');
      work.objectStore('kept').get(site).onsuccess = (e) => {
        const { person, name, offset, measured } = e.target.result;
        const key = (n) => String(n).padStart(32, '0');
        for (let n = 0; n < 500; n += 1) {
          work.objectStore('taps').add({
            site, person, name, offset, measured, life: 0, even: 0, item: thing, form: 'seen', label: thing,
            fields: [['key', key(n)], ['place', 'bench']], at: Date.now() - 2 * 86_400_000 + n,
          });
        }
      };
      work.oncomplete = () => { asked.result.close(); done(); };
      work.onabort = () => failed(work.error);
    };
  }), { site: SITE, item: old });
  await page.goto(board);
  const { taps } = await keeping(page, ({ taps: all }) => all.every((t) => t.untaken));
  assert.deepEqual(taps, []);
  const seen = (await entries(page, old)).filter((e) => e.kind === 'seen');
  assert.equal(seen.length, 500);
  assert.ok(seen.every((e, n) => e.late_ms > 47 * 3_600_000 && (n === 0 || e.at >= seen[n - 1].at)), 'in order, and marked late');
  await close();
});

test('a clock that is set before the signal is back, or just as it is', { timeout: 120_000 }, async () => {
  const { page, cut, mend, board, base, close } = await atTheLine();
  const YEAR = 366 * 86_400_000;
  const [worker] = page.context().serviceWorkers();
  const ahead = (ms) => worker.evaluate((by) => { globalThis.real ??= Date.now; Date.now = () => globalThis.real() + by; }, ms);
  await ahead(YEAR);
  const id = await item(page, base);
  await page.goto(board);
  await keeping(page, ({ kept }) => kept?.items.some((i) => i.id === id) && Math.abs(kept.offset + YEAR) < 2000);
  // Between the server's answer and its arrival the clock is set.
  const setOn = (path, by) => worker.evaluate(([end, ms]) => {
    const ask = globalThis.fetch;
    globalThis.fetch = async (what, options) => {
      const answer = await ask(what, options);
      if (String(what).endsWith(end) && !(options && options.method)) {
        Date.now = () => globalThis.real() + ms;
        globalThis.fetch = ask;
      }
      return answer;
    };
  }, [path, by]);
  for (const just of [false, true]) {
    await cut();
    const out = Date.now();
    await go(page, id);
    // The tap's time is that of the clock it was tapped by.
    if (just) await setOn('/taps', 0);
    else await ahead(0);
    await mend();
    await page.goto(board);
    await sent(page);
    const e = (await entries(page, id)).filter((m) => m.kind === 'move').at(-1);
    assert.ok(Math.abs(Date.parse(e.at) - out) < 2000, e.at);
    assert.match(e.note, /set back by 366 days/);
    // What is kept is from one clock, and the next tap's too.
    await ahead(60_000);
    await setOn('/kept', YEAR);
    let kept;
    do {
      await page.goto(board);
      ({ kept } = await keeping(page));
    } while (Math.abs(kept.measured - Date.now() - YEAR) > 60_000);
    assert.ok(Math.abs(kept.offset + YEAR) < 2000, `off by ${kept.offset + YEAR} ms`);
  }
  await close();
});

test('what waits is whose tap it was, whoever signs in meanwhile', { timeout: 120_000 }, async () => {
  const own = await startService({ demo: false });
  const office = await openWindow();
  await setUp(own, office.page);
  for (const [name, pin] of [['Ada', '4711'], ['Ben', '20815']]) {
    await office.page.goto(`${own.base}/s/${SITE}/people`);
    await office.page.locator('main form').first().getByLabel('Name').fill(name);
    await office.page.locator('main form').first().getByLabel('PIN').fill(pin);
    await tap(office.page, 'Add');
  }
  await office.page.goto(`${own.base}/s/${SITE}/devices`);
  await office.page.getByLabel('Its name').fill('tablet');
  await tap(office.page, 'Make a code for it');
  const code = await office.page.locator('#the-code').innerText();
  const { base, cut, mend } = await lineTo(own);
  const { page, close } = await openWindow();
  const board = `${base}/s/${SITE}/`;
  await page.goto(`${base}/enrol?code=${code}`);
  await Promise.all([page.waitForURL(/sign-in/), page.locator('main button.main').click()]);
  const enter = async (name, pin) => {
    await page.goto(`${base}/sign-in`);
    await tap(page, name);
    // Whoever has given it a while ago is let in by name.
    if (await page.locator('input[name=pin]').count()) {
      await page.locator('input[name=pin]').fill(pin);
      await Promise.all([page.waitForURL(/\/s\//), page.locator('main button.main').click()]);
    }
    await page.goto(board);
  };
  await enter('Ada', '4711');
  await page.goto(`${board}new`);
  await page.locator('input[name=product]').first().check();
  await page.locator('input[name=place][value="fridge"]').check();
  await tap(page, 'Begin');
  const id = page.url().match(/items\/([^?]+)/)[1];
  await page.goto(board);
  const { kept: { person: ada } } = await keeping(page, ({ kept }) => kept?.items.some((i) => i.id === id));
  await cut();
  await go(page, id);
  // Her sign-in runs out before there is signal.
  await page.context().clearCookies({ name: 'counterclock' });
  await mend();
  await enter('Ben', '20815');
  const { kept, taps } = await keeping(page);
  assert.notEqual(kept.person, ada);
  assert.deepEqual(taps.map((t) => t.person), [ada], 'hers, and not sent in his name');
  await page.locator('#waiting a').click();
  await page.locator('#queue li', { hasText: 'waits until' }).waitFor();
  assert.match(await page.locator('#queue li').innerText(), /Ada/);
  // His own go on as ever.
  await page.goto(`${board}new`);
  await page.locator('input[name=product]').first().check();
  await page.locator('input[name=place][value="fridge"]').check();
  await tap(page, 'Begin');
  await Promise.all([page.waitForURL(/said=move/), page.locator('main .acts button.main').click()]);
  assert.equal((await shown(page)).taps.length, 1);
  await enter('Ada', '4711');
  await keeping(page, ({ taps: left }) => left.length === 0);
  const answer = await page.evaluate((address) => fetch(address).then((r) => r.json()), `${board}api/items/${id}`);
  const [move] = answer.entries.filter((e) => e.kind === 'move');
  assert.equal(move.by, ada);
  await close();
  await office.close();
});

test('no room, no storage, plain http', { timeout: 120_000 }, async () => {
  const { page, cut, mend, board, base, close } = await atTheLine();
  const id = await item(page, base);
  await page.goto(board);
  await keeping(page, ({ kept }) => kept?.items.some((i) => i.id === id));
  // No room: what is tapped isn't kept, and that is said.
  const cdp = await page.context().newCDPSession(page);
  await cdp.send('Storage.overrideQuotaForOrigin', { origin: base, quotaSize: 1 });
  const [worker] = page.context().serviceWorkers();
  await worker.evaluate(() => { IDBObjectStore.prototype.add = () => { throw new DOMException('full', 'QuotaExceededError'); }; });
  await cut();
  await go(page, id, 'form');
  assert.match(await page.locator('[role=alert]').innerText(), /no room.*Nothing was recorded/s);
  // Let go of by the browser: the next page says how many were lost.
  await mend();
  await page.context().addCookies([{ name: 'counterclock-waiting', value: '3-9999', url: base }]);
  await page.goto(board);
  await page.locator('#waiting:not([hidden])').waitFor();
  assert.match(await page.locator('#waiting').innerText(), /3 taps waited.*not recorded/s);
  await close();
  const plain = await openWindow();
  await plain.page.goto(service.signIn.replace('127.0.0.1', 'counter.test'));
  await plain.page.goto(`${service.base.replace('127.0.0.1', 'counter.test')}/s/${SITE}/`);
  await plain.page.locator('#lacks:not([hidden])').waitFor();
  assert.match(await plain.page.locator('#lacks').innerText(), /needs https/);
  await plain.close();
});
