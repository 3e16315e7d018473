/* What lies under the drawing? A photo or a scanned sketch: chosen, scaled by two points, or straightened by four. */

import { map } from "./canvas.js";
import { button, el } from "./element.js";
import { form } from "./fields.js";
import { askPoints, endPins, pinAsked, pinned } from "./pins.js";
import { take } from "./saving.js";
import { Away, Refused, Stale, ask } from "./server.js";
import { change, now, say, unit } from "./state.js";
import { at, planeOf } from "./symbols.js";
import { typedLength } from "./typed.js";
import { back, cssMatrix, squareTo } from "./warp.js";

/** @typedef {import("./types.js").Point} Point */
/** @typedef {import("./types.js").State} State */
/** @typedef {import("./types.js").Backdrop} Backdrop */

const LARGEST = 25e6;
/** @type {HTMLImageElement} */
let picture;
/** Where a picture lies that has no place yet: over the middle of what was seen when it came. @type {Point[] | null} */
let loose = null;

export function startBackdrop() {
  picture = el("img.dr-backdrop", { alt: "" });
  picture.hidden = true;
  map.getPane("backdrop")?.append(picture);
  map.on("zoom viewreset zoomend", lay);
}

/** @param {Readonly<State>} s */
export const backdropKey = (s) => JSON.stringify([s.property?.backdrop, s.pinning, unit()]);

/** Return where its corners lie: top left, top right, bottom right, bottom left. @param {Backdrop} held @returns {Point[]} */
function cornersOf(held) {
  if (held.corners) return held.corners;
  if (!loose) {
    const bounds = map.getBounds().pad(-0.1);
    const [left, top] = planeOf(bounds.getNorthWest());
    const [right, low] = planeOf(bounds.getSouthEast());
    const metre = Math.min((right - left) / held.width, (top - low) / held.height);
    const [x, y] = [left + held.width * metre, top - held.height * metre];
    loose = [[left, top], [x, top], [x, y], [left, y]];
  }
  return loose;
}

/** Show the picture as the property says. */
export function drawBackdrop() {
  const held = now().property?.backdrop ?? null;
  picture.hidden = !held;
  if (!held) {
    loose = null;
    return;
  }
  if (picture.getAttribute("src") !== held.url && held.url.startsWith("/")) picture.src = held.url;
  picture.style.opacity = String(held.strength);
  lay();
}

function lay() {
  const held = now().property?.backdrop;
  if (!held) return;
  const corners = cornersOf(held).map((corner) => {
    const { x, y } = map.latLngToLayerPoint(at(corner));
    return /** @type {Point} */ ([x, y]);
  });
  picture.style.width = `${held.width}px`;
  picture.style.height = `${held.height}px`;
  picture.style.transform = cssMatrix(squareTo(corners), held.width, held.height);
}

/** Return the pixel of the picture that lies at a point. @param {Backdrop} held @param {Point} point @returns {Point} */
function pixelAt(held, point) {
  const [u, v] = back(squareTo(cornersOf(held)), point);
  return [u * held.width, v * held.height];
}

/** Return the panel of the backdrop. */
export function backdropPanel() {
  const held = now().property?.backdrop ?? null;
  const choose = el("div.field", {}, el("label", { for: "backdrop-file" }, held ? "Another picture" : "A photo, a scan or a map"),
    el("input", { id: "backdrop-file", type: "file", accept: "image/png,image/jpeg,image/webp,image/tiff,.tif,.tiff", onchange: (/** @type {any} */ event) => void send(event.target.files[0]) }),
    el("small", {}, "PNG, JPEG, WebP or GeoTIFF, up to 25 MB. It is kept in the site's folder."));
  if (!held) return [el("h2", {}, "A picture under the drawing"), choose];
  return [
    el("h2", {}, "A picture under the drawing"),
    held.said ? el("p", {}, held.said) : null,
    el("div.field", {}, el("label", { for: "strength" }, "Strength"), el("input", { id: "strength", type: "range", min: "0.05", max: "1", step: "0.05", value: String(held.strength), onchange: (/** @type {any} */ event) => void place({ strength: Number(event.target.value) }) })),
    scaling(held), straightening(held),
    el("label.toggle", {}, el("input", { type: "checkbox", id: "under-map", checked: Boolean(held.under_map), onchange: (/** @type {any} */ event) => void place({ under_map: event.target.checked }) }), el("span"), el("span", {}, "Lay it under map.html too")),
    choose,
    el("div.buttons", {}, button("Take the picture away", () => void place({ remove: true }), { class: "find", id: "backdrop-remove" })),
  ];
}

