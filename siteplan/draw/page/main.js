/* How does the page begin? It asks for the property and its kinds, then each part shows what is its own. */

import { drawAll, drawNorth, map, showAll, startCanvas } from "./canvas.js";
import { startBackdrop, drawBackdrop } from "./backdrop.js";
import { startKeys } from "./keys.js";
import { followBed } from "./live.js";
import { drawOverlay, startOverlay } from "./overlay.js";
import { startPointer } from "./pointer.js";
import { drawProposals, followProposals } from "./proposals.js";
import { drawRibbon, startRibbon } from "./ribbon.js";
import { look } from "./saving.js";
import { Away, ask, wordsOf } from "./server.js";
import { drawSheet, startSheet } from "./sheet.js";
import { change, now, say, subscribe } from "./state.js";
import { drawSun, followSun } from "./sun.js";
import { planeOf } from "./symbols.js";

const LOOK_MS = 4000;
const paper = /** @type {HTMLElement} */ (document.getElementById("paper"));

async function start() {
  startCanvas(paper);
  startOverlay();
  startPointer(paper);
  startKeys(paper);
  startRibbon(/** @type {HTMLElement} */ (document.getElementById("tools")));
  startSheet();
  startBackdrop();
  await open();
  showAll();
  change((s) => { s.cursor = planeOf(map.getCenter()); });
  subscribe(() => {
    drawAll();
    drawNorth();
    drawOverlay();
    drawRibbon();
    drawSheet();
    drawBackdrop();
    drawSun();
    drawProposals();
    void followBed();
    void followSun();
    void followProposals();
  });
  setInterval(() => { if (document.visibilityState === "visible") void look(); }, LOOK_MS);
  window.addEventListener("beforeunload", (event) => { if (now().waiting.length) event.preventDefault(); });
  document.documentElement.dataset.ready = "yes";
}

/** Ask for the property, again and again while the server does not answer. */
async function open() {
  for (;;) {
    try {
      const [property, { kinds }] = await Promise.all([ask("/api/property"), ask("/api/kinds")]);
      change((s) => {
        s.property = property;
        s.kinds = kinds;
        s.said = "";
      });
      return;
    } catch (error) {
      const words = wordsOf(error);
      say(words);
      /** @type {HTMLElement} */ (document.getElementById("foot-said")).textContent = words;
      if (!(error instanceof Away)) throw error;
      await new Promise((done) => setTimeout(done, 1500));
    }
  }
}

void start();
