// A card: what it says, what to beware of, fields to fill in, and keys that ask the rig. All of it is the server's.

import { keptOnceRead, nowText, READ, readOn, standsOpen } from "../../shared/browser/read.js";
import {
  clock,
  clockToTheSecond,
  day,
  element,
  figure,
  iconOf,
  notOfHere,
  ranged,
  unbroken,
} from "../../shared/browser/writing.js";
import { chartOf } from "./chart.js";
import { dateIn, shownBy, standsIn } from "./drafts.js";
import { expanded } from "./repeated.js";
import { roofOf, spotOf } from "./roof.js";
import { signatureOf } from "./signature.js";

/**
 * @typedef {object} Entry A check, and what stands in it.
 * @property {VisitCard} card
 * @property {{ draft: import("./drafts.js").Draft, taken: import("./drafts.js").Taken }} entered
 */

/**
 * @typedef {object} Hands What a card can do.
 * @property {Set<string>} may What this visitor may ask; and as whom, such as "as lead".
 * @property {import("./drafts.js").Drafts} drafts
 * @property {(card: VisitCard, key: VisitKey) => void} touch
 * @property {(cards: VisitCard[]) => void} touchAll Touches the main key of each, one after the other.
 * @property {(entries: Entry[]) => void} record Records each check with what stands in it, one after the other.
 * @property {(card: VisitCard, field: VisitField, files: FileList, shot?: VisitShot) => void} photograph
 * @property {Read} read
 * @property {() => ChartAir | null} air What a charging chart is looked up by, as it is now.
 */

// Write a list of cards. One that has not changed is left alone: nobody's typing or reading is disturbed.
/**
 * @param {HTMLElement} holder
 * @param {VisitCard[]} all
 * @param {Hands} hands
 */
export function writeCards(holder, all, hands) {
  const whole = all.map((card) => expanded(card, hands.drafts.of(card.id).draft));
  const cards = whole.filter(
    ({ keys }) =>
      !keys.length || keys.some((key) => isFor(key, hands.may)) || holder.closest(".talk, .talk-rest, .check"),
  );
  for (const old of [...holder.children]) {
    if (!cards.some(({ id }) => id === old.getAttribute("data-card"))) old.remove();
  }
  for (const [index, card] of cards.entries()) {
    const old = holder.querySelector(`:scope > [data-card="${CSS.escape(card.id)}"]`);
    const key = JSON.stringify([card, hands.drafts.visit]);
    if (old?.getAttribute("data-shown") === key) {
      if (holder.children[index] !== old) holder.insertBefore(old, holder.children[index] ?? null);
      continue;
    }
    const made = cardOf(card, hands);
    made.dataset.shown = key;
    const focused = old?.contains(document.activeElement) && document.activeElement?.getAttribute("data-key");
    if (old) old.replaceWith(made);
    else holder.insertBefore(made, holder.children[index] ?? null);
    if (focused) /** @type {HTMLElement | null} */ (made.querySelector(`[data-key="${CSS.escape(focused)}"]`))?.focus();
  }
}

// Whether a visitor may ask what a key asks, or what the form that it opens asks.
/** @type {(key: VisitKey, may: Set<string>) => boolean} */
export const isFor = ({ ask, leaves, adds, opens, shows, only_for }, may) =>
  (leaves || Boolean(adds) || Boolean(shows) || may.has(ask) || Boolean(opens?.keys.some((key) => isFor(key, may)))) &&
  (!only_for || may.has(`as ${only_for}`));

/**
 * @param {VisitCard} card
 * @param {Hands} hands
 */
function cardOf(card, hands) {
  const keys = card.keys.filter((key) => isFor(key, hands.may));
  const when = [card.by, card.time === null ? "" : clock(card.time)].filter(Boolean).join(" · ");
  const title = element("h2", "", ...(card.icon ? [iconOf(card.icon), " "] : []), card.title);
  const head = element("div", `card-head ${card.mood}`, title);
  if (when) head.append(element("span", "card-when", when));
  const made = element(
    "article",
    `card${card.mood ? ` card-${card.mood}` : ""}`,
    head,
    ...cautionsOf(card, hands.drafts.visit),
    ...card.says.map((text) => element("p", "card-says", unbroken(text))),
    ...(card.times?.length ? [timesOf(card.times)] : []),
    ...(card.drawing ? [roofOf(card.drawing, (key) => hands.touch(card, key))] : []),
    ...(card.tables ?? []).map(tableOf),
    ...(keys.length ? fieldsOf(card, hands) : []),
  );
  if (card.apprentice) made.append(element("p", "apprentice", card.apprentice));
  if (card.more?.length) made.append(moreOf(card.more));
  if (keys.length) made.append(keysOf(card, hands));
  made.append(resultOf());
  made.dataset.card = card.id;
  return made;
}

