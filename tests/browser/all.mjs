// Runs the *.test.mjs files it is given the names of in one process, so that they share one Chromium: all.mjs NAME...

import { after } from 'node:test';
import { tidy } from './kit.mjs';

const names = process.argv.slice(2);
if (names.length === 0) throw new Error('all.mjs NAME...: there is nothing to run');
after(tidy);
for (const name of names) await import(`./${name}.test.mjs`);
