// The Unit page: what is known of the unit at work, and how it has gone. Nothing is recorded here; a lead's stop and what
// the unit is to be stopped for stand above it all, as on the other pages.

import { startControls } from "../../shared/browser/controls.js";
import { isSilent, nothingHeard, readOf, since, takersInto } from "../../shared/browser/heard.js";
import { leftOut, notSaved, savedStatus, trouble, writeAlarm } from "../../shared/browser/saved.js";
import { speak, startSpoken } from "../../shared/browser/spoken.js";
import { writeStands, writeStop } from "../../shared/browser/stop.js";
import { openStream } from "../../shared/browser/stream.js";
import { atWork, clock, element, fill, iconOf, place, setStatus, unbroken } from "../../shared/browser/writing.js";
import { tableOf } from "../../visit/browser/cards.js";
import { stopsOf } from "../../visit/browser/stops.js";
import { trendDrawing } from "./trend.js";

/**
 * @typedef {object} UnitTold
 * @property {string} tag
 * @property {string[]} must_know
 * @property {[string, string][]} sheet
 * @property {string[]} photographs
 * @property {import("./trend.js").Trend[]} trends
 * @property {VisitTable[]} visits
 * @property {VisitTable[]} parts
 * @property {string} more
 */

const QUIET_MS = 500;
const page = /** @type {HTMLElement} */ (document.getElementById("page"));
const may = new Set((page.dataset.may ?? "").split(" "));
const state = {
  ...nothingHeard(),
  units: localStorage.getItem("units") ?? "us",
  told: /** @type {VisitTold | null} */ (null),
  unit: /** @type {UnitTold | null} */ (null),
};
/** @type {ReturnType<typeof openStream> | null} */
let stream = null;
let drawing = false;
let drawn = ""; // what of the unit stands there, and how wide: it changes once a visit

/** @type {import("../../shared/browser/stream.js").Takers} */
const TAKERS = {
  ...takersInto(state),
  visit: (/** @type {VisitTold} */ told) => {
    state.told = told;
  },
  unit: (/** @type {UnitTold} */ unit) => {
    state.unit = unit;
  },
};

/** @type {Read} */
const read = (name) => atWork(readOf(state, name), state.advice);

function listen() {
  stream?.close();
  const lost = () => {
    state.link = "lost";
    draw();
  };
  stream = openStream({ units: state.units, page: "unit" }, TAKERS, { heard: draw, lost });
}

function draw() {
  if (drawing || document.hidden) return;
  drawing = true;
  requestAnimationFrame(() => {
    drawing = false;
    drawHead();
    if (state.told) {
      writeStop(state.told.stop, may.has("seen"));
      writeStands(state.told.stands);
    }
    if (state.unit) drawUnit(state.unit);
  });
}

function drawHead() {
  const { about, advice, told } = state;
  const view = { ...state, silent: isSilent(state) };
  fill("tag", about?.tag ?? "Waiting for a rig");
  fill("place", about?.place ?? "");
  place("bench").hidden = !about?.simulated;
  fill("who", told ? [told.who, `since ${clock(told.since)}`, state.watchers].filter(Boolean).join(" · ") : "");
  const unsaved = notSaved(view);
  const packs = state.frame?.unsaved ?? 0;
  const wrong = trouble(view) || (unsaved ? "NOT SAVED" : "");
  writeAlarm(place("alarm"), { wrong: about ? wrong || leftOut(view) : "", unsaved, packs });
  setStatus("saved", ...savedStatus(wrong, since(state.savedAt), packs));
  write(
    "stops",
    stopsOf(advice, view.silent).map((text) =>
      element("p", "stop", iconOf("warning"), element("span", "", unbroken(text))),
    ),
  );
  const { stop = null, stands = null } = told ?? {};
  const note = told?.talk[0]?.title ?? "";
  const spoken = { read, advice, stop, stands, note, wrong, silent: view.silent };
  speak(spoken);
}

/** @param {UnitTold} unit */
function drawUnit(unit) {
  const width = Math.max(place("trends").clientWidth, 280);
  const key = JSON.stringify([unit, width]);
  if (drawn === key) return;
  drawn = key;
  section(
    "must-know",
    unit.must_know.map((text) => element("p", "card-says", unbroken(text))),
  );
  place("first").hidden = unit.visits.length > 0;
  write(
    "sheet",
    unit.sheet.flatMap(([name, text]) => [element("dt", "", name), element("dd", "", unbroken(text))]),
  );
  write("photographs", unit.photographs.map(photographOf));
  place("no-trends").hidden = unit.trends.length > 0;
  place("between").hidden = unit.trends.length === 0;
  write(
    "trends",
    unit.trends.map((trend) => {
      const made = element("figure", "trend", element("figcaption", "", trend.title));
      made.insertAdjacentHTML("beforeend", trendDrawing(trend, width));
      made.append(element("p", "trend-says", unbroken(trend.says)));
      return made;
    }),
  );
  section("parts", unit.parts.map(tableOf));
  section("visits", [...unit.visits.map(tableOf), ...(unit.more ? [element("p", "aside", unit.more)] : [])]);
}

/** @param {string} id */
function photographOf(id) {
  const picture = element("img", "");
  picture.src = `photograph/${id}`;
  picture.alt = "Photograph of the unit";
  picture.loading = "lazy";
  return picture;
}

/**
 * @param {string} name
 * @param {Node[]} content
 */
function section(name, content) {
  place(`${name}-panel`).hidden = content.length === 0;
  write(name, content);
}

/**
 * @param {string} name
 * @param {Node[]} content
 */
const write = (name, content) => place(name).replaceChildren(...content);

startControls({
  units: (value) => {
    state.units = value;
    listen();
  },
  theme: (value) => {
    document.documentElement.dataset.theme = value;
  },
  ready: draw,
});
listen();
startSpoken();
setInterval(draw, QUIET_MS);
window.addEventListener("resize", draw);
document.addEventListener("visibilitychange", draw);
