/* How are a length and an area said in her units? Pure: numbers in, words out. */

/** Metres in a unit, by its sign; `sft` is the US survey foot. @type {Record<string, number>} */
export const METRES = { m: 1, dm: 0.1, cm: 0.01, mm: 0.001, km: 1000, ft: 0.3048, in: 0.0254, yd: 0.9144, sft: 1200 / 3937 };
/** Units whose lengths are told in feet and inches. */
const FEET = new Set(["ft", "yd", "sft"]);
/** @param {string} unit */
const isOfFeet = (unit) => FEET.has(unit) || unit === "in";

/**
 * Return the length in the unit of the drawing, as a tape reads it.
 * @param {number} metres
 * @param {string} unit
 */
export function lengthText(metres, unit) {
  const sign = metres < 0 ? "-" : "";
  const size = Math.abs(metres);
  if (FEET.has(unit)) return sign + feetText(size);
  if (unit === "in") return sign + eighthsText(Math.round((size / METRES.in) * 8)) + " in";
  if (unit === "cm") return sign + trimmed(size * 100, 1) + " cm";
  if (unit === "mm") return sign + trimmed(size * 1000, 0) + " mm";
  return sign + size.toFixed(2) + " m";
}

/** @param {number} metres */
function feetText(metres) {
  const eighths = Math.round((metres / METRES.in) * 8);
  const feet = Math.floor(eighths / 96);
  const rest = eighths - feet * 96;
  if (!feet) return eighthsText(rest) + " in";
  return rest ? `${feet} ft ${eighthsText(rest)} in` : `${feet} ft`;
}

/** @param {number} eighths */
function eighthsText(eighths) {
  const whole = Math.floor(eighths / 8);
  let [top, low] = [eighths - whole * 8, 8];
  while (top && top % 2 === 0) [top, low] = [top / 2, low / 2];
  if (!top) return String(whole);
  return whole ? `${whole} ${top}/${low}` : `${top}/${low}`;
}

/**
 * @param {number} value
 * @param {number} places
 */
function trimmed(value, places) {
  return String(Number(value.toFixed(places)));
}

/**
 * Return an area in square feet or square metres.
 * @param {number} squareMetres
 * @param {string} unit
 */
export function areaText(squareMetres, unit) {
  if (isOfFeet(unit)) {
    const feet = squareMetres / 0.3048 ** 2;
    return `${feet.toLocaleString("en-US", { maximumFractionDigits: feet < 100 ? 1 : 0 })} sq ft`;
  }
  return `${squareMetres.toLocaleString("en-US", { maximumFractionDigits: squareMetres < 100 ? 1 : 0 })} m²`;
}

/**
 * Return a length as a property holds it: a number with its unit, in the unit of the drawing.
 * @param {number} metres
 * @param {string} unit
 */
export function lengthValue(metres, unit) {
  const places = Math.max(0, Math.ceil(Math.log10(METRES[unit] * 1000))); // to a millimetre
  return `${Number((metres / METRES[unit]).toFixed(places))} ${unit}`;
}

/** The step of the cursor: something that she would pace or measure. @param {string} unit */
export function cursorStep(unit) {
  return isOfFeet(unit) ? METRES.ft : 0.25;
}
