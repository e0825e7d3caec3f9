// One Chromium for all browser tests, one running service for each that asks, and what every page must keep.

import { spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { connect, createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium } from 'playwright-core';

export const SITE = 'shop';
/** The service as another machine would reach it: over plain http at a name that isn't this machine's own. */
export const ELSEWHERE = 'counter.test';
export const SIZES = [
  { width: 390, height: 844 },
  { width: 820, height: 1180 },
  { width: 1280, height: 800 },
];
export const SCHEMES = ['light', 'dark'];

/** The markup that the tests rely on; everything else may change freely. */
export const the = {
  // On the board.
  row: 'main li.row',
  coldRows: 'section[aria-labelledby="g-cold"] li.row',
  itemLink: 'a[href*="items/"]',
  move: 'form[action$="/move"] button.main',
  csvToday: 'a[href*="record.csv?from="]',
  // On an item's page: the large clock time, the one large action, where it is, and the lines with their sum.
  big: 'main .until .big',
  lead: 'main .until .lead',
  action: 'main .acts form[action$="/move"] button.main',
  where: 'main .where',
  lengths: 'main table.sums tbody td:last-child',
  total: 'main table.sums tfoot td',
};

const binary = process.env.COUNTERCLOCK_BINARY;
const cleanups = [];
const children = new Set();

/** Undoes whatever the kit began: browser, services, folders. */
export async function tidy() {
  while (cleanups.length > 0) await cleanups.pop()();
}

// Where nobody came to tidying up. Chromium goes with the process that launched it.
for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP']) process.once(signal, () => process.exit(130));
process.on('exit', () => {
  for (const { child, folder } of children) {
    child.kill('SIGKILL');
    rmSync(folder, { recursive: true, force: true });
  }
});

/** A port that nobody listens on. */
export function freePort() {
  return new Promise((resolve, reject) => {
    const server = createServer();
    server.on('error', reject);
    server.listen(0, '127.0.0.1', () => {
      const { port } = server.address();
      server.close(() => resolve(port));
    });
  });
}

/**
 * Starts the service on an empty database: `{ base, signIn, stop, kill, again }`, `signIn` being the address it printed:
 * the demo's sign-in, or the set-up where `demo` is false. `kill` ends it as a power cut would, `again` starts it anew
 * on the same database at the same address.
 */
export async function startService({ demo = true } = {}) {
  if (!binary) throw new Error('COUNTERCLOCK_BINARY names no program');
  const folder = mkdtempSync(join(tmpdir(), 'counterclock-browser-'));
  const base = `http://127.0.0.1:${await freePort()}`;
  const args = ['serve', ...(demo ? ['--demo'] : []), '--listen', base.slice('http://'.length), '--db', `sqlite://${folder}/demo.db`];
  const kept = { folder };
  children.add(kept);
  let said = '';
  let over = true;
  let ended;
  const run = () => {
    const child = spawn(binary, args, { stdio: ['ignore', 'pipe', 'pipe'] });
    kept.child = child;
    over = false;
    ended = new Promise((resolve) => child.once('close', () => { over = true; resolve(); }));
    child.once('error', (e) => { said += e; });
    child.stderr.on('data', (d) => { said += d; });
    return child;
  };
  const stop = async () => {
    if (!over) kept.child.kill('SIGTERM');
    const kill = setTimeout(() => kept.child.kill('SIGKILL'), 5000);
    await ended;
    clearTimeout(kill);
    children.delete(kept);
    rmSync(folder, { recursive: true, force: true });
  };
  cleanups.push(stop);
  const kill = async () => {
    kept.child.kill('SIGKILL');
    await ended;
  };
  const again = async () => {
    run().stdout.resume();
    await answering(`${base}/readyz`, () => said);
  };
  const child = run();
  const signIn = await new Promise((resolve, reject) => {
    const late = setTimeout(() => reject(new Error(`no address within 60 s; it said:\n${said}`)), 60_000);
    ended.then(() => { clearTimeout(late); reject(new Error(`the service ended; it said:\n${said}`)); });
    let printed = '';
    child.stdout.on('data', (d) => {
      said += d;
      printed += d;
      // Only whole lines: an address cut in two would sign in nobody.
      const address = printed.split('\n').slice(0, -1).join('\n').match(/https?:\/\/\S*(sign-in|set-up)\S*/);
      if (address) { clearTimeout(late); resolve(address[0]); }
    });
  });
  await answering(`${base}/readyz`, () => said);
  return { base, signIn, stop, kill, again };
}

async function answering(address, said) {
  for (let tries = 0; tries < 150; tries += 1) {
    const ready = await fetch(address).then((r) => r.ok, () => false);
    if (ready) return;
    await new Promise((resolve) => { setTimeout(resolve, 100); });
  }
  throw new Error(`${address} never answered 200; the service said:\n${said()}`);
}

let launched;

/** The one Chromium, with a user-data folder of its own that is removed with it. */
function browser() {
  launched ??= chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    headless: true,
    handleSIGINT: false,
    handleSIGTERM: false,
    handleSIGHUP: false,
    args: [
      '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
      '--disable-component-update', '--disable-sync', '--use-fake-device-for-media-stream',
      `--host-resolver-rules=MAP ${ELSEWHERE} 127.0.0.1`,
    ],
  }).then((b) => { cleanups.push(() => b.close()); return b; });
  return launched;
}

