/* Which points is she asked to show? Some questions need points of the paper: a tape's end, a centre, a line to mirror at. */

import { change, now } from "./state.js";

/** @typedef {import("./types.js").Point} Point */
/** @typedef {"tapes" | "turn" | "mirror" | "scale" | "slant"} Asking */

/** What each question asks, point by point. @type {Record<Asking, string[]>} */
const ASKS = {
  tapes: ["Click the known point where tape A begins.", "Click the known point where tape B begins."],
  turn: ["Click the point to turn about."],
  mirror: ["Click one point of the line to mirror at.", "Click another point of that line."],
  scale: ["Click a point on the picture.", "Click another point whose distance from it you know."],
  slant: ["Click the first corner on the picture.", "Click the second corner, going round.", "Click the third corner.", "Click the fourth corner."],
};

/** Ask for points. @param {Asking} what */
export function askPoints(what) {
  change((s) => {
    s.pinning = { what, points: [] };
    s.said = ASKS[what][0];
  });
  document.getElementById("paper")?.focus({ preventScroll: true });
}

/** Take the next point. @param {Point} point */
export function pin(point) {
  change((s) => {
    const { what, points } = s.pinning ?? {};
    if (!what || points.length >= ASKS[/** @type {Asking} */ (what)].length) return;
    s.pinning = { what, points: [...points, point] };
    s.said = ASKS[/** @type {Asking} */ (what)][points.length + 1] ?? "The points are set.";
  });
}

/** Return the points shown for a question once all are; null before. @param {Asking} what @returns {Point[] | null} */
export function pinned(what) {
  const { pinning } = now();
  return pinning?.what === what && pinning.points.length === ASKS[what].length ? pinning.points : null;
}

/** Return what is asked now; nothing where all points are set. */
export function pinAsked() {
  const { pinning } = now();
  return pinning ? ASKS[/** @type {Asking} */ (pinning.what)][pinning.points.length] ?? "" : "";
}

/** Whether points are taken as they are clicked, without snaps: on a picture. */
export const pinsFree = () => ["scale", "slant"].includes(now().pinning?.what);

export function endPins() {
  change((s) => { s.pinning = null; });
}
