/* By how much does a taped outline miss its own start, and how is that spread over its corners?

The compass rule (Bowditch, The Analyst, 1808, as every surveying text gives it): each corner is moved by the misclosure
times the share of the taped way at which it stands. Pure. */

import { apart, minus, plus } from "./geometry.js";

/** @typedef {import("./types.js").Point} Point */

/**
 * Return how far the last corner of a taped way lies from its first, and the length of the way.
 * @param {Point[]} points  the first corner, then each as taped, the last meant to be the first again
 */
export function misclosure(points) {
  const length = points.slice(1).reduce((sum, point, index) => sum + apart(points[index], point), 0);
  const gap = minus(points[points.length - 1], points[0]);
  return { gap, metres: Math.hypot(...gap), length, one_in: Math.hypot(...gap) > 1e-9 ? length / Math.hypot(...gap) : Infinity };
}

/**
 * Return the ring that closes: each corner moved by its share of the misclosure; without the repeated first corner.
 * @param {Point[]} points  as for `misclosure`
 * @returns {Point[]}
 */
export function spread(points) {
  const { gap, length } = misclosure(points);
  let gone = 0;
  return points.slice(0, -1).map((point, index) => {
    if (index) gone += apart(points[index - 1], point);
    return plus(point, gap, length ? -gone / length : 0);
  });
}
