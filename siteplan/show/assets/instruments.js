/* The instruments on the map: scale bar in metres and feet, north arrow, tape, readout under the pointer. */
"use strict";
var siteplan = window.siteplan || (window.siteplan = {});

siteplan.length_text = function (metres) {
  const feet = metres / 0.3048;
  const inches = Math.round((feet - Math.floor(feet)) * 12);
  const imperial = feet < 20 ? (inches === 12 ? Math.floor(feet) + 1 + " ft" : Math.floor(feet) + " ft " + inches + " in") : feet.toFixed(0) + " ft";
  const metric = metres < 1 ? (metres * 100).toFixed(0) + " cm" : metres.toFixed(2) + " m";
  return siteplan.data.units === "imperial" ? imperial + " (" + metric + ")" : metric + " (" + imperial + ")";
};

/* A bar of four fields, metres above and feet below, as on a drawn plan. */
siteplan.scale_bar = L.Control.extend({
  options: { position: "bottomleft" },
  onAdd(map) {
    this.box = siteplan.element("div", "sp-scale");
    this.rows = ["m", "ft"].map((unit) => {
      const row = siteplan.element("div", "sp-scale-row sp-scale-" + unit);
      row.bar = siteplan.element("div", "sp-scale-bar");
      for (let field = 0; field < 4; field++) row.bar.appendChild(siteplan.element("i", ""));
      row.text = siteplan.element("span", "");
      row.append(row.bar, row.text);
      this.box.appendChild(row);
      return row;
    });
    map.on("zoomend moveend resize", this.update, this);
    map.whenReady(this.update, this);
    return this.box;
  },
  update() {
    const size = siteplan.map.getSize();
    if (!size.x) return;
    const left = siteplan.metres(siteplan.map.containerPointToLatLng([0, size.y / 2]));
    const right = siteplan.metres(siteplan.map.containerPointToLatLng([100, size.y / 2]));
    const metre = 100 / (right[0] - left[0]);
    for (const [row, unit, metres] of [[this.rows[0], "m", 1], [this.rows[1], "ft", 0.3048]]) {
      const most = 130 / (metre * metres);
      const power = Math.pow(10, Math.floor(Math.log10(most)));
      const count = [8, 4, 2, 1].map((step) => step * power).find((value) => value <= most);
      row.bar.style.width = count * metres * metre + "px";
      row.text.textContent = Number(count.toPrecision(3)) + " " + unit;
    }
  },
});

siteplan.north_arrow = L.Control.extend({
  options: { position: "topright" },
  onAdd() {
    const box = siteplan.element("div", "sp-north");
    box.setAttribute("role", "img");
    box.setAttribute("aria-label", "North is up");
    box.innerHTML =
      '<svg viewBox="0 0 40 58" aria-hidden="true"><circle cx="20" cy="36" r="13" class="ring"/><path class="dark" d="M20 14V50L13 46z"/><path class="light" d="M20 14V50l7-4z"/><text x="20" y="10">N</text></svg>';
    return box;
  },
});

