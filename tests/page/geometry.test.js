/* Do lengths, areas, tapes and closures agree with their closed forms? */

import assert from "node:assert/strict";
import { test } from "node:test";
import { misclosure, spread } from "../../siteplan/draw/page/closure.js";
import { apart, boxOf, centre, circleOf, crossing, directionOf, heading, inside, isRectangle, mirrored, nearestOn, parallelTo, rectangleOn, resized, signedArea, sides, turned } from "../../siteplan/draw/page/geometry.js";
import { metresOf } from "../../siteplan/draw/page/reading.js";
import { holdAt, known } from "../../siteplan/draw/page/snaps.js";
import { tapedSpots } from "../../siteplan/draw/page/tapes.js";
import { back, squareTo, through } from "../../siteplan/draw/page/warp.js";

/** @typedef {[number, number]} Point */
/** @param {number[]} found @param {number[]} wanted @param {number} [within] */
const near = (found, wanted, within = 1e-9) => assert.ok(found.length === wanted.length && found.every((value, index) => Math.abs(value - wanted[index]) <= within), `${found} is not ${wanted}`);
/** @type {Point[]} */
const SQUARE = [[0, 0], [4, 0], [4, 3], [0, 3]];

test("directions run clockwise from up, as a compass", () => {
  near([directionOf([0, 0], [0, 1]), directionOf([0, 0], [1, 0]), directionOf([0, 0], [0, -1]), directionOf([0, 0], [-1, 0])], [0, 90, 180, 270]);
  near(heading(90), [1, 0]);
  near(turned([1, 0], [0, 0], 90), [0, -1]);
});

test("area and centre of a ring", () => {
  near([signedArea(SQUARE), signedArea([...SQUARE].reverse())], [12, -12]);
  near(centre(SQUARE), [2, 1.5]);
  near(centre([[0, 0], [3, 0], [0, 3]]), [1, 1]); // a third of the way along each side
  near([signedArea(SQUARE.map(([x, y]) => [x + 5e5, y + 5e6]))], [12], 1e-6); // far from zero as well
});

test("a circle has the area of a circle, and strays by a centimetre at most", () => {
  for (const radius of [0.2, 1, 5, 20]) {
    const ring = circleOf([3, 4], radius);
    near([signedArea(ring)], [Math.PI * radius ** 2], 1e-9 * radius ** 2);
    assert.ok(ring.every((point) => Math.abs(apart(point, [3, 4]) - radius) < 0.012 + radius * 0.002));
  }
});

test("rectangles by two corners and by three points", () => {
  near(boxOf([1, 2], [4, 6]).flat(), [1, 2, 4, 2, 4, 6, 1, 6]);
  near(rectangleOn([0, 0], [3, 4], [-4, 3]).flat(), [0, 0, 3, 4, -1, 7, -4, 3]);
  near(rectangleOn([0, 0], [3, 4], [4, -3]).flat(), [0, 0, 3, 4, 7, 1, 4, -3]);
});

test("mirror, crossing, foot, inside", () => {
  near(mirrored([2, 0], [0, 0], [1, 1]), [0, 2]);
  near(/** @type {Point} */ (crossing([0, 0], [1, 1], [4, 0], [-1, 1])), [2, 2]);
  assert.equal(crossing([0, 0], [1, 0], [0, 1], [2, 0]), null);
  near(nearestOn([2, 5], [0, 0], [4, 0]).point, [2, 0]);
  near(nearestOn([9, 5], [0, 0], [4, 0]).point, [4, 0]);
  assert.ok(inside([1, 1], SQUARE) && !inside([5, 1], SQUARE));
});

test("a parallel lies so far beside, with square corners", () => {
  near(parallelTo([[0, 0], [0, 10]], 2, false).flat(), [2, 0, 2, 10]); // to the right of the way up
  near(parallelTo(SQUARE, 1, true).flat(), [-1, -1, 5, -1, 5, 4, -1, 4]); // to the right of a way round to the left: outside
  near(parallelTo([[0, 0], [4, 0], [4, 4]], 1, false).flat(), [0, -1, 5, -1, 5, 4]);
});

test("two tapes: the triangle of 3, 4, 5", () => {
  const [left, right] = tapedSpots([0, 0], 3, [5, 0], 4);
  near(left, [1.8, 2.4]); // 3 * 3 / 5 along, 3 * 4 / 5 up
  near(right, [1.8, -2.4]);
  assert.equal(tapedSpots([0, 0], 2, [5, 0], 3).length, 1);
  for (const [a, b, words] of /** @type {[number, number, RegExp][]} */ ([[1, 2, /too short/], [9, 2, /too long/], [0, 5, /longer than nothing/]])) assert.throws(() => tapedSpots([0, 0], a, [5, 0], b), words);
  assert.throws(() => tapedSpots([1, 1], 3, [1, 1], 4), /one point/);
});

