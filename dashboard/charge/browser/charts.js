// The traces of superheat and subcooling with their targets, marks and forecast, and the compressor's amps.
// Time runs in minutes from now: what matters while waiting is how long ago and how long yet.

import { fill, place, ticks } from "../../shared/browser/writing.js";

const GAP_S = 5; // as dashboard/ring.py has it
const LABEL_PX = 64; // two lines of text with the axis below the chart
const FLAG_PX = 28;
const FLAG_PADDING_PX = 10;
const CHARACTER_PX = 9;
const LETTER_PX = 7.5; // of a forecast's label
const LINE_PX = 20;
const TICK_PX = 26; // what the label of a tick takes, with room to the next
const TICK_WIDTH_PX = 56;
const MARGIN_PX = { l: 32, r: 4, t: 4, b: 28 };
const HIGH_PX = 200; // from which a chart has room for two rows of flags

/** @typedef {[string, Forecast]} Ahead */
/**
 * @typedef {object} View
 * @property {Series} series
 * @property {About | null} about
 * @property {Marks | null} marks
 * @property {number | null} now
 * @property {number} minutes
 * @property {Record<string, Band> | undefined} target
 * @property {Ahead[]} forecasts
 * @property {number} age
 * @property {number} end
 * @property {number | null} [pointed] Where a lead points.
 */

/**
 * Whether packs came between two frames that the page did not get one by one.
 * @param {Frame | null} before
 * @param {Frame} now
 */
export const missed = (before, now) =>
  before !== null && before.sequence !== null && now.sequence !== null && now.sequence > before.sequence + 1;

// The past as fetched, in bins of lowest and highest, and after it what came live.
export class Series {
  /** @param {string[]} names */
  constructor(names) {
    this.names = names;
    /** @type {(number | null)[]} */
    this.times = [];
    /** @type {Record<string, (number | null)[]>} */
    this.values = Object.fromEntries(names.map((name) => [name, []]));
    /** @type {{ time: number, values: Record<string, Sample> }[]} */
    this.live = [];
    this.livePoints = 0;
    /** @type {[number, number][]} */
    this.missing = [];
    /** @type {number | null} */
    this.until = null;
    /** @type {number | null} */
    this.newest = null;
  }

  /** @param {Frame} frame */
  add(frame) {
    this.live.push({ time: frame.time, values: frame.values });
    this.livePoints += 1;
    this.newest = frame.time;
  }

  /** @param {Past} past */
  replace(past) {
    this.times = past.times.flatMap((time) => [time, time]);
    for (const name of this.names) {
      const column = past.values[name];
      this.values[name] = past.times.flatMap((_, bin) => [column?.low[bin] ?? null, column?.high[bin] ?? null]);
    }
    this.missing = past.missing;
    this.until = past.time;
    this.live = this.live.filter((point) => past.time === null || point.time > past.time);
    this.newest ??= past.time;
  }

  // x in minutes from now, y in the reader's unit; null breaks the line.
  /**
   * @param {string} name
   * @param {number} now
   * @returns {Points}
   */
  points(name, now) {
    const x = this.times.map((time) => (time === null ? null : (time - now) / 60));
    const y = [...(this.values[name] ?? [])];
    let last = this.until;
    for (const { time, values } of this.live) {
      if (last !== null && time - last > GAP_S) {
        x.push(null); // no line is drawn through what was not received
        y.push(null);
      }
      last = time;
      const sample = values[name];
      x.push((time - now) / 60);
      y.push(sample && ["ok", "uncalibrated"].includes(sample[3]) ? sample[0] : null);
    }
    return { x, y };
  }
}

/** @param {string} name */
const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();
const weight = () => Number(colour("heavy")) || 1;

/**
 * @param {Points} points
 * @param {string} name
 * @param {string} dash
 */
