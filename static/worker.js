// Keeps the last standings, and what is tapped while the server does not answer; sends that on, in order, once it does.
// It decides nothing about food: what it shows the server said, and what it sends the server judges. SAID comes before it.
(() => {
  "use strict";
  const ROOT = new URL("./", self.location).href;
  const PAGES = "counterclock-pages";
  const FILES = "counterclock-files";
  // How long the server may take to answer before what is kept is shown, or what was tapped is kept.
  const PATIENCE = 6000;
  // The standings are kept anew at most that often.
  const AGAIN = 10000;
  // Taps that wait at most.
  const MOST = 1000;
  // A clock that is worse than this by itself was set: milliseconds, and a part of the time that has gone by.
  const [STEADY, DRIFT] = [2000, 1e-4];
  // What two readings of the same clock may differ by: some browsers round them to tenths of a second.
  const SLIP = 250;
  const FORM = /^s\/[^/]+\/items\/([^/]+)\/(move|coat|scrapings|mark|temperature|end|seen)$/;
  // What counts evenly, whatever is done to the device's clock: good for as long as this worker lives.
  const LIFE = Math.random();
  const even = () => Date.now() - performance.now();

  // What is stored: the standings, one a shop; the taps, in order.
  let opened;
  const open = () => opened ||= new Promise((done, failed) => {
    const asked = indexedDB.open("counterclock", 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("kept", { keyPath: "site" });
      asked.result.createObjectStore("taps", { keyPath: "n", autoIncrement: true });
      // The number of the last tap there ever was: a page that has seen a later one knows that this was lost.
      asked.result.createObjectStore("last", { keyPath: "id" });
    };
    asked.onsuccess = () => {
      asked.result.onclose = () => { opened = null; };
      done(asked.result);
    };
    asked.onerror = asked.onblocked = () => { opened = null; failed(asked.error); };
  });
  const stored = async (name, mode, work) => {
    const transaction = (await open()).transaction(name, mode, { durability: "strict" });
    const whole = new Promise((done, failed) => {
      transaction.oncomplete = done;
      transaction.onabort = transaction.onerror = () => failed(transaction.error);
    });
    const request = work(transaction.objectStore(name));
    await whole;
    return request.result;
  };
  const kept = (site) => stored("kept", "readonly", (s) => s.get(site)).catch(() => undefined);
  const taps = () => stored("taps", "readonly", (s) => s.getAll());
  const update = (tap) => stored("taps", "readwrite", (s) => s.put(tap));
  const drop = (n) => stored("taps", "readwrite", (s) => s.delete(n));

  const soon = (promise) => {
    let timer;
    const late = new Promise((_, failed) => { timer = setTimeout(() => failed(new Error("no answer")), PATIENCE); });
    return Promise.race([promise, late]).finally(() => clearTimeout(timer));
  };
  // A proxy that finds no server behind it has not been answered either.
  const answered = (answer) => {
    if (answer.status === 502 || answer.status === 504) throw new Error(String(answer.status));
    return answer;
  };
  const ask = (path, options) => soon(fetch(ROOT + path, { credentials: "same-origin", cache: "no-store", ...options }));
  // The same, with when by this clock the server said it, give or take `error`. As signal comes back a clock is often set:
  // an answer that spans that, or the device's sleep, tells nothing about the clock.
  const askTimed = async (path) => {
    const [from, was] = [performance.now(), even()];
    const answer = answered(await ask(path));
    const error = (performance.now() - from) / 2;
    const [measured, is] = [Date.now(), even()];
    return { answer, error, measured, said: measured - error, even: is, slipped: Math.abs(is - was) > SLIP };
  };

  // What is kept is one person's: nobody else is shown it, and it is gone once they have left.
  const forget = async () => {
    await caches.delete(PAGES);
    await stored("kept", "readwrite", (s) => s.clear());
  };

  let due = false;
  // `sure` where the server has just said whose page it is: an old page may say otherwise.
  const keep = async (site, person, sure) => {
    const before = await kept(site);
    const age = before ? Date.now() - before.measured : -1;
    if (before && before.person !== person) {
      if (sure) await forget();
    } else if (!due && age >= 0 && age < AGAIN) return;
    due = false;
    const { answer, measured, said, slipped } = await askTimed(`s/${site}/kept`);
    if (slipped || !answer.ok || answer.redirected) return;
    const figures = await answer.json();
    // Somebody else by now.
    if (figures.person !== person) return;
    const page = await ask(`s/${site}/no-signal`);
    if (!page.ok || page.redirected) return;
    const text = await page.clone().text();
    const files = [...text.matchAll(/(?:href|src)="(?:\.\.\/)*(static\/[^"]+)"/g)].map((m) => ROOT + m[1].replaceAll("&amp;", "&"));
    const cache = await caches.open(FILES);
    for (const file of files) if (!await cache.match(file)) await cache.add(file);
    for (const old of await cache.keys()) if (!files.includes(old.url)) await cache.delete(old);
    await (await caches.open(PAGES)).put(`${ROOT}s/${site}/no-signal`, page);
    await stored("kept", "readwrite", (s) => s.put({ ...figures, site, measured, offset: figures.now_ms - said }));
  };

  // A page of the shop says whose it is.
  const met = async (site, answer) => {
    if (!answer.ok || !(answer.headers.get("content-type") || "").startsWith("text/html")) return;
    const [, person] = (await answer.text()).match(/<body[^>]* data-person="([^"]+)"/) || [];
    if (person) await keep(site, person, true).catch(() => {});
  };

  // Whoever has just waited in vain isn't made to wait once more.
  let silent = -Infinity;
  const page = async (e, site, rest) => {
    const own = rest === "no-signal";
    // A long page may take its time.
    const patient = !/^($|items\/|round|racks|new|no-signal)/.test(rest);
    try {
      if (own && performance.now() - silent < PATIENCE) throw new Error("no answer");
      const answer = answered(await (patient ? fetch(e.request) : soon(fetch(e.request))));
      silent = -Infinity;
      e.waitUntil(met(site, answer.clone()));
      return answer;
    } catch {
      silent = performance.now();
      const found = await caches.open(PAGES).then((c) => c.match(`${ROOT}s/${site}/no-signal`)).catch(() => null);
      if (!found || !await kept(site)) return Response.error();
      const [, item] = rest.match(/^items\/([^/]+)/) || [];
      return own ? found : Response.redirect(`${ROOT}s/${site}/no-signal${item ? `?at=${item}` : ""}`, 303);
    }
  };
  // Any other page of the service: on to the shop that was looked at last.
  const elsewhere = async (e) => {
    try {
      return answered(await soon(fetch(e.request)));
    } catch {
      const [last] = (await stored("kept", "readonly", (s) => s.getAll()).catch(() => [])).sort((a, b) => b.measured - a.measured);
      return last ? Response.redirect(`${ROOT}s/${last.site}/no-signal`, 303) : Response.error();
    }
  };

  // The few words that stand where no page is kept, and that nothing was recorded.
  const plain = (which, language) => {
    const said = SAID[language] || SAID[(navigator.language || "").slice(0, 2)] || SAID.en;
    const text = `<!doctype html><html><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">`
      + `<title>${said.title}</title><h1>${said.title}</h1><p role="alert">${said[which]}</p><p><a href="">${said.back}</a></p></html>`;
    return new Response(text, { status: 503, headers: { "content-type": "text/html; charset=utf-8" } });
  };

  const tapped = async (e, site, item, form) => {
    const at = Date.now();
    const fields = [...new URLSearchParams(await e.request.clone().text())];
    const figures = await kept(site);
    // What the same person tapped before comes first.
    const before = async () => (await taps().catch(() => [])).some((t) => waits(t) && figures && t.person === figures.person);
    if (!await before() || (await send(), !await before())) {
      try {
        const headers = new Headers(e.request.headers);
        // If this arrives after it was given up, it is not to be taken as tapped then.
        if (figures) headers.set("not-after-ms", String(Math.round(at + figures.offset + PATIENCE)));
        const answer = answered(await soon(fetch(new Request(e.request, { headers }))));
        due = true;
        if (!answer.headers.has("given-up")) return answer;
      } catch {
        // It is kept.
      }
    }
    if (!figures) return plain("nothing");
    try {
      if ((await taps()).length >= MOST) return plain("full", figures.language);
      const n = await stored("taps", "readwrite", (s) => s.add({
        site, item, form, fields, at, person: figures.person, name: figures.name, offset: figures.offset,
        measured: figures.measured, life: LIFE, even: even(), label: (figures.items.find((i) => i.id === item) || {}).name || item,
      }));
      await stored("last", "readwrite", (s) => s.put({ id: "tap", n }));
    } catch {
      return plain("full", figures.language);
    }
    silent = performance.now();
    e.waitUntil(send().then(tell));
    return Response.redirect(`${ROOT}s/${site}/no-signal?put=${encodeURIComponent(item)}`, 303);
  };

  // What is not sent later: that nothing was recorded is said.
  const other = async (e, site) => {
    try {
      const answer = answered(await fetch(e.request));
      due = true;
      return answer;
    } catch {
      return await kept(site) ? Response.redirect(`${ROOT}s/${site}/no-signal?not=1`, 303) : plain("nothing");
    }
  };

  const leaving = async (e) => {
    const answer = await fetch(e.request);
    // Whoever is signed in now, it is another.
    if (answer.type === "opaqueredirect") await forget().catch(() => {});
    return answer;
  };

  const waits = (tap) => !tap.untaken;

  // The server's clock against this one, as well as three questions tell it.
  const measure = async (site) => {
    let best = null;
    for (let i = 0; i < 3 && !(best && best.error < 500); i += 1) {
      const { answer, error, said, even, slipped } = await askTimed(`s/${site}/taps`);
      if (answer.status === 401 || answer.status === 403) return { person: null };
      if (!answer.ok) throw new Error(String(answer.status));
      const { now_ms, person } = await answer.json();
      if (!slipped && (!best || error < best.error)) best = { person, error, offset: now_ms - said, even };
    }
    if (!best) throw new Error("the clock is being set");
    return best;
  };

  // A tap's time by the server's clock. If the device's own was set between when it was last compared and now, it is
  // taken to have been set after the tap, unless this worker has seen that it was before.
  const timed = (tap, clock) => {
    const apart = clock.offset - tap.offset;
    const steady = Math.abs(apart) <= STEADY + DRIFT * Math.abs(Date.now() - tap.measured);
    const since = tap.life === LIFE && Math.abs(clock.even - tap.even) <= STEADY;
    if (steady || since) return { at: tap.at + clock.offset };
    return { at: tap.at + tap.offset, set_ms: Math.round(-apart) };
  };

  const post = async (tap, clock) => {
    const { at, set_ms } = timed(tap, clock);
    const body = {
      person: tap.person, item: tap.item, form: tap.form, fields: tap.fields,
      at: new Date(at).toISOString(), device_at: new Date(tap.at).toISOString(), set_ms,
    };
    const headers = { "content-type": "application/json" };
    const answer = answered(await ask(`s/${tap.site}/taps`, { method: "POST", headers, body: JSON.stringify(body) }));
    if (answer.status >= 500 || answer.status === 401 || answer.status === 403) throw new Error(String(answer.status));
    return answer.json();
  };

  let sending = null;
  const send = () => sending ||= run().catch(() => {}).finally(() => { sending = null; });
  const run = async () => {
    const clocks = new Map();
    for (let last = 0; ;) {
      const tap = (await taps()).find((t) => waits(t) && t.n > last);
      if (!tap) return;
      last = tap.n;
      if (!clocks.has(tap.site)) clocks.set(tap.site, await measure(tap.site));
      const clock = clocks.get(tap.site);
      // What is somebody else's waits for them: in nobody's name it could be sent.
      if (clock.person !== tap.person) continue;
      const said = await post(tap, clock);
      due = true;
      if (said.taken) await drop(tap.n);
      else if (said.code === "another-person") return;
      // Whatever else it answers, sending it again would be answered the same: it stays here, to be seen.
      else await update({ ...tap, untaken: said.untaken || { tap: null, detail: `${said.title || ""} ${said.detail || ""}` } });
    }
  };

  const tell = async () => {
    const all = await taps().catch(() => []);
    const [waiting, untaken] = [all.filter(waits).length, all.filter((t) => !waits(t)).length];
    const { n: last = 0 } = await stored("last", "readonly", (s) => s.get("tap")).catch(() => undefined) || {};
    const said = { waiting, untaken, last };
    for (const client of await clients.matchAll({ type: "window", includeUncontrolled: true })) client.postMessage(said);
  };

  const file = async (request) => {
    const found = await caches.match(request.url).catch(() => null);
    return found || fetch(request);
  };

  addEventListener("install", () => skipWaiting());
  addEventListener("activate", (e) => e.waitUntil(clients.claim()));
  addEventListener("fetch", (e) => {
    const { request } = e;
    if (!request.url.startsWith(ROOT)) return;
    const url = new URL(request.url);
    const path = request.url.slice(ROOT.length).replace(/[?#].*$/, "");
    if (request.method === "GET" && path.startsWith("static/")) {
      if (url.search) e.respondWith(file(request));
      return;
    }
    if (request.mode !== "navigate") return;
    const [, site, rest] = path.match(/^s\/([^/]+)\/(.*)$/) || [];
    const [, item, form] = path.match(FORM) || [];
    if (request.method === "POST") {
      if (form) e.respondWith(tapped(e, site, item, form));
      else if (site) e.respondWith(other(e, site));
      else if (/^(sign-in|sign-out|inspect|set-up)$/.test(path)) e.respondWith(leaving(e));
    } else if (site !== undefined) {
      // A download is the browser's own matter.
      if (!/^api\/|\.pdf$/.test(rest)) e.respondWith(page(e, site, rest));
    } else if (/^$|^t\/|^boards$/.test(path)) e.respondWith(elsewhere(e));
  });
  addEventListener("message", (e) => {
    const { what, site, person, n } = e.data;
    const work = async () => {
      if (what === "send") {
        await send();
        await keep(site, person, false).catch(() => {});
      }
      if (what === "drop") await drop(n);
      if (what === "show") e.ports[0].postMessage({ kept: await kept(site), taps: (await taps().catch(() => [])).filter((t) => t.site === site) });
      else await tell();
    };
    e.waitUntil(work());
  });
})();
