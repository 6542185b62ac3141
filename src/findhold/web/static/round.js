// A round with and without a connection: scan, weigh, look, read the answer; the ledger's own answer replaces it.

import { ask, clockAhead, done, made, missing, showAnswer, sign, when } from "/static/bench.js";
import { all, get, listen, put, read, remove, waiting } from "/static/queue.js";
import { answer as judge, meant, readMass, slip } from "/static/round_rule.js";
import { camera, codeName, wedge } from "/static/scan.js";

const page = document.getElementById("round");
const { store, site, zone } = page.dataset;
const finding = document.getElementById("find-box");
const scan = document.getElementById("scan");
const check = document.getElementById("check");
const form = document.getElementById("check-form");
const place = document.getElementById("answer");
const ready = document.getElementById("ready");
const FRESH_MS = 12 * 3600e3;
const AT_ONCE = 6;
const UNTOLD = { right: "unknown", dry: "act", dripping: "act", mould: "act" };
/** Where this store was never opened on this device: what is seen amiss is still told, without the words of what to do. */
const NO_WORDS = Object.fromEntries(Object.entries(UNTOLD).map(([look, word]) => [look, { word, do: [] }]));
let round = null, ahead_ms = 0, chosen = null, asked = null, busy = false;

start();

async function start() {
  round = (await get("rounds", store)) ?? null;
  wedge(take);
  camera(document.getElementById("camera"), take);
  const box = new URLSearchParams(location.search).get("box");
  if (box && round) choose(box, false);
  marks();
  if (await refresh()) await kits();
  ahead_ms = await clockAhead();
  await showReady();
}

/** The round as the ledger has it, kept for later; false without a connection. */
async function refresh() {
  const before = new Map((round?.boxes ?? []).map((box) => [box.box_id, box.done_here]));
  try {
    const answer = await fetch(`/api/v1/bench/rounds/${encodeURIComponent(store)}?site=${encodeURIComponent(site)}`);
    if (!answer.ok) return false;
    round = await answer.json();
    for (const box of round.boxes) if (before.get(box.box_id)) box.done_here = before.get(box.box_id);
    await put("rounds", round);
    return true;
  } catch (error) {
    return false;
  }
}

/** Thresholds of the boxes that changed or are old, a few at a time. */
async function kits() {
  const known = new Map((await all("kits")).map((kit) => [kit.box_id, kit]));
  const wanted = round.boxes.filter((box) => {
    const kit = known.get(box.box_id);
    return !kit || kit.seq !== box.seq || Date.now() - kit.kept_at > FRESH_MS;
  });
  for (let first = 0; first < wanted.length; first += AT_ONCE) {
    const part = wanted.slice(first, first + AT_ONCE).map((box) => `box=${encodeURIComponent(box.box_id)}`);
    const answer = await fetch(`/api/v1/bench/kits?site=${encodeURIComponent(site)}&${part.join("&")}`).catch(() => null);
    if (!answer?.ok) return;
    const told = await answer.json();
    for (const [box_id, kit] of Object.entries(told.kits)) await put("kits", { ...kit, box_id, kept_at: Date.now() });
    await showReady();
  }
}

async function showReady() {
  if (!round) {
    ready.textContent = "This store was not opened on this device before: without a connection a check is kept here, and its answer follows.";
    return;
  }
  const known = new Set((await all("kits")).map((kit) => kit.box_id));
  const count = round.boxes.filter((box) => known.has(box.box_id)).length;
  const kept = "serviceWorker" in navigator ? "" : " while this page stays open (to keep it when closed, https is needed)";
  ready.textContent = `Ready without a connection: ${count} of ${round.boxes.length} boxes are answered here at once${kept}.`;
}

const same = (a, b) => a.trim().replace(/[\s‐-―-]+/g, "-").toUpperCase() === b.trim().replace(/[\s‐-―-]+/g, "-").toUpperCase();

/** The box of this round that a text names; null when none or more than one does. */
function boxOf(text) {
  const name = codeName(text).replace(/^[[(<△]+|[\])>]+$/g, "").trim();
  const found = (round?.boxes ?? []).filter((box) => box.codes.some((code) => same(code, name)));
  return found.length === 1 ? found[0] : null;
}

