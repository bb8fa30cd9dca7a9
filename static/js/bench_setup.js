// What a bench is set to, on this device: sound, scanner, and how large a key of 20 mm is on its screen.

import { remember, remembered } from "./store.js";
import { say, soundIsOn, switchSound } from "./verdict.js";

const CARD_MM = 85.6; // the width of a bank card: ISO/IEC 7810, ID-1
const KEY_MM = 20;
const STEP = 4;

const keyOf = (cardPx) => Math.round((cardPx * KEY_MM) / CARD_MM);

const applied = (cardPx) => document.documentElement.style.setProperty("--tap", `${keyOf(cardPx)}px`);

const ruler = (place) => {
  const slider = place.querySelector("input[type=range]");
  const bar = place.querySelector("[data-bar]");
  const told = place.querySelector("[data-ruler-said]");
  const show = () => {
    bar.style.inlineSize = `${slider.value}px`;
    told.textContent = `A key of 20 mm is ${keyOf(Number(slider.value))} px here.`;
  };
  const change = (step) => {
    slider.value = Number(slider.value) + step;
    kept();
  };
  const kept = () => {
    show();
    applied(Number(slider.value));
    remember("card", slider.value);
  };
  slider.value = remembered("card", slider.value);
  slider.addEventListener("input", kept);
  place.querySelector("[data-narrower]").addEventListener("click", () => change(-STEP));
  place.querySelector("[data-wider]").addEventListener("click", () => change(STEP));
  show();
};

const soundChip = (chip) => {
  const show = () => {
    chip.setAttribute("aria-pressed", String(soundIsOn()));
    chip.querySelector("[data-state]").textContent = soundIsOn() ? "on" : "off";
  };
  chip.addEventListener("click", () => {
    switchSound(!soundIsOn());
    show();
    say("ok", soundIsOn() ? "Sound is on: this is the tone of a result that was kept." : "Sound is off.");
  });
  show();
};

const scannerBox = (box) => {
  box.checked = remembered("scanner", "on") === "on";
  box.addEventListener("change", () => remember("scanner", box.checked ? "on" : "off"));
};

export const setUp = () => {
  const card = Number(remembered("card", 0));
  if (card >= 200 && card <= 700) applied(card);
  document.querySelectorAll("[data-with-script]").forEach((place) => (place.hidden = false));
  const place = document.querySelector("[data-bench-setup]");
  if (!place) return;
  ruler(place);
  scannerBox(place.querySelector("[data-scanner]"));
  soundChip(document.querySelector("[data-sound-chip]"));
};
