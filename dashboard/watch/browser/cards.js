// The cards of the rigs, in the order in which they need a lead: each keeps its place in the page while it keeps its rank.

import { agedText, clock, element, iconOf } from "../../shared/browser/writing.js";
import { smallRuler } from "./small_ruler.js";

/**
 * @typedef {object} Ruler
 * @property {string} unit
 * @property {Record<string, [number | null, number | null]>} values Each with its ±.
 * @property {Record<string, number>} targets
 * @property {Record<string, string>} steadiness
 */
/**
 * @typedef {object} Card
 * @property {string} rig
 * @property {string} tag
 * @property {string} place
 * @property {string} who
 * @property {boolean} simulated
 * @property {boolean} played
 * @property {number} rank The least needs a lead first.
 * @property {string} kind
 * @property {string} word
 * @property {string} says
 * @property {number | null} since
 * @property {{ says: string, at: number | null } | null} ahead
 * @property {{ word: string, says: string }[]} also
 * @property {{ says: string, text: string, time: number } | null} answered
 * @property {boolean} not_saved
 * @property {Ruler | null} ruler
 */
/** @typedef {{ card: Card, behindAt: number | null }} Known behindAt: when its figures were made, by performance.now(). */

/** @type {Record<string, string>} */
const ICONS = {
  stop: "warning",
  asked: "note",
  against: "cross",
  refused: "cross",
  stuck: "wait",
  silent: "unknown",
  soon: "check",
  going: "check",
  concern: "warning",
  over: "close",
};
const BEHIND_TELLS_S = 5;

/**
 * In the order in which they need a lead; of two alike, who has waited longer comes first.
 * @param {Iterable<Known>} all
 */
export const inOrder = (all) =>
  [...all].sort(
    ({ card: a }, { card: b }) =>
      a.rank - b.rank || (a.since ?? Infinity) - (b.since ?? Infinity) || a.rig.localeCompare(b.rig),
  );

/**
 * @typedef {object} Count
 * @property {number} shown
 * @property {number} heard
 * @property {number} needy Of all, how many need a lead now.
 * @property {number} left Heard of, and not kept; none of them needed a lead as long as there was room.
 */

/**
 * How many rigs there are and are shown, and how many of them need a lead.
 * @param {Count} count
 */
export function countText({ shown, heard, needy, left }) {
  const rigs = shown < heard ? `${shown} of ${heard} rigs shown` : `${heard} rig${heard === 1 ? "" : "s"}`;
  const need = needy ? `: ${needy} need${needy === 1 ? "s" : ""} you now` : ", none needs you now";
  return `${rigs}${need}${left ? `; ${left} more than this page keeps` : ""}`;
}

/** @param {number | null} at When figures were made, by performance.now(). */
export const behindText = (at) => {
  if (at === null) return "No figures yet";
  return `${agedText(Math.max(0, (performance.now() - at) / 1000))} behind`;
};

/**
 * Write the cards that changed, and put all in order.
 * @param {HTMLElement} holder
 * @param {Known[]} all In order.
 */
export function writeCards(holder, all) {
  for (const [place, { card, behindAt }] of all.entries()) {
    const id = `rig-${card.rig}`;
    const item = document.getElementById(id) ?? element("li", "rig-card");
    item.id = id;
    const width = item.clientWidth;
    const key = JSON.stringify([card, width]);
    if (item.dataset.shown !== key) {
      item.dataset.shown = key;
      item.dataset.kind = card.kind;
      write(item, card);
    }
    writeBehind(item, behindAt, card.kind);
    if (holder.children[place] !== item) holder.insertBefore(item, holder.children[place] ?? null);
  }
  while (holder.children.length > all.length) holder.lastElementChild?.remove();
}

/**
 * @param {HTMLElement} item
 * @param {number | null} at
 * @param {string} kind
 */
function writeBehind(item, at, kind) {
  const behind = item.querySelector(".behind");
  if (!behind) return;
  const said = behindText(at);
  if (behind.textContent !== said) behind.textContent = said;
  const old = kind === "silent" || at === null || performance.now() - at > 1000 * BEHIND_TELLS_S;
  item.classList.toggle("old", old);
}

// The keys stay the same elements, so that a touch or a focus on one outlasts a change of the card.
/**
 * @param {HTMLElement} item
 * @param {Card} card
 */
function write(item, card) {
  const keys = item.querySelector(".rig-keys") ?? keysOf(card.rig);
  const since = card.since === null ? [] : [element("span", "since", `since ${clock(card.since)}`)];
  const head = element("p", "band", iconOf(ICONS[card.kind] ?? "unknown"), ` ${card.word} `, ...since);
  const unreal = card.simulated ? "Bench" : card.played ? "Played" : "";
  const names = element("h2", "rig-tag", card.tag, ...(unreal ? [element("span", "bench", unreal)] : []));
  const whose = element("p", "rig-place", [card.who, card.place].filter(Boolean).join(" · "));
  const lines = [
    element("p", "rig-says", card.says),
    ...(card.answered
      ? [
          element(
            "p",
            "rig-answered",
            iconOf("note"),
            ` ${card.answered.says} ${clock(card.answered.time)}: ${card.answered.text}`,
          ),
        ]
      : []),
    ...(card.not_saved ? [element("p", "rig-unsaved", iconOf("warning"), " NOT SAVED")] : []),
    ...card.also.map(({ word, says }) => element("p", "rig-also", element("strong", "", `${word}: `), says)),
    ...(card.ahead ? [element("p", "rig-next", element("strong", "", "Next: "), aheadText(card.ahead))] : []),
  ];
  const ruler = element("div", "small-ruler");
  if (card.ruler) ruler.innerHTML = smallRuler(card.ruler, Math.max(240, (item.clientWidth || 320) - 32));
  const foot = element("div", "rig-foot", element("p", "behind"), keys);
  item.replaceChildren(head, names, whose, ...lines, ruler, foot);
}

/** @param {{ says: string, at: number | null }} ahead */
export const aheadText = ({ says, at }) => (at === null ? says : `${says} about ${clock(at)}`);

/** @param {string} rig */
function keysOf(rig) {
  const link = (/** @type {string} */ words, /** @type {string} */ to, looks = "") => {
    const made = element("a", `button ${looks}`, words);
    made.href = `/rig/${encodeURIComponent(rig)}/${to}`;
    return made;
  };
  return element("div", "rig-keys", link("Charge", ""), link("Visit", "visit", "button-main"));
}
