/* What does the pointer take hold of? Corners, middles, edges, right angles, parallels. Pure. */

import { apart, cross, crossing, dot, heading, middle, minus, nearestOn, plus } from "./geometry.js";

/** @typedef {import("./types.js").Point} Point */
/** @typedef {import("./types.js").Hold} Hold */
/** @typedef {{corners: Point[], sides: [Point, Point][]}} Known  what can be taken hold of */
/** @typedef {{from: Point | null, first: Point | null, before: [Point, Point] | null, direction: number | null}} Line  the line in hand */

/** Return what may be taken hold of, of shapes given as their corners. @param {{points: Point[], closed: boolean}[]} shapes @returns {Known} */
export function known(shapes) {
  /** @type {Known} */
  const found = { corners: [], sides: [] };
  for (const { points, closed } of shapes) {
    found.corners.push(...points);
    points.forEach((point, index) => {
      const next = points[index + 1] ?? (closed && points.length > 2 ? points[0] : null);
      if (next) found.sides.push([point, next]);
    });
  }
  return found;
}

/**
 * Return where the pointer takes hold, and in which words; the pointer's own place where there is nothing near.
 * @param {Point} pointer
 * @param {Known} all
 * @param {Line} line
 * @param {number} reach  metres
 * @returns {Hold}
 */
export function holdAt(pointer, all, line, reach) {
  if (line.direction !== null && line.from) return alongDirection(pointer, all, line.from, line.direction, reach);
  const corner = nearest(pointer, line.first ? [...all.corners, line.first] : all.corners, reach);
  if (corner) return { point: corner, words: line.first && apart(corner, line.first) < 1e-9 ? "first corner" : "corner", guides: [] };
  const centre = nearest(pointer, all.sides.map(([a, b]) => middle(a, b)), reach);
  if (centre) return { point: centre, words: "middle of a side", guides: [] };
  const edge = nearestEdge(pointer, all.sides, reach);
  const way = line.from ? squareWay(pointer, all, line, reach) : null;
  if (!line.from || !way) return edge ? { point: edge.point, words: "edge", guides: [] } : { point: pointer, words: "", guides: [] };
  if (edge) {
    const met = crossing(line.from, way.way, edge.a, minus(edge.b, edge.a));
    if (met && apart(met, pointer) < reach) return { point: met, words: `${way.words}, edge`, guides: [[line.from, met]] };
  }
  const level = withFirst(way.point, way.way, line, reach);
  if (level) return { point: level.point, words: `${way.words}, ${level.words}`, guides: [[line.from, level.point], [level.of, level.point]] };
  return edge ? { point: edge.point, words: "edge", guides: [] } : { point: way.point, words: way.words, guides: [[line.from, way.point]] };
}

/** @param {Point} pointer @param {Known} all @param {Point} from @param {number} direction @param {number} reach @returns {Hold} */
function alongDirection(pointer, all, from, direction, reach) {
  const way = heading(direction);
  const point = plus(from, way, Math.max(0, dot(minus(pointer, from), way)));
  for (const [a, b] of all.sides) {
    const met = crossing(from, way, a, minus(b, a));
    if (met && apart(met, point) < reach && apart(nearestOn(met, a, b).point, met) < 1e-6) return { point: met, words: "edge", guides: [[from, met]] };
  }
  return { point, words: `direction ${Number(direction.toFixed(1))}°`, guides: [[from, point]] };
}

/** @param {Point} pointer @param {Point[]} points @param {number} reach */
function nearest(pointer, points, reach) {
  let best = reach;
  /** @type {Point | null} */
  let found = null;
  for (const point of points) {
    const away = apart(point, pointer);
    if (away < best) [best, found] = [away, point];
  }
  return found;
}

/** @param {Point} pointer @param {[Point, Point][]} sides @param {number} reach */
function nearestEdge(pointer, sides, reach) {
  /** @type {{point: Point, a: Point, b: Point} | null} */
  let found = null;
  let best = reach;
  for (const [a, b] of sides) {
    const { point } = nearestOn(pointer, a, b);
    const away = apart(point, pointer);
    if (away < best) [best, found] = [away, { point, a, b }];
  }
  return found;
}

/** Return the way square to, or along, a known side, that passes near the pointer. @param {Point} pointer @param {Known} all @param {Line} line @param {number} reach */
function squareWay(pointer, all, line, reach) {
  const from = /** @type {Point} */ (line.from);
  /** @type {[Point, string, string][]} */
  const ways = [];
  if (line.before) ways.push([unitOf(line.before), "straight on", "right angle"]);
  ways.push([[0, 1], "straight up the paper", "straight across the paper"]);
  for (const side of all.sides) ways.push([unitOf(side), "parallel", "right angle to a side"]);
  const reachOf = minus(pointer, from);
  /** @type {{way: Point, point: Point, words: string} | null} */
  let found = null;
  let best = reach;
  for (const [way, along, square] of ways) {
    for (const [axis, words] of /** @type {[Point, string][]} */ ([[way, along], [[-way[1], way[0]], square]])) {
      const off = Math.abs(cross(axis, reachOf));
      if (off < best - 1e-9 && Math.abs(dot(axis, reachOf)) > reach) [best, found] = [off, { way: axis, point: plus(from, axis, dot(axis, reachOf)), words }];
    }
  }
  return found;
}

/** @param {[Point, Point]} side @returns {Point} */
function unitOf([a, b]) {
  const length = apart(a, b) || 1;
  return [(b[0] - a[0]) / length, (b[1] - a[1]) / length];
}

/** Return the point on the way that lies square to the first corner. @param {Point} point @param {Point} way @param {Line} line @param {number} reach */
function withFirst(point, way, line, reach) {
  const { from, first } = line;
  if (!from || !first || apart(from, first) < 1e-9) return null;
  const foot = plus(from, way, dot(minus(first, from), way));
  return apart(foot, from) > reach && apart(foot, point) < reach ? { point: foot, of: first, words: "level with the first corner" } : null;
}