/**
 * A person's own browser window: `{ page, trouble, close }`. `trouble` gathers what the page said to the console,
 * what it threw, and what could not be loaded; a refusal by the content security policy is among the first.
 */
export async function openWindow({ size = SIZES[0], scheme = 'light', script = true, worker = true } = {}) {
  const context = await (await browser()).newContext({
    viewport: size, colorScheme: scheme, javaScriptEnabled: script, reducedMotion: 'reduce',
    hasTouch: size.width < 1000, acceptDownloads: true, serviceWorkers: worker ? 'allow' : 'block',
  });
  const page = await context.newPage();
  page.setDefaultTimeout(15_000);
  const trouble = [];
  page.on('console', (m) => {
    // That the page asked for answered with a refusal is said of it too; the tests look at its status themselves.
    const itself = m.text().startsWith('Failed to load resource') && m.location().url === page.url();
    if (['error', 'warning'].includes(m.type()) && !itself) trouble.push(`console: ${m.text()}`);
  });
  page.on('pageerror', (e) => trouble.push(`thrown: ${e.message}`));
  page.on('requestfailed', (r) => {
    // A stream or a load that the page itself left behind is no fault.
    if (r.failure()?.errorText !== 'net::ERR_ABORTED') trouble.push(`not loaded: ${r.url()} ${r.failure()?.errorText}`);
  });
  return { page, trouble, close: () => context.close() };
}

/** Signs in by the printed address and ends on the board. */
export async function signedIn(service, options) {
  const window = await openWindow(options);
  await window.page.goto(service.signIn);
  if (new URL(window.page.url()).pathname !== `/s/${SITE}/`) await window.page.goto(`${service.base}/s/${SITE}/`);
  return window;
}

/** Fills in a page's form: by label, a text or a choice; radio buttons and checkboxes by the label to tick. */
export async function fill(page, fields) {
  for (const [label, value] of Object.entries(fields)) {
    const field = page.getByLabel(label, { exact: false }).first();
    if (value === true) await field.check();
    else if (await field.evaluate((e) => e.tagName === 'SELECT')) await field.selectOption(value);
    else await field.fill(value);
  }
}

/** Taps the button of that name and waits for the page it leads to. */
export async function tap(page, name) {
  await Promise.all([page.waitForEvent('load'), page.getByRole('button', { name }).first().click()]);
}

export const PASSWORD = 'rye bread on a tin roof';

