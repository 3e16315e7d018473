/* Is it saved, what can be undone, and what if it cannot be saved? */

import { button, el, fill } from "./element.js";
import { keepMine, keepTheirs, redo, send, undo } from "./saving.js";
import { change, now } from "./state.js";

/** Show the state of saving and the two steps. @param {HTMLElement} box */
export function drawHistory(box) {
  const { property, waiting, saving } = now();
  const words = { saved: "Saved", saving: "Saving", away: "Not saved: the server does not answer", conflict: "Not saved: changed elsewhere" }[saving];
  fill(box, JSON.stringify([property?.undo, property?.redo, waiting.length, saving]), () => [
    el("p.saving", { id: "saving", "data-state": saving }, property ? words : "Opening"),
    el("div.buttons", {},
      button(property?.undo ? `Undo: ${property.undo}` : "Undo", undo, { class: "find", id: "undo", disabled: !property?.undo && !waiting.length, "aria-keyshortcuts": "Control+Z" }),
      button(property?.redo ? `Redo: ${property.redo}` : "Redo", redo, { class: "find", id: "redo", disabled: !property?.redo, "aria-keyshortcuts": "Control+Shift+Z" })),
  ]);
}

/** Show what keeps changes from being saved, and what can be done. @param {HTMLElement} box */
export function drawTrouble(box) {
  const { saving, waiting, theirs, refused, property } = now();
  const key = JSON.stringify([saving, waiting.map((step) => step.says), theirs?.version, refused]);
  fill(box, key, () => [saving === "conflict" ? conflict() : null, saving === "away" ? away() : null, refused ? refusal() : null]);

  function away() {
    return el("div.trouble", {}, el("h2", {}, "The server does not answer"),
      el("p", {}, waiting.length ? `${waiting.length === 1 ? "This change is" : "These changes are"} kept on this page and tried again until ${waiting.length === 1 ? "it is" : "they are"} saved. Keep the page open.` : "What was drawn is saved. Look at the terminal where siteplan draw runs; start it again there."),
      list(), el("div.buttons", {}, button("Try now", () => void send(), { class: "find", id: "try-now" })));
  }

  function conflict() {
    return el("div.trouble", { id: "conflict" }, el("h2", {}, "Changed elsewhere meanwhile"),
      el("p", {}, "Another window or an editor saved this property. On the paper, theirs is dashed beneath yours."),
      el("p", {}, "Yours, not saved yet:"), list(),
      el("p", {}, `Theirs: ${difference() || "other settings"}.`),
      el("div.buttons", {}, button("Keep theirs", keepTheirs, { class: "find", id: "keep-theirs" }), button("Put mine on top", keepMine, { class: "find", id: "keep-mine" })));
  }

  function refusal() {
    return el("div.trouble", { id: "refused" }, el("h2", {}, "Not saved"), el("p", {}, `The server refused: ${refused?.says}.`),
      el("ul", {}, refused?.faults.map((fault) => el("li", {}, fault.where ? el("b", {}, `${fault.where}: `) : null, fault.text))),
      button("Understood", () => change((s) => { s.refused = null; }), { class: "find", id: "refused-read" }));
  }

  function list() {
    return el("ul", {}, waiting.map((step) => el("li", {}, step.says)));
  }

  function difference() {
    const before = new Map(property?.features.map((feature) => [feature.id, JSON.stringify(feature)]));
    const changed = theirs?.features.filter((feature) => before.get(feature.id) !== JSON.stringify(feature)).map((feature) => feature.id) ?? [];
    const kept = new Set(theirs?.features.map((feature) => feature.id));
    const gone = [...before.keys()].filter((id) => !kept.has(id)).map((id) => `without ${id}`);
    return [...changed, ...gone].join(", ");
  }
}
