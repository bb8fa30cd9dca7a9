// Nothing typed at the bench is lost: each press of Keep is put on this device's disk first, with a key of its own, and
// then sent until the records have answered. They give a repeat of a key the first answer, so trying again is safe.
//
// A form marked data-outbox="<run>" is told by events what became of its entry, with the answer in `detail`:
// outbox:kept (preventDefault() keeps the page from being loaded anew), outbox:waiting (preventDefault(): the listener
// empties the form itself), outbox:refused; and by outbox:filled that a draft or a held entry was laid into it.

import * as drafts from "./drafts.js";
import { measureClock, send, uuid } from "./outbox_send.js";
import * as store from "./outbox_store.js";
import { show, showProblems, signOutWarning } from "./outbox_words.js";
import { carried, carry, startWorker } from "./outbox_page.js";

const EVERY_MS = 15_000;
const PATIENCE_MS = 3_000; // how long a press waits for its answer before the next specimen may be typed
const state = { signIn: false, notBefore: 0, delay: 0, kept: "", draft: false, sent: 0 };
const late = new Set(); // keys of entries whose press had no answer in time
const tabs = new BroadcastChannel(`labrecords outbox ${store.person}`);
const waitingFor = new Map(); // key -> what to do with its answer

export const refresh = async () => show(await store.entries(), state);

const settled = (key, answer) => {
  waitingFor.get(key)?.(answer);
  waitingFor.delete(key);
  document.dispatchEvent(new CustomEvent("outbox:changed"));
};

tabs.onmessage = ({ data }) => {
  settled(data.key, data.answer);
  refresh();
};

const tell = (key, answer) => {
  tabs.postMessage({ key, answer });
  settled(key, answer);
};

// An entry that is answered leaves the queue: kept, or held with the reasons.
const conclude = async (entry, answer) => {
  if (answer.outcome === "kept") {
    state.kept = answer.at_words;
    if (late.delete(entry.key)) state.sent += 1;
    await store.remove(entry.number);
  } else {
    await store.put({ ...entry, state: "held", answer });
  }
  tell(entry.key, answer);
};

// Twice as long after each failure, up to a minute, and never two devices in step.
const putOff = (answer) => {
  state.delay = Math.min(60_000, (state.delay || 400) * 2);
  const pause = Math.max(state.delay * (0.5 + Math.random()), answer.afterMs ?? 0);
  state.notBefore = answer.afterMs ? Date.now() + answer.afterMs : 0;
  clearTimeout(putOff.timer);
  putOff.timer = setTimeout(drain, pause);
};

const pass = async () => {
  const passed = new Set();
  for (;;) {
    const next = (await store.entries()).find((one) => one.state === "waiting" && !passed.has(one.number));
    await refresh();
    if (!next || Date.now() < state.notBefore) return;
    const answer = await send(next);
    state.signIn = answer.outcome === "sign-in";
    if (answer.outcome === "kept" || answer.outcome === "refused" || answer.outcome === "not-understood") {
      state.delay = 0;
      await conclude(next, answer);
    } else if (answer.outcome === "fault") {
      passed.add(next.number); // this one is tried again later; the others need not wait for it
      putOff(answer);
    } else {
      if (answer.outcome === "later") putOff(answer);
      await refresh();
      return;
    }
  }
};

let asked = null;

/** Send what waits, one after another; two tabs take turns. */
export const drain = () => {
  const turn = () => ((asked = null), pass());
  asked ??= (navigator.locks ? navigator.locks.request(`labrecords outbox ${store.person}`, turn) : turn()).catch(refresh);
  return asked;
};

const answerTo = (key) =>
  new Promise((resolve) => {
    waitingFor.set(key, resolve);
    setTimeout(() => resolve(null), PATIENCE_MS);
    drain().then(() => resolve(null));
  });

/** Put an entry on this device's disk and send it; its answer, or null when there was none in time. */
export const keepEntry = async (entry) => {
  await store.put(entry);
  await refresh();
  const answer = await answerTo(entry.key);
  if (!answer) late.add(entry.key);
  await refresh();
  return answer;
};

const isPageTime = (part) => part && part.value === part.defaultValue;

