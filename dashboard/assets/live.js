// Everything that moves. Listens to the server's events and writes figures into the places marked data-live.
// Figures are written with every frame, charts once a second, nothing while the page is hidden.

import { drawAmps, drawTraces, Series, withForecasts } from "./charts.js";
import { startControls, tellDash } from "./controls.js";
import { agedText, figure, fill, judged, place, setStatus, spokenSummary, whole } from "./writing.js";
import { writeAdvice, writeAlarm, writeInstruments, writeLog, writeNote } from "./panels.js";
import { writeCautions } from "./cautions.js";
import { drawRuler } from "./ruler.js";
import { writeOpinion } from "./opinion.js";
import { writeBench } from "./training.js";

const SILENCE_S = 3;
const SUMMARY_EVERY_S = 5;
const PLOTTED = ["superheat", "subcooling", "compressor_current"];
const LIVE_POINTS_BEFORE_REFETCH = 1500;
const REFETCH_WAIT_MS = 2000;

const state = {
  units: localStorage.getItem("units") ?? "us",
  minutes: Number(localStorage.getItem("minutes") ?? 20),
  link: "opening",
  about: null,
  frame: null,
  advice: null,
  marks: null,
  bench: null,
  status: null,
  watchers: "",
  heardAt: null, // performance.now() of the newest frame: wall clocks may step
  savedAt: null,
  series: new Series(PLOTTED),
};
let source = null;
let history = null;
let refetching = null;
let drawing = false;

// --- listening

function listen() {
  source?.close();
  Object.assign(state, { about: null, frame: null, advice: null, marks: null, bench: null, heardAt: null });
  state.series = new Series(PLOTTED);
  source = new EventSource(`/api/stream?units=${state.units}`);
  const on = (kind, take) =>
    source.addEventListener(kind, (event) => {
      take(JSON.parse(event.data));
      draw();
    });
  on("hello", () => {
    state.link = "open";
    refetch();
  });
  on("past", refetch);
  on("status", (status) => {
    state.status = status;
  });
  on("about", (about) => {
    state.about = about;
  });
  on("advice", (advice) => {
    state.advice = advice;
  });
  on("marks", (marks) => {
    state.marks = marks;
  });
  on("bench", (bench) => {
    state.bench = bench;
  });
  on("watchers", ({ says }) => {
    state.watchers = says;
  });
  on("frame", (frame) => {
    if (state.frame && frame.sequence > state.frame.sequence + 1) refetchSoon(); // a burst comes as one frame
    state.frame = frame;
    state.heardAt = performance.now() - 1000 * frame.since;
    if (frame.saved) state.savedAt = state.heardAt;
    state.series.add(frame);
    if (state.series.livePoints > LIVE_POINTS_BEFORE_REFETCH) refetch();
  });
  source.onerror = () => {
    state.link = "lost";
    if (source.readyState === EventSource.CLOSED) setTimeout(listen, 2000);
    draw();
  };
}

async function refetch() {
  history?.abort();
  history = new AbortController();
  const { series } = state;
  series.livePoints = 0;
  const query = new URLSearchParams({ units: state.units, minutes: state.minutes, names: PLOTTED.join(",") });
  try {
    const response = await fetch(`/api/history?${query}`, { signal: history.signal });
    if (!response.ok) throw new Error(`the server answers ${response.status}`);
    series.replace(await response.json());
  } catch (error) {
    if (error.name === "AbortError") return;
    console.warn("the past could not be fetched", error);
    refetchSoon();
  }
  drawCharts();
}

function refetchSoon() {
  refetching ??= setTimeout(() => {
    refetching = null;
    refetch();
  }, REFETCH_WAIT_MS);
}

// --- telling the time

const sinceHeard = () => (state.heardAt === null ? null : (performance.now() - state.heardAt) / 1000);
const silent = () => state.heardAt === null || sinceHeard() > SILENCE_S;
const rigTime = () => (state.frame ? state.frame.time + sinceHeard() : null);

// One value with everything the drawing of it needs to know.
function read(name) {
  const meta = state.about?.quantities[name];
  const raw = state.frame?.values[name];
  if (!meta || !raw) return null;
  const [value, plusMinus, age, quality, reason] = raw;
  const ageNow = age + sinceHeard();
  return {
    name,
    ...meta,
    value,
    plusMinus,
    quality,
    reason,
    age: ageNow,
    old: quality === "stale" || ageNow > SILENCE_S,
  };
}

// A figure that has settled is shown as it was judged, so that the advice, its evidence and the ruler say the same.
function shown(name) {
  const reading = read(name);
  return reading && judged(reading, state.advice?.steadiness[name]);
}

// --- drawing

function draw() {
  if (drawing || document.hidden) return;
  drawing = true;
  requestAnimationFrame(() => {
    drawing = false;
    if (document.getElementById("page")) drawFigures();
  });
}

