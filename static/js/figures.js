// Draws every figure[data-figure] from the JSON inside it: {data, layout, label}.
//
// A colour of the light theme, or one written "var(--name)", becomes the token of the reader's theme wherever it
// stands in data or layout; any other colour stays as written. A row of the figure's table with data-point="..." can
// be shown in the figure: the value is an entry of a trace's ids or customdata, or "trace:point" by position.

const Plotly = window.Plotly;
const dark = window.matchMedia("(prefers-color-scheme: dark)");
const print = window.matchMedia("print");
const PRINTED_WIDTH = 640; // 170 mm, so that a wide screen's figure is not shrunk or cut on paper
const HIGHLIGHT = "highlight";
// Quoted, because a name with a digit for a word is not a name to CSS without quotes.
const FONT = '"Source Sans 3", system-ui, sans-serif';

const token = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

// The light theme's colours and their names, read from the style sheet, so that they are written down once.
const lightNames = () => {
  const names = new Map();
  const visit = (rule) => {
    if (rule instanceof CSSLayerBlockRule) [...rule.cssRules].forEach(visit);
    if (!(rule instanceof CSSStyleRule) || rule.selectorText !== ":root") return;
    [...rule.style].forEach((name) => {
      const colour = rule.style.getPropertyValue(name).trim().toUpperCase();
      if (colour.startsWith("#") && !names.has(colour)) names.set(colour, name);
    });
  };
  [...document.styleSheets].forEach((sheet) => [...sheet.cssRules].forEach(visit));
  return names;
};

const NAMES = lightNames();

const themedColour = (text) => {
  const name = text.startsWith("#") ? NAMES.get(text.toUpperCase()) : text.match(/^var\((--[\w-]+)\)$/)?.[1];
  return name ? token(name) : text;
};

const themed = (value) => {
  if (typeof value === "string") return themedColour(value);
  if (Array.isArray(value)) return value.map(themed);
  if (value && typeof value === "object") {
    return Object.fromEntries(Object.entries(value).map(([key, part]) => [key, themed(part)]));
  }
  return value;
};

// The layout of ours below, the figure's own on top; axes are merged so that a figure may set a title alone.
const merged = (ours, own) => {
  const all = { ...ours };
  Object.entries(own ?? {}).forEach(([key, value]) => {
    const plain = value && typeof value === "object" && !Array.isArray(value);
    all[key] = plain && all[key] ? merged(all[key], value) : value;
  });
  return all;
};

const axis = (extra) => ({
  automargin: true,
  ticks: "outside",
  zeroline: false,
  linecolor: "var(--edge)",
  tickcolor: "var(--edge)",
  gridcolor: "var(--rule)",
  ...extra,
});

const ourLayout = (own) => {
  const layout = {
    autosize: true,
    separators: ".\u202f",
    hovermode: "closest",
    dragmode: false,
    uirevision: "keep",
    transition: { duration: 0 },
    font: { size: 14, color: "var(--ink)" },
    paper_bgcolor: "var(--panel)",
    plot_bgcolor: "var(--panel)",
    colorway: [1, 2, 3, 4, 5].map((i) => `var(--series-${i})`),
    hoverlabel: { bgcolor: "var(--panel)", bordercolor: "var(--edge)", font: { color: "var(--ink)" } },
    modebar: { bgcolor: "rgba(0,0,0,0)", color: "var(--ink-3)", activecolor: "var(--act)" },
    margin: { l: 64, r: 96, t: 40, b: 56 },
    legend: { bgcolor: "rgba(0,0,0,0)" },
  };
  const names = new Set(["xaxis", "yaxis", ...Object.keys(own ?? {})]);
  names.forEach((name) => {
    if (/^xaxis\d*$/.test(name)) layout[name] = axis({ showgrid: false });
    if (/^yaxis\d*$/.test(name)) layout[name] = axis({ showgrid: true });
  });
  return layout;
};

const config = (name) => ({
  displaylogo: false,
  responsive: true,
  displayModeBar: true,
  showSendToCloud: false,
  plotlyServerURL: "",
  modeBarButtons: [["zoom2d", "pan2d", "resetScale2d"], ["toImage"]],
  toImageButtonOptions: { format: "svg", filename: name },
  scrollZoom: false,
  doubleClick: "reset",
  locale: "en",
});

// The name goes on the drawing, not on its wrapper: that would hide the named buttons of the toolbar.
const nameDrawing = (plot, label) => {
  plot.querySelectorAll("svg.main-svg").forEach((svg, i) => {
    if (i === 0) {
      svg.setAttribute("role", "img");
      svg.setAttribute("aria-label", label);
    } else {
      svg.setAttribute("aria-hidden", "true");
    }
  });
};