// The moment at the bench: what was typed as the time, or else the device's clock and how far it is off.
const entryOf = async (form, key) => {
  const given = new FormData(form);
  given.delete("csrfmiddlewaretoken");
  given.set("key", key);
  if (!given.get("pulled_at")) given.set("pulled_at", new Date().toISOString());
  const offset = given.get("clock_offset_ms") || (await store.offset());
  given.set("clock_offset_ms", offset ?? "");
  if (isPageTime(form.elements.tested_at)) given.set("tested_at", "");
  return {
    key,
    run: form.dataset.outbox,
    action: form.getAttribute("action") || location.pathname,
    page: document.querySelector("h1")?.textContent.trim() ?? "",
    fields: [...given].filter(([, value]) => typeof value === "string"),
    keptAt: Date.now(),
    state: "waiting",
  };
};

export const field = (entry, name) => entry.fields.find(([found]) => found === name)?.[1] ?? "";

// A refused entry is mended by what is sent from its form for the same specimen or with the same value, and by nothing
// else: it stays held.
const mendedBy = async (form, entry) => {
  const held = (await store.entries()).filter((one) => one.state === "held");
  const agrees = (one, name) => field(one, name).trim().toUpperCase() === field(entry, name).trim().toUpperCase();
  const same = (one) => one.key === form.dataset.mends || agrees(one, "specimen") || agrees(one, "typed");
  return held.filter((one) => one.key === form.dataset.shown && same(one)).map((one) => one.number);
};

const words = (form) => JSON.stringify(drafts.typed(form));

const emptied = (form) => {
  form.inert = false;
  form.reset();
  ["pulled_at", "clock_offset_ms"].forEach((name) => form.elements[name] && (form.elements[name].value = ""));
  form.elements.specimen.value = "";
  form.elements.specimen.focus();
};

// A check is a refusal that one more press answers: what that press says is in the form, and on its button.
const askAgain = (form, answer) => {
  form.elements.confirmed.value = answer.confirm ?? "";
  const button = form.querySelector("[data-keep]");
  button.textContent = answer.confirm ? button.dataset.seen : button.dataset.plain;
};

const event = (form, name, detail) => {
  const told = new CustomEvent(`outbox:${name}`, { bubbles: true, cancelable: true, detail });
  return form.dispatchEvent(told);
};

const outcome = {
  async kept(form, entry, answer) {
    if (!event(form, "kept", { ...answer, entry })) return;
    carry(answer.said);
    location.replace(entry.action); // anew, even where this page answered a form
  },
  async refused(form, entry, answer) {
    form.dataset.shown = entry.key;
    await drafts.note(form);
    askAgain(form, answer);
    event(form, "refused", { ...answer, entry, late: false });
    showProblems(form, answer);
  },
  // Nothing of it is on record, and all of it is still in the form and in the draft.
  async "not-understood"(form, entry, answer) {
    const own = (await store.entries()).find((one) => one.key === entry.key);
    await drafts.note(form);
    if (own) await store.remove(own.number);
    askAgain(form, answer);
    event(form, "refused", { ...answer, entry, late: false });
    showProblems(form, answer);
  },
};

const waiting = async (form, entry) => {
  if (!late.size) state.sent = 0;
  late.add(entry.key);
  await forgetDraft(form, entry);
  const count = (await store.entries()).filter((one) => one.state === "waiting").length;
  form.inert = false;
  delete form.dataset.shown;
  delete form.dataset.mends;
  if (event(form, "waiting", { entry, count }) && words(form) === entry.words) emptied(form);
  // an answer that comes after all is for whoever listens; the form is the next specimen's already
  waitingFor.set(entry.key, (answer) => {
    if (answer) tooLate(form, entry, answer);
  });
};

const keep = async (form) => {
  const key = uuid();
  form.elements.key.value = key;
  const entry = await entryOf(form, key);
  entry.words = words(form);
  await store.replace(entry, await mendedBy(form, entry));
  showProblems(form, null);
  await refresh();
  const answer = await answerTo(key);
  if (!answer) return waiting(form, entry);
  if (answer.outcome === "kept") await forgetDraft(form, entry);
  // whoever went on typing is at the next specimen: the form is theirs, and a refusal waits among the held entries
  if (words(form) !== entry.words) return tooLate(form, entry, answer);
  return outcome[answer.outcome](form, entry, answer);
};

const tooLate = (form, entry, answer) =>
  event(form, answer.outcome === "kept" ? "kept" : "refused", { ...answer, entry, late: true });

