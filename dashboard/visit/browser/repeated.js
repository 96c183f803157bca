// What a card asks for several times, such as of each circuit of a unit: written out, each with a name of its own.

import { put, standsIn } from "./drafts.js";

export const COUNT = "count of what is repeated";

// Which one it is, in a path: `*`, or so many more or less than that.
/**
 * @param {string} path
 * @param {number} index
 */
const placed = (path, index) => path.replace(/\*([+-]\d+)?/g, (_, more) => String(index + Number(more ?? 0)));

/**
 * @param {VisitCard} card
 * @param {import("./drafts.js").Draft} draft
 */
export function countOf({ repeats }, draft) {
  return Number(draft[COUNT]?.[0] ?? repeats?.least ?? 0);
}

// A card with the fields of all that it repeats among its own, and the keys that fit.
/**
 * @param {VisitCard} card
 * @param {import("./drafts.js").Draft} draft
 * @returns {VisitCard}
 */
export function expanded(card, draft) {
  const plain = card.plain ?? card;
  const { repeats } = plain;
  if (!repeats) return plain;
  const count = countOf(plain, draft);
  /** @type {VisitField[]} */
  const added = [];
  for (let number = 0; number < count; number += 1) {
    added.push(...repeats.fields.map((field) => writtenOut(field, number, repeats.first + number, added, draft)));
  }
  const fields = [...plain.fields.slice(0, repeats.at), ...added, ...plain.fields.slice(repeats.at)];
  const fit = plain.keys.filter(({ adds }) => adds === 0 || (adds > 0 ? count < repeats.most : count > repeats.least));
  const keys = fit.map((key) => (key.ask ? { ...key, body: withSets(key.body, repeats, count) } : key));
  return { ...plain, fields, keys, plain };
}

/**
 * @param {VisitField} field
 * @param {number} number
 * @param {number} index
 * @param {VisitField[]} before
 * @param {import("./drafts.js").Draft} draft
 * @returns {VisitField}
 */
function writtenOut(field, number, index, before, draft) {
  const named = String(index + 1);
  const last = field.like ? before.find(({ name }) => name === `${field.name} ${number - 1}`) : undefined;
  return {
    ...field,
    name: `${field.name} ${number}`,
    label: field.label.replace("*", named),
    value: last ? (standsIn(last, draft)[0] ?? "") : field.value.replace("*", named),
    into: placed(field.into, index),
    also: field.also.map((path) => placed(path, index)),
  };
}

/**
 * @param {Record<string, any>} body
 * @param {VisitRepeat} repeats
 * @param {number} count
 */
function withSets(body, { sets, first }, count) {
  const whole = structuredClone(body);
  for (let index = first; index < first + count; index += 1) {
    for (const [path, value] of Object.entries(sets)) {
      put(whole, placed(path, index), value.replace("*", index ? ` ${index + 1}` : ""));
    }
  }
  return whole;
}
