// Packing with and without a connection: ticks, weighing, shelving and photographs go through the queue; other devices'
// ticks appear by themselves; what would be is shown as figures change.

import { ask, done, made, missing, person, showAnswer, sign, when } from "/static/bench.js";
import { newKey } from "/static/house.js";
import { listen, read, waiting } from "/static/queue.js";
import { meant, readMass } from "/static/round_rule.js";
import { codeName, wedge } from "/static/scan.js";

const page = document.getElementById("pack");
const { find, box, site } = page.dataset;
const base = `/bench/packs/${encodeURIComponent(find)}`;
const LOOK_AGAIN_MS = 10_000;
const TRY_MS = 400;
let seq = Number(page.dataset.seq), turns = 0;
const busy = new Set();

/** Do something once however often it is tapped; what is tapped beside it goes on meanwhile and is never passed over. */
async function alone(what, act) {
  if (busy.has(what)) return;
  busy.add(what);
  try {
    await act();
  } finally {
    busy.delete(what);
  }
}

/** Take a form over: what was typed goes through the queue instead of leaving the page. */
function take(form, act) {
  if (form) form.noValidate = true; // what is missing is said in the page, where it is missing
  form?.addEventListener(
    "submit",
    (event) => {
      if (event.submitter?.formAction && new URL(event.submitter.formAction).pathname.endsWith("/plan")) return;
      event.preventDefault();
      event.stopPropagation();
      alone(form, () => act(form).catch((error) => ask(form, `This device could not keep it (${error.message}). Try again.`, "Close", "Close")));
    },
    true,
  );
}

// --- steps -----------------------------------------------------------------------------------------------------------

document.querySelectorAll(".tick-form").forEach((form) =>
  take(form, async () => {
    const step = form.closest(".step");
    const mass = form.elements.mass?.value.trim() ?? "";
    if (mass && !readMass(mass).length) {
      await ask(form, `“${mass}” is no mass. Type what the balance shows.`, "Type it again", "Close");
      return;
    }
    if (!mass && mine(step)) return;
    const tick = newKey();
    const number = step.dataset.number;
    await done(`${base}/ticks`, { step: step.dataset.step, tick, mass, site }, { key: tick, says: `Find ${find}: step ${number}`, about: find });
    await show();
  }),
);

document.getElementById("steps")?.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.classList.contains("undo-form")) return;
  event.preventDefault();
  event.stopPropagation();
  undo(form.elements.tick.value, form.closest(".step").dataset.number);
}, true);

const undo = (tick, number) =>
  alone(tick, async () => {
    await done(`${base}/undo`, { tick, site }, { says: `Find ${find}: step ${number} taken back`, about: find });
    await show();
  });

const mine = (step) => [...step.querySelectorAll(".ticked li[data-by]")].some((row) => row.dataset.by === person && !row.dataset.undone);

/** Steps as the ledger has them (null: as known so far), with what waits on this device laid over them. */
async function show(view = null) {
  const turn = (turns += 1);
  const entries = (await waiting()).filter((entry) => entry.path.startsWith(`${base}/`));
  if (turn !== turns) return; // a newer look at the queue is on its way, and knows more
  const ticked = entries.filter((entry) => entry.path.endsWith("/ticks"));
  const undone = new Map(entries.filter((entry) => entry.path.endsWith("/undo")).map((entry) => [entry.words.tick, entry]));
  const known = view ?? kept;
  let count = 0;
  for (const step of document.querySelectorAll(".step")) {
    const own = known?.steps.find((one) => one.code === step.dataset.step)?.ticks ?? [];
    const unsent = ticked.filter((entry) => entry.words.step === step.dataset.step && !own.some((tick) => tick.tick === entry.key));
    const rows = [...own.map((tick) => told(step, tick, undone)), ...unsent.map((entry) => told(step, here(entry), undone, entry))];
    step.querySelector(".ticked").replaceChildren(...rows);
    const standing = rows.some((row) => !row.dataset.undone);
    step.classList.toggle("step-done", standing);
    step.querySelector(".tick-button").setAttribute("aria-pressed", String(standing));
    count += standing ? 1 : 0;
  }
  const progress = document.getElementById("progress");
  if (progress) progress.textContent = `${count} of ${document.querySelectorAll(".step").length} done`;
  showWaiting(entries);
}

