// Checks to answer: what stands of each in words, what is open as keys, and one key that records all of it as written.
// Nothing is recorded that is not read there: what is otherwise is opened, and answered in its place. An answer records the
// check that it is of, where it is the last one open there, and never another.

import { element, iconOf, unbroken } from "../../shared/browser/writing.js";
import { cautionsOf, fieldOf, isFor, keyOf, moreOf, resultOf, tableOf } from "./cards.js";
import { answered, atAGlance, demanded, isAllAnswered, isFolded, lastAnswers, stillShown, written } from "./written.js";

/** @typedef {import("./cards.js").Hands} Hands */
/** @typedef {import("./written.js").Written} Written */

/**
 * @typedef {object} Round
 * @property {string} id
 * @property {string} title
 * @property {string[]} says What is to be known first.
 * @property {VisitCard[]} cards
 */

const AFTER_MS = 500; // a key that has just come to stand under a finger is not touched by it

/** @param {VisitCard} card */
export const recordsWith = ({ keys }) => keys.find(({ main, ask }) => main && ask);

// Write the checks of a round, or one alone. They are drawn anew only when they have changed; what is open stays open.
/**
 * @param {HTMLElement} holder
 * @param {Round | null} round
 * @param {Hands} hands
 */
export function writeRound(holder, round, hands) {
  const shown = JSON.stringify([round, hands.drafts.visit]);
  const old = holder.firstElementChild;
  if (old?.getAttribute("data-shown") === shown || (!old && !round)) {
    old?.dispatchEvent(new Event("told"));
    return;
  }
  const open = [...holder.querySelectorAll("details[open]")].map(nameOf);
  const made = round ? roundOf(round, hands) : null;
  if (made) made.dataset.shown = shown;
  for (const details of made?.querySelectorAll("details.otherwise") ?? []) {
    if (open.includes(nameOf(details))) /** @type {HTMLDetailsElement} */ (details).open = true;
  }
  holder.replaceChildren(...(made ? [made] : []));
  if (old && made) keepFrom(made);
}

/** @param {Element} details */
const nameOf = (details) => `${details.closest("[data-card]")?.getAttribute("data-card")} ${details.className}`;

/**
 * @param {Round} round
 * @param {Hands} hands
 */
function roundOf(round, hands) {
  const [only] = round.cards;
  const single = round.cards.length === 1 && only?.id === round.id ? only : null;
  const mood = single?.mood ?? "";
  const title = element("h2", "", ...(single?.icon ? [iconOf(single.icon), " "] : []), round.title);
  const made = element("article", "card round", element("div", `card-head ${mood}`, title));
  made.dataset.card = round.id;
  made.append(...cautionsOf(joinedCautions(round.cards), hands.drafts.visit));
  made.append(...round.says.map((text) => element("p", "card-says care", iconOf("warning"), " ", unbroken(text))));
  const lines = round.cards.map((card) => lineOf(card, single !== null, hands));
  made.append(...lines.map(({ holder }) => holder));
  const foot = footOf(lines, single, hands);
  made.append(...foot.parts, ...(single ? [resultOf()] : []));
  const tell = () => {
    for (const line of lines) line.tell();
    foot.tell();
  };
  made.addEventListener("told", tell);
  for (const kind of ["click", "input"]) made.addEventListener(kind, () => queueMicrotask(tell));
  tell();
  return made;
}

// What to beware of at all of them, each thing once, the worst first whichever of them it is of. What one of them has for
// the whole visit may be of now at another, and what is folded at one may stand at another.
/** @param {Pick<VisitCard, "cautions" | "cautions_once" | "once">[]} cards */
export function joinedCautions(cards) {
  /** @type {Map<string, VisitCaution>} */
  const now = new Map();
  for (const caution of cards.flatMap((card) => card.cautions)) {
    const stands = caution.stands || (now.get(caution.says)?.stands ?? false);
    now.set(caution.says, { ...caution, stands });
  }
  const cautions = [...now.values()].sort((one, other) => one.harm - other.harm);
  const once = [...new Set(cards.flatMap((card) => card.cautions_once))].filter((caution) => !now.has(caution));
  const said = cards.length === 1 ? (cards[0]?.once ?? "") : `${once.length} for the whole visit`;
  return { cautions, cautions_once: once, once: said };
}

/**
 * @typedef {object} Line
 * @property {VisitCard} card
 * @property {HTMLElement} holder
 * @property {() => void} tell
 * @property {() => Written} stands As it was shown last.
 */

/**
 * @param {VisitCard} card
 * @param {boolean} single
 * @param {Hands} hands
 * @returns {Line}
 */
