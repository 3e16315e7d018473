/* Which points has a feature, and what is it like after a move? Pure: features in, new features out. */

import { centre, rounded } from "./geometry.js";

/** @typedef {import("./types.js").Point} Point */
/** @typedef {import("./types.js").Feature} Feature */
/** @typedef {import("./types.js").Geometry} Geometry */

/** Return its kind in our words; a file may have its own. @param {Feature} feature */
export const kindOf = (feature) => feature.kind ?? feature.properties.kind ?? "";

/** Whether its shape can be edited corner by corner. @param {Feature} feature */
export const isPlain = ({ geometry }) => geometry.type === "Point" || geometry.type === "LineString" || (geometry.type === "Polygon" && geometry.coordinates.length === 1);

/** @param {Feature} feature */
export const isArea = ({ geometry }) => geometry.type.endsWith("Polygon");

/** Return the corners of a plain shape: of a ring without the first one repeated. @param {Feature} feature @returns {Point[]} */
export function corners({ geometry }) {
  if (geometry.type === "Point") return [geometry.coordinates];
  if (geometry.type === "LineString") return geometry.coordinates;
  return open(geometry.type === "Polygon" ? geometry.coordinates[0] : parts({ geometry })[0]);
}

/** @param {Point[]} ring @returns {Point[]} */
const open = (ring) => (ring.length > 1 && String(ring[0]) === String(ring[ring.length - 1]) ? ring.slice(0, -1) : ring);

/** Return every ring and line of a shape, rings without the first corner repeated. @param {{geometry: Geometry}} feature @returns {Point[][]} */
export function parts({ geometry }) {
  const { type, coordinates } = geometry;
  if (type === "Point") return [[coordinates]];
  if (type === "MultiPoint" || type === "LineString") return [coordinates];
  if (type === "MultiLineString") return coordinates;
  if (type === "Polygon") return coordinates.map(open);
  return coordinates.flatMap((/** @type {Point[][]} */ rings) => rings.map(open));
}

/** Return the feature with other corners. @param {Feature} feature @param {Point[]} points @returns {Feature} */
export function withCorners(feature, points) {
  const kept = points.map(rounded);
  const { type } = feature.geometry;
  const coordinates = type === "Point" ? kept[0] : type === "LineString" ? kept : [[...kept, kept[0]]];
  return { ...feature, geometry: { type, coordinates } };
}

/** Return the feature with every point moved. @param {Feature} feature @param {(point: Point) => Point} how @returns {Feature} */
export function moved(feature, how) {
  /** @param {any} held @returns {any} */
  const deep = (held) => (typeof held[0] === "number" ? [...rounded(how(held)), ...held.slice(2)] : held.map(deep));
  return { ...feature, geometry: { ...feature.geometry, coordinates: deep(feature.geometry.coordinates) } };
}

/** @param {Feature} feature @returns {Point} */
export function middleOf(feature) {
  const first = corners(feature);
  return isArea(feature) ? centre(first) : [first.reduce((s, p) => s + p[0], 0) / first.length, first.reduce((s, p) => s + p[1], 0) / first.length];
}

/** Return left, low, right and top of features; null of none. @param {Feature[]} features */
export function extent(features) {
  const points = features.flatMap((feature) => parts(feature).flat());
  if (!points.length) return null;
  const [xs, ys] = [points.map((point) => point[0]), points.map((point) => point[1])];
  return [xs, ys].flatMap((values) => [values.reduce((a, b) => Math.min(a, b))]).concat([xs, ys].map((values) => values.reduce((a, b) => Math.max(a, b))));
}

/**
 * Return a name that no feature has yet.
 * @param {string} wanted
 * @param {Iterable<string>} taken
 */
export function freeName(wanted, taken) {
  const known = new Set(taken);
  if (!known.has(wanted)) return wanted;
  const stem = wanted.replace(/-\d+$/, "");
  for (let number = 2; ; number++) if (!known.has(`${stem}-${number}`)) return `${stem}-${number}`;
}
