// Counts down what the server said is left, listens for what changes, and asks for it. No limit is decided here.
(() => {
  "use strict";
  const body = document.body;
  const d = body.dataset;
  // A shared rendering may be a second old: it is counted as if it was.
  const OLD = 1000;
  const QUIET = 10000;
  const GATHER = 250;
  // The server wrote it after it was asked: counted from there, no time seems longer than it is.
  const [loaded] = performance.getEntriesByType("navigation");
  let since = (loaded ? loaded.requestStart : 0) - OLD;
  let [busy, again, asked, timer] = [false, false, 0, 0];
  const fill = (pattern, values) => pattern.replace(/\{(\w+)\}/g, (_, name) => values[name]);

  const span = (ms) => {
    const minutes = Math.floor(ms / 60000);
    const h = Math.floor(minutes / 60);
    if (h < 1) return fill(d.m, { m: minutes });
    return fill(d.hm, { h, m: String(minutes % 60).padStart(2, "0") });
  };

  // What a screen reader is told: what came or moved, politely; what is over, at once. In the rows' own words.
  const rows = (of) => new Map([...of.querySelectorAll("li.row")].map((r) => {
    const where = r.querySelector(".where").textContent;
    const verdict = r.querySelector(".verdict");
    return [r.id, {
      over: r.classList.contains("v-discard") && verdict.textContent,
      name: r.querySelector("h3").textContent,
      where: where.slice(0, where.lastIndexOf(" · ")),
    }];
  }));
  const tell = (was, is) => {
    const [over, moved] = [[], []];
    for (const [id, r] of is) {
      const before = was.get(id) || {};
      if (r.over && !before.over) over.push(`${r.over}: ${r.name}`);
      else if (r.where !== before.where) moved.push(`${r.name}: ${r.where}`);
    }
    for (const [id, lines] of [["overs-told", over], ["moves-told", moved]]) {
      const more = lines.length > 3 ? ` + ${lines.length - 3}` : "";
      if (lines.length) document.getElementById(id).textContent = lines.slice(0, 3).join(". ") + more;
    }
  };

  const renew = (old, fresh) => {
    const were = rows(old);
    still.renew(old, fresh);
    tell(were, rows(old));
  };

  const say = (asOf, now) => {
    document.querySelector(".asof span").textContent = fill(d.asof, { t: asOf });
    document.getElementById("stale").textContent = fill(d.stale, { t: asOf });
    d.now = now;
    since = asked - OLD;
  };

  // The newest of what the server shows, in place of what is there.
  const ask = async (whole) => {
    if (busy || still.pressed()) {
      again = true;
      return;
    }
    [busy, again, asked] = [true, false, performance.now()];
    try {
      const answer = await fetch(!whole && d.fragment || document.querySelector(".asof a").href, {
        cache: "no-store", credentials: "same-origin", headers: { "By-Itself": "1" },
      });
      if (!answer.ok) throw new Error(String(answer.status));
      // The sign-in has run out: the page that says so is gone to.
      if (answer.redirected) return location.assign(answer.url);
      const text = await answer.text();
      if (still.pressed()) {
        again = true;
        return;
      }
      if (!whole && d.fragment) {
        const fresh = new DOMParser().parseFromString(`<div id="live">${text.replaceAll('value="{key}"', `value="${d.key}"`)}</div>`, "text/html");
        renew(document.getElementById("live"), fresh.getElementById("live"));
        say(decodeURIComponent(answer.headers.get("as-of")), answer.headers.get("now-ms"));
      } else {
        const fresh = new DOMParser().parseFromString(text, "text/html");
        renew(document.querySelector("main"), fresh.querySelector("main"));
        const { asof, stale } = d;
        Object.assign(d, { ...fresh.body.dataset });
        document.querySelector(".asof span").textContent = fresh.querySelector(".asof span").textContent;
        document.getElementById("stale").textContent = fresh.getElementById("stale").textContent;
        since = asked - OLD;
        Object.assign(d, { asof, stale });
      }
      if (!line) well = performance.now();
      document.dispatchEvent(new Event("fresh"));
      tick();
    } catch {
      document.getElementById("stale").hidden = false;
    } finally {
      busy = false;
      if (again) soon();
    }
  };

  // Four times a second at most.
  const soon = () => {
    if (!timer) timer = setTimeout(() => { timer = 0; ask(false); }, Math.max(0, GATHER - (performance.now() - asked)));
  };

  // What is listened to: the line, and when anything was last heard on it.
  const line = d.stream && { heard: performance.now(), begun: 0, last: "", again: false };
  let well = performance.now();

  const tick = () => {
    const now = performance.now();
    const adrift = line ? now - line.heard > QUIET : now - well > QUIET + Number(d.again) * 1000;
    body.classList.toggle("adrift", adrift);
    document.getElementById("stale").hidden = !adrift;
    const gone = now - since;
    let reached = false;
    for (const el of document.querySelectorAll("[data-ms]")) {
      const left = Number(el.dataset.ms) - gone;
      const text = adrift ? d.adrift : left > 0 ? fill(el.dataset.left || d.left, { t: span(left) }) : d.asking;
      if (el.textContent !== text) el.textContent = text;
      reached ||= left <= 0;
    }
    for (const el of document.querySelectorAll("[data-next]")) {
      if (Number(d.now) + gone > Number(el.dataset.next)) reached = true;
    }
    if (reached && now - asked > 900) soon();
  };

  const concerns = (e) => {
    const of = d.of && d.of.split(" ");
    return !of || !e.item || of.includes(e.item) || (e.from || []).some((id) => of.includes(id));
  };

  // Server-sent events, read by hand: what isn't meant for people, as the comments, says that the line is there.
  const listen = async () => {
    for (;;) {
      if (document.hidden) {
        await new Promise((seen) => { document.addEventListener("visibilitychange", seen, { once: true }); });
        continue;
      }
      const cut = new AbortController();
      const watch = setInterval(() => {
        if (document.hidden || performance.now() - Math.max(line.heard, line.begun) > QUIET) cut.abort();
      }, 1000);
      line.begun = performance.now();
      try {
        const headers = { "By-Itself": "1" };
        if (line.last) headers["Last-Event-ID"] = line.last;
        const answer = await fetch(d.stream, { signal: cut.signal, cache: "no-store", credentials: "same-origin", headers });
        if (!answer.ok) {
          if (answer.status === 401) soon();
          throw new Error(String(answer.status));
        }
        const reader = answer.body.getReader();
        const decoder = new TextDecoder();
        if (line.again) soon();
        line.again = true;
        for (let text = ""; ;) {
          const { done, value } = await reader.read();
          if (done) break;
          line.heard = performance.now();
          const blocks = (text + decoder.decode(value, { stream: true })).split("\n\n");
          text = blocks.pop();
          for (const block of blocks) {
            const field = (name) => (block.match(new RegExp(`^${name}: ?(.*)$`, "m")) || [])[1];
            line.last = field("id") || line.last;
            const data = field("data");
            if (data && concerns(JSON.parse(data))) soon();
          }
        }
      } catch {
        // It is tried again.
      } finally {
        clearInterval(watch);
      }
      await new Promise((later) => { setTimeout(later, 500 + 1500 * Math.random()); });
    }
  };

  if (line) listen();
  tick();
  setInterval(tick, 1000);
  // What stands around the rows is each viewer's own: now and then the whole page is asked for.
  setInterval(() => { if (!document.hidden) ask(true); }, Number(d.again) * 1000);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) soon(); });
  document.addEventListener("released", () => { if (again) soon(); });
})();
