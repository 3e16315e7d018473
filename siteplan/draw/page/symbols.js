/* How is a thing drawn? As Leaflet layers with the classes that the map has too (symbols.css). */

import * as L from "/leaflet/leaflet-src.esm.js";
import { el, name } from "./element.js";
import { gateGap } from "./gates.js";
import { crown, hedgeOutline, ridge } from "./outlines.js";
import { heldBy, lengthOf } from "./reading.js";
import { kindOf, middleOf, parts } from "./shapes.js";

/** @typedef {import("./types.js").Point} Point */
/** @typedef {import("./types.js").Feature} Feature */
/** @typedef {import("./types.js").Reading} Reading */
/** @typedef {(rings: Point[][], className: string) => L.Layer} Area */

/** The layers of paper, from the lowest up. @type {Record<string, number>} */
export const PANES = { backdrop: 210, under: 230, sun: 250, edge: 270, line: 410, way: 420, bed: 430, hand: 500, mark: 620 };
/** @type {Record<string, string>} */
const PANE_OF = { surface: "under", bed: "bed", pile: "way" };
/** @type {Record<string, string>} */
const SIGNS = {
  tap: "M2 6h9v-3M6 3h7M11 6c3 0 3 2 3 4M13 13a1 1 0 1 0 2 0c0-1-1-2-1-2s-1 1-1 2z",
  door: "M3 14V3h8v11M1 14h14M9 9h.5",
  pile: "M1 13h14M2.500 13c1.500-6 3-8 5.500-8s4 2 5.500 8",
  drop: "M1 13h14M3 13c1-4 3-5 5-5s4 1 5 5M8 1v5M6 4l2 2 2-2",
  level: "M8 2v9M4 7l4 5 4-5M2 14h12",
};
const SVG = "http://www.w3.org/2000/svg";

/** @param {Point} point */
export const at = (point) => L.latLng(point[1], point[0]);
/** @param {{lat: number, lng: number}} place @returns {Point} */
export const planeOf = (place) => [place.lng, place.lat];

/** Return a small drawing of one path. @param {string} path */
function sign(path) {
  const svg = document.createElementNS(SVG, "svg");
  svg.setAttribute("viewBox", "0 0 16 16");
  svg.setAttribute("aria-hidden", "true");
  const line = document.createElementNS(SVG, "path");
  line.setAttribute("d", path);
  svg.append(line);
  return /** @type {HTMLElement} */ (/** @type {unknown} */ (svg));
}

/**
 * Return one feature as Leaflet layers.
 * @param {Feature} feature
 * @param {Feature[]} all
 * @param {Record<string, L.Renderer>} renderers
 * @param {Reading} reading
 * @returns {L.Layer[]}
 */
export function symbol(feature, all, renderers, reading) {
  const kind = kindOf(feature);
  const pane = PANE_OF[kind] ?? "line";
  /** @param {string} className @param {string} [on] */
  const style = (className, on = pane) => ({ className, pane: on, renderer: renderers[on], interactive: false, smoothFactor: 0.4 });
  /** @param {Point[][]} rings @param {string} className @param {string} [on] */
  const area = (rings, className, on) => L.polygon(rings.map((ring) => ring.map(at)), style(className, on));
  /** @param {Point[][]} lines @param {string} className */
  const line = (lines, className) => L.polyline(lines.map((points) => points.map(at)), style(className));
  const shape = parts(feature);
  if (feature.geometry.type === "Point" && kind !== "tree" && kind !== "gate") return [mark(feature, reading)];
  if (kind === "boundary") return [area(shape, "sp-boundary")];
  if (kind === "surface") return [area(shape, `sp-surface sp-${surfaceOf(feature, reading)}`), area(shape, "sp-surface-edge", "edge")];
  if (kind === "building") {
    const top = ridge(feature, reading);
    return [area(shape, (lengthOf(feature, "base", reading) ?? 0) > 0 ? "sp-roof-open" : "sp-roof"), ...(top ? [line([top], "sp-ridge")] : [])];
  }
  if (kind === "tree") return tree(feature, area, reading);
  if (kind === "hedge") return [area([hedgeOutline(feature, reading)], "sp-hedge")];
  if (kind === "fence") return [line(shape, "sp-fence"), line(shape, "sp-fence-posts")];
  if (kind === "gate") {
    const gap = gateGap(feature, all, reading);
    return [line([gap], "sp-gate"), line([gap], "sp-gate-line")];
  }
  if (kind === "bed") return bed(feature, area, reading);
  if (kind === "keepout") return [area(shape, "sp-keepout")];
  if (kind === "pile") return [area(shape, heldBy(feature, "drop", reading) ? "sp-drop" : "sp-pile")];
  return [feature.geometry.type.endsWith("Polygon") ? area(shape, "sp-surface-edge") : line(shape, "sp-fence")];
}

