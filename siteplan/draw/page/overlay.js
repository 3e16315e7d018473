/* What lies over the drawing? The line in hand with its measures, what is chosen with its handles, the cursor. */

import * as L from "/leaflet/leaflet-src.esm.js";
import { map, metresPerPixel, renderers } from "./canvas.js";
import { outlineOf } from "./drawing.js";
import { apart, centre, directionOf, heading, middle, plus, sides, signedArea } from "./geometry.js";
import { pinAsked } from "./pins.js";
import { crownWidth } from "./reading.js";
import { corners, extent, isArea, isPlain, kindOf, middleOf, parts } from "./shapes.js";
import { chosen, now, reading, unit } from "./state.js";
import { at, text } from "./symbols.js";
import { toolOf } from "./tools.js";
import { areaText, lengthText } from "./units.js";

/** @typedef {import("./types.js").Point} Point */
/** @typedef {import("./types.js").Feature} Feature */

/** @type {L.LayerGroup} */
let group;
let asked = 0;
let shown = "";

export function startOverlay() {
  group = L.layerGroup().addTo(map);
  map.on("zoomend", () => { shown = ""; drawOverlay(); });
}

/** Draw it anew before the next picture. */
export function drawOverlay() {
  if (!asked) asked = requestAnimationFrame(draw);
}

function draw() {
  asked = 0;
  const s = now();
  const things = chosen();
  const key = JSON.stringify([s.saving, s.theirs?.version, s.drawing, s.hold, s.cursor, s.byKeys, s.selection, s.side, s.corner, s.tapes, s.box, s.tool, s.way, s.pinning, things, map.getZoom(), unit()]);
  if (key === shown) return;
  shown = key;
  group.clearLayers();
  if (s.saving === "conflict") both();
  things.forEach((feature) => around(feature, things.length === 1));
  if (s.drawing) inHand();
  s.tapes.forEach((spot, index) => { disc(spot, 7, "dr-spot"); words(spot, String(index + 1), "dr-measure dr-strong"); });
  (s.pinning?.points ?? []).forEach((/** @type {Point} */ spot, /** @type {number} */ index) => { disc(spot, 6, "dr-spot"); words(spot, String.fromCharCode(65 + index), "dr-measure dr-strong"); });
  if (s.box) L.polygon([[s.box[0][0], s.box[0][1]], [s.box[1][0], s.box[0][1]], [s.box[1][0], s.box[1][1]], [s.box[0][0], s.box[1][1]]].map(([x, y]) => at([x, y])), style("dr-box")).addTo(group);
  if (s.hold && (s.tool !== "select" || s.draft || pinAsked())) holdMark(s.hold);
  if (s.byKeys) cursor(s.cursor);
}

/** @param {string} className */
const style = (className) => ({ className, pane: "hand", renderer: renderers.hand, interactive: false, smoothFactor: 0 });
/** @param {Point} point @param {number} radius @param {string} className */
const disc = (point, radius, className) => L.circleMarker(at(point), { ...style(className), radius }).addTo(group);
/** @param {Point} point @param {string} said @param {string} className */
const words = (point, said, className) => text(point, said, className).addTo(group);

/** @param {import("./types.js").Hold} hold */
function holdMark(hold) {
  hold.guides.forEach((guide) => L.polyline(guide.map(at), style("dr-guide")).addTo(group));
  if (!hold.words) return;
  disc(hold.point, 6, "dr-hold");
  words(hold.point, hold.words, "dr-measure dr-hold-words");
}

/** @param {Point} point */
function cursor(point) {
  const arm = 14 * metresPerPixel();
  for (const way of /** @type {Point[]} */ ([[arm, 0], [0, arm]])) L.polyline([plus(point, way, -1), plus(point, way)].map(at), style("dr-cursor")).addTo(group);
  disc(point, 4, "dr-cursor");
}

