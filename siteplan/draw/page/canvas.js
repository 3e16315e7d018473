/* What lies on the paper? Leaflet's canvas in metres: the things drawn, their names, north and a scale bar. */

import * as L from "/leaflet/leaflet-src.esm.js";
import { el } from "./element.js";
import { placeNames } from "./names.js";
import { extent, kindOf, middleOf } from "./shapes.js";
import { features, now, reading } from "./state.js";
import { PANES, at, patterns, planeOf, symbol, text } from "./symbols.js";

/** @typedef {import("./types.js").Point} Point */
/** @typedef {import("./types.js").Feature} Feature */

const NAMED = new Set(["building", "tree", "bed", "pile", "keepout"]);

/** @type {L.Map} */
export let map;
/** @type {Record<string, L.Renderer>} */
export const renderers = {};
/** @type {Map<string, {feature: Feature, layers: L.Layer[], label: L.Marker | null}>} */
const drawn = new Map();
/** What gates hang on; where it changes they are drawn anew. */
let fences = "";

/** Start the canvas in a box of the page. @param {HTMLElement} box */
export function startCanvas(box) {
  map = L.map(box, {
    crs: L.CRS.Simple, zoomSnap: 0, zoomDelta: 0.5, minZoom: -3, maxZoom: 10, wheelPxPerZoomLevel: 120, attributionControl: false,
    keyboard: false, boxZoom: false, doubleClickZoom: false, zoomControl: false, zoomAnimation: false, fadeAnimation: false,
  });
  for (const [name, height] of Object.entries(PANES)) {
    map.createPane(name).style.zIndex = String(height);
    renderers[name] = L.svg({ pane: name, padding: 0.5 });
  }
  box.append(patterns());
  map.setView([10, 10], 4);
  map.addControl(new (scaleBar())());
  map.addControl(new (northArrow())());
  map.on("zoomend", mindNames);
  new ResizeObserver(() => map.invalidateSize({ pan: false, animate: false })).observe(box);
  drawAll();
}

/** Return how many metres a pixel has. */
export const metresPerPixel = () => 1 / map.getZoomScale(map.getZoom(), 0);

/** Return the point of the plane under the pointer. @param {{clientX: number, clientY: number}} event @returns {Point} */
export const pointUnder = (event) => planeOf(map.mouseEventToLatLng(/** @type {MouseEvent} */ (event)));

/** Show all that is drawn, or a first sheet of paper where nothing is. */
export function showAll() {
  const [left, low, right, top] = extent(features()) ?? [0, 0, 30, 20];
  const margin = 0.06 * Math.max(right - left, top - low, 4);
  map.fitBounds(L.latLngBounds(at([left - margin, low - margin]), at([right + margin, top + margin])), { animate: false });
}

/** Keep a point in view, as the cursor of the keys goes. @param {Point} point */
export const keepInView = (point) => map.panInside(at(point), { padding: [40, 40], animate: false });

/** Draw what changed since the last time. */
export function drawAll() {
  const all = features();
  const now_ = new Set(all.map((feature) => feature.id));
  let changed = false;
  let mixed = false; // whether something came to lie on top of what it belongs beneath
  const hung = JSON.stringify(all.filter((feature) => ["fence", "hedge"].includes(kindOf(feature))).map(({ geometry, properties }) => [geometry, properties]));
  for (const [id, held] of drawn) {
    if (now_.has(id)) continue;
    forget(id, held);
    changed = true;
  }
  for (const feature of all) {
    const held = drawn.get(feature.id);
    if (held?.feature === feature && !(kindOf(feature) === "gate" && hung !== fences)) continue;
    if (held) forget(feature.id, held);
    const layers = symbol(feature, all, renderers, reading());
    mixed ||= !held || !["bed", "tree"].includes(kindOf(feature));
    const label = NAMED.has(kindOf(feature)) ? text(middleOf(feature), feature.id, `sp-label dr-name dr-name-${kindOf(feature)}`) : null;
    for (const layer of label ? [...layers, label] : layers) layer.addTo(map);
    drawn.set(feature.id, { feature, layers, label });
    changed = true;
  }
  fences = hung;
  if (!changed) return;
  if (mixed) order(all);
  mindNames();
}

