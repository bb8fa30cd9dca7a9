// What the outbox says: the chip of a page, the count in its header, why something was refused; the word at sign-out.

import { forgetPages } from "./outbox_page.js";
import { element, panel, summary } from "./panels.js";

const HOUR_MS = 3_600_000;
const LONG_MS = 8 * HOUR_MS;

const oldest = (waiting) => {
  const age = Date.now() - Math.min(...waiting.map((one) => one.keptAt));
  if (age < HOUR_MS) return "";
  return `, the oldest for ${Math.floor(age / HOUR_MS)} h${age > LONG_MS ? ": tell the laboratory manager" : ""}`;
};

const phrases = (waiting, held, { signIn, kept, draft, sent }) => {
  const said = [];
  if (draft) said.push("Draft on this tablet.");
  if (waiting.length) said.push(`Not yet sent: ${waiting.length}${oldest(waiting)}.`);
  if (signIn && waiting.length) said.push("Sign in again to send them; they stay here until then.");
  if (sent && !waiting.length) said.push(`${sent} sent.`);
  if (held.length) said.push(`Held: ${held.length}.`);
  if (kept) said.push(`Kept ${kept}.`);
  return said;
};

const counted = (waiting, held) =>
  [waiting.length && `Not yet sent: ${waiting.length}`, held.length && `Held: ${held.length}`].filter(Boolean).join(", ");

/** Say on the page how many entries wait, are held, and what was kept last. */
export const show = (entries, state) => {
  const waiting = entries.filter((one) => one.state === "waiting");
  const held = entries.filter((one) => one.state === "held");
  document.querySelectorAll("[data-outbox-count]").forEach((link) => {
    link.hidden = !entries.length;
    link.textContent = counted(waiting, held);
  });
  document.querySelectorAll("[data-outbox-chip]").forEach((chip) => {
    const said = phrases(waiting, held, state).join(" ") || "Nothing waits on this tablet.";
    const words = chip.querySelector("[data-outbox-words]");
    if (words.textContent !== said) words.textContent = said; // said aloud only when it is news
    chip.querySelector("[data-outbox-see]").hidden = !entries.length || location.pathname === "/runs/not-sent/";
    chip.classList.toggle("outbox-waits", entries.length > 0);
    chip.hidden = false;
  });
};

const place = (form) => {
  const found = form.parentElement.querySelector("[data-outbox-problems]");
  if (found) return found;
  const made = element("div", "", { "data-outbox-problems": "" });
  form.before(made);
  return made;
};

/** Why an entry was refused, above its form; null takes it away again. */
export const showProblems = (form, answer) => {
  document.querySelectorAll("section.refusal").forEach((old) => old.closest("[data-outbox-problems]") || old.remove());
  const parts = (answer?.panels ?? []).map((one) => panel(one));
  if (answer?.problems) parts.push(summary(answer.problems));
  if (answer?.conflict) parts.push(element("a", "See both values", { href: answer.conflict, class: "button" }));
  place(form).replaceChildren(...parts);
  if (!parts.length) return;
  form.inert = false;
  form.querySelectorAll("details").forEach((details) => (details.open = true));
  parts[0].querySelector("[tabindex]").focus();
};

const ask = (count, held) =>
  new Promise((resolve) => {
    const dialog = element("dialog", "", { "aria-labelledby": "unsent", class: "sheet" });
    const stay = element("button", "Stay signed in", { type: "button", class: "button main" });
    const leave = element("button", "Sign out all the same", { type: "button" });
    const row = element("div", "", { class: "actions" });
    row.append(stay, leave);
    const words = [count && `${count} not yet sent`, held && `${held} held`].filter(Boolean).join(", ");
    dialog.append(
      element("h2", `Entries on this device: ${words}`, { id: "unsent" }),
      element("p", "They stay here, and go on when you have signed in on this device again. Nobody else can send them."),
      row,
    );
    const close = (answer) => {
      dialog.remove();
      resolve(answer);
    };
    stay.addEventListener("click", () => close(false));
    leave.addEventListener("click", () => close(true));
    dialog.addEventListener("cancel", () => close(false));
    document.body.append(dialog);
    dialog.showModal();
  });

const mayLeave = async (entries) => {
  const waiting = entries.filter((one) => one.state === "waiting").length;
  return !entries.length || (await ask(waiting, entries.length - waiting));
};

const guarded = (form, entries, then) => {
  let sure = false;
  form.addEventListener("submit", async (submitted) => {
    if (sure) return;
    submitted.preventDefault();
    const found = await entries().catch(() => []);
    if (!(await mayLeave(found))) return;
    await then().catch(() => null);
    sure = true;
    form.requestSubmit(submitted.submitter);
  });
};

/** Before a sign-out: say what is unsent, and take the pages of runs off the device. Entries and drafts stay. */
export const signOutWarning = (entries) => () =>
  document.querySelectorAll('form[action$="/sign-out/"]').forEach((form) => guarded(form, entries, () => forgetPages()));
