// What Round and Pack share: entries for the queue, answers on the page, small pieces of the page.

import { newKey } from "/static/house.js";
import { clockText, deviceName, enqueue, get, put } from "/static/queue.js";
import { doneNow, send } from "/static/sending.js";

export const person = document.querySelector('meta[name="findhold-person"]')?.content ?? "";

let before = Promise.resolve();

/** Keep something done on this device and send it as soon as it goes. Resolves with its key once it is kept. */
export function done(path, words, more = {}) {
  const key = more.key ?? newKey();
  const at = clockText();
  doneNow(key);
  // One behind the other: what was done first is kept first, also when the next thing is tapped meanwhile.
  const kept = before.then(async () => {
    await enqueue({ ...more, key, person, path, words: { at, device: await deviceName(), person, ...words } });
    send();
    return key;
  });
  before = kept.catch(() => {});
  return kept;
}

/** How far the ledger's clock is ahead of this device's [ms]; nought when that is not known or not worth a word. */
export async function clockAhead() {
  try {
    const asked = Date.now();
    const answer = await fetch("/api/v1/bench/visit", { headers: { Accept: "application/json" } });
    if (answer.ok) {
      const told = await answer.json();
      const ahead_ms = new Date(told.now).getTime() - (asked + Date.now()) / 2;
      await put("facts", { name: "ahead", value: Math.abs(ahead_ms) > 120_000 ? ahead_ms : 0 });
    }
  } catch (error) {
    // No connection: what was known stands.
  }
  return (await get("facts", "ahead"))?.value ?? 0;
}

/** An element with its text and children. */
export function made(name, text = "", words = {}) {
  const element = Object.assign(document.createElement(name), words);
  if (text) element.textContent = text;
  return element;
}

/** The sign of right, watch, act or done, from the page's own signs. */
export function sign(kind) {
  const signs = document.getElementById("signs");
  return signs?.content.querySelector(`.mark-${kind}`)?.cloneNode(true) ?? document.createTextNode("");
}

/** Fill an answer: one word with its shape, why, what to do, whom to call. */
export function showAnswer(place, told) {
  const head = made("p", "", { className: `verdict verdict-${told.verdict}` });
  const word = told.verdict === "unknown" ? "Not checked here" : told.verdict[0].toUpperCase() + told.verdict.slice(1);
  head.append(sign(told.verdict), made("strong", word), made("span", told.box_id, { className: "box" }));
  place.replaceChildren(head, ...told.says.map((line) => made("p", line)));
  list(place, "Do now", "ol", told.do);
  list(place, "Call", "ul", told.tell);
  for (const line of told.notes ?? []) place.append(made("p", line, { className: "quiet" }));
  place.hidden = false;
}

function list(place, head, kind, lines) {
  if (!lines?.length) return;
  const rows = made(kind, "", { className: "todo" });
  rows.append(...lines.map((line) => (head === "Call" ? called(line) : made("li", line))));
  place.append(made("h3", head), rows);
}

/** A line "name, job, telephone" with its telephone to be tapped. */
function called(line) {
  const found = /^(.*, )?([+(\d][\d\s()./-]{4,})$/.exec(line);
  if (!found) return made("li", line);
  const row = made("li", found[1] ?? "");
  row.append(made("a", found[2], { href: `tel:${found[2].replace(/\s/g, "")}` }));
  return row;
}

const siteZone = document.querySelector('meta[name="findhold-zone"]')?.content || undefined;

/** A day and a time for people, by the clock of the site and not of this device: Fri 7 Aug, 09:00. */
export function when(text, zone = siteZone) {
  const at = new Date(text);
  const day = at.toLocaleDateString("en-GB", { weekday: "short", day: "numeric", month: "short", timeZone: zone || undefined });
  return `${day.replace(",", "")}, ${at.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit", timeZone: zone || undefined })}`;
}

/** Say what is missing, beside where it is missing, and lead there; said once at a time. */
export function missing(field, words) {
  document.querySelectorAll(".missing").forEach((one) => one.remove());
  const place = field.closest("fieldset, .weigh-row, .field") ?? field;
  const line = made("p", words, { className: "note note-act missing" });
  line.setAttribute("role", "alert");
  place.after(line);
  field.focus();
  line.scrollIntoView({ block: "center" });
}

/** A question in the page with two answers, and a field to say why where there is one to fill; resolves true for the first. */
export function ask(place, words, yes, no, why = null) {
  return new Promise((resolve) => {
    const box = made("div", "", { className: "note note-act question" });
    box.setAttribute("role", "alertdialog");
    box.setAttribute("aria-label", words);
    const buttons = made("div", "", { className: "buttons" });
    const choose = (answer) => {
      box.remove();
      resolve(answer);
    };
    for (const [text, answer] of [[yes, true], [no, false]]) {
      const button = made("button", text, { type: "button", className: "button" });
      button.addEventListener("click", () => choose(answer));
      buttons.append(button);
    }
    box.append(made("p", words));
    if (why) {
      const label = made("label", why.label);
      why.field = made("input", "", { type: "text", maxLength: 400, autocomplete: "off" });
      label.append(why.field);
      box.append(label);
    }
    box.append(buttons);
    place.before(box);
    buttons.firstChild.focus();
  });
}
