// The temperature ruler: one axis that carries what the physics relates. On its lower edge the dew point of the
// suction pressure and the suction line, on its upper edge the bubble point of the liquid pressure and the liquid
// line; the gaps are superheat and subcooling. All numbers come in the reader's units; here they are only placed.

import { agedText, figure, plusMinus } from "./writing.js";

const WIDE = { height: 318, big: 58, name: 17, small: 14, tick: 13, pad: 16, top: 60, axisTop: 142, axisBottom: 172 };
const NARROW = { height: 306, big: 44, name: 15, small: 13, tick: 12, pad: 10, top: 50, axisTop: 132, axisBottom: 160 };
const STEP = 5; // the ends of the axis lie on multiples of this, so that it stands still while figures move

const SIDES = {
  high: {
    colour: "var(--high)", word: "High side", pressure: "liquid_pressure", gap: "subcooling",
    from: { name: "liquid_line_temperature", word: "liquid line" }, to: { name: "liquid_bubble_point", word: "bubble point" },
    anchor: "to", // subcooling hangs from the bubble point: its ghost ends there
  },
  low: {
    colour: "var(--low)", word: "Low side", pressure: "suction_pressure", gap: "superheat",
    from: { name: "suction_dew_point", word: "dew point" }, to: { name: "suction_line_temperature", word: "suction line" },
    anchor: "from",
  },
};
const AIR = [
  { name: "supply_air_temperature", word: "supply", edge: "low" },
  { name: "return_air_temperature", word: "return", edge: "low" },
  { name: "outdoor_air_temperature", word: "outdoor", edge: "high" },
];

let domain = null; // [low, high, unit]: kept between frames while everything still fits

export function drawRuler(holder, { read, about, advice, silent }) {
  const width = holder.clientWidth;
  if (!width) return;
  const size = width >= 560 ? WIDE : NARROW;
  const marks = Object.fromEntries(
    [...Object.values(SIDES).flatMap((side) => [side.from, side.to]), ...AIR].map(({ name }) => [name, read(name)]),
  );
  const scale = makeScale(width, size, Object.values(marks).filter((mark) => mark?.value != null));
  const parts = [defs(), axis(scale, size, width)];
  for (const air of AIR) parts.push(airTick(marks[air.name], air, scale, size));
  for (const edge of ["high", "low"]) {
    parts.push(drawSide(edge, { read, marks, scale, size, width, silent, about, steadiness: advice?.steadiness }));
  }
  holder.innerHTML = `<svg viewBox="0 0 ${width} ${size.height}" height="${size.height}" role="img"
    aria-label="Temperature ruler. The figures are in the summary and the table of instruments.">${parts.join("")}</svg>`;
}

// --- scale

function makeScale(width, size, marks) {
  const unit = marks[0]?.unit ?? "";
  const values = marks.map((mark) => mark.value);
  const least = values.length ? Math.min(...values) : 30;
  const most = values.length ? Math.max(...values) : 120;
  const margin = (most - least || 10) * (width >= 560 ? 0.13 : 0.2); // room for the labels beside the outermost marks
  const wanted = [STEP * Math.floor((least - margin) / STEP), STEP * Math.ceil((most + margin) / STEP)];
  const fits = domain && domain[2] === unit && domain[0] <= least - margin * 0.6 && domain[1] >= most + margin * 0.6;
  const snug = fits && domain[1] - domain[0] <= 1.25 * (wanted[1] - wanted[0]);
  if (!snug) domain = [...wanted, unit];
  const [low, high] = domain;
  const start = size.pad;
  const end = width - size.pad;
  const at = (value) => start + ((value - low) / (high - low)) * (end - start);
  return { low, high, unit, at, length: (value) => (value / (high - low)) * (end - start) };
}

// --- drawing

const heavy = () => Number(getComputedStyle(document.documentElement).getPropertyValue("--heavy")) || 1;
const text = (x, y, content, { size, weight = 500, anchor = "start", fill = "var(--ink)", halo = true }) =>
  `<text x="${x.toFixed(1)}" y="${y}" font-size="${size}" font-weight="${weight}" text-anchor="${anchor}" style="fill:${fill}"${halo ? ' class="halo"' : ""}>${escape(content)}</text>`;
const line = (x1, y1, x2, y2, stroke, width, extra = "") =>
  `<line x1="${x1.toFixed(1)}" y1="${y1}" x2="${x2.toFixed(1)}" y2="${y2}" stroke="${stroke}" stroke-width="${width * heavy()}" ${extra}/>`;