// What is asked for stands open; what may be noted besides is folded, unless something of it was entered.
/**
 * @param {VisitCard} card
 * @param {Hands} hands
 */
function fieldsOf(card, hands) {
  const asked = card.fields.filter(({ optional }) => !optional).map((field) => fieldOf(field, card, hands));
  const besides = card.fields.filter(({ optional }) => optional);
  if (!besides.length) return asked;
  const { draft } = hands.drafts.of(card.id);
  const summary = element("summary", "", `More that may be noted: ${besides.length}`);
  const made = besides.map((field) => fieldOf(field, card, hands));
  const more = element("details", "besides", summary, element("div", "card", ...made));
  more.open = besides.some((field) => draft[field.name]?.some(Boolean));
  return [...asked, more];
}

/** @param {string[]} more */
export function moreOf([head = "", ...texts]) {
  const lines = texts.map((text) => element("p", "", unbroken(text)));
  return element("details", "more", element("summary", "", head), ...lines);
}

// What is done and when, large: it is read aloud over a telephone, by the clock of who reads it.
/** @param {[string, number][]} times */
function timesOf(times) {
  const lines = times.map(([says, at]) => element("li", "", element("span", "at", clockToTheSecond(at)), says));
  return element("ol", "times", ...lines);
}

// The keys of a card that this visitor may touch.
/**
 * @param {VisitCard} card
 * @param {Hands} hands
 */
export const keysOf = (card, hands) =>
  element(
    "div",
    "card-keys",
    ...card.keys.filter((key) => isFor(key, hands.may)).map((key) => keyOf(key, card, hands)),
  );

// What was before, folded below its title; a figure that is a time is a day.
/** @param {VisitTable} table */
export function tableOf({ title, head, rows, time, open }) {
  const cell = (/** @type {string | number} */ each) => unbroken(typeof each === "number" ? day(each) : each);
  const heads = head.length ? [element("tr", "", ...head.map((each) => element("th", "", each)))] : [];
  const lines = rows.map((row) => element("tr", "", ...row.map((each) => element("td", "", cell(each)))));
  const says = [time === null ? "" : day(time), title].filter(Boolean).join(" · ");
  const made = element("details", "more", element("summary", "", says), element("table", "before", ...heads, ...lines));
  made.open = open;
  return made;
}

export function resultOf() {
  const result = element("p", "result card-result");
  result.setAttribute("role", "status");
  return result;
}

// What to beware of stands open until it has been read on this visit; then it is one line. What kills at a panel stands
// above that line and is never folded: it was read before the lock came off, or before another one was put on.
/**
 * @param {Pick<VisitCard, "cautions" | "cautions_once" | "once">} card
 * @param {string} visit
 */
export function cautionsOf({ cautions, cautions_once, once }, visit) {
  const list = (/** @type {string[]} */ texts) =>
    element(
      "ul",
      "cautions",
      ...texts.map((text) => element("li", "", iconOf("warning"), element("span", "", unbroken(text)))),
    );
  const told = [];
  const [standing, rest] = [true, false].map((stands) =>
    cautions.filter((each) => each.stands === stands).map(({ says }) => says),
  );
  if (standing.length) told.push(element("div", "beware stands", list(standing)));
  if (rest.length) told.push(folding(nowText(rest, standing.length > 0), rest, list(rest), visit));
  if (cautions_once.length) told.push(folding(once, cautions_once, list(cautions_once), visit));
  return told.length ? [element("div", "bewares", ...told)] : [];
}

/**
 * @param {string} says
 * @param {string[]} texts
 * @param {HTMLElement} list
 * @param {string} visit
 */
