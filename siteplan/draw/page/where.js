/* Where is the property? Latitude and longitude typed or pasted, or a town by its name. */

import { button, el, name } from "./element.js";
import { form } from "./fields.js";
import { edit } from "./saving.js";
import { Away, Refused, ask } from "./server.js";
import { say } from "./state.js";

let asked = "";

/** The two ways to say where. */
export function whereForms() {
  const found = el("div.answer", { role: "status" });
  const towns = el("ul.choices", { id: "town-list" });
  return [
    form([{ name: "text", label: "Latitude and longitude", placeholder: "41°21'N 92°12'W", hint: "As a map or a phone shows them: 41.352, -92.204 or 41°21'N 92°12'W." }], "Read it", (values) => void read(values.text, found), "where"),
    found,
    el("div.field", {}, el("label", { for: "town" }, "Or the next town"),
      el("input", { id: "town", autocomplete: "off", spellcheck: "false", placeholder: "Its first letters", oninput: (/** @type {any} */ event) => void look(event.target.value, towns) })),
    towns,
  ];
}

/** @param {string} text @param {HTMLElement} found */
async function read(text, found) {
  try {
    const told = await ask("/api/where", { text });
    const lines = Array.isArray(told.said) ? told.said : [told.said];
    found.replaceChildren(...lines.map((/** @type {string} */ line) => el("p", {}, line)), button("It lies there", () => take(told), { class: "find", id: "where-take" }));
    say(lines.join(" "));
  } catch (error) {
    fault(error, found);
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
    fault(error, list);
  }
}

/** @param {unknown} error @param {HTMLElement} box */
function fault(error, box) {
  if (!(error instanceof Refused || error instanceof Away)) throw error;
  box.replaceChildren(el(box.tagName === "UL" ? "li.caution" : "p.caution", {}, error.message));
  say(error.message);
}

/** @param {{latitude: number, longitude: number}} place */
function take({ latitude, longitude }) {
  edit("set where it lies", { settings: { "origin.latitude": latitude, "origin.longitude": longitude } });
}
