/* Names on the map: each beside its shape, clear of beds, places, piles, symbols, numbers and other names. */
"use strict";
var siteplan = window.siteplan || (window.siteplan = {});

siteplan.labels = [];
siteplan.solid = []; // names must not cover these

siteplan.label = function (item, shape) {
  const html = siteplan.element("span", "");
  html.appendChild(siteplan.element("bdi", "", item.label));
  const icon = L.divIcon({ className: "sp-label sp-label-" + item.k, html: html, iconSize: null });
  const bounds = shape.getBounds ? shape.getBounds() : L.latLngBounds([shape.getLatLng()]);
  const marker = L.marker(bounds.getCenter(), { icon: icon, pane: "mark", interactive: false, keyboard: false });
  siteplan.labels.push({ marker: marker, bounds: bounds, first: item.k.startsWith("bed") });
  return marker;
};

/* Return a shape's box on the screen, enlarged by some pixels: [left, top, right, bottom]. */
siteplan.screen_box = function (bounds, by) {
  const low = siteplan.map.latLngToLayerPoint(bounds.getSouthWest()), high = siteplan.map.latLngToLayerPoint(bounds.getNorthEast());
  return [low.x - by, high.y - by, high.x + by, low.y + by];
};

siteplan.shared_area = function (one, other) {
  const wide = Math.min(one[2], other[2]) - Math.max(one[0], other[0]);
  const tall = Math.min(one[3], other[3]) - Math.max(one[1], other[1]);
  return wide > 0 && tall > 0 ? wide * tall : 0;
};

/* Return the positions that a name may take around its shape (upper left corner), the best first. */
siteplan.label_spots = function (box, size) {
  const [left, top, right, bottom] = box;
  const middle = (left + right - size[0]) / 2, beside = (top + bottom - size[1]) / 2;
  const near = [
    [middle, bottom], [middle, top - size[1]], [right, beside], [left - size[0], beside],
    [right, bottom], [left - size[0], bottom], [right, top - size[1]], [left - size[0], top - size[1]],
  ];
  const far = [1, 2].flatMap((steps) => [
    [middle, bottom + steps * size[1]], [middle, top - (1 + steps) * size[1]],
    [right + steps * 20, beside], [left - size[0] - steps * 20, beside],
    [right + steps * 20, bottom + size[1]], [left - size[0] - steps * 20, bottom + size[1]],
  ]);
  return [...near, ...far];
};

/* Place every name where it covers nothing, names of beds first; hide contour labels that a name would cover. */
siteplan.place_labels = function () {
  const there = (marker) => siteplan.map.hasLayer(marker) && marker.getElement();
  const taken = siteplan.solid.filter((one) => siteplan.map.hasLayer(one)).map((one) =>
    one.getBounds ? siteplan.screen_box(one.getBounds(), 1) : siteplan.round_box(one, 14));
  for (const badge of siteplan.badges) {
    if (there(badge.marker) && !badge.marker.getElement().classList.contains("sp-crowded")) {
      const text = badge.marker.getElement().firstChild;
      taken.push(siteplan.round_box(badge.marker, text.offsetWidth / 2 + 2));
    }
  }
  const shown = siteplan.labels.filter((label) => there(label.marker));
  for (const label of [...shown.filter((one) => one.first), ...shown.filter((one) => !one.first)]) {
    const text = label.marker.getElement().firstChild;
    const size = [text.offsetWidth, text.offsetHeight];
    if (!size[0]) continue; // names are hidden when zoomed out
    const spots = siteplan.label_spots(siteplan.screen_box(label.bounds, 3), size).map(([x, y]) => [x, y, x + size[0], y + size[1]]);
    const hidden = spots.map((spot) => taken.reduce((sum, other) => sum + siteplan.shared_area(spot, other), 0));
    const best = spots[hidden.indexOf(Math.min(...hidden))];
    const at = siteplan.map.latLngToLayerPoint(label.marker.getLatLng());
    text.style.transform = "translate(" + (best[0] - at.x) + "px," + (best[1] - at.y) + "px)";
    taken.push(best);
  }
  for (const element of siteplan.map.getContainer().querySelectorAll(".sp-contour-text")) {
    const text = element.firstChild, at = L.DomUtil.getPosition(element);
    const box = [at.x - text.offsetWidth / 2, at.y - text.offsetHeight / 2, at.x + text.offsetWidth / 2, at.y + text.offsetHeight / 2];
    element.classList.toggle("sp-crowded", taken.some((other) => siteplan.shared_area(box, other) > 0));
  }
};

siteplan.round_box = function (marker, half) {
  const at = siteplan.map.latLngToLayerPoint(marker.getLatLng());
  return [at.x - half, at.y - 13, at.x + half, at.y + 13];
};
