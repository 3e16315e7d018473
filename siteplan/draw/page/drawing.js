/* What happens to the line in hand: a corner set, a corner taken back, a length typed, a shape finished? */

import { apart, boxOf, circleOf, directionOf, dot, heading, minus, plus, rectangleOn, rounded, turned } from "./geometry.js";
import { edit } from "./saving.js";
import { freeName, kindOf } from "./shapes.js";
import { change, features, now, say, unit } from "./state.js";
import { toolOf } from "./tools.js";
import { typedCorner, typedLength, typedSize } from "./typed.js";
import { lengthText } from "./units.js";

/** @typedef {import("./types.js").Point} Point */
/** @typedef {import("./types.js").Way} Way */
/** @typedef {import("./types.js").Drawing} Drawing */

/** Points nearer than this are one. [m] */
const SAME = 1e-3;

/** Take up a tool. @param {string} name @param {Way} [way] */
export function takeTool(name, way) {
  const tool = toolOf(name);
  change((s) => {
    s.tool = tool.name;
    s.way = way ?? tool.ways[0] ?? "corners";
    s.drawing = null;
    s.tapes = [];
    s.draft = null;
    s.pinning = null;
    if (name !== "select") s.selection = [];
    s.said = `${tool.word}. ${tool.says}`;
  });
}

/** @param {Way} way */
export const takeWay = (way) => takeTool(now().tool, way);

/** Set a corner of the line in hand, or begin one. @param {Point} point */
export function setCorner(point) {
  const { tool, way, drawing } = now();
  if (tool === "select") return;
  const kept = rounded(point);
  const points = drawing?.points ?? [];
  if (way === "corners" && points.length > (toolOf(tool).closed ? 2 : 1) && apart(kept, points[0]) < SAME && toolOf(tool).closed) {
    finish();
    return;
  }
  if (points.length && apart(kept, points[points.length - 1]) < SAME) {
    say("This corner lies on the one before it. Choose another spot.");
    return;
  }
  change((s) => {
    s.drawing = { kind: tool, way, points: [...points, kept], direction: null };
    s.tapes = [];
    s.said = cornerWords([...points, kept]);
  });
  const needed = { point: 1, box: 2, circle: 2, three: 3, corners: Infinity }[way];
  if (points.length + 1 >= needed) finish();
}

/** @param {Point[]} points */
function cornerWords(points) {
  if (points.length < 2) return "First point set.";
  const [a, b] = points.slice(-2);
  return `Side ${points.length - 1}: ${lengthText(apart(a, b), unit())}, direction ${directionOf(a, b).toFixed(0)} degrees.`;
}

/** Take back the last corner; without one, let go of the drawing. */
export function takeBack() {
  change((s) => {
    if (!s.drawing) return;
    const points = s.drawing.points.slice(0, -1);
    s.drawing = points.length ? { ...s.drawing, points, direction: null } : null;
    s.tapes = [];
    s.said = points.length ? "Took back the last corner." : "Nothing is drawn yet.";
  });
}

/** Let go of what is in hand: the drawing first, then the tool, then the selection. */
export function letGo() {
  change((s) => {
    const held = s.drawing || s.tapes.length || s.draft || s.pinning;
    if (!held && s.tool !== "select") s.tool = "select";
    else if (!held) s.selection = [];
    s.drawing = null;
    s.tapes = [];
    s.draft = null;
    s.box = null;
    s.pinning = null;
    s.said = held ? "Let go." : "Select.";
  });
}

/** Return the outline that the corners and the pointer make now. @param {Drawing} drawing @param {Point | null} pointer @returns {Point[]} */
export function outlineOf(drawing, pointer) {
  const points = pointer && (!drawing.points.length || apart(pointer, drawing.points[drawing.points.length - 1]) > SAME) ? [...drawing.points, pointer] : drawing.points;
  if (drawing.way === "box" && points.length > 1) return boxOf(points[0], points[1]);
  if (drawing.way === "three" && points.length > 2) return rectangleOn(points[0], points[1], points[2]);
  if (drawing.way === "circle" && points.length > 1) return circleOf(points[0], apart(points[0], points[1]));
  return points;
}