function take(text) {
  if (/^STORE /i.test(text)) {
    location.href = `/round/${encodeURIComponent(text.split("\n")[0].slice(6).trim())}`;
    return;
  }
  const name = codeName(text);
  if (boxOf(name)) choose(name, true);
  else if (navigator.onLine) {
    finding.elements.box.value = name;
    finding.submit();
  } else sayUnknown(name);
}

/** A number that is no box of this store: it may be of another one that this device knows. */
async function sayUnknown(name) {
  const others = (await all("rounds")).filter((one) => one.store !== store);
  const there = others.find((one) => one.boxes.some((box) => box.codes.some((code) => same(code, name))));
  if (there) say(`${name} belongs in ${there.store}, not in ${store}, as far as this device knows. Was it carried here, or does the label of another box stick on it?`);
  else say(`No box of ${store} has the number ${name}, as far as this device knows.`);
}

function say(words) {
  document.getElementById("find-says")?.remove();
  const line = made("p", words, { id: "find-says", className: "note note-act" });
  line.setAttribute("role", "alert");
  finding.after(line);
}

finding.addEventListener("submit", (event) => {
  const text = finding.elements.box.value;
  const box = boxOf(text);
  if (!box && navigator.onLine) return; // the ledger may know it, or say what is near it
  event.preventDefault();
  event.stopPropagation();
  if (box) choose(box.box_id, true);
  else if (text.trim()) sayUnknown(text.trim());
});

/** Open the check of a box. */
function choose(text, push) {
  const box = boxOf(text);
  if (!box) return;
  chosen = box;
  form.reset();
  form.elements.box.value = box.box_id;
  fill(box);
  document.querySelectorAll(".question").forEach((one) => one.remove());
  document.getElementById("find-says")?.remove();
  place.hidden = true;
  scan.hidden = true;
  check.hidden = false;
  if (push) history.pushState({ box: box.box_id }, "", `?${new URLSearchParams({ ...(site ? { site } : {}), box: box.box_id })}`);
  form.elements.mass.focus();
  check.scrollIntoView({ block: "start" });
}

/** Edges of a band of masses, no finer than it is wide and rounded outwards, as everywhere on paper. */
function span(low, high) {
  const places = high > low ? Math.min(4, Math.max(2, -Math.floor(Math.log10((high - low) / 5) + 1e-9))) : 4;
  const unit = 10 ** places;
  const [from, to] = [Math.floor(low * unit + 1e-6) / unit, Math.ceil(high * unit - 1e-6) / unit];
  return `${from.toFixed(places)} to ${to.toFixed(places)} kg`;
}

function fill(box) {
  const number = document.querySelector(`[data-box="${CSS.escape(box.box_id)}"] .number`)?.cloneNode(true);
  const head = document.getElementById("check-head");
  const what = made("span", box.what || `find ${box.find}`);
  what.append(document.createElement("br"), made("small", box.box_id, { className: "box" }));
  head.replaceChildren(...(number ? [number] : []), what);
  const kg = (value, places) => `${value.toFixed(places)} kg`;
  const words = [];
  if (box.low_kg) words.push(`At its next check it should weigh ${span(box.low_kg, box.high_kg)}.`);
  else if (box.gross_kg) words.push(`Planned at ${kg(box.gross_kg, 3)}.`);
  if (box.tare_kg) words.push(`Empty box ${kg(box.tare_kg, 3)}.`);
  if (box.says) words.push(box.says);
  if (box.alarm) words.push(`${box.alarm[0].toUpperCase()}${box.alarm.slice(1)} was seen the last time.`);
  document.getElementById("check-expect").textContent = words.join(" ");
}

function close() {
  chosen = null;
  check.hidden = true;
  scan.hidden = false;
  finding.elements.box.value = "";
  finding.elements.box.focus();
}

window.addEventListener("popstate", () => {
  const box = new URLSearchParams(location.search).get("box");
  if (box) choose(box, false);
  else close();
});

document.addEventListener("click", (event) => {
  const row = event.target.closest("[data-box] a, a[data-next]");
  if (row && !event.ctrlKey && !event.metaKey) {
    const box_id = row.dataset.next ?? row.closest("[data-box]").dataset.box;
    if (boxOf(box_id)) {
      event.preventDefault();
      choose(box_id, true);
    }
  }
  if (event.target.closest("#another")) {
    event.preventDefault();
    history.pushState({}, "", location.pathname + (site ? `?site=${encodeURIComponent(site)}` : ""));
    close();
  }
});

