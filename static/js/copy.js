// A field to copy from: entered, it is selected whole; where the browser lets a page copy, a button does it.

const added = (field) => {
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = "Copy";
  const said = document.createElement("span");
  said.setAttribute("role", "status");
  button.addEventListener("click", async () => {
    field.select();
    try {
      await navigator.clipboard.writeText(field.value);
      said.textContent = "Copied.";
    } catch {
      said.textContent = "Not copied: copy it by hand.";
    }
  });
  const line = document.getElementById(field.dataset.copy);
  line.prepend(button);
  line.append(said);
};

document.querySelectorAll("[data-copy]").forEach((field) => {
  field.addEventListener("focus", () => field.select());
  if (navigator.clipboard) added(field);
});