function folding(says, texts, list, visit) {
  const word = element("span", "aside");
  const summary = element("summary", "", iconOf("warning"), element("span", "", says), word);
  const folded = element("details", "beware", summary, list);
  folded.open = standsOpen(texts, readOn(visit, localStorage.getItem(READ)));
  const tell = () => {
    word.textContent = folded.open ? "I have read it" : "Show";
  };
  folded.addEventListener("toggle", tell);
  summary.addEventListener("click", () => {
    if (folded.open) localStorage.setItem(READ, keptOnceRead(visit, localStorage.getItem(READ), texts));
  });
  tell();
  return folded;
}

const LONG = 48; // letters: what vouches for so much is read in lines of full width, not in a column

/** @param {Pick<VisitKey, "says" | "main">} key */
export const looksOf = ({ says, main }) =>
  ["button key", main ? "button-main" : "", says.length > LONG ? "key-long" : ""].filter(Boolean).join(" ");

/**
 * @param {VisitKey} key
 * @param {VisitCard} card
 * @param {Hands} hands
 */
export function keyOf(key, card, hands) {
  const made = element("button", looksOf(key), key.says);
  made.type = "button";
  made.dataset.key = `${card.id} ${key.says}`;
  made.addEventListener("click", () => hands.touch(card, key));
  return made;
}

/**
 * @param {VisitField} field
 * @param {VisitCard} card
 * @param {Hands} hands
 */
export function fieldOf(field, card, hands) {
  const id = `${card.id}-${field.name}`.replace(/[^\w-]/g, "-");
  const [labels, input] = FIELDS[field.kind](field, card, hands, id);
  const label = element(labels ? "label" : "span", "field-label", field.label);
  if (label instanceof HTMLLabelElement) label.htmlFor = id;
  const hint = field.hint ? [element("p", "aside", field.hint)] : [];
  const cautions = cautionsOf({ cautions: field.cautions ?? [], cautions_once: [], once: "" }, hands.drafts.visit);
  const made = element("div", `card-field card-field-${field.kind}`, ...cautions, label, input, ...hint);
  made.dataset.field = field.name;
  return made;
}

/** @type {Record<VisitField["kind"], (field: VisitField, card: VisitCard, hands: Hands, id: string) => [boolean, HTMLElement]>} */
const FIELDS = {
  choice: (field, card, hands) => [false, choiceOf(field, card, hands)],
  number: (field, card, hands, id) => [true, numberOf(field, card, hands, id)],
  text: (field, card, hands, id) => [true, textOf(field, card, hands, id)],
  words: (field, card, hands, id) => [true, written(element("textarea", "field"), field, card, hands, id)],
  spot: (field, card, hands) => [false, spotOf(field, card, hands)],
  chart: (field, card, hands) => [false, chartOf(field, card, hands)],
  signature: (field, card, hands) => [false, signatureOf(field, card, hands)],
  photographs: (field, card, hands, id) => [true, photographsOf(field, card, hands, id)],
};

// Large keys, of which one is pressed, or several where that may be. A second touch lets go of it again.
/**
 * @param {VisitField} field
 * @param {VisitCard} card
 * @param {Hands} hands
 */
function choiceOf(field, card, hands) {
  const stands = () => standsIn(field, hands.drafts.of(card.id).draft);
  const group = element("div", "keys-grid");
  group.setAttribute("role", "group");
  group.setAttribute("aria-label", field.label);
  const made = field.options.map(([value, says]) => {
    const key = element("button", "button key choice-key", element("span", "", says));
    key.type = "button";
    key.dataset.key = `${card.id} ${field.name} ${value}`;
    key.addEventListener("click", () => {
      const before = stands();
      const others = field.several ? before.filter((each) => each !== value) : [];
      hands.drafts.set(card.id, field.name, before.includes(value) ? others : [...others, value]);
      hands.drafts.set(card.id, shownBy(field.name), []); // it is a person's word now
      press();
    });
    return /** @type {[string, HTMLButtonElement]} */ ([value, key]);
  });
  const press = () => {
    const pressed = stands();
    for (const [value, key] of made) key.setAttribute("aria-pressed", String(pressed.includes(value)));
  };
  press();
  group.addEventListener("entered", press);
  const shown = field.shown || made.length;
  const kept = made.filter(([value], index) => index < shown || stands().includes(value));
  group.append(...kept.map(([, key]) => key));
  if (kept.length < made.length) group.append(othersKey(made.length - kept.length, group, made));
  return group;
}