form.noValidate = true; // what is missing is said in the page, where it is missing
form.addEventListener(
  "submit",
  (event) => {
    event.preventDefault();
    event.stopPropagation();
    if (busy) return;
    busy = true;
    form.setAttribute("aria-busy", "true");
    record()
      .catch((error) => ask(form, `This device could not keep it (${error.message}). Write the mass down, and try again.`, "Again", "Close"))
      .finally(() => {
        busy = false;
        form.removeAttribute("aria-busy");
      });
  },
  true,
);

async function record() {
  const typed = form.elements;
  const bare = typed.mass.value.trim();
  document.querySelectorAll(".missing").forEach((one) => one.remove());
  if (!bare) return lookAlone();
  if (boxOf(bare) && /[a-z]/i.test(bare)) return choose(bare, true);
  let text = /[a-z]/i.test(bare) ? bare : `${bare} ${typed.unit.value}`, reason = "";
  const kit = await get("kits", typed.box.value);
  const found = readMass(text);
  if (!found.length) {
    await ask(form, `“${bare}” is no mass. Type what the balance shows: 13.04, or 13,04.`, "Type it again", "Type it again");
    typed.mass.select();
    return;
  }
  if (!typed.look.value) return missing(typed.look[0], "Look at it, and choose what you see.");
  const at_s = Math.round((Date.now() + ahead_ms) / 1000);
  const touched = typed.opened.checked || Number(typed.water_g.value.replace(",", ".")) > 0;
  const known = kit ?? plannedOnly(typed.box.value);
  const wrong = known ? slip(touched ? { ...known, first: false } : known, meant(found, known), at_s) : null;
  const off = wrong ? meant(found, known).grams / wrong.grams - 1 : 0;
  if (wrong && known.first && Math.abs(off) <= 0.5 && !touched) {
    const why = { label: "Why it is so" };
    const words = `It is the first weighing of ${typed.box.value}, and every later one is compared with it. It should weigh about ${(wrong.grams / 1000).toFixed(3)} kg; ${text} is ${(100 * Math.abs(off)).toFixed(0)} % ${off < 0 ? "lighter" : "heavier"}. Weigh it again; or say why it is so. Without a reason it waits for a second weighing that agrees.`;
    if (await ask(form, words, "Weigh it again", `Record ${text}`, why)) {
      typed.mass.select();
      return;
    }
    reason = why.field.value.trim();
  } else if (wrong?.unit) {
    const other = `${wrong.unit === "g" ? bare.replace(/\s*[a-z]+$/i, "") : bare.replace(/\s*[a-z]+$/i, "")} ${wrong.unit}`;
    if (await ask(form, `${text} is a thousand times off what ${typed.box.value} should weigh. Was it ${other}?`, `Yes, ${other}`, `No, ${text}`)) text = other;
  } else if (wrong) {
    const should = (wrong.grams / 1000).toFixed(3);
    const again = await ask(form, `${typed.box.value} should weigh about ${should} kg; you typed ${text}. Is it this box, and is the figure right?`, "Type it again", `Yes, record ${text}`);
    if (again) {
      typed.mass.select();
      return;
    }
  }
  await keep(kit, { text, at_s, touched, reason });
}

/** What is seen, recorded without a mass: mould does not wait for a balance. */
async function lookAlone() {
  const typed = form.elements, look = typed.look.value;
  if (!look) return missing(typed.mass, "Read the balance, and type what it shows; or choose what you see, when it cannot be weighed.");
  const touched = typed.opened.checked || Number(typed.water_g.value.replace(",", ".")) > 0;
  if (touched) return missing(typed.mass, "A box that was opened or given water is weighed: type what the balance shows.");
  const words = `No mass is typed. Record only what you see: ${look}?`;
  if (!(await ask(form, words, "Record the look alone", "Type the mass"))) return typed.mass.focus();
  const at_s = Math.round((Date.now() + ahead_ms) / 1000);
  await keep(await get("kits", typed.box.value), { text: "", at_s, touched, reason: "" });
}

/** What is asked about without thresholds: how far a mass may be off the plan. Null when the plan is not known here either. */
function plannedOnly(box_id) {
  const box = boxOf(box_id);
  if (!box?.gross_kg) return null;
  const { planned_share, first_share } = round.words;
  return { reference_g: 1000 * box.gross_kg, planned_share, first_share, first: !box.checked_at, edges_g: null };
}