function drawnLine(points, name, dash) {
  return {
    ...points,
    type: "scatter",
    mode: "lines",
    connectgaps: false,
    hoverinfo: "skip",
    showlegend: false,
    line: { color: colour(name), width: 2.4 * weight(), dash, simplify: true },
  };
}

const config = { displayModeBar: false, responsive: false, staticPlot: true };

// Add to what is drawn: the forecasts, how old the advice is [min], and how far ahead both charts reach [min]: far enough
// for the labels, which would else lie on what was just measured, and at most two fifths of the past.
/**
 * @template {{ advice: Advice | null, minutes: number, now: number | null, silent: boolean, width: number }} Given
 * @param {Given} view
 */
export function withForecasts(view) {
  const { advice, minutes, now, silent, width } = view;
  const known = silent ? [] : Object.entries(advice?.steadiness ?? {});
  /** @type {Ahead[]} */
  const forecasts = known.flatMap(([name, { forecast }]) => (forecast?.cone.length ? [[name, forecast]] : []));
  const age = advice && now !== null ? Math.max(0, (now - advice.time) / 60) : 0;
  const ahead = Math.max(0, ...forecasts.map(([, forecast]) => forecast.seconds / 60 - age));
  const label = LETTER_PX * Math.max(0, ...forecasts.map(([, { end, ahead }]) => `${end} ${ahead}`.length));
  const labelled = (minutes * label) / Math.max(1, width - MARGIN_PX.l - MARGIN_PX.r - label);
  const end = forecasts.length
    ? Math.min(Math.max(ahead * 1.05, labelled, minutes * 0.2), minutes * 0.4)
    : minutes * 0.05;
  return { ...view, forecasts, age, end };
}

/**
 * @param {HTMLElement} holder
 * @param {View} view
 */
export function drawTraces(holder, view) {
  const { series, now, minutes, target, forecasts, age, end } = view;
  if (now === null || !holder.clientWidth) return;
  const lines = { superheat: series.points("superheat", now), subcooling: series.points("subcooling", now) };
  const bands = Object.entries(target ?? {});
  const shown = [
    ...Object.values(lines).flatMap((points) => visible(points, minutes)),
    ...bands.flatMap(([, band]) => [band.low, band.high]),
    ...forecasts.map(([, forecast]) => endOf(forecast)[2]),
  ];
  const rows = holder.clientHeight >= HIGH_PX ? 2 : 1;
  const flags = placeFlags(flagged(view), { pixelsPerMinute: holder.clientWidth / (minutes + end), minutes, rows });
  const deepest = Math.max(0, ...flags.map(({ row }) => row));
  const range = steadyRange(shown, 5, headroom(FLAG_PX * (deepest + 1), holder.clientHeight));
  const traces = [
    drawnLine(lines.superheat, "low", "dash"),
    drawnLine(lines.subcooling, "high", "solid"),
    ...forecasts.flatMap((entry) => cone(entry, age)),
  ];
  const layout = frame(holder, { minutes, end, range });
  const holes = missingHere(series, now, minutes);
  const shapes = [
    ...bands.flatMap(([name, band]) => bandShape(name, band)),
    ...holes.map(holeShape),
    ...markLines(view),
    ...pointedLine(view),
    nowLine(),
  ];
  const annotations = [...flags.map(flagLabel), ...coneLabels(forecasts, end, range, LABEL_PX / holder.clientHeight)];
  Plotly.react(holder, traces, { ...layout, shapes, annotations }, config);
  place("not-received").hidden = !holes.length;
  for (const name of ["superheat", "subcooling"]) fill(`target-${name}`, targetText(target?.[name]));
}

// Which moment stands at a place of the traces, by the rig's clock; nothing is pointed at in the future.
/**
 * @param {number} x From the left edge [px].
 * @param {number} width
 * @param {{ now: number | null, minutes: number, end: number }} span
 */