const findPoint = (plot, wanted) => {
  const traces = plot._fullData.filter((trace) => trace.name !== HIGHLIGHT);
  for (const trace of traces) {
    for (const list of [trace.ids, trace.customdata]) {
      const i = list ? [...list].findIndex((entry) => String([entry].flat()[0]) === wanted) : -1;
      if (i >= 0) return { trace, i };
    }
  }
  const [curve, i] = wanted.split(":").map(Number);
  return Number.isInteger(i) && traces[curve] ? { trace: traces[curve], i } : null;
};

const ring = ({ trace, i }) => ({
  name: HIGHLIGHT,
  type: "scatter",
  mode: "markers",
  x: [trace.x ? trace.x[i] : i],
  y: [trace.y ? trace.y[i] : i],
  xaxis: trace.xaxis,
  yaxis: trace.yaxis,
  hoverinfo: "skip",
  showlegend: false,
  cliponaxis: false,
  marker: { symbol: "circle-open", size: 20, color: token("--act"), line: { width: 3 } },
});

const [KEY_ROW, KEY_LETTER, KEY_MARK] = [26, 7.5, 48]; // pixels of a row of the key, of a letter, and of what stands before it

// Names of the key stand beside one another as far as the longest fits: three a row, as the layout left room for, or fewer.
const withKey = (layout, data, width) => {
  const names = data.filter((trace) => trace.showlegend).map((trace) => trace.name ?? "");
  const room = width - layout.margin.l - layout.margin.r;
  const longest = Math.max(0, ...names.map((name) => name.length)) * KEY_LETTER + KEY_MARK;
  const inRow = Math.max(1, Math.min(3, Math.floor(room / longest)));
  if (inRow === 3) return layout;
  const more = (Math.ceil(names.length / inRow) - Math.ceil(names.length / 3)) * KEY_ROW;
  return {
    ...layout,
    height: layout.height + more,
    margin: { ...layout.margin, b: layout.margin.b + more },
    legend: { ...layout.legend, entrywidth: inRow === 2 ? 0.48 : 0.95 },
  };
};

class Figure {
  constructor(element) {
    this.element = element;
    this.plot = element.querySelector("[data-plot]");
    this.spec = JSON.parse(element.querySelector('script[type="application/json"]').textContent);
    this.chosen = null;
  }

  async draw() {
    const data = themed(this.spec.data);
    const width = print.matches ? PRINTED_WIDTH : this.plot.clientWidth;
    const layout = withKey(themed(merged(ourLayout(this.spec.layout), this.spec.layout)), data, width);
    layout.font.family = FONT;
    if (print.matches) Object.assign(layout, { autosize: false, width });
    await Plotly.react(this.plot, data, layout, config(this.element.id || "figure"));
    nameDrawing(this.plot, this.spec.label || this.element.dataset.label);
    if (this.chosen) await this.show(this.chosen);
  }

  async show(wanted) {
    await this.clear();
    const found = findPoint(this.plot, wanted);
    if (found) await Plotly.addTraces(this.plot, ring(found));
    this.chosen = wanted;
  }

  async clear() {
    const old = this.plot.data.findIndex((trace) => trace.name === HIGHLIGHT);
    if (old >= 0) await Plotly.deleteTraces(this.plot, old);
    this.chosen = null;
  }

  // The first cell of a row becomes the button that shows its point.
  makeRowsChoosable() {
    this.element.querySelectorAll("tr[data-point]").forEach((row) => {
      const button = document.createElement("button");
      button.type = "button";
      button.className = "point";
      button.setAttribute("aria-pressed", "false");
      button.append(...row.cells[0].childNodes);
      row.cells[0].append(button);
      button.addEventListener("click", () => this.choose(row, button));
    });
  }

  async choose(row, button) {
    const again = button.getAttribute("aria-pressed") === "true";
    this.element.querySelectorAll("tr.chosen").forEach((other) => {
      other.classList.remove("chosen");
      other.querySelector("button.point").setAttribute("aria-pressed", "false");
    });
    if (again) return this.clear();
    row.classList.add("chosen");
    button.setAttribute("aria-pressed", "true");
    return this.show(row.dataset.point);
  }
}

const figures = [...document.querySelectorAll("figure[data-figure]")].map((element) => new Figure(element));

// Labels are measured while drawing, so the font has to be there first.
await document.fonts.load(`14px ${FONT}`).catch(() => {});
figures.forEach((figure) => {
  figure.draw();
  figure.makeRowsChoosable();
});
[dark, print].forEach((media) => {
  media.addEventListener("change", () => figures.forEach((figure) => figure.draw()));
});
