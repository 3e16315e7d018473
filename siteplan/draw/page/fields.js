/* How is a property asked for? One field for each rule: a quantity, a choice, a yes or no, a text. */

import { el } from "./element.js";
import { unit } from "./state.js";
import { typedLength } from "./typed.js";
import { lengthText, lengthValue } from "./units.js";

/** @typedef {import("./types.js").Key} Key */

/** A key of the file as words. @param {string} key */
export const keyWords = (key) => key.charAt(0).toUpperCase() + key.slice(1).replaceAll("_", " ");

/** Return a value as it stands in a field. @param {any} held */
export const heldText = (held) => (held === null || held === undefined ? "" : typeof held === "object" ? JSON.stringify(held) : String(held));

/**
 * Return a value as the file holds it: a bare length gets the unit of the drawing, feet and inches become one figure, a decimal comma a point.
 * @param {string} text
 * @param {Key["rule"]} rule
 */
export function valueOf(text, rule) {
  const plain = text.trim();
  if (!plain) return null;
  const number = Number(plain.replace(",", "."));
  const bare = /^[-+]?(\d+([.,]\d*)?|[.,]\d+)$/.test(plain);
  if (rule.type === "lengths") return plain; // a list: a comma stands between two
  if (rule.dimension === "length") {
    if (bare) return `${number} ${unit()}`;
    try {
      const metres = typedLength(plain, unit());
      return /^[-+]?[\d.,]+\s*[a-z]+$/i.test(plain) ? pointed(plain) : lengthValue(metres, unit());
    } catch {
      return pointed(plain); // the check says what is wrong with it, in its own words
    }
  }
  if (bare && rule.type !== "text") return number;
  return rule.type === "quantity" ? pointed(plain) : plain;
}

/** Return a quantity with points for decimal commas, as a file is read. @param {string} text */
const pointed = (text) => text.replace(/(^|[\d\s]),(?=\d)/g, "$1.");

/**
 * Return a field with its label, what it means, and what is taken where it is left out.
 * @param {Key} key
 * @param {any} held
 * @param {(value: any) => void} take
 * @param {{prefix?: string, needed?: boolean}} [more]  of its id; whether the thing must have it
 */
export function field(key, held, take, { prefix = "key", needed = false } = {}) {
  const id = `${prefix}-${key.name}`;
  const hint = `${id}-says`;
  const lacks = needed && (held === undefined || held === null);
  return el(`div.field${lacks ? ".lacks" : ""}`, {},
    el("label", { for: id }, keyWords(key.name), lacks ? el("b.need", {}, " needed") : null),
    input(key, held, take, { id, "aria-describedby": hint, name: key.name }),
    el("small", { id: hint }, hintOf(key, needed)));
}

/**
 * Whether a thing of this shape must have the property.
 * @param {Key} key
 * @param {string} shape  of GeoJSON
 * @param {Record<string, any>} held  what it has
 */
export function isNeeded(key, shape, held) {
  const wanted = key.required || (key.required_of ?? []).includes(shape);
  return Boolean(wanted) && !(key.instead ?? []).some((other) => other in held);
}

/** @param {Key} key @param {boolean} needed */
function hintOf(key, needed) {
  const { says, source, advice } = key;
  const taken = key.default === null || key.default === undefined || needed ? "" : ` Left out: ${defaultText(key)}${source ? ` (${source})` : ""}.`;
  const spread = key.rule.spread ? " It may say how far off it may be: 24 ft +- 2 ft, 24 ft ± 10 %." : "";
  return `${capital(says)}.${taken}${needed && advice ? ` ${capital(advice)}.` : ""}${key.rule.dimension === "length" ? spread : ""}`.replace("..", ".");
}

/** @param {any} held */
const heldWords = (held) => (held === true ? "yes" : held === false ? "no" : heldText(held));

/** What is taken where a key is left out; a length in the unit of the drawing. @param {Key} key */
function defaultText(key) {
  if (key.rule.dimension !== "length" || typeof key.default !== "string") return heldWords(key.default);
  try {
    return lengthText(typedLength(key.default, unit()), unit());
  } catch {
    return key.default;
  }
}

/** @param {string} words */
const capital = (words) => words.charAt(0).toUpperCase() + words.slice(1);

/** @param {Key} key @param {any} held @param {(value: any) => void} take @param {Record<string, any>} given */
function input(key, held, take, given) {
  const { rule } = key;
  if (rule.type === "flag") {
    return el("input", { ...given, type: "checkbox", checked: held === true || held === "true" || (held === undefined && key.default === true), onchange: (/** @type {any} */ event) => take(event.target.checked === (key.default ?? false) ? null : event.target.checked) });
  }
  if (rule.type === "choice" && rule.choices) {
    const choices = held !== undefined && held !== null && !rule.choices.includes(String(held)) ? [String(held), ...rule.choices] : rule.choices;
    return el("select", { ...given, onchange: (/** @type {any} */ event) => take(event.target.value || null) },
      el("option", { value: "" }, key.default ? `${defaultText(key)} (left out)` : "not said"),
      choices.map((one) => el("option", { value: one, selected: String(held ?? "") === one }, one)));
  }
  if (typeof held === "object" && held !== null) return el("output.held", { id: given.id }, `${heldText(held)} (change it in the file)`);
  return el("input", {
    ...given, value: heldText(held), placeholder: key.default === null || key.default === undefined ? "" : defaultText(key), autocomplete: "off", spellcheck: "false",
    oninput: (/** @type {any} */ event) => { event.target.dataset.typed = "yes"; },
    onchange: (/** @type {any} */ event) => {
      delete event.target.dataset.typed;
      const value = valueOf(event.target.value, rule);
      if (heldText(value) !== heldText(held)) take(value);
    },
    onkeydown: (/** @type {KeyboardEvent} */ event) => { if (event.key === "Enter") /** @type {HTMLElement} */ (event.target).blur(); },
  });
}

/**
 * Return a small form: labelled fields and one button; what they hold is handed over as texts.
 * @param {{name: string, label: string, value?: string, placeholder?: string, type?: string, hint?: string}[]} asks
 * @param {string} words  of the button
 * @param {(values: Record<string, string>) => void} act
 * @param {string} prefix
 */
export function form(asks, words, act, prefix) {
  const fields = asks.map(({ name, label, value = "", placeholder = "", type = "text", hint }) => {
    const id = `${prefix}-${name}`;
    return el("div.field", {}, el("label", { for: id }, label),
      el("input", { id, name, type, value, placeholder, step: type === "time" ? "60" : undefined, autocomplete: "off", spellcheck: "false", "aria-describedby": hint ? `${id}-says` : undefined, oninput: (/** @type {any} */ event) => { event.target.dataset.typed = "yes"; } }),
      hint ? el("small", { id: `${id}-says` }, hint) : null);
  });
  return el("form.ask", {
    onsubmit: (/** @type {any} */ event) => {
      event.preventDefault();
      for (const one of event.target.querySelectorAll("[data-typed]")) delete one.dataset.typed;
      const held = Object.fromEntries(new FormData(event.target).entries());
      act(/** @type {Record<string, string>} */ (held));
    },
  }, fields, el("button.find", { type: "submit" }, words));
}
