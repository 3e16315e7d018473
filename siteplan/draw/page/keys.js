/* What does each key do? Tools by their letter, the cursor by arrows, Enter for a corner, figures for a length. */

import { keepInView, map, metresPerPixel, showAll } from "./canvas.js";
import { finish, letGo, setCorner, takeBack, takeTool } from "./drawing.js";
import { plus } from "./geometry.js";
import { hit } from "./hits.js";
import { pin, pinAsked, pinsFree } from "./pins.js";
import { nudge, remove, settle } from "./moves.js";
import { choose, holdFor } from "./pointer.js";
import { redo, undo } from "./saving.js";
import { change, features, now, say, unit } from "./state.js";
import { planeOf } from "./symbols.js";
import { TOOLS, toolOf } from "./tools.js";
import { cursorStep, lengthText } from "./units.js";

/** @typedef {import("./types.js").Point} Point */

/** @type {Record<string, Point>} */
const ARROWS = { ArrowUp: [0, 1], ArrowDown: [0, -1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] };

/** The keys in words, for the sheet. @type {[string, string][]} */
export const KEYS = [
  ["letter", "the tool beside which it stands"], ["arrows", "lead the cursor, or move what is chosen"], ["Shift + arrows", "ten times as far"],
  ["Alt + arrows", "a tenth as far"], ["Enter", "set a corner; choose what lies under the cursor"], ["figures", "type a length, or < and a direction"],
  ["Backspace", "take back the last corner"], ["Delete", "remove what is chosen"], ["Esc", "let go"], ["Ctrl + Z", "undo"], ["Ctrl + Shift + Z", "redo"],
  ["Page Down, Page Up", "choose the next thing, the one before"], ["+ and -", "closer, farther"], ["0", "show all"], ["N", "snaps on or off"], ["Shift", "held: lets go of snaps"],
];

/** @param {HTMLElement} paper  the canvas, which has the focus while its keys are meant */
export function startKeys(paper) {
  document.addEventListener("keydown", (event) => {
    const field = /** @type {Element} */ (event.target).closest("input, select, textarea");
    if ((event.ctrlKey || event.metaKey) && !event.altKey) return field ? undefined : withControl(event);
    if (event.key === "Escape") {
      settle();
      letGo();
      if (field?.id === "typed") paper.focus();
      return;
    }
    if (field || event.altKey && !(event.key in ARROWS)) return;
    if (/** @type {Element} */ (event.target).closest("button, summary, a") && (event.key === "Enter" || event.key === " ")) return;
    if (onPage(event) || (document.activeElement === paper && onPaper(event))) event.preventDefault();
  });
  paper.addEventListener("focus", () => {
    if (!paper.matches(":focus-visible")) return;
    change((s) => {
      s.byKeys = true;
      const last = s.drawing?.points.at(-1);
      if (last) s.cursor = last;
      else if (!map.getBounds().contains([s.cursor[1], s.cursor[0]])) s.cursor = planeOf(map.getCenter());
      s.hold = null;
    });
  });
  paper.addEventListener("blur", () => { if (now().byKeys) change((s) => { s.byKeys = false; }); });
}

/** @param {KeyboardEvent} event */
function withControl(event) {
  settle();
  const key = event.key.toLowerCase();
  if (key === "z" && !event.shiftKey) undo();
  else if ((key === "z" && event.shiftKey) || key === "y") redo();
  else if (key === "a" && document.activeElement?.id === "paper") choose(features().map((feature) => feature.id));
  else return;
  event.preventDefault();
}

/** Keys that mean the same wherever the focus is. @param {KeyboardEvent} event @returns {boolean} */
function onPage(event) {
  if (now().drawing && event.key.length === 1 && event.key !== " ") return toTyped(event.key);
  const tool = TOOLS.find((one) => one.key === event.key.toLowerCase() && !event.shiftKey);
  if (tool) {
    takeTool(tool.name);
    document.getElementById("paper")?.focus();
    return true;
  }
  if (event.key.toLowerCase() === "n") {
    change((s) => { s.snaps = !s.snaps; s.said = s.snaps ? "Snaps are on." : "Snaps are off."; });
    return true;
  }
  if (event.key === "+" || event.key === "=") map.zoomIn(0.5);
  else if (event.key === "-") map.zoomOut(0.5);
  else if (event.key === "Delete") remove();
  else if (event.key === "PageDown" || event.key === "PageUp") next(event.key === "PageDown" ? 1 : -1);
  else return false;
  return true;
}

/** While a line is in hand, figures and letters are meant for its length. @param {string} key @returns {boolean} */
function toTyped(key) {
  const field = /** @type {HTMLInputElement} */ (document.getElementById("typed"));
  if (!/[0-9.<lr]/i.test(key)) return false;
  field.focus();
  field.value = key;
  return true;
}

/** Choose the next thing in the order of the file. @param {number} by */
function next(by) {
  const ids = features().map((feature) => feature.id);
  if (!ids.length) return say("Nothing is drawn yet.");
  const held = ids.indexOf(now().selection.at(-1) ?? "");
  choose([ids[(held + by + (held < 0 && by < 0 ? 1 : 0) + ids.length) % ids.length]]);
}

/** Keys of the canvas. @param {KeyboardEvent} event @returns {boolean} */
function onPaper(event) {
  const way = ARROWS[event.key];
  if (way) {
    step(way, event.shiftKey ? 10 : event.altKey ? 0.1 : 1);
    return true;
  }
  if (event.key === "Enter") return enter();
  if (event.key === "Backspace") {
    if (now().drawing) takeBack();
    else remove();
    return true;
  }
  if (event.key === "0") {
    showAll();
    return true;
  }
  return false;
}

/** @param {Point} way @param {number} times */
function step(way, times) {
  const far = cursorStep(unit()) * times;
  if (now().tool === "select" && now().selection.length && !pinAsked()) return nudge([way[0] * far, way[1] * far]);
  const cursor = plus(now().byKeys ? now().cursor : now().hold?.point ?? now().cursor, way, far);
  const hold = holdNear(cursor);
  change((s) => {
    s.cursor = cursor;
    s.byKeys = true;
    s.hold = hold;
    s.said = `Cursor ${lengthText(hold.point[0], unit())} across, ${lengthText(hold.point[1], unit())} up${hold.words ? `: ${hold.words}` : ""}.`;
  });
  keepInView(cursor);
}

/** @returns {boolean} */
function enter() {
  const { tool, drawing, cursor, byKeys, way } = now();
  if (pinAsked()) pin(pinsFree() ? cursor : holdNear(cursor).point);
  else if (tool === "select") {
    const under = hit(cursor, true);
    if (under?.what === "thing") choose([under.id]);
    else say("Nothing lies under the cursor.");
  } else if (!byKeys && drawing) finish();
  else {
    const last = drawing?.points.at(-1);
    const again = last && Math.hypot(last[0] - cursor[0], last[1] - cursor[1]) < 2 * metresPerPixel();
    if (again && drawing && way === "corners" && drawing.points.length >= (toolOf(tool).closed ? 3 : 2)) finish();
    else setCorner(holdNear(cursor).point);
  }
  return true;
}

/** Return the corner of a thing that the cursor stands next to, so that shapes can meet by keys too. @param {Point} cursor @returns {import("./types.js").Hold} */
function holdNear(cursor) {
  const hold = holdFor(cursor, false);
  return /corner|middle/.test(hold.words) ? hold : { point: cursor, words: "", guides: [] };
}