/** Goes through the set-up, from the printed address to the board. */
export async function setUp(service, page, { shop = 'Anvil & Rye', manager = 'Noor' } = {}) {
  await page.goto(service.signIn);
  await fill(page, { 'Its name': shop, 'Its time zone': 'Europe/London', 'United Kingdom': true });
  await tap(page, 'Next');
  await tap(page, 'Next');
  await tap(page, 'Next');
  await fill(page, { 'Layer cake': true, 'More of it': 'Trifle' });
  await tap(page, 'Next');
  await fill(page, { 'Your name': manager, 'Your password again': PASSWORD });
  await page.locator('input[name=password]').fill(PASSWORD);
  await tap(page, 'Make the shop');
}

/** Every screen a person meets, each once: a name, its address, and the status it answers with. */
export async function screens(service, page) {
  await page.goto(`${service.base}/s/${SITE}/`);
  const item = await page.locator(`main ${the.itemLink}`).first().evaluate((a) => a.href);
  const cake = `${service.base}/s/${SITE}/items/carrot-1`;
  const tub = `${service.base}/s/${SITE}/items/tub-1`;
  await page.goto(cake);
  const seq = await page.locator('main ol.log li').first().getAttribute('value');
  return [
    { name: 'board', address: `${service.base}/s/${SITE}/`, status: 200 },
    { name: 'item', address: item, status: 200 },
    { name: 'new', address: `${service.base}/s/${SITE}/new`, status: 200 },
    ...['coat', 'scrapings', 'mix', 'split', 'end', 'temperature', 'earlier', 'correct'].map((what) => (
      { name: `item-${what}`, address: `${tub}/${what}`, status: 200 })),
    { name: 'item-coat-confirm', address: `${cake}/coat?with=tub-2`, status: 200 },
    { name: 'item-mix-confirm', address: `${tub}/mix?with=tub-2`, status: 200 },
    { name: 'item-plan', address: `${cake}/plan?at1=23:00&to1=van&serve=23:45`, status: 200 },
    { name: 'item-hand-over', address: `${cake}/hand-over`, status: 200 },
    { name: 'item-card', address: `${service.base}/s/${SITE}/items/raspberry-1/card?serve=23:45`, status: 200 },
    { name: 'away', address: `${service.base}/s/${SITE}/away`, status: 200 },
    { name: 'ahead', address: `${service.base}/s/${SITE}/ahead`, status: 200 },
    { name: 'history', address: `${service.base}/s/${SITE}/history`, status: 200 },
    { name: 'recall', address: `${service.base}/s/${SITE}/recall?item=cheese-1`, status: 200 },
    { name: 'rules', address: `${service.base}/s/${SITE}/rules`, status: 200 },
    { name: 'rules-own', address: `${service.base}/s/${SITE}/rules/own?name=Short+day&measure1=total_out&limit1=45&verdict1=discard&returns=any&title=Our+sheet&basis=common+practice`, status: 200 },
    { name: 'publish', address: `${service.base}/s/${SITE}/publish?product=gateau`, status: 200 },
    { name: 'notices', address: `${service.base}/s/${SITE}/notices`, status: 200 },
    { name: 'order', address: `${service.base}/s/${SITE}/orders/pl-demo`, status: 200 },
    { name: 'plan-new', address: `${service.base}/s/${SITE}/plan?product=gateau&from=tub-2&start=bench&later1=20&to1=walk-in&serve=23:50`, status: 200 },
    { name: 'venue-unknown', address: `${service.base}/h/7K9QWM2P4T7K9QWM`, status: 404 },
    { name: 'item-mark', address: `${service.base}/s/${SITE}/items/forest-1/mark`, status: 200 },
    { name: 'item-late', address: `${service.base}/s/${SITE}/items/forest-1`, status: 200 },
    { name: 'item-unmarked', address: `${service.base}/s/${SITE}/items/cheesecake-5`, status: 200 },
    { name: 'label-check', address: `${service.base}/s/${SITE}/items/marble-1/label-check`, status: 200 },
    { name: 'label-check-late', address: `${service.base}/s/${SITE}/items/forest-1/label-check`, status: 200 },
    { name: 'item-found', address: `${cake}/found`, status: 200 },
    { name: 'item-was-out', address: `${cake}/was-out`, status: 200 },
    { name: 'item-undo', address: `${cake}/undo?entries=${seq}`, status: 200 },
    { name: 'item-tray-end', address: `${service.base}/s/${SITE}/items/tarts-2/end`, status: 200 },
    { name: 'item-tray-split', address: `${service.base}/s/${SITE}/items/tarts-2/split`, status: 200 },
    { name: 'label', address: `${cake}/label`, status: 200 },
    { name: 'label-a4', address: `${cake}/label?size=a4`, status: 200 },
    { name: 'label-none', address: `${tub}/label`, status: 200 },
    { name: 'labels', address: `${service.base}/s/${SITE}/labels`, status: 200 },
    { name: 'round', address: `${service.base}/s/${SITE}/round`, status: 200 },
    { name: 'round-place', address: `${service.base}/s/${SITE}/round/walk-in`, status: 200 },
    { name: 'round-ask', address: `${service.base}/s/${SITE}/round/walk-in?ask=carrot-1,cheese-2`, status: 200 },
    { name: 'no-signal', address: `${service.base}/s/${SITE}/no-signal`, status: 200 },
    { name: 'decisions', address: `${service.base}/s/${SITE}/decisions`, status: 200 },
    { name: 'cold', address: `${service.base}/s/${SITE}/cold`, status: 200 },
    { name: 'cold-cut', address: `${service.base}/s/${SITE}/cold/cut?place=walk-in&place=order-fridge&at=00:00`, status: 200 },
    { name: 'place', address: `${service.base}/s/${SITE}/places/walk-in`, status: 200 },
    { name: 'probes', address: `${service.base}/s/${SITE}/probes`, status: 200 },
    { name: 'review', address: `${service.base}/s/${SITE}/review`, status: 200 },
    { name: 'board-only', address: `${service.base}/s/${SITE}/?place=bench`, status: 200 },
    { name: 'boards', address: `${service.base}/boards`, status: 200 },
    { name: 'wall', address: `${service.base}/s/${SITE}/wall`, status: 200 },
    { name: 'day', address: `${service.base}/s/${SITE}/day`, status: 200 },
    ...['', '?part=cold', '?part=days', '?item=forest-1', '?from=2026-01-01&to=2026-01-01'].map((of) => (
      { name: `record${of.replace(/\W+/g, '-')}`, address: `${service.base}/s/${SITE}/record${of}`, status: 200 })),
    { name: 'record-unknown', address: `${service.base}/s/${SITE}/record?item=nothing`, status: 404 },
    { name: 'check-record', address: `${service.base}/s/${SITE}/check-record`, status: 200 },
    { name: 'access', address: `${service.base}/s/${SITE}/access`, status: 200 },
    { name: 'inspect', address: `${service.base}/s/${SITE}/inspect`, status: 200 },
    { name: 'inspect-enter', address: `${service.base}/inspect?code=7K9QWM2P4T7K9QWM`, status: 200 },
    { name: 'people', address: `${service.base}/s/${SITE}/people`, status: 200 },
    { name: 'shop', address: `${service.base}/s/${SITE}/shop`, status: 200 },
    { name: 'another-shop', address: `${service.base}/s/${SITE}/another`, status: 200 },
    { name: 'devices', address: `${service.base}/s/${SITE}/devices`, status: 200 },
    ...['', '/edit', '/draft', '/versions?on=2026-05-02', '/1', '/compare'].map((of) => (
      { name: `procedure${of.replace(/\W+/g, '-')}`, address: `${service.base}/s/${SITE}/procedure${of}`, status: 200 })),
    { name: 'procedure-unknown', address: `${service.base}/s/${SITE}/procedure/9`, status: 404 },
    { name: 'password', address: `${service.base}/sign-in?with=password`, status: 200 },
    { name: 'enrol', address: `${service.base}/enrol`, status: 200 },
    { name: 'set-up-over', address: `${service.base}/set-up`, status: 410 },
    { name: 'sign-in', address: `${service.base}/sign-in`, status: 200 },
    { name: 'problem', address: `${service.base}/s/${SITE}/items/no-such-item`, status: 404 },
  ];
}