function drawFigures() {
  drawHeader();
  drawSilence();
  drawRuler(place("ruler"), { read: shown, about: state.about, advice: state.advice, silent: silent() });
  drawAmpsTitle();
  const doubts = silent() ? {} : (state.advice?.doubts ?? {});
  writeInstruments(place("instruments"), { about: state.about, read, rigTime: rigTime(), doubts });
  writeAdvice({ ...state, silent: silent() });
  writeCautions({ ...state, silent: silent() });
  writeOpinion({ ...state, silent: silent() });
  writeNote(state.marks, (id) => tellDash("pending-note", id));
  writeLog(state.marks);
  writeBench(state.bench, state.about);
}

function drawHeader() {
  const { about } = state;
  fill("tag", about?.tag ?? "Waiting for a rig");
  fill("place", about?.place ?? "");
  fill("facts", about?.facts ?? "");
  const visit = about && state.frame ? rigTime() - about.visit_started : null;
  fill("visit", visit === null ? "–" : `${whole(visit / 3600)}:${String(whole(visit / 60) % 60).padStart(2, "0")}`);
  fill("watchers", state.watchers ? ` · ${state.watchers}` : "");
  const label = place("bench-label");
  label.hidden = !about?.simulated;
  fill("speed", about?.speed > 1 ? ` · ${about.speed}× as fast` : "");
  drawInstrumentCount(about);
  drawSaved();
}

function drawInstrumentCount(about) {
  const all = about?.instruments ?? [];
  const there = all.filter((instrument) => instrument.connected).length;
  const good = all.length > 0 && there === all.length;
  setStatus(
    "instrument-count",
    good ? "good" : "bad",
    good ? "check" : "warning",
    `Instruments ${there} of ${all.length}`,
  );
}

function trouble() {
  if (state.link === "lost") return "Page has lost its server";
  if (state.status && !state.status.broker) return "Broker lost";
  if (state.status?.state === "lost") return "Rig lost";
  if (state.status?.state === "offline") return "Rig is off";
  if (silent()) return "No data";
  return "";
}

// Whether what is shown is not on the disk, as the newest pack or the daemon itself says.
const notSaved = () => state.status?.not_saved ?? (state.frame && !state.frame.saved ? {} : null);

function drawSaved() {
  const unsaved = notSaved();
  const wrong = trouble() || (unsaved ? "NOT SAVED" : "");
  writeAlarm(place("alarm"), { wrong: state.about ? wrong : "", unsaved, packs: state.frame?.unsaved ?? 0 });
  if (wrong) setStatus("saved", "bad", "cross", wrong);
  else {
    const ago = `Saved ${((performance.now() - state.savedAt) / 1000).toFixed(1)} s ago`;
    if (state.frame.unsaved) setStatus("saved", "care", "warning", `${ago}, ${state.frame.unsaved} packs lost`);
    else setStatus("saved", "good", "check", ago);
  }
}

function drawSilence() {
  const since = sinceHeard();
  fill("silence", !silent() || !state.about ? "" : since === null ? "No data yet" : `No data for ${agedText(since)}`);
}

function drawAmpsTitle() {
  const compressor = read("compressor_current");
  const ratio = read("compressor_load_ratio");
  const rla = state.about?.limits.compressor_current;
  const share = ratio?.value != null && rla ? ` · ${figure(ratio)} of RLA ${rla.toFixed(1)} A` : "";
  fill("compressor-amps", compressor?.value != null ? `${figure(compressor)} A${share}` : "–");
  const fan = read("condenser_fan_current");
  const fla = state.about?.limits.condenser_fan_current;
  fill("fan-amps", fan?.value != null ? `Fan ${figure(fan)} A${fla ? ` of FLA ${fla.toFixed(1)}` : ""}` : "");
}

function drawCharts() {
  if (document.hidden || !document.getElementById("page") || !window.Plotly) return;
  const now = rigTime() ?? state.series.newest;
  const view = withForecasts({ ...state, now, silent: silent(), target: state.about?.limits.targets });
  drawTraces(place("traces"), view);
  drawAmps(place("amps"), view);
}

// --- starting

function summarise() {
  if (document.hidden || !document.getElementById("page")) return;
  fill("summary", spokenSummary({ read: shown, advice: state.advice, silent: silent() }));
}

startControls({
  units: (value) => {
    state.units = value;
    tellDash("units", value);
    listen();
  },
  minutes: (value) => {
    state.minutes = Number(value);
    refetch();
  },
  theme: (value) => {
    document.documentElement.dataset.theme = value;
    draw();
    drawCharts();
  },
  ready: () => {
    tellDash("units", state.units);
    draw();
    drawCharts();
  },
});
listen();
setInterval(draw, 500);
setInterval(drawCharts, 1000);
setInterval(summarise, SUMMARY_EVERY_S * 1000);
window.addEventListener("resize", () => {
  draw();
  drawCharts();
});
document.addEventListener("visibilitychange", () => {
  if (!document.hidden) {
    refetch();
    draw();
  }
});
