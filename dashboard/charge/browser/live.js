// Everything that moves. Listens to the server's events and writes figures into the places marked data-live.
// Figures are written with every frame, charts every other second, nothing while the page is hidden.

import { startControls, tellDash } from "../../shared/browser/controls.js";
import { startGlance, writeGlance } from "../../shared/browser/glance.js";
import { isSilent, lagText, nothingHeard, readOf, since, takersInto, targetsNow } from "../../shared/browser/heard.js";
import { trouble } from "../../shared/browser/saved.js";
import { speak, startSpoken } from "../../shared/browser/spoken.js";
import { writeStands, writeStop } from "../../shared/browser/stop.js";
import { openStream } from "../../shared/browser/stream.js";
import { askUntilRecorded } from "../../shared/browser/until_recorded.js";
import { fill, judged, ofARunning, place, silenceText, spokenSummary } from "../../shared/browser/writing.js";
import { writeHands } from "../../training/browser/hands.js";
import { writeBench } from "../../training/browser/training.js";
import { writeCautions } from "./cautions.js";
import { drawAmps, drawTraces, missed, Series, withForecasts } from "./charts.js";
import { selectOnEntering } from "./fields.js";
import { drawAmpsTitle, drawHeader } from "./header.js";
import { keepOffers } from "./offers.js";
import { writeOpinion } from "./opinion.js";
import { endOutcomes, tellOutcome } from "./outcome.js";
import { writeAdvice, writeAway, writeInstruments, writeLog, writeNote } from "./panels.js";
import { endPointing, pointed, pointsAtMoments } from "./pointing.js";
import { drawRuler } from "./ruler.js";
import { stopsAtOnce } from "./stop_key.js";

const SUMMARY_EVERY_S = 5;
const PLOTTED = ["superheat", "subcooling", "compressor_current"];
const LIVE_POINTS_BEFORE_REFETCH = 1500;
const REFETCH_WAIT_MS = 2000;
const QUIET_MS = 500; // without a frame for so long, what stands ages
const CHARTS_EVERY_MS = 2000; // twenty minutes on a tablet pass by one point of its screen meanwhile

const state = {
  ...nothingHeard(),
  units: localStorage.getItem("units") ?? "us",
  minutes: Number(localStorage.getItem("minutes") ?? 20),
  marks: /** @type {Marks | null} */ (null),
  bench: /** @type {Bench | null} */ (null),
  hands: /** @type {Hands | null} */ (null),
  series: new Series(PLOTTED),
  span: { now: /** @type {number | null} */ (null), minutes: 20, end: 0 },
};
/** @type {ReturnType<typeof openStream> | null} */
let stream = null;
/** @type {AbortController | null} */
let history = null;
/** @type {ReturnType<typeof setTimeout> | null} */
let refetching = null;
let drawing = false;
let drawnAt = 0;

// --- listening

// Of what was told in other units nothing stays but what has none: the way from the rig to here, and who watches.
function listen() {
  stream?.close();
  const { link, status, savedAt, watchers } = state;
  Object.assign(state, nothingHeard(), { link, status, savedAt, watchers, marks: null, bench: null, hands: null });
  state.series = new Series(PLOTTED);
  stream = openStream({ units: state.units, page: "charge" }, TAKERS, {
    heard: draw,
    lost: () => {
      state.link = "lost";
      draw();
    },
  });
}

const common = takersInto(state);

/** @type {import("../../shared/browser/stream.js").Takers} */
const TAKERS = {
  ...common,
  hello: (hello) => {
    common.hello(hello);
    refetch();
  },
  past: refetch,
  marks: (/** @type {Marks} */ marks) => {
    state.marks = marks;
    endPointing(marks);
  },
  bench: (/** @type {Bench} */ bench) => {
    state.bench = bench;
  },
  hands: (/** @type {Hands} */ hands) => {
    state.hands = hands;
  },
  frame: (/** @type {Frame} */ frame) => {
    if (missed(state.frame, frame)) refetchSoon(); // a burst comes as one frame
    common.frame(frame);
    state.series.add(frame);
    if (state.series.livePoints > LIVE_POINTS_BEFORE_REFETCH) refetch();
  },
};

async function refetch() {
  history?.abort();
  history = new AbortController();
  const { series } = state;
  series.livePoints = 0;
  const query = new URLSearchParams({ units: state.units, minutes: String(state.minutes), names: PLOTTED.join(",") });
  try {
    const response = await fetch(`api/history?${query}`, { signal: history.signal });
    if (!response.ok) throw new Error(`the server answers ${response.status}`);
    series.replace(await response.json());
  } catch (error) {
    if (error instanceof DOMException && error.name === "AbortError") return;
    console.warn("the past could not be fetched", error);
    refetchSoon();
  }
  drawCharts();
}

