/* The map, the ranking and the comparison of many lots. Everything that comes from a file is set as text. */
"use strict";

const lots = {
  line: 1, data: JSON.parse(document.getElementById("siteplan-data").textContent),
  shown: 50, chosen: null, compared: [], shapes: [], order: [],
};
const RAMP = [[44, 62, 86], [110, 95, 122], [188, 131, 105], [233, 183, 113], [255, 244, 181]];
const STEP = 50, MOST = 6, NONE = "#d9d2c2";

lots.byId = (id) => document.getElementById(id);
lots.measure = () => lots.data.measures.find((one) => one.key === lots.byId("measure").value);
lots.value = (at, measure = lots.measure()) => lots.data.values[measure.key][at];

lots.element = (kind, text = "", className = "") => {
  const made = document.createElement(kind);
  made.textContent = text;
  if (className) made.className = className;
  return made;
};

/** A figure as people read it; a dash where there is none. */
lots.text = (value, measure) => value === null ? "–"
  : value.toLocaleString("en", { minimumFractionDigits: measure.digits, maximumFractionDigits: measure.digits })
    + (measure.unit ? ` ${measure.unit}` : "");

/** The ramp's colour at a share from 0, the worst, to 1, the best. */
lots.colour = (share) => {
  const place = Math.min(Math.max(share, 0), 1) * (RAMP.length - 1), below = Math.min(Math.floor(place), RAMP.length - 2);
  const mixed = RAMP[below].map((part, k) => Math.round(part + (RAMP[below + 1][k] - part) * (place - below)));
  return `rgb(${mixed.join(",")})`;
};

/** The range of a measure, without the two lots of a hundred that lie farthest out on each side. */
lots.range = (measure) => {
  const known = lots.data.values[measure.key].filter((one) => one !== null).sort((one, other) => one - other);
  if (!known.length) return [0, 1];
  const least = known[Math.floor(0.02 * (known.length - 1))], most = known[Math.ceil(0.98 * (known.length - 1))];
  return most > least ? [least, most] : [least - 0.5, least + 0.5];
};

lots.share = (value, measure, [least, most]) => {
  const share = (value - least) / (most - least);
  return measure.low ? 1 - share : share;
};

lots.style = (at, measure, range) => {
  const value = lots.value(at, measure), picked = at === lots.chosen || lots.compared.includes(at);
  return {
    color: picked ? "#285648" : "#2a251f", weight: picked ? 4 : lots.line, opacity: 1, fillOpacity: value === null ? 0.45 : 1,
    fillColor: value === null ? NONE : lots.colour(lots.share(value, measure, range)),
    dashArray: value === null ? "3 3" : null,
  };
};

lots.paint = () => {
  const measure = lots.measure(), range = lots.range(measure);
  lots.shapes.forEach((shape, at) => shape && shape.setStyle(lots.style(at, measure, range)));
  const stops = RAMP.map((_, k) => lots.colour(measure.low ? 1 - k / (RAMP.length - 1) : k / (RAMP.length - 1)));
  lots.byId("bar").style.background = `linear-gradient(to right,${stops.join(",")})`;
  lots.byId("marks").replaceChildren(...[0, 0.25, 0.5, 0.75, 1].map((share) => {
    const mark = lots.element("span", lots.text(range[0] + share * (range[1] - range[0]), { ...measure, unit: "" }));
    mark.style.left = `${100 * share}%`;
    return mark;
  }));
  lots.byId("unit").textContent = `${measure.name}${measure.unit ? `, ${measure.unit}` : ""}. Bright is better; grey has no figure.`;
};

lots.rank = () => {
  const measure = lots.measure(), sign = measure.low ? 1 : -1, values = lots.data.values[measure.key];
  const known = values.map((value, at) => [value, at]).filter(([value]) => value !== null);
  known.sort(([one, first], [other, second]) => sign * (one - other) || first - second);
  lots.order = known.map(([, at]) => at);
  lots.byId("order").textContent = `${lots.order.length.toLocaleString("en")} lots by ${measure.said}, the best first.`;
  lots.byId("figure-head").textContent = measure.short;
};

lots.row = (at, rank, measure) => {
  const row = lots.element("tr", "", at === lots.chosen ? "chosen" : ""), tick = document.createElement("input");
  tick.type = "checkbox";
  tick.checked = lots.compared.includes(at);
  tick.setAttribute("aria-label", `Compare lot ${lots.data.ids[at]}`);
  tick.addEventListener("change", () => lots.compare(at, tick.checked));
  const first = lots.element("td"), name = lots.element("td"), said = lots.element("bdi", lots.data.ids[at]);
  first.append(tick);
  name.append(said);
  const plan = lots.element("td");
  if (lots.data.plans[at]) {
    const link = lots.element("a", "map");
    link.href = `${lots.data.plans[at]}/map.html`;
    plan.append(link);
  }
  row.append(first, lots.element("td", String(rank), "n"), name, lots.element("td", lots.text(lots.value(at, measure), measure), "n"),
    lots.element("td", lots.text(lots.data.values.beds_fit[at], { digits: 0, unit: "" }), "n"), plan);
  row.addEventListener("click", (event) => {
    if (!(event.target instanceof HTMLInputElement || event.target instanceof HTMLAnchorElement)) lots.choose(at, true);
  });
  return row;
};

