// The head of the page: which unit, how long, whether the instruments are there, whether it is saved.

import { leftOut, notSaved, savedStatus, trouble, writeAlarm } from "../../shared/browser/saved.js";
import { figure, fill, place, setStatus, whole } from "../../shared/browser/writing.js";
import { heardFrom } from "./panels.js";

/**
 * @typedef {object} View
 * @property {string} link
 * @property {About | null} about
 * @property {Frame | null} frame
 * @property {Status | null} status
 * @property {boolean} silent
 * @property {number | null} rigTime
 * @property {number | null} savedFor How long ago the newest saved pack was heard [s].
 * @property {string} watchers
 * @property {Record<string, string>} doubts
 * @property {Read} read
 */

/** @param {View} view */
export function drawHeader({ about, watchers, rigTime, read, doubts, ...rest }) {
  fill("tag", about?.tag ?? "Waiting for a rig");
  fill("place", about?.place ?? "");
  fill("facts", about?.facts ?? "");
  fill("circuit", about?.circuit ? `${about.circuit} · ` : "");
  fill("visit", about && rigTime !== null ? hours(rigTime - about.visit_started) : "–");
  fill("watchers", watchers);
  place("bench-label").hidden = !about?.simulated;
  place("played-label").hidden = !about?.played;
  fill("speed", about && about.speed > 1 ? ` · ${about.speed}× as fast` : "");
  setStatus("instrument-count", ...instrumentCount(about?.instruments ?? [], read, doubts, rest.silent));
  drawSaved(about !== null, rest);
}

/** @param {number} seconds */
export const hours = (seconds) => `${whole(seconds / 3600)}:${String(whole(seconds / 60) % 60).padStart(2, "0")}`;

/**
 * How many instruments give readings, and how many of them are in doubt: mood, icon, words. In a silence nobody knows.
 * @param {Instrument[]} all
 * @param {Read} read
 * @param {Record<string, string>} doubts
 * @param {boolean} silent
 * @returns {[string, string, string]}
 */
export function instrumentCount(all, read, doubts, silent) {
  if (silent && all.length) return ["unsure", "unknown", `Instruments ? of ${all.length}`];
  const there = all.filter((instrument) => instrument.connected && heardFrom(instrument, read)).length;
  const doubted = all.filter((instrument) => instrument.channels.some((name) => name in doubts)).length;
  const words = `Instruments ${there} of ${all.length}${doubted ? `, ${doubted} in doubt` : ""}`;
  if (!all.length || there < all.length) return ["bad", "warning", words];
  return doubted ? ["care", "warning", words] : ["good", "check", words];
}

/**
 * @param {boolean} known
 * @param {Pick<View, "link" | "frame" | "status" | "silent" | "savedFor">} view
 */
function drawSaved(known, view) {
  const unsaved = notSaved(view);
  const packs = view.frame?.unsaved ?? 0;
  const wrong = trouble(view) || (unsaved ? "NOT SAVED" : "");
  writeAlarm(place("alarm"), { wrong: known ? wrong || leftOut(view) : "", unsaved, packs });
  setStatus("saved", ...savedStatus(wrong, view.savedFor, packs));
}

/** @param {{ read: Read, about: About | null }} view */
export function drawAmpsTitle({ read, about }) {
  const compressor = read("compressor_current");
  const ratio = read("compressor_load_ratio");
  const rla = about?.limits.compressor_current;
  const share = ratio?.value != null && rla ? ` · ${figure(ratio)} of RLA ${rla.toFixed(1)} A` : "";
  fill("compressor-amps", compressor?.value != null ? `${figure(compressor)} A${share}` : "–");
  const fan = read("condenser_fan_current");
  const fla = about?.limits.condenser_fan_current;
  fill("fan-amps", fan?.value != null ? `Fan ${figure(fan)} A${fla ? ` of FLA ${fla.toFixed(1)}` : ""}` : "");
}
