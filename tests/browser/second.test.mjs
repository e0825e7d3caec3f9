// The same in a second engine: WebKitGTK, driven by the W3C's WebDriver protocol over plain HTTP.
// Guards against S-46 of SAFETY.md.

import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { PASSWORD, SITE, freePort, lineTo, openWindow, setUp, startService, tap } from './kit.mjs';

const children = [];
const folder = mkdtempSync(join(tmpdir(), 'counterclock-second-'));
process.on('exit', () => {
  for (const child of children) child.kill('SIGKILL');
  rmSync(folder, { recursive: true, force: true });
});

function start(program, args, options) {
  const child = spawn(program, args, { stdio: ['ignore', 'ignore', 'pipe'], ...options });
  child.said = '';
  child.stderr?.on('data', (d) => { child.said += d; });
  children.push(child);
  return child;
}

/** A screen that nobody sees; its name. */
function screen() {
  const child = start('Xvfb', ['-displayfd', '3', '-screen', '0', '1000x1000x24', '-nolisten', 'tcp'], {
    stdio: ['ignore', 'ignore', 'pipe', 'pipe'],
  });
  return new Promise((resolve, reject) => {
    child.once('error', reject);
    child.once('exit', () => reject(new Error(`Xvfb ended: ${child.said}`)));
    child.stdio[3].once('data', (d) => resolve(`:${String(d).trim()}`));
  });
}

/** Debian's small browser around WebKitGTK, of the newest interface there is. */
function browser() {
  const found = readdirSync('/usr/lib').flatMap((arch) => ['6.0', '4.1', '4.0'].flatMap((version) =>
    [`/usr/lib/${arch}/webkitgtk-${version}/MiniBrowser`, `/usr/lib/${arch}/webkit2gtk-${version}/MiniBrowser`]));
  const there = found.find((path) => existsSync(path));
  assert.ok(there, 'WebKitGTK’s MiniBrowser is missing: sh tests/all.sh setup');
  return there;
}

let driver;
let session;

/** One command of the protocol; what it answers. */
async function ask(method, path, body) {
  const answer = await fetch(`${driver}${path}`, { method, body: body && JSON.stringify(body) });
  const { value } = await answer.json();
  if (!answer.ok) throw new Error(`${method} ${path}: ${value.error}: ${value.message}`);
  return value;
}

const ELEMENT = 'element-6066-11e4-a52e-4f735466cecf';
const on = (path) => `/session/${session}${path}`;

/**
 * What is done with an element, in whichever document stands by then: while one gives way to the next, or a row to a newer
 * one, WebKit says that what it had found is stale, and has done nothing with it.
 */
async function css(value, work = (found) => found) {
  for (let tries = 1; ; tries += 1) {
    try {
      return await work((await ask('POST', on('/element'), { using: 'css selector', value }))[ELEMENT]);
    } catch (error) {
      if (tries === 20 || !/stale element reference/.test(error.message)) throw error;
    }
  }
}
const click = (value) => css(value, (found) => ask('POST', on(`/element/${found}/click`), {}));
const type = (value, text) => css(value, (found) => ask('POST', on(`/element/${found}/value`), { text }));
// Its text as it stands in the page: WebKit's own reading leaves out what might be cut off at the edge.
const text = async (value) => (await css(value, (found) => ask('GET', on(`/element/${found}/property/textContent`)))).trim();
const run = (script) => ask('POST', on('/execute/async'), { script, args: [] });
const go = (url) => ask('POST', on('/url'), { url });

/** A touch that leads to another page; over once that is there, whether or not its address is another. */
async function touch(value, pattern) {
  const inPage = (script) => ask('POST', on('/execute/sync'), { script, args: [] });
  await inPage('globalThis.before = true');
  await click(value);
  let at;
  for (let tries = 0; tries < 100; tries += 1) {
    at = await inPage('return [location.href, document.readyState, globalThis.before || false]').catch((error) => [error.message]);
    if (pattern.test(at[0]) && at[1] === 'complete' && !at[2]) return;
    await new Promise((resolve) => { setTimeout(resolve, 100); });
  }
  assert.fail(`${at} isn’t another page at ${pattern}`);
}

before(async () => {
  const display = await screen();
  const port = await freePort();
  const env = {
    ...process.env, DISPLAY: display, HOME: folder, XDG_RUNTIME_DIR: folder, GDK_BACKEND: 'x11',
    LIBGL_ALWAYS_SOFTWARE: '1', WEBKIT_DISABLE_COMPOSITING_MODE: '1', NO_AT_BRIDGE: '1',
  };
  const child = start('WebKitWebDriver', ['--host=127.0.0.1', `--port=${port}`], { env });
  driver = `http://127.0.0.1:${port}`;
  for (let tries = 0; tries < 100; tries += 1) {
    const ready = await fetch(`${driver}/status`).then((r) => r.ok, () => false);
    if (ready) break;
    assert.equal(child.exitCode, null, child.said);
    await new Promise((resolve) => { setTimeout(resolve, 100); });
  }
  const options = { binary: browser(), args: ['--automation'] };
  const made = await ask('POST', '/session', { capabilities: { alwaysMatch: { 'webkitgtk:browserOptions': options } } });
  session = made.sessionId;
  await ask('POST', on('/timeouts'), { implicit: 10_000, pageLoad: 30_000, script: 10_000 });
}, { timeout: 60_000 });

