// Wet hands and no patience: new, moves, joins, ends and mistakes by touches alone, and how many each takes.

import assert from 'node:assert/strict';
import { before, describe, test } from 'node:test';
import { SITE, openWindow, signedIn, startService, the } from './kit.mjs';

let service;
before(async () => { service = await startService(); });

const site = () => `${service.base}/s/${SITE}`;
const item = (id) => `${site()}/items/${id}`;

/** A finger: counts its touches; `go` is one that leads to another page. */
function finger(page) {
  return {
    touches: 0,
    async touch(locator) {
      this.touches += 1;
      await locator.tap();
    },
    async go(locator) {
      this.touches += 1;
      await Promise.all([page.waitForEvent('load'), locator.tap()]);
    },
  };
}

async function at(path, options, job) {
  const { page, trouble, close } = await signedIn(service, options);
  await page.goto(path);
  await job(page, finger(page));
  assert.deepEqual(trouble, []);
  await close();
}

const task = (page, what) => page.locator(`main .tasks a[href$="/${what}"]`);
const main = (page) => page.locator('main .stay button.main');
const notice = (page) => page.locator('.notice:not(.bad):not([hidden])').first();
const total = (page) => page.locator(the.total).innerText();

/** With and without script: nothing of this needs it. */
function both(name, path, job) {
  for (const script of [true, false]) {
    test(`${name}, ${script ? 'with' : 'without'} script`, () => at(path(), { script }, job));
  }
}

describe('a new item', () => {
  both('takes three touches and no typing', () => `${site()}/new`, async (page, hand) => {
    await hand.touch(page.locator('label.pick:has(input[name=product])').first());
    await hand.touch(page.locator('label.pick:has(input[name=place][value=bench])'));
    await hand.go(main(page));
    assert.equal(hand.touches, 3);
    assert.match(await notice(page).innerText(), /begun/);
    assert.match(await page.locator('h1').innerText(), /, [A-Z][a-z][a-z] \d+$/, 'the server named it');
  });

  both('of twelve on a tray takes four', () => `${site()}/new`, async (page, hand) => {
    await hand.touch(page.locator('label.pick:has(input[name=product])').nth(1));
    await hand.touch(page.locator('label.pick:has(input[name=place][value=walk-in])'));
    await hand.touch(page.locator('label.pick:has(input[name=count][value="12"])'));
    await hand.go(main(page));
    assert.equal(hand.touches, 4);
    assert.match(await page.locator('h1').innerText(), /^12 × /);
  });
});

describe('the item\'s page', () => {
  test('names its action, large enough, and shows the time at 72 px after it', () => at(item('carrot-1'), {}, async (page, hand) => {
    const action = page.locator(the.action);
    assert.match(await action.innerText(), /^Out to /);
    assert.ok((await action.boundingBox()).height >= 64);
    await hand.go(action);
    assert.equal(hand.touches, 1);
    assert.match(await page.locator(the.lead).innerText(), /discard by/i);
    const size = await page.locator(the.big).evaluate((e) => parseFloat(getComputedStyle(e).fontSize));
    assert.ok(size >= 72, `${size} px`);
    // And one touch takes it back.
    await hand.go(page.locator('.notice form[action$="/undo"] button'));
    assert.match(await notice(page).innerText(), /taken back/);
    assert.match(await page.locator(the.action).innerText(), /^Out to /);
  }));
});

describe('marks', () => {
  const marks = (page, how) => page.locator(`main .mark button[value=${how}], .notice .marks button[value=${how}]`).first();

  both('out, then written on it: one touch more, and no typing', () => item('cheesecake-3'), async (page, hand) => {
    // Once out it stays out, under its one clock: the second run finds it marked already.
    const action = page.locator(the.action);
    if (await action.count()) {
      await hand.go(action);
      assert.equal(hand.touches, 1);
    }
    const time = await page.locator(the.big).innerText();
    const before = hand.touches;
    assert.ok((await marks(page, 'written').boundingBox()).height >= 64);
    await hand.go(marks(page, 'written'));
    assert.equal(hand.touches, before + 1);
    assert.ok((await notice(page).innerText()).includes(`marked “discard by`));
    assert.ok((await notice(page).innerText()).includes(time), `the mark says ${time}`);
    assert.match(await page.locator('main .mark').innerText(), /by hand .*copy \d/);
  });

  both('out on the board, then printed: one touch more', () => `${site()}/`, async (page, hand) => {
    const row = page.locator(`${the.coldRows}:has(${the.move})`).first();
    const id = (await row.getAttribute('id')).slice(2);
    await hand.go(row.locator(the.move));
    await hand.go(marks(page, 'printed'));
    assert.equal(hand.touches, 2);
    assert.equal(new URL(page.url()).pathname, `/s/${SITE}/items/${id}/label`);
    // What was printed is known.
    await page.goto(item(id));
    assert.match(await page.locator('main .mark').innerText(), /printed .*copy \d/);
  });

  both('another time than it should say is kept, and told of', () => `${item('forest-1')}/mark`, async (page, hand) => {
    await hand.touch(page.locator('main details summary'));
    await page.locator('input[name=time]').fill('25:70');
    await hand.go(main(page));
    assert.match(await page.locator('.notice.bad').first().innerText(), /Write a time of the shop/);
    assert.equal(await page.locator('input[name=time]').inputValue(), '25:70');
    const big = await page.goto(item('forest-1')).then(() => page.locator(the.big).innerText());
    const [h, m] = big.split(':').map(Number);
    await page.goto(`${item('forest-1')}/mark`);
    await hand.touch(page.locator('main details summary'));
    await page.locator('input[name=time]').fill(`${String((h + 1) % 24).padStart(2, '0')}:${String(m).padStart(2, '0')}`);
    await hand.go(main(page));
    assert.match(await page.locator('main .label.late').innerText(), /too late/);
    assert.equal(await page.locator('main .mark .marks button').count(), 2, 'and may be marked anew');
  });
});

