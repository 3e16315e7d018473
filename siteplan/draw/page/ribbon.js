/* Which tool is in the hand? The row of words above the paper, and the line of words below it. */

import { showAll } from "./canvas.js";
import { takeTool, takeTyped } from "./drawing.js";
import { button, el, fill } from "./element.js";
import { pinAsked } from "./pins.js";
import { change, now, say } from "./state.js";
import { TOOLS, asked, toolOf } from "./tools.js";

/** Whether a finger is what points here: it has no Shift key. */
const FINGER = matchMedia("(pointer: coarse)").matches;

/** @param {HTMLElement} box */
export function startRibbon(box) {
  const tools = TOOLS.map((tool) => el("button.tool", { type: "button", "data-tool": tool.name, "aria-pressed": "false", "aria-keyshortcuts": tool.key, title: tool.says, onclick: () => pick(tool.name) },
    el("span", {}, tool.word), el("kbd", { "aria-hidden": "true" }, tool.key.toUpperCase())));
  const snaps = el("label.snaps", {}, el("input", { type: "checkbox", id: "snaps", checked: true, onchange: (/** @type {any} */ event) => change((s) => { s.snaps = event.target.checked; }) }), "Snaps ", el("kbd", { "aria-hidden": "true" }, "N"));
  box.append(el("div.tool-row", { role: "group", "aria-label": "What to draw" }, tools), el("div.tool-row.tool-side", {}, button("Show all", showAll, { class: "tool" }), snaps));
  const form = /** @type {HTMLFormElement} */ (document.getElementById("typed-form"));
  const field = /** @type {HTMLInputElement} */ (document.getElementById("typed"));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    take(field);
  });
  field.addEventListener("input", () => field.removeAttribute("aria-invalid"));
}

/** @param {string} name */
function pick(name) {
  takeTool(name);
  if (name !== "select") document.getElementById("paper")?.focus({ preventScroll: true });
}

/** @param {HTMLInputElement} field */
function take(field) {
  try {
    takeTyped(field.value);
    field.value = "";
    document.getElementById("paper")?.focus({ preventScroll: true });
  } catch (error) {
    if (!(error instanceof Error) || error.constructor !== Error) throw error;
    field.setAttribute("aria-invalid", "true");
    say(error.message);
  }
}

/** Show which tool is in the hand, what is asked, and what happened. */
export function drawRibbon() {
  const { tool, snaps, said, drawing, way } = now();
  for (const one of document.querySelectorAll("button[data-tool]")) one.setAttribute("aria-pressed", String(one.getAttribute("data-tool") === tool));
  /** @type {HTMLInputElement} */ (document.getElementById("snaps")).checked = snaps;
  const foot = /** @type {HTMLElement} */ (document.getElementById("foot-said"));
  if (foot.textContent !== said) foot.textContent = said;
  const hint = /** @type {HTMLElement} */ (document.getElementById("foot-hint"));
  const words = pinAsked() || (tool === "select" ? FINGER ? "Tap a thing to choose it, then drag it. Two fingers move the paper closer or farther." : "Click a thing to choose it; Shift + click for several, Shift + drag for a frame." : asked(way, drawing?.points.length ?? 0, toolOf(tool).closed));
  fill(hint, words + snaps, () => [words, tool === "select" || !snaps || FINGER ? "" : " Hold Shift to let go of snaps."]);
  const form = /** @type {HTMLElement} */ (document.getElementById("typed-form"));
  form.hidden = !drawing;
  const label = drawing?.way === "circle" ? "Radius" : drawing?.way === "box" ? "Size" : drawing?.way === "three" && drawing.points.length === 2 ? "Depth" : "Length or direction";
  fill(/** @type {HTMLElement} */ (document.getElementById("typed-label")), label, () => [label]);
  /** @type {HTMLInputElement} */ (document.getElementById("typed")).placeholder = label === "Size" ? "8 ft x 4 ft" : label === "Length or direction" ? "12 ft 6 in, or <90" : "3 ft 6 in";
  /** @type {HTMLElement} */ (document.getElementById("paper")).classList.toggle("drawing", tool !== "select" || Boolean(pinAsked()));
}