const forgetDraft = async (form, entry) => {
  if (words(form) !== entry.words) return;
  await drafts.clear(form);
  state.draft = false;
};

const main = document.getElementById("main");

// While a form is sent it takes no keys, and what has the focus in it would lose it to the page's body, where whoever
// listens to the page is lost too. The content has it for that moment, and then whatever comes next.
const rest = (form) => {
  const from = document.activeElement;
  form.inert = true;
  if (!form.contains(from)) return () => null;
  main.dataset.sending = "";
  main.focus({ preventScroll: true });
  return () => {
    if (form.isConnected && document.activeElement === main) from.focus();
    delete main.dataset.sending;
  };
};

const busy = new Map();
const sendAsEver = (form) => HTMLFormElement.prototype.submit.call(form);

document.addEventListener("submit", async (submitted) => {
  const form = submitted.target;
  if (!form.matches("form[data-outbox]") || submitted.defaultPrevented) return;
  submitted.preventDefault();
  if (busy.get(form) === words(form)) return; // pressed twice
  if (!form.elements.specimen.value.trim()) {
    const problem = { field: "specimen", label: "Specimen", problem: "Scan the label or type its code." };
    event(form, "refused", { outcome: "not-understood", problems: [problem], late: false });
    showProblems(form, { problems: [problem] });
    return;
  }
  busy.set(form, words(form));
  const wake = rest(form);
  try {
    await keep(form);
  } catch (error) {
    console.info("This device keeps nothing, so the entry goes to the records at once.", error);
    sendAsEver(form);
  } finally {
    busy.delete(form);
    form.inert = false;
    wake();
    await refresh();
  }
});

// The entry that was refused in the run from which somebody comes, for the specimen that is in hand here.
const refusedBefore = async (form) => {
  const of = form.elements.specimen.value;
  const same = (one) => one.state === "held" && one.run === form.dataset.before && field(one, "specimen") === of;
  return (await store.entries()).findLast(same)?.key ?? "";
};

const enhance = async (form) => {
  // at once: who is quick types before the device has answered
  form.addEventListener("input", async () => {
    await drafts.note(form).catch(() => null);
    state.draft = drafts.says(drafts.typed(form));
    refresh();
  });
  const mends = new URLSearchParams(location.hash.slice(1)).get("mend");
  const held = mends && (await store.entries()).find((one) => one.key === mends && one.state === "held");
  if (held) {
    const time = field(held, "tested_at");
    drafts.fill(form, held.fields.filter(([name]) => name !== "tested_at" || time));
    ["pulled_at", "clock_offset_ms"].forEach((name) => (form.elements[name].value = field(held, name)));
    form.dataset.shown = form.dataset.mends = held.key;
    askAgain(form, held.answer);
    showProblems(form, held.answer);
  } else {
    state.draft = await drafts.restore(form);
    if (state.draft) form.dataset.shown = await refusedBefore(form);
  }
  if (held || state.draft) event(form, "filled", {});
};

// A run that is closed takes no entry that arrives later.
const guardClosing = (form) =>
  form.addEventListener("submit", async (submitted) => {
    if ("sure" in form.dataset) return;
    submitted.preventDefault();
    const found = await store.entries().catch(() => []);
    const own = found.filter((one) => form.getAttribute("action").includes(one.run));
    if (own.length) {
      const problem = `${own.length} of its entries are still on this device, not yet sent or held. Deal with them first.`;
      showProblems(form, { problems: [{ field: "", label: "The run stays open", problem }] });
      return;
    }
    form.dataset.sure = "";
    form.requestSubmit(submitted.submitter);
  });

const atSignOut = signOutWarning(store.entries);

const start = async () => {
  carried();
  (await store.entries()).filter((one) => one.state === "waiting").forEach((one) => late.add(one.key));
  await Promise.all([...document.querySelectorAll("form[data-outbox]")].map(enhance));
  await refresh();
  atSignOut();
  document.querySelectorAll('form[action^="/runs/"][action$="/close/"]').forEach(guardClosing);
  if (document.querySelector("form[data-outbox]")) measureClock();
  startWorker(store.person);
  navigator.storage?.persist?.();
  drain();
  addEventListener("online", drain);
  addEventListener("focus", drain);
  document.addEventListener("visibilitychange", () => document.hidden || drain());
  setInterval(drain, EVERY_MS);
};

if (store.person) start().catch((error) => console.info("This device keeps nothing.", error));
