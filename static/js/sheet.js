// The run sheet as a grid: Enter goes down its column (Shift+Enter up), Escape takes back what was typed in a field.

const before = new WeakMap();
const table = document.querySelector("table[data-sheet]");

const column = (field) => field.name.replace(/^rows-\d+-/, "");

const beside = (field, step) => {
  const same = [...table.querySelectorAll("input:not([type=hidden])")].filter((one) => column(one) === column(field));
  return same[same.indexOf(field) + step];
};

const moved = (event) => {
  const next = beside(event.target, event.shiftKey ? -1 : 1);
  if (!next) return;
  next.focus();
  if (next.type === "text") next.select();
};

table.addEventListener("focusin", ({ target }) => {
  if (target.matches("input")) before.set(target, target.value);
});

table.addEventListener("keydown", (event) => {
  if (!event.target.matches("input") || event.isComposing) return;
  if (event.key === "Enter") {
    event.preventDefault();
    moved(event);
  }
  if (event.key === "Escape" && event.target.type !== "checkbox") event.target.value = before.get(event.target) ?? "";
});
