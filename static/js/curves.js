// The curves of a file, kept a few at a time, so that one sees how far it is. Each has a key, and the records keep what a
// key says once: a press that was lost on the way may be sent again, and whoever leaves the page loses nothing kept.

import { carry } from "./outbox_page.js";

const FEW = 8; // as many are kept by the form itself before anybody asks how far it is
const TURN_MS = 1_000; // about how long one sending may take
const WAIT_MS = 3_000;

const form = document.querySelector("form[data-curves]");
const far = document.querySelector("[data-far]");

const ticks = () => [...form.querySelectorAll('input[type="checkbox"][name$="-keep"]')].filter((box) => box.checked);

const show = (words, value, max) => {
  far.hidden = false;
  far.querySelector("[data-far-said]").textContent = words;
  const bar = far.querySelector("progress");
  bar.max = max;
  if (value === null) bar.removeAttribute("value"); // how long it will be, nobody knows
  else bar.value = value;
};

const send = async (boxes) => {
  const said = new FormData(form);
  ticks().forEach((box) => boxes.includes(box) || said.delete(box.name));
  said.set("keep", "1");
  const answer = await fetch(location.pathname, {
    method: "POST",
    body: said,
    headers: { Accept: "application/json" },
    credentials: "same-origin",
    redirect: "manual",
  });
  const json = (answer.headers.get("Content-Type") ?? "").includes("json");
  if (answer.status >= 500) throw new Error(`answered ${answer.status}`);
  return json ? answer.json() : { outcome: "elsewhere" };
};

const untilAnswered = async (boxes) => {
  for (;;) {
    try {
      return await send(boxes);
    } catch {
      show("The server does not answer. Trying again; what is kept stays kept.", null, 1);
      await new Promise((resolve) => setTimeout(resolve, WAIT_MS));
    }
  }
};

const submitPlainly = () => {
  form.append(Object.assign(document.createElement("input"), { type: "hidden", name: "keep", value: "1" }));
  HTMLFormElement.prototype.submit.call(form);
};

const keepAll = async () => {
  const all = ticks();
  const done = { kept: 0, refused: [] };
  let [from, count] = [0, FEW];
  while (from < all.length) {
    show(`Kept ${done.kept} of ${all.length} curves.`, from, all.length);
    const few = all.slice(from, from + count);
    const begun = performance.now();
    const answer = await untilAnswered(few);
    if (answer.outcome !== "done") return submitPlainly(); // a row that lacks something, or a sign-in: the page says so
    done.kept += answer.kept.length;
    done.refused.push(...few.filter((box) => answer.refused.includes(box.name.replace(/-keep$/, ""))));
    from += few.length;
    count = Math.min(50, Math.max(1, Math.round((few.length * TURN_MS) / (performance.now() - begun))));
  }
  carry(`${done.kept} curve${done.kept === 1 ? " is" : "s are"} kept.`);
  if (!done.refused.length) return location.replace(location.pathname);
  all.forEach((box) => (box.checked = done.refused.includes(box)));
  return submitPlainly(); // the same keys again: the page gives their reasons
};

form.addEventListener("submit", (submitted) => {
  if (submitted.submitter?.name !== "keep" || ticks().length <= FEW) return;
  submitted.preventDefault();
  form.inert = true;
  show("Keeping the ticked curves.", 0, 1);
  far.focus();
  keepAll();
});
