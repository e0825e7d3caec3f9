// Runs every *.test.mjs of this folder in one process, so that they share one Chromium.

import { readdirSync } from 'node:fs';
import { after } from 'node:test';
import { tidy } from './kit.mjs';

const files = readdirSync(import.meta.dirname ?? new URL('.', import.meta.url)).filter((f) => f.endsWith('.test.mjs'));
if (files.length === 0) throw new Error('there is no *.test.mjs');
after(tidy);
for (const file of files.sort()) await import(`./${file}`);
