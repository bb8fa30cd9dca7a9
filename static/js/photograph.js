// A photograph of a strip at the bench: on this device first, then sent behind the entries that wait, as they are sent.

import { keepEntry } from "./outbox.js";
import { uuid } from "./outbox_send.js";
import { say, sayNothing } from "./verdict.js";

const form = document.querySelector("form[data-photograph]");
const part = (name) => form.elements.namedItem(name);
const MB = 1_000_000;

// The strip that was pulled last is the one that is photographed, also while its entry still waits.
const pulled = (label) => {
  part("strip").value = label;
  form.closest("details").hidden = false;
};

const problem = (file) => {
  if (part("taken").files.length && part("chosen").files.length) return "Take one or choose one, not both.";
  if (!file) return "Take a photograph, or choose a file.";
  const most = Number(form.dataset.most);
  if (file.size > most) return `It has ${Math.round(file.size / MB)} MB; the most is ${most / MB} MB.`;
  return "";
};

const entryOf = (file) => {
  const key = uuid();
  const fields = { key, strip: part("strip").value, caption: part("caption").value, pulled_at: new Date().toISOString() };
  return {
    key,
    kind: "photograph",
    run: form.dataset.photograph,
    action: form.getAttribute("action"),
    page: document.querySelector("h1")?.textContent.trim() ?? "",
    fields: Object.entries(fields),
    file,
    keptAt: Date.now(),
    state: "waiting",
  };
};

const emptied = () => ["taken", "chosen", "caption"].forEach((name) => (part(name).value = ""));

const told = (label, answer) => {
  if (!answer) return say("ok", `On this device, not yet sent: the photograph of ${label}.`);
  if (answer.outcome === "kept") return say("ok", answer.said);
  return say("stop", `The photograph of ${label} was refused. It is held on this device.`, {
    url: "/runs/not-sent/",
    label: "See why",
  });
};

const keep = async () => {
  const file = part("taken").files[0] ?? part("chosen").files[0];
  const wrong = problem(file);
  if (wrong) {
    part("chosen").focus();
    return say("check", wrong);
  }
  const label = part("strip").value;
  const answer = await keepEntry(entryOf(file));
  emptied();
  told(label, answer);
  part("chosen").focus();
};

let busy = false;

if (form) {
  form.addEventListener("submit", async (submitted) => {
    submitted.preventDefault();
    if (busy) return;
    busy = true;
    sayNothing();
    try {
      await keep();
    } catch (error) {
      console.info("This device keeps nothing, so the photograph goes to the records at once.", error);
      HTMLFormElement.prototype.submit.call(form);
    } finally {
      busy = false;
    }
  });
  ["outbox:kept", "outbox:waiting"].forEach((name) =>
    document.addEventListener(name, ({ detail }) => pulled(new Map(detail.entry.fields).get("specimen"))),
  );
}
