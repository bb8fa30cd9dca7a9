// The page of what this device has not sent, and of what was refused on arrival.

import { drain, field, refresh } from "./outbox.js";
import { sendAside, uuid } from "./outbox_send.js";
import * as store from "./outbox_store.js";
import { element, panel, summary } from "./panels.js";

const LABELS = {
  specimen: "Specimen",
  strip: "Label of the strip",
  typed: "Maximum",
  unit: "Unit of the maximum",
  modes: "How it came apart",
  opened: "Opened before the test",
  technique: "Technique used",
  rate: "Rate used",
  rate_unit: "Unit of the rate",
  width_mm: "Specimen width, mm",
  tested_at: "Tested at",
  remark: "Remark",
  caption: "Caption",
};
const SMALL = 240; // pixels of a photograph's longer side
const ON_DEVICE = "The refusal is kept in the record. What you typed is below, on this device.";

const value = (entry) => `${field(entry, "typed")} ${field(entry, "typed") ? field(entry, "unit") : ""}`.trim();

const isPhotograph = (entry) => entry.kind === "photograph";

const title = (entry) =>
  isPhotograph(entry) ? `Photograph of ${field(entry, "strip")}` : `${value(entry) || "No value"} for ${field(entry, "specimen")}`;

const described = (entry) => {
  const list = element("dl", "", { class: "definition" });
  const when = isPhotograph(entry) ? "Taken at, by this device's clock" : "Typed at, by this device's clock";
  const shown = [[when, new Date(field(entry, "pulled_at")).toLocaleString("en-GB")], ["Where", entry.page]];
  Object.entries(LABELS).forEach(([name, label]) => {
    const given = entry.fields.filter(([found, said]) => found === name && said).map(([, said]) => said);
    if (given.length) shown.push([label, given.join(", ")]);
  });
  shown.forEach(([label, words]) => {
    const pair = element("div");
    pair.append(element("dt", label), element("dd", words));
    list.append(pair);
  });
  return list;
};

// The photograph, small, so that one sees which it is. What cannot be drawn is told by its name alone.
const drawn = (entry) => {
  const figure = element("figure");
  const canvas = element("canvas", "", { role: "img", "aria-label": title(entry), width: 0, height: 0 });
  figure.append(canvas, element("figcaption", entry.file.name));
  createImageBitmap(entry.file)
    .then((image) => {
      const share = Math.min(1, SMALL / Math.max(image.width, image.height));
      [canvas.width, canvas.height] = [Math.round(image.width * share), Math.round(image.height * share)];
      canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
    })
    .catch(() => canvas.remove());
  return figure;
};

const button = (words, act) => {
  const made = element("button", words, { type: "button" });
  made.addEventListener("click", () => act(made));
  return made;
};

// The first key has its answer for ever, so what is sent anew is another entry.
const again = async (entry, confirmed = "") => {
  const key = uuid();
  const own = { key, confirmed };
  const fields = entry.fields.map(([name, said]) => [name, own[name] ?? said]);
  const { number, answer, ...rest } = entry;
  await store.replace({ ...rest, key, fields, state: "waiting" }, [number]);
  await refresh();
  draw();
  drain().then(draw);
};

const asideForm = (entry) => {
  const form = element("form", "", { class: "form" });
  const id = `reason-${entry.key}`;
  const reason = element("input", "", { id, type: "text", name: "reason", autocomplete: "off" });
  const said = element("p", "", { role: "status" });
  form.append(element("label", "Why it is set aside", { for: id }), reason, element("button", "Set aside"), said);
  form.addEventListener("submit", async (submitted) => {
    submitted.preventDefault();
    if (!reason.value.trim()) {
      said.textContent = "Say why, so that whoever reads the record knows.";
      reason.focus();
      return;
    }
    const answer = await sendAside(entry, reason.value.trim());
    if (answer.outcome === "set-aside" || answer.outcome === "kept") {
      await store.remove(entry.number);
      await refresh();
      draw();
      return;
    }
    const problems = (answer.problems ?? []).map((one) => one.problem).join(" ");
    said.textContent = problems || "Not set aside: the records do not answer, or you are signed out. It stays held.";
  });
  return form;
};

const mendAddress = (entry) =>
  `${entry.action}?specimen=${encodeURIComponent(field(entry, "specimen"))}#mend=${entry.key}`;

const heldEntry = (entry) => {
  const article = element("article", "", { class: "sheet" });
  article.append(element("h3", title(entry)));
  (entry.answer.panels ?? []).forEach((one) => article.append(panel(one, { kept: ON_DEVICE, level: "h4" })));
  if (entry.answer.problems) article.append(summary(entry.answer.problems));
  const row = element("div", "", { class: "actions" });
  if (entry.answer.conflict) {
    row.append(element("a", "See both values", { href: entry.answer.conflict, class: "button main" }));
  }
  if (!isPhotograph(entry)) row.append(element("a", "Change it on the bench page", { href: mendAddress(entry), class: "button" }));
  row.append(
    entry.answer.confirm
      ? button("Keep it: this is what I saw", () => again(entry, entry.answer.confirm))
      : button("Send it again as it is", () => again(entry)),
  );
  if (isPhotograph(entry)) article.append(drawn(entry));
  article.append(described(entry), row, asideForm(entry));
  return article;
};

const waitingEntry = (entry) => {
  const article = element("article", "", { class: "sheet" });
  article.append(element("h3", title(entry)), described(entry));
  if (isPhotograph(entry)) article.append(drawn(entry));
  return article;
};

const lay = (place, parts, none) => place.replaceChildren(...(parts.length ? parts : [element("p", none)]));

const draw = async () => {
  const entries = await store.entries();
  const waiting = entries.filter((one) => one.state === "waiting");
  const held = entries.filter((one) => one.state === "held");
  lay(document.querySelector("[data-waiting]"), waiting.map(waitingEntry), "Nothing waits to be sent.");
  lay(document.querySelector("[data-held]"), held.map(heldEntry), "Nothing is held.");
  document.querySelector("[data-outbox-held]").hidden = false;
};

document.querySelector("[data-try-now]").addEventListener("click", () => drain().then(draw));
document.addEventListener("outbox:changed", draw);
draw();