export function momentAt(x, width, { now, minutes, end }) {
  if (now === null) return null;
  const share = (x - MARGIN_PX.l) / (width - MARGIN_PX.l - MARGIN_PX.r);
  const ahead = Math.max(-minutes, share * (minutes + end) - minutes);
  return ahead > 0 ? null : Math.round(10 * (now + 60 * ahead)) / 10;
}

// Where a lead points, before the note about it is sent.
/** @param {View} view */
const pointedLine = ({ pointed, now }) =>
  pointed == null || now === null
    ? []
    : [
        {
          ...nowLine(),
          x0: (pointed - now) / 60,
          x1: (pointed - now) / 60,
          line: { color: colour("note"), width: 3 * weight() },
        },
      ];

/**
 * @param {HTMLElement} holder
 * @param {View} view
 */
export function drawAmps(holder, view) {
  const { series, now, minutes, about, end } = view;
  if (now === null || !holder.clientWidth) return;
  const compressor = series.points("compressor_current", now);
  const rla = about?.limits.compressor_current;
  const shown = [...visible(compressor, minutes), ...(rla ? [rla] : [])];
  const [, high] = steadyRange(shown, 2, 0);
  const range = steadyRange(shown, 2, rla ? headroom(LINE_PX, holder.clientHeight) : 0);
  const layout = frame(holder, { minutes, end, range, values: [0, wholeStep(high)] });
  const holes = missingHere(series, now, minutes).map(holeShape);
  const shapes = [...holes, ...markLines(view), nowLine(), ...(rla ? [ratedLine(rla)] : [])];
  const annotations = rla ? [ratedLabel(rla)] : [];
  const xaxis = { ...layout.xaxis, showticklabels: false }; // the traces above have the same times
  Plotly.react(holder, [drawnLine(compressor, "ink", "solid")], { ...layout, xaxis, shapes, annotations }, config);
}

/**
 * @param {Points} points
 * @param {number} minutes
 */
const visible = ({ x, y }, minutes) =>
  y.flatMap((value, index) => (value !== null && (x[index] ?? -Infinity) >= -minutes ? [value] : []));

/** @param {number} rla */
function ratedLine(rla) {
  return {
    type: "line",
    xref: "paper",
    x0: 0,
    x1: 1,
    y0: rla,
    y1: rla,
    line: { color: colour("high"), width: 1.5 * weight(), dash: "longdash" },
  };
}

// Above its line: below it runs what is measured.
/** @param {number} rla */
function ratedLabel(rla) {
  return {
    xref: "paper",
    x: 0,
    xanchor: "left",
    y: rla,
    yanchor: "bottom",
    showarrow: false,
    text: `RLA ${rla.toFixed(1)} A`,
    font: { size: 16, color: colour("high"), weight: 650 },
  };
}

// --- the frame of a chart

// The largest of 1, 2, 5, 10, 20... within: the one tick besides zero that a low chart has room for.
/** @param {number} high */
export function wholeStep(high) {
  const ten = 10 ** Math.floor(Math.log10(high));
  return ten * (high >= 5 * ten ? 5 : high >= 2 * ten ? 2 : 1);
}

/**
 * @param {HTMLElement} holder
 * @param {{ minutes: number, end: number, range: number[], values?: number[] }} view
 */
function frame(holder, { minutes, end, range, values }) {
  const step = minutes <= 20 ? 5 : minutes <= 60 ? 15 : 60;
  const half = (TICK_WIDTH_PX * (minutes + end)) / holder.clientWidth / 2; // a label that would be cut has no tick either
  const ticked = ticks(-minutes, end - half, step);
  const axis = { fixedrange: true, showline: false, zeroline: false, tickfont: { size: 16, color: colour("muted") } };
  return {
    width: holder.clientWidth,
    height: holder.clientHeight,
    margin: MARGIN_PX,
    paper_bgcolor: "rgba(0,0,0,0)",
    plot_bgcolor: "rgba(0,0,0,0)",
    font: { family: "Inter, system-ui, sans-serif", color: colour("ink") },
    showlegend: false,
    dragmode: false,
    hovermode: false,
    xaxis: {
      ...axis,
      ticks: "outside",
      ticklen: 5,
      tickcolor: colour("muted"),
      range: [-minutes, end],
      showgrid: false,
      tickvals: ticked,
      ticktext: ticked.map((at) => tickText(at, minutes)),
    },
    yaxis: {
      ...axis,
      ticks: "",
      range,
      ...(values ? { tickvals: values } : { nticks: mostTicks(holder.clientHeight) }),
      gridcolor: colour("faint"),
      gridwidth: 1,
    },
  };
}

