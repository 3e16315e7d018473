/* What did she type: a length, a direction, a turn? Pure: text in, metres and degrees out, or the fault in words. */

import { METRES } from "./units.js";

/** @type {Record<string, string>} */
const NAMES = {
  m: "m", metre: "m", metres: "m", meter: "m", meters: "m", dm: "dm", cm: "cm", mm: "mm", km: "km",
  ft: "ft", foot: "ft", feet: "ft", "'": "ft", "′": "ft", "’": "ft",
  in: "in", inch: "in", inches: "in", '"': "in", "″": "in", "”": "in", "''": "in", yd: "yd", yard: "yd", yards: "yd", sft: "sft",
};
const NUMBER = String.raw`(?:\d+\s+\d+\/\d+|\d+\/\d+|\d+(?:[.,]\d+)?|[.,]\d+)`;
const UNIT = String.raw`(?:''|['"′″’”]|[a-z]+)`;
const PIECE = new RegExp(String.raw`^\s*(${NUMBER})\s*(${UNIT})?\.?\s*,?`, "i");
const HOW = "Type a length such as 12 ft 6 in or 3.8 m, a direction such as <90, or a turn such as left 90.";

/** @typedef {{length: number | null, direction: number | null, turn: number | null}} Typed */

/**
 * Return the length in metres; throw an Error in words where it is none.
 * @param {string} text  such as `12 ft 6 in`, `12' 6 1/2"`, `3.8 m`, `90`
 * @param {string} unit  that of a number without one
 */
export function typedLength(text, unit) {
  let rest = text.trim();
  let sum = 0;
  let last = "";
  if (!rest) throw new Error(`No length was typed. ${HOW}`);
  const sign = rest.startsWith("-") ? -1 : 1;
  rest = rest.replace(/^[-+]\s*/, "");
  while (rest) {
    const found = PIECE.exec(rest);
    if (!found) throw new Error(`"${text.trim()}" is no length. ${HOW}`);
    const named = found[2]?.toLowerCase();
    const known = named ? NAMES[named] : last === "ft" ? "in" : last ? undefined : unit;
    if (!known) throw new Error(named ? `"${named}" is no unit of length: write m, cm, ft or in.` : `"${text.trim()}" has a number without a unit. ${HOW}`);
    if (last && METRES[known] >= METRES[last]) throw new Error(`"${text.trim()}" names its units in no order. ${HOW}`);
    sum += figure(found[1]) * METRES[known];
    last = known;
    rest = rest.slice(found[0].length).trim();
  }
  return sign * sum;
}

/** @param {string} text */
function figure(text) {
  const [whole, part] = text.includes("/") ? (/\s/.test(text) ? text.split(/\s+/) : ["0", text]) : [text.replace(",", "."), ""];
  if (!part) return Number(whole);
  const [top, low] = part.split("/").map(Number);
  if (!low) throw new Error(`"${text}" divides by nothing.`);
  return Number(whole) + top / low;
}

/**
 * Return what was typed while a line is drawn.
 * @param {string} text  a length, a direction (`<90`: clockwise from the top of the paper), a turn (`left 90`), or a length and one of them
 * @param {string} unit
 * @returns {Typed}
 */
export function typedCorner(text, unit) {
  const found = /^([^<]*?)\s*(?:(<)\s*(.*)|\b(left|right)\b\s*(.*))?$/i.exec(text.trim());
  if (!found || !text.trim()) throw new Error(`Nothing was typed. ${HOW}`);
  const [, first, mark, after, way, turned] = found;
  const direction = mark ? degrees(after, text) : null;
  const turn = way ? degrees(turned || "90", text) * (way.toLowerCase() === "left" ? -1 : 1) : null;
  const length = first ? typedLength(first, unit) : null;
  if (length !== null && length <= 0) throw new Error(`"${first.trim()}" is no length to draw: it must be more than nothing.`);
  return { length, direction, turn };
}

/**
 * @param {string} text
 * @param {string} all
 */
function degrees(text, all) {
  const plain = text.trim().replace(/\s*(°|deg|degrees)$/i, "").replace(",", ".");
  if (!/^[-+]?(\d+\.?\d*|\.\d+)$/.test(plain) || Math.abs(Number(plain)) > 360) {
    throw new Error(`"${all.trim()}" has no direction from 0 to 360 degrees. ${HOW}`);
  }
  return Number(plain);
}

/**
 * Return an angle typed alone. [degrees]
 * @param {string} text
 */
export function typedAngle(text) {
  return degrees(text.trim().replace(/^</, ""), text);
}

/**
 * Return two lengths typed as a size, such as `24 ft x 12 ft`; null where one length alone was typed.
 * @param {string} text
 * @param {string} unit
 */
export function typedSize(text, unit) {
  const parts = text.split(/\s*(?:x|×|\bby\b)\s*/i);
  if (parts.length !== 2) return null;
  const found = parts.map((part) => typedLength(part, unit));
  if (found.some((length) => length === 0)) throw new Error(`"${text.trim()}" has a side of no length.`);
  return found;
}