/* The tape: click from point to point; it shows the length of each leg and the sum. */
siteplan.tape = L.Control.extend({
  options: { position: "topleft" },
  onAdd(map) {
    this.points = [];
    this.drawn = L.layerGroup();
    const box = siteplan.element("div", "leaflet-bar sp-tape");
    this.button = siteplan.element("button", "");
    this.button.type = "button";
    this.button.title = "Measure with the tape";
    this.button.setAttribute("aria-label", "Measure with the tape");
    this.button.setAttribute("aria-pressed", "false");
    this.button.innerHTML = '<svg viewBox="0 0 16 16" aria-hidden="true"><path d="M1 11L11 1l4 4L5 15zM3.500 8.500L5 10M6 6l2 2M8.500 3.500L10 5"/></svg>';
    box.appendChild(this.button);
    L.DomEvent.disableClickPropagation(box);
    this.button.addEventListener("click", () => this.turn(!this.on));
    /* the position of the pointer, not that of the badge or symbol under it */
    map.on("click", (event) => this.on && this.add(event.originalEvent ? map.mouseEventToLatLng(event.originalEvent) : event.latlng));
    map.getContainer().addEventListener("keydown", (event) => event.key === "Escape" && this.turn(false));
    return box;
  },
  turn(on) {
    this.on = on;
    siteplan.measuring = on;
    siteplan.measured = this.points = [];
    this.drawn.clearLayers();
    this.button.setAttribute("aria-pressed", String(on));
    siteplan.map.getContainer().classList.toggle("sp-measuring", on);
    if (on) this.drawn.addTo(siteplan.map);
    siteplan.say(on ? "Tape: tap from point to point. Press the button again to end." : "");
  },
  add(latlng) {
    this.points.push(latlng);
    const style = { className: "sp-tape-line", pane: "mark", interactive: false, renderer: siteplan.renderers.mark };
    L.circleMarker(latlng, { ...style, radius: 4 }).addTo(this.drawn);
    if (this.points.length < 2) return;
    const legs = this.points.slice(1).map((point, index) => siteplan.apart(this.points[index], point));
    const sum = legs.reduce((total, leg) => total + leg, 0);
    L.polyline(this.points.slice(-2), style).addTo(this.drawn);
    const html = siteplan.element("span", "", siteplan.length_text(legs[legs.length - 1]));
    const middle = siteplan.metres(this.points[this.points.length - 2]).map((value, axis) => (value + siteplan.metres(latlng)[axis]) / 2);
    L.marker(siteplan.at(middle), { icon: L.divIcon({ className: "sp-tape-text", html: html, iconSize: null }), pane: "mark", interactive: false, keyboard: false }).addTo(this.drawn);
    siteplan.say("Tape: " + siteplan.length_text(sum) + (legs.length > 1 ? " in " + legs.length + " legs" : ""));
  },
});
siteplan.apart = function (one, other) {
  const a = siteplan.metres(one), b = siteplan.metres(other);
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
};

/* Text of the line under the map: the tape's, else that of the cell under the pointer. */
siteplan.say = function (text) {
  siteplan.tape_text = text;
  if (siteplan.readout) siteplan.readout.textContent = text || siteplan.readout_hint;
};
siteplan.readout_hint = document.getElementById("readout").textContent;

siteplan.cell_at = function (latlng, grid) {
  const [x, y] = siteplan.metres(latlng);
  const row = Math.floor((grid.north - y) / grid.cell), column = Math.floor((x - grid.west) / grid.cell);
  return row < 0 || column < 0 || row >= grid.rows || column >= grid.columns ? -1 : row * grid.columns + column;
};

siteplan.read_off = function (latlng) {
  const painting = siteplan.current();
  if (siteplan.tape_text || !painting?.units) return;
  const cell = siteplan.cell_at(latlng, painting);
  const units = cell < 0 ? 0xffff : painting.units[siteplan.shown][cell];
  siteplan.readout.dataset.value = units === 0xffff ? "" : (units * painting.step).toFixed(3);
  siteplan.readout.dataset.of = siteplan.painted_with;
  if (units === 0xffff) {
    siteplan.readout.textContent = siteplan.readout_hint;
    return;
  }
  const [figure, judged] = siteplan.figure_of[siteplan.painted_with](units * painting.step, painting);
  let text = figure + " in " + painting.names[siteplan.shown] + (judged ? ": " + judged : "");
  const spot = siteplan.cell_at(latlng, siteplan.grid);
  if (siteplan.shows_sure() && spot >= 0) text = figure + " in " + painting.names[siteplan.shown] + siteplan.sure_at(spot);
  const forbidden = siteplan.forbidden && siteplan.map.hasLayer(siteplan.groups.forbidden) ? siteplan.forbidden[spot] : 0;
  if (forbidden) text += ". No bed here: it would " + siteplan.data.forbidden.reasons[forbidden - 1];
  siteplan.readout.textContent = text;
};
