// What a person has entered and not yet recorded: kept in the browser, so that an interruption loses nothing.

import { chartText } from "./chart.js";
import { strokesOf } from "./strokes.js";

/** @typedef {Record<string, string[]>} Draft By the name of a field: what was entered; several where it may be several. */
/** @typedef {Record<string, string>} Taken By the name of a field: the figure that was taken from the link, as entered. */

const STORE = "visit-drafts";
const KEPT = 40; // drafts; the oldest go first

export class Drafts {
  /** @param {Pick<Storage, "getItem" | "setItem">} storage */
  constructor(storage) {
    this.storage = storage;
    this.visit = "";
    /** @type {Map<string, { draft: Draft, taken: Taken }>} */
    this.known = new Map();
  }

  // Begin with what was kept for a visit; another visit begins empty.
  /** @param {string} visit */
  open(visit) {
    if (visit === this.visit) return;
    this.visit = visit;
    const kept = JSON.parse(this.storage.getItem(STORE) ?? "null");
    this.known = new Map(kept?.visit === visit ? kept.drafts : []);
  }

  /** @param {string} card */
  of(card) {
    return this.known.get(card) ?? { draft: {}, taken: {} };
  }

  /**
   * @param {string} card
   * @param {string} field
   * @param {string[]} values
   * @param {boolean} [fromLink]
   */
  set(card, field, values, fromLink = false) {
    const { draft, taken } = this.of(card);
    this.known.delete(card);
    const others = Object.entries(taken).filter(([name]) => name !== field);
    const now = fromLink ? [...others, [field, values[0] ?? ""]] : others;
    this.known.set(card, { draft: { ...draft, [field]: values }, taken: Object.fromEntries(now) });
    this.keep();
  }

  /** @param {string} card */
  clear(card) {
    this.known.delete(card);
    this.keep();
  }

  keep() {
    const drafts = [...this.known].slice(-KEPT);
    this.storage.setItem(STORE, JSON.stringify({ visit: this.visit, drafts }));
  }
}

// Where a draft keeps which photograph answered a field.
/** @param {string} name */
export const shownBy = (name) => `shown ${name}`;

// What stands in a field: what was entered, else what it begins with, else what is usual, which is read before it is
// recorded; what was looked at is usual only beside its photograph. What somebody let go of again is empty.
/**
 * @param {VisitField} field
 * @param {Draft} draft
 * @returns {string[]}
 */
export const standsIn = (field, draft) => draft[field.name] ?? [field.value || usualOf(field, draft)].filter(Boolean);

// Whether a field that may be left out is asked for by what stands in the card's others, or in none of them: by a choice
// and by a figure, where it names both.
/**
 * @param {VisitField} field
 * @param {VisitField[]} fields
 * @param {Draft} draft
 */
export function isNeeded({ needed_with, needed_without }, fields, draft) {
  const stands = (/** @type {string} */ name) => {
    const field = fields.find((it) => it.name === name);
    const there = field ? standsIn(field, draft).filter((value) => value.trim()) : [];
    return there.length || !field?.held ? there : [field.held];
  };
  const beside = Object.entries(needed_with ?? {});
  const byChoice = beside.filter(([, values]) => values.length);
  const byFigure = beside.filter(([, values]) => !values.length);
  const asks = [byChoice, byFigure].filter((kind) => kind.length);
  const isBeside = asks.every((kind) =>
    kind.some(([name, values]) => stands(name).some((value) => !values.length || values.includes(value))),
  );
  const isInPlace = Boolean(needed_without?.length && needed_without.every((name) => !stands(name).length));
  return (asks.length > 0 && isBeside) || isInPlace;
}

const DAY_MS = 86_400_000;

/**
 * @param {VisitField} field
 * @param {Draft} draft
 */
function usualOf({ usual, by_eye, days }, draft) {
  if (by_eye && !draft.photographs?.length) return "";
  return usual === "days" ? dateIn(days[0] ?? 0) : usual;
}

// The date so many days from today, as the trade's forms have it (ISO 8601).
/**
 * @param {number} days
 * @param {number} [now]
 */
export function dateIn(days, now = Date.now()) {
  const then = new Date(now + days * DAY_MS);
  return [then.getFullYear(), then.getMonth() + 1, then.getDate()]
    .map((part) => String(part).padStart(2, "0"))
    .join("-");
}

// The fields that must be filled in and are not.
/**
 * @param {VisitField[]} fields
 * @param {Draft} draft
 */
export const missing = (fields, draft) =>
  fields.filter(
    (field) =>
      field.needed &&
      !standsIn(field, draft).some((value) =>
        field.kind === "chart" ? field.value || chartText(value) : value.trim(),
      ),
  );

// How what is entered is known, the weakest that holds: read off a display, a photograph, somebody's word; measured only
// where every number came from the link.
/**
 * @param {VisitField[]} fields
 * @param {{ draft: Draft, taken: Taken }} entered
 */
export function gradeOf(fields, { draft, taken }) {
  const filled = fields.filter((field) => standsIn(field, draft).some((value) => value.trim()));
  const numbers = filled.filter(({ kind }) => kind === "number");
  if (numbers.length) return numbers.every(({ name }) => name in taken) ? "measured" : "typed";
  return filled.some(({ kind }) => kind === "photographs") ? "seen" : "said";
}

