// The temperature ruler: one axis that carries what the physics relates. On its lower edge the dew point of the
// suction pressure and the suction line, on its upper edge the bubble point of the liquid pressure and the liquid
// line; the gaps are superheat and subcooling. All numbers come in the reader's units; here they are only placed.

import { targetsNow } from "../../shared/browser/heard.js";
import { agedText, figure, IN_DOUBT, plusMinus, tickedAt, ticks } from "../../shared/browser/writing.js";

/** @typedef {"high" | "low"} Edge */
/** @typedef {typeof WIDE} Size */
/** @typedef {{ low: number, high: number, unit: string }} Domain */
/** @typedef {Domain & { at: (value: number) => number, length: (value: number) => number }} Scale */
/** @typedef {{ size: number, weight?: number, anchor?: string, fill?: string, halo?: boolean, figure?: string }} Style */
/** @typedef {[string, { size: number, weight: number, fill?: string }]} Line */
/** @typedef {ReturnType<typeof rows>} Row */
/**
 * @typedef {object} View
 * @property {Read} read
 * @property {Record<string, Reading | null>} marks
 * @property {Scale} scale
 * @property {Size} size
 * @property {number} width
 * @property {boolean} narrow
 * @property {boolean} silent
 * @property {Record<string, Band>} targets
 * @property {Record<string, Steadiness> | undefined} steadiness
 * @property {Record<string, string>} doubts
 * @property {boolean} stopped Whether an alarm stands.
 */

const WIDE = {
  height: 300,
  big: 60,
  name: 18,
  small: 16,
  pressure: 27,
  tick: 16,
  pad: 16,
  number: 60,
  axisTop: 134,
  axisBottom: 164,
};
const NARROW = {
  height: 284,
  big: 46,
  name: 16,
  small: 14,
  pressure: 21,
  tick: 13,
  pad: 12,
  number: 50,
  axisTop: 124,
  axisBottom: 152,
};
const NARROW_BELOW_PX = 560;
const STEP = 5; // the ends of the axis lie on multiples of this, so that it stands still while figures move
const AWAY = "Not of this circuit";
const LABEL_GAP = 8;
const STEM_PX = 34;

/** @satisfies {Record<Edge, object>} */
const SIDES = {
  high: {
    colour: "var(--high)",
    word: "High side",
    pressure: "liquid_pressure",
    gap: "subcooling",
    from: { name: "liquid_line_temperature", word: "liquid line", short: "liquid" },
    to: { name: "liquid_bubble_point", word: "bubble point", short: "bubble" },
    anchor: "to", // subcooling hangs from the bubble point: its target does too
  },
  low: {
    colour: "var(--low)",
    word: "Low side",
    pressure: "suction_pressure",
    gap: "superheat",
    from: { name: "suction_dew_point", word: "dew point", short: "dew" },
    to: { name: "suction_line_temperature", word: "suction line", short: "suction" },
    anchor: "from",
  },
};
/** @type {{ name: string, word: string, edge: Edge }[]} */
const AIR = [
  { name: "supply_air_temperature", word: "supply", edge: "low" },
  { name: "return_air_temperature", word: "return", edge: "low" },
  { name: "outdoor_air_temperature", word: "outdoor", edge: "high" },
];

// Symbols that stand before the words, 13 px wide about the middle of a line.
/** @type {Record<string, string>} */
const SIGNS = {
  settled: '<path d="M1,0 l4,5 l8,-11" stroke="var(--good)"/>',
  settling:
    '<path d="M1,3 h0.01 M6.5,3 h0.01 M12,3 h0.01" stroke="var(--muted)" stroke-width="4" stroke-linecap="round"/>',
  in_doubt: '<path d="M2,-3 q0,-4 4,-4 t4,4 q0,2 -4,4 v2 M6,6 v0.01" stroke="var(--care)" stroke-linecap="round"/>',
  not_steady: '<path d="M0,0 q3.25,-9 6.5,0 t6.5,0" stroke="var(--care)"/>',
};