test("two tapes find every spot again, wherever the known points lie", () => {
  for (let turn = 0; turn < 360; turn += 7) {
    const [a, b] = [turned([2, 1], [0, 0], turn), turned([9, 4], [0, 0], turn)];
    const spot = turned([5, 11], [0, 0], turn);
    const found = tapedSpots(a, apart(a, spot), b, apart(b, spot));
    assert.ok(found.some((one) => apart(one, spot) < 1e-9));
  }
});

test("the compass rule closes the way, and leaves one that closes as it is", () => {
  /** @type {Point[]} */
  const way = [[0, 0], [10, 0], [10, 10], [0.2, 10], [0.1, 0.3]];
  const { gap, metres, length } = misclosure(way);
  near(gap, [0.1, 0.3]);
  near([metres], [Math.hypot(0.1, 0.3)]);
  const ring = spread(way);
  const share = 10 / length;
  near(ring[1], [10 - 0.1 * share, -0.3 * share]);
  near(ring[0], [0, 0]);
  // what the rule means: the sides, each corrected by its share, come back to the start
  const last = sides(way, false).at(-1);
  assert.ok(last && apart(ring[0], [way[4][0] - gap[0], way[4][1] - gap[1]]) < 1e-12);
  near(spread([[0, 0], [4, 0], [4, 3], [0, 0]]).flat(), [0, 0, 4, 0, 4, 3]);
});

test("snaps: a corner before a middle before an edge; square and parallel from the last corner", () => {
  const all = known([{ points: SQUARE, closed: true }]);
  const none = { from: null, first: null, before: null, direction: null };
  assert.equal(holdAt([4.1, 3.1], all, none, 0.3).words, "corner");
  assert.equal(holdAt([2.1, -0.1], all, none, 0.3).words, "middle of a side");
  near(holdAt([1, 0.2], all, none, 0.3).point, [1, 0]);
  assert.equal(holdAt([9, 9], all, none, 0.3).words, "");
  /** @type {[Point, Point]} */
  const before = [[10, 10], [13, 14]];
  const held = holdAt([9.1, 17.05], all, { from: [13, 14], first: null, before, direction: null }, 0.3);
  assert.equal(held.words, "right angle");
  near([(held.point[0] - 13) * 3 + (held.point[1] - 14) * 4], [0]); // square to the side before
  const level = holdAt([20.1, 9.9], all, { from: [20, 20], first: [10, 10], before: [[10, 20], [20, 20]], direction: null }, 0.3);
  near(level.point, [20, 10]);
  const along = holdAt([15, 3], all, { from: [10, 0], first: null, before: null, direction: 45 }, 0.3);
  near(along.point, [14, 4]);
});

test("a picture's four corners: the map there and back, and that of a plain rectangle", () => {
  /** @type {Point[]} */
  const corners = [[1, 9], [8, 10], [9, 2], [0, 0]];
  const map = squareTo(corners);
  [[0, 0], [1, 0], [1, 1], [0, 1]].forEach((one, index) => near(through(map, /** @type {Point} */ (one)), corners[index]));
  for (const one of /** @type {Point[]} */ ([[0.2, 0.7], [0.5, 0.5], [0.9, 0.1]])) near(back(map, through(map, one)), one);
  near(through(squareTo([[0, 4], [6, 4], [6, 0], [0, 0]]), [0.5, 0.25]), [3, 3]);
});

test("a length of the file, with or without how far off it may be; without a unit it is in that of the drawing", () => {
  const feet = { plain: 0.3048, renaming: {}, north: null };
  const known = [["24 ft", 7.3152], ["24 ft +- 2 ft", 7.3152], ["3 m ± 10 %", 3], [20, 6.096], ["20", 6.096], ["20 ± 2", 6.096], ["1 1/2", 0.4572], [".5", 0.1524], ["6 1/2 in", 0.1651], ["12 ft 6", 3.81]];
  for (const [held, metres] of known) near([Number(metresOf(held, feet))], [Number(metres)]);
  for (const held of ["tall", undefined, null, true, "", "1,2,3"]) assert.equal(metresOf(held, feet), null);
});

test("a rectangle stays one when a corner is moved", () => {
  /** @type {Point[]} */
  const slanted = [[0, 0], [4, 3], [1, 7], [-3, 4]]; // sides of 5, square to each other
  assert.ok(isRectangle(slanted) && !isRectangle([[0, 0], [4, 0], [4, 3], [0, 4]]));
  const made = resized(slanted, 2, [2, 14]); // far corner to (2, 14): 10 along (4, 3) / 5 is 10, 10 along (-3, 4) / 5
  assert.ok(isRectangle(made));
  near(made.flat(), [0, 0, 8, 6, 2, 14, -6, 8]);
});
