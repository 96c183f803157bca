// A lead points at a moment of the trace: the note that they then send is about it, and hangs there for the technician.

import { tellDash } from "../../shared/browser/controls.js";
import { clockToTheSecond, find } from "../../shared/browser/writing.js";
import { momentAt } from "./charts.js";

const STORE = "note-at"; // as dashboard/ids.py has it

/** @type {{ at: number | null }} at: the moment, by the rig's clock [s since 1970]. */
export const pointed = { at: null };

/** @param {number | null} at */
function point(at) {
  pointed.at = at;
  tellDash(STORE, at === null ? null : { at });
  const key = find("pointed");
  if (!key) return;
  key.hidden = at === null;
  key.textContent = at === null ? "" : `About ${clockToTheSecond(at)} ×`;
  key.setAttribute("aria-label", `The note is about ${at === null ? "" : clockToTheSecond(at)}. Take that back`);
}

/**
 * @param {HTMLElement} traces
 * @param {() => { now: number | null, minutes: number, end: number }} span What the traces show.
 * @param {() => void} redraw
 */
export function pointsAtMoments(traces, span, redraw) {
  const key = find("pointed"); // only who watches has it
  if (!key) return;
  traces.classList.add("pointable");
  traces.addEventListener("click", ({ clientX }) => {
    const { left, width } = traces.getBoundingClientRect();
    point(momentAt(clientX - left, width, span()));
    redraw();
  });
  key.addEventListener("click", () => {
    point(null);
    redraw();
  });
}

// Once the note hangs there, the next one is about nothing yet.
/** @param {Marks | null} marks */
export function endPointing(marks) {
  if (pointed.at !== null && marks?.marks.some(({ kind, at }) => kind === "note" && at === pointed.at)) point(null);
}
