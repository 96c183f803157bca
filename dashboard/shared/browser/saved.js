// Whether data comes, and whether it is on the disk: told first, on every page.

import { clock, element } from "./writing.js";

/**
 * @typedef {object} Way
 * @property {string} link
 * @property {Status | null} status
 * @property {Frame | null} frame
 * @property {boolean} silent
 */

/**
 * What is wrong with the way from the rig to here; empty where nothing is.
 * @param {Pick<Way, "link" | "status" | "silent">} view
 */
export function trouble({ link, status, silent }) {
  if (link === "lost") return "Page has lost its server";
  if (status && !status.broker) return "Broker lost";
  if (status?.state === "lost") return "Rig lost";
  if (status?.state === "offline") return "Rig is off";
  if (silent) return "No data";
  return status?.another ? "Another daemon publishes under this rig's name: give each its own" : "";
}

/**
 * What the rig no longer proposes by itself; empty where it proposes everything.
 * @param {Pick<Way, "status">} view
 */
export function leftOut({ status }) {
  const unclear = status?.not_understood ?? [];
  if (unclear.length) {
    const what = `This page does not understand what the rig says now of ${unclear.join(", ")}`;
    return `${what}. What stands here of it may be old: update this page, and go by the instruments until then.`;
  }
  const names = status?.left_out ?? [];
  if (!names.length) return "";
  const what = `The rig no longer proposes all that its instruments show (failed: ${names.join(", ")})`;
  return `${what}. Readings, warnings and the record go on. Have it read its configuration again; its log says more.`;
}

/**
 * Whether what is shown is not on the disk, as the daemon itself or the newest pack says.
 * @param {Pick<Way, "status" | "frame">} view
 * @returns {NotSaved | null}
 */
export const notSaved = ({ status, frame }) => status?.not_saved ?? (frame && !frame.saved ? {} : null);

/**
 * What the header says of the disk: mood, icon, words.
 * @param {string} wrong
 * @param {number | null} savedFor
 * @param {number} packs
 * @returns {[string, string, string]}
 */
export function savedStatus(wrong, savedFor, packs) {
  if (wrong || savedFor === null) return ["bad", "cross", wrong || "Nothing saved yet"];
  const ago = `Saved ${savedFor.toFixed(1)} s ago`;
  return packs ? ["care", "warning", `${ago}, ${packs} packs lost`] : ["good", "check", ago];
}

// What is wrong with the page's data. That it is not saved is told whatever else is wrong, with where, why and the cure.
/**
 * @param {HTMLElement} holder
 * @param {{ wrong: string, unsaved: NotSaved | null, packs: number }} view
 */
export function writeAlarm(holder, { wrong, unsaved, packs }) {
  const key = JSON.stringify([wrong, unsaved, packs]);
  if (holder.dataset.shown === key) return;
  holder.dataset.shown = key;
  holder.classList.toggle("not-saved", Boolean(unsaved));
  const lines = unsaved ? notSavedLines(unsaved, packs) : [];
  const others = wrong && wrong !== "NOT SAVED" ? [element("p", "", wrong)] : [];
  holder.replaceChildren(...lines, ...others);
}

/**
 * @param {NotSaved} unsaved
 * @param {number} packs
 */
function notSavedLines({ path, reason, cure, since_s: since }, packs) {
  const head = ["NOT SAVED", since ? ` since ${clock(since)}` : "", packs ? ` · ${packs} packs lost` : ""].join("");
  const why = reason ? [element("p", "", element("code", "", path ?? ""), `: ${reason}.`)] : [];
  return [
    element("p", "head", head),
    ...why,
    ...(cure ? [element("p", "", element("strong", "", "Do this: "), cure)] : []),
  ];
}
