// The strokes of a signature: points, each as a share of the field, from its upper left corner.

const WIDE = 3; // times as wide as high
const MOST_POINTS = 1_200;
export const MOST_STROKES = 40;
const APART = 0.004; // of the width: nearer points are one
const ROUNDED = 1_000;

/** @typedef {[number, number][]} Stroke */

// As it is kept in a draft: points "x,y" with spaces between, strokes with bars.
/** @param {Stroke[]} strokes */
export const kept = (strokes) => strokes.map((stroke) => stroke.map((point) => point.join(",")).join(" ")).join("|");

/**
 * @param {string} text
 * @returns {Stroke[]}
 */
export const strokesOf = (text) =>
  text
    .split("|")
    .filter(Boolean)
    .map((stroke) => stroke.split(" ").map((point) => /** @type {[number, number]} */ (point.split(",").map(Number))));

// A point of the field, rounded, and never beyond its edge.
/**
 * @param {number} x
 * @param {number} y
 * @returns {[number, number]}
 */
export const inField = (x, y) => {
  const [across, down] = [x, y].map((share) => Math.round(Math.min(Math.max(share, 0), 1) * ROUNDED) / ROUNDED);
  return [across ?? 0, down ?? 0];
};

// Add a point to the last stroke, unless it is as good as where that ends, or there are enough of them.
/**
 * @param {Stroke[]} strokes
 * @param {[number, number]} point
 */
export function goesOn(strokes, point) {
  const stroke = strokes.at(-1);
  const last = stroke?.at(-1);
  if (!stroke || strokes.reduce((count, each) => count + each.length, 0) >= MOST_POINTS) return;
  if (!last || Math.hypot(point[0] - last[0], (point[1] - last[1]) / WIDE) >= APART) stroke.push(point);
}
