/* How long, how large, where do they meet? Pure geometry in the plane, for previews alone: the server decides. */

/** @typedef {import("./types.js").Point} Point */

/** @type {(a: Point, b: Point) => Point} */
export const minus = (a, b) => [a[0] - b[0], a[1] - b[1]];
/** @type {(a: Point, b: Point, share?: number) => Point} */
export const plus = (a, b, share = 1) => [a[0] + b[0] * share, a[1] + b[1] * share];
/** @type {(a: Point, b: Point) => number} */
export const apart = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);
/** @type {(a: Point, b: Point) => Point} */
export const middle = (a, b) => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
/** @type {(a: Point, b: Point) => number} */
export const dot = (a, b) => a[0] * b[0] + a[1] * b[1];
/** @type {(a: Point, b: Point) => number} */
export const cross = (a, b) => a[0] * b[1] - a[1] * b[0];
/** Round to a tenth of a millimetre, as the file is written. @type {(p: Point) => Point} */
export const rounded = (p) => [Math.round(p[0] * 1e4) / 1e4 + 0, Math.round(p[1] * 1e4) / 1e4 + 0];

/** Return the way one unit long at so many degrees clockwise from up. @param {number} degrees @returns {Point} */
export function heading(degrees) {
  const angle = (degrees * Math.PI) / 180;
  return [Math.sin(angle), Math.cos(angle)];
}

/** Return the direction from a to b, in degrees clockwise from up, 0 to 360. @param {Point} a @param {Point} b */
export function directionOf(a, b) {
  return ((Math.atan2(b[0] - a[0], b[1] - a[1]) * 180) / Math.PI + 360) % 360;
}

/** Return the area with its sign: above 0 where the ring runs counterclockwise. @param {Point[]} ring */
export function signedArea(ring) {
  const from = ring[0] ?? [0, 0];
  return ring.reduce((sum, point, index) => sum + cross(minus(point, from), minus(ring[(index + 1) % ring.length], from)), 0) / 2;
}

/** Return the pairs of points of a line, or of a ring. @param {Point[]} points @param {boolean} closed @returns {[Point, Point][]} */
export function sides(points, closed) {
  /** @type {[Point, Point][]} */
  const found = points.slice(1).map((point, index) => [points[index], point]);
  if (closed && points.length > 2) found.push([points[points.length - 1], points[0]]);
  return found;
}

/** Return the centre of gravity of a ring; the mean of its points where it has no area. @param {Point[]} ring @returns {Point} */
export function centre(ring) {
  const area = signedArea(ring);
  const from = ring[0];
  if (Math.abs(area) < 1e-9) return [ring.reduce((s, p) => s + p[0], 0) / ring.length, ring.reduce((s, p) => s + p[1], 0) / ring.length];
  let [x, y] = [0, 0];
  sides(ring, true).forEach(([a, b]) => {
    const [p, q] = [minus(a, from), minus(b, from)];
    x += (p[0] + q[0]) * cross(p, q);
    y += (p[1] + q[1]) * cross(p, q);
  });
  return [from[0] + x / (6 * area), from[1] + y / (6 * area)];
}

/** Return the nearest point of a side, and how far along it lies (0 to 1). @param {Point} point @param {Point} a @param {Point} b */
export function nearestOn(point, a, b) {
  const way = minus(b, a);
  const length = dot(way, way);
  const share = length ? Math.min(1, Math.max(0, dot(minus(point, a), way) / length)) : 0;
  return { point: plus(a, way, share), share };
}

/** Return where two endless lines cross; null where they are parallel. @param {Point} a @param {Point} way @param {Point} b @param {Point} other @returns {Point | null} */
export function crossing(a, way, b, other) {
  const across = cross(way, other);
  if (Math.abs(across) < 1e-9 * Math.hypot(...way) * Math.hypot(...other)) return null;
  return plus(a, way, cross(minus(b, a), other) / across);
}

/** Whether a point lies within a ring. @param {Point} point @param {Point[]} ring */
export function inside(point, ring) {
  let within = false;
  sides(ring, true).forEach(([a, b]) => {
    if (a[1] > point[1] !== b[1] > point[1] && point[0] < a[0] + ((point[1] - a[1]) / (b[1] - a[1])) * (b[0] - a[0])) within = !within;
  });
  return within;
}