/** Goes there and insists on the status; answers the response. */
export async function visit(page, { address, status }) {
  const response = await page.goto(address);
  if (response.status() !== status) throw new Error(`${address} answered ${response.status()}, not ${status}`);
  return response;
}

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

const withAxe = new WeakSet();

/**
 * What axe-core finds against WCAG 2.2 AA and its own best practices, a line each. In the dark the same page differs by its
 * colours alone, so that where it is looked at in light too, those alone are looked at.
 */
export async function accessibilityFaults(page, scheme = 'light') {
  if (!withAxe.has(page)) {
    // Sent once; the pages that this window goes to from now on find it there.
    withAxe.add(page);
    await page.addInitScript({ content: axe });
    await page.evaluate(axe);
  }
  const options = { resultTypes: ['violations'], ...(scheme === 'dark' && { runOnly: ['color-contrast'] }) };
  const { violations, passes } = await page.evaluate((how) => globalThis.axe.run(document, how), options);
  if (passes.length === 0) return ['axe-core looked at nothing'];
  return violations.flatMap((v) => v.nodes.map((n) => `${v.id} (${v.help}): ${n.target.join(' ')}`));
}

/** What a finger would miss: main actions under 64 px, all others under 48, each with its size. */
export function smallTargets(page) {
  return page.evaluate(() => {
    const found = [];
    for (const e of document.querySelectorAll('button, summary, select, input, a.main, a.do, a.mend')) {
      // A checkbox is as large as the label around it.
      const box = (e.closest('label.pick') ?? e).getBoundingClientRect();
      const least = e.classList.contains('main') ? 64 : 48;
      if (e.type === 'hidden' || box.width === 0) continue;
      if (box.height < least - 0.5) found.push(`${e.textContent.trim() || e.name}: ${box.height} px high, not ${least}`);
    }
    return found;
  });
}

