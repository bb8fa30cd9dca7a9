// Opens the page of a run that has been open before while the server is away. The server is always asked first. Kept are
// pages of open runs, which the server names a person for (X-Person), and the files they are drawn with; nothing else, and
// nothing of anybody but the person who was here last.

const CACHES = "labrecords run ";
const PAGE = /^\/runs\/[0-9a-f-]{36}\/$/;

const isPage = (address) => PAGE.test(address.pathname);
const isFile = (address) => address.pathname.startsWith("/static/");

const forget = async (but) => {
  const names = (await caches.keys()).filter((name) => name.startsWith(CACHES) && name !== but);
  await Promise.all(names.map((name) => caches.delete(name)));
};

const keepPage = async (address, answer) => {
  const person = answer.headers.get("X-Person");
  if (!answer.ok || answer.redirected || !person) return;
  await forget(CACHES + person);
  await (await caches.open(CACHES + person)).put(address, answer);
};

const keepFiles = async (person, addresses) => {
  const cache = await caches.open(CACHES + person);
  await Promise.all(addresses.map((address) => cache.add(address).catch(() => null)));
};

const fromDevice = async (address) => {
  for (const name of (await caches.keys()).filter((one) => one.startsWith(CACHES))) {
    const found = await (await caches.open(name)).match(address);
    if (found) return found;
  }
  return Response.error();
};

const answerPage = async (event, address) => {
  try {
    const answer = await fetch(event.request);
    // led to the sign-in: nobody is signed in, so nobody's page stays here
    if (answer.type === "opaqueredirect") event.waitUntil(forget(""));
    else event.waitUntil(keepPage(address.pathname, answer.clone()));
    return answer;
  } catch {
    return fromDevice(address.pathname);
  }
};

const answerFile = async (event, address) => {
  try {
    return await fetch(event.request);
  } catch {
    return fromDevice(address.href);
  }
};

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", (event) => {
  const address = new URL(event.request.url);
  if (event.request.method !== "GET" || address.origin !== self.location.origin) return;
  if (event.request.mode === "navigate" && isPage(address)) event.respondWith(answerPage(event, address));
  else if (isFile(address)) event.respondWith(answerFile(event, address));
});

self.addEventListener("message", (event) => {
  const { keep, files, person } = event.data;
  if (!keep || !PAGE.test(keep)) return;
  const kept = async () => {
    const answer = await fetch(keep, { credentials: "same-origin", redirect: "manual" });
    if (answer.headers.get("X-Person") !== person) return;
    await keepPage(keep, answer);
    await keepFiles(person, files);
  };
  event.waitUntil(kept().catch(() => null));
});