// A figure that has settled at what to stop for is no good news.
/** @type {(state: string | undefined, stopped: boolean) => string} */
export const signOf = (state, stopped) => {
  const sign = SIGNS[state ?? ""] ?? "";
  return stopped ? sign.replace("var(--good)", "var(--ink)") : sign;
};

let heavy = 1; // how much heavier the theme at hand draws its strokes
/** @type {Domain | null} */
let domain = null; // { low, high, unit }: kept between frames while everything still fits

// What a probe reads on another circuit has no place beside the figures of this one.
/** @type {(reading: Reading | null) => Reading | null} */
export const ofThisCircuit = (reading) => (reading?.quality === "elsewhere" ? { ...reading, value: null } : reading);

/**
 * @param {HTMLElement} holder
 * @param {{ read: Read, about: About | null, advice: Advice | null, doubts: Record<string, string>, silent: boolean }} given
 */
export function drawRuler(holder, { read, about, advice, doubts, silent }) {
  const width = holder.clientWidth;
  if (!width) return;
  heavy = Number(getComputedStyle(holder).getPropertyValue("--heavy"));
  const narrow = width < NARROW_BELOW_PX;
  const size = narrow ? NARROW : WIDE;
  const names = [
    ...Object.values(SIDES).flatMap((side) => [side.from.name, side.to.name]),
    ...AIR.map(({ name }) => name),
  ];
  const marks = Object.fromEntries(names.map((name) => [name, ofThisCircuit(read(name))]));
  const values = Object.values(marks).flatMap((mark) => mark?.value ?? []);
  const unit = Object.values(marks).find((mark) => mark)?.unit ?? "";
  const scale = makeScale(width, size, values, unit, narrow);
  const stopped = !!advice?.alarms.length;
  const { steadiness } = advice ?? {};
  const targets = targetsNow(about, advice);
  const view = { read, marks, scale, size, width, narrow, silent, targets, steadiness, doubts, stopped };
  const parts = [
    defs(),
    axisBody(view),
    gapFill("high", view),
    gapFill("low", view),
    axisTicks(view),
    airTicks(view),
    drawSide("high", view),
    drawSide("low", view),
  ];
  holder.innerHTML = `<svg viewBox="0 0 ${width} ${size.height}" height="${size.height}" role="img"
    aria-label="Temperature ruler. Its figures are in the summary and in the table of instruments.">${parts.join("")}</svg>`;
}

// --- scale

// Room beside the outermost marks for their labels decides how much of the width is left for degrees.
/**
 * @param {number} width
 * @param {Size} size
 * @param {number[]} values
 * @param {string} unit
 * @param {boolean} narrow
 * @returns {Scale}
 */
function makeScale(width, size, values, unit, narrow) {
  const least = values.length ? Math.min(...values) : 30;
  const most = values.length ? Math.max(...values) : 120;
  const left = measure(narrow ? "dew 100.0" : "dew point 100.0", size.small, 600) + LABEL_GAP;
  const right = measure(narrow ? "bubble 100.0" : "bubble point 100.0", size.small, 600) + LABEL_GAP;
  const inner = width - 2 * size.pad;
  const degrees = Math.max(most - least, 10) / (inner - left - right);
  const wanted = {
    low: STEP * Math.floor((least - left * degrees) / STEP),
    high: STEP * Math.ceil((most + right * degrees) / STEP),
    unit,
  };
  const along = (/** @type {Domain} */ ends, /** @type {number} */ value) =>
    size.pad + ((value - ends.low) / (ends.high - ends.low)) * inner;
  const kept =
    domain !== null &&
    domain.unit === unit &&
    along(domain, least) - left >= size.pad &&
    along(domain, most) + right <= width - size.pad &&
    domain.high - domain.low <= 1.25 * (wanted.high - wanted.low);
  const ends = kept && domain ? domain : wanted;
  domain = ends;
  return {
    ...ends,
    at: (value) => along(ends, value),
    length: (value) => (value / (ends.high - ends.low)) * inner,
  };
}

/** @type {CanvasRenderingContext2D | null} */
let canvas = null; // made when it is first needed, so that the rest runs without a browser

