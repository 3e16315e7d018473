/* What does a survey from the air propose? Dashed outlines over the paper, and a list from which each can be taken. */

import * as L from "/leaflet/leaflet-src.esm.js";
import { keepInView, map, renderers } from "./canvas.js";
import { button, el, name } from "./element.js";
import { keyWords } from "./fields.js";
import { crown } from "./outlines.js";
import { push } from "./saving.js";
import { Away, Refused, Stale, ask } from "./server.js";
import { isArea, kindOf, middleOf, parts } from "./shapes.js";
import { change, now, reading } from "./state.js";
import { at, text } from "./symbols.js";

/** @typedef {import("./types.js").State} State */
/** @typedef {import("./types.js").Proposal} Proposal */

/** @type {L.LayerGroup | null} */
let group = null;
/** What lies on the paper now. @type {any[]} */
let shown = [];
let busy = false;
let wanted = "";

/** @param {Readonly<State>} s */
export const proposalsKey = (s) => JSON.stringify([s.proposed.on, s.proposed.list, s.proposed.more, s.proposed.faults, s.waiting.length, s.saving]);

/** Return the panel of what is proposed; nothing where nothing waits. */
export function proposalsPanel() {
  const { proposed: { on, list, more, faults }, waiting } = now();
  if (!list.length && !faults.length) return [];
  const free = list.filter((one) => one.waits);
  return [
    el("h2", {}, "Found from the air"),
    faults.map((fault) => el("p.caution.fault", {}, fault.where ? [el("b", {}, name(fault.where)), " "] : fault.file ? [el("b", {}, name(fault.file)), " "] : null, fault.text)),
    list.length ? [
      el("p.lead", {}, `${list.length + more === 1 ? "One proposal of a survey waits" : `${list.length + more} proposals of a survey wait`} beside the drawing. Nothing of yours changes until you take one.`),
      el("label.toggle", {}, el("input", { type: "checkbox", id: "found-on", checked: on, onchange: (/** @type {any} */ event) => change((s) => { s.proposed = { ...s.proposed, on: event.target.checked }; }) }), el("span.swatch.sw-found", { "aria-hidden": "true" }), el("span", {}, "Their outlines over the paper")),
      el("div.found-list", {}, list.map((one) => card(one, waiting.length > 0))),
      more ? el("p", {}, el("small", {}, `${more} more are shown once some of these are taken.`)) : null,
      free.length > 1 ? button(`Take all ${free.length}`, () => takeThese(free, false), { class: "find", id: "found-all", disabled: waiting.length > 0 }) : null,
    ] : null,
  ];
}

/** One proposal: what it is, its figures, and how it is taken. @param {Proposal} one @param {boolean} wait */
function card(one, wait) {
  const { properties } = one;
  const height = properties.height ?? null;
  const word = now().kinds.find((kind) => kind.kind === properties.kind)?.word ?? properties.kind;
  return el("details.card.found", { id: `found:${one.id}`, name: "found", ontoggle: (/** @type {any} */ event) => opened(one, event.target.open) },
    el("summary", { id: `found-head:${one.id}` }, el("span.what", {}, name(one.id), " ", el("em", {}, one.drawn ? `${word}, drawn` : `${word}, new`)),
      height === null ? null : el("span.figure", {}, figure(height))),
    el("div.inside", {},
      one.wrong ? el("p.caution.fault", {}, one.wrong) : null,
      (one.trees ?? 0) > 1 ? el("p", {}, `A group of ${one.trees} trees or so, not told apart.`) : null,
      el("dl", {}, Object.entries(properties).filter(([key]) => key !== "kind" && key !== "height_from").map(([key, held]) => fact(keyWords(key), figure(held))),
        one.points === null ? null : fact("Points used", one.points.toLocaleString("en")),
        fact("Flight", properties.height_from ?? "not told")),
      one.said.map((words) => el("p.caution", {}, figure(words))),
      one.waits ? button("Take it", () => takeThese([one], false), { class: "find", disabled: wait, "aria-label": `Take it: ${one.id}` }) : null,
      !one.waits && one.said.length ? button("Take its figures over yours", () => takeThese([one], true), { class: "find", disabled: wait, "aria-label": `Take its figures over yours: ${one.id}` }) : null));
}

/** @param {string} term @param {string} words */
const fact = (term, words) => el(words.length > 18 ? "div.whole" : "div", {}, el("dt", {}, term), el("dd", {}, name(words)));

/** A figure as a person writes it. @param {any} held */
const figure = (held) => String(held).replace(/\s*\+-\s*/g, " ± ");

/** @param {Proposal[]} these @param {boolean} replace */
function takeThese(these, replace) {
  const what = these.length === 1 ? these[0].id : `${these.length} proposals`;
  push({ path: "/api/proposals/take", says: `took ${what} from the survey`, body: { ids: these.map((one) => one.id), replace } });
}

/** Mark on the paper which one is open in the list. @param {Proposal} one @param {boolean} open */
function opened(one, open) {
  const before = now().proposed.open;
  if (open === (before === one.id)) return;
  change((s) => { s.proposed = { ...s.proposed, open: open ? one.id : null }; });
  if (open) keepInView(middleOf(one));
}

/** Ask for the proposals where the property, its variant, or their file has changed. */
export async function followProposals() {
  const { property, saving, waiting } = now();
  if (!property || busy || saving === "away" || waiting.length) return;
  const key = JSON.stringify([property.version, property.variant, property.proposals]);
  if (key === wanted) return;
  busy = true;
  wanted = key;
  try {
    const told = property.proposals ? await ask("/api/proposals") : { proposals: [], more: 0, faults: [] };
    change((s) => {
      const open = told.proposals.some((/** @type {Proposal} */ one) => one.id === s.proposed.open) ? s.proposed.open : null;
      s.proposed = { ...s.proposed, open, list: told.proposals, more: told.more, faults: told.faults };
    });
  } catch (error) {
    if (!(error instanceof Away || error instanceof Refused || error instanceof Stale)) throw error;
    if (error instanceof Away) wanted = "";
    const faults = [{ text: error.message }];
    change((s) => { s.proposed = { ...s.proposed, list: [], more: 0, faults }; });
  } finally {
    busy = false;
  }
  if (wanted) void followProposals();
}

/** Lay the outlines over the paper: all of them, or the one that is open in the list. */
export function drawProposals() {
  const { on, open, list } = now().proposed;
  if (shown[0] === on && shown[1] === open && shown[2] === list) return;
  shown = [on, open, list];
  group?.remove();
  group = L.layerGroup().addTo(map);
  for (const one of list) if ((on && one.id !== open) || one.id === open) outline(one, one.id === open, group);
}

/** @param {Proposal} one @param {boolean} open @param {L.LayerGroup} on */
function outline(one, open, on) {
  const style = { className: open ? "dr-found dr-found-open" : "dr-found", pane: "hand", renderer: renderers.hand, interactive: false, smoothFactor: 0.4 };
  const tree = kindOf(one) === "tree" && one.geometry.type === "Point";
  for (const part of tree ? [crown(one, reading())] : parts(one)) {
    if (part.length === 1) L.circleMarker(at(part[0]), { ...style, radius: 9 }).addTo(on);
    else (tree || isArea(one) ? L.polygon(part.map(at), style) : L.polyline(part.map(at), { ...style, fill: false })).addTo(on);
  }
  if (open) text(middleOf(one), one.id, "dr-measure dr-found-name").addTo(on);
}