const escape = (content) => String(content).replace(/[&<>]/g, (sign) => ({ "&": "&amp;", "<": "&lt;", ">": "&gt;" })[sign]);

function defs() {
  const fade = (id, colour) =>
    `<linearGradient id="${id}"><stop offset="0" stop-color="${colour}" stop-opacity="0"/>
     <stop offset=".5" stop-color="${colour}" stop-opacity=".5"/><stop offset="1" stop-color="${colour}" stop-opacity="0"/></linearGradient>`;
  return `<defs>${fade("soft-high", "var(--high)")}${fade("soft-low", "var(--low)")}</defs>`;
}

function axis(scale, size, width) {
  const { axisTop, axisBottom } = size;
  const every = scale.high - scale.low > 60 && width < 560 ? 20 : 10;
  const small = width < 560 ? 5 : scale.high - scale.low > 60 ? 2 : 1;
  const parts = [
    `<rect x="${size.pad}" y="${axisTop}" width="${width - 2 * size.pad}" height="${axisBottom - axisTop}" fill="var(--ground)"/>`,
  ];
  for (let value = Math.ceil(scale.low / small) * small; value <= scale.high; value += small) {
    const main = value % 10 === 0;
    const length = main ? 8 : value % 5 === 0 ? 6 : 4;
    const x = scale.at(value);
    parts.push(line(x, axisTop, x, axisTop + length, "var(--ink)", main ? 1.5 : 0.75));
    parts.push(line(x, axisBottom, x, axisBottom - length, "var(--ink)", main ? 1.5 : 0.75));
    const inside = x > size.pad + 12 && x < width - size.pad - 12;
    if (value % every === 0 && inside) {
      const y = (axisTop + axisBottom) / 2 + size.tick * 0.36;
      parts.push(text(x, y, value, { size: size.tick, weight: 600, anchor: "middle", fill: "var(--muted)", halo: false }));
    }
  }
  parts.push(line(size.pad, axisTop, width - size.pad, axisTop, "var(--ink)", 2));
  parts.push(line(size.pad, axisBottom, width - size.pad, axisBottom, "var(--ink)", 2));
  return parts.join("");
}

function airTick(mark, { word, edge }, scale, size) {
  if (mark?.value == null) return "";
  const x = scale.at(mark.value);
  const high = edge === "high";
  const y = high ? size.axisTop - 1 : size.axisBottom + 1;
  const tip = high ? -9 : 9;
  const label = `${word} ${figure(mark)}${mark.old ? `, ${agedText(mark.age)} old` : ""}`;
  const fill = mark.old ? "none" : "var(--muted)";
  return (
    `<path d="M${x.toFixed(1)},${y} l-5,${tip} h10 z" fill="${fill}" stroke="var(--muted)" stroke-width="1.5"/>` +
    text(x - 9, y + (high ? -3 : 13), label, { size: size.small, anchor: "end", fill: "var(--muted)" })
  );
}

function drawSide(edge, view) {
  const side = SIDES[edge];
  const { read, marks, scale, size, width } = view;
  const from = marks[side.from.name];
  const to = marks[side.to.name];
  const gap = read(side.gap);
  const target = view.about?.limits.targets[side.gap];
  const row = rows(edge, size);
  const parts = [pressure(edge, read(side.pressure), size, width)];
  if (from?.value != null) parts.push(stem(edge, from, side.from.word, "end", view, row));
  if (to?.value != null) parts.push(stem(edge, to, side.to.word, "start", view, row));
  const fixed = side.anchor === "to" ? to : from;
  if (target && fixed?.value != null) {
    const other = side.anchor === "to" ? fixed.value - target.value : fixed.value + target.value;
    parts.push(bracket(scale.at(fixed.value), scale.at(other), row.ghost, row.out, "var(--muted)", 2, 'stroke-dasharray="5 4"'));
  }
  if (from?.value != null && to?.value != null) {
    const dash = gap?.old || view.silent ? 'stroke-dasharray="2 3"' : "";
    parts.push(bracket(scale.at(from.value), scale.at(to.value), row.bracket, row.out, side.colour, 3.5, dash));
  }
  const middle = from?.value != null && to?.value != null ? (scale.at(from.value) + scale.at(to.value)) / 2 : null;
  parts.push(numberBlock(edge, gap, target, middle, view));
  return parts.join("");
}

