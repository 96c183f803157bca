// What to beware of: unfolded until it has been read on this visit, and again when a step adds what was not.

import { element, fill, iconOf, place, unbroken } from "../../shared/browser/writing.js";

const STORE = "cautions-read";

// The texts that were read on a visit, from what the browser keeps; another visit starts unread.
/**
 * @param {string | undefined} visit
 * @param {string | null} kept
 * @returns {Set<string>}
 */
export function readOn(visit, kept) {
  const known = kept ? JSON.parse(kept) : null;
  return new Set(known && known.visit === visit ? known.texts : []);
}

/** @type {(cautions: string[], read: Set<string>) => string[]} */
export const unread = (cautions, read) => cautions.filter((text) => !read.has(text));

/** @param {{ advice: Advice | null, about: About | null, silent: boolean }} view */
export function writeCautions({ advice, about, silent }) {
  const holder = /** @type {HTMLDetailsElement} */ (place("beware"));
  const cautions = advice?.cautions ?? [];
  const key = JSON.stringify([about?.visit, cautions]);
  holder.classList.toggle("outdated", silent);
  holder.hidden = !cautions.length;
  if (holder.dataset.shown === key) return;
  holder.dataset.shown = key;
  holder.onclick = (event) => fold(event, holder, about?.visit, cautions);
  holder.ontoggle = () => tellState(holder);
  place("cautions").replaceChildren(
    ...cautions.map((text) => element("li", "", iconOf("warning"), element("span", "", unbroken(text)))),
  );
  fill("cautions-count", `${cautions.length} cautions`);
  holder.open = unread(cautions, readOn(about?.visit, localStorage.getItem(STORE))).length > 0;
  tellState(holder);
}

/**
 * @param {Event} event
 * @param {HTMLDetailsElement} holder
 * @param {string | undefined} visit
 * @param {string[]} cautions
 */
function fold(event, holder, visit, cautions) {
  if (!holder.open || !(event.target instanceof Element && event.target.closest("summary"))) return;
  const read = readOn(visit, localStorage.getItem(STORE));
  localStorage.setItem(STORE, JSON.stringify({ visit, texts: [...new Set([...read, ...cautions])] }));
}

/** @param {HTMLDetailsElement} holder */
function tellState(holder) {
  fill("cautions-state", holder.open ? "Got it" : "Show");
}
