// What a scanner sends goes to the badge, whatever has the focus, and the PIN comes next.

import { catchScans } from "./scan.js";

const badge = document.querySelector("input[name=badge]");
const pin = document.querySelector("input[name=pin]");
const said = document.querySelector("[data-scan-said]");

catchScans({
  isOn: () => true,
  heard: (text) => {
    badge.value = text;
    said.textContent = "";
    pin.focus();
  },
  cutShort: () => {
    said.textContent = "That scan was cut short. Scan the badge again.";
  },
});

// A scanner without the prefix types where the focus is and ends with Enter: the PIN comes next all the same.
badge.addEventListener("keydown", (event) => {
  if (event.key !== "Enter" || event.isComposing || pin.value) return;
  event.preventDefault();
  pin.focus();
});
