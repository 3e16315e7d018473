/* The maps in the page: unpack, paint, draw contours, read values. */
"use strict";
var siteplan = window.siteplan || (window.siteplan = {});

/* Return the decompressed bytes of base64 text. */
siteplan.inflated = async function (packed) {
  const raw = Uint8Array.from(atob(packed), (letter) => letter.charCodeAt(0));
  const stream = new Blob([raw]).stream().pipeThrough(new DecompressionStream("deflate"));
  return new Uint8Array(await new Response(stream).arrayBuffer());
};

/* Return 16-bit maps. Each has two byte planes of differences from left + above - above left, as 0, -1, 1, -2 ... */
siteplan.unpacked = async function (packed, maps, rows, columns) {
  const bytes = await siteplan.inflated(packed);
  const size = rows * columns;
  const found = [];
  for (let map = 0; map < maps; map++) {
    const units = new Uint16Array(size);
    const high = 2 * map * size;
    for (let row = 0; row < rows; row++) {
      let sum = 0;
      for (let cell = row * columns; cell < (row + 1) * columns; cell++) {
        const folded = (bytes[high + cell] << 8) | bytes[high + size + cell];
        sum += (folded >> 1) ^ -(folded & 1);
        units[cell] = sum + (row ? units[cell - columns] : 0);
      }
    }
    found.push(units);
  }
  return found;
};

/* Extend the known cells by one, so that the smoothed picture reaches the drawn edges. */
siteplan.spread = function (units, grid) {
  const grown = units.slice();
  for (let cell = 0; cell < units.length; cell++) {
    if (units[cell] !== 0xffff) continue;
    const column = cell % grid.columns;
    const near = [cell - grid.columns, cell + grid.columns];
    if (column > 0) near.push(cell - 1);
    if (column + 1 < grid.columns) near.push(cell + 1);
    const known = near.filter((other) => other >= 0 && other < units.length && units[other] !== 0xffff);
    if (known.length) grown[cell] = known.reduce((sum, other) => sum + units[other], 0) / known.length;
  }
  return grown;
};

/* Paint one map; missing cells are transparent. Returns the address of a picture. */
siteplan.painted = function (units, grid) {
  const canvas = document.createElement("canvas");
  canvas.width = grid.columns;
  canvas.height = grid.rows;
  const pen = canvas.getContext("2d");
  const picture = pen.createImageData(grid.columns, grid.rows);
  const step = (grid.step / grid.top) * 255;
  units = siteplan.spread(siteplan.spread(units, grid), grid);
  for (let cell = 0; cell < units.length; cell++) {
    if (units[cell] === 0xffff) continue;
    const colour = 3 * Math.min(255, Math.round(units[cell] * step));
    picture.data[4 * cell] = grid.colours[colour];
    picture.data[4 * cell + 1] = grid.colours[colour + 1];
    picture.data[4 * cell + 2] = grid.colours[colour + 2];
    picture.data[4 * cell + 3] = 255;
  }
  pen.putImageData(picture, 0, 0);
  return canvas.toDataURL("image/png");
};

/* Paint forbidden cells as a diagonal hatch, four pixels to a side of a cell. */
siteplan.hatched = function (cells, rows, columns) {
  const fine = 4;
  const canvas = document.createElement("canvas");
  canvas.width = columns * fine;
  canvas.height = rows * fine;
  const pen = canvas.getContext("2d");
  const picture = pen.createImageData(canvas.width, canvas.height);
  for (let y = 0; y < canvas.height; y++) {
    for (let x = 0; x < canvas.width; x++) {
      const cell = cells[Math.floor(y / fine) * columns + Math.floor(x / fine)];
      if (cell === 0) continue;
      const at = 4 * (y * canvas.width + x);
      const line = (x + y) % 8 < 2;
      picture.data[at] = 120;
      picture.data[at + 1] = 40;
      picture.data[at + 2] = 30;
      picture.data[at + 3] = line ? 170 : 26;
    }
  }
  pen.putImageData(picture, 0, 0);
  return canvas.toDataURL("image/png");
};

/* Return the contour of a map at a value, as short segments [x0, y0, x1, y1] in metres. */
siteplan.contour = function (units, grid, value) {
  const level = value / grid.step;
  const pieces = [];
  const across = (a, b) => (level - a) / (b - a);
  for (let row = 0; row + 1 < grid.rows; row++) {
    for (let column = 0; column + 1 < grid.columns; column++) {
      const at = row * grid.columns + column;
      const a = units[at], b = units[at + 1], c = units[at + grid.columns + 1], d = units[at + grid.columns];
      if (a === 0xffff || b === 0xffff || c === 0xffff || d === 0xffff) continue;
      const which = (a >= level) + 2 * (b >= level) + 4 * (c >= level) + 8 * (d >= level);
      if (which === 0 || which === 15) continue;
      const west = grid.west + (column + 0.5) * grid.cell, north = grid.north - (row + 0.5) * grid.cell;
      const top = () => [west + across(a, b) * grid.cell, north];
      const right = () => [west + grid.cell, north - across(b, c) * grid.cell];
      const low = () => [west + across(d, c) * grid.cell, north - grid.cell];
      const left = () => [west, north - across(a, d) * grid.cell];
      const pairs = {
        1: [left, top], 2: [top, right], 3: [left, right], 4: [right, low], 6: [top, low], 7: [left, low],
        8: [low, left], 9: [low, top], 11: [low, right], 12: [right, left], 13: [right, top], 14: [top, left],
      };
      if (which === 5 || which === 10) {
        const middle = (a + b + c + d) / 4 >= level;
        const joined = (which === 5) === middle;
        pieces.push(joined ? [left(), low()] : [left(), top()], joined ? [top(), right()] : [right(), low()]);
      } else {
        pieces.push(pairs[which].map((edge) => edge()));
      }
    }
  }
  return siteplan.joined(pieces);
};

/* Join segments that share an end, so that a contour is a few paths and not thousands. */
siteplan.joined = function (pieces) {
  const key = (point) => Math.round(point[0] * 1e4) + "," + Math.round(point[1] * 1e4);
  const ends = new Map();
  pieces.forEach((piece, index) => {
    for (const point of piece) {
      const known = ends.get(key(point));
      if (known) known.push(index);
      else ends.set(key(point), [index]);
    }
  });
  const used = new Uint8Array(pieces.length);
  const grow = (line) => {
    for (;;) {
      const last = key(line[line.length - 1]);
      const next = (ends.get(last) || []).find((index) => !used[index]);
      if (next === undefined) return line;
      used[next] = 1;
      const [start, end] = pieces[next];
      line.push(key(start) === last ? end : start);
    }
  };
  const lines = [];
  for (let index = 0; index < pieces.length; index++) {
    if (used[index]) continue;
    used[index] = 1;
    const forward = grow(pieces[index].slice());
    lines.push(grow(forward.reverse()));
  }
  return lines;
};