function lineOf(card, single, hands) {
  const now = () => written(card, hands.drafts.of(card.id), hands.read);
  let stands = now();
  const says = element("p", "stands");
  const unfolded = card.fields.filter((field) => !isFolded(field));
  const glance = glanceOf(card, hands);
  const first = unfolded.findIndex((field) => field.glance);
  const fields = unfolded.flatMap((field, index) => [
    ...(index === first ? [glance.key] : []),
    fieldOf(field, card, hands),
  ]);
  const folded = new Map(card.fields.filter(isFolded).map((field) => [field.name, fieldOf(field, card, hands)]));
  const [otherwise] = otherwiseOf(card, single, [...folded.values()], hands);
  const asked = element("div", "demanded");
  const holder = element("section", "round-line");
  const foot = single ? null : answersOf(card, hands);
  const taken = element("p", "round-told");
  if (!single) holder.append(element("h3", "", card.title));
  if (single) holder.append(...card.says.map((text) => element("p", "card-says", unbroken(text))));
  holder.append(...(card.tables ?? []).map(tableOf), says, ...fields, asked);
  if (otherwise) holder.append(otherwise);
  if (single && card.apprentice) holder.append(element("p", "apprentice", card.apprentice));
  holder.append(taken);
  if (foot) {
    holder.append(...foot.parts, resultOf());
    holder.dataset.card = card.id;
  }
  let isFirst = true;
  const unfold = () => {
    const places = demanded(stands.open, hands.drafts.of(card.id).draft).flatMap(({ name }) => folded.get(name) ?? []);
    const moved = places.filter((place) => place.parentElement !== asked);
    asked.append(...moved); // and they stay there: nothing goes from under who is typing
    if (moved.length && !isFirst) keepFrom(asked);
    isFirst = false;
  };
  const tell = () => {
    stands = now();
    unfold();
    glance.tell(stands.open);
    foot?.tell(stands, holder);
    const shots = stillShown(card, hands.drafts.of(card.id).draft);
    const isLast = shots.length > 0 && isAllAnswered(card, hands.drafts.of(card.id), hands.read, shots);
    taken.textContent = isLast ? "The last of these photographs records it." : "";
    const text = JSON.stringify([stands.says, stands.away]);
    if (says.dataset.text === text) return;
    says.dataset.text = text;
    says.replaceChildren(
      ...stands.says.flatMap(([label, value], index) => [
        ...(index ? [" · "] : []),
        `${label}: `,
        element("b", "", unbroken(value)),
      ]),
      ...stands.away.map(([label, why]) => element("span", "not-taken", `${label}: not taken, ${why}.`)),
    );
  };
  return { card, holder, tell, stands: () => stands };
}

// A key for what one look answers: it says all of it, and answers what of it is open, as a touch of each would.
/**
 * @param {VisitCard} card
 * @param {Hands} hands
 */
function glanceOf(card, hands) {
  /** @type {VisitField[]} */
  let seen = [];
  const key = element("button", "button key choice-key glance-key");
  key.type = "button";
  key.dataset.key = `${card.id} glance`;
  key.addEventListener("click", () => {
    for (const { name, glance } of seen) hands.drafts.set(card.id, name, [glance]);
    for (const group of key.parentElement?.querySelectorAll(".keys-grid") ?? [])
      group.dispatchEvent(new Event("entered"));
  });
  const tell = (/** @type {VisitField[]} */ open) => {
    const [fields, says] = atAGlance(open);
    seen = fields;
    key.hidden = !fields.length;
    if (says && key.textContent !== says) key.textContent = says;
  };
  return { key, tell };
}

// What stands without a touch, to be answered otherwise; and what may be noted or read besides.
/**
 * @param {VisitCard} card
 * @param {boolean} single
 * @param {HTMLElement[]} folded
 * @param {Hands} hands
 */
function otherwiseOf(card, single, folded, hands) {
  const told = single ? [] : card.says.map((text) => element("p", "card-says", unbroken(text)));
  if (!single && card.apprentice) told.push(element("p", "apprentice", card.apprentice));
  const more = card.more?.length ? [moreOf(card.more)] : [];
  const keys = single
    ? []
    : card.keys.filter((key) => isFor(key, hands.may) && !key.main).map((key) => keyOf(key, card, hands));
  const parts = [...folded, ...told, ...more, ...(keys.length ? [element("div", "card-keys", ...keys)] : [])];
  if (!parts.length) return [];
  const summary = element("summary", "", folded.length ? "Otherwise, or more" : "More");
  const made = element("details", "otherwise", summary, element("div", "card", ...parts));
  const { draft } = hands.drafts.of(card.id);
  made.open = card.fields.some((field) => isFolded(field) && field.name in draft);
  return [made];
}

