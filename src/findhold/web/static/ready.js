// What this device can do without a connection: which pages are kept here, which rounds and which boxes' thresholds;
// and making all of them ready at once.

import { made } from "/static/bench.js";
import { all, put } from "/static/queue.js";

const AT_ONCE = 6;

/** Pages kept on this device: finds that can be packed, stores that can be checked, and how many boxes are answered here. */
export async function readyHere() {
  if (!("serviceWorker" in navigator) || !("caches" in window)) return null;
  const pages = await caches.open("findhold-pages");
  const paths = (await pages.keys()).map((request) => decodeURIComponent(new URL(request.url).pathname));
  const named = (start) => [...new Set(paths.filter((path) => path.startsWith(start)).map((path) => path.slice(start.length)))];
  const kits = new Set((await all("kits")).map((kit) => kit.box_id));
  const rounds = (await all("rounds")).filter((one) => paths.includes(`/round/${one.store}`));
  const stores = rounds.map((one) => ({ name: one.store, boxes: one.boxes.length, known: one.boxes.filter((box) => kits.has(box.box_id)).length }));
  return { finds: named("/pack/").filter((name) => name && name !== "store-codes"), stores };
}

/** Fetch and keep every round with its thresholds, and the page of every find at the bench; tells how far it is. */
export async function makeReady(tell) {
  const worker = await navigator.serviceWorker.ready;
  const { stores } = await asked("/api/v1/bench/rounds");
  const { finds } = await asked("/api/v1/bench/packs");
  const held = stores.filter((store) => store.boxes);
  const paths = ["/round", "/pack", ...held.map((store) => `/round/${encodeURIComponent(store.name)}`), ...finds.map((one) => `/pack/${encodeURIComponent(one.find)}`)];
  await kept(worker, paths, (done) => tell(`${done} of ${paths.length} pages`));
  for (const store of held) {
    const round = await asked(`/api/v1/bench/rounds/${encodeURIComponent(store.name)}`);
    await put("rounds", round);
    for (let first = 0; first < round.boxes.length; first += AT_ONCE) {
      const part = round.boxes.slice(first, first + AT_ONCE).map((box) => `box=${encodeURIComponent(box.box_id)}`);
      const told = await asked(`/api/v1/bench/kits?site=${encodeURIComponent(round.site)}&${part.join("&")}`);
      for (const [box_id, kit] of Object.entries(told.kits)) await put("kits", { ...kit, box_id, kept_at: Date.now() });
      tell(`${store.name}: ${Math.min(first + AT_ONCE, round.boxes.length)} of ${round.boxes.length} boxes`);
    }
  }
}

async function asked(path) {
  const answer = await fetch(path, { headers: { Accept: "application/json" } });
  if (!answer.ok) throw new Error(answer.statusText);
  return answer.json();
}

/** Have the worker keep pages, one after the other; resolves when all are kept or were tried. */
function kept(worker, paths, tell) {
  return new Promise((resolve) => {
    const channel = new MessageChannel();
    channel.port1.onmessage = ({ data }) => {
      tell(data.kept);
      if (data.kept === paths.length) resolve();
    };
    worker.active.postMessage({ keep: paths }, [channel.port2]);
  });
}

// --- on the pages that tell of it -----------------------------------------------------------------------------------------

const place = document.getElementById("ready-here");

async function show() {
  const here = await readyHere();
  if (!here) {
    place.replaceChildren(made("p", "This page came over plain http, so nothing is kept for work without a connection: it takes https, or the computer that serves findhold itself. What is done goes on while a page stays open."));
    return;
  }
  const lines = here.stores.map((store) => row(`/round/${encodeURIComponent(store.name)}`, `Round of ${store.name}`, `${store.known} of ${store.boxes} boxes are answered here at once; any other is kept, and the answer follows`));
  if (here.finds.length) {
    const line = made("li", "Pack: ");
    here.finds.forEach((find) => line.append(made("a", find, { href: `/pack/${encodeURIComponent(find)}`, className: "button" }), " "));
    lines.push(line);
  }
  const list = made("ul", "", { className: "queue" });
  list.append(...lines);
  place.replaceChildren(lines.length ? list : made("p", "Nothing yet."));
}

function row(href, name, words) {
  const line = made("li");
  line.append(made("a", name, { href, className: "button" }), made("small", ` ${words}`));
  return line;
}

const button = document.getElementById("make-ready");
if (button && "serviceWorker" in navigator) {
  button.hidden = false;
  const says = document.getElementById("make-ready-says");
  button.addEventListener("click", async () => {
    button.disabled = true;
    try {
      await makeReady((words) => (says.textContent = `Making ready: ${words}.`));
      says.textContent = "Ready.";
    } catch (error) {
      says.textContent = "This needs the connection. What is listed is ready as it is.";
    }
    button.disabled = false;
    show();
  });
}

// The page in place of one that is not kept says which one was meant.
const meant = document.getElementById("meant");
if (meant && location.pathname !== "/offline") {
  const [, room, name] = decodeURIComponent(location.pathname).split("/");
  if (room === "pack" && name) meant.textContent = `Find ${name} was not opened on this device before, so its steps are not kept here.`;
  else if (room === "round" && name) meant.textContent = `${name} was not opened on this device before, so its boxes are not kept here.`;
}

if (place) show().catch(() => {});
