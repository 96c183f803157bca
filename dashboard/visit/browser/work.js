// The work card: a line for each group of checks, punched as they are answered; and the check that is open.

import { clock, element, iconOf, unbroken } from "../../shared/browser/writing.js";
import { isNeeded } from "./drafts.js";

/** @param {VisitRow} row */
const signOf = (row) => {
  const sign = element("span", `punch punch-${row.outcome || (row.next ? "next" : "open")}`);
  if (row.icon) sign.append(iconOf(row.icon));
  sign.setAttribute("aria-hidden", "true");
  return sign;
};

// Which check stands open: the one that a person opened, or has begun; else the next.
/**
 * @param {VisitRow[]} rows
 * @param {string} opened
 * @param {(id: string) => boolean} isBegun
 * @returns {VisitRow | undefined}
 */
export function standing(rows, opened, isBegun) {
  return (
    rows.find(({ id }) => id === opened) ??
    rows.find(({ id, outcome }) => !outcome && isBegun(id)) ??
    rows.find(({ next }) => next)
  );
}

const PHASES = "chosen phases"; // the answer that itself makes the legs of three phases asked for

/**
 * What is so of the visit, with what was just answered in a card and is not recorded yet.
 * @param {string[]} facts
 * @param {import("./drafts.js").Draft} draft
 * @returns {string[]}
 */
const factsWith = (facts, draft) =>
  draft[PHASES]?.includes("three") ? [...facts.filter((fact) => fact !== "single_phase"), "three_phase"] : facts;

// A field with what is usual of it now: nothing where the rig reads otherwise, and then it must be chosen.
/**
 * @param {VisitField} field
 * @param {string[]} so
 */
function withUsual(field, so) {
  const [, instead] = Object.entries(field.known_by ?? {}).find(([fact]) => so.includes(fact)) ?? [];
  if (instead) return { ...field, usual: instead, by_eye: false, is_known: true };
  if (!field.usual_when) return field;
  return so.includes(field.usual_when) ? { ...field, is_known: true } : { ...field, usual: "", by_eye: false };
}

// A field without the options that may not be said now: nobody has seen what only an open, dead panel shows.
/**
 * @param {VisitField} field
 * @param {string[]} so
 */
const withOptions = (field, so) =>
  field.offered_when ? { ...field, options: field.options.filter(([option]) => isOffered(field, option, so)) } : field;

/**
 * @param {VisitField} field
 * @param {string} option
 * @param {string[]} so
 */
function isOffered({ offered_when }, option, so) {
  const fact = offered_when?.[option];
  return !fact || so.includes(fact);
}

// The photographs that answer, as far as they are asked for now.
/**
 * @param {VisitField} field
 * @param {string[]} so
 */
const withShots = (field, so) =>
  field.shots?.length ? { ...field, shots: field.shots.filter(({ only }) => !only || so.includes(only)) } : field;

// A field with what may be said in it by a touch now.
/**
 * @param {VisitField} field
 * @param {Record<string, string>} says What is kept, with the words of its key.
 */
const withOffers = (field, says) => ({ ...field, offers: [...Object.keys(says), ...field.offers], says });

// A field as it stands beside what was chosen in the others: it opens where that asks for it, and what the rig has of it
// already is said. What is typed opens nothing under whoever types.
/**
 * @param {VisitField} field
 * @param {VisitField[]} fields
 * @param {import("./drafts.js").Draft} draft
 * @param {string} held
 */
function withNeed(field, fields, draft, held) {
  if (held) return { ...field, held, unfolded: false };
  const chosen = fields.filter(({ kind }) => kind === "choice").map(({ name }) => [name, draft[name] ?? []]);
  const isOpened = isNeeded({ ...field, needed_without: [] }, fields, Object.fromEntries(chosen));
  return { ...field, unfolded: field.unfolded || isOpened };
}

// The card of a row: that of its check, asked of its part or circuit, with what was found before on top.
/**
 * @param {VisitRow} row
 * @param {VisitChecks | null} checks
 * @param {string[]} facts What is so of the visit.
 * @param {string} units
 * @param {import("./drafts.js").Draft} [draft] What was entered in it.
 * @returns {VisitCard | null}
 */
export function cardFor(row, checks, facts, units, draft = {}) {
  const so = factsWith(facts, draft);
  const card = checks?.cards[row.card];
  if (!card) return null;
  const fields = { ...row.body, ...(row.goes_on ? { builds_on: row.goes_on } : {}) };
  const isOver = row.outcome && !row.next; // answered: skipped, what was found would be lost
  const fit = card.keys.filter(({ leaves, opens }) => (isOver ? opens?.id !== "skip" : !leaves));
  const keys = fit.map((key) => ({ ...key, body: { ...key.body, fields: { ...key.body.fields, ...fields } } }));
  const why = row.why[units === "si" ? 1 : 0] ?? "";
  const before = row.outcome ? [[row.said, row.grade].filter(Boolean).join(" · "), why].filter(Boolean) : [];
  const asked = card.fields
    .filter(({ only }) => !only || so.includes(only))
    .map((field) => withOptions(withShots(field, so), so))
    .map((field) => ({ ...withUsual(field, so), value: row.begins[field.name] ?? field.value }))
    .map((field) => withOffers(field, row.offers[field.name] ?? {}))
    .map((field) => (field.not_while && so.includes(field.not_while) ? { ...field, channels: [] } : field))
    .map((field) => (field.kind === "photographs" ? { ...field, about: { ...field.about, ...row.body } } : field));
  const held = (/** @type {string} */ name) => row.held?.[name]?.[units === "si" ? 1 : 0] ?? "";
  return {
    ...card,
    id: row.id,
    title: [row.place, card.title, row.of].filter(Boolean).join(" · "),
    says: [...(row.asks_now ?? []).map((each) => each[units === "si" ? 1 : 0] ?? ""), ...before, ...card.says],
    icon: row.icon,
    mood: row.mood,
    time: row.time,
    goes_on: row.goes_on !== "",
    fields: asked.map((field) => withNeed(field, asked, draft, held(field.name))),
    keys,
  };
}

