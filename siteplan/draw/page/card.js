/* What is known of the thing that is chosen? Its card: name, what check says of it, its properties, what can be done. */

import { doings } from "./doings.js";
import { button, el, fill, name } from "./element.js";
import { field, heldText, isNeeded, keyWords } from "./fields.js";
import { figuresOf } from "./live.js";
import { heightHelper } from "./heights.js";
import { rename, setProperty } from "./moves.js";
import { choose } from "./pointer.js";
import { apart, signedArea } from "./geometry.js";
import { keyIn } from "./reading.js";
import { corners, isArea, isPlain, kindOf } from "./shapes.js";
import { chosen, now, reading, unit } from "./state.js";
import { areaText, lengthText } from "./units.js";

/** @typedef {import("./types.js").Feature} Feature */
/** @typedef {import("./types.js").State} State */

/** What of the state the card shows. @param {Readonly<State>} s */
export function cardKey(s) {
  const [feature] = chosen();
  return JSON.stringify(["card", feature.id, kindOf(feature), feature.properties, feature.geometry.type, corners(feature).length, s.side, s.corner, s.kinds.length, saidOf(feature.id), s.pinning, unit()]);
}

/** Show what changes while the thing is held: its size, and the figures of a bed. @param {Readonly<State>} s */
export function drawFigures(s) {
  const [feature] = chosen();
  const [figures, size] = ["card-figures", "card-size"].map((id) => document.getElementById(id));
  if (!feature || !figures || !size) return;
  fill(size, sizeWords(feature), () => [el("small", {}, sizeWords(feature))]);
  fill(figures, JSON.stringify([feature.id, s.bed, s.property?.sound]), () => [figuresOf(feature)]);
}

/** Return what check says about a thing. @param {string} id */
export function saidOf(id) {
  const { property } = now();
  return {
    faults: (property?.faults ?? []).filter((fault) => (fault.feature || fault.where) === id),
    cautions: (property?.cautions ?? []).filter((caution) => caution.feature === id),
  };
}

/** Return the card of the one thing that is chosen. */
export function card() {
  const [feature] = chosen();
  const kind = now().kinds.find((one) => one.kind === kindOf(feature));
  const { faults, cautions } = saidOf(feature.id);
  return [
    el("h2", {}, el("span", {}, kind?.word ?? kindOf(feature)), name(feature.id)),
    faults.map((fault) => el("p.caution.fault", {}, fault.text)),
    cautions.map((caution) => el("p.caution", {}, caution.text)),
    el("div", { id: "card-figures" }),
    el("div.field", {}, el("label", { for: "card-name" }, "Name"), el("input", {
      id: "card-name", value: feature.id, autocomplete: "off", spellcheck: "false",
      oninput: (/** @type {any} */ event) => { event.target.dataset.typed = "yes"; },
      onchange: (/** @type {any} */ event) => { delete event.target.dataset.typed; rename(feature, event.target.value.trim()); },
    })),
    ...fieldsOf(feature, kind),
    el("p", { id: "card-size" }),
    kind?.keys.some((key) => key.name === "height") ? heightHelper(feature) : null,
    doings(feature),
    el("div.buttons", {}, button("Done", () => choose([]), { class: "find", id: "card-done" })),
  ].flat();
}

/** The fields: those that are needed or given first, the others under one head. @param {Feature} feature @param {import("./types.js").Kind | undefined} kind */
function fieldsOf(feature, kind) {
  const keys = (kind?.keys ?? []).filter((key) => !(key.name === "crown_diameter" && isArea(feature)) && !(key.name === "width" && feature.geometry.type === (kindOf(feature) === "hedge" ? "Polygon" : "LineString")));
  /** @param {import("./types.js").Key} key */
  const needs = (key) => isNeeded(key, feature.geometry.type, feature.properties);
  /** @param {import("./types.js").Key} key */
  const nameOf = (key) => keyIn(feature, key.name, reading());
  /** @param {import("./types.js").Key} key */
  const made = (key) => field(key, feature.properties[nameOf(key)], (value) => setProperty(feature, nameOf(key), value), { needed: needs(key) });
  const first = keys.filter((key) => needs(key) || nameOf(key) in feature.properties);
  const rest = keys.filter((key) => !first.includes(key));
  const known = new Set([...(kind?.keys ?? []).map(nameOf), "kind", "id"]);
  const others = Object.entries(feature.properties).filter(([key]) => !known.has(key));
  return [
    ...first.map(made),
    rest.length ? el("details.more", { id: "more-keys" }, el("summary", {}, el("span.what", {}, `More: ${rest.slice(0, 3).map((key) => key.name.replaceAll("_", " ")).join(", ")}${rest.length > 3 ? " ..." : ""}`)), rest.map(made)) : null,
    others.length ? el("dl.others", {}, others.map(([key, held]) => el("div", {}, el("dt", {}, name(keyWords(key))), el("dd", {}, name(heldText(held)))))) : null,
  ];
}

/** @param {Feature} feature */
function sizeWords(feature) {
  const points = corners(feature);
  if (feature.geometry.type === "Point") return `At ${lengthText(points[0][0], unit())} across and ${lengthText(points[0][1], unit())} up.`;
  if (isArea(feature)) return `${isPlain(feature) ? `${points.length} corners, ` : "Several parts or with holes; "}${areaText(Math.abs(signedArea(points)), unit())}.`;
  const long = points.slice(1).reduce((sum, point, index) => sum + apart(points[index], point), 0);
  return `${points.length} points, ${lengthText(long, unit())} long.`;
}

/** Return the panel of several things. */
export function several() {
  const things = chosen();
  return [
    el("h2", {}, `${things.length} things are chosen`),
    el("ul.names", {}, things.slice(0, 12).map((feature) => el("li", {}, name(feature.id))), things.length > 12 ? el("li", {}, `and ${things.length - 12} more`) : null),
    doings(null),
    el("div.buttons", {}, button("Done", () => choose([]), { class: "find", id: "card-done" })),
  ];
}