/** Make the shape in hand a thing of the property. */
export function finish() {
  const { drawing } = now();
  if (!drawing) return;
  const outline = outlineOf(drawing, null);
  const { closed, word } = toolOf(drawing.kind);
  const isPoint = drawing.way === "point";
  const least = isPoint ? 1 : closed ? 3 : 2;
  if (outline.length < least) {
    say(closed ? "A shape needs three corners at least." : "A line needs two points at least.");
    return;
  }
  if (closed && !isPoint && outline.some((point, index) => index && apart(point, outline[index - 1]) < SAME)) {
    if (drawing.way !== "corners") change((s) => { s.drawing = { ...drawing, points: drawing.points.slice(0, -1) }; });
    say("This shape has a side of no length. Choose another spot for its corner.");
    return;
  }
  add(drawing, outline, isPoint, closed, word.toLowerCase());
}

/** @param {Drawing} drawing @param {Point[]} outline @param {boolean} isPoint @param {boolean} closed @param {string} word */
function add(drawing, outline, isPoint, closed, word) {
  const { kind } = drawing;
  const kept = outline.map(rounded);
  const geometry = isPoint ? { type: "Point", coordinates: kept[0] } : closed ? { type: "Polygon", coordinates: [[...kept, kept[0]]] } : { type: "LineString", coordinates: kept };
  const replaced = kind === "boundary" ? features().filter((feature) => kindOf(feature) === "boundary") : [];
  const id = replaced[0]?.id ?? freeName(kind === "boundary" ? "boundary" : `${kind}-1`, features().map((feature) => feature.id));
  const usual = { ...now().usual[kind] };
  if (kind === "tree" && drawing.way === "circle") delete usual.crown_diameter;
  const properties = replaced[0]?.properties ?? { kind, ...usual };
  change((s) => {
    s.drawing = null;
    s.selection = [id];
    s.tool = "select";
    s.corner = null;
    s.side = null;
  });
  edit(id === word ? `drew ${word}` : `drew ${word} ${id}`, { put: [{ type: "Feature", id, properties, geometry }] });
}

/** Return the direction that the pointer shows from the last corner; null where it shows none. @param {Point} from @param {Point | null} pointer */
function shownDirection(from, pointer) {
  return pointer && apart(from, pointer) > SAME ? directionOf(from, pointer) : null;
}

/** Take what was typed while a line is drawn; throw an Error in words where it cannot be meant. @param {string} text */
export function takeTyped(text) {
  const { drawing, hold } = now();
  if (!drawing) throw new Error("Set the first corner first: click it, or lead the cursor there and press Enter.");
  const from = drawing.points[drawing.points.length - 1];
  const pointer = hold?.point ?? null;
  if (drawing.way === "circle") return setCorner(plus(from, [1, 0], typedLength(text, unit())));
  if (drawing.way === "box") return setCorner(acrossTyped(text, from, pointer));
  if (drawing.way === "three" && drawing.points.length === 2) return setCorner(depthTyped(text, drawing.points, pointer));
  const typed = typedCorner(text, unit());
  const direction = typed.direction ?? turnedFrom(drawing.points, typed.turn) ?? drawing.direction ?? shownDirection(from, pointer);
  if (direction === null) throw new Error("In which direction? Point there with the pointer, or type it too, such as 12 ft <90.");
  if (typed.length !== null) return setCorner(plus(from, heading(direction), typed.length));
  change((s) => {
    if (s.drawing) s.drawing = { ...s.drawing, direction: ((direction % 360) + 360) % 360 };
    s.said = `Direction ${direction} degrees is held. Type the length, or click.`;
  });
}

/** @param {Point[]} points @param {number | null} turn */
function turnedFrom(points, turn) {
  if (turn === null) return null;
  if (points.length < 2) throw new Error("A turn needs a side before it. Type a direction, such as <90.");
  return directionOf(points[points.length - 2], points[points.length - 1]) + turn;
}

/** @param {string} text @param {Point} from @param {Point | null} pointer @returns {Point} */
function acrossTyped(text, from, pointer) {
  const size = typedSize(text, unit());
  if (!size) throw new Error("Type both sides, such as 8 ft x 4 ft: first along the paper, then up it.");
  const [x, y] = pointer ? minus(pointer, from) : [1, 1];
  return plus(from, [size[0] * (x < -SAME ? -1 : 1), size[1] * (y < -SAME ? -1 : 1)]);
}

/** @param {string} text @param {Point[]} points @param {Point | null} pointer @returns {Point} */
function depthTyped(text, [a, b], pointer) {
  const depth = typedLength(text, unit());
  const across = minus(turned(b, a, -90), a);
  const side = pointer && dot(minus(pointer, a), across) < 0 ? -1 : 1;
  return plus(b, across, (side * depth) / apart(a, b));
}