// Figures are tabular on the page but not on a canvas: each counts as wide as a nought.
/**
 * @param {string} content
 * @param {number} size
 * @param {number} weight
 */
function measure(content, size, weight) {
  canvas ??= document.createElement("canvas").getContext("2d");
  if (!canvas) throw new Error("this browser measures no text");
  canvas.font = `${weight} ${size}px Inter, system-ui, sans-serif`;
  return canvas.measureText(content.replace(/\d/g, "0")).width;
}

// --- shapes

/** @param {string | number} content */
const escaped = (content) => String(content).replace(/[&<>]/g, (sign) => `&#${sign.charCodeAt(0)};`);

/**
 * @param {number} x
 * @param {number} y
 * @param {string | number} content
 * @param {Style} style
 */
function text(
  x,
  y,
  content,
  { size, weight = 500, anchor = "start", fill = "var(--ink)", halo = true, figure: shows },
) {
  return `<text${shows ? ` data-figure="${shows}"` : ""} x="${x.toFixed(1)}" y="${y}" font-size="${size}" font-weight="${weight}" text-anchor="${anchor}"
    style="fill:${fill}"${halo ? ' class="halo"' : ""}>${escaped(content)}</text>`;
}

/**
 * @param {number} x1
 * @param {number} y1
 * @param {number} x2
 * @param {number} y2
 * @param {string} stroke
 * @param {number} width
 * @param {string} extra
 */
function line(x1, y1, x2, y2, stroke, width, extra = "") {
  return `<line x1="${x1.toFixed(1)}" y1="${y1}" x2="${x2.toFixed(1)}" y2="${y2}" stroke="${stroke}" stroke-width="${width * heavy}" ${extra}/>`;
}

/**
 * @param {number} x1
 * @param {number} x2
 * @param {number} y
 * @param {number} legs
 * @param {string} stroke
 * @param {number} width
 * @param {string} extra
 */
function bracket(x1, x2, y, legs, stroke, width, extra = "") {
  return `<path d="M${x1.toFixed(1)},${y + legs} V${y} H${x2.toFixed(1)} V${y + legs}" fill="none" stroke="${stroke}" stroke-width="${width * heavy}" ${extra}/>`;
}

function defs() {
  const fade = (/** @type {string} */ id, /** @type {string} */ colour) =>
    `<linearGradient id="${id}"><stop offset="0" stop-color="${colour}" stop-opacity="0"/>
     <stop offset=".5" stop-color="${colour}" stop-opacity=".5"/><stop offset="1" stop-color="${colour}" stop-opacity="0"/></linearGradient>`;
  return `<defs>${fade("soft-high", "var(--high)")}${fade("soft-low", "var(--low)")}</defs>`;
}

// --- the axis

/** @param {View} view */
function axisBody({ size, width }) {
  const { pad, axisTop, axisBottom } = size;
  return `<rect x="${pad}" y="${axisTop}" width="${width - 2 * pad}" height="${axisBottom - axisTop}" fill="var(--ground)"/>`;
}

// The gap itself, laid along the edge of the ruler that it is read from.
/**
 * @param {Edge} edge
 * @param {View} view
 */
function gapFill(edge, { marks, scale, size }) {
  const side = SIDES[edge];
  const [from, to] = [marks[side.from.name], marks[side.to.name]];
  if (from?.value == null || to?.value == null) return "";
  const [x1, x2] = [scale.at(from.value), scale.at(to.value)].sort((a, b) => a - b);
  const thick = 9;
  const y = edge === "high" ? size.axisTop : size.axisBottom - thick;
  return `<rect x="${x1.toFixed(1)}" y="${y}" width="${(x2 - x1).toFixed(1)}" height="${thick}" fill="${side.colour}" opacity=".28"/>`;
}

