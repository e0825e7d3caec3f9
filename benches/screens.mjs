// Many open boards and many moves: how long until a move is shown on all of them.
//   COUNTERCLOCK_BINARY=target/release/counterclock node benches/screens.mjs [SCREENS] [MOVES_A_SECOND] [SECONDS]
// Each screen does what a page does: it listens to the stream, and on an event asks for the rows, at most four times a
// second. A move is shown on a screen when rows that are at least as new as it have arrived there whole. Screens and
// service share the machine.

import { execFileSync, spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { Agent, request } from 'node:http';
import { cpus, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';

const [screens, rate, seconds] = [process.argv[2] ?? 500, process.argv[3] ?? 50, process.argv[4] ?? 20].map(Number);
const ITEMS = 60;
const GATHER = 250;
const binary = process.env.COUNTERCLOCK_BINARY;
if (!binary) throw new Error('COUNTERCLOCK_BINARY names no program');
const folder = mkdtempSync(join(tmpdir(), 'counterclock-screens-'));
const db = `sqlite://${folder}/screens.db`;
const token = execFileSync(binary, [
  'token', 'add', '--name', 'screens', '--role', 'manager', '--site-zone', 'Europe/London', '--db', db,
], { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] }).trim();
const server = spawn(binary, ['serve', '--listen', '127.0.0.1:0', '--db', db], { stdio: ['ignore', 'pipe', 'ignore'] });
process.on('exit', () => {
  server.kill('SIGKILL');
  rmSync(folder, { recursive: true, force: true });
});
const port = await new Promise((resolve) => {
  server.stdout.once('data', (d) => resolve(Number(String(d).match(/http:\/\/[^:]+:(\d+)/)[1])));
});

const asking = new Agent({ keepAlive: true, maxSockets: Infinity });
const headers = { authorization: `Bearer ${token}`, 'accept-encoding': 'gzip' };

/** One request; its answer's headers and length, and its body where that is wanted. */
function ask(method, path, body, agent = asking) {
  return new Promise((resolve, reject) => {
    const more = body ? { 'content-type': 'application/json', 'accept-encoding': 'identity' } : {};
    const sent = request({ port, method, path, agent, headers: { ...headers, ...more } }, (answer) => {
      let [text, bytes] = ['', 0];
      answer.on('data', (d) => { bytes += d.length; if (body) text += d; });
      answer.on('end', () => resolve({ status: answer.statusCode, headers: answer.headers, text, bytes }));
      answer.on('error', reject);
    });
    sent.on('error', reject);
    sent.end(body && JSON.stringify(body));
  });
}

async function write(entries) {
  const { status, text } = await ask('POST', '/s/shop/api/entries', entries);
  if (status !== 201) throw new Error(`${status} ${text}`);
  return JSON.parse(text).entries;
}

await write([
  { kind: 'place', place: 'bench', name: 'Bench', control: 'none', use: 'work' },
  { kind: 'place', place: 'fridge', name: 'Fridge', control: 'cold' },
  ...Array.from({ length: ITEMS }, (_, n) => (
    { kind: 'item', item: `i${n}`, name: `Item ${n}`, place: 'fridge', rules: ['sum-2h-4h', 'keep-7d'] })),
]);

/** For each entry, when it was acknowledged; and each screen's delays. */
const acknowledged = new Map();
let [delays, rows, weight] = [[], 0, 0];

function screen() {
  const own = new Agent({ keepAlive: true, maxSockets: 1 });
  let [shown, heard, busy, timer, asked] = [0, 0, false, 0, 0];
  const look = async () => {
    busy = true;
    asked = performance.now();
    const { status, headers: said, bytes } = await ask('GET', '/s/shop/fragment?view=board', null, own);
    if (status !== 200) throw new Error(`rows: ${status}`);
    const now = performance.now();
    [rows, weight] = [rows + 1, weight + bytes];
    const seq = Number(said.seq);
    for (let n = Math.max(shown, 0) + 1; n <= seq; n += 1) {
      if (acknowledged.has(n)) delays.push(now - acknowledged.get(n));
    }
    shown = Math.max(shown, seq);
    busy = false;
    if (heard > shown) soon();
  };
  const soon = () => {
    if (!busy && !timer) timer = setTimeout(() => { timer = 0; look(); }, Math.max(0, GATHER - (performance.now() - asked)));
  };
  return new Promise((resolve, reject) => {
    const sent = request({ port, path: '/s/shop/api/stream', agent: false, headers }, (answer) => {
      if (answer.statusCode !== 200) reject(new Error(`stream: ${answer.statusCode}`));
      let text = '';
      answer.on('data', (d) => {
        const blocks = (text + d).split('\n\n');
        text = blocks.pop();
        for (const block of blocks) {
          const id = block.match(/^id: (\d+)$/m);
          if (id && block.includes('\ndata:')) {
            heard = Number(id[1]);
            soon();
          } else if (id) {
            shown = Number(id[1]);
            resolve({ shown: () => shown });
          }
        }
      });
    });
    sent.on('error', reject);
    sent.end();
  });
}

console.log(`${cpus().length} cores, load average ${loadavg()[0].toFixed(1)}; ${screens} screens, ${rate} moves a second, ${seconds} s, ${ITEMS} items`);
const open = await Promise.all(Array.from({ length: screens }, screen));
const begun = performance.now();
const moving = [];
const taken = [];
for (let n = 0; n < rate * seconds; n += 1) {
  const wait = begun + (n * 1000) / rate - performance.now();
  if (wait > 0) await new Promise((later) => { setTimeout(later, wait); });
  const place = Math.floor(n / ITEMS) % 2 === 0 ? 'bench' : 'fridge';
  const sent = performance.now();
  moving.push(write({ kind: 'move', item: `i${n % ITEMS}`, place }).then(([e]) => {
    taken.push(performance.now() - sent);
    // Counted from when it was sent: a screen may show it before the answer is read here.
    acknowledged.set(e.seq, sent);
  }));
}
await Promise.all(moving);
const last = Math.max(...acknowledged.keys());
for (let tries = 0; tries < 600 && open.some((s) => s.shown() < last); tries += 1) await new Promise((later) => { setTimeout(later, 100); });
const behind = open.filter((s) => s.shown() < last).length;
const at = (list, part) => list.toSorted((a, b) => a - b)[Math.ceil(list.length * part) - 1]?.toFixed(0);
console.log(`moves answered: p50 ${at(taken, 0.5)} ms, p99 ${at(taken, 0.99)} ms of ${taken.length}`);
console.log(`shown on a screen after: p50 ${at(delays, 0.5)} ms, p99 ${at(delays, 0.99)} ms of ${delays.length}; ${behind} screens behind at the end`);
console.log(`rows asked for: ${(rows / ((performance.now() - begun) / 1000)).toFixed(0)} a second, ${(weight / rows / 1024).toFixed(1)} KB each; load average ${loadavg()[0].toFixed(1)}`);
process.exit(behind > 0 ? 1 : 0);
