// What to beware of: unfolded until it has been read on this visit, and again when a step adds what was not.

import { element, fill, iconOf, place, unbroken } from "./writing.js";

const STORE = "cautions-read";

// The texts that were read on a visit, from what the browser keeps; another visit starts unread.
export function readOn(visit, kept) {
  const known = kept ? JSON.parse(kept) : null;
  return new Set(known && known.visit === visit ? known.texts : []);
}

export const unread = (cautions, read) => cautions.filter((text) => !read.has(text));

export function writeCautions({ advice, about, silent }) {
  const holder = place("beware");
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

function fold(event, holder, visit, cautions) {
  if (!holder.open || !event.target.closest("summary")) return;
  const read = readOn(visit, localStorage.getItem(STORE));
  localStorage.setItem(STORE, JSON.stringify({ visit, texts: [...new Set([...read, ...cautions])] }));
}

function tellState(holder) {
  fill("cautions-state", holder.open ? "Got it" : "Show");
}
