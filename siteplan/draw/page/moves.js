/* What can be done to things that are chosen: move, turn, copy, mirror, remove, split a side, take out a corner? */

import { apart, isRectangle, middle, mirrored, parallelTo, plus, resized, sides, turned } from "./geometry.js";
import { edit } from "./saving.js";
import { corners, extent, freeName, isArea, isPlain, kindOf, middleOf, moved, withCorners } from "./shapes.js";
import { change, chosen, featureOf, featureWithoutDraft, features, now, say, unit } from "./state.js";
import { lengthText } from "./units.js";

/** @typedef {import("./types.js").Point} Point */
/** @typedef {import("./types.js").Feature} Feature */

/** Return the names of the chosen things in words. @param {Feature[]} things */
export const namesOf = (things) => (things.length > 3 ? `${things.length} things` : things.map((feature) => feature.id).join(", "));

/** Move what is chosen. @param {Point} by  metres */
export function moveBy(by) {
  const things = chosen();
  if (!things.length || !Math.hypot(...by)) return;
  edit(`moved ${namesOf(things)} by ${lengthText(Math.hypot(...by), unit())}`, { put: things.map((feature) => moved(feature, (point) => plus(point, by))) });
}

/** How long keys must rest before what they moved is one step. */
const REST_MS = 500;
/** @type {{by: Point, ids: string, timer: ReturnType<typeof setTimeout> | undefined}} */
let nudged = { by: [0, 0], ids: "", timer: undefined };

/** Move what is chosen by keys: many strokes are one step of the history. @param {Point} by */
export function nudge(by) {
  const ids = now().selection.join("\n");
  if (nudged.ids && nudged.ids !== ids) settle();
  nudged = { by: plus(nudged.by, by), ids, timer: nudged.timer };
  const whole = nudged.by;
  const saved = now().selection.map(featureWithoutDraft);
  change((s) => {
    s.draft = { put: saved.flatMap((feature) => (feature ? [moved(feature, (point) => plus(point, whole))] : [])), says: "" };
    s.said = `Moved by ${lengthText(whole[0], unit())} across, ${lengthText(whole[1], unit())} up.`;
  });
  clearTimeout(nudged.timer);
  nudged.timer = setTimeout(settle, REST_MS);
}

/** Make what was moved by keys a step. */
export function settle() {
  const { by, ids, timer } = nudged;
  clearTimeout(timer);
  nudged = { by: [0, 0], ids: "", timer: undefined };
  if (!ids) return;
  const held = now().selection;
  change((s) => { s.draft = null; s.selection = ids.split("\n"); });
  moveBy(by);
  change((s) => { s.selection = held.length ? held : s.selection; });
}

/** Return the point about which what is chosen is turned: its middle. @returns {Point} */
export function pivot() {
  const things = chosen();
  if (things.length === 1) return middleOf(things[0]);
  const [left, low, right, top] = extent(things) ?? [0, 0, 0, 0];
  return [(left + right) / 2, (low + top) / 2];
}

/** Turn what is chosen. @param {number} degrees  clockwise @param {Point} [about] */
export function turnBy(degrees, about = pivot()) {
  const things = chosen();
  if (!things.length || !degrees) return;
  edit(`turned ${namesOf(things)} by ${Number(degrees.toFixed(2))} degrees`, { put: things.map((feature) => moved(feature, (point) => turned(point, about, degrees))) });
}

/** Copy what is chosen, beside itself. @param {Point} [by] */
export function copy(by) {
  const things = chosen().filter((feature) => kindOf(feature) !== "boundary");
  if (!things.length) return say("A property has one boundary: it cannot be copied.");
  const [left, , right] = extent(things) ?? [0, 0, 0];
  const step = by ?? /** @type {Point} */ ([right - left + 1, 0]);
  const taken = features().map((feature) => feature.id);
  const put = things.map((feature) => {
    const id = freeName(feature.id, taken);
    taken.push(id);
    return { ...moved(feature, (point) => plus(point, step)), id, properties: { ...feature.properties } };
  });
  edit(`copied ${namesOf(things)}`, { put });
  change((s) => { s.selection = put.map((feature) => feature.id); });
}

/** Mirror what is chosen, left to right or up to down, about its middle. @param {"across" | "up"} way */
export function mirror(way) {
  const about = pivot();
  mirrorAt(about, plus(about, way === "across" ? [0, 1] : [1, 0]));
}