describe('joins take at most four touches from the item\'s page, no typing, and show what comes along first', () => {
  both('another coat: three', () => item('carrot-1'), async (page, hand) => {
    await hand.go(task(page, 'coat'));
    const first = page.locator('main .choose a').first();
    const name = await first.locator('b').first().innerText();
    await hand.go(first);
    const brings = await page.locator('main .brings').innerText();
    assert.ok(brings.includes(name), `${brings} names ${name}`);
    assert.match(brings, /out (\d+ h )?\d+ min in all/);
    assert.match(await page.locator('main .then').innerText(), /then: out/);
    await hand.go(main(page));
    assert.equal(hand.touches, 3);
    assert.match(await notice(page).innerText(), /counts what went into it/);
  });

  both('topping up a tub: three', () => item('tub-2'), async (page, hand) => {
    await hand.go(task(page, 'coat'));
    await hand.go(page.locator('main .choose a[href$="with=cheese-2"]'));
    assert.match(await page.locator('main .brings').innerText(), /Cream cheese, block 2 brings/);
    await hand.go(main(page));
    assert.equal(hand.touches, 3);
  });

  both('scrapings back: three', () => item('lemon-1'), async (page, hand) => {
    await hand.go(task(page, 'scrapings'));
    await hand.go(page.locator('main .choose a').first());
    assert.match(await page.locator('main .brings').innerText(), /Lemon layer cake brings/);
    assert.match(await page.locator('main .then').innerText(), /frosting, tub \d then: out/);
    await hand.go(main(page));
    assert.equal(hand.touches, 3);
    assert.match(await notice(page).innerText(), /back in the tub/);
  });

  test('mixing two, one of them not used up: four', () => at(item('tub-1'), {}, async (page, hand) => {
    await hand.go(task(page, 'mix'));
    await hand.go(page.locator('main .choose a[href$="with=tub-2"]'));
    assert.equal(await page.locator('main .brings li').count(), 2);
    await hand.touch(page.locator('label.pick:has(input[name=spent][value=tub-2])'));
    await hand.go(main(page));
    assert.equal(hand.touches, 4);
    assert.match(await notice(page).innerText(), /begun from both/);
    // One touch takes all of it back: the new one and the end of the other.
    await hand.go(page.locator('.notice form[action$="/undo"] button'));
    await page.goto(item('tub-1'));
    assert.equal(await page.locator(the.action).count(), 1, 'it is open again');
  }));

  both('splitting a tray: three', () => item('tarts-2'), async (page, hand) => {
    await hand.go(task(page, 'split'));
    assert.match(await page.locator('main .brings').innerText(), /both carry/);
    await hand.touch(page.locator('label.pick:has(input[name=count][value="2"])'));
    await hand.go(main(page));
    assert.equal(hand.touches, 3);
    assert.match(await page.locator('h1').innerText(), /^2 × .*part \d+$/);
  });

  both('sold in part: three', () => item('tarts-2'), async (page, hand) => {
    await hand.go(task(page, 'end'));
    await hand.touch(page.locator('label.pick:has(input[name=count][value="1"])'));
    await hand.go(page.locator('main button[name=as][value=sold]'));
    assert.equal(hand.touches, 3);
    assert.match(await page.locator('main .log').innerText(), /1 sold/);
  });
});

