/* Which lines does a thing have on paper? Lobed crowns, ridges, hedges with their width, gates as gaps in a fence.

The same lines as the map's (show/symbols/shapes.py), so that the same tree looks the same here and there. Pure. */

import { apart, centre, dot, heading, minus, nearestOn, parallelTo, plus, sides, signedArea } from "./geometry.js";
import { corners, kindOf } from "./shapes.js";
import { typedLength } from "./typed.js";

/** @typedef {import("./types.js").Point} Point */
/** @typedef {import("./types.js").Feature} Feature */

/** What stands between a figure and how far off it may be. */
const SPREAD = /±|\+\/?-/;

/**
 * Return a length of a file in metres; the other value where it is none.
 * @param {any} held
 * @param {number} otherwise
 */
export function metresOf(held, otherwise) {
  if (typeof held === "number") return held;
  try {
    return typeof held === "string" ? typedLength(held.split(SPREAD)[0], "m") : otherwise;
  } catch {
    return otherwise;
  }
}

/** Return the edge of a tree's crown as it is drawn: with lobes, or with spikes where it is evergreen. @param {Feature} tree @returns {Point[]} */
export function crown(tree) {
  const ring = tree.geometry.type === "Point"
    ? Array.from({ length: 72 }, (_, number) => plus(tree.geometry.coordinates, heading(-5 * number + 90), metresOf(tree.properties.crown_diameter, 3) / 2))
    : corners(tree);
  return edged(signedArea(ring) < 0 ? [...ring].reverse() : ring, tree.properties.foliage === "evergreen");
}

/** @param {Point[]} ring  counterclockwise @param {boolean} spiked @returns {Point[]} */
function edged(ring, spiked) {
  const length = sides(ring, true).reduce((sum, [a, b]) => sum + apart(a, b), 0);
  const width = Math.min(Math.max(length / (spiked ? 26 : 18), 0.35), 1.6);
  const count = Math.max(8, Math.round(length / width));
  const rise = spiked ? Math.min(0.45, width / 2) : Math.min(0.4, width / 3.2);
  const shares = spiked ? [0, 0.5] : [0, 0.2, 0.4, 0.6, 0.8];
  const feet = stops(ring, length, count);
  return feet.slice(0, -1).flatMap((foot, index) => {
    const step = minus(feet[index + 1], foot);
    const long = Math.max(Math.hypot(...step), 1e-9);
    /** @type {Point} */
    const outward = [step[1] / long, -step[0] / long];
    return shares.map((share) => plus(plus(foot, step, share), outward, rise * Math.sin(Math.PI * share)));
  });
}

/** Return points at equal steps along a ring, the first one again at the end. @param {Point[]} ring @param {number} length @param {number} count */
function stops(ring, length, count) {
  /** @type {Point[]} */
  const found = [];
  let gone = 0;
  for (const [a, b] of sides(ring, true)) {
    const side = apart(a, b);
    while (found.length < count && (length * found.length) / count <= gone + side) found.push(plus(a, minus(b, a), ((length * found.length) / count - gone) / side));
    gone += side;
  }
  return [...found, found[0]];
}

/** Return the ridge of a gabled roof along the longer side of its smallest rectangle; null of a flat one. @param {Feature} building @returns {[Point, Point] | null} */
export function ridge(building) {
  const { eaves, height, ridge_heading: given } = building.properties;
  if (eaves === undefined || eaves === null || metresOf(eaves, 0) >= metresOf(height, 0) || building.geometry.type !== "Polygon") return null;
  if (typeof given === "number" && given !== 0) return null; // it is told from north, which the paper does not know
  const ring = corners(building);
  const way = longerWay(ring);
  const middle = centre(ring);
  const cuts = sides(ring, true).flatMap(([a, b]) => {
    const [p, q] = [a, b].map((end) => way[0] * (end[1] - middle[1]) - way[1] * (end[0] - middle[0]));
    return p > 0 === q > 0 ? [] : [plus(a, minus(b, a), p / (p - q))];
  }).sort((a, b) => dot(minus(a, b), way));
  return cuts.length < 2 ? null : [cuts[0], cuts[cuts.length - 1]];
}

/** Return the way of the longer side of the smallest rectangle around a ring. @param {Point[]} ring @returns {Point} */
export function longerWay(ring) {
  let best = { area: Infinity, way: /** @type {Point} */ ([1, 0]) };
  for (const [a, b] of sides(ring, true)) {
    const long = apart(a, b);
    if (long < 1e-6) continue;
    /** @type {Point} */
    const way = [(b[0] - a[0]) / long, (b[1] - a[1]) / long];
    /** @type {Point} */
    const across = [-way[1], way[0]];
    const [wide, deep] = [way, across].map((axis) => ring.reduce((most, p) => Math.max(most, dot(p, axis)), -Infinity) - ring.reduce((least, p) => Math.min(least, dot(p, axis)), Infinity));
    if (wide * deep < best.area - 1e-9) best = { area: wide * deep, way: wide >= deep ? way : across };
  }
  return best.way;
}

/** Return the outline of a hedge drawn as a line, `width` wide. @param {Feature} hedge @returns {Point[]} */
export function hedgeOutline(hedge) {
  if (hedge.geometry.type === "Polygon") return corners(hedge);
  const half = metresOf(hedge.properties.width, 1) / 2;
  return [...parallelTo(corners(hedge), half, false), ...parallelTo(corners(hedge), -half, false).reverse()];
}

/** Return the gap that a gate makes: along the nearest fence. @param {Feature} gate @param {Feature[]} all @returns {Point[]} */
export function gateGap(gate, all) {
  if (gate.geometry.type === "LineString") return corners(gate);
  const at = /** @type {Point} */ (gate.geometry.coordinates);
  const half = metresOf(gate.properties.width, 1) / 2;
  let best = { away: Infinity, ends: /** @type {Point[]} */ ([plus(at, [-half, 0]), plus(at, [half, 0])]) };
  for (const fence of all) {
    if (kindOf(fence) !== "fence" || fence.geometry.type !== "LineString") continue;
    for (const [a, b] of sides(corners(fence), false)) {
      const { point } = nearestOn(at, a, b);
      const long = apart(a, b);
      if (long < 1e-6 || apart(point, at) >= best.away || apart(point, at) > 1) continue;
      best = { away: apart(point, at), ends: [plus(point, minus(b, a), -half / long), plus(point, minus(b, a), half / long)] };
    }
  }
  return best.ends;
}

