/* Where is the property? Latitude and longitude typed or pasted, or a town by its name. */

import { answer, answerBox, button, el, name } from "./element.js";
import { form } from "./fields.js";
import { edit } from "./saving.js";
import { Away, Refused, ask } from "./server.js";
import { say } from "./state.js";

let asked = "";

/** The two ways to say where. */
export function whereForms() {
  const towns = el("ul.choices", { id: "town-list" });
  return [
    form([{ name: "text", label: "Latitude and longitude", placeholder: "41°21'N 92°12'W", hint: "As a map or a phone shows them: 41.352, -92.204 or 41°21'N 92°12'W." }], "Read it", (values) => void read(values.text), "where"),
    answerBox("where-answer"),
    el("div.field", {}, el("label", { for: "town" }, "Or the next town"),
      el("input", { id: "town", autocomplete: "off", spellcheck: "false", placeholder: "Its first letters", oninput: (/** @type {any} */ event) => void look(event.target.value, towns) })),
    towns,
  ];
}

/** @param {string} text */
async function read(text) {
  try {
    const told = await ask("/api/where", { text });
    const lines = Array.isArray(told.said) ? told.said : [told.said];
    answer("where-answer", ...lines.map((/** @type {string} */ line) => el("p", {}, line)), button("It lies there", () => take(told), { class: "find", id: "where-take" }));
    say(lines.join(" "));
  } catch (error) {
    answer("where-answer", fault(error, "p.caution"));
  }
}

/** @param {string} text @param {HTMLElement} list */
async function look(text, list) {
  asked = text;
  if (text.trim().length < 2) return list.replaceChildren();
  try {
    const told = await ask(`/api/towns?q=${encodeURIComponent(text)}`);
    if (asked !== text) return;
    list.replaceChildren(...told.towns.map((/** @type {any} */ town) => el("li", {}, el("span", {}, name(town.name), el("small", {}, name([town.region, town.country].filter(Boolean).join(", ")))), button("Here", () => take(town), { class: "find small", "aria-label": `${town.name}, ${town.region}: it lies here` }))),
      ...(told.said ?? []).map((/** @type {string} */ line) => el("li", {}, line)), ...(told.credit && told.towns.length ? [el("li.credit", {}, el("small", {}, told.credit))] : []));
  } catch (error) {
    list.replaceChildren(fault(error, "li.caution"));
  }
}

/** Return the words of a refusal, said aloud too. @param {unknown} error @param {string} tag */
function fault(error, tag) {
  if (!(error instanceof Refused || error instanceof Away)) throw error;
  say(error.message);
  return el(tag, {}, error.message);
}

/** @param {{latitude: number, longitude: number}} place */
function take({ latitude, longitude }) {
  answer("where-answer");
  edit("set where it lies", { settings: { "origin.latitude": latitude, "origin.longitude": longitude } });
}
