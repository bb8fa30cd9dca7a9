// What is being typed into a form of the bench, on the device at once; given back when the page is opened again.

import * as store from "./outbox_store.js";

// What belongs to the page or to one sending, not to what is being typed.
const OWN = ["csrfmiddlewaretoken", "key", "pulled_at", "clock_offset_ms", "confirmed", "trace"];

const kept = (part) => part.name && !OWN.includes(part.name) && !["password", "file", "submit"].includes(part.type);

const isTick = (part) => part.type === "checkbox" || part.type === "radio";

const isChanged = (part) => (isTick(part) ? part.checked !== part.defaultChecked : part.value !== part.defaultValue);

// A time that nobody typed is the page's own, and an old page's time must not come back with a draft.
const worthKeeping = (part) => kept(part) && (part.name !== "tested_at" || isChanged(part));

/** Names and values of a form as typed; ticks by all that are ticked. */
export const typed = (form) =>
  [...form.elements]
    .filter((part) => worthKeeping(part) && (!isTick(part) || part.checked))
    .map((part) => [part.name, part.value]);

/** Lay names and values into a form, in place of what is there. */
export const fill = (form, fields) => {
  const names = new Set(fields.map(([name]) => name));
  [...form.elements].filter(kept).forEach((part) => {
    if (isTick(part)) part.checked = fields.some(([name, value]) => name === part.name && value === part.value);
    else if (names.has(part.name)) part.value = fields.find(([name]) => name === part.name)[1];
  });
};

const SAYS = ["typed", "modes", "opened", "remark"];

/** Whether anything of an entry was typed or chosen yet. */
export const says = (fields) => fields.some(([name, value]) => SAYS.includes(name) && value.trim());

let writing = Promise.resolve();

const inTurn = (act) => (writing = writing.then(act, act));

/** Keep what is in the form now; says when it is on the disk. */
export const note = (form) => inTurn(() => store.putDraft(form.dataset.outbox, typed(form)));

/** Forget the draft, once what it says is kept elsewhere. */
export const clear = (form) => inTurn(() => store.removeDraft(form.dataset.outbox));

// What was typed for this specimen in the run from which somebody comes: it goes along, and stays there no longer.
const brought = async (form) => {
  const { before } = form.dataset;
  const found = before && (await store.draft(before));
  const of = found?.fields.find(([name]) => name === "specimen")?.[1];
  if (!of || of !== form.elements.specimen.value) return null;
  await store.putDraft(form.dataset.outbox, found.fields);
  await store.removeDraft(before);
  return found;
};

/** Give a draft back to a page that has just been opened, unless somebody types already; whether there was one. */
export const restore = async (form) => {
  if (form.querySelector("[aria-invalid=true]") || document.querySelector(".refusal")) return false;
  const found = (await store.draft(form.dataset.outbox)) ?? (await brought(form));
  if (says(typed(form))) {
    await note(form);
    return false;
  }
  if (!found || !says(found.fields)) return false;
  fill(form, found.fields);
  return true;
};
