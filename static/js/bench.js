// The bench: keys that keep, digits, scans, the keypad, and where the focus goes. The form works without all of it.
//
// The form marked data-outbox is sent by outbox.js, which says by an event on the form what became of its entry:
// "outbox:waiting" (not answered in time: the next specimen's turn), "outbox:refused", "outbox:kept" (`late` in the detail
// of both where the form is another specimen's by then) and "outbox:filled" (a draft or a held entry was laid into it).

import { bounced, keypad, pressOnce } from "./keypad.js";
import { setUp } from "./bench_setup.js";
import { carried } from "./outbox_page.js";
import { catchScans } from "./scan.js";
import { remembered } from "./store.js";
import { say, sayAgain, sayNothing, sound } from "./verdict.js";

const form = document.querySelector("form[data-outbox]");

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
    this.change = document.querySelector("[data-change-person]");
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

  // The cell of the strip with this label, however the label is written.
  cell(label) {
    const bare = (text) => text.replace(/[^0-9a-z]/gi, "").toUpperCase();
    return this.cells.find((cell) => bare(cell.dataset.label) === bare(label));
  }

  get cells() {
    return [...document.querySelectorAll("[data-strip] a")];
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
    this.change.addEventListener("click", (event) => {
      event.preventDefault();
      this.changePerson("");
    });
    this.specimen.addEventListener("input", () => this.another());
    this.specimen.addEventListener("change", () => this.asked());
    this.specimen.addEventListener("keydown", (event) => this.typedInSpecimen(event));
    // whoever has begun to type elsewhere in the form, while the page was still loading, goes on there
    const begun = form.contains(document.activeElement) && document.activeElement !== this.force;
    if (!begun && !document.querySelector("[data-take-focus]")) this.goOn();
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
    this.changed();
  }

  // Ticks that a key has set are a change like one by hand: the draft has them too.
  changed() {
    this.show();
    form.dispatchEvent(new Event("input"));
  }

  press(key) {
    if (this.busy) return;
    if (this.isSeveral) {
      this.box(key).checked = !this.box(key).checked;
      return this.changed();
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
    this.heard(this.specimen.value);
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
    const told = (await meaning(text)) ?? this.fromStrip(text);
    if (!told) return say("stop", "The server did not answer, and the label is not on this page's strip. Type its code.");
    if (told.verdict === "person") return this.unkept("show the badge") || this.changePerson(told.label);
    if (told.verdict !== "ok") return say(told.verdict, told.words, onward(told));
    if (told.label === this.inHand && !form.classList.contains("other-specimen")) {
      say("note", `${told.label} is in hand.`);
      return this.goOn();
    }
    if (this.unkept(`scan ${told.label}`)) return;
    if (told.cell) this.take(told.cell);
    else location.assign(told.go);
  }

  // Whether something is typed or chosen that nobody has kept; then that is said, and nothing else is begun.
  unkept(then) {
    const typed = this.force.value.trim();
    if (!typed && !this.chosen) return false;
    const what = typed ? `${typed} is typed` : "a mode is chosen";
    say("check", `${what} for ${this.specimen.value} and not kept. Keep it or clear it, then ${then}.`);
    return true;
  }

  // Another person takes over, with the specimen that is in hand now.
  changePerson(badge) {
    const where = new URL(this.change.href);
    where.searchParams.set("next", `${location.pathname}?${new URLSearchParams({ specimen: this.specimen.value })}`);
    if (badge) where.searchParams.set("badge", badge);
    location.assign(where);
  }

  // What the page itself knows of a label while the server does not answer.
  fromStrip(text) {
    const cell = this.cell(text);
    if (!cell) return null;
    const label = cell.dataset.label;
    if (cell.dataset.state === "waiting") return { verdict: "ok", label, cell };
    return { verdict: "check", label, words: `${label} is ${cell.querySelector("[data-word]").textContent} already.` };
  }

  // The next specimen without a page from the server, while an entry waits to be sent.
  advance(state, word) {
    const cells = this.cells;
    const here = cells.indexOf(this.cell(this.specimen.value));
    if (here >= 0) mark(cells[here], state, word);
    const order = [...cells.slice(here + 1), ...cells.slice(0, Math.max(here, 0))];
    this.take(order.find((cell) => cell.dataset.state === "waiting"));
  }

  // Take a specimen of the strip in hand, or none, with nothing typed for it yet.
  take(cell) {
    boxes().forEach((box) => (box.checked = false));
    part("opened").checked = false;
    this.several.setAttribute("aria-pressed", "false");
    ["typed", "trace", "confirmed", "remark", "pulled_at", "clock_offset_ms"].forEach((name) => (part(name).value = ""));
    this.keepButton.textContent = this.keepButton.dataset.plain;
    form.querySelector("[data-trace]")?.remove();
    this.specimen.value = this.inHand = cell?.dataset.label ?? "";
    this.another();
    this.facts.textContent = cell?.dataset.facts ?? "No specimen of this strip waits.";
    this.cells.forEach((one) => one.removeAttribute("aria-current"));
    if (cell) cell.setAttribute("aria-current", "true");
    this.arm(null);
    (cell ? this.force : this.specimen).focus();
  }

  // Something was laid into the form that nobody pressed just now.
  filled() {
    if (boxes().filter((box) => box.checked).length > 1) this.several.setAttribute("aria-pressed", "true");
    this.another();
    this.show();
    const label = this.specimen.value;
    if (label !== this.inHand) say("check", `What was typed for ${label} and not kept is back: keep it or clear it first.`);
    if (!document.querySelector("[data-outbox-problems] [tabindex]")) this.goOn();
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

const late = (bench, { outcome, entry }) => {
  const label = new Map(entry.fields).get("specimen");
  const cell = bench.cell(label);
  if (outcome === "kept") return cell && mark(cell, "kept", "kept");
  if (cell) mark(cell, "unsent", "held");
  const see = { url: "/runs/not-sent/", label: "See why" };
  say("stop", `${label} was refused on arrival. It is held on this device.`, see);
};

const sent = (bench) => {
  form.addEventListener("submit", () => {
    bench.busy = true;
  });
  window.addEventListener("pageshow", () => {
    bench.busy = false;
  });
  form.addEventListener("outbox:kept", (event) => event.detail.late && late(bench, event.detail));
  form.addEventListener("outbox:waiting", (event) => {
    event.preventDefault();
    bench.busy = false;
    say("ok", `On this device, not yet sent: ${part("specimen").value}.`);
    bench.advance("unsent", "not yet sent");
  });
  form.addEventListener("outbox:refused", (event) => {
    if (event.detail.late) return late(bench, event.detail);
    bench.busy = false;
    bench.show();
    sayNothing();
    sound(event.detail.confirm ? "check" : "stop");
  });
  form.addEventListener("outbox:filled", () => bench.filled());
};

setUp();
carried();
sayAgain();
if (document.querySelector(".refusal:not(.asks), .error-summary")) sound("stop");
else if (document.querySelector(".refusal")) sound("check");
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
}