/** @param {Feature} feature @param {Reading} reading */
const surfaceOf = (feature, reading) => String(heldBy(feature, "surface", reading) ?? "").replace(/[^a-z]/g, "");

/** @param {Feature} feature @param {Area} area @param {Reading} reading */
function tree(feature, area, reading) {
  const spiked = heldBy(feature, "foliage", reading) === "evergreen";
  const trunk = (lengthOf(feature, "trunk_diameter", reading) ?? 0.3) / 2;
  const foot = middleOf(feature);
  const ring = Array.from({ length: 24 }, (_, turn) => /** @type {Point} */ ([foot[0] + trunk * Math.cos((turn * Math.PI) / 12), foot[1] + trunk * Math.sin((turn * Math.PI) / 12)]));
  return [area([crown(feature, reading)], spiked ? "sp-crown-evergreen" : "sp-crown-deciduous"), area([ring], "sp-trunk")];
}

/** @param {Feature} feature @param {Area} area @param {Reading} reading */
function bed(feature, area, reading) {
  const shape = parts(feature);
  return [area(shape, heldBy(feature, "proposed", reading) === true ? "sp-bed-proposed" : "sp-bed")];
}

/** @param {Feature} feature @param {Reading} reading */
function mark(feature, reading) {
  const kind = kindOf(feature) === "pile" && heldBy(feature, "drop", reading) ? "drop" : kindOf(feature);
  const html = el("span", {}, sign(SIGNS[kind] ?? SIGNS.pile));
  const icon = L.divIcon({ className: `sp-symbol sp-symbol-${kind in SIGNS ? kind : "pile"}`, html, iconSize: [26, 26] });
  return L.marker(at(/** @type {Point} */ (feature.geometry.coordinates)), { icon, pane: "mark", interactive: false, keyboard: false, alt: "" });
}

/** Return a name or a measure beside a point. @param {Point} point @param {string} words @param {string} className */
export function text(point, words, className) {
  const icon = L.divIcon({ className, html: el("span", {}, name(words)), iconSize: undefined });
  return L.marker(at(point), { icon, pane: "mark", interactive: false, keyboard: false, alt: "" });
}

/** Return the patterns that fill areas, for the page to hold once. */
export function patterns() {
  /** @type {[string, number, number, string, string][]} */
  const known = [
    ["sp-slant", 7, 7, "rotate(45)", "M0 0V7"], ["sp-cross", 9, 9, "rotate(45)", "M0 0V9M0 0H9"],
    ["sp-grass", 26, 22, "", "M4 8l1-4M6 8V3M8 8L7 4M17 19l1-4M19 19v-5M21 19l-1-4"], ["sp-tread", 10, 6, "", "M0 0H10"],
    ["sp-dots", 8, 8, "", "M1.200 2a.8.8 0 1 0 1.600 0a.8.8 0 1 0-1.600 0M5.200 6a.8.8 0 1 0 1.600 0a.8.8 0 1 0-1.600 0"],
  ];
  const svg = document.createElementNS(SVG, "svg");
  svg.setAttribute("width", "0");
  svg.setAttribute("height", "0");
  for (const [id, width, height, turn, path] of known) {
    const made = document.createElementNS(SVG, "pattern");
    for (const [key, value] of Object.entries({ id, width, height, patternUnits: "userSpaceOnUse", ...(turn && { patternTransform: turn }) })) made.setAttribute(key, String(value));
    const line = document.createElementNS(SVG, "path");
    line.setAttribute("d", path);
    made.append(line);
    svg.append(made);
  }
  return el("div.sp-patterns", { "aria-hidden": "true" }, svg);
}
