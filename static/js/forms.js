// Takes the reader to what must be mended, keeps one press from sending a form twice, and says when an answer takes long.

const LONG_MS = 1_000;

const focusFirst = document.querySelector("[data-take-focus]");
if (focusFirst) focusFirst.focus();

const sendButtons = (form) =>
  [...form.elements].filter((part) => part.type === "submit" || part.type === "image");

// A line, and a bar that says that something goes on: how long it will take nobody knows.
const sayLong = () => {
  const line = document.createElement("p");
  line.className = "message message-info";
  line.dataset.long = "";
  const words = document.createElement("span");
  words.id = "still-working";
  words.textContent = "Still working. This page goes on by itself when it is done.";
  const bar = document.createElement("progress");
  bar.setAttribute("aria-labelledby", words.id);
  line.append(words, bar);
  document.querySelector(".messages")?.append(line);
};

let long = 0;

const sayNoMore = () => {
  clearTimeout(long);
  document.querySelectorAll("[data-long]").forEach((line) => line.remove());
};

// After the submit event, so that the name and value of the pressed button still travel.
document.addEventListener("submit", (event) => {
  setTimeout(() => {
    if (event.defaultPrevented || event.target.getAttribute("method")?.toLowerCase() !== "post") return;
    clearTimeout(long);
    long = setTimeout(sayLong, LONG_MS);
    sendButtons(event.target).forEach((button) => {
      if (button.disabled) return;
      button.disabled = true;
      button.dataset.sent = "";
    });
  });
});

// A page that comes back from the browser's memory, with its buttons as they were left.
window.addEventListener("pageshow", () => {
  sayNoMore();
  document.querySelectorAll("[data-sent]").forEach((button) => {
    button.disabled = false;
    delete button.dataset.sent;
  });
});
