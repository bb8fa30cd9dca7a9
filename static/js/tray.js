// Keeps the tray fresh: asked for again every second and a half, swapped in only where something changed.

const EVERY_MS = 1500;
const place = document.querySelector("[data-fresh]");
const said = document.querySelector("[data-fresh-said]");
let paused = false;
let ended = false;

const say = (words) => {
  if (said.textContent !== words) said.textContent = words;
};

// The link that had the focus keeps it, if it is still there.
const swap = (fresh) => {
  const held = place.contains(document.activeElement) ? document.activeElement.getAttribute("href") : null;
  place.replaceChildren(...fresh.childNodes);
  if (!held) return;
  const again = [...place.querySelectorAll("a")].find((link) => link.getAttribute("href") === held);
  if (again) again.focus();
  else document.getElementById("main").focus();
};

// Read as a document of its own, in which no script runs.
const parsed = (text) => new DOMParser().parseFromString(text, "text/html").body;

const isShown = (fresh) =>
  fresh.children.length === place.children.length &&
  [...fresh.children].every((part, at) => part.isEqualNode(place.children[at]));

const ask = async () => {
  const answer = await fetch(place.dataset.fresh, { headers: { "X-Asked-By-Itself": "1" }, cache: "no-store" });
  if (answer.redirected || answer.status === 403) {
    ended = true;
    say("Not kept fresh any more: load the page again to sign in.");
    return;
  }
  if (!answer.ok) throw new Error(answer.status);
  const fresh = parsed(await answer.text());
  if (isShown(fresh)) {
    if (said.textContent.startsWith("No answer")) say("");
    return;
  }
  swap(fresh);
  say("The list has changed.");
};

const turn = async () => {
  if (!paused && !document.hidden) {
    try {
      await ask();
    } catch {
      say("No answer just now: the list may be old. It is asked for again.");
    }
  }
  if (!ended) setTimeout(turn, EVERY_MS);
};

const pause = document.createElement("button");
pause.type = "button";
pause.className = "plain";
pause.textContent = "Pause updates";
pause.addEventListener("click", () => {
  paused = !paused;
  pause.textContent = paused ? "Go on with updates" : "Pause updates";
  say(paused ? "Updates are paused." : "Updates go on.");
});
said.after(pause);
setTimeout(turn, EVERY_MS);
