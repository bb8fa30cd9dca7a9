// Keys on glass. A press counts when it is released within the key; the same key again within 60 ms is a bounce.

import { remember, remembered } from "./store.js";

const BOUNCE_MS = 60;
const last = { key: null, at: -Infinity };

// Whether a press is the second of a bounce; the key then shows that it was passed over.
export const bounced = (key, at = performance.now()) => {
  const is = last.key === key && at - last.at < BOUNCE_MS;
  last.key = key;
  last.at = at;
  if (is) {
    key.classList.add("bounced");
    setTimeout(() => key.classList.remove("bounced"), 300);
  }
  return is;
};

// A key held down on a keyboard presses a button again and again.
export const pressOnce = (place) => {
  place.addEventListener("keydown", (event) => {
    if (event.repeat && (event.key === "Enter" || event.key === " ")) event.preventDefault();
  });
};

const put = (field, text) => {
  const from = field.selectionStart ?? field.value.length;
  field.setRangeText(text, from, field.selectionEnd ?? from, "end");
};

const rubOut = (field) => {
  const from = field.selectionStart ?? field.value.length;
  const to = field.selectionEnd ?? from;
  field.setRangeText("", from === to ? Math.max(0, from - 1) : from, to, "end");
};

const show = (pad, chip, field, on) => {
  pad.hidden = !on;
  pad.parentElement.classList.toggle("with-keypad", on);
  chip.setAttribute("aria-pressed", String(on));
  // the system's own keyboard would cover half the page
  field.inputMode = on ? "none" : "decimal";
};

export const keypad = (pad, chip, field, enter) => {
  const coarse = matchMedia("(pointer: coarse)").matches ? "on" : "off";
  show(pad, chip, field, remembered("keypad", coarse) === "on");
  chip.addEventListener("click", () => {
    const on = pad.hidden;
    show(pad, chip, field, on);
    remember("keypad", on ? "on" : "off");
  });
  // the force field keeps the focus and its caret while keys are pressed
  pad.addEventListener("mousedown", (event) => event.preventDefault());
  pressOnce(pad);
  pad.addEventListener("click", (event) => {
    const key = event.target.closest("button[data-key]");
    if (!key || bounced(key)) return;
    if (key.dataset.key === "enter") return enter();
    if (key.dataset.key === "back") rubOut(field);
    else if (key.dataset.key === "clear") field.value = "";
    else put(field, key.dataset.key);
    field.dispatchEvent(new Event("input", { bubbles: true }));
  });
};
