// The answer to a weighing from thresholds that the service made. Nothing here knows physics: it reads the mass as
// typed, finds the row of the day, and compares.

/**
 * @typedef {Object} Mass
 * @property {number} grams
 * @property {number} step_g last digit typed
 * @property {string} unit "", "kg" or "g"
 */

const UNITS = { "": 1, kg: 1, g: 1000, kilo: 1, kilos: 1, kgs: 1, gr: 1000, gram: 1000, grams: 1000 };
const RANK = ["right", "unknown", "watch", "act"];

/** What a typed mass can mean, decimal mark first; an empty list when it is no mass. @returns {Mass[]} */
export function readMass(text) {
  const tidy = text.trim().replace("\u2212", "-").replace(/(\d)[\s'’](?=\d{3}(?!\d))/g, "$1");
  const parts = /^(\+?)([\d.,]*\d[.,]?)\s*([^\d\s.,]*)\.?$/.exec(tidy);
  if (!parts) return [];
  const unit = parts[3].toLowerCase();
  if (!(unit in UNITS)) return [];
  return marks(parts[2].replace(/[.,]+$/, ""))
    .map(([whole, part]) => ({
      grams: (Number(`${whole || 0}.${part || 0}`) / UNITS[unit]) * 1000,
      step_g: 1000 / UNITS[unit] / 10 ** part.length,
      unit: UNITS[unit] === 1000 ? "g" : unit === "" ? "" : "kg",
    }))
    .filter((one) => one.grams > 0);
}

/** Whole part and decimals in each way the marks can be read. */
function marks(body) {
  const signs = [...body].filter((sign) => ".,".includes(sign));
  if (!signs.length) return [[body, ""]];
  const groups = body.split(/[.,]/);
  const threes = groups.slice(1).every((group) => group.length === 3) && groups[0].length >= 1 && groups[0].length <= 3 && groups[0] !== "0";
  if (signs.length === 1) return threes ? [[groups[0], groups[1]], [groups.join(""), ""]] : [[groups[0], groups[1]]];
  if (new Set(signs).size === 1 && threes) return [[groups.join(""), ""]];
  const inner = groups.slice(1, -1).every((group) => group.length === 3);
  const last = signs.at(-1);
  if (new Set(signs.slice(0, -1)).size === 1 && last !== signs[0] && inner) return [[groups.slice(0, -1).join(""), groups.at(-1)]];
  return [];
}

/** The meaning that lies nearest to what the box should weigh. */
export function meant(masses, kit) {
  const reference = kit?.reference_g;
  if (masses.length < 2 || !reference) return masses[0];
  return [...masses].sort((a, b) => Math.abs(Math.log(a.grams / reference)) - Math.abs(Math.log(b.grams / reference)))[0];
}

/** The row of thresholds at an instant, straight between the instants of the table; null outside of it. */
function rowAt(kit, rows, at_s) {
  const times = kit.at_s;
  if (!rows || at_s < times[0] || at_s > times.at(-1)) return null;
  let place = times.findIndex((time) => time >= at_s);
  if (place === 0) return rows[0];
  const share = (at_s - times[place - 1]) / (times[place] - times[place - 1]);
  return rows[place].map((value, side) => {
    const before = rows[place - 1][side];
    return value === null || before === null ? null : before + share * (value - before);
  });
}

/** The way of weighing that the thresholds are looked up by: "yes 1", "unsaid 0.1"; null when there is none. */
function wayOf(kit, mass, wiped) {
  const word = wiped === null ? "unsaid" : wiped ? "yes" : "no";
  const name = `${word} ${mass.step_g < 0.02 ? 0.01 : Number(mass.step_g.toPrecision(2))}`;
  return kit.edges_g && name in kit.edges_g ? name : null;
}

/** A mass to ask about: {unit, grams} that would fit in another unit, unit "" when none would; null when it fits. */
export function slip(kit, mass, at_s) {
  const reference = kit?.first || !kit?.edges_g ? kit?.reference_g : (rowAt(kit, kit.edges_g["unsaid 1"], at_s)?.[2] ?? kit.reference_g);
  if (!reference) return null;
  const fits = (grams) => Math.abs(grams / reference - 1) <= kit.planned_share;
  if (fits(mass.grams) && !(kit.first && Math.abs(mass.grams / reference - 1) > kit.first_share)) return null;
  for (const [factor, unit] of [[0.001, "g"], [1000, "kg"]]) if (!fits(mass.grams) && fits(mass.grams * factor)) return { unit, grams: mass.grams * factor };
  return { unit: "", grams: reference };
}

/**
 * The answer to a check, from a box's kit.
 * @param {Object} kit thresholds of the box
 * @param {{mass: ?Mass, wiped: ?boolean, touched: boolean, look: string, at_s: number, day: string, why: string}} check
 * @param {Object} looks words of each look: {word, do}
 * @returns {{word: string, mass: string, code: string, row: ?number[], off_g: ?number, parts: string[], missed: number}}
 *   word is the gravest of all; "unknown" when only the service can tell and nothing here asks for more.
 */
export function answer(kit, check, looks) {
  const parts = [];
  const mass = check.mass ? judgeMass(kit, check) : { word: "right", code: "not weighed", counted: false };
  const words = [looks[check.look].word, mass.word];
  if (kit && !["unit", "before", "twice"].includes(mass.code) && !check.touched) {
    const loss = mass.counted ? lossWord(kit, check) : null;
    if (loss) {
      words.push(loss);
      parts.push("loss");
    }
  }
  const missed = kit?.missed_days.filter((day) => day < check.day).length ?? 0;
  if (missed) {
    words.push("watch");
    parts.push("missed");
  }
  if (kit?.keep_until_s && check.at_s > kit.keep_until_s) {
    words.push("act");
    parts.push("passed");
  }
  const word = RANK[Math.max(...words.map((one) => RANK.indexOf(one)))];
  return { word, mass: mass.word, code: mass.code, row: mass.row ?? null, off_g: mass.off_g ?? null, parts, missed, keep_until_s: kit?.keep_until_s ?? null };
}

function judgeMass(kit, check) {
  const { mass, at_s } = check;
  if (!kit || check.touched) return { word: "unknown", code: "unknown", counted: false };
  if (kit.weighed.some(([when, grams]) => when === at_s && grams === mass.grams)) return { word: "watch", code: "twice", counted: false };
  if (kit.packed_at_s && at_s < kit.packed_at_s) return { word: "act", code: "before", counted: false };
  const wrong = slip(kit, mass, at_s);
  if (wrong?.unit) return { word: "act", code: "unit", counted: false };
  const inTime = (told) => {
    const older = kit.newest_at_s && at_s < kit.newest_at_s;
    return older && told.word === "right" ? { ...told, word: "watch", code: "older" } : told;
  };
  if (!kit.edges_g) return kit.first && !kit.trouble ? inTime({ word: "right", code: "first", counted: true }) : { word: "unknown", code: "unknown", counted: false };
  const way = wayOf(kit, mass, check.wiped);
  const row = way && rowAt(kit, kit.edges_g[way], at_s);
  if (!row) return { word: "unknown", code: "unknown", counted: false };
  const [actLow, watchLow, best, watchHigh, actHigh] = row;
  const told = { row, off_g: mass.grams - best };
  if (mass.grams >= watchLow && mass.grams <= watchHigh) return inTime({ ...told, word: "right", code: kit.first ? "first" : "in the band", counted: true });
  if (kit.first && check.why) return inTime({ ...told, word: "watch", code: "explained", counted: true });
  const inner = mass.grams > actLow && mass.grams < actHigh;
  if (inner && !kit.first) return inTime({ ...told, word: "watch", code: "edge of the band", counted: true });
  const borne = kit.unsettled.some(
    ([when, grams, sd]) => Math.abs(at_s - when) <= kit.confirm_s && Math.abs(mass.grams - grams) <= 3 * Math.hypot(sd, kit.sd_g[way]),
  );
  const way_ = mass.grams < best ? "lighter" : "heavier";
  if (borne && (kit.first || way_ === "lighter")) return inTime({ ...told, word: kit.first ? "watch" : "act", code: "confirmed", counted: true });
  return { ...told, word: kit.first && inner ? "watch" : "act", code: way_, counted: false };
}

function lossWord(kit, check) {
  const row = kit.loss_g && rowAt(kit, kit.loss_g, check.at_s);
  if (!row) return null;
  const below = (edge) => edge !== null && check.mass.grams < edge;
  return below(row[1]) ? "act" : below(row[0]) ? "watch" : null;
}
