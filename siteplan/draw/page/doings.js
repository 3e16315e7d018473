/* What can be done with what is chosen, in words and by typed figures? */

import { button, el } from "./element.js";
import { form } from "./fields.js";
import { heading } from "./geometry.js";
import { copy, mirror, mirrorAt, moveBy, moveCorner, parallel, remove, removeCorner, setSide, splitSide, turnBy } from "./moves.js";
import { askPoints, endPins, pinAsked, pinned } from "./pins.js";
import { corners, isPlain } from "./shapes.js";
import { change, chosen, now, say, unit } from "./state.js";
import { typedAngle, typedCorner, typedLength } from "./typed.js";

/** @typedef {import("./types.js").Feature} Feature */

/** Do what was typed, or say what is wrong with it. @param {() => void} act */
function trying(act) {
  try {
    act();
  } catch (error) {
    if (!(error instanceof Error) || error.constructor !== Error) throw error;
    say(error.message);
  }
}

/** Return the doings for one thing, or for several where none is handed in. @param {Feature | null} feature */
export function doings(feature) {
  const line = feature && feature.geometry.type !== "Point" && isPlain(feature);
  return el("div.doings", {},
    line ? atSideOrCorner(feature) : null,
    el("details.more", { id: "do-move" }, el("summary", {}, el("span.what", {}, "Move by a distance")),
      form([{ name: "far", label: "Distance and direction", placeholder: "3 ft <90", hint: "Degrees clockwise from the top of the paper: <0 up, <90 right. Arrow keys move it too." }], "Move", ({ far }) => trying(() => {
        const { length, direction } = typedCorner(far, unit());
        if (length === null || direction === null) throw new Error("Type a distance and a direction, such as 3 ft <90.");
        const way = heading(direction);
        moveBy([way[0] * length, way[1] * length]);
      }), "move")),
    el("details.more", { id: "do-turn", open: now().pinning?.what === "turn" }, el("summary", {}, el("span.what", {}, "Turn")),
      form([{ name: "angle", label: "By degrees clockwise", placeholder: "15" }], "Turn", ({ angle }) => trying(() => { turnBy(typedAngle(angle), pinned("turn")?.[0]); endPins(); }), "turn"),
      el("p", {}, el("small", {}, pinned("turn") ? "About the point A on the paper." : pinAsked() && now().pinning?.what === "turn" ? pinAsked() : "About its middle.")),
      button("Turn about another point", () => askPoints("turn"), { class: "find", id: "turn-about" })),
    line ? el("details.more", { id: "do-parallel" }, el("summary", {}, el("span.what", {}, "Draw a parallel")),
      form([{ name: "far", label: "Distance beside it", placeholder: "3 ft", hint: "To the right of the way it was drawn; with a minus to the left." }], "Draw it", ({ far }) => trying(() => parallel(typedLength(far, unit()))), "parallel")) : null,
    el("div.buttons", {},
      button("Copy", () => copy(), { class: "find", id: "do-copy" }),
      button("Mirror left to right", () => mirror("across"), { class: "find", id: "do-mirror" }),
      button("Mirror up and down", () => mirror("up"), { class: "find", id: "do-mirror-up" }),
      pinned("mirror") ? button("Mirror at A and B", () => { const ends = pinned("mirror"); if (ends) mirrorAt(ends[0], ends[1]); endPins(); }, { class: "find", id: "do-mirror-at" })
        : button("Mirror at a line", () => askPoints("mirror"), { class: "find", id: "do-mirror-line" }),
      button("Remove", remove, { class: "find danger", id: "do-remove" })));
}

/** The chosen side or corner: split, length, place. @param {Feature} feature */
function atSideOrCorner(feature) {
  const { side, corner } = now();
  if (side !== null) {
    return el("div.part", {}, el("h3", {}, `Side ${side + 1}`),
      form([{ name: "long", label: "Its length", placeholder: "12 ft 6 in", hint: "Its far end moves." }], "Set", ({ long }) => trying(() => setSide(side, positive(long))), "side"),
      el("div.buttons", {}, button("Split this side", () => splitSide(side), { class: "find", id: "split-side" })));
  }
  if (corner !== null && corners(feature)[corner]) {
    return el("div.part", {}, el("h3", {}, `Corner ${corner + 1}`),
      form([{ name: "far", label: "Move it by", placeholder: "6 in <90" }], "Move", ({ far }) => trying(() => {
        const { length, direction } = typedCorner(far, unit());
        if (length === null || direction === null) throw new Error("Type a distance and a direction, such as 6 in <90.");
        const [x, y] = corners(chosen()[0])[corner];
        const way = heading(direction);
        moveCorner(corner, [x + way[0] * length, y + way[1] * length]);
      }), "corner"),
      el("div.buttons", {}, button("Take out this corner", () => removeCorner(corner), { class: "find", id: "remove-corner" })));
  }
  return el("div.part", {}, el("p", {}, el("small", {}, "Click a side to split it or to type its length, a corner to move it or take it out.")),
    el("div.buttons", {}, picks(feature)));
}

/** Sides and corners by keys. @param {Feature} feature */
function picks(feature) {
  const count = corners(feature).length;
  if (count > 60) return null;
  /** @param {"side" | "corner"} what @param {number} most */
  const pick = (what, most) => el("label.pick", {}, what === "side" ? "Side" : "Corner", el("select", {
    id: `pick-${what}`, onchange: (/** @type {any} */ event) => pickPart(what, Number(event.target.value)),
  }, el("option", { value: "" }, "choose"), Array.from({ length: most }, (_, index) => el("option", { value: String(index) }, String(index + 1)))));
  return [pick("side", feature.geometry.type === "LineString" ? count - 1 : count), pick("corner", count)];
}

/** @param {"side" | "corner"} what @param {number} index */
function pickPart(what, index) {
  change((s) => {
    s.side = what === "side" ? index : null;
    s.corner = what === "corner" ? index : null;
  });
}

/** @param {string} text */
function positive(text) {
  const length = typedLength(text, unit());
  if (length <= 0) throw new Error("A side must be longer than nothing.");
  return length;
}
