/* What is asked first? The steps from nothing to a property, in the order in which they can be answered. */

import { takeTool } from "./drawing.js";
import { button, el, name } from "./element.js";
import { form } from "./fields.js";
import { northForms } from "./north.js";
import { edit } from "./saving.js";
import { drawingUnit, features, now, settingOf, unit } from "./state.js";
import { whereForms } from "./where.js";
import { kindOf } from "./shapes.js";

/** @typedef {import("./types.js").State} State */
/** @typedef {{id: string, word: string, done: boolean, told: string, body: () => any}} Step */

/** What of the state the steps show. @param {Readonly<State>} s */
export const stepsKey = (s) => JSON.stringify(["steps", s.property?.settings, s.property?.name, s.property?.place, s.property?.units, s.property?.version, s.waiting.map((step) => step.body.settings), features().map((feature) => kindOf(feature))]);

/** @returns {Step[]} */
function steps() {
  const { property } = now();
  const place = property?.place;
  const outline = features().some((feature) => kindOf(feature) === "boundary");
  const [last, first] = ["season.last_frost", "season.first_frost"].map(settingOf);
  const bearing = settingOf("origin.bearing");
  return [
    { id: "name", word: "Name and units", done: Boolean(settingOf("name")) && (features().length > 0 || settingOf("units") !== null), told: settingOf("name") ? `${settingOf("name")}, in ${unit()}` : "", body: nameForm },
    { id: "where", word: "Where it lies", done: Boolean(place), told: place ? placeWords(place) : "", body: whereForms },
    { id: "north", word: "Which way north is", done: bearing !== null || (Boolean(place) && !("origin.bearing" in (property?.settings ?? {}))), told: place && bearing !== null ? `the top of the paper lies ${bearing}° clockwise from north` : "", body: northForms },
    { id: "frost", word: "Frost dates", done: Boolean(last && first), told: last && first ? `${last} to ${first}` : "", body: frostForm },
    { id: "outline", word: "The outline", done: outline, told: outline ? "drawn" : "", body: outlineForm },
  ];
}

/** @param {import("./types.js").Place} place */
const placeWords = ({ latitude, longitude }) => `${Math.abs(latitude).toFixed(4)}° ${latitude < 0 ? "south" : "north"}, ${Math.abs(longitude).toFixed(4)}° ${longitude < 0 ? "west" : "east"}`;

/** Return the panel of what is asked next. */
export function stepsPanel() {
  const all = steps();
  const next = all.find((step) => !step.done);
  const list = el("ol.steps", {}, all.map((step, index) => el("li", {}, el(`details.card.step${step.done ? ".done" : ""}`, { id: `step-${step.id}`, "data-follows": true, open: step === next },
    el("summary", {}, el("b.rank", { "aria-hidden": "true" }, step.done ? "✓" : String(index + 1)), el("span.what", {}, step.word, el("span.unseen", {}, step.done ? ", done" : ", not done yet"), step.told ? el("em", {}, " ", name(step.told)) : null)),
    el("div.inside", {}, step.body())))));
  if (next) return [el("h2", {}, "What is asked first"), list];
  return [
    el("h2", {}, "The property"),
    el("p.lead.on-wide", {}, "Take a tool to draw what stands on it, or choose a thing to see its card."),
    el("p.lead.on-phone", {}, "Choose a thing to see its card, or drag a bed. To draw, use a larger screen."),
    el("details.more", { id: "asked-first" }, el("summary", {}, el("span.what", {}, "Name, place, north, frost, outline")), list),
  ];
}

function nameForm() {
  const { property } = now();
  /** @param {string} key @param {any} value */
  const set = (key, value) => edit(`set ${key.split(".").at(-1)}`, { settings: { [key]: value } });
  const units = settingOf("units") ?? (features().length ? property?.units : null);
  return [
    form([{ name: "name", label: "What you call it", value: settingOf("name") ?? "" }], "Keep the name", (values) => values.name.trim() && set("name", values.name.trim()), "site"),
    el("fieldset.ways", {}, el("legend", {}, "Results are told in"), [["imperial", "feet and inches"], ["metric", "metres"]].map(([value, words]) => el("label", {},
      el("input", { type: "radio", name: "units", id: `units-${value}`, value, checked: units === value, onchange: () => chooseUnits(value) }), el("span", {}, words)))),
    el("div.field", {}, el("label", { for: "origin-unit" }, "Unit of the drawing"), el("select", {
      id: "origin-unit", disabled: features().length > 0, onchange: (/** @type {any} */ event) => set("origin.unit", event.target.value),
    }, [...new Set(["ft", "in", "m", "cm", drawingUnit()])].map((one) => el("option", { value: one, selected: drawingUnit() === one }, one))), el("small", {}, features().length ? "It cannot change once something is drawn." : `A number typed without a unit is in ${unit()}.`)),
  ];
}

/** Results in feet go with a drawing in feet, while nothing is drawn. @param {string} units */
function chooseUnits(units) {
  const drawing = features().length ? {} : { "origin.unit": units === "imperial" ? "ft" : "m" };
  edit("set units", { settings: { units, ...drawing } });
}

function frostForm() {
  const { property } = now();
  const says = property?.settings["season.last_frost"]?.default;
  return [
    form([
      { name: "last", label: "Last frost in spring", value: settingOf("season.last_frost") ?? "", placeholder: "05-04", hint: "Month and day, as 05-04." },
      { name: "first", label: "First frost in autumn", value: settingOf("season.first_frost") ?? "", placeholder: "10-04" },
    ], "Keep the dates", (values) => edit("set frost dates", { settings: { "season.last_frost": values.last.trim() || null, "season.first_frost": values.first.trim() || null } }), "frost"),
    el("p", {}, el("small", {}, `Without them the growing season is assumed${says ? `: from ${says} to ${property?.settings["season.first_frost"]?.default}` : ""}. A gardening neighbour knows them.`)),
  ];
}

function outlineForm() {
  return [
    el("p", {}, "Draw the boundary from corner to corner, with the lengths that you taped."),
    button("Draw the boundary", () => { takeTool("boundary"); document.getElementById("paper")?.focus({ preventScroll: true }); }, { class: "find", id: "start-boundary" }),
  ];
}