describe('mistakes', () => {
  test('it happened earlier: four touches, and it stays marked as late', () => at(item('mascarpone-2'), {}, async (page, hand) => {
    await hand.go(task(page, 'earlier'));
    await hand.touch(page.locator('label.pick:has(input[name=ago][value="5"])'));
    await hand.touch(page.locator('label.pick:has(input[name=why][value=hands])'));
    await hand.go(page.locator('main button[name=place][value=bench]'));
    assert.equal(hand.touches, 4);
    const line = page.locator('main .log li').first();
    assert.match(await line.innerText(), /to Icing bench[\s\S]*hands were full[\s\S]*entered .* late/);
    // What rests on it: back again, then undo the first, which takes both.
    await hand.go(page.locator(the.action));
    await hand.go(page.locator('main .log li').nth(1).locator('a[href*="/undo?entries="]'));
    assert.equal(await page.locator('main .brings li').count(), 2, 'both are listed');
    assert.equal(await main(page).innerText(), 'Undo all 2');
    await hand.go(main(page));
    assert.match(await notice(page).innerText(), /taken back/);
    assert.equal(await page.locator('main .log li s').count() >= 2, true, 'struck out, and readable');
  }));

  test('found it out: two touches, counted from when it was last known to be cold', () => at(item('cheese-2'), {}, async (page, hand) => {
    const was = await total(page);
    await hand.go(task(page, 'found'));
    assert.match(await page.locator('main .then').innerText(), /Last known to be cold: /);
    await hand.go(page.locator('main button[name=place][value=bench]'));
    assert.equal(hand.touches, 2);
    assert.notEqual(await total(page), was);
    assert.match(await page.locator('main .log li').first().innerText(), /Found out of the cold/);
  }));

  test('two phones at odds', async () => {
    const one = await signedIn(service);
    const other = await signedIn(service);
    const [a, b] = [finger(one.page), finger(other.page)];
    // The one's line is broken: else it would show by now what the other did.
    await one.page.route('**/api/stream*', (r) => r.abort());
    await one.page.goto(item('carrot-1'));
    await other.page.goto(item('carrot-1'));
    await b.go(other.page.locator('main .others button[value=case]'));
    await a.go(one.page.locator(the.action));
    const said = await one.page.locator('.notice.bad:not([hidden])').first().innerText();
    assert.match(said, /moved Carrot cake to Display case at \d\d:\d\d/, 'what, and when');
    await a.go(one.page.locator('.notice a[href$="/was-out"]'));
    assert.match(await one.page.locator('main .then').innerText(), /has it in Display case since/);
    assert.match(await one.page.locator('main button[name=place]').first().innerText(), /it is back in Display case now/);
    await one.close();
    await other.close();
  });

  test('two touches of a button, two tabs, and the way back', () => at(item('lemon-1'), {}, async (page, hand) => {
    const lines = page.locator('main .log li');
    const before = await lines.count();
    const second = await page.context().newPage();
    // Its line is broken: else it would show by now what the first one did.
    await second.route('**/api/stream*', (r) => r.abort());
    await second.goto(page.url());
    await Promise.all([page.waitForEvent('load'), page.locator(the.action).dblclick()]);
    await page.goto(item('lemon-1'));
    assert.equal(await lines.count(), before + 1, 'a double touch is one move');
    await Promise.all([second.waitForEvent('load'), second.locator(the.action).tap()]);
    await second.locator('.notice.bad').first().waitFor();
    await page.goto(item('lemon-1'));
    assert.equal(await lines.count(), before + 1, 'a page that lay about changes nothing, and says why');
    await hand.go(page.locator(the.action));
    await page.goBack();
    await page.locator('h1').waitFor();
    assert.ok(!(await page.content()).includes('Confirm Form Resubmission'));
    await second.close();
  }));

  test('a name that a spreadsheet would run, and a refused form that keeps it', () => at(`${site()}/new`, {}, async (page, hand) => {
    await page.evaluate(() => { for (const d of document.querySelectorAll('details')) d.open = true; });
    await page.locator('input[name=name]').fill('=cmd()');
    await page.locator('input[name=count][inputmode]').fill('three');
    await hand.touch(page.locator('label.pick:has(input[name=product])').first());
    await hand.go(main(page));
    assert.match(await page.locator('.notice.bad').first().innerText(), /whole number/);
    assert.equal(await page.locator('input[name=name]').inputValue(), '=cmd()');
    assert.equal(await page.locator('input[name=count][inputmode]').inputValue(), 'three');
    await page.locator('input[name=count][inputmode]').fill('3');
    await hand.go(main(page));
    assert.equal(await page.locator('h1').innerText(), '3 × =cmd()');
  }));
});

describe('the round', () => {
  both('all here in one touch, the rest one by one', () => `${site()}/round/order-fridge`, async (page, hand) => {
    const here = page.locator('label.pick:has(input[name=here])');
    const count = await here.count();
    assert.ok(count >= 1, 'something is logged there');
    await hand.go(main(page));
    assert.equal(hand.touches, 1);
    assert.match(await notice(page).innerText(), new RegExp(`${count} seen in Order fridge`));
    // One isn't there.
    await page.goto(`${site()}/round/order-fridge`);
    const name = (await here.first().locator('span').innerText()).split('\n')[0];
    await hand.touch(here.first());
    await hand.go(main(page));
    assert.match(await page.locator('h1').innerText(), /^Where is /);
    assert.ok(name.includes((await page.locator('h1').innerText()).slice(9, -1)), 'it asks about the one not ticked');
    await hand.go(page.locator('main form[action$="/seen"] button.main'));
    assert.match(await notice(page).innerText(), /seen in Order fridge/);
    assert.match(await page.locator('h1').innerText(), /Round of the cold/, 'nobody is left to ask about');
  });
});

test('nobody joins anything without signing in', async () => {
  const { page, close } = await openWindow();
  const response = await page.goto(`${item('tub-1')}/coat`);
  assert.ok(new URL(page.url()).pathname.endsWith('/sign-in') || response.status() === 401);
  await close();
});
