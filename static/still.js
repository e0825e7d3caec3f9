// What changes on a page changes around whoever has it in hand: what is pressed, focused, half typed or folded open stays.
globalThis.still = (() => {
  "use strict";
  // Only what differs is touched: what has the focus, is half typed or folded open stays as it is.
  const inHand = (e) => {
    const at = document.activeElement;
    return e.tagName === "FORM" && e.contains(at) && /^(INPUT|SELECT|TEXTAREA)$/.test(at.tagName);
  };
  const same = (a, b) => {
    if (a.nodeName !== b.nodeName || (a.id || "") !== (b.id || "")) return false;
    if (a.nodeName === "FORM") return a.getAttribute("action") === b.getAttribute("action");
    // A choice that was made is never another's.
    if (a.nodeName === "OPTION") return a.value === b.value;
    if (a.nodeName === "INPUT" || a.nodeName === "BUTTON") return a.name === b.name && a.value === b.value || a.type === "hidden" && a.name === b.name;
    if (a.nodeName === "DETAILS") return a.firstElementChild.textContent === b.firstElementChild.textContent;
    return a.nodeType !== 1 || (a.getAttribute("class") || "").split(" ")[0] === (b.getAttribute("class") || "").split(" ")[0];
  };
  // A button that has just become another is not what the finger was meant for.
  const SUDDEN = 700;
  let became = new WeakMap();
  addEventListener("click", (e) => {
    const button = e.target.closest && e.target.closest("button");
    if (button && performance.now() - (became.get(button) || -SUDDEN) < SUDDEN) e.preventDefault();
  }, true);
  const blank = (n) => n.nodeType === 8 || (n.nodeType === 3 && !n.data.trim());
  const morph = (old, fresh) => {
    if (old.isEqualNode(fresh) || (old.nodeType === 1 && inHand(old))) return;
    if (old.nodeType !== 1) {
      if (old.data !== fresh.data) old.data = fresh.data;
      return;
    }
    for (const { name, value } of fresh.attributes) if (old.getAttribute(name) !== value) old.setAttribute(name, value);
    for (const { name } of [...old.attributes]) if (name !== "open" && !fresh.hasAttribute(name)) old.removeAttribute(name);
    const wanted = [...fresh.childNodes].filter((n) => !blank(n));
    const ids = new Set(wanted.map((n) => n.id).filter(Boolean));
    const kept = new Map();
    for (const child of [...old.children]) {
      if (!child.id) continue;
      if (ids.has(child.id)) kept.set(child.id, child);
      else child.remove();
    }
    let at = old.firstChild;
    for (const want of wanted) {
      while (at && blank(at)) at = at.nextSibling;
      let have = want.id ? kept.get(want.id) : at;
      while (!want.id && have && (blank(have) || !same(have, want))) have = have.id ? null : have.nextSibling;
      if (!have || !same(have, want)) {
        old.insertBefore(want, at);
        if (have) have.remove();
        for (const b of want.nodeName === "BUTTON" ? [want] : want.querySelectorAll ? want.querySelectorAll("button") : []) became.set(b, performance.now());
      } else {
        if (want.id && have !== at) old.insertBefore(have, at);
        else while (at !== have) [at] = [at.nextSibling, at.remove()];
        morph(have, want);
        at = have.nextSibling;
      }
    }
    while (at) [at] = [at.nextSibling, at.remove()];
  };

  // What is read or typed stays where it is on the screen, whatever grows above it; at the top, what is new is seen.
  const renew = (old, fresh, first) => {
    const at = document.activeElement;
    const held = /^(INPUT|SELECT|TEXTAREA)$/.test(at.tagName) ? at : document.elementFromPoint(innerWidth / 2, innerHeight / 2);
    const before = scrollY > 0 && held && held.closest("main") ? held.getBoundingClientRect().top : null;
    const focus = at.closest("main [id]");
    morph(old, fresh);
    // What stands there for the first time is in nobody's place.
    if (first) became = new WeakMap();
    if (before !== null && held.isConnected) scrollBy(0, held.getBoundingClientRect().top - before);
    // Moved in the document, a button loses the focus.
    if (focus && !document.contains(document.activeElement.closest("main"))) {
      const there = document.getElementById(focus.id);
      const within = there && there.querySelector("button, a");
      if (within) within.focus({ preventScroll: true });
    }
  };

  // While a finger presses, and until what it did has been done, nothing is renewed; then "released" is said.
  let pressed = 0;
  const release = () => {
    clearTimeout(pressed);
    if (pressed) pressed = setTimeout(() => { pressed = 0; document.dispatchEvent(new Event("released")); }, 400);
  };
  addEventListener("pointerdown", () => {
    clearTimeout(pressed);
    pressed = setTimeout(release, 5000);
  }, true);
  addEventListener("pointerup", release, true);
  addEventListener("pointercancel", release, true);
  return { renew, pressed: () => pressed > 0 };
})();
