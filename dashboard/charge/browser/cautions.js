// What to beware of: unfolded until it has been read on this visit, and again when a step adds what was not.

import { element, fill, iconOf, place, unbroken } from "../../shared/browser/writing.js";

const FIRST = 4; // calc lists them in the order of the harm: what kills first, live parts and fire together
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

// The worst stand open; the rest is folded behind one line.
/** @type {(cautions: string[]) => { worst: string[], rest: string[] }} */
export const parted = (cautions) => ({ worst: cautions.slice(0, FIRST), rest: cautions.slice(FIRST) });

// What the browser keeps once these have been read, beside what was read on this visit before.
/**
 * @param {string | undefined} visit
 * @param {string | null} kept
 * @param {string[]} cautions
 */
export const keptOnceRead = (visit, kept, cautions) =>
  JSON.stringify({ visit, texts: [...new Set([...readOn(visit, kept), ...cautions])] });

// Unfolded while one of them has not been read.
/** @type {(cautions: string[], read: Set<string>) => boolean} */
export const standsOpen = (cautions, read) => unread(cautions, read).length > 0;

// What the line says behind which the rest is folded.
/** @type {(rest: string[], read: Set<string>) => string} */
export function moreText(rest, read) {
  const fresh = unread(rest, read).length;
  return `${rest.length} more${fresh && fresh < rest.length ? `, ${fresh} new` : ""}`;
}

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
  const read = readOn(about?.visit, localStorage.getItem(STORE));
  const { worst, rest } = parted(cautions);
  list("cautions", worst);
  list("cautions-rest", rest);
  place("cautions-folded").hidden = !rest.length;
  fill("cautions-more", moreText(rest, read));
  fill("cautions-count", `${cautions.length} cautions`);
  holder.open = standsOpen(cautions, read);
  tellState(holder);
}

/**
 * @param {string} name
 * @param {string[]} texts
 */
function list(name, texts) {
  const rows = texts.map((text) => element("li", "", iconOf("warning"), element("span", "", unbroken(text))));
  place(name).replaceChildren(...rows);
}

/**
 * @param {Event} event
 * @param {HTMLDetailsElement} holder
 * @param {string | undefined} visit
 * @param {string[]} cautions
 */
function fold(event, holder, visit, cautions) {
  if (
    !holder.open ||
    !(event.target instanceof Element && event.target.closest("summary") === holder.firstElementChild)
  )
    return;
  localStorage.setItem(STORE, keptOnceRead(visit, localStorage.getItem(STORE), cautions));
}

/** @param {HTMLDetailsElement} holder */
function tellState(holder) {
  fill("cautions-state", holder.open ? "Fold" : "Show");
}