after(async () => {
  if (session) await ask('DELETE', on('')).catch(() => {});
  for (const child of children) child.kill('SIGTERM');
});

test('WebKitGTK: enrolled, signed in by PIN, a cake out and back', { timeout: 120_000 }, async () => {
  const service = await startService({ demo: false });
  const { page, close } = await openWindow();
  await setUp(service, page);
  await page.goto(`${service.base}/s/${SITE}/people`);
  await page.locator('main form').first().getByLabel('Name').fill('Ada');
  await page.locator('main form').first().getByLabel('PIN').fill('4711');
  await tap(page, 'Add');
  await page.goto(`${service.base}/s/${SITE}/devices`);
  await page.getByLabel('Its name').fill('tablet');
  await tap(page, 'Make a code for it');
  const code = await page.locator('#the-code').innerText();

  await go(`${service.base}/enrol?code=${code}`);
  await touch('main button.main', /\/sign-in$/);
  await touch('.faces button', /person=/);
  for (const key of '4711') await click(`[data-key="${key}"]`);
  await touch('main button.main', /\/s\/shop\/$/);
  assert.match(await text('.top .person'), /Ada/);

  await go(`${service.base}/s/${SITE}/new`);
  await click('input[name=product][value="layer-cake"]');
  await click('input[name=place][value="fridge"]');
  await touch('main button.main', /\/items\//);
  await touch('.acts button.main', /said=move/);
  assert.match(await text('main .where'), /Bench/);
  assert.match(await text('main .until .big'), /^\d\d:\d\d$/);
  await touch('.acts button.main', /said=move/);
  assert.match(await text('main .where'), /Fridge/);
  assert.match(await text('ol.log'), /by Ada/);

  // A manager by password, in the same browser.
  await go(`${service.base}/sign-in?with=password`);
  await type('input[name=name]', 'Noor');
  await type('input[name=password]', PASSWORD);
  await touch('main form button.main', /\/s\/shop\/$/);
  assert.match(await text('footer'), /signed in as Noor/);
  await close();
});

test('WebKitGTK: network off, three moves, loaded anew, network on: three entries', { timeout: 120_000 }, async () => {
  const service = await startService({ demo: false });
  const line = await lineTo(service);
  const { page, close } = await openWindow();
  await setUp(service, page);
  await go(`${line.base}/sign-in?with=password`);
  await type('input[name=name]', 'Noor');
  await type('input[name=password]', PASSWORD);
  await touch('main form button.main', /\/s\/shop\/$/);
  await go(`${line.base}/s/${SITE}/new`);
  await click('input[name=product][value="layer-cake"]');
  await click('input[name=place][value="fridge"]');
  await touch('main button.main', /\/items\//);
  const [, id] = (await ask('GET', on('/url'))).match(/items\/([^?]+)/);
  await go(`${line.base}/s/${SITE}/`);
  const kept = () => run(`const [done] = arguments; const to = navigator.serviceWorker && navigator.serviceWorker.controller;
    if (!to) return done(null); const { port1, port2 } = new MessageChannel(); port1.onmessage = (e) => done(e.data);
    to.postMessage({ what: 'show', site: '${SITE}' }, [port2]);`);
  const until = async (good) => {
    for (let tries = 0; tries < 200; tries += 1) {
      const said = await kept();
      if (said && good(said)) return said;
      await new Promise((resolve) => { setTimeout(resolve, 100); });
    }
    return assert.fail('the worker never said so');
  };
  await until(({ kept: k }) => k && k.items.some((i) => i.id === id));
  await line.cut();
  for (let n = 1; n <= 3; n += 1) {
    await touch(`#i-${id} form button.main`, /no-signal\?put/);
    await until(({ taps }) => taps.length === n);
    await css(`#queue li:nth-child(${n})`);
  }
  assert.match(await text('#age'), /Figures as of/);
  await ask('POST', on('/refresh'), {});
  await css('#queue li:nth-child(3)');
  await line.mend();
  await go(`${line.base}/s/${SITE}/`);
  await until(({ taps }) => taps.length === 0);
  await page.goto(`${service.base}/s/${SITE}/`);
  const { entries } = await page.evaluate((address) => fetch(address).then((r) => r.json()), `${service.base}/s/${SITE}/api/items/${id}`);
  const moves = entries.filter((e) => e.kind === 'move');
  assert.deepEqual(moves.map((e) => e.place), ['bench', 'fridge', 'bench']);
  assert.ok(moves.every((e) => /device’s clock read/.test(e.note)));
  await close();
});
