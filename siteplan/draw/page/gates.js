/* Which stretch of its fence or hedge does a gate open? The same one as in the plan (files/drawing/gates.py). Pure. */

import { apart, minus, nearestOn, plus, sides } from "./geometry.js";
import { hedgeOutline } from "./outlines.js";
import { lengthOf } from "./reading.js";
import { corners, isArea, kindOf, parts } from "./shapes.js";

/** @typedef {import("./types.js").Point} Point */
/** @typedef {import("./types.js").Feature} Feature */
/** @typedef {import("./types.js").Reading} Reading */
/** A line along which a gate may lie; the first point of a ring is its last one too. @typedef {{points: Point[], isRing: boolean, isFence: boolean}} Barrier */

/** From a gate to its fence. [m] */
const REACH = 2;
/** How wide a gate is of which it is not known. [m] */
const WIDTH = 1;
/** A point this near to the end of a line is at the end. [m] */
const END = 1e-6;

/** Return the gap that a gate makes in the nearest fence, or hedge where no fence is near; as it is drawn where neither is. @param {Feature} gate @param {Feature[]} all @param {Reading} reading @returns {Point[]} */
export function gateGap(gate, all, reading) {
  const drawn = corners(gate);
  const width = lengthOf(gate, "width", reading) ?? WIDTH;
  const near = all.flatMap((feature) => barriers(feature, reading)).map((barrier) => ({ barrier, away: between(drawn, barrier.points) }))
    .filter(({ away }) => away <= REACH).sort((a, b) => a.away - b.away);
  const found = near.find(({ barrier }) => barrier.isFence) ?? near[0];
  if (gate.geometry.type !== "Point") return found ? along(found.barrier, drawn) : drawn;
  return found ? around(found.barrier, drawn[0], width) : [plus(drawn[0], [-width / 2, 0]), plus(drawn[0], [width / 2, 0])];
}

/** Return the lines of a fence, or the edge of a hedge; none of another thing. @param {Feature} feature @param {Reading} reading @returns {Barrier[]} */
function barriers(feature, reading) {
  const isFence = kindOf(feature) === "fence";
  if (!isFence && kindOf(feature) !== "hedge") return [];
  const isRing = isArea(feature) || !isFence;
  const lines = isFence || isArea(feature) ? parts(feature) : [hedgeOutline(feature, reading)];
  return lines.filter((points) => points.length > 1).map((points) => ({
    points: isRing ? [...points, points[0]] : points, isRing: isRing || apart(points[0], points[points.length - 1]) === 0, isFence,
  }));
}

/** Return how far two lines are apart; a line may be a point. @param {Point[]} one @param {Point[]} other */
function between(one, other) {
  return Math.min(...one.map((point) => place(other, point).away), ...(one.length > 1 ? other.map((point) => place(one, point).away) : []));
}

/** Return where a line is nearest to a point: how far along it, and how far away. @param {Point[]} line @param {Point} point */
function place(line, point) {
  let [gone, best] = [0, { far: 0, away: Infinity }];
  for (const [a, b] of sides(line, false)) {
    const near = nearestOn(point, a, b);
    const away = apart(near.point, point);
    if (away < best.away) best = { far: gone + near.share * apart(a, b), away };
    gone += apart(a, b);
  }
  return best;
}

/** @param {Point[]} line */
const lengthOfLine = (line) => sides(line, false).reduce((sum, [a, b]) => sum + apart(a, b), 0);

/** Return the gap so wide around a point; beyond the end of the line where the point lies there. @param {Barrier} barrier @param {Point} point @param {number} width @returns {Point[]} */
function around({ points, isRing }, point, width) {
  const length = lengthOfLine(points);
  const { far, away } = place(points, point);
  if (isRing) return stretch([...points, ...points.slice(1)], (far - width / 2 + length) % length, Math.min(width, length));
  if ((far < END || far > length - END) && away > width / 4) {
    const end = points[far < END ? 0 : points.length - 1];
    const half = width / 2 / away;
    return [plus(point, minus(point, end), -half), plus(point, minus(point, end), half)];
  }
  return stretch(points, Math.max(0, Math.min(far - width / 2, length - width)), width);
}

/** Return the stretch of the line that a drawn gate covers; the gate as drawn where it bridges a gap. @param {Barrier} barrier @param {Point[]} drawn @returns {Point[]} */
function along({ points, isRing }, drawn) {
  const length = lengthOfLine(points);
  let [start, stop] = [drawn[0], drawn[drawn.length - 1]].map((end) => place(points, end).far).sort((a, b) => a - b);
  if (isRing && stop - start > length / 2) [start, stop] = [stop, start + length];
  if (stop - start < 0.8 * lengthOfLine(drawn)) return drawn;
  return stretch(isRing ? [...points, ...points.slice(1)] : points, start, stop - start);
}

/** Return so long a part of a line. @param {Point[]} line @param {number} start @param {number} length @returns {Point[]} */
function stretch(line, start, length) {
  /** @type {Point[]} */
  const found = [];
  let gone = 0;
  for (const [a, b] of sides(line, false)) {
    const side = apart(a, b);
    const [from, to] = [start, start + length].map((far) => Math.min(1, Math.max(0, (far - gone) / side)));
    if (side && to > from) found.push(...(found.length ? [] : [plus(a, minus(b, a), from)]), plus(a, minus(b, a), to));
    gone += side;
  }
  return found;
}
