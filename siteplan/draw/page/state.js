/* What does the page hold now? One object, changed in one place; all else reads it and is told of each change. */

import { METRES } from "./units.js";

/** @typedef {import("./types.js").State} State */
/** @typedef {import("./types.js").Feature} Feature */
/** @typedef {import("./types.js").Property} Property */

/** @type {State} */
const state = {
  property: null, kinds: [], tool: "select", way: "corners", selection: [], side: null, corner: null, drawing: null, draft: null,
  box: null, cursor: [0, 0], hold: null, snaps: true, byKeys: false, tapes: [], waiting: [], saving: "saved", theirs: null,
  refused: null, usual: {}, said: "", bed: null, sun: { on: false, month: 12, picture: null }, job: null, table: null, pinning: null,
  proposed: { on: false, open: null, list: [], more: 0, faults: [] },
};
/** @type {((state: Readonly<State>) => void)[]} */
const listeners = [];
let depth = 0;

/** Change the state, then tell all who listen; a change within a change is told once. @param {(state: State) => void} how */
export function change(how) {
  depth += 1;
  try {
    how(state);
  } finally {
    depth -= 1;
  }
  if (!depth) listeners.forEach((listener) => listener(state));
}

/** Ask to be told of every change, and be told at once. @param {(state: Readonly<State>) => void} listener */
export function subscribe(listener) {
  listeners.push(listener);
  listener(state);
}

/** @returns {Readonly<State>} */
export const now = () => state;

/** @type {{property: Property | null, steps: any, draft: any, found: Feature[]}} */
let last = { property: null, steps: null, draft: null, found: [] };

/** Return the features as they stand on the page: the property's, with what waits and what is under the hand. @returns {Feature[]} */
export function features() {
  const { property, waiting, draft } = state;
  if (last.property === property && last.steps === waiting && last.draft === draft) return last.found;
  /** @type {{put?: Feature[], remove?: string[]}[]} */
  const edits = waiting.filter((step) => step.path === "/api/edit").map((step) => step.body);
  if (draft) edits.push(draft);
  const known = new Map((property?.features ?? []).filter((feature) => feature.geometry).map((feature) => [feature.id, feature]));
  for (const edit of edits) {
    for (const id of edit.remove ?? []) known.delete(id);
    for (const feature of edit.put ?? []) known.set(feature.id, feature);
  }
  last = { property, steps: waiting, draft, found: [...known.values()] };
  return last.found;
}

/** @param {string} id */
export const featureOf = (id) => features().find((feature) => feature.id === id) ?? null;

/** Return a thing as it stands without what is under the hand. @param {string} id @returns {Feature | null} */
export function featureWithoutDraft(id) {
  const put = state.waiting.flatMap((step) => step.body.put ?? []).filter((feature) => feature.id === id);
  return put.at(-1) ?? state.property?.features.find((feature) => feature.id === id) ?? null;
}

/** Return what is chosen. @returns {Feature[]} */
export const chosen = () => /** @type {Feature[]} */ (state.selection.map(featureOf).filter(Boolean));

/** Return what waits for a setting; undefined where nothing does. @param {string} key */
const waitingFor = (key) => state.waiting.filter((step) => step.body.settings && key in step.body.settings).at(-1)?.body.settings[key];

/** Return the setting as it will be: what waits counts before what is saved. @param {string} key */
export function settingOf(key) {
  const waits = waitingFor(key);
  return waits === undefined ? state.property?.settings[key]?.given ?? null : waits;
}

/** The unit of the drawing by its sign; its file may say "feet". @returns {string} */
export const drawingUnit = () => waitingFor("origin.unit") ?? state.property?.unit ?? "m";

/** The unit of a number typed without one: the drawing's, or metres where no tape has that one. */
export const unit = () => (Object.hasOwn(METRES, drawingUnit()) ? drawingUnit() : "m");

/** Return how the properties of things are read. @returns {import("./types.js").Reading} */
export function reading() {
  const { property } = state;
  return { plain: property?.unit_metres ?? METRES[unit()], renaming: property?.renaming ?? {}, north: property?.place?.bearing ?? null };
}

/** Say what happened: shown at the foot of the canvas, and read out. @param {string} words */
export const say = (words) => change((s) => { s.said = words; });
