/* How high is it? From a distance and an angle, or from the length of its shadow at a noted time. */

import { answer, answerBox, button, el } from "./element.js";
import { form, valueOf } from "./fields.js";
import { setProperty } from "./moves.js";
import { Refused, Away, ask } from "./server.js";
import { say, unit } from "./state.js";
import { lengthText, lengthValue } from "./units.js";

/** @typedef {import("./types.js").Feature} Feature */

const LENGTHS = new Set(["distance", "eye_height", "shadow", "stick", "stick_shadow"]);

/** @param {Feature} feature */
export function heightHelper(feature) {
  const box = `height of ${feature.id}`;
  /** @param {Record<string, string>} values @param {string} way */
  const find = async (values, way) => {
    try {
      const told = await ask("/api/height", { way, ...lengths(values) });
      const lines = Array.isArray(told.said) ? told.said : [told.said];
      answer(box, el("p", {}, el("b", {}, lengthText(told.height_m, unit())), ` (${lengthText(told.low_m, unit())} to ${lengthText(told.high_m, unit())})`), ...lines.map((/** @type {string} */ line) => el("p", {}, line)),
        button("Take it as the height", () => { answer(box); setProperty(feature, "height", lengthValue(told.height_m, unit())); }, { class: "find", id: "height-take" }));
    } catch (error) {
      if (!(error instanceof Refused || error instanceof Away)) throw error;
      answer(box, el("p.caution", {}, error.message));
      say(error.message);
    }
  };
  return el("details.more", { id: "height-helper" }, el("summary", {}, el("span.what", {}, "How high is it? Measure it")),
    el("h3", {}, "From a distance and an angle"),
    form([{ name: "distance", label: "How far you stand from its foot", placeholder: "30 ft" }, { name: "angle", label: "Angle up to its top, in degrees", placeholder: "42" }, { name: "eye_height", label: "Height of your eye", placeholder: "5 ft 4 in", hint: "On level ground; left out: 1.6 m." }], "Reckon", (values) => void find(values, "angle"), "by-angle"),
    el("h3", {}, "From its shadow"),
    form([{ name: "shadow", label: "Length of its shadow on level ground", placeholder: "24 ft" }, { name: "date", label: "Date", type: "date" }, { name: "time", label: "Time by the clock", type: "time" }], "Reckon", (values) => void find(values, "shadow"), "by-shadow"),
    el("h3", {}, "From its shadow and that of a stick, at the same moment"),
    form([{ name: "shadow", label: "Length of its shadow", placeholder: "24 ft" }, { name: "stick", label: "Height of the stick", placeholder: "4 ft" }, { name: "stick_shadow", label: "Length of the stick's shadow", placeholder: "3 ft 2 in" }], "Reckon", (values) => void find(values, "stick"), "by-stick"),
    answerBox(box));
}

/** Return what was typed, with each length as the server reads it. @param {Record<string, string>} values */
function lengths(values) {
  const given = Object.entries(values).filter(([, text]) => text.trim());
  return Object.fromEntries(given.map(([key, text]) => [key, LENGTHS.has(key) ? valueOf(text, { type: "quantity", dimension: "length" }) : valueOf(text, { type: "quantity" })]));
}
