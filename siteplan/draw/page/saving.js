/* How does a change reach the files? One step after the other; what cannot be sent is kept, and said. */

import { Away, Refused, Stale, ask } from "./server.js";
import { change, features, now } from "./state.js";

/** @typedef {import("./types.js").Feature} Feature */
/** @typedef {import("./types.js").Property} Property */
/** @typedef {import("./types.js").Step} Step */

const AGAIN_MS = 1500;
let busy = false;

/**
 * Keep a change as one step of the history, and send it.
 * @param {string} says  such as "moved maple"
 * @param {{put?: Feature[], remove?: string[], settings?: Record<string, any>}} what
 */
export function edit(says, what) {
  const body = { says, put: what.put ?? [], remove: what.remove ?? [], settings: what.settings ?? {} };
  push({ path: "/api/edit", says, body });
}

export const undo = () => turnBack("undo");
export const redo = () => turnBack("redo");

/** @param {"undo" | "redo"} way */
function turnBack(way) {
  const { property, waiting } = now();
  if (!waiting.length && !property?.[way]) {
    change((s) => { s.said = way === "undo" ? "There is nothing to undo." : "There is nothing to redo."; });
    return;
  }
  push({ path: `/api/${way}`, says: way === "undo" ? "undid" : "redid", body: {} });
}

/** @param {Step} step */
export function push(step) {
  change((s) => {
    s.waiting = [...s.waiting, step];
    s.draft = null;
    s.refused = null;
    if (s.saving === "saved") s.saving = "saving";
    if (step.path === "/api/edit") s.said = sentence(step.says);
  });
  void send();
}

/** Send what waits, the oldest first, until none is left or the server is away. */
export async function send() {
  if (busy) return;
  busy = true;
  try {
    while (now().waiting.length && now().saving !== "conflict") {
      const step = now().waiting[0];
      const before = now().property;
      const after = await ask(step.path, { ...step.body, ...(step.body.put && { put: step.body.put.map(asGeoJson) }), version: before?.version });
      take(after, (s) => {
        s.waiting = s.waiting.slice(1);
        s.saving = s.waiting.length ? "saving" : "saved";
        if (after.told) s.said = after.told.join(" ");
        if (step.path === "/api/undo") s.said = `Undone: ${before?.undo ?? "the last step"}.`;
        if (step.path === "/api/redo") s.said = `Done again: ${before?.redo ?? "the step"}.`;
      });
    }
  } catch (error) {
    failed(error);
  } finally {
    busy = false;
  }
}

/** @param {Feature} feature */
const asGeoJson = ({ type, id, properties, geometry }) => ({ type, id, properties, geometry });

/** @param {unknown} error */
function failed(error) {
  if (error instanceof Away) {
    change((s) => { s.saving = "away"; });
    setTimeout(() => void send(), AGAIN_MS);
  } else if (error instanceof Stale) {
    const theirs = error.property;
    change((s) => {
      s.saving = "conflict";
      s.theirs = theirs;
      s.said = "The property was changed elsewhere meanwhile. Choose which to keep.";
    });
  } else if (error instanceof Refused) {
    const faults = error.faults;
    change((s) => {
      const step = s.waiting[0];
      s.refused = { says: step.says, faults: faults.length ? faults : [{ text: error.message }] };
      s.waiting = s.waiting.slice(1);
      s.saving = s.waiting.length ? "saving" : "saved";
      s.said = `Not saved: ${step.says}. ${error.message}`;
    });
    if (now().waiting.length) setTimeout(() => void send(), 0);
  } else {
    throw error;
  }
}

/** Take the property as the server tells it. @param {Property} property @param {(s: import("./types.js").State) => void} [also] */
export function take(property, also) {
  change((s) => {
    s.property = property;
    also?.(s);
    const known = new Set(features().map((feature) => feature.id));
    if (s.selection.some((id) => !known.has(id))) s.selection = s.selection.filter((id) => known.has(id));
  });
}

/** Let go of what waits, and go on from what stands in the files. */
export function keepTheirs() {
  const { theirs, waiting } = now();
  if (!theirs) return;
  take(theirs, (s) => {
    s.waiting = [];
    s.saving = "saved";
    s.theirs = null;
    s.said = `Kept theirs. Let go: ${waiting.map((step) => step.says).join(", ")}.`;
  });
}

/** Put what waits on top of what stands in the files. */
export function keepMine() {
  const { theirs } = now();
  if (!theirs) return;
  take(theirs, (s) => {
    s.saving = "saving";
    s.theirs = null;
    s.said = "Putting yours on top of theirs.";
  });
  void send();
}

/** @param {string} words */
const sentence = (words) => words.charAt(0).toUpperCase() + words.slice(1) + ".";

/** Read the property anew where nothing waits, so that an edit made elsewhere is seen. */
export async function look() {
  if (now().waiting.length || busy || now().draft) return;
  try {
    const property = await ask("/api/property");
    if (now().waiting.length || now().draft) return;
    if (property.version !== now().property?.version) {
      take(property, (s) => { s.said = "The property was changed elsewhere: this is how it stands now."; });
    } else if (property.proposals !== now().property?.proposals) {
      take(property);
    } else if (now().saving === "away") {
      change((s) => { s.saving = "saved"; });
    }
  } catch (error) {
    if (error instanceof Away) change((s) => { s.saving = "away"; });
    else if (!(error instanceof Refused)) throw error;
  }
}
