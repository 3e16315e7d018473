/* Is what she types read as she means it? By hand: feet of 0.3048 m and inches of 0.0254 m, as defined since 1959. */

import assert from "node:assert/strict";
import { test } from "node:test";
import { typedAngle, typedCorner, typedLength, typedSize } from "../../siteplan/draw/page/typed.js";
import { areaText, lengthText, lengthValue } from "../../siteplan/draw/page/units.js";

const near = (/** @type {number} */ found, /** @type {number} */ wanted) => assert.ok(Math.abs(found - wanted) < 1e-12, `${found} is not ${wanted}`);

test("lengths as a tape gives them", () => {
  const known = [
    ["12 ft 6 in", 3.81], ["12' 6\"", 3.81], ["12′6″", 3.81], ["12ft6in", 3.81], ["12 ft 6", 3.81], ["12 feet, 6 inches", 3.81], ["150 in", 3.81],
    ["12.5 ft", 3.81], ["12 1/2 ft", 3.81], ["5' 3 3/4\"", 5 * 0.3048 + 3.75 * 0.0254], ["1/2 in", 0.0127], ["3.81 m", 3.81], ["3,81 m", 3.81], ["381 cm", 3.81],
    ["3 m 81 cm", 3.81], ["3810 mm", 3.81], ["2 yd", 1.8288], ["90", 90 * 0.3048], [".5", 0.1524], ["-3 ft", -0.9144],
  ];
  for (const [text, metres] of known) near(typedLength(String(text), "ft"), Number(metres));
  near(typedLength("90", "m"), 90);
  near(typedLength("90", "cm"), 0.9);
});

test("what is no length is told in words", () => {
  for (const text of ["", "abc", "12 stone", "6 in 12 ft", "12 ft 6 in 3", "3 m 4", "1/0 in", "12 ft <90", "NaN", "1e5", "0x10"]) {
    assert.throws(() => typedLength(text, "ft"), /no length|no unit|No length|no order|without a unit|divides/, text);
  }
});

test("a corner: a length, a direction, a turn, or two of them", () => {
  assert.deepEqual(typedCorner("<45", "ft"), { length: null, direction: 45, turn: null });
  assert.deepEqual(typedCorner("10 m <-90°", "ft"), { length: 10, direction: -90, turn: null });
  assert.deepEqual(typedCorner("10 m left", "ft"), { length: 10, direction: null, turn: -90 });
  assert.deepEqual(typedCorner("10m right 30", "ft"), { length: 10, direction: null, turn: 30 });
  assert.deepEqual(typedCorner("2 m", "ft"), { length: 2, direction: null, turn: null });
  for (const text of ["", "<", "<ninety", "<400", "0", "-3 ft <9", "10 ft <90 <80"]) assert.throws(() => typedCorner(text, "ft"), Error, text);
});

test("a size, and an angle", () => {
  assert.deepEqual(typedSize("8 m x 4 m", "ft"), [8, 4]);
  assert.deepEqual(typedSize("8 by 4", "m"), [8, 4]);
  assert.equal(typedSize("8 m", "ft"), null);
  assert.throws(() => typedSize("8 m x 0", "ft"), /no length/);
  assert.equal(typedAngle("12.5"), 12.5);
  assert.throws(() => typedAngle("about 12"));
});

test("lengths and areas are said as a tape reads them", () => {
  const known = [[3.81, "ft", "12 ft 6 in"], [0.3048, "ft", "1 ft"], [0.0254, "ft", "1 in"], [0.30479, "ft", "1 ft"], [5 * 0.3048 + 3.75 * 0.0254, "ft", "5 ft 3 3/4 in"],
    [3.81, "m", "3.81 m"], [3.81, "cm", "381 cm"], [3.81, "mm", "3810 mm"], [0.0127, "in", "1/2 in"], [-0.3048, "ft", "-1 ft"], [0, "ft", "0 in"]];
  for (const [metres, unit, words] of known) assert.equal(lengthText(Number(metres), String(unit)), words);
  assert.equal(areaText(9.290304, "ft"), "100 sq ft");
  assert.equal(areaText(12.34, "m"), "12.3 m²");
  assert.equal(lengthValue(3.81, "ft"), "12.5 ft");
});

test("every length that is said is read back within a sixteenth of an inch, or half a centimetre", () => {
  for (let metres = 0.01; metres < 60; metres += 0.0937) {
    for (const [unit, off] of /** @type {[string, number][]} */ ([["ft", 0.0254 / 16], ["in", 0.0254 / 16], ["m", 0.005], ["cm", 0.0005], ["mm", 0.0005]])) {
      assert.ok(Math.abs(typedLength(lengthText(metres, unit), unit) - metres) <= off + 1e-12, `${metres} ${unit}`);
    }
  }
});
