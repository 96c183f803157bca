// What to beware of: what bears on the step stands open whenever the step comes; what holds for the whole visit is
// unfolded until it has been read. Which is which, calc decides.

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

// What the line says behind which those of the whole visit are folded.
/** @type {(once: string[], read: Set<string>) => string} */
export function onceText(once, read) {
  const fresh = unread(once, read).length;
  return `${once.length} for the whole visit${fresh && fresh < once.length ? `, ${fresh} new` : ""}`;
}

/** @param {{ advice: Advice | null, about: About | null, silent: boolean }} view */
export function writeCautions({ advice, about, silent }) {
  const [holder, folded] = ["beware", "cautions-folded"].map(details);
  const now = advice?.cautions ?? [];
  const once = advice?.cautions_once ?? [];
  const visit = about?.visit;
  holder.classList.toggle("outdated", silent);
  holder.hidden = !now.length && !once.length;
  if (isNew(holder, [visit, now])) {
    list("cautions", now);
    fill("cautions-count", now.length === 1 ? "1 caution at this step" : `${now.length} cautions at this step`);
    holder.open = true;
    holder.ontoggle = () => tellState(holder);
    tellState(holder);
  }
  if (isNew(folded, [visit, once])) {
    const read = readOn(visit, localStorage.getItem(STORE));
    list("cautions-rest", once);
    fill("cautions-more", onceText(once, read));
    folded.hidden = !once.length;
    folded.open = standsOpen(once, read);
    folded.onclick = (event) => {
      if (folded.open && isHead(event, folded)) keep(visit, once);
    };
  }
}

/**
 * @param {HTMLElement} holder
 * @param {unknown} content
 */
function isNew(holder, content) {
  const key = JSON.stringify(content);
  const changed = holder.dataset.shown !== key;
  holder.dataset.shown = key;
  return changed;
}

/** @param {string} name */
const details = (name) => /** @type {HTMLDetailsElement} */ (place(name));

/**
 * @param {string} name
 * @param {string[]} texts
 */
function list(name, texts) {
  const rows = texts.map((text) => element("li", "", iconOf("warning"), element("span", "", unbroken(text))));
  place(name).replaceChildren(...rows);
}

/** @type {(event: Event, holder: HTMLDetailsElement) => boolean} */
const isHead = (event, holder) =>
  event.target instanceof Element && event.target.closest("summary") === holder.firstElementChild;

/**
 * @param {string | undefined} visit
 * @param {string[]} texts
 */
function keep(visit, texts) {
  localStorage.setItem(STORE, keptOnceRead(visit, localStorage.getItem(STORE), texts));
}

/** @param {HTMLDetailsElement} holder */
function tellState(holder) {
  fill("cautions-state", holder.open ? "Fold" : "Show");
}
