// What is read aloud by the browser's own voice, and felt: each kind of event by a choice of whoever holds the tablet.

import { figure } from "./writing.js";

const STORE = "spoken";
/** How long each is felt, on and off [ms]: apart by rhythm, since a glove feels no strength. */
const FELT = { settled: [200], advice: [80], alarm: [500, 200, 500], people: [200, 100, 200, 100, 200] };

/** @typedef {keyof typeof FELT} Event */

/**
 * @typedef {object} View
 * @property {Read} read
 * @property {Advice | null} advice
 * @property {VisitStop | null} stop A lead's, until it is acknowledged.
 * @property {string} note That waits to be read.
 * @property {boolean} silent
 */

/**
 * What can become news. A figure in doubt has not settled, and in a silence nothing is told but that.
 * @param {View} view
 */
export function told({ advice, stop, note, silent }) {
  const doubted = advice?.doubts ?? {};
  const steady = Object.entries(advice?.steadiness ?? {});
  return {
    settled: silent
      ? []
      : steady.filter(([name, it]) => it.state === "settled" && !(name in doubted)).map(([name]) => name),
    advice: silent ? "" : (advice?.sentence ?? ""),
    alarms: silent ? [] : (advice?.alarms.map((it) => it.stop) ?? []),
    silent,
    stop,
    note,
  };
}

/** @typedef {ReturnType<typeof told>} Told */

/**
 * What is new, the gravest first: its kind and its words.
 * @param {Told} before
 * @param {Told} now
 * @param {Read} read
 * @returns {[Event, string][]}
 */
export function news(before, now, read) {
  /** @type {[Event, string][]} */
  const all = [];
  if (now.stop && now.stop.id !== before.stop?.id) all.push(["people", now.stop.text]);
  if (now.silent && !before.silent) all.push(["alarm", "No data."]);
  for (const alarm of now.alarms) if (!before.alarms.includes(alarm)) all.push(["alarm", alarm]);
  if (now.note && now.note !== before.note) all.push(["people", now.note]);
  if (before.silent) return all; // what comes back with the link is no event of the unit's
  for (const name of now.settled) {
    const reading = read(name);
    if (!before.settled.includes(name) && reading?.value != null)
      all.push(["settled", `Settled: ${reading.label.toLowerCase()} ${figure(reading)}.`]);
  }
  if (now.advice && now.advice !== before.advice) all.push(["advice", now.advice]);
  return all;
}

const chosen = () => new Set((localStorage.getItem(STORE) ?? "").split(" ").filter(Boolean));

/** @param {string} words */
function say(words) {
  window.speechSynthesis?.speak(new SpeechSynthesisUtterance(words));
}

const GRAVE = new Set(["alarm", "people"]); // said as often as it comes, and no long advice is heard out before it
const AGAIN_MS = 30_000; // what else comes and goes is said once meanwhile
/** @type {Map<string, number>} */
const saidAt = new Map();
let before = /** @type {Told | null} */ (null);

// A page that has just opened tells what stands by itself: only what changes from then on is news.
/** @param {View} view */
export function speak(view) {
  const now = told(view);
  const first = before ?? { ...now, stop: null };
  before = now;
  const may = chosen();
  const all = news(first, now, view.read).filter(([event]) => may.has(event));
  if (all.some(([event]) => GRAVE.has(event))) window.speechSynthesis?.cancel();
  for (const [event, words] of all) {
    const since = performance.now() - (saidAt.get(words) ?? Number.NEGATIVE_INFINITY);
    if (!GRAVE.has(event) && since < AGAIN_MS) continue;
    saidAt.set(words, performance.now());
    say(words);
    navigator.vibrate?.(FELT[event]);
  }
}

// Each key says how it sounds as it is chosen, which a browser wants to be touched for before it may speak at all.
export function startSpoken() {
  const keys = /** @type {NodeListOf<HTMLButtonElement>} */ (document.querySelectorAll("[data-speaks]"));
  const draw = () => {
    for (const key of keys) key.setAttribute("aria-pressed", String(chosen().has(key.dataset.speaks ?? "")));
  };
  for (const key of keys) {
    key.addEventListener("click", () => {
      const may = chosen();
      const event = key.dataset.speaks ?? "";
      if (!may.delete(event)) {
        may.add(event);
        say(key.dataset.example ?? "");
      }
      localStorage.setItem(STORE, [...may].join(" "));
      draw();
    });
  }
  draw();
}