/** @param {View} view */
function axisTicks({ scale, size, width, narrow }) {
  const { pad, axisTop, axisBottom } = size;
  const span = scale.high - scale.low;
  const numbered = narrow && span > 60 ? 20 : span > 30 ? 10 : 5;
  const finest = narrow ? 5 : span > 60 ? 2 : 1;
  const small = finest * tickedAt(span / finest);
  const parts = [];
  for (const value of ticks(scale.low, scale.high, small)) {
    const main = value % 10 === 0;
    const length = main ? 8 : value % 5 === 0 ? 6 : 4;
    const x = scale.at(value);
    parts.push(line(x, axisTop, x, axisTop + length, "var(--ink)", main ? 1.5 : 0.75));
    parts.push(line(x, axisBottom, x, axisBottom - length, "var(--ink)", main ? 1.5 : 0.75));
    if (value % numbered === 0 && x > pad + 12 && x < width - pad - 12) {
      const y = (axisTop + axisBottom) / 2 + size.tick * 0.36;
      parts.push(text(x, y, value, { size: size.tick, weight: 600, anchor: "middle", halo: false }));
    }
  }
  parts.push(line(pad, axisTop, width - pad, axisTop, "var(--ink)", 2));
  parts.push(line(pad, axisBottom, width - pad, axisBottom, "var(--ink)", 2));
  return parts.join("");
}

// Air temperatures are small ticks on the edge of the coil they belong to. A label goes to the side on which it
// covers neither a mark of the refrigerant nor another label, and is left out where there is no such side.
/** @param {View} view */
function airTicks({ marks, scale, size, width }) {
  const taken = { high: occupied("high", marks, scale), low: occupied("low", marks, scale) };
  return AIR.map(({ name, word, edge }) => {
    const mark = marks[name];
    if (mark?.value == null) return "";
    const x = scale.at(mark.value);
    const label = `${word} ${figure(mark)}${mark.old ? `, ${agedText(mark.age)} old` : ""}`;
    const length = measure(label, size.small, 500) + 10;
    /** @type {[number, number]} */
    const before = [x - length, x - 8];
    /** @type {[number, number]} */
    const after = [x + 8, x + length];
    const free = (/** @type {[number, number]} */ [start, end]) =>
      start >= size.pad && end <= width - size.pad && taken[edge].every(([a, b]) => b < start - 4 || a > end + 4);
    const high = edge === "high";
    const y = high ? size.axisTop - 1 : size.axisBottom + 1;
    const tick = `<path d="M${x.toFixed(1)},${y} l-5,${high ? -9 : 9} h10 z" fill="${mark.old ? "none" : "var(--muted)"}" stroke="var(--muted)" stroke-width="1.5"/>`;
    const box = [before, after].find(free);
    if (!box) return tick; // its figure is in the table
    taken[edge].push(box);
    const side = box === before ? { at: x - 9, anchor: "end" } : { at: x + 9, anchor: "start" };
    return (
      tick + text(side.at, y + (high ? -3 : 13), label, { size: size.small, anchor: side.anchor, fill: "var(--muted)" })
    );
  }).join("");
}

// Where no label may stand: the marks of the refrigerant and the ticks of the air.
/**
 * @param {Edge} edge
 * @param {Record<string, Reading | null>} marks
 * @param {Scale} scale
 * @returns {[number, number][]}
 */
function occupied(edge, marks, scale) {
  const { from, to } = SIDES[edge];
  const names = [from.name, to.name, ...AIR.filter((air) => air.edge === edge).map((air) => air.name)];
  return names.flatMap((name) => marks[name]?.value ?? []).map((value) => [scale.at(value) - 3, scale.at(value) + 3]);
}

// --- a side

// The heights of a side's parts, outwards from the axis; `legs` points back towards the axis.
/**
 * @param {Edge} edge
 * @param {Size} size
 */
function rows(edge, { axisTop, axisBottom }) {
  const high = edge === "high";
  const away = (/** @type {number} */ distance) => (high ? axisTop - distance : axisBottom + distance);
  return {
    axis: away(0),
    stem: away(STEM_PX),
    label: high ? away(23) : away(33),
    bracket: away(45),
    ghost: away(57),
    legs: high ? 7 : -7,
  };
}

/**
 * @param {Edge} edge
 * @param {View} view
 */
