/* Which tools are there, under which words and keys, and how may each be drawn? */

/** @typedef {import("./types.js").Way} Way */
/** @typedef {{name: string, word: string, key: string, ways: Way[], closed: boolean, says: string}} Tool */

/** @type {Tool[]} */
export const TOOLS = [
  tool("select", "Select", "s", [], false, "Click a thing. Drag it to move it."),
  tool("boundary", "Boundary", "b", ["corners", "box", "three"], true, "The edge of your property, from corner to corner."),
  tool("building", "Building", "u", ["corners", "box", "three", "circle"], true, "A house, a shed, a deck, a pergola: its roof seen from above."),
  tool("tree", "Tree", "t", ["point", "circle", "corners"], true, "Its trunk, or its crown seen from above."),
  tool("hedge", "Hedge", "h", ["corners"], false, "The line along its middle."),
  tool("fence", "Fence", "f", ["corners"], false, "The line of a fence or a wall."),
  tool("gate", "Gate", "g", ["point"], false, "A gap in a fence: click on the fence."),
  tool("surface", "Surface", "p", ["corners", "box", "three", "circle"], true, "Paving, gravel, grass, mulch, soil, mud, steps."),
  tool("tap", "Tap", "w", ["point"], false, "Where water comes from."),
  tool("door", "Door", "d", ["point"], false, "The door that you come and go by."),
  tool("pile", "Pile", "m", ["corners", "box", "circle", "point"], true, "Where material lies, or may be tipped."),
  tool("bed", "Bed", "r", ["box", "three", "corners"], true, "A raised bed: its outer edge."),
  tool("keepout", "Keep-out", "k", ["corners", "box", "three", "circle"], true, "Ground that must stay free."),
  tool("level", "Level", "l", ["point"], false, "A spot of ground whose elevation you measured."),
];

/** @param {string} name @param {string} word @param {string} key @param {Way[]} ways @param {boolean} closed @param {string} says @returns {Tool} */
function tool(name, word, key, ways, closed, says) {
  return { name, word, key, ways, closed, says };
}

/** @param {string} name @returns {Tool} */
export const toolOf = (name) => TOOLS.find((one) => one.name === name) ?? TOOLS[0];

/** @type {Record<Way, string>} */
export const WAY_WORDS = {
  corners: "Corner by corner", box: "Rectangle: two corners", three: "Rectangle: three points", circle: "Circle: centre and radius", point: "One point",
};

/** What is asked next, by the way of drawing and the count of corners set. @param {Way} way @param {number} count @param {boolean} closed */
export function asked(way, count, closed) {
  if (way === "point") return "Click where it is.";
  if (way === "box") return count ? "Click the corner across, or type its size, such as 8 ft x 4 ft." : "Click one corner. You can drag to the corner across.";
  if (way === "three") return ["Click one end of a side.", "Click the other end of the side, or type its length.", "Click how far it reaches, or type its depth."][count];
  if (way === "circle") return count ? "Click its edge, or type its radius." : "Click its centre. You can drag to its edge.";
  if (!count) return "Click its first corner.";
  const enough = count >= (closed ? 3 : 2);
  return `Click the next corner, or type the length of the side.${enough ? (closed ? " Click the first corner, or press Enter, to close it." : " Press Enter to end it.") : ""}`;
}