// The grade of the whole, and of each number that came from the link beside typed ones.
/**
 * @param {VisitField[]} fields
 * @param {{ draft: Draft, taken: Taken }} entered
 * @param {boolean} withValues
 */
function gradesOf(fields, entered, withValues) {
  const grade = gradeOf(fields, entered);
  const linked = fields.filter(({ kind, name }) => kind === "number" && name in entered.taken).map(({ name }) => name);
  if (grade !== "typed" || !withValues || !linked.length) return { grade };
  return { grade, grades: Object.fromEntries(linked.map((name) => [name, "measured"])) };
}

// A number alone counts in the unit beside it; one with a unit of its own stays as it was written. Beside % so does a
// number up to 1: the server tells a share from percent.
/**
 * @param {string} text
 * @param {string} unit
 */
export function withUnit(text, unit) {
  const written = text.trim().replace(/^−/, "-");
  if (!unit || !/^[+-]?\d+(?:[.,]\d*)?$/.test(written)) return written;
  const number = written.replace(",", ".");
  return unit === "%" && Number(number) <= 1 ? number : `${number} ${unit}`;
}

/**
 * @param {VisitField} field
 * @param {string} value
 */
const asWritten = ({ kind, unit }, value) =>
  kind === "number" ? withUnit(value, unit) : kind === "chart" ? chartText(value) || unit : value.trim();

// The part of a body that a path names, such as "fields.values"; made where it is not there yet.
/**
 * @param {Record<string, any>} body
 * @param {string} path
 * @returns {Record<string, any>}
 */
export function partOf(body, path) {
  let part = body;
  for (const name of path ? path.split(".") : []) {
    part[name] ??= {};
    part = part[name];
  }
  return part;
}

// What a key asks for, with what stands in the fields.
/**
 * @param {VisitKey} key
 * @param {VisitField[]} fields
 * @param {{ draft: Draft, taken: Taken }} entered
 * @returns {Record<string, any>}
 */
export function bodyOf(key, fields, entered) {
  /** @type {Record<string, any>} */
  const body = structuredClone(key.body);
  if (key.grades) Object.assign(partOf(body, "fields"), gradesOf(fields, entered, !key.bare));
  if (key.bare) return body;
  for (const field of fields) {
    if (field.kind === "chart" && !entered.draft[field.name]) continue; // what is known stays as it was read
    const values = standsIn(field, entered.draft)
      .map((value) => asWritten(field, value))
      .filter(Boolean);
    if (!values.length) continue;
    const photograph = entered.draft[shownBy(field.name)]?.[0];
    if (photograph) partOf(body, "fields.by_photograph")[field.to] = photograph;
    if (field.quantity) written(body, field, values[0] ?? "");
    else partOf(body, field.into)[field.to] = sentAs(field, values);
    for (const path of field.also ?? []) put(body, path, sentAs(field, values));
  }
  if (body.fields?.builds_on && (body.fields.part ?? "") !== (key.body.fields.part ?? "")) {
    delete body.fields.builds_on; // of another part: nothing of this one is held beside it
  }
  return body;
}

/**
 * @param {VisitField} field
 * @param {string[]} values
 */
function sentAs({ kind, several, had }, values) {
  if (kind === "signature") return strokesOf(values[0] ?? "");
  if (kind === "spot") return (values[0] ?? "").split(" ").map(Number);
  return several ? [...(had ?? []), ...values] : values[0];
}

/**
 * @param {Record<string, any>} body
 * @param {string} path
 * @param {any} value
 */
export function put(body, path, value) {
  const [, way = "", name = ""] = /^(?:(.*)\.)?([^.]+)$/.exec(path) ?? [];
  partOf(body, way)[name] = value;
}

// Put one body into another, part by part.
/**
 * @param {Record<string, any>} body
 * @param {Record<string, any>} more
 * @returns {Record<string, any>}
 */
export function joined(body, more) {
  const whole = { ...body };
  for (const [name, value] of Object.entries(more)) {
    const isPart = value !== null && typeof value === "object" && !Array.isArray(value);
    whole[name] = isPart ? joined(whole[name] ?? {}, value) : value;
  }
  return whole;
}

// The form that a key opens: its keys ask for what was entered before, too, and a field may begin with that.
/**
 * @param {VisitCard} card
 * @param {VisitKey} key
 * @param {{ draft: Draft, taken: Taken }} entered
 * @returns {VisitCard | null}
 */
export function opened(card, key, entered) {
  if (!key.opens) return null;
  const before = bodyOf(key, card.fields, entered);
  const keys = key.opens.keys.map((each) => ({ ...each, body: joined(before, each.body) }));
  const fields = key.opens.fields.map((field) => {
    const like = card.fields.find(({ name }) => name === field.like);
    return like ? { ...field, value: standsIn(like, entered.draft)[0] ?? "" } : field;
  });
  return { ...key.opens, id: `${card.id} ${key.opens.id}`, of: card.id, fields, keys };
}

const PLAIN = "number";

// A number goes as it was written, with what it is of and where it belongs: the server reads the trade's notation.
/**
 * @param {Record<string, any>} body
 * @param {VisitField} field
 * @param {string} text
 */
function written(body, { into, to, quantity }, text) {
  const path = [...into.split(".").slice(1), to].join("/");
  partOf(body, "written")[path] = [text, quantity === PLAIN ? "" : quantity];
}
