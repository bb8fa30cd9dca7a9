// The bench: keys that keep, digits, scans, the keypad, and where the focus goes. The form works without all of it.
//
// The form marked data-outbox may be sent by something else, which then tells it so by an event on the form:
// "outbox:kept" (detail: {words}), "outbox:waiting" (detail: {words}), "outbox:refused" (detail: {html} of the
// server's answer, or {words}). Without such an event the form is posted and the page comes anew.

import { bounced, keypad, pressOnce } from "./keypad.js";
import { setUp } from "./bench_setup.js";
import { catchScans } from "./scan.js";
import { remembered } from "./store.js";
import { say, sayAgain, sayNothing, sound } from "./verdict.js";

const form = document.querySelector("form[data-outbox]");
const SAID = "bench.said";

const part = (name) => form.elements.namedItem(name);
const boxes = () => [...form.querySelectorAll('input[name="modes"]')];

class Bench {
  constructor() {
    this.group = form.querySelector("[data-modes]");
    this.keys = [...this.group.querySelectorAll("button[data-mode], button[data-opened]")];
    this.several = this.group.querySelector("[data-several]");
    this.keepButton = form.querySelector("[data-keep]");
    this.force = part("typed");
    this.specimen = part("specimen");
    this.facts = form.querySelector("[data-facts]");
    this.armed = null;
    this.busy = false;
    this.inHand = this.specimen.value;
    this.several.setAttribute("aria-pressed", String(boxes().filter((box) => box.checked).length > 1));
  }

  get trace() {
    return part("trace").value;
  }

  get chosen() {
    return boxes().some((box) => box.checked) || part("opened").checked;
  }

  get isSeveral() {
    return this.several.getAttribute("aria-pressed") === "true";
  }

  box(key) {
    return "opened" in key.dataset ? part("opened") : boxes().find((box) => box.value === key.dataset.mode);
  }

  begin() {
    form.querySelector("[data-plain-modes]").hidden = true;
    this.group.hidden = false;
    this.show();
    this.group.addEventListener("click", (event) => this.clicked(event));
    this.group.addEventListener("keydown", (event) => this.typedInGroup(event));
    pressOnce(this.group);
    this.force.addEventListener("keydown", (event) => this.typedInForce(event));
    this.specimen.addEventListener("input", () => this.another());
    this.specimen.addEventListener("change", () => this.asked());
    this.specimen.addEventListener("keydown", (event) => this.typedInSpecimen(event));
    if (!document.querySelector("[data-take-focus]")) this.goOn();
  }

  // Where the next thing is done: the modes where a trace gives the force, otherwise the force.
  goOn() {
    if (this.trace) this.group.focus();
    else this.force.focus();
  }

  show() {
    this.keys.forEach((key) => {
      key.setAttribute("aria-pressed", String(this.box(key).checked));
      const armed = key === this.armed;
      key.classList.toggle("armed", armed);
      key.querySelector("[data-again]").hidden = !armed;
    });
    this.keepButton.hidden = !this.isSeveral && !this.chosen && !part("confirmed").value;
  }

  arm(key) {
    this.armed = key;
    this.show();
  }

  clicked(event) {
    const key = event.target.closest("button");
    if (!key || bounced(key)) return;
    if (key === this.several) this.switchSeveral();
    else this.press(key);
  }

  switchSeveral() {
    const on = !this.isSeveral;
    this.several.setAttribute("aria-pressed", String(on));
    if (!on) this.choose(null);
    this.arm(null);
  }

  choose(key) {
    boxes().forEach((box) => (box.checked = false));
    part("opened").checked = false;
    if (key) this.box(key).checked = true;
    this.show();
  }

  press(key) {
    if (this.busy) return;
    if (this.isSeveral) {
      this.box(key).checked = !this.box(key).checked;
      return this.show();
    }
    if ("again" in key.dataset && this.armed !== key) {
      this.arm(key);
      return say("check", `${key.dataset.words} of ${this.specimen.value}: press it again to keep it.`);
    }
    this.arm(null);
    this.choose(key);
    if (!this.force.value.trim() && !this.trace && !part("opened").checked) {
      say("note", "Now the force, then Enter.");
      return this.force.focus();
    }
    this.keep();
  }

  keep() {
    if (!this.busy) form.requestSubmit(this.keepButton);
  }

  typedInGroup(event) {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    if (event.key === "Escape") {
      this.arm(null);
      if (!this.isSeveral) this.choose(null);
      this.force.focus();
    }
    if (!/^[1-9]$/.test(event.key)) return;
    event.preventDefault();
    const key = this.keys[Number(event.key) - 1];
    if (key && !event.repeat && !bounced(key)) this.press(key);
  }

  typedInForce(event) {
    if (event.isComposing) return;
    if (event.key === "Escape") {
      this.force.value = "";
      this.force.dispatchEvent(new Event("input", { bubbles: true }));
    }
    if (event.key !== "Enter") return;
    event.preventDefault();
    if (!event.repeat) this.enter();
  }

  // Enter in the force: keep what has been chosen, or go to the modes.
  enter() {
    if (this.chosen && !this.armed) this.keep();
    else this.group.focus();
  }

  typedInSpecimen(event) {
    if (event.key === "Escape") {
      this.specimen.value = this.inHand;
      this.another();
    }
    if (event.key !== "Enter" || event.isComposing || this.force.value.trim() || this.chosen) return;
    event.preventDefault();
    location.assign(`${form.dataset.run}?specimen=${encodeURIComponent(this.specimen.value)}`);
  }

