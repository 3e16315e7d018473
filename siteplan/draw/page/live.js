/* What does a bed get where it is held now? The newest question wins, at most one is under way. */

import { el } from "./element.js";
import { Away, Refused, Stale, ask } from "./server.js";
import { corners, kindOf } from "./shapes.js";
import { change, featureOf, now } from "./state.js";

/** @typedef {import("./types.js").Feature} Feature */

const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
/** How long a bed must rest before it is asked what turning it would bring. */
const REST_MS = 700;
let busy = false;
let last = "";
/** @type {ReturnType<typeof setTimeout> | undefined} */
let resting;

/** The one bed that is chosen, with what it would be like under the hand. @returns {Feature | null} */
function bedInHand() {
  const { selection, property, saving } = now();
  if (selection.length !== 1 || !property?.sound || saving === "conflict" || saving === "away") return null;
  const feature = featureOf(selection[0]);
  const saved = property.features.some((one) => one.id === selection[0] && kindOf(one) === "bed");
  return saved && feature?.geometry.type === "Polygon" ? feature : null;
}

/** Ask for the figures where the bed, or the property, is another than at the last answer. */
export async function followBed() {
  const feature = bedInHand();
  if (!feature || busy) return;
  const key = JSON.stringify([now().property?.version, feature.id, feature.geometry]);
  if (key === last) return;
  busy = true;
  last = key;
  try {
    const told = await ask("/api/bed", { version: now().property?.version, id: feature.id, outline: corners(feature) });
    change((s) => { if (s.selection[0] === feature.id) s.bed = { ...told, id: feature.id }; });
    clearTimeout(resting);
    resting = setTimeout(() => void askHeadings(key), REST_MS);
  } catch (error) {
    if (!(error instanceof Away || error instanceof Refused || error instanceof Stale)) throw error;
    if (error instanceof Away) last = ""; // it is asked again at the next change: when the server is back
    const said = error instanceof Refused ? error.message : "";
    change((s) => { s.bed = { id: feature.id, fault: said }; });
  } finally {
    busy = false;
  }
  if (last) void followBed();
}

/** Ask what turning the bed would bring, once it rests where it was asked about. @param {string} key */
async function askHeadings(key) {
  const feature = bedInHand();
  if (!feature || busy || now().draft || key !== last) return;
  try {
    const told = await ask("/api/bed/headings", { version: now().property?.version, id: feature.id, outline: corners(feature) });
    if (key === last) change((s) => { if (s.bed?.id === feature.id && s.bed.fault === undefined) s.bed = { ...s.bed, ...told, id: feature.id }; });
  } catch (error) {
    if (!(error instanceof Away || error instanceof Refused || error instanceof Stale)) throw error;
    if (error instanceof Away && key === last) last = "";
  }
}

/** Return the figures of a bed for its card. @param {Feature} feature */
export function figuresOf(feature) {
  if (kindOf(feature) !== "bed") return null;
  const { bed, property } = now();
  if (!property?.sound) return el("p", {}, el("small", {}, "Its sun is shown once the property is sound: see what check says."));
  if (bed?.id !== feature.id) return el("p.figures", { id: "bed-figures" }, "Its sun is being counted.");
  if (bed.fault !== undefined) return el("p.caution.fault", { id: "bed-figures" }, bed.fault || "Its sun is not known now.");
  return el("div.figures", { id: "bed-figures" },
    bed.forbidden ? el("p.caution.fault", {}, bed.forbidden) : null,
    el("dl", {},
      fact("Season", `${bed.season_h.toFixed(1)} h a day`), fact("Darkest spot", `${bed.worst_h.toFixed(1)} h`),
      fact("Sun score", `${Math.round(bed.sun_score)} of 100`), fact("Light", bed.light_class),
      typeof bed.orientation_score === "number" ? fact("Heading score", `${Math.round(bed.orientation_score)} of 100`) : null,
      fact("Wheeling", bed.minutes !== null && bed.minutes !== undefined ? `${bed.minutes.toFixed(1)} min there and back` : bed.no_way ? "no way for the barrow" : "being counted")),
    el("div.months-of", { role: "img", "aria-label": `Hours of sun a day by month: ${bed.months.map((/** @type {number} */ hours, /** @type {number} */ index) => `${MONTHS[index]} ${hours.toFixed(1)}`).join(", ")}` },
      bed.months.map((/** @type {number} */ hours, /** @type {number} */ index) => bar(hours, MONTHS[index]))),
    (bed.said ?? []).map((/** @type {string} */ line) => el("p", {}, line)));
}

/** @param {string} term @param {string} words */
const fact = (term, words) => el("div", {}, el("dt", {}, term), el("dd", {}, words));

/** @param {number} hours @param {string} month */
function bar(hours, month) {
  const fill = el("i");
  fill.style.height = `${Math.min(100, (hours / 16) * 100)}%`;
  return el("span", { "aria-hidden": "true" }, el("b", {}, hours.toFixed(1)), el("span.column", {}, fill), el("small", {}, month.charAt(0)));
}
