// One entry sent, and what the answer means. What says nothing about the entry is a reason to try again, not to drop it.

import * as store from "./outbox_store.js";

const HELLO = "/runs/not-sent/";
const TIMEOUT_MS = 20_000;
const AGAIN = [409, 425, 429];
const ANSWERS = ["kept", "refused", "not-understood"];

/** A new key. Browsers have randomUUID only where the address is secure. */
export const uuid = () => {
  if (crypto.randomUUID) return crypto.randomUUID();
  const drawn = crypto.getRandomValues(new Uint8Array(16));
  drawn[6] = (drawn[6] & 0x0f) | 0x40;
  drawn[8] = (drawn[8] & 0x3f) | 0x80;
  const hex = [...drawn].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
};

const token = () => /(?:^|; )csrftoken=([^;]+)/.exec(document.cookie)?.[1] ?? "";

const asked = (address, options = {}) =>
  fetch(address, {
    ...options,
    headers: { Accept: "application/json", "X-Person": store.person, ...options.headers },
    credentials: "same-origin",
    cache: "no-store",
    redirect: "manual",
    signal: AbortSignal.timeout(TIMEOUT_MS),
  });

const told = async (answer) =>
  (answer.headers.get("Content-Type") ?? "").includes("json") ? await answer.json() : { outcome: "" };

const afterMs = (answer) => {
  const said = answer.headers.get("Retry-After");
  const seconds = said && (Number(said) || (Date.parse(said) - Date.now()) / 1000);
  return seconds > 0 ? seconds * 1000 : undefined;
};

const meaning = (answer, said) => {
  if (ANSWERS.includes(said.outcome)) return said;
  const mustSignIn = answer.type === "opaqueredirect" || answer.status === 401 || answer.status === 403;
  if (mustSignIn) return { outcome: "sign-in" };
  if (AGAIN.includes(answer.status) || answer.status === 503) return { outcome: "later", afterMs: afterMs(answer) };
  if (answer.status >= 500) return { outcome: "fault", afterMs: afterMs(answer) };
  if (answer.status < 400) return { outcome: "later" }; // an answer, but not from the records
  const problem = `The records answered ${answer.status}: they do not take this entry as it is.`;
  return { outcome: "not-understood", problems: [{ field: "", label: "", problem }] };
};

// Who is signed in, and what the time is there; halfway between question and answer, for want of better.
const greet = async () => {
  const before = Date.now();
  const answer = await asked(HELLO);
  const said = await told(answer);
  if (said.outcome !== "hello") return meaning(answer, said);
  await store.putOffset(Math.round(Date.parse(said.now) - (before + Date.now()) / 2));
  return said.person === store.person ? null : { outcome: "sign-in" };
};

let greeted = 0;

// A photograph goes along as a file, under the name of the field that takes a chosen one.
const body = ({ fields, file }) => {
  if (!file) return new URLSearchParams(fields);
  const form = new FormData();
  fields.forEach(([name, value]) => form.append(name, value));
  form.append("chosen", file, file.name);
  return form;
};

/** Send one entry: the records' own answer, or "later", "fault" or "sign-in". */
export const send = async (entry) => {
  try {
    if (Date.now() - greeted > 60_000 || !token()) {
      const problem = await greet();
      if (problem) return problem.outcome === "not-understood" ? { outcome: "later" } : problem;
      greeted = Date.now();
    }
    const answer = await asked(entry.action, {
      method: "POST",
      body: body(entry),
      headers: { "X-CSRFToken": token() },
    });
    const said = meaning(answer, await told(answer));
    if (said.outcome === "sign-in") greeted = 0;
    return said;
  } catch {
    greeted = 0;
    return { outcome: "later" };
  }
};

/** Measure how far this device's clock is off, if the records answer. */
export const measureClock = () => greet().catch(() => null);

/** Ask the records to set an entry aside: their answer, or null. */
export const sendAside = async (entry, reason) => {
  const typed = Object.fromEntries(entry.fields.map(([name]) => [name, ""]));
  entry.fields.forEach(([name, value]) => (typed[name] = typed[name] ? `${typed[name]}, ${value}` : value));
  if (entry.file) [typed.photograph, typed.specimen] = [entry.file.name, typed.strip];
  const body = new URLSearchParams({ key: entry.key, typed: JSON.stringify(typed), reason });
  try {
    if (!token()) await greet();
    const address = `/runs/${entry.run}/set-aside/`;
    const answer = await asked(address, { method: "POST", body, headers: { "X-CSRFToken": token() } });
    const said = await told(answer);
    return said.outcome ? said : meaning(answer, said);
  } catch {
    return { outcome: "later" };
  }
};
