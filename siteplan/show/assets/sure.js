/* Where enough sun is sure, sure not, and not sure: one picture over the ground, with its own key. */
"use strict";
var siteplan = window.siteplan || (window.siteplan = {});

/* As in map.css: sure to get less, sure to get enough; not sure is striped with both. */
siteplan.sure_colours = { less: [70, 74, 104], enough: [250, 224, 146] };

siteplan.shows_sure = () => !!siteplan.groups.sure && siteplan.map.hasLayer(siteplan.groups.sure);

/* Return 1 where the hours are sure, -1 where it is sure that they are not had, 0 between. */
siteplan.verdict = function (draws) {
  const held = siteplan.data.sure;
  return draws >= held.least ? 1 : draws <= held.most ? -1 : 0;
};

/* Paint the three verdicts, four pixels to a cell, so that stripes are fine and edges sharp. */
siteplan.sure_picture = function (draws, grid) {
  const fine = 4;
  const canvas = document.createElement("canvas");
  canvas.width = grid.columns * fine;
  canvas.height = grid.rows * fine;
  const pen = canvas.getContext("2d");
  const picture = pen.createImageData(canvas.width, canvas.height);
  const { less, enough } = siteplan.sure_colours;
  const grown = siteplan.spread(siteplan.spread(draws, grid), grid);
  for (let y = 0; y < canvas.height; y++) {
    for (let x = 0; x < canvas.width; x++) {
      const here = grown[Math.floor(y / fine) * grid.columns + Math.floor(x / fine)];
      if (here === 0xffff) continue;
      const verdict = siteplan.verdict(here);
      const colour = verdict > 0 || (verdict === 0 && (x + y) % 16 < 8) ? enough : less;
      picture.data.set([...colour, 255], 4 * (y * canvas.width + x));
    }
  }
  pen.putImageData(picture, 0, 0);
  return canvas.toDataURL("image/png");
};

siteplan.start_sure = async function () {
  const held = siteplan.data.sure, grid = siteplan.grid;
  if (!held || !("DecompressionStream" in window)) return;
  siteplan.sure_draws = (await siteplan.unpacked(held.packed, 1, grid.rows, grid.columns))[0];
  siteplan.groups.sure.on("add remove", siteplan.mind_sure);
  siteplan.groups.sure.once("add", () => siteplan.groups.sure.setUrl(siteplan.sure_picture(siteplan.sure_draws, grid)));
};

/* Show the key of what covers the ground. */
siteplan.mind_sure = function () {
  document.querySelector(".keys").classList.toggle("sure", siteplan.shows_sure());
  siteplan.print_name();
};

/* Another month or another map is asked for: uncover it. */
siteplan.leave_sure = function () {
  if (!siteplan.shows_sure()) return;
  siteplan.groups.sure.remove();
  document.querySelector('input[data-layer="sure"]').checked = false;
};

siteplan.sure_at = function (cell) {
  const draws = siteplan.sure_draws[cell], held = siteplan.data.sure;
  if (draws === 0xffff) return "";
  const words = ["sure to get less than " + held.need + " h", "not sure", "sure to get " + held.need + " h"];
  return ": " + words[siteplan.verdict(draws) + 1] + " (" + draws + " of " + held.draws + " trials)";
};
