/* What if it were otherwise? Named variants of the property, side by side. */

import { button, el, name } from "./element.js";
import { form } from "./fields.js";
import { begin } from "./jobs.js";
import { take } from "./saving.js";
import { Away, Refused, Stale, ask } from "./server.js";
import { now, say } from "./state.js";

/** @typedef {import("./types.js").State} State */

/** @param {Readonly<State>} s */
export const variantsKey = (s) => JSON.stringify([s.property?.variants, s.property?.variant, s.table]);

/** @param {any} variant */
const nameOf = (variant) => String(typeof variant === "string" ? variant : variant.name);

/** Return the panel of variants. */
export function variantsPanel() {
  const { property, table } = now();
  const held = (property?.variants ?? []).map(nameOf);
  const open = property?.variant ?? null;
  return [
    el("h2", {}, "What if?"),
    el("p.lead", {}, open ? ["You draw the variant ", name(open), "."] : "You draw the property itself. A variant keeps your changes apart from it."),
    open ? el("div.buttons", {}, button("Back to the property", () => void act("open", null), { class: "find", id: "variant-leave" }), button("Make it the property", () => void act("adopt", open), { class: "find", id: "variant-adopt" })) : null,
    held.length ? el("ul.choices", {}, held.map((/** @type {string} */ one) => el("li", {}, name(one), el("span.buttons", {},
      one === open ? el("em", {}, "open") : button("Open", () => void act("open", one), { class: "find small", "aria-label": `Open the variant ${one}` }),
      button("Remove", () => void act("remove", one), { class: "find small", "aria-label": `Remove the variant ${one}` }))))) : null,
    form([{ name: "name", label: "A new variant", placeholder: "without the plum" }], "Make it", (values) => values.name.trim() && void act("make", values.name.trim()), "variant"),
    held.length ? button("Put them side by side", () => void begin("compare", {}), { class: "find", id: "variants-compare" }) : null,
    table ? tableOf(table) : null,
  ];
}

/** @param {string} does @param {string | null} named */
async function act(does, named) {
  if (now().waiting.length) return say("Some changes are not saved yet. Try again when they are.");
  try {
    const told = await ask("/api/variants", { do: does, name: named, version: now().property?.version });
    const property = told.property ?? (told.features ? told : await ask("/api/property"));
    take(property, (s) => {
      s.table = null;
      s.selection = [];
      s.said = { make: `The variant ${named} is made.`, open: named ? `The variant ${named} is open.` : "The property itself is open.", remove: `The variant ${named} is removed.`, adopt: `The variant ${named} is the property now.` }[does] ?? "";
    });
  } catch (error) {
    if (!(error instanceof Refused || error instanceof Away || error instanceof Stale)) throw error;
    say(error.message);
  }
}

const MONTHS = ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"];
const AS_IT_IS = "The property";

/** @typedef {{id: string, season_h: number, worst_h: number, month_h: number[]}} BedRow */
/** @typedef {{name: string | null, faults: string[], beds: BedRow[], cost: number | null, currency: string, hours: number | null, trips: number | null, cautions: {feature: string, text: string}[]}} Row */

/** The variants side by side: each is a column. @param {{rows: Row[]}} table */
function tableOf({ rows }) {
  const planned = rows.filter((row) => !row.faults.length);
  const ids = [...new Set(planned.flatMap((row) => row.beds.map((bed) => bed.id)))];
  /** @param {string} id @param {(bed: BedRow) => number} figure */
  const ofBed = (id, figure) => planned.map((row) => { const bed = row.beds.find((one) => one.id === id); return bed ? `${figure(bed).toFixed(1)} h` : "not there"; });
  return el("div", { id: "variants-table" },
    rows.filter((row) => row.faults.length).map((row) => el("p.caution", {}, name(row.name ?? AS_IT_IS), " cannot be planned: ", row.faults.join(" "))),
    sheetOf("Side by side", planned, [
      ...ids.flatMap((id) => [line([name(id), ", season"], ofBed(id, (bed) => bed.season_h)), line([name(id), ", darkest spot"], ofBed(id, (bed) => bed.worst_h))]),
      line(["Cost"], planned.map((row) => (row.cost === null ? "not known" : `${row.cost.toFixed(2)} ${row.currency}`))),
      line(["Hours of wheeling"], planned.map((row) => (row.hours === null ? "not known" : row.hours.toFixed(1)))),
      line(["Trips"], planned.map((row) => (row.trips === null ? "not known" : String(row.trips)))),
      line(["Cautions"], planned.map((row) => String(row.cautions.length))),
    ]),
    ids.map((id) => el("details.more", { id: `months-of-${id}` }, el("summary", {}, el("span.what", {}, "Sun by month: ", name(id))),
      sheetOf("Hours of direct sun a day", planned, MONTHS.map((month, index) => line([month], ofBed(id, (bed) => bed.month_h[index])))))),
    planned.map((row) => (row.cautions.length ? el("details.more", {}, el("summary", {}, el("span.what", {}, "Cautions: ", name(row.name ?? AS_IT_IS))),
      el("ul", {}, row.cautions.map((caution) => el("li", {}, caution.feature ? el("b", {}, name(caution.feature), " ") : null, caution.text)))) : null)));
}

/** @param {any[]} words @param {string[]} values */
const line = (words, values) => el("tr", {}, el("th", { scope: "row" }, words), values.map((value) => el("td.n", {}, value)));

/** @param {string} caption @param {Row[]} planned @param {any[]} lines */
const sheetOf = (caption, planned, lines) => el("div.scroll", { tabindex: "0", role: "region", "aria-label": caption }, el("table", {}, el("caption", {}, caption),
  el("thead", {}, el("tr", {}, el("td"), planned.map((row) => el("th.n", { scope: "col" }, name(row.name ?? AS_IT_IS))))), el("tbody", {}, lines)));
