/* What is asked while a thing is drawn? Its way of drawing, what it must have, its next corner, how it closes. */

import { finish, letGo, setCorner, takeBack, takeWay } from "./drawing.js";
import { misclosure, spread } from "./closure.js";
import { button, el } from "./element.js";
import { field, form, isNeeded } from "./fields.js";
import { apart } from "./geometry.js";
import { askPoints, endPins, pinAsked, pinned } from "./pins.js";
import { change, now, say, unit } from "./state.js";
import { tapedSpots } from "./tapes.js";
import { WAY_WORDS, asked, toolOf } from "./tools.js";
import { typedLength } from "./typed.js";
import { lengthText } from "./units.js";

/** @typedef {import("./types.js").Point} Point */
/** @typedef {import("./types.js").State} State */

/** What of the state the panel shows. @param {Readonly<State>} s */
export const toolKey = (s) => JSON.stringify(["tool", s.tool, s.way, s.drawing?.points, s.tapes, s.pinning, s.usual[s.tool], s.kinds.length, unit()]);

/** Return the panel of the tool in the hand. */
export function toolPanel() {
  const { tool, way, drawing } = now();
  const { word, says, ways, closed } = toolOf(tool);
  const count = drawing?.points.length ?? 0;
  return [
    el("h2", {}, `Draw: ${word.toLowerCase()}`),
    el("p.lead", {}, says),
    needed(),
    ways.length > 1 ? el("fieldset.ways", {}, el("legend", {}, "Way of drawing"), ways.map((one) => el("label", {},
      el("input", { type: "radio", name: "way", id: `way-${one}`, value: one, checked: one === way, onchange: () => takeWay(one) }), el("span", {}, WAY_WORDS[one])))) : null,
    el("p.next", {}, pinAsked() || asked(way, count, closed)),
    closing(),
    el("div.buttons", {},
      way === "corners" && count >= (closed ? 3 : 2) ? button(closed ? "Close it" : "End it", finish, { class: "find", id: "finish" }) : null,
      count ? button("Take back the last corner", takeBack, { class: "find", id: "take-back" }) : null,
      button(count ? "Let go" : "Back to Select", letGo, { class: "find", id: "let-go" })),
    way === "corners" || way === "three" || way === "point" ? tapes() : null,
    way === "box" || way === "circle" || way === "point" ? null : el("details.more", { id: "typing-help" }, el("summary", {}, el("span.what", {}, "What can be typed")),
      el("dl.typing", {}, typing().flatMap(([typed, means]) => [el("dt", {}, typed), el("dd", {}, means)]))),
  ];
}

const typing = () => [
  ["12 ft 6 in", "a side so long, the way the pointer shows"], ["3.8 m", "the same in metres"], ["90", `a number alone is in ${unit()}`],
  ["<90", "hold a direction: degrees clockwise from the top of the paper"], ["12 ft <90", "a length and its direction"], ["20 left 90", "a length, after a turn to the left (or right)"],
];

/** What the kind must have, asked before it is drawn and kept for the next of its kind. */
function needed() {
  const { tool, kinds, usual } = now();
  const keys = kinds.find((kind) => kind.kind === tool)?.keys.filter((key) => isNeeded(key, shapeDrawn(), usual[tool] ?? {}) || (key.name in (usual[tool] ?? {}))) ?? [];
  return keys.map((key) => field(key, usual[tool]?.[key.name], (value) => change((s) => { s.usual = { ...s.usual, [tool]: without({ ...s.usual[tool], [key.name]: value }) }; }), { prefix: "new", needed: true }));
}

/** The shape that the way of drawing makes. */
function shapeDrawn() {
  const { tool, way } = now();
  return way === "point" ? "Point" : toolOf(tool).closed ? "Polygon" : "LineString";
}

/** @param {Record<string, any>} held */
const without = (held) => Object.fromEntries(Object.entries(held).filter(([, value]) => value !== null));

/** Two tapes from two known points: two spots, one of which she means. */
function tapes() {
  const { tapes: spots } = now();
  const ends = pinned("tapes");
  const asking = now().pinning?.what === "tapes";
  return el("details.more", { id: "tapes", open: asking || spots.length > 0 },
    el("summary", {}, el("span.what", {}, "A corner from two tapes")),
    el("p", {}, "Measure from two known points, such as two corners of the house. The corner lies where the tapes meet."),
    !ends ? button(asking ? "Start again" : "Show the two points", () => askPoints("tapes"), { class: "find", id: "tapes-start" }) : null,
    ends ? form([{ name: "a", label: "Tape from A", placeholder: "18 ft 4 in" }, { name: "b", label: "Tape from B", placeholder: "22 ft 1 in" }], "Find the corner", (values) => findTaped(ends, values), "tape") : null,
    spots.length ? el("p.next", {}, spots.length > 1 ? "The tapes meet in two spots, 1 and 2 on the paper. Which is it?" : "The tapes meet in one spot.") : null,
    spots.length ? el("div.buttons", {}, spots.map((spot, index) => button(`Spot ${index + 1}`, () => takeSpot(spot), { class: "find", id: `spot-${index + 1}` }))) : null);
}

/** @param {Point[]} ends @param {Record<string, string>} values */
function findTaped([a, b], values) {
  try {
    const spots = tapedSpots(a, typedLength(values.a, unit()), b, typedLength(values.b, unit()), (metres) => lengthText(metres, unit()));
    change((s) => {
      s.tapes = spots;
      s.said = spots.length > 1 ? "The tapes meet in two spots. Choose one." : "The tapes meet in one spot.";
    });
  } catch (error) {
    say(/** @type {Error} */ (error).message);
  }
}

/** @param {Point} spot */
function takeSpot(spot) {
  endPins();
  setCorner(spot);
}

/** Say by how much a taped outline misses its first corner, and offer to spread it. */
function closing() {
  const { drawing } = now();
  if (!drawing || drawing.way !== "corners" || !toolOf(drawing.kind).closed || drawing.points.length < 4) return null;
  const { points } = drawing;
  const miss = misclosure(points);
  const near = miss.metres < Math.max(0.03 * miss.length, 0.3);
  if (!near) return el("p", {}, `The closing side would be ${lengthText(apart(points[0], points[points.length - 1]), unit())}.`);
  return el("div.caution", { id: "misclosure" },
    el("p", {}, `The last side ends ${lengthText(miss.metres, unit())} from the first corner: 1 part in ${Math.round(miss.one_in).toLocaleString("en-US")} of ${lengthText(miss.length, unit())} taped.`),
    el("p", {}, "If it is meant to be the first corner, spread the difference: each corner moves by its share of the way (compass rule)."),
    el("div.buttons", {},
      button("Spread it over the corners", () => close(spread(points)), { class: "find", id: "spread" }),
      button("Put it on the first corner", () => close(points.slice(0, -1)), { class: "find", id: "no-spread" })));
}

/** @param {Point[]} points */
function close(points) {
  change((s) => { if (s.drawing) s.drawing = { ...s.drawing, points }; });
  finish();
}
