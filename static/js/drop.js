// Makes the whole of a .drop-zone take a dropped file, and lists the names of the files chosen.
// The file input inside works without it.

const names = (input, list) => {
  list.replaceChildren(
    ...[...input.files].map((file) => {
      const item = document.createElement("li");
      item.textContent = file.name;
      return item;
    }),
  );
};

const dropped = (input, files) => {
  const kept = new DataTransfer();
  [...files].slice(0, input.multiple ? files.length : 1).forEach((file) => kept.items.add(file));
  input.files = kept.files;
  input.dispatchEvent(new Event("change", { bubbles: true }));
};

const enhance = (zone) => {
  const input = zone.querySelector('input[type="file"]');
  if (!input) return;
  const words = document.createElement("p");
  words.className = "drop-words";
  words.textContent = input.multiple ? "Files can also be dropped here." : "A file can also be dropped here.";
  const list = document.createElement("ul");
  list.setAttribute("aria-label", "Files chosen");
  const told = document.createElement("div");
  told.setAttribute("role", "status");
  told.append(list);
  zone.append(words, told);
  input.addEventListener("change", () => names(input, list));
  names(input, list);

  zone.addEventListener("dragover", (event) => {
    event.preventDefault();
    zone.classList.add("over");
  });
  zone.addEventListener("dragleave", (event) => {
    if (!zone.contains(event.relatedTarget)) zone.classList.remove("over");
  });
  zone.addEventListener("drop", (event) => {
    event.preventDefault();
    zone.classList.remove("over");
    if (!input.disabled && event.dataTransfer.files.length) dropped(input, event.dataTransfer.files);
  });
};

document.querySelectorAll(".drop-zone").forEach(enhance);
