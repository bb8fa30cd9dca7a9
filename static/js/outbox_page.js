// What the page of a run needs besides: words carried over a new load, and the worker that opens it without the server.

import { element } from "./panels.js";

const WORKER = "/runs/worker.js";
const CACHES = "labrecords run ";
const SAID = "labrecords said";

/** Words of an answer, to be shown once the page has been loaded anew. */
export const carry = (words) => sessionStorage.setItem(SAID, words);

export const carried = () => {
  const words = sessionStorage.getItem(SAID);
  const messages = document.querySelector(".messages");
  sessionStorage.removeItem(SAID);
  if (!words || !messages) return;
  const message = element("p", "", { class: "message message-success" });
  const shape = document.querySelector('template[data-shape="ok"]');
  if (shape) message.append(shape.content.cloneNode(true));
  message.append(element("span", words));
  messages.append(message);
};

/** Take the pages of runs off this device: all of them, or those of other people. */
export const forgetPages = async (but = "") => {
  if (!("caches" in window)) return;
  const names = (await caches.keys()).filter((name) => name.startsWith(CACHES) && name !== CACHES + but);
  await Promise.all(names.map((name) => caches.delete(name)));
};

const files = () =>
  performance
    .getEntriesByType("resource")
    .map((one) => one.name)
    .filter((address) => address.startsWith(`${location.origin}/static/`));

/** Keep the page of an open run, and the files it is drawn with, for when the server is away. */
export const startWorker = async (person) => {
  await forgetPages(person);
  if (!("serviceWorker" in navigator) || !document.querySelector("form[data-outbox]")) return;
  // Cut off at this moment, the page is kept when it is opened next; its entries wait on the device all the same.
  const registered = await navigator.serviceWorker.register(WORKER).catch(() => null);
  if (!registered) return;
  const { active } = await navigator.serviceWorker.ready;
  active.postMessage({ keep: location.pathname, files: files(), person });
};
