/* What does a property of a thing say? The file's own key for it, and its figure in metres, as the plan reads it. Pure. */

import { typedAngle, typedLength } from "./typed.js";

/** @typedef {import("./types.js").Feature} Feature */
/** @typedef {import("./types.js").Reading} Reading */

/** What stands between a figure and how far off it may be. */
const SPREAD = /±|\+\/?-/;
/** A number without a unit. */
const PLAIN = /^\s*[-+]?(?:\d+\s+\d+\s*\/\s*\d+|\d+\s*\/\s*\d+|(?:\d+\.?\d*|\.\d+)(?:e[-+]?\d+)?)\s*$/i;
/** The width of a crown of which nothing is known. [m] */
const CROWN = 3;

/** Return the key under which a file holds one of ours. @param {Feature} feature @param {string} key @param {Reading} reading */
export function keyIn({ properties }, key, { renaming }) {
  if (key in properties) return key;
  return Object.entries(renaming).find(([theirs, ours]) => ours === key && theirs in properties)?.[0] ?? key;
}

/** Return what a thing has under one of our keys. @param {Feature} feature @param {string} key @param {Reading} reading @returns {any} */
export const heldBy = (feature, key, reading) => feature.properties[keyIn(feature, key, reading)];

/**
 * Return a length of the file in metres; null where it is none.
 * @param {any} held
 * @param {Reading} reading  a number without a unit is in the unit of the drawing
 */
export function metresOf(held, { plain }) {
  if (typeof held === "number") return held * plain;
  if (typeof held !== "string") return null;
  const figure = held.split(SPREAD)[0];
  try {
    return typedLength(figure, "m") * (PLAIN.test(figure) ? plain : 1);
  } catch {
    return null;
  }
}

/** Return a length of a thing in metres; null where it has none. @param {Feature} feature @param {string} key @param {Reading} reading */
export const lengthOf = (feature, key, reading) => metresOf(heldBy(feature, key, reading), reading);

/** Return how wide the crown of a tree is that is drawn as a point. [m] @param {Feature} tree @param {Reading} reading */
export function crownWidth(tree, reading) {
  const radius = lengthOf(tree, "crown_radius", reading);
  return lengthOf(tree, "crown_diameter", reading) ?? (radius === null ? CROWN : 2 * radius);
}

/** Return an angle of a thing in degrees; null where it has none. @param {Feature} feature @param {string} key @param {Reading} reading */
export function angleOf(feature, key, reading) {
  const held = heldBy(feature, key, reading);
  try {
    return typeof held === "number" ? held : typedAngle(String(held).split(SPREAD)[0]);
  } catch {
    return null;
  }
}
