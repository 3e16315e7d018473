/* Which lines does a thing have on paper? Lobed crowns, ridges, hedges with their width; gates have a module of their own.

The same lines as the map's (show/symbols/shapes.py), so that the same tree looks the same here and there. Pure. */

import { apart, centre, dot, heading, minus, parallelTo, plus, sides, signedArea } from "./geometry.js";
import { angleOf, crownWidth, heldBy, lengthOf } from "./reading.js";
import { corners } from "./shapes.js";

/** @typedef {import("./types.js").Point} Point */
/** @typedef {import("./types.js").Feature} Feature */
/** @typedef {import("./types.js").Reading} Reading */

/** How wide a hedge is of which it is not known. [m] */
const WIDTH = 1;

/** Return the edge of a tree's crown as it is drawn: with lobes, or with spikes where it is evergreen. @param {Feature} tree @param {Reading} reading @returns {Point[]} */
export function crown(tree, reading) {
  const ring = tree.geometry.type === "Point"
    ? Array.from({ length: 72 }, (_, number) => plus(tree.geometry.coordinates, heading(-5 * number + 90), crownWidth(tree, reading) / 2))
    : corners(tree);
  return edged(signedArea(ring) < 0 ? [...ring].reverse() : ring, heldBy(tree, "foliage", reading) === "evergreen");
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

/** Return the ridge of a gabled roof; null of a flat one, and where it is told from a north that is not known. @param {Feature} building @param {Reading} reading @returns {[Point, Point] | null} */
export function ridge(building, reading) {
  const [eaves, height] = ["eaves", "height"].map((key) => lengthOf(building, key, reading));
  if (eaves === null || height === null || eaves >= height || building.geometry.type !== "Polygon") return null;
  const ring = corners(building);
  const way = ridgeWay(building, ring, reading);
  if (!way) return null;
  const middle = centre(ring);
  const cuts = sides(ring, true).flatMap(([a, b]) => {
    const [p, q] = [a, b].map((end) => way[0] * (end[1] - middle[1]) - way[1] * (end[0] - middle[0]));
    return p > 0 === q > 0 ? [] : [plus(a, minus(b, a), p / (p - q))];
  }).sort((a, b) => dot(minus(a, b), way));
  /** @type {[Point, Point][]} */
  const within = cuts.flatMap((cut, index) => (index % 2 ? [[cuts[index - 1], cut]] : []));
  return within.sort((a, b) => apart(...b) - apart(...a))[0] ?? null; // the longest, where it leaves the house and comes back
}

/** Return the way of a ridge on the paper: as it is told from north, or else along the longer side. @param {Feature} building @param {Point[]} ring @param {Reading} reading @returns {Point | null} */
function ridgeWay(building, ring, reading) {
  if ((heldBy(building, "ridge_heading", reading) ?? null) === null) return longerWay(ring);
  const told = angleOf(building, "ridge_heading", reading);
  return told === null || reading.north === null ? null : heading(told - reading.north);
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

/** Return the outline of a hedge drawn as a line, `width` wide. @param {Feature} hedge @param {Reading} reading @returns {Point[]} */
export function hedgeOutline(hedge, reading) {
  if (hedge.geometry.type === "Polygon") return corners(hedge);
  const half = (lengthOf(hedge, "width", reading) ?? WIDTH) / 2;
  return [...parallelTo(corners(hedge), half, false), ...parallelTo(corners(hedge), -half, false).reverse()];
}
