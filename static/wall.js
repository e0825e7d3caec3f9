// The wall: keeps the screen awake, and calls until somebody says that they know.
(() => {
  "use strict";
  const d = document.body.dataset;
  const [button, said, sleeps] = ["sound", "sound-said", "sleeps"].map((id) => document.getElementById(id));
  let sound = null;

  // A screen that sleeps shows nothing. Browsers keep it awake over https alone.
  const wake = async () => {
    try {
      const lock = await navigator.wakeLock.request("screen");
      sleeps.textContent = "";
      lock.addEventListener("release", () => { if (!document.hidden) wake(); });
    } catch {
      sleeps.textContent = d.sleeps;
    }
  };
  document.addEventListener("visibilitychange", () => { if (!document.hidden) wake(); });
  wake();

  // No browser makes a sound before it was touched.
  const able = () => sound && sound.state === "running";
  const show = () => {
    button.hidden = Boolean(able());
    said.textContent = able() ? d.soundOn : d.soundOff;
  };
  button.addEventListener("click", async () => {
    sound ||= new AudioContext();
    sound.addEventListener("statechange", show);
    await sound.resume();
    show();
    ring(1);
  });
  show();

  // Two notes, three times: a discard is lower and longer than a warning.
  const ring = (times, low) => {
    if (!able()) return;
    for (let n = 0; n < times * 2; n += 1) {
      const at = sound.currentTime + n * (low ? 0.5 : 0.25);
      const [tone, loud] = [sound.createOscillator(), sound.createGain()];
      tone.type = "triangle";
      tone.frequency.value = (low ? 440 : 880) * (n % 2 ? 1.25 : 1);
      loud.gain.setValueAtTime(0.0001, at);
      loud.gain.exponentialRampToValueAtTime(0.5, at + 0.02);
      loud.gain.exponentialRampToValueAtTime(0.0001, at + (low ? 0.45 : 0.22));
      tone.connect(loud).connect(sound.destination);
      tone.start(at);
      tone.stop(at + 0.5);
    }
  };

  const calls = () => [...document.querySelectorAll("[data-call]")];
  let known = new Set();
  const call = (again) => {
    const now = new Map(calls().map((e) => [`${e.id} ${e.dataset.call}`, e.dataset.call]));
    const due = [...now].filter(([name]) => again || !known.has(name));
    if (due.length) ring(3, due.some(([, threshold]) => threshold.startsWith("discard-0")));
    known = new Set(now.keys());
  };
  document.addEventListener("fresh", () => call(false));
  // Until somebody says so.
  setInterval(() => call(true), 30000);
  call(false);

  // One touch, and the page stays: loaded anew, it would be silent again.
  document.getElementById("live").addEventListener("submit", async (e) => {
    e.preventDefault();
    const form = new FormData(e.target, e.submitter);
    form.set("key", [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, "0")).join(""));
    e.submitter.disabled = true;
    try {
      const answer = await fetch(e.target.action, { method: "POST", body: new URLSearchParams(form), redirect: "manual" });
      if (answer.type !== "opaqueredirect") throw new Error(String(answer.status));
    } catch {
      e.submitter.disabled = false;
      document.getElementById("stale").hidden = false;
    }
  });
})();
