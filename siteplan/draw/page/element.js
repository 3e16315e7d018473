/* How is a piece of the page made? From text and properties alone: nothing that a file says is ever read as HTML. */

/** @typedef {Node | string | number | null | undefined | false} Child */

/**
 * Return an element.
 * @param {string} tag  with classes, such as "p.caution"
 * @param {Record<string, any>} [given]  attributes; names that begin with "on" are listeners
 * @param {...(Child | Child[])} children
 * @returns {any}
 */
export function el(tag, given = {}, ...children) {
  const [name, ...classes] = tag.split(".");
  const made = document.createElement(name);
  if (classes.length) made.className = classes.join(" ");
  for (const [key, value] of Object.entries(given)) {
    if (value === undefined || value === null || value === false) continue;
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (key === "value") /** @type {any} */ (made).value = value;
    else if (key === "checked" || key === "disabled" || key === "open" || key === "selected") /** @type {any} */ (made)[key] = value;
    else made.setAttribute(key, value === true ? "" : String(value));
  }
  made.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== false).map((child) => (child instanceof Node ? child : String(child))));
  return made;
}

/** A name out of a file: kept apart, so that its script does not turn the words around it. @param {string} words */
export const name = (words) => el("bdi", {}, words);

/** @param {string} words @param {() => void} act @param {Record<string, any>} [given] */
export const button = (words, act, given = {}) => el("button", { type: "button", onclick: act, ...given }, words);

/**
 * Fill a part of the page anew where what it shows has changed; fields keep what was typed and is not sent yet, and the one in hand its focus.
 * @param {HTMLElement} box
 * @param {string} key  what the part shows; the same key leaves it as it is
 * @param {() => any[]} make
 */
export function fill(box, key, make) {
  if (box.dataset.key === key) return;
  box.dataset.key = key;
  const held = box.contains(document.activeElement) ? /** @type {any} */ (document.activeElement) : null;
  const id = held?.id;
  const typed = new Map([...box.querySelectorAll('[data-typed="yes"][id]')].map((field) => [field.id, /** @type {any} */ (field).value]));
  const marked = held && typeof held.selectionStart === "number" ? [held.selectionStart, held.selectionEnd] : null;
  const open = new Map([...box.querySelectorAll("details[id]:not([data-follows])")].map((part) => [part.id, /** @type {any} */ (part).open]));
  box.replaceChildren(.../** @type {Node[]} */ (make().flat(Infinity).filter(Boolean)));
  for (const part of box.querySelectorAll("details[id]")) if (open.has(part.id)) /** @type {any} */ (part).open = open.get(part.id);
  for (const [field, value] of typed) {
    const made = /** @type {any} */ (document.getElementById(field));
    if (made && box.contains(made)) Object.assign(made, { value }).dataset.typed = "yes";
  }
  const again = id ? /** @type {any} */ (document.getElementById(id)) : null;
  if (!again || again === document.activeElement) return;
  again.focus({ preventScroll: true });
  if (marked && again.setSelectionRange) again.setSelectionRange(...marked);
}

/** What was answered last, by the box that shows it. @type {Map<string, Node[]>} */
const answers = new Map();

/** A box for an answer; one that is made anew meanwhile shows it too. @param {string} id */
export const answerBox = (id) => el("div.answer", { id, role: "status" }, answers.get(id) ?? []);

/** Show an answer in its box; without parts it is empty again. @param {string} id @param {...Node} parts */
export function answer(id, ...parts) {
  answers.set(id, parts);
  document.getElementById(id)?.replaceChildren(...parts);
}
