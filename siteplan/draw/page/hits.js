/* Which thing lies under the pointer? The smallest that is near; handles of what is chosen first. */

import { metresPerPixel } from "./canvas.js";
import { apart, inside, nearestOn, sides, signedArea } from "./geometry.js";
import { turnGrip } from "./overlay.js";
import { crownWidth } from "./reading.js";
import { corners, extent, isArea, isPlain, kindOf, parts } from "./shapes.js";
import { chosen, features, now, reading } from "./state.js";

/** @typedef {import("./types.js").Point} Point */
/** @typedef {import("./types.js").Feature} Feature */
/** @typedef {{what: "turn"} | {what: "corner", index: number} | {what: "thing", id: string} | null} Hit */

/** Return what the pointer takes hold of. @param {Point} point @param {boolean} touch @returns {Hit} */
export function hit(point, touch) {
  const reach = (touch ? 22 : 10) * metresPerPixel();
  const things = chosen();
  if (things.length === 1 && things[0].geometry.type !== "Point") {
    if (apart(turnGrip(things[0]), point) < reach * 1.2) return { what: "turn" };
    if (isPlain(things[0]) && !isSmall(things[0], reach)) {
      const near = corners(things[0]).map((corner, index) => ({ index, away: apart(corner, point) })).sort((a, b) => a.away - b.away)[0];
      if (near && near.away < reach) return { what: "corner", index: near.index };
    }
  }
  const found = features().map((feature) => ({ feature, size: sizeUnder(feature, point, reach) })).filter((one) => one.size !== null)
    .sort((a, b) => Number(a.size) - Number(b.size));
  return found.length ? { what: "thing", id: found[0].feature.id } : null;
}

/** Whether its corners lie so near to each other that only the whole can be taken hold of. @param {Feature} feature @param {number} reach */
function isSmall(feature, reach) {
  const [left, low, right, top] = extent([feature]) ?? [0, 0, 0, 0];
  return Math.hypot(right - left, top - low) < 3.2 * reach;
}

/** Return the area of a thing that lies under the point (lines and marks have next to none); null where it does not. @param {Feature} feature @param {Point} point @param {number} reach */
function sizeUnder(feature, point, reach) {
  const kind = kindOf(feature);
  if (feature.geometry.type === "Point") {
    const crown = kind === "tree" ? crownWidth(feature, reading()) / 2 : 0;
    const away = apart(feature.geometry.coordinates, point);
    return away < Math.max(reach, 0) ? 0 : away < crown ? Math.PI * crown ** 2 : null;
  }
  const near = (/** @type {Point[]} */ line) => sides(line, isArea(feature)).some(([a, b]) => apart(nearestOn(point, a, b).point, point) < reach * 0.7);
  const rings = parts(feature);
  if (!isArea(feature) || kind === "boundary") return rings.some(near) ? 0.001 : null;
  const holds = rings.filter((ring) => inside(point, ring)).length % 2 === 1;
  return holds || rings.some(near) ? Math.abs(signedArea(corners(feature))) : null;
}

/** Return the side of the one chosen thing that lies under the pointer; null of none. @param {Point} point @param {boolean} touch */
export function sideUnder(point, touch) {
  const [feature] = chosen();
  if (!feature || now().selection.length !== 1 || feature.geometry.type === "Point" || !isPlain(feature)) return null;
  const reach = (touch ? 20 : 9) * metresPerPixel();
  const near = sides(corners(feature), isArea(feature)).map(([a, b], index) => ({ index, away: apart(nearestOn(point, a, b).point, point) })).sort((a, b) => a.away - b.away)[0];
  return near && near.away < reach ? near.index : null;
}

/** Return the names of the things that lie wholly within a frame. @param {Point} a @param {Point} b */
export function within(a, b) {
  const [left, right] = [Math.min(a[0], b[0]), Math.max(a[0], b[0])];
  const [low, top] = [Math.min(a[1], b[1]), Math.max(a[1], b[1])];
  return features().filter((feature) => parts(feature).flat().every(([x, y]) => x >= left && x <= right && y >= low && y <= top)).map((feature) => feature.id);
}