// As many ticks as have room for their labels: a high header leaves little of a chart.
/** @param {number} height */
export const mostTicks = (height) =>
  Math.min(6, Math.max(2, Math.floor((height - MARGIN_PX.t - MARGIN_PX.b) / TICK_PX)));

/**
 * @param {number} at
 * @param {number} minutes
 */
export function tickText(at, minutes) {
  if (at === 0) return "now";
  const size = minutes > 60 ? `${Math.abs(at) / 60} h` : `${Math.abs(at)} min`;
  return at < 0 ? `−${size}` : `+${size}`;
}

// The share of the plot that so many pixels at its head take: of what its margins leave, and never more than half.
/**
 * @param {number} pixels
 * @param {number} height
 */
export const headroom = (pixels, height) => pixels / Math.max(height - MARGIN_PX.t - MARGIN_PX.b, 2 * pixels);

// Whole steps, so that the axis stands still while figures move; `headroom` is the share of the height that stays free for flags.
/**
 * @param {number[]} values
 * @param {number} step
 * @param {number} headroom
 * @returns {[number, number]}
 */
export function steadyRange(values, step, headroom) {
  if (!values.length) return [0, 4 * step];
  const low = Math.min(0, step * Math.floor(Math.min(...values) / step));
  const high = Math.max(step * Math.ceil((Math.max(...values) + 0.2) / step), low + 2 * step);
  return [low, low + (high - low) / (1 - headroom)];
}

// --- targets, marks, now, forecast

/** @param {string} name */
export const sideOf = (name) => (name === "superheat" ? "low" : "high");

/**
 * @param {string} name
 * @param {Band} band
 */
function bandShape(name, band) {
  const across = { xref: "paper", x0: 0, x1: 1, layer: "below" };
  const edge = (/** @type {number} */ y) => ({
    ...across,
    type: "line",
    y0: y,
    y1: y,
    line: { color: colour(sideOf(name)), width: weight(), dash: "dot" },
  });
  return [
    {
      ...across,
      type: "rect",
      y0: band.low,
      y1: band.high,
      fillcolor: colour(sideOf(name)),
      opacity: 0.1,
      line: { width: 0 },
    },
    edge(band.low),
    edge(band.high),
  ];
}

// The targets stand in the key above the chart, where they cover no trace.
/** @param {Band | undefined} band */
export const targetText = (band) => (band ? `target ${band.value.toFixed(1)}` : "");

// Stretches in view that the record has and this page has not, in minutes from now.
/**
 * @param {Series} series
 * @param {number} now
 * @param {number} minutes
 * @returns {[number, number][]}
 */
export const missingHere = (series, now, minutes) =>
  series.missing.flatMap(([from, to]) => {
    /** @type {[number, number]} */
    const hole = [Math.max((from - now) / 60, -minutes), (to - now) / 60];
    return hole[1] > -minutes ? [hole] : [];
  });

/** @param {[number, number]} hole */
const holeShape = ([x0, x1]) => ({
  type: "rect",
  x0,
  x1,
  yref: "paper",
  y0: 0,
  y1: 1,
  layer: "below",
  fillcolor: colour("faint"),
  line: { color: colour("muted"), width: weight(), dash: "dot" },
});

const nowLine = () => ({
  type: "line",
  x0: 0,
  x1: 0,
  yref: "paper",
  y0: 0,
  y1: 1,
  line: { color: colour("muted"), width: weight() },
});

