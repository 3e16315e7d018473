/* What if it were otherwise? Named variants of the property, side by side. */

import { button, el, name } from "./element.js";
import { form } from "./fields.js";
import { take } from "./saving.js";
import { Away, Refused, Stale, ask } from "./server.js";
import { change, now, say } from "./state.js";

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
    held.length ? button("Put them side by side", () => void compare(), { class: "find", id: "variants-compare" }) : null,
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

async function compare() {
  say("The variants are being reckoned.");
  try {
    const table = await ask("/api/variants/compare");
    change((s) => { s.table = table; s.said = "The variants stand side by side."; });
  } catch (error) {
    if (!(error instanceof Refused || error instanceof Away)) throw error;
    say(error.message);
  }
}

/** @param {{columns: string[], rows: {name: string, values: (string | number | null)[]}[], said?: string[]}} table */
function tableOf(table) {
  return el("div.scroll", { tabindex: "0", role: "region", "aria-label": "Variants side by side" }, el("table", { id: "variants-table" }, el("caption", {}, "Side by side"),
    el("thead", {}, el("tr", {}, el("td"), table.columns.map((column) => el("th.n", { scope: "col" }, name(column))))),
    el("tbody", {}, table.rows.map((row) => el("tr", {}, el("th", { scope: "row" }, row.name), row.values.map((value) => el("td.n", {}, value === null ? "" : String(value))))))),
  (table.said ?? []).map((line) => el("p", {}, line)));
}