const here = (entry) => ({ tick: entry.words.tick, by: entry.person, at: entry.words.at });

function told(step, tick, undone, entry) {
  const row = made("li");
  row.dataset.by = tick.by;
  const taken = tick.undone_by ? { by: tick.undone_by, at: tick.undone_at } : undone.has(tick.tick) ? { by: undone.get(tick.tick).person, at: undone.get(tick.tick).words.at } : null;
  if (taken) {
    row.dataset.undone = "yes";
    row.append(made("s", `${tick.by}, ${when(tick.at)}`), ` taken back by ${taken.by}, ${when(taken.at)}`);
    return row;
  }
  row.append(sign("done"), ` ${tick.by}, ${when(tick.at)}`);
  if (tick.mass_kg) row.append(`, ${tick.mass_kg.toFixed(3)} kg`);
  if (entry) row.append(made("span", entry.trouble ? ` · not recorded: ${entry.trouble.sentence}` : " · not sent yet", { className: "waiting" }));
  const button = made("button", "Undo", { type: "button", className: "button button-quiet no-print" });
  button.addEventListener("click", () => undo(tick.tick, step.dataset.number));
  row.append(" ", button);
  return row;
}

/** What the ledger says of the steps: at first as the page has it, so that no tick is gone until the connection answers. */
let kept = { steps: [...document.querySelectorAll(".step")].map((step) => ({ code: step.dataset.step, ticks: JSON.parse(step.dataset.ticks) })) };

/** What other devices did, while somebody looks at the page. */
async function look() {
  if (document.visibilityState !== "visible") return;
  try {
    const answer = await fetch(`/api/v1${base}?site=${encodeURIComponent(site)}`, { headers: { Accept: "application/json" } });
    if (!answer.ok) return;
    const view = await answer.json();
    kept = view;
    if (view.plan && view.steps.length !== document.querySelectorAll(".step").length) newPlan();
    if (Boolean(view.outdated) !== Boolean(document.getElementById("outdated"))) newPlan("Its measures or facts, or its plan, changed. ");
    if (view.seq !== seq) keepPage();
    seq = view.seq;
    await show(view);
  } catch (error) {
    // No connection: the page stays as it is.
  }
}

function newPlan(says = "The box was planned anew on another device. ") {
  if (document.getElementById("new-plan")) return;
  const note = made("p", says, { id: "new-plan", className: "note note-act" });
  note.append(made("a", "Load the new steps", { href: location.pathname + location.search, className: "button" }));
  document.getElementById("steps")?.before(note);
}

/** The page as it is now, kept for work without a connection. */
const keepPage = () =>
  navigator.serviceWorker?.ready.then((worker) => worker.active?.postMessage({ keep: [location.pathname, "/pack"] })).catch(() => {});

// --- weighing, shelving, photographs -----------------------------------------------------------------------------------

