// Fills in the page for when there is no signal: the standings that were kept, with what was tapped since. It shows what
// the server had said, and says how old that is.
(() => {
  "use strict";
  const place = document.getElementById("signal");
  const d = place.dataset;
  const words = document.getElementById("words").content.firstElementChild.dataset;
  const fill = (pattern, values) => pattern.replace(/\{(\w+)\}/g, (_, name) => values[name]);
  const key = () => [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, "0")).join("");
  const span = (ms) => {
    // Figures are never called newer than they are.
    const minutes = Math.max(0, Math.ceil(ms / 60000));
    const h = Math.floor(minutes / 60);
    return h < 1 ? fill(d.m, { m: minutes }) : fill(d.hm, { h, m: String(minutes % 60).padStart(2, "0") });
  };
  const { site } = document.body.dataset;
  const worker = () => navigator.serviceWorker && navigator.serviceWorker.controller;
  const show = () => new Promise((done) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = (e) => done(e.data);
    worker().postMessage({ what: "show", site }, [port2]);
  });

  // What a tap says, in the words of the page it came from.
  const said = (tap, kept) => {
    const field = (name) => (tap.fields.find(([n]) => n === name) || [])[1] || "";
    const at = (kept.places.find((p) => p.id === field("place")) || {}).name || field("place");
    const other = (kept.items.find((i) => i.id === field("with")) || {}).name || field("with");
    const marked = field("time") || ((kept.items.find((i) => i.id === tap.item) || {}).mark || {}).time || "";
    const ends = (kept.items.find((i) => i.id === tap.item) || {}).go;
    if (tap.form === "end" && ends && ends.form === "end") return ends.label;
    return fill(d[tap.form] || tap.form, { place: at, name: other, time: marked, value: field("value") });
  };
  const clock = (tap) => new Date(tap.at).toLocaleTimeString(document.documentElement.lang, { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });

  const line = (tap, text, button) => {
    const li = document.getElementById("tap").content.cloneNode(true).firstElementChild;
    li.id = `tap-${tap.n}`;
    li.querySelector(".what").textContent = text;
    const off = li.querySelector("button");
    [off.value, off.textContent] = [tap.n, button];
    return li;
  };
  place.addEventListener("click", (e) => {
    const off = e.target.closest("button.off");
    if (off && !e.defaultPrevented) worker().postMessage({ what: "drop", n: Number(off.value) });
  });

  // What went into it, or how warm it was, the server hasn't counted yet: its time can only be shorter by that.
  const uncounted = (id) => (tap) => tap.form === "scrapings" ? tap.fields.some(([name, value]) => name === "with" && value === id)
    : tap.item === id && (tap.form === "coat" || tap.fields.some(([name, value]) => name === "value" && value));

  const row = (item, waiting, kept, now) => {
    const mine = waiting.filter((t) => t.item === item.id);
    const shorter = waiting.some(uncounted(item.id));
    const li = document.getElementById("row").content.cloneNode(true).firstElementChild;
    const set = (css, text) => { li.querySelector(css).textContent = text || ""; };
    const at = `${d.board}items/${item.id}`;
    const moved = mine.filter((t) => t.form === "move").map((t) => t.fields.find(([n]) => n === "place")[1]);
    const here = moved.at(-1) || item.place;
    const before = moved.length > 1 ? moved.at(-2) : item.place;
    const called = (id) => (kept.places.find((p) => p.id === id) || { name: id }).name;
    li.id = `i-${item.id}`;
    li.className = `row ${item.class}`;
    if (item.verdict) {
      li.querySelector(".verdict").hidden = false;
      set(".verdict", item.verdict);
    }
    // Once it is out, what it could have stood from when the figures are from is on the short side, and stands.
    const cold = (id) => (kept.places.find((p) => p.id === id) || {}).cold;
    const went = moved.some((id) => !cold(id));
    set(".lead", went && item.class.includes("would") ? d.by : item.lead);
    if (went) li.classList.remove("would");
    set(".big", item.big);
    set(".date", item.date);
    const reached = item.by_ms !== null && now >= item.by_ms;
    // What the server itself has called over is over.
    set(".left", li.classList.contains("v-discard") ? item.left : reached ? d.reached : shorter ? d.shorter : item.running || went ? d.adrift : item.left);
    set("h3", item.name);
    set(".where", `${called(here)} · ${item.total}`);
    const list = li.querySelector(".waits");
    list.hidden = !mine.length;
    for (const tap of mine) {
      const one = document.createElement("li");
      one.textContent = `${clock(tap)} ${said(tap, kept)}`;
      list.append(one);
    }
    for (const input of li.querySelectorAll("[name=key]")) input.value = key();
    const go = li.querySelector("form.go");
    const button = go.querySelector("button");
    if (moved.length) {
      go.action = `${at}/move`;
      [button.name, button.value] = ["place", before];
      button.textContent = fill(cold(before) ? d.back : d.out, { place: called(before) });
    } else if (item.go) {
      go.action = `${at}/${item.go.form}`;
      [button.name, button.value, button.textContent] = [item.go.field, item.go.value, item.go.label];
      li.querySelector(".read").hidden = !item.go.read_first;
      li.querySelector(".read input").disabled = !item.go.read_first;
    } else {
      go.remove();
    }
    set("summary .off-screen", `: ${item.name}`);
    const places = li.querySelector(".places");
    places.action = `${at}/move`;
    for (const p of kept.places.filter((p) => p.id !== here)) {
      const to = document.createElement("button");
      [to.name, to.value, to.textContent] = ["place", p.id, p.name];
      places.querySelector("fieldset").append(to);
    }
    const joins = li.querySelector(".joins");
    joins.action = `${at}/coat`;
    joins.querySelector("select").append(new Option("", ""), ...kept.items.filter((i) => i.id !== item.id).map((i) => new Option(i.name, i.id)));
    const written = li.querySelector(".written");
    written.action = `${at}/mark`;
    if (item.mark && !shorter) {
      written.hidden = false;
      written.elements.shown.value = item.mark.shown;
      written.querySelector("button").textContent = `${fill(words.lead, item.mark)}: ${words.written}`;
    }
    li.querySelector(".typed").action = `${at}/mark`;
    if (mine.some((t) => t.form === "end")) for (const over of li.querySelectorAll("form, details")) over.remove();
    return li;
  };

  const asked = new URLSearchParams(location.search);
  let drawn = false;
  const draw = async () => {
    if (!worker()) return;
    const { kept, taps } = await show();
    if (!kept || still.pressed()) return;
    const now = Date.now() + kept.offset;
    const [waiting, refused] = [taps.filter((t) => !t.untaken), taps.filter((t) => t.untaken)];
    const age = now - kept.now_ms;
    const page = place.cloneNode(true);
    const at = (id) => page.querySelector(`#${id}`);
    at("age").textContent = fill(age < 60000 ? d.fresh : d.age, { t: kept.as_of, span: span(age) });
    const put = waiting.filter((t) => t.item === asked.get("put")).at(-1);
    at("told").textContent = put ? `${fill(d.put, { name: put.label })} ${said(put, kept)}, ${clock(put)}` : asked.get("not") ? d.not : "";
    at("told").hidden = !at("told").textContent;
    const own = (tap) => tap.person === kept.person ? "" : ` · ${fill(d.held, { name: tap.name })}`;
    at("queue").hidden = !waiting.length;
    at("queue").querySelector("ol").replaceChildren(...waiting.map((t) =>
      line(t, `${clock(t)} ${t.label}: ${said(t, kept)}${own(t)}`, words.takeBack)));
    at("refused").hidden = !refused.length;
    at("refused").querySelector("ul").replaceChildren(...refused.map((t) => {
      const li = line(t, `${clock(t)} ${t.label}: ${said(t, kept)}`, words.read);
      li.querySelector("small").textContent = t.untaken.detail;
      if (t.untaken.tap) {
        const to = document.createElement("a");
        [to.className, to.href, to.textContent] = ["do", `${d.board}taps/${t.untaken.tap}`, words.stories];
        li.querySelector("button").before(to);
      }
      return li;
    }));
    page.querySelector(".rows").replaceChildren(...kept.items.map((i) => row(i, waiting, kept, now)));
    at("others").textContent = kept.more ? fill(d.more, { n: kept.more }) : "";
    still.renew(place, page, !drawn);
    const first = !drawn && document.getElementById(`i-${asked.get("put") || asked.get("at")}`);
    if (first) first.scrollIntoView({ block: "nearest" });
    drawn = true;
  };
  if (navigator.serviceWorker) navigator.serviceWorker.addEventListener("message", draw);
  if (worker()) draw();
  else if (navigator.serviceWorker) navigator.serviceWorker.addEventListener("controllerchange", draw);
  setInterval(draw, 15000);
  document.addEventListener("released", draw);
})();