function drawSide(edge, view) {
  const side = SIDES[edge];
  const { read, marks, scale, size } = view;
  const [from, to] = [marks[side.from.name], marks[side.to.name]];
  const gap = read(side.gap);
  const target = view.targets[side.gap];
  const row = rows(edge, size);
  const aside = pressureLines(edge, view);
  const parts = [pressure(edge, aside, view)];
  const [low, high] = [from?.value ?? null, to?.value ?? null];
  const turned = low !== null && high !== null && low > high; // a negative gap: the labels change sides with the marks
  if (from && low !== null) parts.push(stem(edge, from, low, side.from, turned ? "start" : "end", view, row));
  if (to && high !== null) parts.push(stem(edge, to, high, side.to, turned ? "end" : "start", view, row));
  const fixed = side.anchor === "to" ? high : low;
  if (target && fixed !== null) {
    const other = side.anchor === "to" ? fixed - target.value : fixed + target.value;
    parts.push(ghost(edge, scale.at(fixed), scale.at(other), target, view, row));
  }
  const both = low === null || high === null ? null : [scale.at(low), scale.at(high)];
  const [start, end] = both ?? [0, 0];
  if (both) {
    const dash = gap?.old || view.silent || view.doubts[side.gap] ? 'stroke-dasharray="3 3"' : "";
    parts.push(bracket(start, end, row.bracket, row.legs, side.colour, 3.5, dash));
  }
  parts.push(numberBlock(edge, gap, both ? (start + end) / 2 : null, widest(aside), view));
  return parts.join("");
}

// The target as a ghost bracket, which the real one grows into.
/**
 * @param {Edge} edge
 * @param {number} fixed
 * @param {number} other
 * @param {Band} target
 * @param {View} view
 * @param {Row} row
 */
function ghost(edge, fixed, other, target, { size }, row) {
  const away = edge === "high" ? -6 : 6;
  return (
    bracket(fixed, other, row.ghost, row.legs, "var(--muted)", 2, 'stroke-dasharray="5 4"') +
    text(other + away, row.ghost + 4, `target ${target.value.toFixed(1)}`, {
      size: size.small,
      weight: 600,
      anchor: edge === "high" ? "end" : "start",
      fill: "var(--muted)",
    })
  );
}

/**
 * @param {Edge} edge
 * @param {Reading} mark
 * @param {number} value
 * @param {{ word: string, short: string }} words
 * @param {string} side
 * @param {View} view
 * @param {Row} row
 */
function stem(edge, mark, value, { word, short }, side, { scale, size, silent, narrow, doubts }, row) {
  const { colour } = SIDES[edge];
  const x = scale.at(value);
  const old = mark.old || silent || mark.name in doubts;
  const parts = [];
  if (mark.plusMinus != null) {
    const half = Math.max(scale.length(mark.plusMinus), 3);
    parts.push(
      `<rect x="${(x - half).toFixed(1)}" y="${Math.min(row.axis, row.stem)}" width="${(2 * half).toFixed(1)}" height="${STEM_PX}" fill="url(#soft-${edge})"/>`,
    );
  }
  parts.push(line(x, row.axis, x, row.stem, colour, old ? 2 : 4, old ? 'stroke-dasharray="3 3"' : ""));
  const label = `${narrow ? short : word} ${figure(mark)}`;
  parts.push(
    text(side === "end" ? x - LABEL_GAP : x + LABEL_GAP, row.label, label, {
      size: size.small,
      weight: 600,
      anchor: side,
      fill: old ? "var(--muted)" : "var(--ink)",
    }),
  );
  return parts.join("");
}

// The lines that tell a pressure; a word such as "gauge" goes below where the page is narrow.
/**
 * @param {Edge} edge
 * @param {View} view
 * @returns {Line[]}
 */
