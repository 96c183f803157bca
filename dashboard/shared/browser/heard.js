// What a page has heard of the rig, and how long ago: the part of it that every page has.

import { agedText } from "./writing.js";

const SILENCE_S = 3;

export const nothingHeard = () => ({
  link: "opening",
  about: /** @type {About | null} */ (null),
  frame: /** @type {Frame | null} */ (null),
  advice: /** @type {Advice | null} */ (null),
  status: /** @type {Status | null} */ (null),
  watchers: "",
  heardAt: /** @type {number | null} */ (null), // performance.now() of the newest frame: wall clocks may step
  savedAt: /** @type {number | null} */ (null),
});

/** @typedef {ReturnType<typeof nothingHeard>} Heard */

/**
 * What a page takes of the stream, into what it has heard.
 * @param {Heard} heard
 * @returns {import("./stream.js").Takers}
 */
export const takersInto = (heard) => ({
  hello: () => {
    heard.link = "open";
  },
  status: (/** @type {Status} */ status) => {
    heard.status = status;
  },
  about: (/** @type {About} */ about) => {
    heard.about = about;
  },
  advice: (/** @type {Advice} */ advice) => {
    heard.advice = advice;
  },
  watchers: (/** @type {{ says: string }} */ { says }) => {
    heard.watchers = says;
  },
  frame: (/** @type {Frame} */ frame) => {
    heard.frame = frame;
    heard.heardAt = performance.now() - 1000 * frame.since;
    if (frame.saved) heard.savedAt = heard.heardAt;
  },
});

/** @param {number | null} at */
export const since = (at) => (at === null ? null : (performance.now() - at) / 1000);

// How far what a lead sees is behind the unit; nothing before the first figures.
/** @param {Heard} heard */
export function lagText({ heardAt }) {
  const seconds = since(heardAt);
  return seconds === null ? "" : `, ${agedText(seconds)} behind`;
}

/** @param {Heard} heard */
export const isSilent = ({ heardAt }) => (since(heardAt) ?? Infinity) > SILENCE_S;

/**
 * One value with everything the drawing of it needs to know. It ages while nothing comes.
 * @param {Heard} heard
 * @param {string} name
 * @returns {Reading | null}
 */
export function readOf({ about, frame, heardAt }, name) {
  const meta = about?.quantities[name];
  const raw = frame?.values[name];
  if (!meta || !raw) return null;
  const [value, plusMinus, age, quality, reason] = raw;
  const ageNow = age + (since(heardAt) ?? 0);
  const old = quality === "stale" || ageNow > SILENCE_S;
  return { name, ...meta, value, plusMinus, quality, reason, age: ageNow, old };
}

// The nameplate's target stands above one that moves with the air. All of them are of cooling: none while it heats.
/**
 * @param {About | null} about
 * @param {Advice | null} advice
 * @returns {Record<string, Band>}
 */
export const targetsNow = (about, advice) => (advice?.heats ? {} : { ...advice?.targets, ...about?.limits.targets });
