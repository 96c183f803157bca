// The traces of superheat and subcooling with their targets, marks and forecast, and the compressor's amps.
// Time runs in minutes from now: what matters while waiting is how long ago and how long yet.

const CLASH_PX = 125;
const LABEL_PX = 64; // two lines of text with the axis below the chart
const FLAG_PX = 25;
const CHARACTER_PX = 9;

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
    for (const { time, values } of this.live) {
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

// Add to what is drawn: the forecasts, how old the advice is [min], and how far ahead both charts reach [min].
/**
 * @template {{ advice: Advice | null, minutes: number, now: number | null, silent: boolean }} Given
 * @param {Given} view
 */
export function withForecasts(view) {
  const { advice, minutes, now, silent } = view;
  const known = silent ? [] : Object.entries(advice?.steadiness ?? {});
  /** @type {Ahead[]} */
  const forecasts = known.flatMap(([name, { forecast }]) => (forecast?.cone.length ? [[name, forecast]] : []));
  const age = advice && now !== null ? Math.max(0, (now - advice.time) / 60) : 0;
  const ahead = Math.max(0, ...forecasts.map(([, forecast]) => forecast.seconds / 60 - age));
  const end = forecasts.length ? Math.min(Math.max(ahead * 1.05, minutes * 0.2), minutes * 0.4) : minutes * 0.05;
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
  const range = steadyRange(shown, 5, FLAG_PX / holder.clientHeight);
  const traces = [
    drawnLine(lines.superheat, "low", "dash"),
    drawnLine(lines.subcooling, "high", "solid"),
    ...forecasts.flatMap((entry) => cone(entry, age)),
  ];
  const layout = frame(holder, { minutes, end, range });
  const shapes = [...bands.flatMap(([name, band]) => bandShape(name, band)), ...markLines(view), nowLine()];
  const annotations = [
    ...bands.map(([name, band]) => bandLabel(name, band)),
    ...markFlags(view, holder.clientWidth / (minutes + end)),
    ...coneLabels(forecasts, end, range, LABEL_PX / holder.clientHeight),
  ];
  Plotly.react(holder, traces, { ...layout, shapes, annotations }, config);
}

/**
 * @param {HTMLElement} holder
 * @param {View} view
 */
export function drawAmps(holder, view) {
  const { series, now, minutes, about, end } = view;
  if (now === null || !holder.clientWidth) return;
  const compressor = series.points("compressor_current", now);
  const rla = about?.limits.compressor_current;
  const layout = frame(holder, {
    minutes,
    end,
    range: steadyRange([...visible(compressor, minutes), ...(rla ? [rla * 1.05] : [])], 2, 0),
  });
  const shapes = [...markLines(view), nowLine(), ...(rla ? [ratedLine(rla)] : [])];
  const annotations = rla ? [ratedLabel(rla)] : [];
  Plotly.react(holder, [drawnLine(compressor, "ink", "solid")], { ...layout, shapes, annotations }, config);
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

/** @param {number} rla */
function ratedLabel(rla) {
  return {
    xref: "paper",
    x: 0,
    xanchor: "left",
    y: rla,
    yanchor: "top",
    showarrow: false,
    text: `RLA ${rla.toFixed(1)} A`,
    font: { size: 15, color: colour("high"), weight: 650 },
  };
}

// --- the frame of a chart

/**
 * @param {HTMLElement} holder
 * @param {{ minutes: number, end: number, range: number[] }} view
 */
function frame(holder, { minutes, end, range }) {
  const step = minutes <= 20 ? 5 : minutes <= 60 ? 15 : 60;
  const ticks = [];
  for (let at = -Math.floor(minutes / step) * step; at <= end; at += step) ticks.push(at);
  const axis = { fixedrange: true, showline: false, zeroline: false, tickfont: { size: 15, color: colour("muted") } };
  return {
    width: holder.clientWidth,
    height: holder.clientHeight,
    margin: { l: 32, r: 4, t: 4, b: 28 },
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
      tickvals: ticks,
      ticktext: ticks.map((at) => tickText(at, minutes)),
    },
    yaxis: { ...axis, ticks: "", range, nticks: 6, gridcolor: colour("faint"), gridwidth: 1 },
  };
}

/**
 * @param {number} at
 * @param {number} minutes
 */
export function tickText(at, minutes) {
  if (at === 0) return "now";
  const size = minutes > 60 ? `${Math.abs(at) / 60} h` : `${Math.abs(at)} min`;
  return at < 0 ? `−${size}` : `+${size}`;
}

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
const sideOf = (name) => (name === "superheat" ? "low" : "high");

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

/**
 * @param {string} name
 * @param {Band} band
 */
function bandLabel(name, band) {
  return {
    xref: "paper",
    x: 0,
    xanchor: "left",
    y: band.high,
    yanchor: "top",
    showarrow: false,
    text: `target ${name} ${band.value.toFixed(1)}`,
    bgcolor: transparent(colour("panel"), 0.75),
    font: { size: 15, color: colour(sideOf(name)), weight: 600 },
  };
}

const nowLine = () => ({
  type: "line",
  x0: 0,
  x1: 0,
  yref: "paper",
  y0: 0,
  y1: 1,
  line: { color: colour("muted"), width: weight() },
});

/** @param {View} view */
function flagged({ marks, now, minutes }) {
  return (marks?.marks ?? [])
    .filter((mark) => ["added", "recovered", "correction", "reading", "note"].includes(mark.kind) && !mark.corrected)
    .map((mark) => ({
      ...mark,
      at: (mark.time - (now ?? 0)) / 60,
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

// Flags hang at the head of the chart, step down where they would cover each other, and leave the future to forecasts.
/**
 * @param {View} view
 * @param {number} pixelsPerMinute
 */
function markFlags(view, pixelsPerMinute) {
  let last = -Infinity;
  let row = 0;
  return flagged(view).map(({ at, label, heavy }) => {
    row = (at - last) * pixelsPerMinute < CLASH_PX ? (row + 1) % 3 : 0;
    last = at;
    return {
      x: at,
      xanchor: -at * pixelsPerMinute < label.length * CHARACTER_PX ? "right" : "left",
      yref: "paper",
      y: 1,
      yanchor: "top",
      yshift: -row * FLAG_PX,
      text: label,
      showarrow: false,
      borderpad: 3,
      bgcolor: colour(heavy ? "care" : "panel"),
      bordercolor: colour(heavy ? "care" : "muted"),
      font: { size: 15, color: colour(heavy ? "panel" : "muted"), weight: 650 },
    };
  });
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

// At the right edge, on the side away from the other forecast, and within the chart however wide the cone.
/**
 * @param {Ahead[]} forecasts
 * @param {number} end
 * @param {[number, number]} range
 * @param {number} share
 */
function coneLabels(forecasts, end, [bottom, top], share) {
  const room = share * (top - bottom);
  const values = forecasts.map(([, forecast]) => endOf(forecast)[2]);
  return forecasts.map(([name, forecast]) => {
    const [, low, value, high] = endOf(forecast);
    const above = value === Math.max(...values);
    return {
      x: end,
      xanchor: "right",
      y: above ? Math.min(high, top - room) : Math.max(low, bottom + room),
      yanchor: above ? "bottom" : "top",
      showarrow: false,
      text: `${forecast.end}<br>${forecast.ahead}`,
      align: "right",
      bgcolor: transparent(colour("panel"), 0.75),
      font: { size: 15, color: colour(sideOf(name)), weight: 750 },
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