// The options that are seldom meant, behind a key.
/**
 * @param {number} count
 * @param {HTMLElement} group
 * @param {[string, HTMLButtonElement][]} all
 */
function othersKey(count, group, all) {
  const key = element("button", "button key", `Others: ${count}…`);
  key.type = "button";
  key.addEventListener("click", () => group.replaceChildren(...all.map(([, each]) => each)));
  return key;
}

// A number: what the link shows can be taken by a touch, and what is found most often; or it is typed as the trade
// writes it.
/**
 * @param {VisitField} field
 * @param {VisitCard} card
 * @param {Hands} hands
 * @param {string} id
 */
function numberOf(field, card, hands, id) {
  const input = /** @type {HTMLInputElement} */ (written(element("input", "field number"), field, card, hands, id));
  input.inputMode = "decimal";
  const row = element("div", "number-row", input, element("span", "number-unit", field.unit));
  tellGrade(row, field.name in hands.drafts.of(card.id).taken ? "measured" : "");
  input.addEventListener("input", () => tellGrade(row, ""));
  const keys = field.channels.map(([channel, label]) =>
    takeKey(
      channel,
      label,
      `${card.id} ${field.name} ${channel}`,
      (text) => {
        input.value = text;
        hands.drafts.set(card.id, field.name, [text], true);
        tellGrade(row, "measured");
      },
      hands.read,
    ),
  );
  const offered = field.offers.map((text) =>
    offerKey(field, card, text, text, () => {
      input.value = text;
      hands.drafts.set(card.id, field.name, [text]);
      tellGrade(row, "");
    }),
  );
  return keys.length + offered.length ? element("div", "number-keys", row, ...keys, ...offered) : row;
}

// A line of words: typed, or one of those that are said most often, or a date so many days from today.
/**
 * @param {VisitField} field
 * @param {VisitCard} card
 * @param {Hands} hands
 * @param {string} id
 */
function textOf(field, card, hands, id) {
  const input = written(element("input", "field"), field, card, hands, id);
  const take = (/** @type {string} */ text) => {
    input.value = text;
    hands.drafts.set(card.id, field.name, [text]);
  };
  const keys = [
    ...field.offers.map((text) => offerKey(field, card, text, field.says?.[text] ?? text, () => take(text))),
    ...field.days.map((days) => offerKey(field, card, String(days), inDays(days), () => take(dateIn(days)))),
  ];
  return keys.length ? element("div", "text-keys", input, element("div", "keys-grid", ...keys)) : input;
}

const WEEK = 7;

/** @param {number} days */
const inDays = (days) => (days === WEEK ? "In 1 week" : `In ${days} days`);

/**
 * @param {VisitField} field
 * @param {VisitCard} card
 * @param {string} name
 * @param {string} says
 * @param {() => void} taken
 */
function offerKey(field, card, name, says, taken) {
  const key = element("button", `button key${field.kind === "number" ? " offer-key" : " choice-key"}`, says);
  key.type = "button";
  key.dataset.key = `${card.id} ${field.name} offers ${name}`;
  key.addEventListener("click", taken);
  return key;
}

// A key with the live figure of a channel, by its name: which of several is meant, nobody guesses.
/**
 * @param {string} channel
 * @param {string} label
 * @param {string} id
 * @param {(text: string) => void} taken
 * @param {Read} read
 */
function takeKey(channel, label, id, taken, read) {
  const key = element("button", "button key take-key", element("span", "live-figure"), element("span", "aside", label));
  key.type = "button";
  key.dataset.key = id;
  key.dataset.reads = channel;
  key.dataset.label = label;
  key.addEventListener("click", () => {
    const heard = read(channel);
    const reading = heard && ranged(heard); // as the meter shows it, and as it stands on the key
    if (reading?.value != null && !notOfHere(reading)) taken(`${figure(reading).replace("−", "-")} ${reading.unit}`);
  });
  return key;
}

/**
 * @param {HTMLElement} row
 * @param {string} grade
 */
function tellGrade(row, grade) {
  row.dataset.grade = grade;
}

/**
 * @param {HTMLInputElement | HTMLTextAreaElement} input
 * @param {VisitField} field
 * @param {VisitCard} card
 * @param {Hands} hands
 * @param {string} id
 */
