/* Which way is north? By compass, by the shadow of a stick, by a street, or typed. */

import { answer, answerBox, button, el } from "./element.js";
import { form } from "./fields.js";
import { edit } from "./saving.js";
import { Away, Refused, ask } from "./server.js";
import { now, say } from "./state.js";

/** @typedef {Parameters<typeof form>[0]} Asks */

/** Return the day of a moment by the clock of this machine, as a field for a date holds it. @param {Date} moment */
export const dayOf = (moment) => [[moment.getFullYear(), 4], [moment.getMonth() + 1, 2], [moment.getDate(), 2]].map(([part, digits]) => String(part).padStart(digits, "0")).join("-");

/** Return the ways to find north: what each asks. @param {string} today @returns {[string, string, string, Asks][]} */
const ways = (today) => [
  ["compass", "By a compass", "Stand so that you look up the paper: from the bottom of your drawing to its top. Read the compass.",
    [{ name: "reading", label: "The compass reads, in degrees", placeholder: "8" }, { name: "date", label: "Date", type: "date", value: today }]],
  ["shadow", "By the shadow of a stick", "Set a stick upright in the sun. Note the time, and in which direction its shadow points on your paper, from the stick to its tip.",
    [{ name: "direction", label: "The shadow on the paper, degrees clockwise from its top", placeholder: "340" }, { name: "date", label: "Date", type: "date", value: today }, { name: "time", label: "Time by the clock", type: "time" }]],
  ["street", "By a street", "A map shows in which direction your street runs. Say how it lies on your paper.",
    [{ name: "bearing", label: "The street's bearing on the map, degrees clockwise from north", placeholder: "102" }, { name: "direction", label: "The same way on the paper, degrees clockwise from its top", placeholder: "90" }]],
  ["typed", "Typed", "The bearing of the top of the paper, if you know it.", [{ name: "bearing", label: "Degrees clockwise from north", placeholder: "12" }]],
];

export function northForms() {
  if (!now().property?.place) return [el("p", {}, "Say first where it lies: the compass and the sun depend on it.")];
  return [
    ...ways(dayOf(new Date())).map(([way, words, how, asks]) => el("details.more", { id: `north-${way}` }, el("summary", {}, el("span.what", {}, words)), el("p", {}, how),
      form(asks, "Reckon north", (values) => void find(way, values), `north-${way}`))),
    answerBox("north-answer"),
  ];
}

/** Return what was typed with plain figures as numbers; what is left empty is not sent. @param {Record<string, string>} values */
export function figures(values) {
  const given = Object.entries(values).map(([key, text]) => [key, text.trim()]).filter(([, text]) => text);
  return Object.fromEntries(given.map(([key, text]) => [key, /^[-+]?(\d+([.,]\d*)?|[.,]\d+)$/.test(text) ? Number(text.replace(",", ".")) : text]));
}

/** @param {string} way @param {Record<string, string>} values */
async function find(way, values) {
  try {
    const told = await ask("/api/north", { way, ...figures(values) });
    const lines = Array.isArray(told.said) ? told.said : [told.said];
    answer("north-answer", ...lines.map((/** @type {string} */ line) => el("p", {}, line)),
      button(`Take ${Number(told.bearing.toFixed(1))}°`, () => { answer("north-answer"); edit("set which way north is", { settings: { "origin.bearing": Number(told.bearing.toFixed(2)) } }); }, { class: "find", id: "north-take" }));
    say(lines.join(" "));
  } catch (error) {
    if (!(error instanceof Refused || error instanceof Away)) throw error;
    answer("north-answer", el("p.caution", {}, error.message));
    say(error.message);
  }
}