  // Another code than the one that came with the page: what is said of that one is no longer so.
  another() {
    const other = this.specimen.value.trim() !== this.inHand;
    form.classList.toggle("other-specimen", other);
    part("trace").disabled = other;
    this.facts.hidden = other;
  }

  async asked() {
    if (!form.classList.contains("other-specimen")) return;
    const told = await meaning(this.specimen.value);
    if (told) say(told.verdict === "ok" ? "note" : told.verdict, told.words, onward(told));
  }

  async heard(text) {
    const told = await meaning(text);
    if (!told) return say("stop", "The server did not answer, so the label was not looked up. Type its code.");
    if (told.verdict !== "ok") return say(told.verdict, told.words, onward(told));
    if (told.label === this.specimen.value.trim().toUpperCase()) {
      say("note", `${told.label} is in hand.`);
      return this.goOn();
    }
    const typed = this.force.value.trim();
    if (typed || this.chosen) {
      const what = typed ? `${typed} is typed` : "a mode is chosen";
      return say("check", `${what} for ${this.specimen.value} and not kept. Keep it or clear it, then scan ${told.label}.`);
    }
    location.assign(told.go);
  }

  // The next specimen without a page from the server, while an entry waits to be sent.
  advance(state, word) {
    const cells = [...document.querySelectorAll("[data-strip] a")];
    const here = cells.findIndex((cell) => cell.dataset.label === this.specimen.value);
    if (here >= 0) mark(cells[here], state, word);
    const order = [...cells.slice(here + 1), ...cells.slice(0, Math.max(here, 0))];
    const next = order.find((cell) => cell.dataset.state === "waiting");
    this.choose(null);
    this.several.setAttribute("aria-pressed", "false");
    this.arm(null);
    ["typed", "trace", "confirmed", "remark"].forEach((name) => (part(name).value = ""));
    form.querySelector("[data-trace]")?.remove();
    part("key").value = newKey();
    this.specimen.value = this.inHand = next?.dataset.label ?? "";
    this.another();
    this.facts.textContent = next?.dataset.facts ?? "No specimen of this strip waits.";
    if (next) next.setAttribute("aria-current", "true");
    this.show();
    (next ? this.force : this.specimen).focus();
  }
}

const meaning = async (text) => {
  try {
    const answer = await fetch(`${form.dataset.label}?text=${encodeURIComponent(text)}`, { credentials: "same-origin" });
    return answer.ok ? await answer.json() : null;
  } catch {
    return null;
  }
};

const onward = (told) => (told.go && told.verdict === "check" ? { url: told.go, label: `See ${told.label}` } : null);

const mark = (cell, state, word) => {
  cell.dataset.state = state;
  cell.removeAttribute("aria-current");
  cell.querySelector("[data-word]").textContent = word;
};

const newKey = () => {
  if (crypto.randomUUID) return crypto.randomUUID();
  const hex = [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0"));
  return hex.join("");
};

const wordsOf = (event, otherwise) => event.detail?.words ?? event.detail?.message ?? otherwise;

const refused = (event) => {
  const told = event.detail?.html ? new DOMParser().parseFromString(event.detail.html, "text/html") : null;
  const panels = told ? [...told.querySelectorAll("main .refusal, main .refusal-count, main .error-summary")] : [];
  const key = told?.querySelector('form[data-outbox] input[name="key"]')?.value;
  part("key").value = key ?? newKey();
  sound("stop");
  if (!panels.length) return say("stop", wordsOf(event, "Not kept. Load the page to see why."));
  sayNothing();
  const place = document.querySelector("[data-answer]");
  place.replaceChildren(...panels.map((panel) => document.importNode(panel, true)));
  place.querySelector("[data-take-focus]")?.focus();
};

const sent = (bench) => {
  form.addEventListener("submit", () => {
    bench.busy = true;
  });
  window.addEventListener("pageshow", () => {
    bench.busy = false;
  });
  form.addEventListener("outbox:kept", (event) => {
    try {
      sessionStorage.setItem(SAID, wordsOf(event, "Kept."));
    } catch {
      // the strip shows it all the same
    }
    location.assign(form.dataset.run);
  });
  form.addEventListener("outbox:waiting", (event) => {
    bench.busy = false;
    say("ok", wordsOf(event, `On this device, not yet sent: ${part("specimen").value}.`));
    bench.advance("unsent", "not yet sent");
  });
  form.addEventListener("outbox:refused", (event) => {
    bench.busy = false;
    refused(event);
  });
};

const saidBefore = () => {
  try {
    const words = sessionStorage.getItem(SAID);
    sessionStorage.removeItem(SAID);
    if (words) say("ok", words);
  } catch {
    // nothing to say
  }
};

setUp();
sayAgain();
if (document.querySelector(".refusal, .error-summary")) sound("stop");
if (form) {
  const bench = new Bench();
  bench.begin();
  sent(bench);
  keypad(form.querySelector("[data-keypad]"), document.querySelector("[data-keypad-chip]"), bench.force, () => bench.enter());
  catchScans({
    isOn: () => remembered("scanner", "on") === "on",
    heard: (text) => bench.heard(text),
    cutShort: () => say("check", "That scan was cut short. Nothing was recorded. Scan the label again."),
  });
  saidBefore();
}
