// The charging page's ruler, reduced to what a glance takes in: one axis of temperature, on its lower edge the gap from dew
// point to suction line, on its upper edge that from liquid line to bubble point, each with its figure and its target.

import { escaped, number, tickedAt, ticks } from "../../shared/browser/writing.js";

/** @typedef {import("./cards.js").Ruler} Ruler */

const HEIGHT = 92;
const PAD = 6;
const TOP = 42;
const BOTTOM = 52;
const STEP = 10;
const SIDES = {
  high: { gap: "subcooling", name: "Subcooling", from: "liquid_line_temperature", to: "liquid_bubble_point", away: -1 },
  low: { gap: "superheat", name: "Superheat", from: "suction_dew_point", to: "suction_line_temperature", away: 1 },
};

/**
 * What a gap says in words: its figure with its ±, its target, and a tick where it has settled.
 * @param {Ruler} ruler
 * @param {keyof typeof SIDES} edge
 */
export function gapText({ values, unit, targets, steadiness }, edge) {
  const { gap, name } = SIDES[edge];
  const [value, plusMinus] = values[gap] ?? [null, null];
  if (value === null) return `${name} –`;
  const spread = plusMinus === null ? "" : ` ± ${number(plusMinus, 1)}`;
  const target = targets[gap] === undefined ? "" : ` of ${number(targets[gap], 1)}`;
  return `${name} ${number(value, 1)}${spread} ${unit}${target}${steadiness[gap] === "settled" ? " ✓" : ""}`;
}

/**
 * @param {Ruler} ruler
 * @param {number} width
 */
export function smallRuler(ruler, width) {
  const marks = Object.values(SIDES).flatMap(({ from, to }) => [ruler.values[from]?.[0], ruler.values[to]?.[0]]);
  const known = marks.filter((value) => value != null);
  const texts = `${text(PAD, BOTTOM + 35, gapText(ruler, "low"), "start")}${text(PAD, 16, gapText(ruler, "high"), "start")}`;
  const said = `${gapText(ruler, "high")}. ${gapText(ruler, "low")}.`;
  const low = STEP * Math.floor(Math.min(...known) / STEP);
  const high = STEP * Math.ceil(Math.max(...known) / STEP);
  const at = (/** @type {number} */ value) => PAD + ((value - low) / (high - low || 1)) * (width - 2 * PAD);
  const drawn = known.length ? [axis(low, high, at), side(ruler, "high", at), side(ruler, "low", at)].join("") : "";
  return `<svg viewBox="0 0 ${width} ${HEIGHT}" height="${HEIGHT}" width="${width}" role="img" aria-label="${said}">${drawn}${texts}</svg>`;
}

/**
 * @param {number} low
 * @param {number} high
 * @param {(value: number) => number} at
 */
function axis(low, high, at) {
  const [left, right] = [at(low), at(high)];
  const step = STEP * tickedAt((high - low) / STEP);
  const drawn = ticks(low, high, step).map(
    (value) => `<path d="M${at(value).toFixed(1)},${TOP} V${BOTTOM}" stroke="var(--muted)" stroke-width="1"/>`,
  );
  return `<rect x="${left}" y="${TOP}" width="${right - left}" height="${BOTTOM - TOP}" fill="var(--ground)" stroke="var(--ink)" stroke-width="1.5"/>${drawn.join("")}`;
}

// The gap as a bracket, solid along the edge that it is read from, and its target as a ghost that it grows into.
/**
 * @param {Ruler} ruler
 * @param {keyof typeof SIDES} edge
 * @param {(value: number) => number} at
 */
function side({ values, targets }, edge, at) {
  const { gap, from, to, away } = SIDES[edge];
  const colour = `var(--${edge})`;
  const base = edge === "high" ? TOP : BOTTOM;
  const [start, end] = [values[from]?.[0], values[to]?.[0]];
  if (start == null || end == null) return "";
  const target = targets[gap];
  const fixed = edge === "high" ? end : start;
  const ghost =
    target === undefined
      ? ""
      : bracket(
          at(fixed),
          at(fixed - away * -target),
          base + away * 13,
          away,
          "var(--muted)",
          '2" stroke-dasharray="5 4',
        );
  return bracket(at(start), at(end), base + away * 7, away, colour, "4") + ghost;
}

/**
 * @param {number} x1
 * @param {number} x2
 * @param {number} y
 * @param {number} away
 * @param {string} colour
 * @param {string} width
 */
const bracket = (x1, x2, y, away, colour, width) =>
  `<path d="M${x1.toFixed(1)},${y - away * 6} V${y} H${x2.toFixed(1)} V${y - away * 6}" fill="none" stroke="${colour}" stroke-width="${width}"/>`;

/**
 * @param {number} x
 * @param {number} y
 * @param {string} content
 * @param {string} anchor
 */
const text = (x, y, content, anchor) =>
  `<text x="${x}" y="${y}" text-anchor="${anchor}" font-size="16" font-weight="650" style="fill:var(--ink)">${escaped(content)}</text>`;
