/* Where does each name stand on the paper? On its thing, or beside it where that is free; a name with no room is hidden. */

import { map } from "./canvas.js";
import { extent } from "./shapes.js";
import { at } from "./symbols.js";

/** @typedef {import("./types.js").Feature} Feature */
/** @typedef {[number, number, number, number]} Box  left, top, right, bottom [pixels] */
/** @typedef {{feature: Feature, label: import("/leaflet/leaflet-src.esm.js").Marker, first: boolean}} Named */

/** Wide and tall of the letters, near enough to place a name without asking the browser for its size. [pixels] */
const LETTER = 6.4;
const TALL = 16;
/**
 * Place all names: those of beds first, then those of large things; none covers a mark or another name.
 * @param {Named[]} named
 * @param {import("./types.js").Point[]} marks
 */
export function placeNames(named, marks) {
  /** @type {Box[]} */
  const taken = marks.map((mark) => {
    const { x, y } = map.latLngToLayerPoint(at(mark));
    return [x - 14, y - 14, x + 14, y + 14];
  });
  const sized = named.map((one) => ({ ...one, room: roomOf(one.feature) })).sort((a, b) => Number(b.first) - Number(a.first) || b.room - a.room);
  for (const { feature, label, first, room } of sized) {
    const wide = LETTER * Math.min(feature.id.length, 22) + 10;
    const { x, y } = map.latLngToLayerPoint(label.getLatLng());
    const step = stepsOf(feature, wide).find((one) => !taken.some((box) => meet(box, [x - wide / 2, y + one - TALL / 2, x + wide / 2, y + one + TALL / 2])));
    const fits = step !== undefined && (first ? room > 10 : room > 20 && wide < 1.8 * room + 26);
    const element = label.getElement();
    element?.classList.toggle("dr-hidden", !fits);
    if (!fits) continue;
    const words = /** @type {HTMLElement | null | undefined} */ (element?.firstElementChild);
    if (words) words.style.top = `${step}px`;
    taken.push([x - wide / 2, y + step - TALL / 2, x + wide / 2, y + step + TALL / 2]);
  }
}

/** Return how far a name may stand from the middle of its thing, down or up: beside one that it would cover. [pixels] @param {Feature} feature @param {number} wide */
function stepsOf(feature, wide) {
  const [left, low, right, top] = extent([feature]) ?? [0, 0, 0, 0];
  const scale = map.getZoomScale(map.getZoom(), 0);
  const beside = ((top - low) * scale) / 2 + TALL / 2 + 3;
  const small = feature.geometry.type !== "Point" && ((right - left) * scale < wide + 4 || (top - low) * scale < TALL + 8);
  return small ? [beside, -beside, beside + TALL, 0] : [0, -TALL - 1, TALL + 1, -2 * TALL, 2 * TALL];
}

/** Return the longer side of a thing on the screen. [pixels] @param {Feature} feature */
function roomOf(feature) {
  const [left, low, right, top] = extent([feature]) ?? [0, 0, 0, 0];
  const least = feature.geometry.type === "Point" ? 60 : 0;
  return Math.max((right - left) * map.getZoomScale(map.getZoom(), 0), (top - low) * map.getZoomScale(map.getZoom(), 0) * 0.6, least);
}

/** @param {Box} a @param {Box} b */
const meet = (a, b) => a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];
