/* What does the pointer do on the paper: a mouse, a pen, a finger? Click, drag, frame. */

import { map, metresPerPixel, pointUnder } from "./canvas.js";
import { setCorner, finish } from "./drawing.js";
import { apart, directionOf, minus, plus, turned } from "./geometry.js";
import { hit, sideUnder, within } from "./hits.js";
import { pin, pinAsked, pinsFree } from "./pins.js";
import { moveBy, moveCorner, namesOf, pivot, turnBy, withCorner } from "./moves.js";
import { corners, isArea, isPlain, kindOf, moved, parts } from "./shapes.js";
import { holdAt, known } from "./snaps.js";
import { change, chosen, features, now } from "./state.js";

/** @typedef {import("./types.js").Point} Point */
/** @typedef {import("./types.js").Feature} Feature */
/** @typedef {{what: "turn" | "corner" | "thing" | "box" | "draw" | "ground", from: Point, at: [number, number], index: number, things: Feature[], far: boolean, add: boolean}} Grip */

/** @type {Grip | null} */
let grip = null;
/** Fingers on the paper. */
const fingers = new Set();
const FAR_PX = 5;

/** @param {HTMLElement} box */
export function startPointer(box) {
  box.addEventListener("pointerdown", down, true);
  window.addEventListener("pointermove", move);
  window.addEventListener("pointerup", up);
  window.addEventListener("pointercancel", cancel);
  box.addEventListener("dblclick", () => now().way === "corners" && now().drawing && finish());
  box.addEventListener("pointerleave", () => { if (!grip && now().hold && !now().byKeys) change((s) => { s.hold = null; }); });
}

/** Return where a pointer takes hold now. @param {Point} point @param {boolean} free @param {Set<string>} [without] */
export function holdFor(point, free, without = new Set()) {
  const { drawing, snaps } = now();
  if (free || !snaps) return { point, words: "", guides: [] };
  const shapes = features().filter((feature) => !without.has(feature.id)).flatMap((feature) => parts(feature).map((points) => ({ points, closed: isArea(feature) })));
  const points = drawing && drawing.way !== "circle" ? drawing.points : [];
  if (points.length > 1) shapes.push({ points: points.slice(0, -1), closed: false });
  const from = points.at(-1) ?? null;
  const line = { from, first: drawing?.way === "corners" && points.length > 1 ? points[0] : null, before: points.length > 1 ? /** @type {[Point, Point]} */ (points.slice(-2)) : null, direction: drawing?.direction ?? null };
  if (drawing?.way === "box") return holdAt(point, known(shapes), { from: null, first: null, before: null, direction: null }, 11 * metresPerPixel());
  return holdAt(point, known(shapes), line, 11 * metresPerPixel());
}

/** @param {PointerEvent} event */
function down(event) {
  const target = /** @type {Element} */ (event.target);
  if (target.closest(".leaflet-control")) return;
  fingers.add(event.pointerId);
  document.getElementById("paper")?.focus({ preventScroll: true });
  if (event.button !== 0 || fingers.size > 1) {
    grip = null;
    map.dragging.enable();
    return;
  }
  const point = pointUnder(event);
  const { tool, way } = now();
  const touch = event.pointerType === "touch";
  const start = { from: point, at: /** @type {[number, number]} */ ([event.clientX, event.clientY]), index: -1, things: /** @type {Feature[]} */ ([]), far: false, add: event.shiftKey };
  if (pinAsked()) grip = { ...start, what: "ground" };
  else if (tool !== "select") grip = { ...start, what: way === "box" || way === "circle" ? "draw" : "ground" };
  else grip = taken(point, touch, event.shiftKey, start);
  if (grip.what === "ground") map.dragging.enable();
  else map.dragging.disable();
  if (now().byKeys) change((s) => { s.byKeys = false; });
}

/** Return what a pointer in the hand of the select tool takes. @param {Point} point @param {boolean} touch @param {boolean} shift @param {Omit<Grip, "what">} start @returns {Grip} */
function taken(point, touch, shift, start) {
  const under = hit(point, touch);
  if (!under) return { ...start, what: shift ? "box" : "ground" };
  if (under.what === "turn") return { ...start, what: "turn", things: chosen() };
  if (under.what === "corner" && !shift) return { ...start, what: "corner", index: under.index, things: chosen() };
  const id = under.what === "thing" ? under.id : now().selection[0];
  if (shift || !now().selection.includes(id)) {
    const held = now().selection;
    if (!shift && touch && !held.includes(id)) { /* a finger chooses first and moves then */
      choose([id]);
      return { ...start, what: "ground" };
    }
    choose(!shift ? [id] : held.includes(id) ? held.filter((one) => one !== id) : [...held, id]);
    return { ...start, what: shift ? "ground" : "thing", things: chosen(), add: true };
  }
  return { ...start, what: "thing", things: chosen(), add: false };
}

/** @param {string[]} ids */
export function choose(ids) {
  change((s) => {
    s.selection = ids;
    s.side = null;
    s.corner = null;
    s.bed = null;
    const things = chosen();
    s.said = things.length ? `Chosen: ${namesOf(things)}.` : "Nothing is chosen.";
  });
}