/** The line in hand, with the length of each side and the area. */
function inHand() {
  const s = now();
  const drawing = /** @type {import("./types.js").Drawing} */ (s.drawing);
  const { closed } = toolOf(drawing.kind);
  const outline = outlineOf(drawing, s.hold?.point ?? null);
  const whole = closed && outline.length > 2;
  if (outline.length > 1) (whole ? L.polygon(outline.map(at), style("dr-hand")) : L.polyline(outline.map(at), style("dr-hand dr-line"))).addTo(group);
  if (drawing.way === "circle" && outline.length > 8) {
    const [middlePoint, edge] = [drawing.points[0], s.hold?.point ?? drawing.points[0]];
    L.polyline([middlePoint, edge].map(at), style("dr-guide")).addTo(group);
    words(middle(middlePoint, edge), lengthText(apart(middlePoint, edge), unit()), "dr-measure dr-strong");
  } else {
    measure(outline, whole, drawing.way === "corners" ? outline.length - 2 : -1);
  }
  if (whole) words(centre(outline), areaText(Math.abs(signedArea(outline)), unit()), "dr-measure dr-area");
  drawing.points.forEach((point) => disc(point, 4, "dr-corner"));
}

/** Say each side's length beside it, off the shape's middle. @param {Point[]} outline @param {boolean} closed @param {number} last  the side in hand */
function measure(outline, closed, last) {
  const turn = signedArea(outline) < 0 ? -1 : 1;
  sides(outline, closed).forEach(([a, b], index) => {
    const long = apart(a, b) / metresPerPixel();
    if (long < (index === last ? 12 : 34)) return;
    const out = plus(middle(a, b), heading(directionOf(a, b) + 90 * turn), 13 * metresPerPixel());
    const said = lengthText(apart(a, b), unit()) + (index === last ? `  <${directionOf(a, b).toFixed(0)}°` : "");
    words(out, said, index === last ? "dr-measure dr-strong" : "dr-measure");
  });
}

/** Show what is chosen. @param {Feature} feature @param {boolean} alone */
function around(feature, alone) {
  for (const part of parts(feature)) {
    if (feature.geometry.type === "Point") {
      const crown = kindOf(feature) === "tree" ? crownWidth(feature, reading()) / 2 : 0;
      disc(part[0], Math.max(16, crown / metresPerPixel()), "dr-chosen");
    } else {
      (isArea(feature) ? L.polygon(part.map(at), style("dr-chosen")) : L.polyline(part.map(at), style("dr-chosen"))).addTo(group);
    }
  }
  if (!alone || feature.geometry.type === "Point") return;
  const { side, corner } = now();
  const points = corners(feature);
  if (points.length <= 40) measure(points, isArea(feature), -1);
  if (isArea(feature)) words(middleOf(feature), areaText(Math.abs(signedArea(points)), unit()), "dr-measure dr-area dr-below");
  const all = sides(points, isArea(feature));
  if (side !== null && all[side]) L.polyline(all[side].map(at), style("dr-side")).addTo(group);
  if (isPlain(feature) && points.length <= 100) points.forEach((point, index) => disc(point, index === corner ? 7 : 5, index === corner ? "dr-corner dr-taken" : "dr-corner"));
  const grip = turnGrip(feature);
  L.polyline([middleOf(feature), grip].map(at), style("dr-guide")).addTo(group);
  disc(grip, 8, "dr-turn");
  words(plus(grip, [0, 16 * metresPerPixel()]), "turn", "dr-measure");
}

/** Return where the handle lies by which a thing is turned: above it. @param {Feature} feature @returns {Point} */
export function turnGrip(feature) {
  const [, , , top] = extent([feature]) ?? [0, 0, 0, 0];
  return [middleOf(feature)[0], top + 34 * metresPerPixel()];
}

/** Two versions at once: theirs, dashed, under mine. */
function both() {
  const { theirs, waiting } = now();
  const touched = new Set(waiting.flatMap((step) => [...(step.body.put ?? []).map((/** @type {Feature} */ one) => one.id), ...(step.body.remove ?? [])]));
  for (const feature of theirs?.features ?? []) {
    if (!touched.has(feature.id)) continue;
    for (const part of parts(feature)) L.polyline((isArea(feature) ? [...part, part[0]] : part).map(at), style("dr-theirs")).addTo(group);
    words(middleOf(feature), `theirs: ${feature.id}`, "dr-measure");
  }
}
