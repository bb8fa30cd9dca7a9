// A refusal as the server draws it (templates/parts/refusal.html), from the same parts sent as data.

export const element = (name, words, attributes = {}) => {
  const made = document.createElement(name);
  if (words) made.textContent = words;
  Object.entries(attributes).forEach(([key, value]) => made.setAttribute(key, value));
  return made;
};

const SHAPE = "http://www.w3.org/2000/svg";

const OUTLINES = { stop: "M5.1 1h5.8L15 5.1v5.8L10.9 15H5.1L1 10.9V5.1z", due: "M8 1.2 15.4 14.6H.6z" };

const drawn = (kind) => {
  const shape = document.createElementNS(SHAPE, "svg");
  const path = document.createElementNS(SHAPE, "path");
  Object.entries({ class: `shape shape-${kind}`, width: 16, height: 16, viewBox: "0 0 16 16", "aria-hidden": true }).forEach(
    ([key, value]) => shape.setAttribute(key, value),
  );
  path.setAttribute("d", OUTLINES[kind]);
  path.setAttribute("fill", "currentColor");
  shape.append(path);
  return shape;
};

const PARTS = [
  ["You tried", "tried"],
  ["Rule", "rule"],
  ["Why", "facts"],
  ["What is kept", "kept"],
  ["Who can resolve it", "who"],
  ["What to do next", "todo"],
];

/** One refusal in its eight parts. `kept` says where what was typed is now. */
export const panel = (refusal, { kept = refusal.kept, level = "h2" } = {}) => {
  const section = element("section", "", { class: refusal.asks ? "refusal asks" : "refusal" });
  const alert = element("div", "", { role: "alert" });
  const heading = element(level, "", { class: "refusal-headline", tabindex: "-1", "data-take-focus": "" });
  heading.append(drawn(refusal.asks ? "due" : "stop"), element("span", refusal.headline));
  const list = element("dl", "", { class: "refusal-parts" });
  PARTS.forEach(([label, name]) => {
    const said = name === "kept" ? kept : refusal[name];
    const all = Array.isArray(said) ? said : [said];
    if (!said || !all.length) return;
    list.append(element("dt", label), ...all.map((words) => element("dd", words)));
  });
  alert.append(heading, list);
  const ways = element("ul", "", { class: "actions", "aria-label": "What to do next" });
  (refusal.next ?? []).forEach(({ label, url }, place) => {
    const item = element("li");
    item.append(element("a", label, { href: url, class: place ? "button" : "button main" }));
    ways.append(item);
  });
  const when = refusal.at ? `, ${refusal.at}` : "";
  const reference = element("p", "Reference ", { class: "refusal-reference" });
  reference.append(element("code", refusal.code), when);
  section.append(alert, ...(ways.children.length ? [ways] : []), reference);
  return section;
};

/** What could not be read, as the summary of a form's errors; each line leads to its field. */
export const summary = (problems) => {
  const section = element("section", "", { class: "error-summary", role: "alert" });
  const heading = element("h2", "", { tabindex: "-1", "data-take-focus": "" });
  heading.append(drawn("stop"), element("span", "Nothing was recorded. Change this and send again:"));
  const list = element("ul");
  problems.forEach(({ field, label, problem }) => {
    const item = element("li");
    const words = label ? `${label}: ${problem}` : problem;
    item.append(document.getElementById(`id_${field}`) ? element("a", words, { href: `#id_${field}` }) : words);
    list.append(item);
  });
  section.append(heading, list);
  return section;
};
