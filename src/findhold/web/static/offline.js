// On every page: keep Round and Pack for work without a connection, send what waits, and show what is not sent.

import { clear, listen, unread, waiting } from "/static/queue.js";
import { send } from "/static/sending.js";

const person = document.querySelector('meta[name="findhold-person"]')?.content ?? "";
const strip = document.getElementById("unsent");
let held = null;

/** Answers that came when the person was elsewhere already: they follow from page to page until they are read. */
async function showLate() {
  const late = await unread();
  let place = document.getElementById("late");
  if (!late.length) {
    place?.remove();
    return;
  }
  if (!place) {
    place = document.createElement("div");
    place.id = "late";
    place.className = "unsent late no-print";
    place.setAttribute("role", "alert");
    strip.after(place);
  }
  const [first] = late;
  const word = first.told.verdict[0].toUpperCase() + first.told.verdict.slice(1);
  const head = document.createElement("b");
  head.textContent = `${word}: ${first.told.box_id}${first.told.what ? `, ${first.told.what}` : ""}. `;
  const link = document.createElement("a");
  link.href = "/unsent#answers";
  link.className = "button";
  link.textContent = late.length > 1 ? `Read this and ${late.length - 1} more` : "Read what to do";
  place.classList.toggle("late-act", first.told.verdict === "act");
  place.replaceChildren(head, `${first.told.says[0] ?? ""} `, link);
}

async function show() {
  if (!strip) return;
  await showLate();
  const entries = await waiting();
  const stuck = entries.filter((entry) => entry.trouble).length;
  const open = entries.length - stuck;
  strip.hidden = entries.length === 0;
  if (!entries.length) {
    strip.replaceChildren();
    return;
  }
  const words = [];
  if (open) words.push(`${open} not sent yet`);
  if (stuck) words.push(`${stuck} could not be recorded`);
  const link = document.createElement("a");
  link.href = "/unsent";
  link.textContent = words.join(", ");
  const parts = [link];
  if (open && held?.held === "person") parts.push(` · done by ${held.person}: sign in under that name to send`);
  else if (open && held?.held === "sign-in") parts.push(" · sign in to send");
  else if (open && !navigator.onLine) parts.push(" · no connection: kept on this device, sent when it is back");
  strip.replaceChildren(...parts);
}

listen((told) => {
  if (told.held) held = told;
  else if (told.key) held = null;
  show().catch(() => {});
});

if (person) {
  show().then(send, () => {});
  window.addEventListener("online", send);
  window.addEventListener("offline", () => show());
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && send());
  setInterval(send, 30_000);
  if ("serviceWorker" in navigator) navigator.serviceWorker.register("/sw.js").then(keepThis).catch(() => {});
} else {
  show().catch(() => {});
  forget();
}

/** The page in front of somebody is kept also when the worker came later than it did. */
async function keepThis() {
  const worker = await navigator.serviceWorker.ready;
  // A page that was still on its way when the worker took over is passed over by it, and asks for itself.
  if (!navigator.serviceWorker.controller) worker.active?.postMessage({ claim: true });
  if (!/^\/(round|pack)(\/|$)/.test(location.pathname)) return;
  const site = new URLSearchParams(location.search).get("site");
  worker.active?.postMessage({ keep: [location.pathname + (site ? `?site=${site}` : ""), "/round", "/pack"] });
}

/** Pages and rounds kept for one person are not shown to the next; what is not sent stays. */
async function forget() {
  if ("caches" in window) {
    for (const name of await caches.keys()) if (name.startsWith("findhold-pages")) await caches.delete(name);
  }
  await Promise.all(["rounds", "kits", "answers"].map(clear)).catch(() => {});
}

/** Whether the computer that serves findhold answers; without it nobody can sign out or in. */
async function reached() {
  try {
    return (await fetch("/api/v1/bench/visit", { headers: { Accept: "application/json" } })).status < 500;
  } catch (error) {
    return false;
  }
}

/** Signing out is refused without a connection: the pages made ready here would be gone, and nobody could sign in. */
function staying() {
  let note = document.getElementById("not-left");
  if (!note) {
    note = document.createElement("p");
    note.id = "not-left";
    note.className = "note note-act no-print";
    note.setAttribute("role", "alert");
    document.querySelector("main")?.prepend(note);
  }
  note.textContent = "There is no connection, so you stay signed in: signing out now would drop the pages made ready on this device. Sign out when the connection is back.";
}

const leaving = document.querySelector('form[action="/sign-out"]');
let sure = false;
leaving?.addEventListener(
  "submit",
  (event) => {
    if (sure) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    waiting().then(async (entries) => {
      if (!(await reached())) return staying();
      const many = entries.length === 1 ? "One thing done here is" : `${entries.length} things done here are`;
      sure =
        !entries.length ||
        window.confirm(`${many} not sent yet. They stay on this device and are sent when ${person} signs in here again. Sign out now?`);
      if (sure) forget().finally(() => leaving.submit());
    });
  },
  true,
);
