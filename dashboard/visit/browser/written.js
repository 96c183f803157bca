// What a check would record as it stands, in words: what was entered, what is usual, what the link shows just now.

import { agedText, figure, notOfHere, plusMinus, ranged } from "../../shared/browser/writing.js";
import { isNeeded, standsIn, withUnit } from "./drafts.js";

/** @typedef {{ draft: import("./drafts.js").Draft, taken: import("./drafts.js").Taken }} Entered */

/**
 * @typedef {object} Written
 * @property {[string, string][]} says What stands in the fields that are folded: of each its label, and its words.
 * @property {[string, string][]} away What the link shows and is not of here and now: of each its label, and why.
 * @property {VisitField[]} open What is asked for, and stands nowhere.
 * @property {[string, string][]} fails What stands without a touch and makes the check not met, likewise in words.
 * @property {Entered} entered What was entered, with what the link shows.
 */

// Whether a field stands without a touch, or would beside a photograph, so that it is folded and said in words; what must
// be chosen stands open.
/** @param {VisitField} field */
export const isFolded = (field) =>
  field.kind !== "photographs" &&
  !field.unfolded &&
  (field.optional || field.live || field.by_eye || Boolean(field.held) || standsIn(field, {}).length > 0);

// The fields that are folded and asked for all the same, which are drawn in the open: all that is demanded for the record is
// seen without a touch. What a photograph answers, whose key stands in the open, is so once something was answered without
// one, or nothing else is left.
/**
 * @param {VisitField[]} open
 * @param {import("./drafts.js").Draft} draft
 */
export function demanded(open, draft) {
  const isLeft = Object.keys(draft).length > 0 || open.every(({ by_eye, kind }) => by_eye || kind === "photographs");
  return open.filter((field) => isFolded(field) && (isLeft || !field.by_eye));
}

// Whether a field can be answered without typing, or is asked for only by an answer that can, and then where that was.
/** @param {VisitField} field */
const canBeTouched = (field) =>
  isFolded(field) ||
  Object.values(field.needed_with ?? {}).some((values) => values.length > 0) ||
  ["choice", "photographs"].includes(field.kind) ||
  (field.kind === "text" && field.offers.length > 0);

// Whether a check can stand among others in one list, to be answered by touches alone.
/** @param {VisitCard | null} card */
export const canBeGathered = (card) => card?.fields.every(canBeTouched) ?? false;

/**
 * @param {VisitCard} card
 * @param {Entered} entered
 * @param {Read} read
 * @returns {Written}
 */
export function written({ fields, goes_on }, { draft, taken }, read) {
  /** @type {Written} */
  const made = { says: [], away: [], open: [], fails: [], entered: { draft: { ...draft }, taken: { ...taken } } };
  for (const field of fields) {
    if (field.kind === "photographs") {
      if (!goes_on && isAskedFor(field, fields, draft)) made.open.push(field);
      continue;
    }
    const stands = standsIn(field, draft).filter((value) => value.trim());
    const shown = stands.length || !field.live ? null : shownBy(field, read);
    const why = notOfHere(shown);
    const live = why ? null : shown;
    if (shown && why) made.away.push([field.label, why]);
    if (live) {
      const text = `${figure(live).replace("−", "-")} ${live.unit}`;
      made.entered.draft[field.name] = [text];
      made.entered.taken[field.name] = text;
      made.says.push([field.label, told(live)]);
    } else if (stands.length) {
      const words = stands.map((value) => worded(field, value)).join(", ");
      if (isFolded(field)) made.says.push([field.label, words]);
      const fails = !draft[field.name]?.length && stands.some((value) => field.fails?.includes(value));
      if (fails) made.fails.push([field.label, words]);
    } else if (field.held) {
      made.says.push([field.label, field.held]);
    } else if (!field.optional || isNeeded(field, fields, draft)) {
      made.open.push(field);
    }
  }
  return made;
}

// Whether a photograph is asked for by what stands: an answer that counts only beside one.
/**
 * @param {VisitField} photographs
 * @param {VisitField[]} fields
 * @param {import("./drafts.js").Draft} draft
 */