async function keep(kit, { text, at_s, touched, reason }) {
  const typed = form.elements;
  const look = typed.look.value;
  const wiped = { yes: true, no: false }[typed.wiped.value] ?? null;
  const day = new Intl.DateTimeFormat("en-CA", { timeZone: zone }).format(new Date(at_s * 1000));
  const mass = text ? meant(readMass(text), kit) : null;
  const told = judge(kit ?? null, { mass, wiped, touched, look, at_s, day, why: reason }, round?.words.looks ?? NO_WORDS);
  const local = { verdict: told.word, box_id: typed.box.value, look, ...sentences(told, { box_id: typed.box.value, look, touched, first: kit?.first }) };
  const water_g = Number(typed.water_g.value.replace(",", ".")) || 0;
  const words = { box: typed.box.value, mass: text, look, wiped, opened: typed.opened.checked, water_g, note: typed.note.value, why: reason, site };
  const says = `${typed.box.value}: ${text || "not weighed"}, ${look}`;
  const photo = typed.photo.files[0];
  const details = typed.keep_details.checked;
  asked = await done("/bench/checks", words, { says, about: typed.box.value, local });
  if (photo) {
    const more = { box: typed.box.value, about: `${look} at a check`, note: typed.note.value, keep_details: details, site };
    await done("/bench/photos", more, { photo, says: `${typed.box.value}: photograph`, about: typed.box.value });
  }
  const box_id = typed.box.value;
  history.pushState({}, "", location.pathname + (site ? `?site=${encodeURIComponent(site)}` : ""));
  close();
  if (round) {
    const row = round.boxes.find((one) => one.box_id === box_id);
    if (row) row.done_here = local.verdict;
  }
  if (kit && mass) await put("kits", { ...kit, newest_at_s: at_s, missed_days: [], weighed: [...kit.weighed, [at_s, mass.grams]] });
  show(local, told.mass === "unknown" ? "Kept on this device, not sent yet; the ledger's answer follows." : "Answered here and kept on this device, not sent yet.");
  marks();
}

/** The words of an answer given here. */
function sentences(told, { box_id, look, touched, first }) {
  const words = round?.words;
  const says = [], todo = [];
  const box = round?.boxes.find((one) => one.box_id === box_id);
  if (!words) {
    if (look !== "right") says.push(`${look[0].toUpperCase()}${look.slice(1)} seen, and kept: call the conservator.`);
    return { says: [...says, "Not checked here: this store was never opened on this device. It is kept; the answer follows."], do: [], tell: [] };
  }
  const fill = (text) => {
    const kg = (grams) => `${(grams / 1000).toFixed(4)} kg`;
    const [, low, best, high] = told.row ?? [];
    const off = Math.abs(told.off_g ?? 0);
    return text
      .replace("{low}", told.row ? kg(low).replace(" kg", "") : "")
      .replace("{high}", told.row ? kg(high) : "")
      .replace("{best}", told.row ? kg(best) : "")
      .replace("{off}", `${off < 10 ? off.toPrecision(2) : off.toFixed(0)} g`)
      .replace("{way}", (told.off_g ?? 0) < 0 ? "lighter" : "heavier");
  };
  if (look !== "right") {
    says.push(`${look[0].toUpperCase()}${look.slice(1)} seen, and kept.`);
    todo.push(...words.looks[look][box?.kept === "waterlogged" ? "do_wet" : "do"]);
  }
  if (box?.state === "open") says.push(box.says);
  const line = { first: words.first, "in the band": words.right, "edge of the band": words.watch, explained: words.explained, older: words.older, before: words.before, twice: words.twice, unknown: words.unknown, unit: words.unit, "not weighed": words.not_weighed };
  says.push(fill(touched ? words.open : (line[told.code] ?? (first ? words.first_act : words.act))));
  if (told.code === "edge of the band") todo.push(words.watch_do);
  if (first && ["lighter", "heavier"].includes(told.code)) todo.push(words.first_do);
  if (["lighter", "heavier", "confirmed"].includes(told.code)) todo.push(...words.causes[told.off_g < 0 ? "lighter" : "heavier"]);
  const passed = words.passed.replace("{date}", told.keep_until_s ? when(told.keep_until_s * 1000, zone) : "");
  for (const part of told.parts) {
    says.push(part === "missed" ? (told.missed > 1 ? words.missed_many.replace("{count}", told.missed) : words.missed) : part === "passed" ? passed : words[part]);
    if (part === "missed") todo.push(...words.missed_do);
    if (part === "passed") todo.push(words.passed_do);
  }
  const acts = told.word === "act" && (told.parts.length || !words.typed_wrong.includes(told.code));
  const tell = [...words.tell[look], ...(acts ? words.tell_act : [])];
  return { says, do: [...new Set(todo)], tell: [...new Set(tell)] };
}