// The card of a check on a visit that is signed: what was found is read, and nothing can be entered any more.
/**
 * @param {VisitCard} card
 * @returns {VisitCard}
 */
export const asSigned = (card) => ({ ...card, fields: [], keys: card.keys.filter(({ leaves }) => leaves) });

const MOST_LISTS = 3; // one after the other, so that nobody is held up by a line that they cannot answer yet
const MOST_PLACES = 3; // with what stands apart beside them

// The rows that stand together, in a list for each group: what is asked for, and can be answered by touches alone. What
// hands or a life hang on stands apart, alone below what is asked of its group before it and never hidden by that, such as
// that a panel is closed; what a person opened stands by itself.
/**
 * @param {VisitRow[]} rows
 * @param {string} opened
 * @param {(row: VisitRow) => boolean} canBe
 * @returns {VisitRow[][]}
 */
export function together(rows, opened, canBe) {
  /** @type {Map<string, VisitRow[]>} */
  const lists = new Map();
  const next = rows.find((row) => row.next);
  for (const row of rows) {
    if (!row.asked || row.id === opened) continue;
    if (row.apart) {
      if (!row.next && (lists.has(row.group) || row.group === next?.group)) lists.set(row.id, [row]);
    } else if (canBe(row)) {
      lists.set(row.group, [...(lists.get(row.group) ?? []), row]);
    }
  }
  let count = 0;
  return [...lists.values()].filter(([row]) => row?.apart || ++count <= MOST_LISTS).slice(0, MOST_PLACES);
}

const LIVE = "D"; // the first group of what is made with the power on
const POWER = "power_back";

// Whether a list is of a later group than what is in hand. Until the power is on, or back, each group follows another;
// from then on what waits for a reading, or for an answer that nobody has yet, holds up nothing.
/**
 * @param {VisitRow[]} list
 * @param {VisitRow | undefined} next
 * @param {VisitRow[]} rows
 */
export const isLater = ([first], next, rows) =>
  first !== undefined &&
  next !== undefined &&
  next.group < LIVE &&
  first.group > next.group &&
  !rows.some(({ card, outcome }) => card === POWER && outcome === "met");

// What is asked for before a list, and open: nothing comes before what only a pen is needed for.
/**
 * @param {VisitRow[]} list
 * @param {VisitRow[]} rows
 */
export const comesBefore = (list, rows) =>
  list.every(({ by_pen }) => by_pen)
    ? []
    : rows.filter((row) => row.asked && list.every(({ group }) => row.group < group));

/**
 * @param {HTMLElement} holder
 * @param {VisitTold} told
 * @param {string} shown The id of the row that stands open.
 * @param {(row: VisitRow) => void} open
 * @param {() => void} sign Goes to what ends the visit.
 */
export function writeWork(holder, told, shown, open, sign) {
  for (const [name, title] of told.groups) {
    const rows = told.rows.filter(({ group }) => group === name);
    const ends = endsWith(name, told);
    const key = JSON.stringify([rows, title, shown, ends]);
    const old = /** @type {HTMLDetailsElement | null} */ (holder.querySelector(`[data-group="${name}"]`));
    if (old?.dataset.shown === key) continue;
    const made = groupOf(name, title, rows, shown, open);
    made.dataset.shown = key;
    made.open = old?.open ?? false;
    if (ends) made.append(signKey(sign));
    if (old) old.replaceWith(made);
    else holder.append(made);
  }
}

// Whether the key that leads to the signature stands in a group: in the last, once all of it is answered.
/**
 * @param {string} name
 * @param {Pick<VisitTold, "groups" | "rows" | "closing">} told
 */
export const endsWith = (name, { groups, rows, closing }) =>
  closing.length > 0 &&
  name === groups.at(-1)?.[0] &&
  rows.every(({ group, outcome }) => group !== name || outcome !== "");

/** @param {() => void} sign */
function signKey(sign) {
  const key = element("button", "button key button-main", "Sign");
  key.type = "button";
  key.dataset.key = "sign";
  key.addEventListener("click", sign);
  return key;
}

/**
 * @param {string} name
 * @param {string} title
 * @param {VisitRow[]} rows
 * @param {string} shown
 * @param {(row: VisitRow) => void} open
 */
function groupOf(name, title, rows, shown, open) {
  const head = element(
    "summary",
    "",
    element("span", "group-letter", name),
    element("span", "group-title", title),
    element("span", "punches", ...rows.map(signOf)),
  );
  const list = element("ul", "rows", ...rows.map((row) => element("li", "", rowOf(row, shown, open))));
  const made = element("details", "group", head, list);
  made.dataset.group = name;
  return made;
}

/**
 * @param {VisitRow} row
 * @param {string} shown
 * @param {(row: VisitRow) => void} open
 */
function rowOf(row, shown, open) {
  const title = [row.title, row.of].filter(Boolean).join(" · ");
  const told = [row.said, row.grade, row.time === null ? "" : clock(row.time)].filter(Boolean).join(" · ");
  const made = element(
    "button",
    "row",
    signOf(row),
    element("span", "row-place", row.place),
    element("span", "row-title", title),
    element("span", `row-told ${row.mood}`, unbroken(told)),
  );
  made.type = "button";
  if (row.id === shown) made.setAttribute("aria-current", "step");
  made.addEventListener("click", () => open(row));
  return made;
}