/** Mirror what is chosen at the line through two points. @param {Point} a @param {Point} b */
export function mirrorAt(a, b) {
  if (apart(a, b) < 1e-6) return say("The two points lie on each other: a line to mirror at needs two.");
  const things = chosen();
  edit(`mirrored ${namesOf(things)}`, { put: things.map((feature) => turnedRings(moved(feature, (point) => mirrored(point, a, b)))) });
}

/** Keep the way round of rings as it was: mirroring turns it. @param {Feature} feature @returns {Feature} */
const turnedRings = (feature) => (isPlain(feature) && isArea(feature) ? withCorners(feature, corners(feature).reverse()) : feature);

export function remove() {
  const things = chosen();
  if (!things.length) return;
  edit(`removed ${namesOf(things)}`, { remove: things.map((feature) => feature.id) });
  change((s) => { s.selection = []; });
}

/** Put a corner in the middle of a side. @param {number} index */
export function splitSide(index) {
  const [feature] = chosen();
  const points = corners(feature);
  const [a, b] = sides(points, isArea(feature))[index];
  edit(`split a side of ${feature.id}`, { put: [withCorners(feature, [...points.slice(0, index + 1), middle(a, b), ...points.slice(index + 1)])] });
  change((s) => { s.corner = index + 1; s.side = null; });
}

/** Take out a corner. @param {number} index */
export function removeCorner(index) {
  const [feature] = chosen();
  const points = corners(feature);
  if (points.length <= (isArea(feature) ? 3 : 2)) return say(isArea(feature) ? "A shape needs three corners at least." : "A line needs two points at least.");
  edit(`took a corner out of ${feature.id}`, { put: [withCorners(feature, points.filter((_, place) => place !== index))] });
  change((s) => { s.corner = null; });
}

/** Return the feature with a corner elsewhere; a rectangle stays one, unless it is let go of. @param {Feature} feature @param {number} index @param {Point} point @param {boolean} free */
export function withCorner(feature, index, point, free) {
  const points = corners(feature);
  if (!free && isArea(feature) && isRectangle(points)) return withCorners(feature, resized(points, index, point));
  return withCorners(feature, points.map((old, place) => (place === index ? point : old)));
}

/** Put a corner elsewhere. @param {number} index @param {Point} point @param {boolean} [free] */
export function moveCorner(index, point, free = true) {
  const [feature] = chosen();
  edit(`${!free && isRectangle(corners(feature)) ? "resized" : "moved a corner of"} ${feature.id}`, { put: [withCorner(feature, index, point, free)] });
}

/** Make a side as long as it was taped: its end moves; a rectangle stays one. @param {number} index @param {number} length */
export function setSide(index, length) {
  const [feature] = chosen();
  const points = corners(feature);
  const [a, b] = sides(points, isArea(feature))[index];
  const end = plus(a, [(b[0] - a[0]) / apart(a, b), (b[1] - a[1]) / apart(a, b)], length);
  edit(`set a side of ${feature.id} to ${lengthText(length, unit())}`, { put: [withCorner(feature, (index + 1) % points.length, end, false)] });
}

/** Draw the same line again, so far beside. @param {number} distance  metres; to the right of its way where above 0 */
export function parallel(distance) {
  const [feature] = chosen();
  const id = freeName(feature.id, features().map((one) => one.id));
  const kind = kindOf(feature);
  const put = { ...withCorners(feature, parallelTo(corners(feature), distance, isArea(feature))), id };
  edit(`drew ${id}, ${lengthText(Math.abs(distance), unit())} beside ${feature.id}`, kind === "boundary" ? { put: [{ ...put, id: feature.id }] } : { put: [put] });
  change((s) => { s.selection = [kind === "boundary" ? feature.id : id]; });
}

/** Make it other than it was: its properties. @param {Feature} feature @param {string} key @param {any} value  null takes it out */
export function setProperty({ id }, key, value) {
  const feature = featureOf(id);
  if (!feature) return;
  const properties = { ...feature.properties };
  if (value === null || value === "") delete properties[key];
  else properties[key] = value;
  edit(`${key.replaceAll("_", " ")} of ${feature.id}`, { put: [{ ...feature, properties }] });
}

/** Call it otherwise. @param {Feature} feature @param {string} id */
export function rename({ id: before }, id) {
  const feature = featureOf(before);
  if (!id || !feature || id === before) return;
  if (features().some((one) => one.id === id)) return say(`There is a thing called ${id} already. Choose another name.`);
  const index = now().selection.indexOf(feature.id);
  edit(`called ${feature.id} ${id}`, { put: [{ ...feature, id }], remove: [feature.id] });
  change((s) => { s.selection = s.selection.map((old, place) => (place === index ? id : old)); });
}