export function pressureLines(edge, { read, size, narrow, doubts }) {
  const side = SIDES[edge];
  const reading = read(side.pressure);
  const [unit, ...reference] = (reading?.unit ?? "").split(" ");
  const beside = narrow ? [unit] : [unit, ...reference];
  const doubt = side.pressure in doubts ? ["in doubt"] : [];
  const below = [
    ...(narrow ? reference : []),
    reading?.quality === "elsewhere" ? AWAY.toLowerCase() : "",
    reading?.old ? `${agedText(reading.age)} old` : plusMinus(reading),
    ...doubt,
  ];
  return [
    [side.word, { size: size.small, weight: 700, fill: side.colour }],
    [
      [figure(reading), ...beside].join(" "),
      {
        size: size.pressure,
        weight: 750,
        fill: reading?.old || reading?.quality === "elsewhere" ? "var(--muted)" : "var(--ink)",
      },
    ],
    [below.filter(Boolean).join(" "), { size: size.small, weight: 500, fill: "var(--muted)" }],
  ];
}

/**
 * @param {Edge} edge
 * @param {Line[]} lines
 * @param {View} view
 */
function pressure(edge, lines, { size, width }) {
  const high = edge === "high";
  const x = high ? size.pad : width - size.pad;
  const heights = [0, size.pressure + 1, size.pressure + size.small + 6];
  const y = high ? 26 : size.height - heights[2] - 13;
  return lines
    .map(([content, style], index) =>
      text(x, y + heights[index], content, { ...style, anchor: high ? "start" : "end" }),
    )
    .join("");
}

/** @param {Line[]} lines */
const widest = (lines) => Math.max(...lines.map(([content, style]) => measure(content, style.size, style.weight)));

// The large number with its name, its ± and how it stands, centred on its bracket as far as the page allows.
/**
 * @param {Edge} edge
 * @param {Reading | null} gap
 * @param {number | null} middle
 * @param {number} aside
 * @param {View} view
 */
function numberBlock(edge, gap, middle, aside, { size, width, steadiness, doubts, stopped, silent }) {
  const side = SIDES[edge];
  const shown = figure(gap);
  const old = !gap || gap.old || silent;
  const standing = side.gap in doubts ? "in_doubt" : (steadiness?.[side.gap]?.state ?? "");
  const word = side.gap in doubts ? IN_DOUBT : (steadiness?.[side.gap]?.word ?? "");
  const why = gap?.quality === "elsewhere" ? AWAY : gap?.reason; // the list below the ruler says it in full
  const state = gap?.value == null ? why || "unknown" : gap.old ? `${agedText(gap.age)} old` : word;
  /** @type {Line[]} */
  const lines = [
    [side.gap.slice(0, 1).toUpperCase() + side.gap.slice(1), { size: size.name, weight: 750, fill: side.colour }],
    [`${plusMinus(gap)} ${gap?.unit ?? ""}`, { size: size.name, weight: 650 }],
    [state, { size: size.small, weight: 600, fill: "var(--muted)" }],
  ];
  const sign = gap?.value != null && !old ? signOf(standing, stopped) : "";
  const signWidth = sign ? 18 : 0;
  const numberWidth = measure(shown, size.big, 750) + 12;
  const blockWidth =
    numberWidth +
    Math.max(
      ...lines.map(
        ([content, style], index) => measure(content, style.size, style.weight) + (index === 2 ? signWidth : 0),
      ),
    );
  const least = size.pad + (edge === "high" ? aside + 12 : 0);
  const most = width - size.pad - blockWidth - (edge === "low" ? aside + 12 : 0);
  const x = Math.max(least, Math.min((middle ?? width / 2) - numberWidth / 2, most));
  const baseline = edge === "high" ? size.number : size.height - (size.number - Math.round(size.big * 0.727));
  return (
    text(x, baseline, shown, {
      size: size.big,
      weight: 750,
      fill: old ? "var(--muted)" : "var(--ink)",
      figure: side.gap,
    }) +
    lines
      .map(([content, style], index) =>
        text(
          x + numberWidth + (index === 2 ? signWidth : 0),
          baseline - (2 - index) * (size.name + 2) + 4,
          content,
          style,
        ),
      )
      .join("") +
    (sign
      ? `<g transform="translate(${(x + numberWidth).toFixed(1)},${baseline - 1})" fill="none" stroke-width="2.4">${sign}</g>`
      : "")
  );
}