// The heights of a side's parts, outwards from the axis; `out` is the direction of the legs towards the axis.
function rows(edge, { axisTop, axisBottom }) {
  const away = (distance) => (edge === "high" ? axisTop - distance : axisBottom + distance);
  return { axis: away(0), stem: away(40), label: edge === "high" ? away(28) : away(37), bracket: away(48), ghost: away(61), out: edge === "high" ? 8 : -8 };
}

function bracket(x1, x2, y, legs, stroke, width, extra = "") {
  return `<path d="M${x1.toFixed(1)},${y + legs} V${y} H${x2.toFixed(1)} V${y + legs}" fill="none" stroke="${stroke}" stroke-width="${width * heavy()}" stroke-linejoin="round" ${extra}/>`;
}

function stem(edge, mark, word, side, { scale, size, silent, width }, row) {
  const { colour } = SIDES[edge];
  const x = scale.at(mark.value);
  const old = mark.old || silent;
  const parts = [];
  if (mark.plusMinus != null) {
    const half = Math.max(scale.length(mark.plusMinus), 3);
    const top = Math.min(row.axis, row.stem);
    parts.push(`<rect x="${(x - half).toFixed(1)}" y="${top}" width="${(2 * half).toFixed(1)}" height="${Math.abs(row.axis - row.stem)}" fill="url(#soft-${edge})"/>`);
  }
  parts.push(line(x, row.axis, x, row.stem, colour, old ? 2 : 4, old ? 'stroke-dasharray="3 3" opacity=".6"' : ""));
  const age = old && mark.age > 1 ? `, ${agedText(mark.age)} old` : "";
  const wanted = side === "end" ? x - 8 : x + 8;
  parts.push(text(wanted, row.label, `${word} ${figure(mark)}${age}`, { size: size.small, weight: 600, anchor: side, fill: old ? "var(--muted)" : "var(--ink)" }));
  return parts.join("");
}

function pressure(edge, reading, size, width) {
  const side = SIDES[edge];
  const high = edge === "high";
  const x = high ? size.pad : width - size.pad;
  const y = high ? 24 : size.height - 34;
  const anchor = high ? "start" : "end";
  const value = reading?.value != null ? `${figure(reading)} ${reading.unit}` : "–";
  const old = reading?.old ? `, ${agedText(reading.age)} old` : "";
  return (
    text(x, y, side.word, { size: size.small, weight: 700, anchor, fill: side.colour }) +
    text(x, y + 22, value + old, { size: size.name + 3, weight: 700, anchor, fill: reading?.old ? "var(--muted)" : "var(--ink)" })
  );
}

// The large number with its name, its ± and how it stands, centred on its bracket as far as the page allows.
function numberBlock(edge, gap, target, middle, { size, width, steadiness, silent }) {
  const side = SIDES[edge];
  const shown = figure(gap);
  const old = !gap || gap.old || silent;
  const numberWidth = shown.length * size.big * 0.6;
  const blockWidth = numberWidth + 10 + size.name * 8.5;
  const least = edge === "high" ? size.pad + (width >= 560 ? 150 : 96) : size.pad;
  const most = width - size.pad - blockWidth - (edge === "low" ? (width >= 560 ? 140 : 96) : 0);
  const x = Math.min(Math.max((middle ?? width / 2) - numberWidth / 2, least), Math.max(most, least));
  const baseline = edge === "high" ? size.top : size.height - 18;
  const beside = x + numberWidth + 10;
  const word = steadiness?.[side.gap]?.word ?? "";
  const state = gap?.value == null ? gap?.reason || "unknown" : gap.old ? `${agedText(gap.age)} old` : word;
  const aim = target ? `target ${target.value.toFixed(1)}` : "";
  const lineHeight = size.name + 3;
  return [
    text(x, baseline, shown, { size: size.big, weight: 750, fill: old ? "var(--muted)" : "var(--ink)" }),
    text(beside, baseline - 2 * lineHeight + 2, side.gap[0].toUpperCase() + side.gap.slice(1), { size: size.name, weight: 750, fill: side.colour }),
    text(beside, baseline - lineHeight + 2, `${plusMinus(gap)} ${gap?.unit ?? ""}`, { size: size.name, weight: 650 }),
    text(beside, baseline + 1, [state, aim].filter(Boolean).join(" · "), { size: size.small, weight: 550, fill: "var(--muted)" }),
  ].join("");
}
