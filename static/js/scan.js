// Catches what a scanner types, whatever has the focus: a prefix key, the label, Enter.
//
// The frame counts, never the speed of the keys. From the prefix on nothing reaches the page; a frame without Enter
// within a second is dropped, and that is said. Nothing that was caught is ever passed on to a field.

const PREFIX = "F8";
const LONGEST_MS = 1000;

export const catchScans = ({ isOn, heard, cutShort }) => {
  let caught = null;
  let timer = 0;
  let ended = "";

  const swallow = (event) => {
    event.preventDefault();
    event.stopImmediatePropagation();
  };

  const begin = () => {
    clearTimeout(timer);
    caught = [];
    timer = setTimeout(() => {
      caught = null;
      cutShort();
    }, LONGEST_MS);
  };

  const end = () => {
    clearTimeout(timer);
    const text = caught.join("");
    caught = null;
    heard(text);
  };

  const down = (event) => {
    if (caught === null && !(event.key === PREFIX && isOn())) return;
    swallow(event);
    if (event.key === PREFIX) return event.repeat ? undefined : begin();
    if (event.key === "Enter") {
      ended = "Enter";
      return end();
    }
    if (event.key.length === 1) caught.push(event.key);
  };

  // The release of the last key belongs to the scan too.
  const up = (event) => {
    if (caught === null && event.key !== PREFIX && event.key !== ended) return;
    if (event.key === ended) ended = "";
    swallow(event);
  };

  const text = (event) => {
    if (caught !== null) swallow(event);
  };

  window.addEventListener("keydown", down, { capture: true });
  window.addEventListener("keyup", up, { capture: true });
  ["keypress", "beforeinput", "paste"].forEach((kind) => window.addEventListener(kind, text, { capture: true }));
};
