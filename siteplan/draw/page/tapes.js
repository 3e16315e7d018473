/* Where is a corner that lies so far from one known point and so far from another? Two circles cross in two points. */

import { apart, minus, plus } from "./geometry.js";

/** @typedef {import("./types.js").Point} Point */

/**
 * Return the spots that two tapes may mean: two, or one where the tapes just meet; throw an Error in words where none.
 * @param {Point} a
 * @param {number} fromA  metres
 * @param {Point} b
 * @param {number} fromB  metres
 * @param {(metres: number) => string} said  how a length is said in the fault
 * @returns {Point[]}  first the one to the left of the way from a to b
 */
export function tapedSpots(a, fromA, b, fromB, said = (metres) => `${metres.toFixed(2)} m`) {
  const base = apart(a, b);
  if (base < 1e-6) throw new Error("The two tapes begin at one point: choose two points that lie apart.");
  if (fromA <= 0 || fromB <= 0) throw new Error("A tape must be longer than nothing.");
  const short = base - fromA - fromB;
  if (short > 1e-4) throw new Error(`The tapes do not meet: the points lie ${said(base)} apart, and the tapes are ${said(short)} too short together.`);
  const long = Math.abs(fromA - fromB) - base;
  if (long > 1e-4) throw new Error(`The tapes do not meet: one is ${said(long)} too long, since the points lie ${said(base)} apart.`);
  const along = (fromA ** 2 - fromB ** 2 + base ** 2) / (2 * base);
  const up = Math.sqrt(Math.max(0, fromA ** 2 - along ** 2));
  const way = /** @type {Point} */ (minus(b, a).map((value) => value / base));
  const foot = plus(a, way, along);
  /** @type {Point} */
  const left = [-way[1], way[0]];
  return up < 1e-4 ? [foot] : [plus(foot, left, up), plus(foot, left, -up)];
}
