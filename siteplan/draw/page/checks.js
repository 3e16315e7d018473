/* What does check say of the property, and where? Each line leads to the thing that it is about. */

import { el, name } from "./element.js";
import { choose } from "./pointer.js";
import { features, now } from "./state.js";

/** @typedef {import("./types.js").State} State */

/** @param {Readonly<State>} s */
export const checksKey = (s) => JSON.stringify([s.property?.sound, s.property?.missing, s.property?.faults, s.property?.cautions, features().map((feature) => feature.id)]);

/** Return the panel of faults and cautions. */
export function checksPanel() {
  const { property } = now();
  if (!property) return [];
  const { faults, cautions, missing = [] } = property;
  const heads = [
    faults.length ? `${faults.length} ${faults.length === 1 ? "fault" : "faults"}: mend ${faults.length === 1 ? "it" : "them"} before a plan can be made` : "",
    cautions.length ? `${cautions.length} ${cautions.length === 1 ? "caution" : "cautions"}` : "",
  ];
  return [
    el("h2", {}, "What check says"),
    missing.map((one) => el("p.next", {}, one.says)),
    !faults.length && !cautions.length && property.sound ? el("p.lead", {}, "The property is sound.") : null,
    faults.length ? el("details.cautions", { id: "faults", open: true }, el("summary", {}, el("span.what", {}, heads[0])), el("ul", {}, faults.map((fault) => line(fault.feature || fault.where || "", fault.text, fault.file)))) : null,
    cautions.length ? el("details.cautions", { id: "cautions", open: cautions.length < 4 }, el("summary", {}, el("span.what", {}, heads[1])), el("ul", {}, cautions.map((caution) => line(caution.feature ?? "", caution.text)))) : null,
  ];
}

/** @param {string} where @param {string} text @param {string} [file] */
function line(where, text, file) {
  const feature = features().find((one) => one.id === where);
  return el("li", {}, feature ? el("button.of", { type: "button", onclick: () => choose([feature.id]) }, name(feature.id)) : where ? el("span.of", {}, name(where)) : file ? el("span.of", {}, name(file)) : null, " ", text);
}

