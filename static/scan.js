// Reads a tag with the camera, and takes the large keys without asking the server for each. The code is all that is
// taken from what the camera reads: it leads nowhere but to this service's own page of that tag.
(() => {
  "use strict";
  const page = document.querySelector(".scan");
  const keys = document.getElementById("keys");
  const length = Number(page.dataset.length);
  const held = keys.querySelector("input[name=code]");
  const shown = document.getElementById("shown");
  const said = document.getElementById("said");
  let over = false;

  const send = document.getElementById("send");
  const go = (code, seen) => {
    if (over) return;
    over = true;
    // What it is for has a form that sends it; without one the code itself says where to go.
    if (!send) {
      location.assign(page.dataset.tags + code);
      return;
    }
    send.elements.code.value = code;
    send.elements.camera.value = seen ? "on" : "";
    send.submit();
  };

  const type = (code, seen) => {
    held.value = code;
    const all = code.padEnd(length, "·");
    shown.textContent = `${all.slice(0, length / 2)} ${all.slice(length / 2)}`;
    if (code.length === length) go(code, seen);
  };

  keys.addEventListener("submit", (e) => {
    const press = e.submitter && e.submitter.value;
    if (!press || over) return;
    e.preventDefault();
    if (press === "back") type(held.value.slice(0, -1));
    else if (press === "clear") type("");
    else if (held.value.length < length) type(held.value + press);
  });

  const button = document.querySelector("#camera button");
  const view = document.getElementById("view");
  if (!("BarcodeDetector" in window) || !navigator.mediaDevices) return;
  button.parentElement.hidden = false;
  let stream = null;
  const stop = () => {
    if (stream) for (const track of stream.getTracks()) track.stop();
    stream = null;
    view.hidden = true;
    button.textContent = on;
  };
  const on = button.textContent;

  const look = async (detector) => {
    while (stream && !over) {
      const found = await detector.detect(view).catch(() => []);
      for (const { rawValue } of found) {
        const code = /(?:^|\/t\/)([0-9A-Z]{10})$/i.exec(rawValue.trim());
        // The label that was read just before may still lie there.
        if (code && code[1].toUpperCase() !== page.dataset.last) {
          stop();
          type(code[1].toUpperCase(), true);
          return;
        }
      }
      await new Promise((resolve) => { setTimeout(resolve, 150); });
    }
  };

  const start = async () => {
    said.textContent = "";
    try {
      stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
      view.srcObject = stream;
      view.hidden = false;
      button.textContent = button.dataset.off;
      await view.play();
      await look(new BarcodeDetector({ formats: ["qr_code"] }));
    } catch {
      stop();
      said.textContent = button.dataset.failed;
    }
  };
  button.addEventListener("click", () => { if (stream) stop(); else start(); });
  // One after the other: a rack is filled without a touch between.
  if (page.dataset.camera) start();
  addEventListener("pagehide", stop);
})();
