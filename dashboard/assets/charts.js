// The traces of superheat and subcooling with their targets, marks and forecast, and the compressor's amps.
// Time runs in minutes from now: what matters while waiting is how long ago and how long yet.

const CLASH_PX = 84;

// The past as fetched, in bins of lowest and highest, and after it what came live.
export class Series {
  constructor(names) {
    this.names = names;
    this.times = [];
    this.values = Object.fromEntries(names.map((name) => [name, []]));
    this.live = [];
    this.livePoints = 0;
    this.newest = null;
  }

  add(frame) {
    this.live.push({ time: frame.time, values: frame.values });
    this.livePoints += 1;
    this.newest = frame.time;
  }

  replace(history) {
    this.times = [];
    for (const name of this.names) this.values[name] = [];
    for (let bin = 0; bin < history.times.length; bin += 1) {
      this.times.push(history.times[bin], history.times[bin]);
      for (const name of this.names) {
        const column = history.values[name];
        this.values[name].push(column?.low[bin] ?? null, column?.high[bin] ?? null);
      }
    }
    this.live = this.live.filter((point) => history.time === null || point.time > history.time);
    this.newest ??= history.time;
  }

  // x in minutes from now, y in the reader's unit; null breaks the line.
  points(name, now) {
    const x = this.times.map((time) => (time === null ? null : (time - now) / 60));
    const y = [...this.values[name]];
    for (const { time, values } of this.live) {
      const [value, , , quality] = values[name] ?? [null];
      x.push((time - now) / 60);
      y.push(["ok", "uncalibrated"].includes(quality) ? value : null);
    }
    return { x, y };
  }
}

const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();
const weight = () => Number(colour("heavy")) || 1;

function drawnLine(points, name, dash) {
  return {
    ...points, type: "scatter", mode: "lines", connectgaps: false, hoverinfo: "skip", showlegend: false,
    line: { color: colour(name), width: 2.4 * weight(), dash, simplify: true },
  };
}

export function drawTraces(holder, view) {
  const { series, now, minutes, advice, target } = view;
  if (now === null || !holder.clientWidth) return;
  const superheat = series.points("superheat", now);
  const subcooling = series.points("subcooling", now);
  const forecasts = Object.entries(advice?.steadiness ?? {}).filter(([, steadiness]) => steadiness.forecast?.cone.length);
  const ahead = Math.max(0, ...forecasts.map(([, { forecast }]) => forecast.seconds / 60));
  const end = forecasts.length ? Math.min(Math.max(ahead * 1.05, minutes * 0.12), minutes * 0.4) : 0;
  const age = view.advice && view.frame ? (now - view.advice.time) / 60 : 0;
  const traces = [drawnLine(superheat, "low", "dash"), drawnLine(subcooling, "high", "solid"), ...forecasts.flatMap((entry) => cone(entry, age))];
  const shown = [superheat, subcooling].flatMap(({ x, y }) => y.filter((value, index) => value !== null && x[index] >= -minutes));
  const bands = Object.entries(target ?? {});
  const layout = frame(holder, { minutes, end, range: steadyRange([...shown, ...bands.flatMap(([, band]) => [band.low, band.high])], 5) });
  layout.shapes = [...bands.flatMap(([name, band]) => bandShape(name, band)), ...markLines(view, minutes), nowLine()];
  layout.annotations = [
    ...bands.map(([name, band]) => bandLabel(name, band)),
    ...markFlags(view, minutes, holder.clientWidth / (minutes + end)),
    ...forecasts.map((entry) => coneLabel(entry, age, end)),
  ];
  Plotly.react(holder, traces, layout, { displayModeBar: false, responsive: false, staticPlot: true });
}

export function drawAmps(holder, view) {
  const { series, now, minutes, about } = view;
  if (now === null || !holder.clientWidth) return;
  const compressor = series.points("compressor_current", now);
  const rla = about?.limits.compressor_current;
  const shown = compressor.y.filter((value, index) => value !== null && compressor.x[index] >= -minutes);
  const layout = frame(holder, { minutes, end: 0, range: steadyRange([0, ...shown, ...(rla ? [rla * 1.08] : [])], 2) });
  layout.shapes = [...markLines(view, minutes), ...(rla ? [{ type: "line", xref: "paper", x0: 0, x1: 1, y0: rla, y1: rla, line: { color: colour("high"), width: 1.5 * weight(), dash: "longdash" } }] : [])];
  layout.annotations = rla
    ? [{ xref: "paper", x: 1, xanchor: "right", y: rla, yanchor: "bottom", text: `RLA ${rla.toFixed(1)} A`, showarrow: false, font: { size: 13, color: colour("high"), weight: 650 } }]
    : [];
  Plotly.react(holder, [drawnLine(compressor, "ink", "solid")], layout, { displayModeBar: false, responsive: false, staticPlot: true });
}

// --- the frame of a chart

