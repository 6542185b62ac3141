// Send what is kept, in order, once: the first that cannot go now stops the rest; what the ledger refuses is kept aside.

import { clockText, put, remove, tell, waiting } from "/static/queue.js";

const AGAIN_S = [3, 10, 30, 60];
let running = null, asked = false, failed = 0, timer = 0;
let visit = null;
/** Keys of what was done on this page, and when: what is refused at once is told in its form and not kept aside. */
const fresh = new Map();
const FRESH_MS = 15_000;
const TOLD_IN_FORM = /^\/bench\/packs\/[^/]+\/(weigh|packed|packed\/undo|shelve)$/;
export const doneNow = (key) => fresh.set(key, Date.now());

/** Who is signed in and the token of that visit; kept pages may carry an older one. Throws when nobody can be asked. */
async function whoIsThere() {
  const answer = await fetch("/api/v1/bench/visit", { headers: { Accept: "application/json" } });
  if (answer.status === 401) return null;
  if (!answer.ok) throw new Error(answer.statusText);
  return answer.json();
}

/** Send everything that waits; one page of this device at a time. */
export function send() {
  if (running) {
    asked = true; // it may have looked at the queue for the last time already
    return running;
  }
  running = lone(sendAll).finally(() => {
    running = null;
    if (asked) {
      asked = false;
      send();
    }
  });
  return running;
}

async function lone(act) {
  // Web locks exist only over https and on this computer; elsewhere the ledger's keys alone prevent doubles.
  if (!navigator.locks) return act();
  return navigator.locks.request("findhold-sending", { ifAvailable: true }, (lock) => (lock ? act() : later()));
}

async function sendAll() {
  clearTimeout(timer);
  const entries = (await waiting()).filter((entry) => !entry.trouble);
  if (!entries.length) return;
  try {
    visit = await whoIsThere();
    for (const entry of entries) {
      if (!visit || visit.person !== entry.person) {
        tell({ held: visit ? "person" : "sign-in", person: entry.person });
        return;
      }
      if (!(await sendOne(entry))) return later();
    }
    failed = 0;
    // What was done while these were on their way.
    if ((await waiting()).some((entry) => !entry.trouble)) return sendAll();
  } catch (error) {
    later();
  }
}

/** True when the entry is settled: recorded, or refused and put aside. */
async function sendOne(entry) {
  const answer = await fetch(`/api/v1${entry.path}`, request(entry));
  if ([401, 403, 429].includes(answer.status) || answer.status >= 500) {
    const told = await answer.json().catch(() => ({}));
    if (answer.status === 403 && told.error?.code === "refused" && told.error.where === "person") {
      tell({ held: "person", person: entry.person });
    }
    return false;
  }
  const told = await answer.json();
  if (answer.ok) {
    // What asks for something, and was not said on this device already, stays before people's eyes until it is read.
    const unread = ["act", "watch"].includes(told.verdict) && entry.local?.verdict !== told.verdict;
    await put("answers", { key: entry.key, path: entry.path, about: entry.about, local: entry.local ?? null, told, unread, at: Date.now() });
    await remove("outbox", entry.seq);
    tell({ key: entry.key, path: entry.path, about: entry.about, told });
  } else if (answer.status === 422 && TOLD_IN_FORM.test(entry.path) && Date.now() - (fresh.get(entry.key) ?? 0) < FRESH_MS) {
    await remove("outbox", entry.seq);
    tell({ key: entry.key, path: entry.path, about: entry.about, trouble: told.error ?? {} });
  } else {
    await put("outbox", { ...entry, trouble: { sentence: told.error?.sentence ?? answer.statusText, code: told.error?.code ?? "" } });
    tell({ key: entry.key, path: entry.path, about: entry.about, trouble: told.error ?? {} });
  }
  return true;
}

function request(entry) {
  const headers = {
    Accept: "application/json",
    "X-Findhold-Token": visit.token,
    "X-Findhold-Clock": clockText(),
    "Idempotency-Key": entry.key,
  };
  if (entry.photo) {
    const form = new FormData();
    form.append("words", JSON.stringify(entry.words));
    form.append("picture", entry.photo, "photograph");
    return { method: "POST", headers, body: form };
  }
  return { method: "POST", headers: { ...headers, "Content-Type": "application/json" }, body: JSON.stringify(entry.words) };
}

function later() {
  const wait = AGAIN_S[Math.min(failed, AGAIN_S.length - 1)];
  failed += 1;
  clearTimeout(timer);
  timer = setTimeout(send, 1000 * wait);
}
