// What was done on this device: kept in IndexedDB in the order it was done, until the ledger has it.
//
// outbox: one entry for each thing done, keyed by a counter, so that it comes back in the order it went in.
// answers: what the ledger said, by the entry's key. rounds, kits: what a round needs without a connection.

/**
 * @typedef {Object} Entry
 * @property {number} [seq] place in the order of doing
 * @property {string} key UUID made here; the ledger records a key once
 * @property {string} person who did it
 * @property {string} path operation of the API
 * @property {Object} words what was done, with `at` (this device's clock) and `device`
 * @property {Blob} [photo] a photograph, sent as a file
 * @property {string} says what it is, for people
 * @property {string} [about] the box or find it is about
 * @property {Object} [local] the answer this device gave by itself
 * @property {?{sentence: string, code: string}} trouble why the ledger did not take it; null while it waits
 */

const NAME = "findhold", VERSION = 1;
let opened;

function open() {
  opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, VERSION);
    asked.onupgradeneeded = () => {
      const base = asked.result;
      base.createObjectStore("outbox", { keyPath: "seq", autoIncrement: true });
      base.createObjectStore("answers", { keyPath: "key" });
      base.createObjectStore("rounds", { keyPath: "store" });
      base.createObjectStore("kits", { keyPath: "box_id" });
      base.createObjectStore("facts", { keyPath: "name" });
    };
    asked.onsuccess = () => {
      asked.result.onversionchange = () => asked.result.close();
      resolve(asked.result);
    };
    asked.onerror = () => reject(asked.error);
  });
  return opened;
}

/** One transaction on one store; resolves with the request's result when the transaction is durable. */
async function on(store, mode, act) {
  const base = await open();
  return new Promise((resolve, reject) => {
    const transaction = base.transaction(store, mode, { durability: "strict" });
    const asked = act(transaction.objectStore(store));
    transaction.oncomplete = () => resolve(asked?.result);
    transaction.onerror = () => reject(transaction.error);
    transaction.onabort = () => reject(transaction.error);
  });
}

export const put = (store, value) => on(store, "readwrite", (kept) => kept.put(value));
export const get = (store, key) => on(store, "readonly", (kept) => kept.get(key));
export const all = (store) => on(store, "readonly", (kept) => kept.getAll());
export const remove = (store, key) => on(store, "readwrite", (kept) => kept.delete(key));
export const clear = (store) => on(store, "readwrite", (kept) => kept.clear());

/** Keep something done; resolves once it would survive the page being closed. */
export async function enqueue(entry) {
  await put("outbox", { trouble: null, ...entry });
  tell();
}

/** Everything kept and not in the ledger yet, in the order it was done. */
export const waiting = () => all("outbox");

/** Answers of the ledger that ask for something and were not read yet, acts first. */
export async function unread() {
  const found = (await all("answers")).filter((one) => one.unread);
  return found.sort((a, b) => (a.told.verdict !== "act") - (b.told.verdict !== "act") || a.at - b.at);
}

/** An answer was read. */
export async function read(key) {
  const kept = await get("answers", key);
  if (!kept?.unread) return;
  await put("answers", { ...kept, unread: false });
  tell();
}

const channel = "BroadcastChannel" in window ? new BroadcastChannel("findhold") : null;
const listeners = new Set();

/** Hear of changes, in this page and in the others of this device. */
export function listen(act) {
  listeners.add(act);
}
channel?.addEventListener("message", (event) => listeners.forEach((act) => act(event.data)));

/** Tell all pages of this device that something changed; `answer` when the ledger answered an entry. */
export function tell(answer) {
  const told = answer ?? {};
  channel?.postMessage(told);
  listeners.forEach((act) => act(told));
}

/** This device's own name, made once. */
export async function deviceName() {
  const known = await get("facts", "device");
  if (known) return known.value;
  const bytes = crypto.getRandomValues(new Uint8Array(3));
  const value = "device-" + Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  await put("facts", { name: "device", value });
  return value;
}

/** An instant by this device's clock, with its offset, to the second: 2026-08-03T09:00:00+01:00. */
export function clockText(at = new Date()) {
  const minutes = -at.getTimezoneOffset();
  const two = (value) => String(Math.floor(Math.abs(value))).padStart(2, "0");
  const day = `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}`;
  const time = `${two(at.getHours())}:${two(at.getMinutes())}:${two(at.getSeconds())}`;
  return `${day}T${time}${minutes < 0 ? "-" : "+"}${two(minutes / 60)}:${two(minutes % 60)}`;
}
