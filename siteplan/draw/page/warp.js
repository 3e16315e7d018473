/* How does a flat picture lie on four corners? The plane map that takes the unit square to them, and back. Pure.

Heckbert, Fundamentals of Texture Mapping and Image Warping (1989), section 2.2.3: square to quadrilateral. */

/** @typedef {import("./types.js").Point} Point */
/** @typedef {[number, number, number, number, number, number, number, number]} Map8  a b c d e f g h of x = (au + bv + c) / (gu + hv + 1) */

/** Return the map from the unit square (0,0 1,0 1,1 0,1) to four corners in that order. @param {Point[]} corners @returns {Map8} */
export function squareTo([p, q, r, s]) {
  const [dx1, dx2, sx] = [q[0] - r[0], s[0] - r[0], p[0] - q[0] + r[0] - s[0]];
  const [dy1, dy2, sy] = [q[1] - r[1], s[1] - r[1], p[1] - q[1] + r[1] - s[1]];
  const area = dx1 * dy2 - dx2 * dy1;
  const g = (sx * dy2 - dx2 * sy) / area;
  const h = (dx1 * sy - sx * dy1) / area;
  return [q[0] - p[0] + g * q[0], s[0] - p[0] + h * s[0], p[0], q[1] - p[1] + g * q[1], s[1] - p[1] + h * s[1], p[1], g, h];
}

/** @param {Map8} map @param {Point} point @returns {Point} */
export function through([a, b, c, d, e, f, g, h], [u, v]) {
  const w = g * u + h * v + 1;
  return [(a * u + b * v + c) / w, (d * u + e * v + f) / w];
}

/** Return the point of the unit square that the map takes to a point. @param {Map8} map @param {Point} point @returns {Point} */
export function back([a, b, c, d, e, f, g, h], [x, y]) {
  const [m, n, o] = [a - g * x, b - h * x, x - c];
  const [p, q, r] = [d - g * y, e - h * y, y - f];
  const whole = m * q - n * p;
  return [(o * q - n * r) / whole, (m * r - o * p) / whole];
}

/** Return it as CSS has it, for a picture of one pixel's size in u and v. @param {Map8} map @param {number} width @param {number} height */
export function cssMatrix([a, b, c, d, e, f, g, h], width, height) {
  return `matrix3d(${[a / width, d / width, 0, g / width, b / height, e / height, 0, h / height, 0, 0, 1, 0, c, f, 0, 1].join(",")})`;
}