function written(input, field, card, hands, id) {
  input.id = id;
  input.autocomplete = "off";
  input.maxLength = field.longest;
  input.dataset.key = `${card.id} ${field.name}`;
  input.value = standsIn(field, hands.drafts.of(card.id).draft)[0] ?? "";
  input.addEventListener("input", () => hands.drafts.set(card.id, field.name, [input.value]));
  if (field.kind === "text" && field.value) input.addEventListener("focus", () => input.select()); // typed over at once
  return input;
}

/**
 * @param {VisitField} field
 * @param {VisitCard} card
 * @param {Hands} hands
 * @param {string} id
 */
function photographsOf(field, card, hands, id) {
  const taken = standsIn(field, hands.drafts.of(card.id).draft);
  const count = taken.length;
  const shots = (field.shots ?? []).map((shot) => shotOf(shot, field, card, hands, `${id}-${shot.word}`));
  const says = count ? `Another (${count} taken)` : shots.length ? "Another photograph" : "Photograph";
  const any = cameraOf(id, `${card.id} ${field.name}`, [iconOf("camera"), ` ${says}`], (files) =>
    hands.photograph(card, field, files),
  );
  return element("div", "photographs", ...shots.flat(), ...any, ...[...(field.had ?? []), ...taken].map(thumbnail));
}

// A photograph that answers: what it is of, and below it what it says; both are read before it is taken.
/**
 * @param {VisitShot} shot
 * @param {VisitField} field
 * @param {VisitCard} card
 * @param {Hands} hands
 * @param {string} id
 */
function shotOf(shot, field, card, hands, id) {
  const { draft } = hands.drafts.of(card.id);
  const isTaken = Object.entries(shot.answers).every(
    ([name, option]) => draft[name]?.includes(option) && draft[shownBy(name)]?.length,
  );
  const words = [
    iconOf(isTaken ? "check" : "camera"),
    element("span", "", shot.label, element("span", "aside", isTaken ? `Taken. ${shot.says}` : shot.says)),
  ];
  const made = cameraOf(id, `${card.id} shot ${shot.word}`, words, (files) =>
    hands.photograph(card, field, files, shot),
  );
  for (const part of made) part.classList.add("shot");
  return made;
}

/**
 * @param {string} id
 * @param {string} name
 * @param {(string | Node)[]} words
 * @param {(files: FileList) => void} taken
 * @returns {HTMLElement[]}
 */
function cameraOf(id, name, words, taken) {
  const input = element("input", "unseen");
  input.type = "file";
  input.accept = "image/*";
  input.capture = "environment";
  input.id = id;
  input.dataset.key = name;
  input.addEventListener("change", () => {
    if (input.files?.length) taken(input.files);
    input.value = "";
  });
  const key = element("label", "button key photo-key", ...words);
  key.htmlFor = id;
  return [input, key];
}

// A photograph, small; a touch makes it large enough to read a plate by, and small again.
/** @param {string} id */
function thumbnail(id) {
  const picture = element("img", "thumbnail");
  const key = element("button", "picture-key", picture);
  picture.src = `photograph/${id}`;
  picture.addEventListener("error", () => key.remove()); // where the record is not on the page's machine
  picture.alt = "Photograph";
  picture.loading = "lazy";
  key.type = "button";
  key.setAttribute("aria-pressed", "false");
  key.addEventListener("click", () => {
    key.setAttribute("aria-pressed", String(key.getAttribute("aria-pressed") === "false"));
  });
  return key;
}

// Write the live figures into the keys that take them; a key without a figure of here and now takes nothing, and says
// why.
/**
 * @param {ParentNode} holder
 * @param {Read} read
 */
export function writeLive(holder, read) {
  for (const key of holder.querySelectorAll("[data-reads]")) {
    if (!(key instanceof HTMLButtonElement)) continue;
    const heard = read(key.dataset.reads ?? "");
    const reading = heard && ranged(heard);
    const why = notOfHere(reading);
    const known = reading !== null && reading.value !== null && !why;
    key.disabled = !known;
    const label = key.querySelector(".aside");
    const says = [key.dataset.label, why].filter(Boolean).join(": ");
    if (label && label.textContent !== says) label.textContent = says;
    const shown = key.querySelector(".live-figure");
    const text = known ? unbroken(`${figure(reading)} ${reading.unit}`) : "–";
    if (shown && shown.textContent !== text) shown.textContent = text;
  }
}