/** A photograph of what is wrong, kept with the box. */
function photographing(box_id, about) {
  const label = made("label", "Photograph it", { className: "button" });
  const file = made("input", "", { type: "file", accept: "image/*", className: "unseen" });
  file.setAttribute("capture", "environment");
  file.addEventListener("change", async () => {
    const photo = file.files[0];
    if (!photo) return;
    await done("/bench/photos", { box: box_id, about, note: "", keep_details: false, site }, { photo, says: `${box_id}: photograph`, about: box_id });
    label.after(made("span", "Photograph kept.", { className: "quiet" }));
    file.value = "";
  });
  label.append(file);
  return label;
}

function show(told, note) {
  showAnswer(place, told);
  place.append(made("p", note, { className: "quiet", id: "answer-note" }));
  const buttons = made("div", "", { className: "buttons" });
  const next = round?.boxes.find((box) => !box.done_here && !["later", "none"].includes(box.state));
  if (next) {
    const link = made("a", `Next: ${next.find} ${next.what}`, { className: "button button-main", href: `?box=${encodeURIComponent(next.box_id)}` });
    link.dataset.next = next.box_id;
    buttons.append(link);
  }
  if (told.verdict !== "right") buttons.append(photographing(told.box_id, `${told.look ?? "something wrong"} at a check`));
  const another = made("a", "Scan another", { className: "button", id: "another", href: location.pathname });
  buttons.append(another);
  place.append(buttons);
  place.scrollIntoView({ block: "start" });
}

listen(async (told) => {
  if (told.path === "/bench/checks" && told.told) {
    await remove("kits", told.about).catch(() => {});
    // Whoever is at the next box already is not pulled back: what asks for something stands at the head of the page.
    if (told.key === asked && !chosen) compare(await get("answers", told.key));
    if (await refresh()) await kits();
  }
  if (told.trouble && told.path === "/bench/photos") {
    const words = `${told.about}: the photograph was not recorded. ${told.trouble.sentence ?? ""} It stays on this device.`;
    (place.hidden ? finding : place.lastChild).after(made("p", words, { className: "note note-act photo-trouble" }));
  }
  if (told.trouble && told.key === asked) {
    const note = document.getElementById("answer-note");
    if (note) note.textContent = `Not recorded: ${told.trouble.sentence ?? ""} It stays on this device.`;
  }
  marks();
});

/** The ledger's answer in place of this device's, and where the two differ. */
function compare(kept) {
  if (!kept) return;
  const { told, local } = kept;
  const next = told.next_check ? ` Next check ${when(told.next_check.at, zone)}.` : "";
  const until = told.keep_until ? ` Keep until ${when(told.keep_until, zone)}${told.keep_until_moved ? " (moved)" : ""}.` : "";
  show(told, `Recorded.${next}${told.look === "mould" ? " The date of the forecast no longer counts: act today." : until}`);
  read(kept.key);
  if (local && local.verdict !== told.verdict && local.verdict !== "unknown") {
    place.querySelector(".buttons").before(made("p", `On this device it said ${local.verdict}; the ledger, which knows more, says ${told.verdict}. What the ledger says holds.`, { className: "differs" }));
  }
}

/** Rows of boxes that were checked here say so. */
async function marks() {
  const unsent = new Set((await waiting()).filter((entry) => entry.path === "/bench/checks").map((entry) => entry.about));
  for (const row of document.querySelectorAll("[data-box]")) {
    const here = round?.boxes.find((box) => box.box_id === row.dataset.box)?.done_here;
    if (!here && !unsent.has(row.dataset.box)) continue;
    const words = row.querySelector(".box-state small");
    if (words) words.textContent = unsent.has(row.dataset.box) ? "checked, not sent yet" : "checked now";
    const status = row.querySelector(".box-state .status");
    if (status && here) {
      status.className = `status status-${here === "act" ? "act" : "done"}`;
      status.replaceChildren(sign(here), made("span", here));
    }
  }
}