const isAskedFor = (photographs, fields, draft) =>
  !draft[photographs.name]?.length &&
  fields.some((field) => standsIn(field, draft).some((value) => field.photographed.includes(value)));

// Whether what was touched and photographed, and what the rig knows, answers all that is asked of a card: nothing of it is
// merely usual, and left to a key that says so. would: the names of fields that are taken for answered besides.
/**
 * @param {VisitCard} card
 * @param {Entered} entered
 * @param {Read} read
 * @param {string[]} [would]
 */
export function isAllAnswered(card, entered, read, would = []) {
  const { open } = written(card, entered, read);
  if (open.some(({ name, kind }) => kind !== "photographs" && !would.includes(name))) return false;
  return card.fields.every(
    (field) =>
      field.kind === "photographs" ||
      would.includes(field.name) ||
      !field.usual ||
      field.value !== "" ||
      field.is_known ||
      Boolean(entered.draft[field.name]?.length),
  );
}

// The names of the fields that photographs answer which are not taken yet.
/**
 * @param {VisitCard} card
 * @param {import("./drafts.js").Draft} draft
 */
export const stillShown = ({ fields }, draft) =>
  fields
    .flatMap(({ shots }) => (shots ?? []).flatMap(({ answers }) => Object.keys(answers)))
    .filter((name) => !draft[name]?.length);

// What the one channel of a field shows; of several nobody guesses which is meant.
/**
 * @param {VisitField} field
 * @param {Read} read
 */
function shownBy({ channels }, read) {
  const [first] = channels;
  const reading = channels.length === 1 && first ? read(first[0]) : null;
  return reading?.value != null ? ranged(reading) : null;
}

/** @param {Reading} reading */
const told = (reading) =>
  [figure(reading), plusMinus(reading), reading.unit, `(${agedText(reading.age)} ago)`].filter(Boolean).join(" ");

/**
 * @param {VisitField} field
 * @param {string} value
 */
const worded = ({ kind, options, unit }, value) =>
  kind === "choice"
    ? (options.find(([name]) => name === value)?.[1] ?? value)
    : kind === "number"
      ? withUnit(value, unit)
      : value;

// What one look finds: of several fields that are open, and that one look answers together, an answer to all of them.
/**
 * @param {VisitField[]} open
 * @returns {[VisitField[], string]} The fields, and what the key says of them; none where it is one at most.
 */
export function atAGlance(open) {
  const seen = open.filter(({ glance }) => glance);
  if (seen.length < 2) return [[], ""];
  return [seen, seen.map((field) => `${field.label}: ${worded(field, field.glance)}`).join(" · ")];
}

const MOST_KEYS = 9; // so many answers fit as keys under a list, as the causes of a part that failed do

/**
 * @typedef {[Record<string, string>, string]} Answer By the name of a field its value; and what the key says.
 */

// The answers to what is left open of a check: to one thing, or to what one look finds. Each records all of it by its
// touch, but for those that ask for more.
/**
 * @param {VisitField[]} open
 * @returns {Answer[]} None where more is open, or it is to be typed.
 */
export function lastAnswers(open) {
  const [last] = open;
  if (open.length > 1) {
    const [seen, says] = atAGlance(open);
    return seen.length === open.length
      ? [[Object.fromEntries(seen.map(({ name, glance }) => [name, glance])), says]]
      : [];
  }
  if (!last || last.several) return [];
  const answers = last.kind === "choice" ? last.options : last.offers.map((text) => [text, last.says?.[text] ?? text]);
  if (last.kind === "number" || answers.length > MOST_KEYS) return [];
  return answers.map(([value = "", says = ""]) => [{ [last.name]: value }, says]);
}

// What stands in a check beside an answer, and whether that asks for more.
/**
 * @param {VisitCard} card
 * @param {Record<string, string>} answer
 * @param {Entered} entered
 * @param {Read} read
 * @returns {{ entered: Entered, asksMore: boolean }}
 */
export function answered(card, answer, { draft, taken }, read) {
  const given = Object.fromEntries(Object.entries(answer).map(([field, value]) => [field, [value]]));
  const stands = written(card, { draft: { ...draft, ...given }, taken }, read);
  return { entered: stands.entered, asksMore: stands.open.length > 0 };
}