/** Return the point turned about another, in degrees clockwise. @param {Point} point @param {Point} about @param {number} degrees @returns {Point} */
export function turned(point, about, degrees) {
  const angle = (-degrees * Math.PI) / 180;
  const [x, y] = minus(point, about);
  return plus(about, [x * Math.cos(angle) - y * Math.sin(angle), x * Math.sin(angle) + y * Math.cos(angle)]);
}

/** Return the point mirrored at the line through a and b. @param {Point} point @param {Point} a @param {Point} b @returns {Point} */
export function mirrored(point, a, b) {
  const way = minus(b, a);
  const foot = plus(a, way, dot(minus(point, a), way) / dot(way, way));
  return plus(foot, minus(foot, point));
}

/** Return the corners of the rectangle that lies square to the paper. @param {Point} a @param {Point} c @returns {Point[]} */
export function boxOf(a, c) {
  return [a, [c[0], a[1]], c, [a[0], c[1]]];
}

/** Return the rectangle on the side a-b that reaches as far as a third point. @param {Point} a @param {Point} b @param {Point} c @returns {Point[]} */
export function rectangleOn(a, b, c) {
  const way = minus(b, a);
  const length = Math.hypot(...way) || 1;
  /** @type {Point} */
  const across = [-way[1] / length, way[0] / length];
  const depth = dot(minus(c, a), across);
  return [a, b, plus(b, across, depth), plus(a, across, depth)];
}

/** Whether four corners make a rectangle, to a millimetre in a metre. @param {Point[]} ring */
export function isRectangle(ring) {
  if (ring.length !== 4) return false;
  return ring.every((corner, index) => {
    const [before, after] = [minus(ring[(index + 3) % 4], corner), minus(ring[(index + 1) % 4], corner)];
    return Math.abs(dot(before, after)) <= 1e-3 * Math.hypot(...before) * Math.hypot(...after);
  });
}

/** Return the rectangle with one corner elsewhere: the corner across stays, and so do the right angles. @param {Point[]} ring @param {number} index @param {Point} point @returns {Point[]} */
export function resized(ring, index, point) {
  const [next, across, last] = [1, 2, 3].map((step) => (index + step) % 4);
  const fixed = ring[across];
  const [u, v] = [minus(ring[next], fixed), minus(ring[last], fixed)];
  const far = minus(point, fixed);
  const made = [...ring];
  made[index] = point;
  made[next] = plus(fixed, u, dot(far, u) / dot(u, u));
  made[last] = plus(fixed, v, dot(far, v) / dot(v, v));
  return made;
}

/**
 * Return the corners of a circle, so many that it strays by at most 1 cm, and that its area is that of the circle.
 * @param {Point} middlePoint
 * @param {number} radius
 */
export function circleOf(middlePoint, radius) {
  const count = Math.min(96, Math.max(16, 4 * Math.ceil(Math.PI / Math.acos(Math.max(0, 1 - 0.01 / Math.max(radius, 0.011))) / 4)));
  const reach = radius * Math.sqrt((2 * Math.PI) / count / Math.sin((2 * Math.PI) / count));
  return Array.from({ length: count }, (_, number) => plus(middlePoint, heading((-360 * number) / count), reach));
}

/**
 * Return a line moved sideways by a distance, to the right of its way where it is above 0; corners stay mitred.
 * @param {Point[]} points
 * @param {number} distance
 * @param {boolean} closed
 * @returns {Point[]}
 */
export function parallelTo(points, distance, closed) {
  const moved = sides(points, closed).map(([a, b]) => {
    const way = minus(b, a);
    const length = Math.hypot(...way) || 1;
    /** @type {Point} */
    const across = [(way[1] / length) * distance, (-way[0] / length) * distance];
    return /** @type {[Point, Point]} */ ([plus(a, across), plus(b, across)]);
  });
  return points.map((_, index) => {
    const before = moved[index - 1] ?? (closed ? moved[moved.length - 1] : null);
    const after = moved[index] ?? null;
    if (!before || !after) return before ? before[1] : after[0];
    return crossing(before[0], minus(before[1], before[0]), after[0], minus(after[1], after[0])) ?? after[0];
  });
}