take(document.getElementById("weigh-form"), async (form) => {
  const bare = form.elements.mass.value.trim();
  let text = /[a-z]/i.test(bare) ? bare : `${bare} ${form.elements.unit.value}`;
  const found = readMass(text);
  document.querySelectorAll(".missing").forEach((one) => one.remove());
  if (!found.length) return missing(form.elements.mass, bare ? `“${bare}” is no mass. Type what the balance shows: 13.04, or 13,04.` : "Read the balance, and type what it shows.");
  const gross_g = 1000 * Number(page.dataset.gross);
  const mass = meant(found, { reference_g: gross_g });
  const first = page.dataset.first === "yes", off = gross_g ? mass.grams / gross_g - 1 : 0;
  let reason_first = "";
  if (Math.abs(off) > Number(first ? page.dataset.firstShare : page.dataset.plannedShare)) {
    const why = first && Math.abs(off) <= 0.5 ? { label: "Why it is so" } : null;
    const rest = why ? "Every later weighing is compared with this one. Weigh it again; or say why it is so. Without a reason it waits for a second weighing that agrees." : "Is the figure right, and its unit?";
    const much = Math.abs(off) < 2 ? `${(100 * Math.abs(off)).toFixed(0)} % ${off < 0 ? "lighter" : "heavier"}` : `${(off + 1).toFixed(0)} times as much`;
    const again = await ask(form, `It should weigh about ${(gross_g / 1000).toFixed(2)} kg; ${text} is ${much}. ${rest}`, "Type it again", `Record ${text}`, why);
    if (again) {
      form.elements.mass.select();
      return;
    }
    reason_first = why?.field.value.trim() ?? "";
  }
  const closed = form.elements.closed.checked, reason = form.elements.reason?.value.trim() ?? "";
  if (closed && form.elements.reason && !reason) {
    await ask(form, "The packing date is known already and would move to now. Say why it was packed anew, or take the tick away.", "Go on", "Close");
    form.elements.reason.focus();
    return;
  }
  const words = { mass: text, closed, reason, why: reason_first, site };
  await done(`${base}/weigh`, words, { says: `Find ${find}: ${closed ? "closed and " : ""}weighed, ${text}`, about: find });
  form.reset();
  form.elements.closed.checked = false;
  waits("weigh-answer", `${text}: kept on this device, not sent yet; the answer follows.`);
  await show();
});

take(document.getElementById("packed-form"), async (form) => {
  const packed = form.elements.at.value, reason = form.elements.reason_packed.value.trim();
  if (!packed) return missing(form.elements.at, "Say the day and time.");
  if (!reason) return missing(form.elements.reason_packed, "Say in a few words why this is right.");
  await done(`${base}/packed`, { packed, reason, site }, { says: `Find ${find}: packing date put right`, about: find });
  packedWaits(form);
});

take(document.getElementById("unpacked-form"), async (form) => {
  await done(`${base}/packed/undo`, { site }, { says: `Find ${find}: packing date taken back`, about: find });
  packedWaits(form);
});

function packedWaits(form) {
  document.getElementById("packed-says")?.remove();
  form.before(made("p", "Kept on this device, not sent yet; the new dates follow.", { id: "packed-says", className: "note" }));
}

take(document.getElementById("shelve-form"), async (form) => {
  const scanned = form.elements.scanned.value.trim();
  const place = scanned || form.elements.store.value;
  const name = place.replace(/^STORE /i, "").split("\n")[0];
  await done(`${base}/shelve`, { place, shelf: form.elements.shelf.value, scanned: Boolean(scanned), site }, { says: `Find ${find}: put into ${name}`, about: find });
  form.elements.scanned.value = "";
  if (form.elements.back) {
    location.href = `/round/${encodeURIComponent(form.elements.back.value)}`;
    return;
  }
  document.getElementById("shelved-words").textContent = `In ${name}: kept on this device, not sent yet.`;
  await show();
});

take(document.getElementById("photo-form"), async (form) => {
  const photo = form.elements.picture.files[0];
  if (!photo) return missing(form.elements.picture, "Take or choose a photograph.");
  document.getElementById("photos-says").hidden = true;
  const words = { box, about: form.elements.about.value || "packing", note: "", keep_details: form.elements.keep_details.checked, site };
  await done("/bench/photos", words, { photo, says: `Find ${find}: photograph, ${words.about}`, about: find });
  form.reset();
  await show();
});

function waits(id, words) {
  const place = document.getElementById(id);
  place.replaceChildren(made("p", words));
  place.hidden = false;
}

function showWaiting(entries) {
  const photos = entries.filter((entry) => entry.photo).length;
  let line = document.getElementById("photos-waiting");
  if (!line) {
    line = made("p", "", { id: "photos-waiting", className: "quiet" });
    document.getElementById("photo-form")?.before(line);
  }
  line.textContent = photos ? `${photos} not sent yet.` : "";
}