/** What sticks out to the right of the window: `[]` if the page fits. */
export function overflow(page) {
  return page.evaluate(() => {
    const wide = document.documentElement.clientWidth;
    if (document.documentElement.scrollWidth <= wide) return [];
    const out = [...document.querySelectorAll('body *')].filter((e) => e.getBoundingClientRect().right > wide + 1);
    return out.slice(0, 5).map((e) => `${e.tagName.toLowerCase()}.${e.getAttribute('class')} is wider than the window`);
  });
}

/**
 * A line to the service that can be cut: `{ base, cut, hang, mend }`. Cut, it takes no connection; hanging, it takes them
 * and lets nothing through, or only what is asked, as a phone at the edge of the signal has it.
 */
export async function lineTo(service) {
  const port = Number(new URL(service.base).port);
  const open = new Set();
  let hanging = '';
  let bytes = 0;
  const begin = (at) => new Promise((resolve, reject) => {
    const server = createServer((here) => {
      const there = connect(port, '127.0.0.1');
      for (const [a, b, way] of [[here, there, 'requests'], [there, here, 'answers']]) {
        open.add(a);
        a.on('data', (d) => {
          if (way === 'answers') bytes += d.length;
          if (hanging !== 'both' && hanging !== way) b.write(d);
        });
        a.on('error', () => b.destroy());
        a.on('close', () => { open.delete(a); b.destroy(); });
      }
    });
    server.once('error', reject);
    server.listen(at, '127.0.0.1', () => resolve(server));
  });
  let server = await begin(0);
  const own = server.address().port;
  const cut = async () => {
    const closed = new Promise((resolve) => { server.close(resolve); });
    for (const socket of open) socket.destroy();
    await closed;
  };
  cleanups.push(async () => { if (server.listening) await cut(); });
  return {
    base: `http://127.0.0.1:${own}`,
    cut,
    /** What has come down the line so far, heads and all. */
    bytes: () => bytes,
    hang: (way = 'both') => { hanging = way; },
    mend: async () => {
      hanging = '';
      if (!server.listening) server = await begin(own);
    },
  };
}