/** @param {string} id @param {{layers: L.Layer[], label: L.Marker | null}} held */
function forget(id, held) {
  held.layers.forEach((layer) => layer.remove());
  held.label?.remove();
  drawn.delete(id);
}

/** Lay large ground under small, and roofs under crowns. @param {Feature[]} all */
function order(all) {
  const rank = ["boundary", "keepout", "building", "hedge", "fence", "gate", "tree"];
  const sized = all.map((feature) => ({ feature, size: size(feature) })).sort((a, b) => rank.indexOf(kindOf(a.feature)) - rank.indexOf(kindOf(b.feature)) || b.size - a.size);
  for (const { feature } of sized) drawn.get(feature.id)?.layers.forEach((layer) => layer instanceof L.Path && layer.bringToFront());
}

/** @param {Feature} feature */
function size(feature) {
  const [left, low, right, top] = extent([feature]) ?? [0, 0, 0, 0];
  return (right - left) * (top - low);
}

function mindNames() {
  const held = [...drawn.values()];
  const marks = held.filter(({ feature, label }) => !label && feature.geometry.type === "Point" && kindOf(feature) !== "gate").map(({ feature }) => feature.geometry.coordinates);
  placeNames(held.flatMap(({ feature, label }) => (label ? [{ feature, label, first: kindOf(feature) === "bed" }] : [])), marks);
}

/** A bar of four fields, metres above and feet below, as on a drawn plan. */
function scaleBar() {
  return L.Control.extend({
    options: { position: "bottomleft" },
    onAdd() {
      const rows = [["m", 1], ["ft", 0.3048]].map(([unit_, metres]) => {
        const bar = el("div.sp-scale-bar", {}, el("i"), el("i"), el("i"), el("i"));
        const words = el("span");
        return { unit: String(unit_), metres: Number(metres), bar, words, row: el("div.sp-scale-row", {}, bar, words) };
      });
      const update = () => rows.forEach(({ unit: unit_, metres, bar, words }) => {
        const most = 130 * (metresPerPixel() / metres);
        const power = 10 ** Math.floor(Math.log10(most));
        const count = [8, 4, 2, 1].map((step) => step * power).find((value) => value <= most) ?? power;
        bar.style.width = `${(count * metres) / metresPerPixel()}px`;
        words.textContent = `${Number(count.toPrecision(3))} ${unit_}`;
      });
      map.on("zoomend resize", update);
      update();
      return el("div.sp-scale", {}, rows.map((row) => row.row));
    },
  });
}

/** The north arrow, turned as the plan lies. */
function northArrow() {
  return L.Control.extend({
    options: { position: "topright" },
    onAdd: () => el("div.sp-north", { id: "north", role: "img" }),
  });
}

/** Turn the north arrow as the property says. */
export function drawNorth() {
  const box = document.getElementById("north");
  const place = now().property?.place;
  const key = String(place?.bearing ?? "none");
  if (!box || box.dataset.key === key) return;
  box.dataset.key = key;
  box.setAttribute("aria-label", place ? `The top of the paper lies ${place.bearing} degrees clockwise from north` : "Where north lies is not known yet");
  const svg = new DOMParser().parseFromString(
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 60" aria-hidden="true"><circle cx="30" cy="30" r="13" class="ring"/>' +
    '<g><path class="dark" d="M30 8V44L23 40z"/><path class="light" d="M30 8V44l7-4z"/><text x="30" y="7">N</text></g></svg>', "image/svg+xml").documentElement;
  svg.querySelector("g")?.setAttribute("transform", `rotate(${-(place?.bearing ?? 0)} 30 30)`);
  if (!place) svg.querySelector("text")?.replaceChildren("?");
  box.replaceChildren(document.importNode(svg, true));
}

