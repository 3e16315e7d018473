/* The drawing: layers of items in metres of the local frame, on Leaflet's map. Text is never parsed as HTML. */
"use strict";
var siteplan = window.siteplan || (window.siteplan = {});

siteplan.data = JSON.parse(document.getElementById("siteplan-data").textContent);

/* Convert metres east and north to the map's coordinates, and back. */
siteplan.at = function (point) {
  const place = siteplan.data.place;
  return place
    ? L.latLng(place.latitude + point[1] / place.north_m, place.longitude + point[0] / place.east_m)
    : L.latLng(point[1], point[0]);
};
siteplan.metres = function (latlng) {
  const place = siteplan.data.place;
  return place
    ? [(latlng.lng - place.longitude) * place.east_m, (latlng.lat - place.latitude) * place.north_m]
    : [latlng.lng, latlng.lat];
};
siteplan.deep = (points) => (typeof points[0] === "number" ? siteplan.at(points) : points.map(siteplan.deep));

/* Return an element with text in it: never parsed as HTML. */
siteplan.element = function (tag, className, text) {
  const made = document.createElement(tag);
  if (className) made.className = className;
  if (text !== undefined) made.textContent = text;
  return made;
};

siteplan.words = function (lines) {
  const box = siteplan.element("div", "sp-words");
  lines.forEach((line, index) => {
    const row = siteplan.element(index ? "span" : "strong", "");
    row.appendChild(siteplan.element("bdi", "", line));
    box.appendChild(row);
  });
  return box;
};

siteplan.panes = { backdrop: 210, under: 230, sun: 250, hatch: 270, line: 410, way: 420, bed: 430, mark: 620 };
siteplan.pane_of = {
  surface: "under", boundary: "line", setback: "line", keepout: "line", route: "way",
  bed: "bed", "bed-proposed": "bed", "bed-inside": "bed", place: "bed", heap: "way",
};
siteplan.keeps_clear = new Set(["bed", "bed-proposed", "place", "pile", "drop"]); // names do not cover these
siteplan.symbols = {
  tap: '<path d="M2 6h9v-3M6 3h7M11 6c3 0 3 2 3 4M13 13a1 1 0 1 0 2 0c0-1-1-2-1-2s-1 1-1 2z"/>',
  door: '<path d="M3 14V3h8v11M1 14h14M9 9h.5"/>',
  level: '<path d="M3 4h10M4 4l4 8 4-8"/>',
  pile: '<path d="M1 13h14M2.500 13c1.500-6 3-8 5.500-8s4 2 5.500 8"/>',
  drop: '<path d="M1 13h14M3 13c1-4 3-5 5-5s4 1 5 5M8 1v5M6 4l2 2 2-2"/>',
};

/* Return one drawn item as Leaflet layers. */
siteplan.item = function (item) {
  const made = [];
  const pane = siteplan.pane_of[item.k] || "line";
  const named = "sp-" + item.k + (item.s ? " sp-" + item.s : "");
  const style = { className: named, smoothFactor: 0.4, pane: pane, renderer: siteplan.renderers[pane], interactive: !!item.t };
  let shape;
  if (item.g === "area") {
    shape = L.polygon(siteplan.deep(item.c), style);
  } else if (item.g === "line") {
    if (item.k === "route") made.push(L.polyline(siteplan.deep(item.c), { ...style, className: "sp-route-edge", interactive: false }));
    shape = L.polyline(siteplan.deep(item.c), style);
  } else if (item.r) {
    shape = siteplan.disc(item, style);
  } else {
    shape = siteplan.symbol(item);
  }
  made.push(shape);
  if (item.g === "point" ? !item.r : siteplan.keeps_clear.has(item.k)) siteplan.solid.push(shape);
  if (item.k === "surface") {
    const edge = { className: "sp-surface-edge", pane: "hatch", renderer: siteplan.renderers.hatch, interactive: false };
    made.push(L.polygon(siteplan.deep(item.c), edge));
  }
  if (item.k === "fence") made.push(L.polyline(siteplan.deep(item.c), { ...style, className: "sp-fence-posts", interactive: false }));
  for (const arrow of item.arrows || []) made.push(siteplan.arrow(arrow));
  if (item.badge) made.push(siteplan.badge(item, shape));
  else if (item.label) made.push(siteplan.label(item, shape));
  if (item.t) siteplan.speaking(shape, item);
  return made;
};

siteplan.circle_points = function (centre, radius) {
  const points = [];
  for (let turn = 0; turn < 40; turn++) {
    const angle = (turn / 20) * Math.PI;
    points.push([centre[0] + radius * Math.cos(angle), centre[1] + radius * Math.sin(angle)]);
  }
  return points;
};
siteplan.disc = (item, style) => L.polygon(siteplan.deep(siteplan.circle_points(item.c, item.r)), style);

