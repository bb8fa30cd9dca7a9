// What a scanner sends between F8 and Enter goes to the field that waits for it, whatever has the focus.

const WHOLE_WITHIN_MS = 1000;
const field = document.querySelector("[data-scan]");
const said = document.querySelector("[data-scan-said]");
const framed = field.form.elements.framed;
let collected = null;
let cut = 0;

const abandon = () => {
  collected = null;
  said.textContent = "That scan was cut short. Scan the label again.";
};

const take = () => {
  clearTimeout(cut);
  field.value = collected;
  collected = null;
  framed.value = "1";
  said.textContent = "";
  field.form.requestSubmit();
};

document.addEventListener(
  "keydown",
  (event) => {
    if (event.key === "F8") {
      collected = "";
      clearTimeout(cut);
      cut = setTimeout(abandon, WHOLE_WITHIN_MS);
    } else if (collected === null) {
      return;
    } else if (event.key === "Enter") {
      take();
    } else if (event.key.length === 1) {
      collected += event.key;
    }
    event.preventDefault();
    event.stopPropagation();
  },
  true,
);

// What somebody types afterwards is typed.
field.addEventListener("input", () => {
  framed.value = "";
});
field.focus();
