/* What stands on the sheet beside the paper? What is asked next on top, then what check says, the sun, the plan. */

import { button, el, fill } from "./element.js";
import { backdropKey, backdropPanel } from "./backdrop.js";
import { card, cardKey, drawFigures, several } from "./card.js";
import { checksKey, checksPanel } from "./checks.js";
import { drawHistory, drawTrouble } from "./history.js";
import { jobsKey, jobsPanel } from "./jobs.js";
import { KEYS } from "./keys.js";
import { proposalsKey, proposalsPanel } from "./proposals.js";
import { Away, ask } from "./server.js";
import { change, chosen, now } from "./state.js";
import { stepsKey, stepsPanel } from "./steps.js";
import { sunKey, sunPanel } from "./sun.js";
import { toolKey, toolPanel } from "./tool_panel.js";
import { variantsKey, variantsPanel } from "./variants.js";

/** @param {string} id */
const part = (id) => /** @type {HTMLElement} */ (document.getElementById(id));

export function startSheet() {
  part("keys").append(el("details.more", { id: "key-list" }, el("summary", {}, el("span.what", {}, "Keys")), el("dl.typing", {}, KEYS.flatMap(([key, does]) => [el("dt", {}, key), el("dd", {}, does)]))));
  part("ending").append(
    el("p", {}, "Before digging, have buried services marked; for walls, trees and slopes follow local codes and ask a licensed person."),
    el("p", {}, "This page is served from your own machine and asks nobody else."),
    button("Close the page and end the server", () => void end(), { class: "find", id: "close" }));
}

/** Show what changed. */
export function drawSheet() {
  const s = now();
  const things = chosen();
  const name = s.property?.name || "A property without a name";
  if (part("name").textContent !== name) {
    part("name").replaceChildren(el("bdi", {}, name));
    document.title = `${name}: drawing`;
  }
  drawHistory(part("history"));
  drawTrouble(part("trouble"));
  if (!s.property) return;
  if (s.tool !== "select") fill(part("hand"), toolKey(s), toolPanel);
  else if (things.length === 1) fill(part("hand"), cardKey(s), card);
  else if (things.length) fill(part("hand"), JSON.stringify(["several", s.selection, s.pinning]), several);
  else fill(part("hand"), stepsKey(s), stepsPanel);
  if (s.tool === "select" && things.length === 1) drawFigures(s);
  fill(part("checks"), checksKey(s), checksPanel);
  fill(part("proposals"), proposalsKey(s), proposalsPanel);
  part("proposals").hidden = !s.proposed.list.length && !s.proposed.faults.length;
  fill(part("sun"), sunKey(s), sunPanel);
  fill(part("jobs"), jobsKey(s), jobsPanel);
  fill(part("variants"), variantsKey(s), variantsPanel);
  fill(part("backdrop"), backdropKey(s), backdropPanel);
}

async function end() {
  if (now().waiting.length) {
    change((s) => { s.said = "Some changes are not saved yet. Wait until they are, then close the page."; });
    return;
  }
  try {
    await ask("/api/close", {});
  } catch (error) {
    if (!(error instanceof Away)) throw error;
  }
  document.body.replaceChildren(el("main.ended", {}, el("h1", {}, "The drawing is closed"), el("p", {}, "All that was drawn is saved. You can close this window; siteplan draw opens the property again.")));
}