// The keys of a line that answer the one thing which is left open of it, and record that check with the rest of it as
// written, unless the answer asks for more: a touch of them is of no other check.
/**
 * @param {VisitCard} card
 * @param {Hands} hands
 */
function answersOf(card, hands) {
  const told = element("p", "round-told");
  const keys = element("div", "card-keys");
  let shown = "";
  const tell = (/** @type {Written} */ stands, /** @type {HTMLElement} */ holder) => {
    const { open, fails } = stands;
    const may = card.keys.some((key) => key.main && isFor(key, hands.may));
    const answers = may ? asking(lastAnswers(open), card, hands) : [];
    const state = JSON.stringify([answers, open.map(({ name }) => name), stands.says.length > 0, fails]);
    if (state === shown) return;
    const isFirst = shown === "";
    shown = state;
    markAnswered(holder, card, answers.length ? open : []);
    told.textContent = [answers.length ? lastSaid(open, stands.says.length > 0) : "", notMetSaid(fails)]
      .join(" ")
      .trim();
    keys.replaceChildren(...answers.map((answer) => answerKey(answer, open, card, hands)));
    if (!isFirst) keepFrom(keys);
  };
  return { parts: [told, keys], tell };
}

// What stands there without a touch and makes the check not met, said beside the key that would record it so.
/** @param {[string, string][]} fails */
export const notMetSaid = (fails) =>
  fails.length ? `As written it is not met: ${fails.map(([label, words]) => `${label}: ${words}`).join("; ")}.` : "";

/**
 * @param {VisitField[]} open
 * @param {boolean} folds
 */
const lastSaid = (open, folds) =>
  `${open.map(({ label }) => label).join(", ")} — ${folds ? "and the rest of this check as written:" : "recorded by this:"}`;

// Hide what is answered by the keys below in its place.
/**
 * @param {HTMLElement} holder
 * @param {VisitCard} card
 * @param {VisitField[]} open Of what is answered below.
 */
function markAnswered(holder, card, open) {
  const [last] = open;
  for (const place of holder.querySelectorAll("[data-field]")) {
    const isLast = open.length === 1 && last !== undefined && card.fields.includes(last);
    place.classList.toggle("answered-below", isLast && place.getAttribute("data-field") === last.name);
  }
  holder.querySelector(".glance-key")?.classList.toggle("answered-below", open.length > 1);
}

/** @typedef {[...import("./written.js").Answer, boolean]} Asking An answer, what its key says, and whether it asks for more. */

/**
 * @param {import("./written.js").Answer[]} answers
 * @param {VisitCard} card
 * @param {Hands} hands
 * @returns {Asking[]}
 */
const asking = (answers, card, hands) =>
  answers.map(([answer, says]) => {
    const { asksMore } = answered(card, answer, hands.drafts.of(card.id), hands.read);
    return [answer, asksMore ? `${says}…` : says, asksMore];
  });

// A key that answers what is left open, and records the check by that; one that asks for more only answers.
/**
 * @param {Asking} asking
 * @param {VisitField[]} open
 * @param {VisitCard} card
 * @param {Hands} hands
 */
function answerKey([answer, says, asksMore], open, card, hands) {
  const name = `answers ${Object.entries(answer).flat().join(" ")}`;
  const looks = open.length > 1 ? "answer-key key-long" : "answer-key";
  if (!asksMore) {
    const made = () => [{ card, entered: answered(card, answer, hands.drafts.of(card.id), hands.read).entered }];
    return recordKey(says, name, looks, made, hands);
  }
  const key = element("button", `button key ${looks}`, says);
  key.type = "button";
  key.dataset.key = name;
  key.addEventListener("click", () => {
    for (const [field, value] of Object.entries(answer)) hands.drafts.set(card.id, field, [value]);
    for (const group of key.closest(".round")?.querySelectorAll(".keys-grid") ?? [])
      group.dispatchEvent(new Event("entered"));
  });
  return key;
}

/**
 * @param {Line[]} lines
 * @param {VisitCard | null} single
 * @param {Hands} hands
 */
