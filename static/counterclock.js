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
  const { live } = document.body.dataset;
  if (live) {
    addEventListener("load", () => {
      const script = document.createElement("script");
      script.src = live;
      document.head.append(script);
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