// The marks in view. An amount that was corrected keeps its flag where it was moved, with what it really was.
/**
 * @param {Pick<View, "marks" | "now" | "minutes">} view
 * @returns {Flag[]}
 */
export function flagged({ marks, now, minutes }) {
  return (marks?.marks ?? [])
    .filter((mark) => ["added", "recovered", "correction", "reading", "note"].includes(mark.kind) && mark.holds)
    .map((mark) => ({
      label: mark.holds,
      at: (mark.at - (now ?? 0)) / 60,
      heavy: mark.kind === "added" || mark.kind === "recovered",
    }))
    .filter((mark) => mark.at >= -minutes);
}

/** @param {View} view */
function markLines(view) {
  return flagged(view).map(({ at, heavy }) => ({
    type: "line",
    x0: at,
    x1: at,
    yref: "paper",
    y0: 0,
    y1: 1,
    line: { color: colour(heavy ? "care" : "muted"), width: (heavy ? 1.6 : 1) * weight(), dash: "dot" },
  }));
}

/**
 * @typedef {{ at: number, label: string, heavy: boolean }} Flag
 * @typedef {{ left: number, right: number, row: number, text: string, flag: Flag, more: number, room: Room }} Placed
 * @typedef {{ pixelsPerMinute: number, minutes: number, rows: number }} Room
 */

// Flags hang at the head of the chart, leave the future to forecasts, and cover each other nowhere. What was moved
// comes before notes and readings, the newest first, each in the highest row that has room; one without room is counted.
/**
 * @param {Flag[]} flags
 * @param {Room} room
 */
export function placeFlags(flags, room) {
  /** @type {Placed[]} */
  const placed = [];
  for (const flag of [...flags].sort((a, b) => Number(b.heavy) - Number(a.heavy) || b.at - a.at)) {
    const tried = Array.from({ length: room.rows }, (_, row) => boxed(flag, 0, row, room));
    const found = tried.find((it) => isClear(it, placed));
    if (found) placed.push(found);
    else count(flag, placed, room);
  }
  return placed;
}

/**
 * @param {Placed} it
 * @param {Placed[]} others
 */
const isClear = (it, others) =>
  others.every((other) => other.row !== it.row || it.right < other.left || it.left > other.right);

/**
 * @param {Flag} flag
 * @param {number} more
 * @param {number} row
 * @param {Room} room
 * @returns {Placed}
 */
function boxed(flag, more, row, room) {
  const text = more ? `${flag.label}, ${more} mark${more > 1 ? "s" : ""}` : flag.label;
  const length = text.length * CHARACTER_PX + FLAG_PADDING_PX;
  const right = Math.max((flag.at + room.minutes) * room.pixelsPerMinute, length);
  return { left: right - length, right, row, text, flag, more, room };
}

// One more that has no flag of its own: at the nearest flag that stays clear of the others when it says so, a note or a
// reading rather at one of its own sort, which may take in others of them, than at an amount.
/**
 * @param {Flag} flag
 * @param {Placed[]} placed
 * @param {Room} room
 */
function count(flag, placed, room) {
  const far = (/** @type {Placed} */ it) => Math.abs(it.flag.at - flag.at);
  const unlike = (/** @type {Placed} */ it) => Number(it.flag.heavy !== flag.heavy);
  const near = [...placed].sort((a, b) => unlike(a) - unlike(b) || far(a) - far(b));
  const ways = near.map((it) => {
    const longer = boxed(it.flag, it.more + 1, it.row, room);
    const light = placed.filter((other) => other !== it && !it.flag.heavy && !other.flag.heavy);
    const covered = light.filter((other) => !isClear(longer, [other]));
    const more = covered.reduce((sum, other) => sum + 1 + other.more, longer.more);
    const rest = placed.filter((other) => other !== it && !covered.includes(other));
    return { box: boxed(it.flag, more, it.row, room), rest };
  });
  const way = ways.find(({ box, rest }) => isClear(box, rest)) ?? ways.at(-1);
  if (way) placed.splice(0, placed.length, ...way.rest, way.box);
}

