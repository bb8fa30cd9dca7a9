// Shows the buttons that print the page; without a script the browser's own printing does.

document.querySelectorAll("[data-print]").forEach((button) => {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
});
