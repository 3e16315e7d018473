/* Where should a bed go, and what is the whole plan? Long work on the server: its progress, its end, what it found. */

import { button, el } from "./element.js";
import { form } from "./fields.js";
import { edit } from "./saving.js";
import { Away, Refused, ask } from "./server.js";
import { freeName } from "./shapes.js";
import { change, features, now, say, unit } from "./state.js";
import { typedLength } from "./typed.js";

/** @typedef {import("./types.js").State} State */

const AGAIN_MS = 400;

/** @param {Readonly<State>} s */
export const jobsKey = (s) => JSON.stringify([s.job, s.property?.sound, unit()]);

/** Return the panel of the search and the plan. */
export function jobsPanel() {
  const { job, property } = now();
  const working = job?.state === "working";
  const off = !property?.sound || working;
  return [
    el("h2", {}, "Where should a bed go?"),
    property?.sound ? null : el("p", {}, el("small", {}, "It can be asked once the property is sound: see what check says.")),
    el("details.more", { id: "find-place" }, el("summary", {}, el("span.what", {}, "Find a place for a new bed")),
      form([{ name: "length", label: "Length", placeholder: "8 ft" }, { name: "width", label: "Width", placeholder: "4 ft" }, { name: "count", label: "How many", placeholder: "3" }], "Find a place", place, "place")),
    el("div.buttons", {}, button("Plan all", () => void begin("plan", {}), { class: "find", id: "plan-all", disabled: off })),
    job ? el("div.job", { id: "job", role: "status" }, el("p", {}, jobWords(job)),
      working ? el("progress", { max: "1", value: job.share ?? 0, "aria-label": "Progress" }) : null,
      working ? button("Stop", () => void stop(), { class: "find", id: "job-stop" }) : null,
      (job.faults ?? []).map((/** @type {any} */ fault) => el("p.caution", {}, fault.text)),
      (job.open ?? job.result?.open ?? []).map((/** @type {any} */ one) => el("p", {}, el("a", { href: safe(one.url), target: "_blank", rel: "noopener" }, one.name))),
      job.result?.kept ? el("p.caution", {}, job.result.kept) : null,
      (job.result?.places ?? []).map(found)) : null,
  ];
}

/** Only addresses of our own server are linked. @param {string} url */
const safe = (url) => (/^\/[^/\\]/.test(url) ? url : "#");

/** @type {Record<string, string>} */
const ENDS = { done: "done.", stopped: "stopped.", failed: "it could not be done." };

/** @type {Record<string, string>} */
const WHATS = { place: "Find a place", plan: "Plan all", compare: "Put the variants side by side" };

/** @param {any} job */
function jobWords(job) {
  const what = WHATS[job.what] ?? "Plan all";
  if (job.state !== "working") return `${what}: ${ENDS[job.state] ?? job.state}`;
  return `${what}: ${job.words ?? `at the question ${job.question}`}, ${Math.round(100 * (job.share ?? 0))} %`;
}

/** @param {Record<string, string>} values */
function place(values) {
  try {
    /** @type {Record<string, number>} */
    const asked = {};
    for (const side of ["length", "width"]) if (values[side]?.trim()) asked[side] = typedLength(values[side], unit());
    if (values.count?.trim()) asked.count = wholeNumber(values.count);
    void begin("place", asked);
  } catch (error) {
    say(/** @type {Error} */ (error).message);
  }
}

/** @param {string} text */
function wholeNumber(text) {
  if (!/^0*[1-9]\d*$/.test(text.trim())) throw new Error("How many places? Type a whole number, such as 3.");
  return Number(text);
}

/** @param {string} what @param {Record<string, any>} asked */
export async function begin(what, asked) {
  if (now().waiting.length) return say("Some changes are not saved yet. Ask again when they are.");
  try {
    const { job } = await ask("/api/jobs", { what, ...asked });
    change((s) => { s.job = { id: job, what, state: "working", share: 0, question: "read" }; });
    await follow(String(job));
  } catch (error) {
    if (!(error instanceof Refused || error instanceof Away)) throw error;
    const { message } = error;
    change((s) => { s.job = { what, state: "failed", faults: [{ text: message }] }; s.said = message; });
  }
}

/** @param {string} id */
async function follow(id) {
  for (;;) {
    const told = await ask(`/api/jobs/${encodeURIComponent(id)}`);
    if (String(now().job?.id) !== id) return;
    change((s) => {
      s.job = { ...told, id };
      if (told.what === "compare" && told.state === "done") s.table = told.result;
      if (told.state !== "working") s.said = jobWords(told);
    });
    if (told.state !== "working") return;
    await new Promise((done) => setTimeout(done, AGAIN_MS));
  }
}

async function stop() {
  try {
    await ask(`/api/jobs/${encodeURIComponent(now().job?.id)}/stop`, {});
    say("Stopping.");
  } catch (error) {
    if (!(error instanceof Refused || error instanceof Away)) throw error;
    say(error.message);
  }
}

/** One place that was found, ready to be drawn. @param {any} one */
function found(one) {
  return el("div.card.place", {}, el("div.inside", {}, el("p", {}, el("b", {}, `Place ${one.rank}: `), `${one.season_h.toFixed(1)} h of sun a day in the season`),
    el("ul", {}, one.said.map((/** @type {string} */ line) => el("li", {}, line))),
    one.feature ? button("Draw this bed", () => draw(one), { class: "find" }) : null));
}

/** @param {any} one */
function draw(one) {
  const id = freeName("bed-1", features().map((feature) => feature.id));
  edit(`drew bed ${id} at place ${one.rank}`, { put: [{ ...one.feature, id, properties: { ...one.feature.properties, kind: "bed" } }] });
  change((s) => { s.selection = [id]; s.tool = "select"; });
}
