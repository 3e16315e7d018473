/* The page around the map: months, layers by question, cards. Runs last. */
"use strict";
var siteplan = window.siteplan || (window.siteplan = {});

siteplan.play = function () {
  const button = document.getElementById("play");
  if (siteplan.playing) {
    clearInterval(siteplan.playing);
    siteplan.playing = 0;
  } else {
    siteplan.playing = setInterval(() => siteplan.show_map((siteplan.shown + 1) % 12), 900);
    siteplan.show_map(siteplan.shown >= 11 ? 0 : siteplan.shown + 1);
  }
  button.setAttribute("aria-pressed", String(!!siteplan.playing));
  button.setAttribute("aria-label", siteplan.playing ? "Stop" : "Play the months");
};

siteplan.start_months = async function () {
  siteplan.shown = 12;
  const slider = document.getElementById("month");
  slider.addEventListener("input", () => siteplan.show_map(Number(slider.value)));
  document.querySelectorAll("#month-marks button").forEach((mark, number) => mark.addEventListener("click", () => siteplan.show_map(number)));
  document.getElementById("play").addEventListener("click", siteplan.play);
  document.querySelectorAll('input[name="painting"]').forEach((choice) => {
    choice.checked = choice.value === "sun";
    choice.addEventListener("change", () => choice.checked && siteplan.paint_with(choice.value));
  });
  if (!("DecompressionStream" in window)) {
    siteplan.readout_hint = "This browser is too old to show the months: the picture is that of the growing season.";
    siteplan.say("");
    return;
  }
  await siteplan.start_paintings();
  const wanted = { jan: 0, feb: 1, mar: 2, apr: 3, may: 4, jun: 5, jul: 6, aug: 7, sep: 8, oct: 9, nov: 10, dec: 11 };
  siteplan.show_map(wanted[location.hash.slice(1)] ?? 12);
  siteplan.map.on("mousemove click", (event) => siteplan.read_off(event.latlng));
  siteplan.map.on("moveend", () => {
    const byKey = document.activeElement === siteplan.map.getContainer();
    siteplan.readout.setAttribute("aria-live", byKey ? "polite" : "off");
    if (byKey) siteplan.read_off(siteplan.map.getCenter());
  });
};

/* Pictures of sun, light, sky and forbidden ground are Leaflet layers as well. */
siteplan.picture = function (map, key, address, words) {
  siteplan.prepare(map);
  const grid = siteplan.paintings[key] || siteplan.grid;
  const corners = [[grid.west, grid.north - grid.rows * grid.cell], [grid.west + grid.columns * grid.cell, grid.north]];
  const layer = L.imageOverlay(address, L.latLngBounds(corners.map(siteplan.at)), { pane: key === "forbidden" ? "hatch" : "sun", zIndex: key === "sure" ? 2 : 1, className: "sp-picture-" + key, alt: words });
  layer.on("add", () => siteplan.clip(layer.getElement(), grid));
  siteplan.groups[key] = layer;
  return layer;
};

/* The picture under the drawing. While it is seen, the sun's colours let a little of it through. */
siteplan.backdrop = function (map, address, [west, south, east, north], strength) {
  siteplan.prepare(map);
  const bounds = L.latLngBounds(siteplan.at([west, south]), siteplan.at([east, north]));
  const layer = L.imageOverlay(address, bounds, { pane: "backdrop", opacity: strength, alt: "The picture under the drawing" });
  layer.on("add remove", (event) => map.getContainer().classList.toggle("sp-over-backdrop", event.type === "add"));
  siteplan.groups.backdrop = layer;
  return layer;
};

/* Clip a picture to the boundary, so that its edge is a straight line and not a row of cells. */
siteplan.clip = function (picture, grid) {
  const ring = siteplan.data.layers.ground[0].c[0][0];
  const share = (value) => (100 * value).toFixed(3) + "%";
  const corners = ring.map(([x, y]) => share((x - grid.west) / (grid.columns * grid.cell)) + " " + share((grid.north - y) / (grid.rows * grid.cell)));
  picture.style.clipPath = "polygon(" + corners.join(",") + ")";
};

siteplan.start_forbidden = async function () {
  const held = siteplan.data.forbidden, grid = siteplan.grid;
  if (!held || !("DecompressionStream" in window)) return;
  siteplan.forbidden = (await siteplan.unpacked(held.packed, 1, grid.rows, grid.columns))[0];
  siteplan.groups.forbidden.setUrl(siteplan.hatched(siteplan.forbidden, grid.rows, grid.columns));
};

siteplan.open_card = function (id) {
  if (siteplan.measuring) return;
  const card = document.getElementById(id);
  if (!card) return;
  siteplan.fill(card);
  card.open = true;
  siteplan.choose(card);
  card.scrollIntoView({ block: "start", behavior: matchMedia("(prefers-reduced-motion: reduce)").matches ? "auto" : "smooth" });
  card.querySelector("summary").focus({ preventScroll: true });
};

