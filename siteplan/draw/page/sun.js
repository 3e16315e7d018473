/* How long does the sun reach each spot? The map of the sun over the paper: coarse at first, then whole. */

import * as L from "/leaflet/leaflet-src.esm.js";
import { map } from "./canvas.js";
import { el } from "./element.js";
import { Away, Refused, Stale, ask } from "./server.js";
import { corners, kindOf } from "./shapes.js";
import { change, features, now } from "./state.js";
import { at } from "./symbols.js";

/** @typedef {import("./types.js").State} State */

const NAMES = ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December", "Growing season"];
const AGAIN_MS = 40;
/** @type {L.ImageOverlay | null} */
let layer = null;
let shown = "";
let busy = false;
let wanted = "";

/** @param {Readonly<State>} s */
export const sunKey = (s) => JSON.stringify([s.sun.on, s.sun.month, s.sun.picture?.state, s.sun.picture?.version, s.sun.picture?.fault, s.property?.sound]);

/** Return the panel of the sun. */
export function sunPanel() {
  const { sun, property } = now();
  return [
    el("h2", {}, "Where is the sun?"),
    el("label.toggle", {}, el("input", { type: "checkbox", id: "sun-on", checked: sun.on, disabled: !property?.sound, onchange: (/** @type {any} */ event) => change((s) => { s.sun = { ...s.sun, on: event.target.checked }; }) }), el("span.swatch.sw-sun", { "aria-hidden": "true" }), el("span", {}, "Hours of sun on the ground")),
    property?.sound ? null : el("p", {}, el("small", {}, "It is shown once the property is sound.")),
    sun.on ? el("div.field", {}, el("label", { for: "sun-month" }, "Month"), el("select", { id: "sun-month", onchange: (/** @type {any} */ event) => change((s) => { s.sun = { ...s.sun, month: Number(event.target.value) }; }) }, NAMES.map((name, index) => el("option", { value: String(index), selected: index === sun.month }, name)))) : null,
    sun.on ? el("p", { id: "sun-state" }, el("small", {}, sun.picture?.fault || { coarse: "Coarse, while the whole map is swept.", whole: "Mean hours of direct sun a day; cloud is left out.", working: "The map is being swept." }[/** @type {string} */ (sun.picture?.state ?? "working")])) : null,
    sun.on && sun.picture?.scale ? scale(sun.picture.scale) : null,
  ];
}

/** @param {{top: number, marks: {share: number, label: string}[], colours: string[]}} told */
function scale({ marks, colours }) {
  const bar = el("div.scale-bar");
  bar.style.background = `linear-gradient(to right, ${colours.filter((colour) => /^#[0-9a-f]{6}$/i.test(colour)).join(", ")})`;
  const most = Math.max(...marks.map((mark) => mark.share)) > 1 ? 1 : 100;
  return el("div.scale", {}, bar, el("div.scale-marks", {}, marks.map(({ share, label }) => {
    const mark = el("span", {}, label);
    mark.style.left = `${share * most}%`;
    return mark;
  })), el("p", {}, el("small", {}, "hours a day")));
}

/** Ask for the map where it is wanted and not whole yet. */
export async function followSun() {
  const { sun, property, saving } = now();
  if (!sun.on || !property?.sound || busy || saving === "away") return;
  const key = `${property.version} ${sun.month}`;
  if (key === wanted) return;
  let again = true;
  busy = true;
  try {
    const told = await ask(`/api/sunmap?version=${encodeURIComponent(property.version)}&month=${sun.month}`);
    if (told.state === "whole" || told.state === "done") wanted = key;
    change((s) => { s.sun = { ...s.sun, picture: told.image ? told : { ...s.sun.picture, state: told.state } }; });
    if (wanted !== key) await new Promise((done) => setTimeout(done, AGAIN_MS));
  } catch (error) {
    if (!(error instanceof Away || error instanceof Refused || error instanceof Stale)) throw error;
    again = !(error instanceof Away); // else it is asked again at the next change: when the server is back
    wanted = again ? key : "";
    const fault = error.message;
    change((s) => { s.sun = { ...s.sun, picture: { state: "working", fault } }; });
  } finally {
    busy = false;
  }
  if (again) void followSun();
}

/** Lay the picture on the paper. */
export function drawSun() {
  const { on, picture } = now().sun;
  const key = on && picture?.image ? picture.image : "";
  document.getElementById("paper")?.classList.toggle("sunlit", Boolean(key));
  if (key === shown) return;
  shown = key;
  const before = layer;
  layer = null;
  if (key) {
    const [low, high] = picture.bounds;
    layer = L.imageOverlay(key, L.latLngBounds(at(low), at(high)), { pane: "sun", className: "sp-picture-sun", alt: "Hours of sun", interactive: false }).addTo(map);
  }
  before?.remove();
  clip(picture?.bounds);
}

/** Clip the picture to the boundary, so that its edge is a straight line and not a row of cells. @param {[number, number][] | undefined} bounds */
function clip(bounds) {
  const element = layer?.getElement();
  const outline = features().find((feature) => kindOf(feature) === "boundary");
  if (!element || !bounds || !outline) return;
  const [[left, low], [right, top]] = bounds;
  const share = (/** @type {number} */ value) => `${(100 * value).toFixed(3)}%`;
  element.style.clipPath = `polygon(${corners(outline).map(([x, y]) => `${share((x - left) / (right - left))} ${share((top - y) / (top - low))}`).join(",")})`;
}