siteplan.symbol = function (item) {
  const drawing = siteplan.symbols[item.k] || siteplan.symbols.pile;
  const icon = L.divIcon({
    className: "sp-symbol sp-symbol-" + item.k,
    html: '<svg viewBox="0 0 16 16" aria-hidden="true">' + drawing + "</svg>",
    iconSize: [26, 26],
  });
  return L.marker(siteplan.at(item.c), { icon: icon, pane: "mark", keyboard: !!item.card, alt: "", bubblingMouseEvents: true });
};

siteplan.arrow = function (arrow) {
  const icon = L.divIcon({
    className: "sp-arrow",
    html: '<svg viewBox="0 0 10 10" aria-hidden="true" style="transform:rotate(' + Number(arrow[2]) + 'deg)"><path d="M1.500 7.500L5 2.500l3.500 5"/></svg>',
    iconSize: [12, 12],
  });
  return L.marker(siteplan.at(arrow), { icon: icon, pane: "way", interactive: false, keyboard: false });
};

siteplan.badge = function (item, shape) {
  const html = siteplan.element("span", "", item.badge);
  const icon = L.divIcon({ className: "sp-badge sp-badge-" + item.k, html: html, iconSize: [24, 24] });
  const where = item.at ? siteplan.at(item.at) : shape.getBounds().getCenter();
  const marker = L.marker(where, { icon: icon, pane: "mark", keyboard: false, alt: "", bubblingMouseEvents: true });
  siteplan.speaking(marker, item);
  siteplan.badges.push({ marker: marker, first: item.k === "place" });
  return marker;
};

/* Hide badges that would overlap: those of places stay first, then those of earlier runs. The route stays clickable. */
siteplan.badges = [];
siteplan.uncrowd = function () {
  const kept = [];
  const shown = siteplan.badges.filter((badge) => badge.marker.getElement() && siteplan.map.hasLayer(badge.marker));
  for (const badge of [...shown.filter((badge) => badge.first), ...shown.filter((badge) => !badge.first)]) {
    const text = badge.marker.getElement().firstChild;
    const at = siteplan.map.latLngToLayerPoint(badge.marker.getLatLng());
    const room = [text.offsetWidth / 2 + 2, text.offsetHeight / 2 + 2];
    const free = kept.every((other) => Math.abs(at.x - other.at.x) >= room[0] + other.room[0] || Math.abs(at.y - other.at.y) >= room[1] + other.room[1]);
    badge.marker.getElement().classList.toggle("sp-crowded", !free && !badge.first);
    if (free) kept.push({ at: at, room: room });
  }
};

/* Show text under the pointer, and open the card, if there is one, by click or key. */
siteplan.speaking = function (layer, item) {
  layer.bindTooltip(() => siteplan.words(item.t), { sticky: true, className: "sp-tip", direction: "top", offset: [0, -6] });
  if (!item.card) return;
  layer.on("click", () => siteplan.open_card(item.card));
  layer.on("add", () => {
    const drawn = layer.getElement();
    if (drawn) drawn.dataset.card = item.card;
    if (!drawn || layer.options.keyboard === false) return;
    drawn.setAttribute("tabindex", "0");
    drawn.setAttribute("role", "button");
    drawn.setAttribute("aria-label", item.t.join(", "));
    drawn.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" && event.key !== " ") return;
      event.preventDefault();
      siteplan.open_card(item.card);
    });
  });
};

/* Return the layer of a key; called by the page that folium writes. */
siteplan.layer = function (map, key) {
  siteplan.prepare(map);
  const group = L.featureGroup(siteplan.data.layers[key].flatMap(siteplan.item));
  siteplan.groups[key] = group;
  return group;
};

siteplan.groups = {};
siteplan.renderers = {};
siteplan.prepare = function (map) {
  if (siteplan.map) return;
  siteplan.map = map;
  for (const [name, height] of Object.entries(siteplan.panes)) {
    map.createPane(name).style.zIndex = height;
    siteplan.renderers[name] = L.svg({ pane: name, padding: 0.5 });
  }
  siteplan.hatches(map);
};

/* Patterns that fill areas; their size on the screen is fixed. */
siteplan.hatches = function (map) {
  const patterns =
    '<pattern id="sp-slant" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0V7"/></pattern>' +
    '<pattern id="sp-cross" width="9" height="9" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0V9M0 0H9"/></pattern>' +
    '<pattern id="sp-dots" width="8" height="8" patternUnits="userSpaceOnUse"><circle cx="2" cy="2" r=".8"/><circle cx="6" cy="6" r=".8"/></pattern>' +
    '<pattern id="sp-grass" width="26" height="22" patternUnits="userSpaceOnUse"><path d="M4 8l1-4M6 8V3M8 8L7 4M17 19l1-4M19 19v-5M21 19l-1-4"/></pattern>' +
    '<pattern id="sp-tread" width="10" height="6" patternUnits="userSpaceOnUse"><path d="M0 0H10"/></pattern>';
  const holder = siteplan.element("div", "sp-patterns");
  holder.setAttribute("aria-hidden", "true");
  holder.innerHTML = "<svg width='0' height='0'><defs>" + patterns + "</defs></svg>";
  map.getContainer().appendChild(holder);
};
