// How fast an item's page answers on a slow phone and a slow line, what it weighs, and how fast the server answers.

import assert from 'node:assert/strict';
import { before, describe, test } from 'node:test';
import { SITE, lineTo, openWindow, signedIn, startService, the } from './kit.mjs';

let service;
before(async () => { service = await startService(); });

const item = (id) => `${service.base}/s/${SITE}/items/${id}`;
const median = (list) => [...list].sort((a, b) => a - b)[Math.floor(list.length / 2)];

/** A processor slowed four times, 400 kbit/s, 400 ms, and nothing in the cache. */
async function slow(page) {
  const cdp = await page.context().newCDPSession(page);
  await cdp.send('Network.enable');
  await cdp.send('Network.clearBrowserCache');
  await cdp.send('Emulation.setCPUThrottlingRate', { rate: 4 });
  const bytes = 400_000 / 8;
  await cdp.send('Network.emulateNetworkConditions', {
    offline: false, latency: 400, downloadThroughput: bytes, uploadThroughput: bytes,
  });
  return cdp;
}

describe('an item\'s page', () => {
  // Counted on the line, heads and all, so that nothing is missed, whoever in the browser fetches it.
  for (const [worker, most, what] of [
    [false, 30_000, 'what a touch waits for'],
    [true, 60_000, 'and all that is kept for when there is no signal'],
  ]) {
    test(`weighs at most ${most / 1000} KB over the wire on a first visit: ${what}`, async () => {
      const line = await lineTo(service);
      const { page, close } = await signedIn(service, { worker: false });
      const cookies = await page.context().cookies();
      await close();
      const first = await openWindow({ worker });
      await first.page.context().addCookies(cookies);
      await first.page.goto(item('tub-1').replace(service.base, line.base), { waitUntil: 'load' });
      // The stream never ends; all else has come soon after the page.
      await first.page.waitForTimeout(2000);
      console.log(`wire: ${line.bytes()} bytes, ${what}`);
      assert.ok(line.bytes() > 10_000 && line.bytes() <= most, `${line.bytes()} bytes`);
      await first.close();
    });
  }

  for (const script of [true, false]) {
    test(`answers a touch within 1.5 s, ${script ? 'with' : 'without'} script, median of 5`, async () => {
      const took = [];
      for (let n = 0; n < 5; n += 1) {
        const { page, close } = await signedIn(service, { script });
        await slow(page);
        const sent = page.waitForRequest((r) => r.method() === 'POST');
        const begun = Date.now();
        await page.goto(item('tub-2'), { waitUntil: 'commit' });
        await page.locator(the.action).tap({ noWaitAfter: true });
        await sent;
        took.push(Date.now() - begun);
        await page.waitForEvent('load');
        await close();
      }
      console.log(`first touch, ${script ? 'with' : 'without'} script: ${took.join(', ')} ms, median ${median(took)}`);
      assert.ok(median(took) <= 1500, `${took} ms`);
    });
  }
});

test('a move is answered within 100 ms at p99, 20 a second', async () => {
  const { page, close } = await signedIn(service);
  const cookies = await page.context().cookies();
  const cookie = cookies.map((c) => `${c.name}=${c.value}`).join('; ');
  await close();
  const took = [];
  const move = async (n) => {
    const place = Math.floor(n / 3) % 2 === 0 ? 'bench' : 'walk-in';
    const key = n.toString(16).padStart(32, 'a');
    const begun = performance.now();
    const answer = await fetch(`${item(`small-${String(18 + (n % 3)).padStart(2, '0')}`)}/move`, {
      method: 'POST', redirect: 'manual', headers: { cookie }, body: new URLSearchParams({ key, place }),
    });
    took.push(performance.now() - begun);
    assert.equal(answer.status, 303, 'each is a move that was written');
  };
  const all = [];
  for (let n = 0; n < 200; n += 1) {
    all.push(move(n));
    await new Promise((resolve) => { setTimeout(resolve, 50); });
  }
  await Promise.all(all);
  const sorted = took.sort((a, b) => a - b);
  const p99 = sorted[Math.ceil(sorted.length * 0.99) - 1];
  console.log(`moves: p50 ${sorted[100].toFixed(1)} ms, p99 ${p99.toFixed(1)} ms of ${sorted.length}`);
  assert.ok(p99 <= 100, `p99 ${p99} ms`);
});
