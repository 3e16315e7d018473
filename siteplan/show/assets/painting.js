/* The maps on the ground: hours of sun, light for plants or the sky seen, by month; with their lines and text. */
"use strict";
var siteplan = window.siteplan || (window.siteplan = {});

siteplan.paintings = siteplan.data.paintings;
siteplan.grid = siteplan.paintings.sun || null; /* the finest grid; forbidden ground is on the same grid */
siteplan.painted_with = "sun";
siteplan.current = () => siteplan.paintings[siteplan.painted_with];

/* Show one of the thirteen maps. */
siteplan.show_map = function (index) {
  if (index !== siteplan.shown) siteplan.leave_sure();
  siteplan.shown = index;
  const painting = siteplan.current();
  const name = painting.names[index];
  const slider = document.getElementById("month");
  slider.value = String(index);
  slider.setAttribute("aria-valuetext", name);
  document.getElementById("month-name").textContent = index === 12 ? "Growing season" : name;
  document.querySelectorAll("#month-marks button").forEach((mark, number) => mark.setAttribute("aria-pressed", String(number === index)));
  siteplan.print_name();
  if (!painting.units) return;
  painting.pictures = painting.pictures || [];
  painting.pictures[index] = painting.pictures[index] || siteplan.painted(painting.units[index], painting);
  const layer = siteplan.groups[siteplan.painted_with];
  layer.setUrl(painting.pictures[index]);
  layer.getElement()?.setAttribute("alt", painting.words + " in " + name);
  siteplan.draw_contours();
};

/* Say on paper what the map shows. */
siteplan.print_name = function () {
  const painting = siteplan.current();
  document.getElementById("print-month").textContent = siteplan.shows_sure() ? siteplan.data.sure.words : painting.words + " in " + painting.names[siteplan.shown];
};

siteplan.draw_contours = function () {
  const painting = siteplan.current(), group = siteplan.groups.contours;
  group.clearLayers();
  if (!siteplan.map.hasLayer(group)) return;
  for (const line of painting.lines) {
    const drawn = siteplan.contour(painting.units[siteplan.shown], painting, line.value);
    const style = { pane: "hatch", renderer: siteplan.renderers.hatch, interactive: false };
    L.polyline(siteplan.deep(drawn), { ...style, className: "sp-contour sp-contour-" + line.kind }).addTo(group);
    siteplan.label_contour(drawn, line.text, painting, group);
  }
  siteplan.place_labels();
};
siteplan.label_contour = function (lines, text, painting, group) {
  const longest = lines.filter((line) => line.length * painting.cell > 10).sort((a, b) => b.length - a.length).slice(0, 3);
  for (const line of longest) {
    const html = siteplan.element("span", "", text);
    const icon = L.divIcon({ className: "sp-contour-text", html: html, iconSize: null });
    L.marker(siteplan.at(line[Math.floor(line.length / 2)]), { icon: icon, pane: "line", interactive: false, keyboard: false }).addTo(group);
  }
};

/* Switch to another set of maps; the box in the list of layers then controls that one. */
siteplan.paint_with = function (key) {
  const box = document.querySelector('input[data-layer="sun"]');
  siteplan.leave_sure();
  for (const other of Object.keys(siteplan.paintings)) siteplan.groups[other].remove();
  siteplan.painted_with = key;
  siteplan.groups[key].addTo(siteplan.map);
  box.checked = true;
  siteplan.map.getContainer().dataset.painting = key;
  const painting = siteplan.current();
  document.querySelectorAll(".scale").forEach((scale) => scale.classList.toggle("off", scale.dataset.painting !== key));
  document.getElementById("painting-name").textContent = painting.name;
  document.getElementById("line-words").textContent = painting.line_words;
  document.querySelector(".sw-contours").classList.toggle("one", painting.lines.length === 1);
  box.nextElementSibling.className = "swatch sw-" + key;
  siteplan.readout_hint = "Point at the map, or tap it, to read " + painting.hint + ".";
  siteplan.say("");
  siteplan.show_map(siteplan.shown);
};

siteplan.start_paintings = async function () {
  for (const painting of Object.values(siteplan.paintings)) {
    painting.units = await siteplan.unpacked(painting.packed, 13, painting.rows, painting.columns);
  }
};

/* Return a value in words; it is judged after rounding. */
siteplan.figure_of = {
  sun(value, painting) {
    const hours = Number(value.toFixed(1));
    const enough = hours >= painting.plenty ? "plenty" : hours >= painting.need ? "enough" : "less than needed";
    return [hours.toFixed(1) + " h of sun a day", enough];
  },
  light(value, painting) {
    const mol = Math.round(value);
    const suited = painting.wants.filter((want) => mol >= want.least);
    const best = suited[suited.length - 1], next = painting.wants[suited.length];
    const enough = best ? (mol >= best.good ? "plenty for " : "enough for ") + best.group : "";
    const words = [enough, next ? "too little for " + next.group : ""].filter(Boolean).join(", ");
    return [mol + " mol/m² of light a day " + painting.days, words];
  },
  sky: (value) => [Math.round(100 * value) + " % of the sky seen", ""],
};