function frame(holder, { minutes, end, range }) {
  const step = minutes <= 20 ? 5 : minutes <= 60 ? 15 : 60;
  const ticks = [];
  for (let at = -Math.floor(minutes / step) * step; at <= end; at += step) ticks.push(at);
  const axis = { fixedrange: true, showline: false, zeroline: false, ticks: "", tickfont: { size: 13, color: colour("muted") } };
  return {
    width: holder.clientWidth,
    height: holder.clientHeight,
    margin: { l: 34, r: 6, t: 8, b: 22 },
    paper_bgcolor: "rgba(0,0,0,0)",
    plot_bgcolor: "rgba(0,0,0,0)",
    font: { family: "Inter, system-ui, sans-serif", color: colour("ink") },
    showlegend: false,
    dragmode: false,
    hovermode: false,
    xaxis: { ...axis, range: [-minutes, end], showgrid: false, tickvals: ticks, ticktext: ticks.map((at) => tickText(at, minutes)) },
    yaxis: { ...axis, range, nticks: 6, gridcolor: colour("faint"), gridwidth: 1 },
  };
}

function tickText(at, minutes) {
  if (at === 0) return "now";
  const size = minutes > 60 ? `${Math.abs(at) / 60} h` : `${Math.abs(at)} min`;
  return at < 0 ? `−${size}` : `+${size}`;
}

// Whole steps, so that the axis stands still while figures move.
function steadyRange(values, step) {
  if (!values.length) return [0, 4 * step];
  const low = step * Math.floor((Math.min(...values) - 0.05 * step) / step);
  const high = step * Math.ceil((Math.max(...values) + 0.05 * step) / step);
  return [Math.min(low, 0), Math.max(high, low + 2 * step)];
}

// --- targets, marks, now, forecast

const sideOf = (name) => (name === "superheat" ? "low" : "high");

function bandShape(name, band) {
  const across = { xref: "paper", x0: 0, x1: 1, layer: "below" };
  const edge = (y) => ({ ...across, type: "line", y0: y, y1: y, line: { color: colour(sideOf(name)), width: weight(), dash: "dot" } });
  return [
    { ...across, type: "rect", y0: band.low, y1: band.high, fillcolor: colour(sideOf(name)), opacity: 0.1, line: { width: 0 } },
    edge(band.low),
    edge(band.high),
  ];
}

function bandLabel(name, band) {
  return {
    xref: "paper", x: 0, xanchor: "left", y: band.high, yanchor: "top", showarrow: false,
    text: `target ${name} ${band.value.toFixed(1)}`, font: { size: 13, color: colour(sideOf(name)), weight: 600 },
  };
}

const nowLine = () => ({ type: "line", x0: 0, x1: 0, yref: "paper", y0: 0, y1: 1, line: { color: colour("muted"), width: weight() } });

function flagged({ marks, now }, minutes) {
  return (marks?.marks ?? [])
    .filter((mark) => ["added", "recovered", "reading", "note"].includes(mark.kind))
    .map((mark) => ({ ...mark, at: (mark.time - now) / 60, heavy: mark.kind === "added" || mark.kind === "recovered" }))
    .filter((mark) => mark.at >= -minutes);
}

function markLines(view, minutes) {
  return flagged(view, minutes).map(({ at, heavy }) => ({
    type: "line", x0: at, x1: at, yref: "paper", y0: 0, y1: 1,
    line: { color: colour(heavy ? "care" : "muted"), width: (heavy ? 1.6 : 1) * weight(), dash: "dot" },
  }));
}

// Flags stand at the foot of the chart and step up where they would cover each other.
function markFlags(view, minutes, pixelsPerMinute) {
  let last = -Infinity;
  let row = 0;
  return flagged(view, minutes).map(({ at, label, heavy }) => {
    row = (at - last) * pixelsPerMinute < CLASH_PX ? (row + 1) % 3 : 0;
    last = at;
    return {
      x: at, xanchor: at > -minutes * 0.2 ? "right" : "left", yref: "paper", y: 0, yanchor: "bottom", yshift: row * 21 + 1,
      text: label, showarrow: false, borderpad: 3,
      bgcolor: colour(heavy ? "care" : "panel"), bordercolor: colour(heavy ? "care" : "muted"),
      font: { size: 13, color: colour(heavy ? "panel" : "muted"), weight: 650 },
    };
  });
}

function cone([name, { forecast }], age) {
  const shade = colour(sideOf(name));
  const x = forecast.cone.map(([seconds]) => seconds / 60 - age);
  const edge = { x, type: "scatter", mode: "lines", hoverinfo: "skip", showlegend: false };
  return [
    { ...edge, y: forecast.cone.map(([, low]) => low), line: { width: 0 } },
    { ...edge, y: forecast.cone.map(([, , , high]) => high), line: { width: 0 }, fill: "tonexty", fillcolor: transparent(shade, 0.22) },
    { ...edge, y: forecast.cone.map(([, , middle]) => middle), line: { color: shade, width: 1.8 * weight(), dash: "dot" } },
  ];
}

function coneLabel([name, { forecast }], age, end) {
  const [seconds, , , high] = forecast.cone.at(-1);
  return {
    x: Math.min(seconds / 60 - age, end), xanchor: "right", y: high, yanchor: "bottom", showarrow: false,
    text: forecast.text.replace(/ in .*| now$/, ""), font: { size: 15, color: colour(sideOf(name)), weight: 750 },
  };
}

function transparent(hex, alpha) {
  const [red, green, blue] = [1, 3, 5].map((at) => parseInt(hex.slice(at, at + 2), 16));
  return `rgba(${red},${green},${blue},${alpha})`;
}
