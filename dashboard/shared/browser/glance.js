// The page read from three metres, on whichever page it was opened. It keeps the screen awake, and is a lock: rain and a
// sleeve touch, and do not hold. A keyboard and a screen reader are neither, and lead back at once.

import { targetsNow } from "./heard.js";
import { figure, fill, IN_DOUBT, number, place, plusMinus, silenceText, unbroken } from "./writing.js";

const HELD_MS = 1000;
const MAY_START = new Set(["not running", "starting", "stop"]); // of no other state is it known that it runs
const FIGURES = ["superheat", "subcooling"];

/**
 * @typedef {object} View
 * @property {Read} read
 * @property {About | null} about
 * @property {Advice | null} advice
 * @property {StopThatStands | null} stands A lead's stop that was acknowledged.
 * @property {string} note What of people's waits to be read; empty where nothing does.
 * @property {string} wrong With the data; empty where nothing is.
 * @property {boolean} silent
 * @property {number | null} heardFor How long ago the newest figure was heard [s].
 */

/**
 * What stands in large: the state's word, and of what there is to wait for. Old advice is none.
 * @param {Pick<View, "advice" | "stands" | "silent">} view
 */
export function word({ advice, stands, silent }) {
  if (stands) return "Stop";
  return silent ? "No data" : (advice?.word ?? "–");
}

/** @param {View} view */
export function writeGlance(view) {
  const glance = place("glance");
  if (!(glance instanceof HTMLDialogElement) || !glance.open) return;
  const { read, advice, note, silent } = view;
  const said = word(view);
  glance.classList.toggle("at-stop", said === "Stop");
  glance.classList.toggle("silent", silent);
  place("glance-may-start").hidden = !(silent || view.stands || MAY_START.has(advice?.state ?? "stop"));
  fill("glance-word", said);
  const alarms = silent ? [] : (advice?.alarms.map(({ stop }) => stop) ?? []);
  fill("glance-alarm", [view.wrong, ...alarms].filter(Boolean).join(" · "));
  const targets = targetsNow(view.about, advice);
  for (const name of FIGURES) writeFigure(name, read(name), silent ? null : advice, targets[name]);
  fill("glance-of", [view.about?.tag, view.about?.circuit].filter(Boolean).join(" · "));
  place("glance-bench").hidden = !view.about?.simulated;
  const awaited = silent ? null : (advice?.awaited ?? null);
  fill("glance-awaited", awaited ? unbroken(`${awaited.what} ${awaited.ahead}`) : "");
  fill("glance-sentence", silent ? silenceText(view.heardFor) : unbroken(advice?.sentence ?? ""));
  fill("glance-note", note);
  place("glance-noted").hidden = !note;
}

/**
 * @param {string} name
 * @param {Reading | null} reading
 * @param {Advice | null} advice
 * @param {Band | undefined} target
 */
function writeFigure(name, reading, advice, target) {
  const standing = name in (advice?.doubts ?? {}) ? IN_DOUBT : (advice?.steadiness[name]?.word ?? "");
  fill(`glance-${name}-label`, reading?.label ?? name);
  fill(`glance-${name}-value`, figure(reading));
  fill(`glance-${name}-spread`, [plusMinus(reading), reading?.unit ?? ""].filter(Boolean).join(" "));
  fill(`glance-${name}-target`, target ? `target ${number(target.value, 1)}` : "");
  fill(`glance-${name}-standing`, standing);
}

/** @param {() => void} draw */
export function startGlance(draw) {
  const glance = place("glance");
  const key = document.getElementById("glance-back");
  if (!(glance instanceof HTMLDialogElement) || !key) return;
  let awake = /** @type {WakeLockSentinel | null} */ (null);
  let held = /** @type {ReturnType<typeof setTimeout> | undefined} */ (undefined);

  // A tab that comes back into view has lost it. Where there is none, such as on a flat battery, the screen dims as ever.
  const stayAwake = async () => {
    if (!glance.open || document.hidden || !("wakeLock" in navigator)) return;
    try {
      awake = await navigator.wakeLock.request("screen");
    } catch (error) {
      console.info("the screen is not kept awake", error);
    }
  };
  const letGo = () => {
    clearTimeout(held);
    key.classList.remove("holding");
  };
  key.addEventListener("pointerdown", () => {
    key.classList.add("holding");
    held = setTimeout(() => glance.close(), HELD_MS);
  });
  for (const ends of ["pointerup", "pointercancel", "pointerleave"]) key.addEventListener(ends, letGo);
  key.addEventListener("contextmenu", (event) => event.preventDefault()); // a long touch asks for it
  key.addEventListener("click", (event) => {
    if (event.detail === 0) glance.close(); // of a keyboard or a screen reader
  });
  glance.addEventListener("toggle", () => {
    if (!glance.open) return;
    draw();
    stayAwake();
  });
  glance.addEventListener("close", () => {
    letGo();
    awake?.release();
    awake = null;
  });
  document.addEventListener("visibilitychange", stayAwake);
}