/** @param {PointerEvent} event */
function move(event) {
  if (fingers.size > 1) return;
  if (!grip) {
    const over = /** @type {Element} */ (event.target);
    if (event.pointerType === "touch" || !over.closest?.("#paper") || over.closest(".leaflet-control")) return;
    if (now().tool === "select" && !pinAsked()) return;
    const hold = holdFor(pointUnder(event), event.shiftKey || pinsFree());
    change((s) => { s.hold = hold; s.byKeys = false; });
    return;
  }
  if (!grip.far && Math.hypot(event.clientX - grip.at[0], event.clientY - grip.at[1]) < FAR_PX) return;
  const began = !grip.far;
  grip.far = true;
  if (grip.what === "ground") return;
  const point = pointUnder(event);
  if (grip.what === "draw" && began && !now().drawing) setCorner(holdFor(grip.from, event.shiftKey).point);
  drag(grip, point, event.shiftKey);
}

/** Show what is under the hand as it would be. @param {Grip} held @param {Point} point @param {boolean} free */
function drag(held, point, free) {
  const without = new Set(held.things.map((feature) => feature.id));
  if (held.what === "box") return change((s) => { s.box = [held.from, point]; });
  const hold = holdFor(point, free, held.what === "draw" ? new Set() : without);
  if (held.what === "draw") return change((s) => { s.hold = hold; });
  if (held.what === "corner") {
    const [feature] = held.things;
    const put = [withCorner(feature, held.index, hold.point, free || !now().snaps)];
    return change((s) => { s.draft = { put, says: "" }; s.hold = hold; s.corner = held.index; s.side = null; });
  }
  if (held.what === "turn") {
    const degrees = turnOf(held, point, free);
    const put = held.things.map((feature) => moved(feature, (one) => turned(one, pivotOf(held), degrees)));
    return change((s) => { s.draft = { put, says: "" }; s.hold = { point, words: `${degrees.toFixed(0)}°`, guides: [] }; });
  }
  const by = moveOf(held, point, free);
  const put = held.things.map((feature) => moved(feature, (one) => plus(one, by)));
  change((s) => { s.draft = { put, says: "" }; s.hold = null; });
}

/** Return by how much things are moved: a corner of theirs takes hold of what stands near. @param {Grip} held @param {Point} point @param {boolean} free @returns {Point} */
function moveOf(held, point, free) {
  const by = minus(point, held.from);
  if (free || !now().snaps || held.things.length > 3) return by;
  const without = new Set(held.things.map((feature) => feature.id));
  const all = known(features().filter((feature) => !without.has(feature.id) && kindOf(feature) !== "surface").flatMap((feature) => parts(feature).map((points) => ({ points, closed: isArea(feature) }))));
  const reach = 7 * metresPerPixel();
  const line = { from: null, first: null, before: null, direction: null };
  let best = { away: reach, by };
  for (const corner of held.things.filter(isPlain).flatMap(corners).slice(0, 24)) {
    const there = plus(corner, by);
    const hold = holdAt(there, all, line, reach);
    if (hold.words && apart(hold.point, there) < best.away) best = { away: apart(hold.point, there), by: minus(hold.point, corner) };
  }
  return best.by;
}

/** @type {Point} */
let about = [0, 0];
/** @param {Grip} held @returns {Point} */
function pivotOf(held) {
  if (!now().draft) about = pivot();
  return held.things.length ? about : pivot();
}

/** @param {Grip} held @param {Point} point @param {boolean} free */
function turnOf(held, point, free) {
  const centre = pivotOf(held);
  const degrees = directionOf(centre, point) - directionOf(centre, held.from);
  const whole = free || !now().snaps ? degrees : Math.round(degrees / 5) * 5;
  return ((whole + 540) % 360) - 180;
}

/** @param {PointerEvent} event */
function up(event) {
  fingers.delete(event.pointerId);
  const held = grip;
  grip = null;
  if (!held) return;
  const point = pointUnder(event);
  map.dragging.enable();
  if (!held.far) return clicked(held, point, event.pointerType === "touch", event.shiftKey);
  if (held.what === "box") {
    const ids = within(held.from, point);
    change((s) => { s.box = null; });
    choose([...new Set([...now().selection, ...ids])]);
  } else if (held.what === "draw") {
    setCorner(now().hold?.point ?? point);
  } else if (held.what !== "ground") {
    drop(held, point, event.shiftKey);
  }
}

/** @param {Grip} held @param {Point} point @param {boolean} free */
function drop(held, point, free) {
  const end = held.what === "corner" ? now().hold?.point ?? point : point;
  const turn = held.what === "turn" ? turnOf(held, point, free) : 0;
  const by = held.what === "thing" ? moveOf(held, point, free) : /** @type {Point} */ ([0, 0]);
  const centre = pivotOf(held);
  change((s) => { s.draft = null; s.hold = null; });
  if (held.what === "corner") moveCorner(held.index, end, free || !now().snaps);
  else if (held.what === "turn") turnBy(turn, centre);
  else moveBy(by);
}

/** @param {Grip} held @param {Point} point @param {boolean} touch @param {boolean} free */
function clicked(held, point, touch, free) {
  if (pinAsked()) return pin(holdFor(point, free || pinsFree()).point);
  if (now().tool !== "select") return setCorner(holdFor(point, free).point);
  if (held.what === "corner") return change((s) => { s.corner = held.index; s.side = null; s.said = `Corner ${held.index + 1} is chosen.`; });
  if (held.what === "thing" && !held.add) {
    const side = sideUnder(point, touch);
    if (side !== null) return change((s) => { s.side = side; s.corner = null; s.said = `Side ${side + 1} is chosen.`; });
    const under = hit(point, touch);
    if (under?.what === "thing") choose([under.id]);
  }
  if (held.what === "ground" && !held.add && !hit(point, touch)) choose([]);
}

/** @param {PointerEvent} event */
function cancel(event) {
  fingers.delete(event.pointerId);
  grip = null;
  map.dragging.enable();
  if (now().draft || now().box) change((s) => { s.draft = null; s.box = null; });
}
