// What a scanner sends goes to the field that waits for it, caught as the bench catches it: that is what is checked.

import { catchScans } from "./scan.js";

const field = document.querySelector("[data-scan]");
const said = document.querySelector("[data-scan-said]");
const framed = field.form.elements.framed;

catchScans({
  isOn: () => true,
  heard: (text) => {
    field.value = text;
    framed.value = "1";
    said.textContent = "";
    field.form.requestSubmit();
  },
  cutShort: () => {
    said.textContent = "That scan was cut short. Scan the label again.";
  },
});

// What somebody types afterwards is typed.
field.addEventListener("input", () => {
  framed.value = "";
});
field.focus();
