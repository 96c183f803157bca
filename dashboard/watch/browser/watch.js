// All rigs at once. The server tells of each as it changes; here they are put in order and grow older.

import { startControls } from "../../shared/browser/controls.js";
import { openStream } from "../../shared/browser/stream.js";
import { askUntilRecorded } from "../../shared/browser/until_recorded.js";
import { fill, place } from "../../shared/browser/writing.js";
import { countText, inOrder, writeCards } from "./cards.js";

const SUMMARY_EVERY_MS = 5000;
const FIND_AFTER_MS = 300;

const state = {
  units: localStorage.getItem("units") ?? "us",
  link: "opening",
  broker: true,
  rigs: /** @type {Map<string, import("./cards.js").Known>} */ (new Map()),
  behindAt: /** @type {Map<string, number | null>} */ (new Map()),
  count: /** @type {import("./cards.js").Count} */ ({ shown: 0, heard: 0, needy: 0, left: 0 }),
  find: "",
};
/** @type {ReturnType<typeof openStream> | null} */
let stream = null;
let drawing = false;

/** @type {import("../../shared/browser/stream.js").Takers} */
const TAKERS = {
  hello: () => {
    state.link = "open";
  },
  way: (/** @type {{ broker: boolean }} */ { broker }) => {
    state.broker = broker;
  },
  age: (/** @type {{ rig: string, behind: number | null }} */ { rig, behind }) => {
    state.behindAt.set(rig, behind === null ? null : performance.now() - 1000 * behind);
  },
  card: (/** @type {import("./cards.js").Card} */ card) => {
    state.rigs.set(card.rig, { card, behindAt: state.behindAt.get(card.rig) ?? null });
  },
  gone: (/** @type {{ rig: string }} */ { rig }) => {
    state.rigs.delete(rig);
  },
  count: (/** @type {import("./cards.js").Count} */ count) => {
    state.count = count;
  },
};

function listen() {
  stream?.close();
  state.rigs.clear();
  const lost = () => {
    state.link = "lost";
    draw();
  };
  stream = openStream({ units: state.units, find: state.find }, TAKERS, { heard: draw, lost }, "watch");
}

function draw() {
  if (drawing || document.hidden) return;
  drawing = true;
  requestAnimationFrame(() => {
    drawing = false;
    drawAll();
  });
}

function drawAll() {
  const wrong = state.link === "lost" ? "Page has lost its server" : state.broker ? "" : "Broker lost";
  fill("alarm", wrong && `${wrong}: what stands here is old`);
  const all = inOrder(state.rigs.values());
  place("nothing").hidden = state.count.heard > 0 || state.link !== "open";
  fill("count", state.link === "open" || all.length ? countText(state.count) : "Opening");
  writeCards(place("cards"), all);
}

// What became of a stop that was asked on the page of a rig and is recorded only now.
/**
 * @param {string} told
 */
function tellOutcome(told) {
  fill("outcome", told);
}

function summarise() {
  const [first] = inOrder(state.rigs.values());
  if (!document.hidden && first) fill("summary", `${countText(state.count)}. ${first.card.tag}: ${first.card.word}.`);
}

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
const field = /** @type {HTMLInputElement} */ (document.getElementById("find"));
/** @type {ReturnType<typeof setTimeout> | undefined} */
let looking;
field.addEventListener("input", () => {
  clearTimeout(looking);
  looking = setTimeout(() => {
    state.find = field.value;
    listen();
  }, FIND_AFTER_MS);
});
askUntilRecorded(tellOutcome);
listen();
setInterval(draw, 500);
setInterval(summarise, SUMMARY_EVERY_MS);
document.addEventListener("visibilitychange", draw);
window.addEventListener("resize", draw);
