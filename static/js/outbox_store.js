// What one person's device keeps: entries not yet sent or refused on arrival, drafts, and how far its clock is off.
// One database a person. Stores are only ever added to: an upgrade must never take an entry along.

const STORES = {
  entries: { keyPath: "number", autoIncrement: true },
  drafts: { keyPath: "run" },
  clock: { keyPath: "name" },
};

export const person = document.querySelector('meta[name="person"]')?.content ?? "";

const opened = () =>
  new Promise((resolve, reject) => {
    const asked = indexedDB.open(`labrecords ${person}`, 1);
    asked.onupgradeneeded = () => {
      for (const [name, options] of Object.entries(STORES)) {
        if (!asked.result.objectStoreNames.contains(name)) asked.result.createObjectStore(name, options);
      }
    };
    asked.onsuccess = () => {
      asked.result.onversionchange = () => asked.result.close();
      asked.result.onclose = () => (database = null);
      resolve(asked.result);
    };
    asked.onerror = () => reject(asked.error);
  });

let database = null;
const connected = () => (database ??= opened().catch((error) => ((database = null), Promise.reject(error))));

// Resolved only when the bytes are on the disk, so that a killed browser forgets nothing it has promised.
const changed = async (name, act) => {
  const base = await connected();
  return new Promise((resolve, reject) => {
    const transaction = base.transaction(name, "readwrite", { durability: "strict" });
    const request = act(transaction.objectStore(name));
    transaction.oncomplete = () => resolve(request?.result);
    transaction.onerror = transaction.onabort = () => reject(transaction.error);
  });
};

const read = async (name, act) => {
  const base = await connected();
  return new Promise((resolve, reject) => {
    const request = act(base.transaction(name).objectStore(name));
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
};

/** Every entry, in the order in which they were kept. */
export const entries = () => read("entries", (store) => store.getAll());
/** Add an entry (without a number), or change one. Answers its number. */
export const put = (entry) => changed("entries", (store) => store.put(entry));
export const remove = (number) => changed("entries", (store) => store.delete(number));

/** Put an entry in the place of those that it mends, all at once or not at all. */
export const replace = (entry, numbers) =>
  changed("entries", (store) => {
    numbers.forEach((number) => store.delete(number));
    return store.add(entry);
  });

export const draft = (run) => read("drafts", (store) => store.get(run));
export const putDraft = (run, fields) => changed("drafts", (store) => store.put({ run, fields }));
export const removeDraft = (run) => changed("drafts", (store) => store.delete(run));

/** Milliseconds to add to this device's clock to get the server's; null while it was never measured. */
export const offset = async () => (await read("clock", (store) => store.get("offset")))?.ms ?? null;
export const putOffset = (ms) => changed("clock", (store) => store.put({ name: "offset", ms }));
