// Counts down what the server said is left, and asks again at zero. No limit is decided here.
(() => {
  "use strict";
  let since = performance.now();
  let busy = false;
  const body = document.body;
  const fill = (pattern, values) => pattern.replace(/\{(\w+)\}/g, (_, name) => values[name]);

  const span = (ms) => {
    const minutes = Math.floor(ms / 60000);
    const h = Math.floor(minutes / 60);
    if (h < 1) return fill(body.dataset.m, { m: minutes });
    return fill(body.dataset.hm, { h, m: String(minutes % 60).padStart(2, "0") });
  };

  // Nobody is interrupted: with a hand in a form, something ticked, or a fold open, the page stays as it is.
  const inHand = () => {
    const at = document.activeElement;
    return document.querySelector("main details[open], main [type=checkbox]:checked") || (at && /^(INPUT|SELECT|TEXTAREA)$/.test(at.tagName));
  };

  const ask = async (evenInHand) => {
    if (busy || (inHand() && !evenInHand)) return;
    const here = document.querySelector(".asof a");
    busy = true;
    try {
      const answer = await fetch(here.href, {
        cache: "no-store", credentials: "same-origin", headers: { "By-Itself": "1" },
      });
      if (!answer.ok) throw new Error(String(answer.status));
      // The sign-in has run out: the page that says so is gone to.
      if (answer.redirected) return location.assign(answer.url);
      const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
      if (inHand()) return;
      const focus = document.activeElement && document.activeElement.closest("[id]");
      document.querySelector("main").replaceWith(fresh.querySelector("main"));
      document.querySelector(".asof").replaceWith(fresh.querySelector(".asof"));
      body.dataset.now = fresh.body.dataset.now;
      since = performance.now();
      document.getElementById("stale").replaceWith(fresh.getElementById("stale"));
      const again = focus && document.getElementById(focus.id);
      const within = again && again.querySelector("button, a");
      if (within) within.focus({ preventScroll: true });
      tick();
    } catch {
      document.getElementById("stale").hidden = false;
    } finally {
      busy = false;
    }
  };

  const tick = () => {
    const gone = performance.now() - since;
    let reached = false;
    for (const el of document.querySelectorAll("[data-ms]")) {
      const left = Number(el.dataset.ms) - gone;
      if (left > 0) {
        el.textContent = fill(body.dataset.left, { t: span(left) });
      } else {
        el.textContent = body.dataset.asking;
        reached = true;
      }
    }
    const now = Number(body.dataset.now) + gone;
    for (const el of document.querySelectorAll("[data-next]")) {
      if (now > Number(el.dataset.next)) reached = true;
    }
    if (reached) ask(true);
  };

  if (body.dataset.now) {
    tick();
    setInterval(tick, 5000);
    setInterval(() => ask(false), Number(body.dataset.again || 60) * 1000);
  }
  // The shop's clock is most likely the browser's; whoever sets it up can say otherwise.
  for (const zone of document.querySelectorAll("[data-zone]")) {
    if (!zone.value) zone.value = Intl.DateTimeFormat().resolvedOptions().timeZone;
    if (zone.selectedIndex < 0) zone.selectedIndex = 0;
  }
  // A PIN's large keys: a finger on a wet screen needs no other keyboard.
  for (const keys of document.querySelectorAll("[data-keys]")) {
    const field = keys.closest("form").elements[keys.dataset.keys];
    keys.hidden = false;
    field.inputMode = "none";
    keys.addEventListener("click", (e) => {
      const key = e.target.dataset.key;
      if (key === undefined) return;
      field.value = key === "" ? field.value.slice(0, -1) : (field.value + key).slice(0, field.maxLength);
    });
  }
  // A page from the browser's memory shows an old standing and carries a used key.
  addEventListener("pageshow", (e) => { if (e.persisted) location.reload(); });
  // A link to a fold opens it.
  const unfold = () => {
    const at = location.hash && document.getElementById(location.hash.slice(1));
    if (at && at.tagName === "DETAILS") at.open = true;
  };
  addEventListener("hashchange", unfold);
  unfold();
})();
