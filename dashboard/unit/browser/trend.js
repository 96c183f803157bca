// How one figure of a part went over the visits: each reading with its ±, beside what its label says. Nothing is drawn
// between two readings but a thin line that leads the eye: nobody looked there.

import { day, escaped, number } from "../../shared/browser/writing.js";

/**
 * @typedef {object} Point
 * @property {number} time_s
 * @property {number} value
 * @property {number | null} plus_minus
 * @property {string} says
 * @property {boolean} is_right
 */

/**
 * @typedef {object} Trend
 * @property {string} title
 * @property {string} says
 * @property {Point[]} points
 * @property {number | null} label
 * @property {number | null} low
 * @property {number | null} high
 */

const HEIGHT = 150;
const TOP = 12;
const FOOT = 28; // below it stand the days
const LEFT = 64;
const RIGHT = 18;
const ROOM_SHARE = 0.12; // above the highest and below the lowest
const ARM = 6;
const APART = 16; // as far as two lines of text

/**
 * @param {Trend} trend
 * @param {number} width
 */
export function trendDrawing({ title, says, points, label, low, high }, width) {
  const reach = points.flatMap(({ value, plus_minus }) => [value - (plus_minus ?? 0), value + (plus_minus ?? 0)]);
  const all = [...reach, ...[label, low, high].filter((each) => each !== null)];
  const [least, most] = [Math.min(...all), Math.max(...all)];
  const room = (most - least || Math.abs(most) || 1) * ROOM_SHARE;
  const foot = HEIGHT - FOOT;
  const y = (/** @type {number} */ value) => foot - ((value - least + room) / (most - least + 2 * room)) * (foot - TOP);
  const [first, last] = [points[0].time_s, points[points.length - 1].time_s];
  const middle = (LEFT + width - RIGHT) / 2;
  const x = (/** @type {number} */ time_s) =>
    last > first ? LEFT + ((time_s - first) / (last - first)) * (width - LEFT - RIGHT) : middle;
  const drawn = [
    low === null || high === null ? "" : band(y(high), y(low), width),
    label === null ? "" : lineOf(y(label), width),
    ...scaleOf(label, points, y),
    path(points.map(({ time_s, value }) => [x(time_s), y(value)])),
    ...points.map((point) => mark(x(point.time_s), y, point)),
    text(last > first ? LEFT : middle, day(first), last > first ? "start" : "middle"),
    last > first ? text(width - RIGHT, day(last), "end") : "",
  ];
  const words = escaped(`${title}. ${says}`);
  return `<svg viewBox="0 0 ${width} ${HEIGHT}" height="${HEIGHT}" width="${width}" role="img" aria-label="${words}">${drawn.join("")}</svg>`;
}

/**
 * @param {number} top
 * @param {number} foot
 * @param {number} width
 */
const band = (top, foot, width) =>
  `<rect x="${LEFT}" y="${top.toFixed(1)}" width="${width - LEFT - RIGHT}" height="${(foot - top).toFixed(1)}" fill="var(--faint)"/>`;

/**
 * @param {number} y
 * @param {number} width
 */
const lineOf = (y, width) =>
  `<path d="M${LEFT},${y.toFixed(1)} H${width - RIGHT}" stroke="var(--ink)" stroke-width="1.5" stroke-dasharray="7 5"/>`;

// Beside the axis stand what its label says, and the newest reading where that is far enough from it to be read.
/**
 * @param {number | null} label
 * @param {Point[]} points
 * @param {(value: number) => number} y
 */
function scaleOf(label, points, y) {
  const newest = points[points.length - 1].value;
  const all = label === null ? [newest] : Math.abs(y(newest) - y(label)) < APART ? [label] : [label, newest];
  return all.map(
    (value) =>
      `<text x="${LEFT - 8}" y="${(y(value) + 5).toFixed(1)}" text-anchor="end" class="trend-text">${number(value, Math.abs(value) < 100 ? 1 : 0)}</text>`,
  );
}

/** @param {number[][]} at */
const path = (at) =>
  at.length < 2
    ? ""
    : `<path d="M${at.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join(" L")}" fill="none" stroke="var(--muted)" stroke-width="1"/>`;

/**
 * @param {number} x
 * @param {(value: number) => number} y
 * @param {Point} point
 */
function mark(x, y, { value, plus_minus, is_right }) {
  const colour = is_right ? "var(--ink)" : "var(--high)";
  const [top, foot] = [y(value + (plus_minus ?? 0)), y(value - (plus_minus ?? 0))];
  const arms =
    plus_minus === null
      ? ""
      : `<path d="M${x - ARM},${top.toFixed(1)} h${2 * ARM} M${x - ARM},${foot.toFixed(1)} h${2 * ARM} M${x},${top.toFixed(1)} V${foot.toFixed(1)}" stroke="${colour}" stroke-width="2"/>`;
  const shape = is_right
    ? `<circle cx="${x.toFixed(1)}" cy="${y(value).toFixed(1)}" r="5" fill="${colour}"/>`
    : `<path d="M${(x - 6).toFixed(1)},${(y(value) - 6).toFixed(1)} l12,12 m0,-12 l-12,12" stroke="${colour}" stroke-width="3"/>`;
  return arms + shape;
}

/**
 * @param {number} x
 * @param {string} content
 * @param {string} anchor
 */
const text = (x, content, anchor) =>
  `<text x="${x.toFixed(1)}" y="${HEIGHT - 6}" text-anchor="${anchor}" class="trend-text">${escaped(content)}</text>`;