/* Highlight a card, and the item in the drawing that it describes. */
siteplan.choose = function (card) {
  document.querySelectorAll(".chosen, .sp-chosen").forEach((other) => other.classList.remove("chosen", "sp-chosen"));
  card.classList.add("chosen");
  document.querySelectorAll(`path[data-card="${CSS.escape(card.id)}"]`).forEach((shape) => shape.classList.add("sp-chosen"));
};

siteplan.start_panel = function () {
  document.querySelectorAll("details.card > summary").forEach((summary) => {
    summary.addEventListener("click", () => siteplan.choose(summary.parentElement));
  });
  document.querySelectorAll("input[data-layer]").forEach((box) => {
    const layer = () => siteplan.groups[box.dataset.layer === "sun" ? siteplan.painted_with : box.dataset.layer];
    box.checked = siteplan.map.hasLayer(layer());
    box.addEventListener("change", () => {
      siteplan.map[box.checked ? "addLayer" : "removeLayer"](layer());
      if (box.dataset.layer === "contours" && siteplan.current()?.units) siteplan.draw_contours();
      siteplan.mind_scale();
    });
  });
  siteplan.start_finding(document);
};

siteplan.start_finding = function (part) {
  part.querySelectorAll("button[data-find]").forEach((button) => {
    button.addEventListener("click", () => {
      const [west, south, east, north] = JSON.parse(button.dataset.find);
      siteplan.map.fitBounds(L.latLngBounds(siteplan.at([west, south]), siteplan.at([east, north])), { padding: [60, 60], maxZoom: siteplan.data.place ? 21 : 6 });
      siteplan.choose(button.closest(".card"));
      siteplan.map.getContainer().scrollIntoView({ block: "nearest" });
    });
  });
};

/* Contents of many cards are compressed, as HTML made by the program; each is inserted when its card is opened. */
siteplan.start_cards = async function () {
  const cards = document.querySelectorAll("details.card:has(> .inside[data-held])");
  if (!cards.length) return;
  if ("DecompressionStream" in window) {
    siteplan.insides = JSON.parse(new TextDecoder().decode(await siteplan.inflated(siteplan.data.cards)));
  }
  cards.forEach((card) => {
    card.addEventListener("toggle", () => siteplan.fill(card));
    if (card.open) siteplan.fill(card);
  });
};

siteplan.fill = function (card) {
  const inside = card.querySelector(":scope > .inside[data-held]");
  if (!inside) return;
  if (siteplan.insides) {
    inside.innerHTML = siteplan.insides[inside.dataset.held];
    delete inside.dataset.held;
    siteplan.start_finding(inside);
  } else if (!("DecompressionStream" in window)) {
    inside.textContent = "This browser is too old to show what the card holds.";
  }
};

/* Open all cards for printing, and restore them after it. */
siteplan.open_all = function (printing) {
  if (printing) document.querySelectorAll("details.card").forEach(siteplan.fill);
  document.querySelectorAll("details").forEach((card) => {
    if (printing) card.dataset.open = card.open ? "yes" : "";
    card.open = printing || card.dataset.open === "yes";
  });
};

/* On a phone the height of the map follows the shape of the property. */
siteplan.size_map = function (map, aspect) {
  const box = map.getContainer();
  if (!matchMedia("(max-width: 860px)").matches) return;
  const height = Math.min(Math.max(box.clientWidth / aspect + 70, 300), innerHeight * 0.62);
  box.style.setProperty("--map-height", Math.round(height) + "px");
  map.invalidateSize({ animate: false });
};

/* Hide names when zoomed out: they would cover the drawing. */
siteplan.mind_scale = function () {
  const size = siteplan.map.getSize();
  const across = siteplan.apart(siteplan.map.containerPointToLatLng([0, size.y / 2]), siteplan.map.containerPointToLatLng([100, size.y / 2]));
  siteplan.map.getContainer().classList.toggle("sp-far", 100 / across < 10.5);
  siteplan.uncrowd();
  siteplan.place_labels();
};

siteplan.start = function (map) {
  map.attributionControl?.setPrefix("Leaflet");
  const [west, south, east, north] = siteplan.data.extent;
  siteplan.size_map(map, (east - west) / (north - south));
  const fit = () => map.fitBounds(L.latLngBounds(siteplan.at([west, south]), siteplan.at([east, north])), { animate: false });
  fit();
  map.addControl(new siteplan.tape());
  map.addControl(new siteplan.north_arrow());
  map.addControl(new siteplan.scale_bar());
  siteplan.readout = document.getElementById("readout");
  siteplan.start_panel();
  siteplan.start_cards();
  map.on("zoomend", siteplan.mind_scale);
  siteplan.mind_scale();
  const refit = () => { map.invalidateSize({ animate: false }); fit(); };
  window.addEventListener("beforeprint", () => { siteplan.open_all(true); refit(); });
  window.addEventListener("afterprint", () => { siteplan.open_all(false); refit(); });
  const ready = siteplan.grid ? Promise.all([siteplan.start_months(), siteplan.start_forbidden(), siteplan.start_sure()]) : Promise.resolve();
  siteplan.ready = ready.then(() => document.documentElement.setAttribute("data-ready", "yes"));
};