/** @param {Placed} placed */
function flagLabel({ right, row, text, flag: { heavy }, room }) {
  return {
    x: right / room.pixelsPerMinute - room.minutes,
    xanchor: "right",
    yref: "paper",
    y: 1,
    yanchor: "top",
    yshift: -row * FLAG_PX,
    text,
    showarrow: false,
    borderpad: 3,
    bgcolor: colour(heavy ? "care" : "panel"),
    bordercolor: colour(heavy ? "care" : "muted"),
    font: { size: 16, color: colour(heavy ? "panel" : "muted"), weight: 650 },
  };
}

/**
 * @param {Ahead} ahead
 * @param {number} age
 */
function cone([name, forecast], age) {
  const shade = colour(sideOf(name));
  const x = forecast.cone.map(([seconds]) => seconds / 60 - age);
  const edge = { x, type: "scatter", mode: "lines", hoverinfo: "skip", showlegend: false };
  return [
    { ...edge, y: forecast.cone.map(([, low]) => low), line: { width: 0 } },
    {
      ...edge,
      y: forecast.cone.map(([, , , high]) => high),
      line: { width: 0 },
      fill: "tonexty",
      fillcolor: transparent(shade, 0.22),
    },
    {
      ...edge,
      y: forecast.cone.map(([, , middle]) => middle),
      line: { color: shade, width: 1.8 * weight(), dash: "dot" },
    },
  ];
}

/**
 * @param {Forecast} forecast
 * @returns {Forecast["cone"][number]}
 */
const endOf = (forecast) => forecast.cone.at(-1) ?? [0, 0, 0, 0];

// Where the labels of one or two forecasts stand: each on the side away from the other and within the chart, whatever
// their cones, and none upon the other; in a chart too low for that each has one line.
/**
 * @param {Forecast["cone"]} ends
 * @param {[number, number]} range
 * @param {number} share
 */
export function labelPlaces(ends, [bottom, top], share) {
  const lines = ends.length * share > 1 ? 1 : 2;
  const room = (share * (top - bottom) * lines) / 2;
  const highest = ends.reduce((best, it, index) => (it[2] > ends[best][2] ? index : best), 0);
  const within = (/** @type {number} */ y, /** @type {number} */ least, /** @type {number} */ most) =>
    Math.max(least, Math.min(y, most));
  const least = bottom + (ends.length > 1 ? room : 0);
  const upper = ends.length ? within(ends[highest][3], least, top - room) : 0;
  return ends.map(([, low], index) => {
    const above = index === highest;
    return { above, lines, room, y: above ? upper : within(low, bottom + room, upper) };
  });
}

// At the right edge.
/**
 * @param {Ahead[]} forecasts
 * @param {number} end
 * @param {[number, number]} range
 * @param {number} share
 */
function coneLabels(forecasts, end, range, share) {
  const places = labelPlaces(
    forecasts.map(([, forecast]) => endOf(forecast)),
    range,
    share,
  );
  return forecasts.map(([name, forecast], index) => {
    const { y, above, lines } = places[index];
    return {
      x: end,
      xanchor: "right",
      y,
      yanchor: above ? "bottom" : "top",
      showarrow: false,
      text: [forecast.end, forecast.ahead].join(lines > 1 ? "<br>" : " "),
      align: "right",
      bgcolor: transparent(colour("panel"), 0.75),
      font: { size: 16, color: colour(sideOf(name)), weight: 750 },
    };
  });
}

/**
 * @param {string} hex
 * @param {number} alpha
 */
function transparent(hex, alpha) {
  const [red, green, blue] = [1, 3, 5].map((at) => parseInt(hex.slice(at, at + 2), 16));
  return `rgba(${red},${green},${blue},${alpha})`;
}
