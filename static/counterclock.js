// The little that every page needs at once. What keeps a page true comes after it is there.
(() => {
  "use strict";
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
  const { still, live, worker, site, person } = document.body.dataset;
  // What is tapped without signal waits in the worker's keeping. How much does stands on every page; the cookie is there
  // to tell that it was, if the browser lets go of what it keeps.
  if (worker) {
    const [bar, lacks] = ["waiting", "lacks"].map((id) => document.getElementById(id));
    const lacking = (text) => { [lacks.textContent, lacks.hidden] = [text, false]; };
    const say = (text) => {
      bar.hidden = !text;
      if (bar.firstElementChild.textContent !== text) bar.firstElementChild.textContent = text;
    };
    const [, before, seen] = (document.cookie.match(/(?:^|; )counterclock-waiting=(\d+)-(\d+)/) || [0, 0, 0]).map(Number);
    let waiting = 0;
    const send = () => {
      const to = navigator.serviceWorker.controller;
      if (to) to.postMessage({ what: "send", site, person });
    };
    if (!isSecureContext) lacking(lacks.dataset.plain);
    else if (!navigator.serviceWorker) lacking(lacks.dataset.private);
    else {
      navigator.serviceWorker.addEventListener("message", ({ data }) => {
        waiting = data.waiting;
        const lost = before > 0 && data.last < seen;
        // What was lost stays told until the next time something waits.
        if (!lost || waiting) document.cookie = `counterclock-waiting=${waiting}-${data.last}; path=/; max-age=34560000; samesite=lax`;
        const texts = [waiting === 1 ? bar.dataset.one : waiting ? bar.dataset.many.replace("{n}", waiting) : "",
          data.untaken ? bar.dataset.refused : "", lost ? bar.dataset.lost.replace("{n}", before) : ""];
        say(texts.filter(Boolean).join(" "));
      });
      navigator.serviceWorker.addEventListener("controllerchange", send);
      navigator.serviceWorker.register(worker).catch(() => lacking(lacks.dataset.private));
      send();
      addEventListener("online", send);
      document.addEventListener("fresh", send);
      document.addEventListener("visibilitychange", () => { if (!document.hidden) send(); });
      setInterval(() => { if (waiting || !document.hidden) send(); }, 10000);
    }
  }
  if (live) {
    addEventListener("load", () => {
      for (const src of [still, live]) document.head.append(Object.assign(document.createElement("script"), { src, async: false }));
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
