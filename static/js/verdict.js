// Says what became of an entry or a scan: in the page's status line, and by one of three sounds.
//
// ok: one short high tone; check: two middle ones; stop: one long low one. A note makes no sound. Sight always comes
// with it. A browser gives sound only after somebody has pressed something, here or on the page before.

import { remember, remembered } from "./store.js";

const TONES = {
  ok: [{ hertz: 1320, from: 0, lasts: 0.09 }],
  check: [
    { hertz: 620, from: 0, lasts: 0.12 },
    { hertz: 620, from: 0.2, lasts: 0.12 },
  ],
  stop: [{ hertz: 196, from: 0, lasts: 0.55 }],
};
const LOOKS = { ok: "success", check: "warning", stop: "error", note: "info" };
const region = document.querySelector(".messages");
let pressed = false;
let context = null;

const PRESSED = "bench.pressed";

const fromHere = () => document.referrer.startsWith(`${location.origin}/`);

const pressedBefore = () => {
  try {
    return fromHere() && sessionStorage.getItem(PRESSED) === "yes";
  } catch {
    return false;
  }
};

["pointerdown", "keydown"].forEach((kind) => {
  window.addEventListener(
    kind,
    (event) => {
      if (pressed || !event.isTrusted) return;
      pressed = true;
      try {
        sessionStorage.setItem(PRESSED, "yes");
      } catch {
        // no sound before the first press on the next page, then
      }
    },
    { capture: true },
  );
});

export const soundIsOn = () => remembered("sound", "on") === "on";

export const switchSound = (on) => remember("sound", on ? "on" : "off");

const tone = ({ hertz, from, lasts }) => {
  const begin = context.currentTime + from;
  const source = context.createOscillator();
  const loudness = context.createGain();
  source.frequency.value = hertz;
  loudness.gain.setValueAtTime(0, begin);
  loudness.gain.linearRampToValueAtTime(0.25, begin + 0.01);
  loudness.gain.setValueAtTime(0.25, begin + lasts - 0.02);
  loudness.gain.linearRampToValueAtTime(0, begin + lasts);
  source.connect(loudness).connect(context.destination);
  source.start(begin);
  source.stop(begin + lasts);
};

export const sound = (verdict) => {
  if (!TONES[verdict] || !soundIsOn() || !window.AudioContext) return;
  if (!navigator.userActivation?.hasBeenActive && !pressed && !pressedBefore()) return;
  context ??= new AudioContext();
  TONES[verdict].forEach(tone);
};

const line = (verdict, words, link) => {
  const said = document.createElement("p");
  said.className = `message message-${LOOKS[verdict]}`;
  const shape = document.querySelector(`template[data-shape="${verdict}"]`);
  if (shape) said.append(shape.content.cloneNode(true));
  const text = document.createElement("span");
  text.textContent = words;
  said.append(text);
  if (link) {
    const onward = document.createElement("a");
    onward.href = link.url;
    onward.textContent = link.label;
    said.append(onward);
  }
  return said;
};

export const say = (verdict, words, link) => {
  region.replaceChildren(line(verdict, words, link));
  sound(verdict);
};

export const sayNothing = () => region.replaceChildren();

// What the server said while the page was loading: put in anew, since a reader announces only what changes.
export const sayAgain = () => {
  const said = [...region.querySelectorAll(".message")];
  if (!said.length) return;
  const verdict = Object.keys(LOOKS).find((name) => said[0].classList.contains(`message-${LOOKS[name]}`));
  setTimeout(() => region.replaceChildren(...said), 60);
  sound(verdict);
};
