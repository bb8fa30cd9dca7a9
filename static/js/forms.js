// Takes the reader to what must be mended, and keeps one press from sending a form twice.

const focusFirst = document.querySelector("[data-take-focus]");
if (focusFirst) focusFirst.focus();

const sendButtons = (form) =>
  [...form.elements].filter((part) => part.type === "submit" || part.type === "image");

// After the submit event, so that the name and value of the pressed button still travel.
document.addEventListener("submit", (event) => {
  setTimeout(() => {
    if (event.defaultPrevented || event.target.getAttribute("method")?.toLowerCase() !== "post") return;
    sendButtons(event.target).forEach((button) => {
      if (button.disabled) return;
      button.disabled = true;
      button.dataset.sent = "";
    });
  });
});

// A page that comes back from the browser's memory, with its buttons as they were left.
window.addEventListener("pageshow", () => {
  document.querySelectorAll("[data-sent]").forEach((button) => {
    button.disabled = false;
    delete button.dataset.sent;
  });
});
