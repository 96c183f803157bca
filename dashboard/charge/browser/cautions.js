// What to beware of: what bears on the step stands open until it has been read; what holds for the whole visit is
// one line, which says how many were not read. Which is which, calc decides.

import { keptOnceRead, nowText, READ, readOn, standsOpen, unread } from "../../shared/browser/read.js";
import { element, fill, iconOf, place, unbroken } from "../../shared/browser/writing.js";

// What the line says behind which those of the whole visit are folded.
/** @type {(once: string[], read: Set<string>) => string} */
export function onceText(once, read) {
  const fresh = unread(once, read).length;
  const state = fresh === 0 ? "" : fresh < once.length ? `, ${fresh} new` : ", unread";
  return `${once.length} for the whole visit${state}`;
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
    /** @type {HTMLElement} */ (holder.firstElementChild).hidden = !nowText(now);
    holder.open = standsOpen(now, readOn(visit, localStorage.getItem(READ)));
    holder.onclick = (event) => {
      if (holder.open && isHead(event, holder)) keep(visit, now);
    };
  }
  holder.ontoggle = () => tellState(holder, now, once);
  tellState(holder, now, once);
  if (isNew(folded, [visit, once])) {
    const read = readOn(visit, localStorage.getItem(READ));
    list("cautions-rest", once);
    fill("cautions-more", onceText(once, read));
    folded.hidden = !once.length;
    folded.classList.toggle("new", standsOpen(once, read));
    folded.open = false; // a form in which refrigerant is noted has them in the open until they are read
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
  localStorage.setItem(READ, keptOnceRead(visit, localStorage.getItem(READ), texts));
}

/**
 * What the line says behind which they are folded: the first words of the worst, how many, and those of the visit.
 * @param {string[]} now
 * @param {string[]} once
 */
export function foldedText(now, once) {
  const worst = now[0]?.includes(":") ? `${now[0].split(":")[0]} · ` : "";
  const visit = once.length ? ` · ${once.length} for the visit` : "";
  return now.length ? `${worst}${nowText(now)}${visit}` : "";
}

/**
 * @param {HTMLDetailsElement} holder
 * @param {string[]} now
 * @param {string[]} once
 */
function tellState(holder, now, once) {
  fill("cautions-state", holder.open ? "Fold" : "Show");
  fill("cautions-count", holder.open ? nowText(now) : foldedText(now, once));
}