/** @param {Backdrop} held */
function scaling(held) {
  const ends = pinned("scale");
  return el("details.more", { id: "backdrop-scale", open: now().pinning?.what === "scale" }, el("summary", {}, el("span.what", {}, "Scale it by two points")),
    ends ? form([{ name: "distance", label: "Distance from A to B", placeholder: "42 ft 6 in" }], "Scale it", (values) => {
      try {
        const distance = typedLength(values.distance, unit());
        void place({ pixels: ends.map((point) => pixelAt(held, point)), points: ends, distance });
      } catch (error) {
        say(/** @type {Error} */ (error).message);
      }
    }, "scale") : el("p", {}, pinAsked() && now().pinning?.what === "scale" ? pinAsked() : "Show two points whose distance you taped."),
    button(ends ? "Show other points" : "Show two points", () => askPoints("scale"), { class: "find", id: "scale-start" }));
}

/** @param {Backdrop} held */
function straightening(held) {
  const ends = pinned("slant");
  return el("details.more", { id: "backdrop-slant", open: now().pinning?.what === "slant" }, el("summary", {}, el("span.what", {}, "Straighten it by four corners")),
    el("p", {}, ends ? "Where does each lie? Across and up, from the zero of your drawing." : pinAsked() && now().pinning?.what === "slant" ? pinAsked() : "For a photo taken at a slant: show four corners on it, going round, then say where they lie."),
    ends ? form(ends.map((_, index) => ({ name: `p${index}`, label: `Corner ${String.fromCharCode(65 + index)}: across, up`, placeholder: ["0, 0", "80 ft, 0", "80 ft, 140 ft", "0, 140 ft"][index] })), "Straighten it", (values) => {
      try {
        const points = ends.map((_, index) => placeOf(values[`p${index}`]));
        void place({ pixels: ends.map((point) => pixelAt(held, point)), points });
      } catch (error) {
        say(/** @type {Error} */ (error).message);
      }
    }, "slant") : null,
    button(ends ? "Show other corners" : "Show four corners", () => askPoints("slant"), { class: "find", id: "slant-start" }));
}

/** @param {string} text @returns {Point} */
function placeOf(text) {
  const parts = text.split(/\s*[,;]\s*/);
  if (parts.length !== 2) throw new Error(`"${text}" is no place: type how far across and how far up, such as 80 ft, 140 ft.`);
  return [typedLength(parts[0], unit()), typedLength(parts[1], unit())];
}

/** @param {File | undefined} file */
async function send(file) {
  if (!file) return;
  if (file.size > LARGEST) return say(`${file.name} has ${(file.size / 1e6).toFixed(0)} MB; a picture may have 25 MB.`);
  say("The picture is being read.");
  loose = null;
  await told(() => ask("/api/backdrop", file, { "X-Name": encodeURIComponent(file.name) }), "The picture lies under the drawing.");
}

/** @param {Record<string, any>} how */
async function place(how) {
  await told(() => ask("/api/backdrop/place", { ...how, version: now().property?.version }), "remove" in how ? "The picture is gone." : "The picture lies as you said.");
  endPins();
}

/** @param {() => Promise<any>} act @param {string} words */
async function told(act, words) {
  try {
    const answer = await act();
    const property = answer.features ? answer : await ask("/api/property");
    take(property, (s) => { s.said = [answer.said].flat().filter((line) => typeof line === "string").join(" ") || words; });
  } catch (error) {
    if (!(error instanceof Refused || error instanceof Away || error instanceof Stale)) throw error;
    const { message } = error;
    change((s) => { s.said = message; });
  }
}