function footOf(lines, single, hands) {
  const told = element("p", "round-told");
  const keys = element("div", "card-keys");
  let shown = "";
  const tell = () => {
    const open = lines.flatMap((line) => line.stands().open);
    const whole = lines.filter((line) => !line.stands().open.length);
    const answers = single ? asking(lastAnswers(open), single, hands) : [];
    const folds = lines.some((line) => line.stands().says.length > 0);
    const fails = single ? lines.flatMap((line) => line.stands().fails) : []; // of several each line says its own
    const state = JSON.stringify([answers, open.map(({ name }) => name), whole.length, folds, fails]);
    if (state === shown) return;
    const isFirst = shown === "";
    shown = state;
    if (single) for (const { holder } of lines) markAnswered(holder, single, answers.length ? open : []);
    const said = answers.length
      ? `${open.map(({ label }) => label).join(", ")} — ${folds ? "and the rest as written:" : ""}`
      : open.length && (!single || open.some(isSaidBelow))
        ? stillOpen(open)
        : "";
    told.textContent = [said, notMetSaid(fails)].join(" ").trim();
    const unseen = lines.filter(({ card, stands }) => isHidden(stands().open, hands.drafts.of(card.id).draft));
    const shows = unseen.length && !answers.length ? [showKey(unseen)] : [];
    const answering = single ? answers.map((answer) => answerKey(answer, open, single, hands)) : [];
    keys.replaceChildren(
      ...othersOf(single, hands),
      ...shows,
      ...(answering.length ? answering : recording(lines, whole, open, single, folds, hands)),
    );
    if (!isFirst) keepFrom(keys);
  };
  return { parts: [told, keys], tell };
}

/**
 * @param {VisitField[]} open
 * @param {import("./drafts.js").Draft} draft
 */
const isHidden = (open, draft) => open.filter(isFolded).length > demanded(open, draft).length;

// A key that opens what is named as open and is folded, as a photograph would answer it: nothing is asked for unseen.
/** @param {Line[]} lines */
function showKey(lines) {
  const key = element("button", "button key", "Show what is open");
  key.type = "button";
  key.dataset.key = "shows what is open";
  key.addEventListener("click", () => {
    for (const { holder } of lines) {
      const folded = /** @type {HTMLDetailsElement | null} */ (holder.querySelector("details.otherwise"));
      if (folded) folded.open = true;
    }
    lines[0]?.holder.scrollIntoView({ block: "start" });
  });
  return key;
}

/** @param {number} count */
export const allAsWritten = (count) => (count === 1 ? "As written" : `All ${count} as written`);

/** @param {number} count */
export const othersAsWritten = (count) =>
  count === 1 ? "The other one: record it" : `The other ${count}: record them`;

// What of one check alone is named as open below it, too: what is folded, is no field to fill in, or came to be needed.
/** @param {VisitField} field */
const isSaidBelow = ({ by_eye, kind, optional }) => by_eye || optional || kind === "photographs";

/** @param {VisitField[]} open */
const stillOpen = (open) => {
  const said = `Still open: ${open.map(({ label }) => label).join(", ")}.`;
  return open.some(({ by_eye }) => by_eye) ? `${said} As written only beside a photograph.` : said;
};

/**
 * @param {VisitCard | null} single
 * @param {Hands} hands
 */
const othersOf = (single, hands) =>
  (single?.keys ?? [])
    .filter((key) => isFor(key, hands.may) && !key.main)
    .map((key) => keyOf(key, /** @type {VisitCard} */ (single), hands));

/**
 * @param {Line[]} lines
 * @param {Line[]} whole Those that nothing is open of.
 * @param {VisitField[]} open
 * @param {VisitCard | null} single
 * @param {boolean} folds
 * @param {Hands} hands
 */
function recording(lines, whole, open, single, folds, hands) {
  if (!lines.some(({ card }) => card.keys.some((key) => key.main && isFor(key, hands.may)))) return [];
  if (single) {
    return [
      recordKey(folds && !open.length ? "As written" : "Record", "record", "button-main", () => entries(lines), hands),
    ];
  }
  if (!open.length)
    return [recordKey(allAsWritten(lines.length), "record", "button-main", () => entries(lines), hands)];
  return whole.length ? [someKey(whole, hands)] : [];
}

/**
 * @param {Line[]} whole
 * @param {Hands} hands
 */
const someKey = (whole, hands) =>
  recordKey(othersAsWritten(whole.length), "record others", "", () => entries(whole), hands);

/** @param {Line[]} lines */
const entries = (lines) => lines.map(({ card, stands }) => ({ card, entered: stands().entered }));

/**
 * @param {string} says
 * @param {string} name
 * @param {string} looks
 * @param {() => import("./cards.js").Entry[]} made
 * @param {Hands} hands
 */
function recordKey(says, name, looks, made, hands) {
  const key = element("button", `button key ${looks}`.trim(), says);
  key.type = "button";
  key.dataset.key = name;
  key.addEventListener("click", () => hands.record(made()));
  return key;
}

/** @param {HTMLElement} keys */
function keepFrom(keys) {
  for (const key of keys.querySelectorAll("button")) {
    key.disabled = true;
    setTimeout(() => {
      key.disabled = false;
    }, AFTER_MS);
  }
}