listen(async (event) => {
  if (event.path === `${base}/weigh` && event.told) {
    showAnswer(document.getElementById("weigh-answer"), event.told);
    read(event.key);
  }
  if (event.path === `${base}/weigh` && event.trouble) waits("weigh-answer", `Not recorded: ${event.trouble.sentence}`);
  if ([`${base}/packed`, `${base}/packed/undo`].includes(event.path)) {
    const note = document.getElementById("packed-says");
    const until = event.told?.keep_until ? ` Keep until ${when(event.told.keep_until)}.` : "";
    if (note && event.told) note.textContent = `Recorded: packed ${when(event.told.packed_at)}.${until}`;
    if (note && event.trouble) note.textContent = `Not recorded: ${event.trouble.sentence}`;
  }
  if (event.path === `${base}/shelve` && event.told) {
    const told = event.told;
    const moved = told.elsewhere ? ` It was planned for ${told.meant_for}.` : "";
    const until = told.keep_until ? ` Keep until ${when(told.keep_until)}.` : "";
    const against = told.against?.length ? ` Against the rules: ${told.against.join("; ")}.${told.better ? ` Better: ${told.better}.` : ""}` : "";
    document.getElementById("shelved-words").textContent = `In ${told.store}${told.shelf ? `, shelf ${told.shelf}` : ""}: recorded.${moved}${against}${until}`;
  }
  if (event.path === `${base}/shelve` && event.trouble) document.getElementById("shelved-words").textContent = `Not recorded: ${event.trouble.sentence}`;
  if (event.path === "/bench/photos" && event.about === find && event.told) photographed(event.told);
  if (event.path === "/bench/photos" && event.about === find && event.trouble) {
    const says = document.getElementById("photos-says");
    says.textContent = `Not recorded: ${event.trouble.sentence ?? ""} It stays on this device.`;
    says.hidden = false;
  }
  if (event.path?.startsWith(`${base}/`) && event.told) await look();
  else await show();
});

function photographed(told) {
  let list = document.querySelector(".photos");
  if (!list) {
    list = made("ul", "", { className: "photos" });
    document.getElementById("photo-form").before(list);
  }
  const address = `/pack/${encodeURIComponent(find)}/photos/${told.sha256}`;
  const link = made("a", "", { href: address });
  link.append(made("img", "", { src: address, alt: told.about, width: 96, height: 72 }));
  const row = made("li");
  row.append(link, made("small", told.about));
  list.append(row);
}

// --- codes: a scanner that types -----------------------------------------------------------------------------------------

wedge((text) => {
  const form = document.getElementById("shelve-form");
  if (/^STORE /i.test(text) && form) {
    form.elements.scanned.value = text;
    form.requestSubmit();
  } else location.href = `/pack/${encodeURIComponent(codeName(text))}`;
});

// --- what would be -------------------------------------------------------------------------------------------------------

const trying = document.getElementById("try-form");
let clock = 0, asked = null;
trying?.addEventListener("input", () => {
  clearTimeout(clock);
  clock = setTimeout(tryIt, TRY_MS);
});
trying?.addEventListener("submit", (event) => {
  if (new URL(event.submitter?.formAction || trying.action).pathname.endsWith("/plan")) return;
  event.preventDefault();
  tryIt();
});

async function tryIt() {
  asked?.abort();
  asked = new AbortController();
  const words = new URLSearchParams(new FormData(trying));
  words.delete("_token");
  const place = document.getElementById("tried");
  place.setAttribute("aria-busy", "true");
  try {
    const answer = await fetch(`${trying.action.split("?")[0]}?${words}`, { headers: { "X-Findhold-Part": "try" }, signal: asked.signal });
    place.innerHTML = await answer.text();
  } catch (error) {
    if (error.name === "AbortError") return;
    place.replaceChildren(made("p", "What would be is worked out by the computer that serves findhold: it needs the connection.", { className: "note" }));
  }
  place.removeAttribute("aria-busy");
}

show().then(look);
setInterval(look, LOOK_AGAIN_MS);
keepPage();