function refetchSoon() {
  if (refetching !== null) return;
  refetching = setTimeout(() => {
    refetching = null;
    refetch();
  }, REFETCH_WAIT_MS);
}

// --- telling the time

const silent = () => isSilent(state);
const rigTime = () => (state.frame ? state.frame.time + (since(state.heardAt) ?? 0) : null);

/** @type {Read} */
const read = (name) => readOf(state, name);

// A figure that has settled is shown as it was judged, so that the advice, its evidence and the ruler say the same. Those
// that the judge has are of a unit that runs.
/** @type {Read} */
function shown(name) {
  const reading = read(name);
  const steadiness = state.advice?.steadiness[name];
  if (!reading || !steadiness) return reading;
  return judged(ofARunning(reading, state.advice?.state), steadiness);
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

function drawQuiet() {
  if (performance.now() - drawnAt >= QUIET_MS) draw();
}

function drawFigures() {
  drawnAt = performance.now();
  const page = document.getElementById("page");
  const doubts = silent() ? {} : (state.advice?.doubts ?? {});
  drawHeader({ ...state, read, doubts, silent: silent(), rigTime: rigTime(), savedFor: since(state.savedAt) });
  fill("lag", lagText(state));
  drawSilence();
  drawRuler(place("ruler"), { read: shown, about: state.about, advice: state.advice, doubts, silent: silent() });
  writeAway({ read, silent: silent() });
  drawAmpsTitle({ read, about: state.about });
  writeInstruments(place("instruments"), { about: state.about, read, rigTime: rigTime(), doubts });
  writeAdvice({ ...state, silent: silent() });
  writeCautions({ ...state, silent: silent() });
  writeOpinion({ ...state, silent: silent() });
  const stop = state.marks?.pending.find(({ stops }) => stops);
  writeStop(stop ? { ...stop, text: stop.stops ?? "" } : null, page?.dataset.role === "technician");
  writeStands(state.marks?.stands ?? null);
  const [first] = state.marks?.pending ?? [];
  const elsewhere = {
    read: shown,
    about: state.about,
    advice: state.advice,
    stands: state.marks?.stands ?? null,
    stop: stop ? { ...stop, text: stop.stops ?? "" } : null,
    note: first ? `${first.by}: ${first.text}` : "",
    wrong: trouble({ ...state, silent: silent() }),
    silent: silent(),
    heardFor: since(state.heardAt),
  };
  writeGlance(elsewhere);
  speak(elsewhere);
  writeNote(state.marks, (id) => tellDash("note-read", id));
  writeLog(state.marks);
  writeBench(state.bench, state.about);
  writeHands({ ...state, read });
}

// In a silence what stood last must not pass for what is: it fades, and the age stands across it.
function drawSilence() {
  const quiet = silent() && state.about !== null;
  document.getElementById("page")?.classList.toggle("silent", quiet);
  fill("silence", quiet ? silenceText(since(state.heardAt)) : "");
}

function drawCharts() {
  if (document.hidden || !document.getElementById("page") || !window.Plotly) return;
  const now = rigTime() ?? state.series.newest;
  const traces = place("traces");
  const target = targetsNow(state.about, state.advice);
  const view = withForecasts({
    ...state,
    now,
    silent: silent(),
    target,
    width: traces.clientWidth,
    pointed: pointed.at,
  });
  state.span = { now, minutes: view.minutes, end: view.end };
  drawTraces(traces, view);
  drawAmps(place("amps"), view);
}

// --- starting

// What sticks must know how high the others are: the header grows where a lead watches or a name is long.
const HEIGHTS = { ".top": "--top-height", ".alarms": "--alarms-height", ".actions": "--actions-height" };

function keepHeights() {
  for (const [part, name] of Object.entries(HEIGHTS)) {
    const holder = document.querySelector(part);
    if (!(holder instanceof HTMLElement)) continue;
    const tell = () => document.documentElement.style.setProperty(name, `${holder.offsetHeight}px`);
    new ResizeObserver(tell).observe(holder);
  }
}

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
    keepHeights();
    pointsAtMoments(place("traces"), () => state.span, drawCharts);
    endOutcomes();
    startGlance(draw);
    startSpoken();
    draw();
    drawCharts();
  },
});
selectOnEntering();
keepOffers();
stopsAtOnce(askUntilRecorded(tellOutcome), () => state.about?.visit ?? "");
listen();
setInterval(drawQuiet, QUIET_MS);
setInterval(drawCharts, CHARTS_EVERY_MS);
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
