// Several cards whose sentences say all that they record, as one list with one key for all of it. Each line opens, too.

import { clock, element, iconOf, unbroken } from "../../shared/browser/writing.js";
import { isFor, keysOf, resultOf } from "./cards.js";

const LEAST = 2; // of one there is nothing to gather

// Which cards one key may keep together, and which stand alone.
/**
 * @param {VisitCard[]} cards
 * @param {Set<string>} may
 * @returns {{ together: VisitCard[], alone: VisitCard[] }}
 */
export function gather(cards, may) {
  const together = cards.filter((card) => card.together && mainOf(card, may));
  if (together.length < LEAST) return { together: [], alone: cards };
  return { together, alone: cards.filter((card) => !together.includes(card)) };
}

// The key of a card that one key for all of them touches.
/**
 * @param {VisitCard} card
 * @param {Set<string>} may
 */
export const mainOf = ({ keys }, may) => keys.find((key) => key.main && key.ask && isFor(key, may));

// Write the list; it is drawn anew only when it has changed. What is open stays open.
/**
 * @param {HTMLElement} holder
 * @param {VisitCard[]} cards
 * @param {import("./cards.js").Hands} hands
 * @returns {boolean} Whether other lines stand there than before.
 */
export function writeGathered(holder, cards, hands) {
  const shown = JSON.stringify(cards);
  if (holder.dataset.shown === shown) return false;
  const open = [...holder.querySelectorAll(".line[open]")].map((line) => line.getAttribute("data-card"));
  holder.dataset.shown = shown;
  holder.replaceChildren(...(cards.length ? [listOf(cards, open, hands)] : []));
  return cards.length > 0;
}

/**
 * @param {VisitCard[]} cards
 * @param {(string | null)[]} open
 * @param {import("./cards.js").Hands} hands
 */
function listOf(cards, open, hands) {
  const title = element("h2", "", `Seen by the instruments: ${cards.length}`);
  const lines = cards.map((card) => lineOf(card, open.includes(card.id), hands));
  const all = element("button", "button key button-main", `Keep all ${cards.length}`);
  all.type = "button";
  all.dataset.key = "gathered all";
  all.addEventListener("click", () => hands.touchAll(cards));
  const made = element(
    "article",
    "card gathered",
    element("div", "card-head", title),
    element("div", "lines", ...lines),
    element("div", "card-keys", all),
    resultOf(),
  );
  made.dataset.card = "gathered";
  return made;
}

/**
 * @param {VisitCard} card
 * @param {boolean} isOpen
 * @param {import("./cards.js").Hands} hands
 */
function lineOf(card, isOpen, hands) {
  const when = element("span", "card-when", card.time === null ? "" : clock(card.time));
  const said = element("span", "line-says", unbroken(card.says.join(" ")));
  const line = element("details", "line", element("summary", "", iconOf("check"), said, when), keysOf(card, hands));
  line.append(resultOf());
  line.dataset.card = card.id;
  line.open = isOpen;
  return line;
}