lots.list = () => {
  const measure = lots.measure(), wanted = lots.byId("find").value.trim().toLowerCase();
  const ranked = lots.order.map((at, place) => [at, place + 1])
    .filter(([at]) => !wanted || lots.data.ids[at].toLowerCase().includes(wanted));
  lots.byId("ranking").replaceChildren(...ranked.slice(0, lots.shown).map(([at, rank]) => lots.row(at, rank, measure)));
  lots.byId("more").hidden = ranked.length <= lots.shown;
};

lots.compare = (at, wanted) => {
  lots.compared = lots.compared.filter((one) => one !== at);
  if (wanted) lots.compared = [...lots.compared, at].slice(-MOST);
  lots.show();
};

/** The lots side by side: one row for each measure, the best figure marked. */
lots.table = () => {
  const table = lots.byId("compare"), head = document.createElement("thead"), body = document.createElement("tbody");
  lots.byId("compare-hint").hidden = lots.compared.length > 0;
  table.replaceChildren();
  if (!lots.compared.length) return;
  const names = lots.element("tr");
  names.append(lots.element("th"), ...lots.compared.map((at) => {
    const cell = lots.element("th", "", "n"), button = lots.element("button", lots.data.ids[at]);
    button.type = "button";
    button.addEventListener("click", () => lots.choose(at, true));
    cell.append(button);
    return cell;
  }));
  head.append(names);
  for (const measure of lots.data.measures) {
    const values = lots.compared.map((at) => lots.value(at, measure)), known = values.filter((one) => one !== null);
    const best = measure.low ? Math.min(...known) : Math.max(...known), row = lots.element("tr");
    const name = lots.element("th", measure.name);
    name.scope = "row";
    row.append(name, ...values.map((value) => lots.element("td", lots.text(value, measure),
      known.length > 1 && value === best && measure.key !== "lot_m2" ? "n best" : "n")));
    body.append(row);
  }
  table.append(head, body);
};

lots.read = (at) => {
  const said = [`Lot ${lots.data.ids[at]}`];
  if (lots.data.words[at]) said.push(lots.data.words[at]);
  for (const measure of lots.data.measures.slice(0, 6)) {
    const value = lots.value(at, measure);
    if (value !== null) said.push(`${measure.short} ${lots.text(value, measure)}`);
  }
  lots.byId("readout").textContent = said.join(" · ");
};

lots.choose = (at, move) => {
  lots.chosen = at;
  lots.read(at);
  const shape = lots.shapes[at];
  if (shape && move) lots.map.fitBounds(shape.getBounds().pad(3), { maxZoom: lots.map.getMaxZoom(), animate: false });
  if (shape) shape.bringToFront();
  lots.show();
};

lots.show = () => {
  lots.paint();
  lots.list();
  lots.table();
};

/** Lines of lots that are a few pixels wide are thin, or they would hide the colours. */
lots.thin = () => {
  const line = lots.map.getZoom() < 0 ? 0.3 : 1;
  if (line === lots.line) return;
  lots.line = line;
  lots.paint();
};

lots.start = (map) => {
  lots.map = map;
  map.setMinZoom(-8).setMaxZoom(6);
  const features = lots.data.shapes.map((rings, at) => rings && {
    type: "Feature", properties: { at }, geometry: { type: "MultiPolygon", coordinates: rings },
  }).filter(Boolean);
  const measure = lots.measure(), range = lots.range(measure);
  const layer = L.geoJSON({ type: "FeatureCollection", features }, {
    renderer: L.canvas({ padding: 0.3 }), smoothFactor: 0, coordsToLatLng: ([x, y]) => L.latLng(y, x),
    style: (feature) => lots.style(feature.properties.at, measure, range),
    onEachFeature: (feature, shape) => {
      lots.shapes[feature.properties.at] = shape;
      shape.on("mouseover", () => lots.read(feature.properties.at));
      shape.on("click", () => {
        lots.choose(feature.properties.at, false);
        lots.compare(feature.properties.at, !lots.compared.includes(feature.properties.at));
      });
    },
  }).addTo(map);
  if (features.length) map.fitBounds(layer.getBounds().pad(0.03), { animate: false });
  else map.setView([0, 0], 0);
  lots.byId("measure").addEventListener("change", () => {
    lots.shown = STEP;
    lots.rank();
    lots.show();
  });
  lots.byId("find").addEventListener("input", lots.list);
  lots.byId("more").addEventListener("click", () => {
    lots.shown += STEP;
    lots.list();
  });
  map.on("zoomend", lots.thin);
  lots.rank();
  lots.show();
  lots.thin();
};
