// The parts of the page that are lists: advice, instruments with their values, the visit's marks, a lead's note.

import {
  agedText,
  clock,
  clockToTheSecond,
  element,
  figure,
  fill,
  find,
  iconOf,
  place,
  plusMinus,
  ranged,
  unbroken,
} from "../../shared/browser/writing.js";
import { sentenceCase } from "./opinion.js";

// Rebuild a list only when what it says has changed, so that nobody's reading or selection is disturbed.
/**
 * @template Item
 * @param {string} name
 * @param {Item[]} content
 * @param {(item: Item) => Node} build
 */
function rewrite(name, content, build) {
  const list = place(name);
  const key = JSON.stringify(content);
  if (list.dataset.shown === key) return;
  list.dataset.shown = key;
  list.replaceChildren(...content.map(build));
}

// In a silence old advice must not pass for present advice.
/** @param {{ advice: Advice | null, about: About | null, marks: Marks | null, silent: boolean }} view */
export function writeAdvice({ advice, about, marks, silent }) {
  const known = silent ? "No data from the rig." : (advice?.sentence ?? "Waiting for the first advice.");
  fill("sentence", about ? unbroken(known) : "Waiting for a rig.");
  writeAwaited(place("awaited"), silent ? null : (advice?.awaited ?? null));
  const left = silent ? null : marks?.left;
  place("left").hidden = !left;
  fill("left", left ? `${left.says} ${left.by ? `${left.by}, ` : ""}${clock(left.time)}` : "");
  const details = (!silent && advice?.details) || [];
  const line = (/** @type {string} */ text) => element("li", "", unbroken(text));
  const open = advice?.in_the_open ?? 1; // of the lines that speak for the advice; the others are folded under it
  rewrite("details", details.slice(0, open), line);
  rewrite("details-rest", details.slice(open), line);
  place("details-folded").hidden = details.length <= open;
  const toChart = find("to-chart"); // only who may describe the unit has it
  if (toChart) toChart.hidden = silent || !advice?.to_chart;
}

// What there is to wait for, with a bar that fills.
/**
 * @param {HTMLElement} holder
 * @param {AwaitedTime | null} awaited
 */
function writeAwaited(holder, awaited) {
  holder.hidden = !awaited;
  if (!awaited) return;
  const said = `${awaited.what} ${awaited.ahead}`;
  if (!holder.children.length) holder.append(element("span"), element("progress"));
  const [words, bar] = holder.children;
  write(words, unbroken(said));
  if (bar instanceof HTMLProgressElement) bar.value = awaited.done;
  bar?.setAttribute("aria-label", awaited.what);
}

const TOUCH_AFTER_MS = 800; // the next note must not be called read by the touch that was meant for the last

// Notes of a lead wait in a queue, the oldest first; each is called read by a touch of its own.
/**
 * @param {Marks | null} marks
 * @param {(id: string) => void} read
 */
export function writeNote(marks, read) {
  const note = place("note");
  const waiting = marks?.pending ?? [];
  const [first] = waiting;
  const more = waiting.length > 1 ? ` · note 1 of ${waiting.length}` : "";
  const about = first?.about ? ` · about ${clockToTheSecond(first.about)}` : "";
  fill("note-by", first ? `${first.by}, lead · ${clock(first.time)}${about}${more}` : "");
  if (note.dataset.shown === (first?.id ?? "")) return;
  note.dataset.shown = first?.id ?? "";
  note.hidden = !first;
  fill("note-text", first?.text ?? "");
  note.scrollTop = 0; // a browser would show it from where the last one was read to
  const key = note.querySelector("button"); // only who may call it read has one
  if (!key || !first) return;
  key.onclick = () => read(first.id);
  key.disabled = true;
  setTimeout(() => {
    key.disabled = false;
  }, TOUCH_AFTER_MS);
}

const LOGGED = 2;

// An alarm that comes and goes is told once, as it came last, so that it does not push out what was moved.
/**
 * @param {MarkRow[]} newestFirst
 * @returns {(MarkRow & { times: number })[]}
 */
export function folded(newestFirst) {
  /** @type {(MarkRow & { times: number })[]} */
  const told = [];
  for (const mark of newestFirst) {
    const since = told.slice(told.findLastIndex((it) => it.kind !== "alarm") + 1);
    const same = mark.kind === "alarm" && since.find((it) => it.label === mark.label && it.text === mark.text);
    if (same) same.times += 1;
    else told.push({ ...mark, times: 1 });
  }
  return told;
}

const MOVES = ["added", "recovered"];
const CORRECTION = "correction-dialog"; // only who may correct has it
const UNLOGGED = ["session", "link"]; // the header and the table of instruments tell these

// What was withdrawn holds no amount any more: what was moved after all is recorded as such.
/** @param {MarkRow} mark */
export function isCorrectable(mark) {
  return MOVES.includes(mark.kind) && mark.holds !== "";
}

/** @param {Marks | null} marks */
export function writeLog(marks) {
  fill("totals", marks?.totals ?? "");
  const all = (marks?.marks ?? []).filter((mark) => !UNLOGGED.includes(mark.kind)).reverse();
  const whole = place("log-whole");
  const told = whole.dataset.shows === "all" ? all.map((mark) => ({ ...mark, times: 1 })) : folded(all);
  const newest = whole.dataset.shows === "all" ? told : told.slice(0, LOGGED);
  whole.hidden = all.length <= LOGGED;
  whole.onclick = () => {
    whole.dataset.shows = whole.dataset.shows === "all" ? "" : "all";
    writeLog(marks);
  };
  fill("log-whole", whole.dataset.shows === "all" ? "Show the newest" : `Show all ${all.length}`);
  rewrite("log", newest, (mark) => {
    const row = element(
      "li",
      mark.corrected ? "corrected" : "",
      element("time", "", clock(mark.time)),
      element("strong", "", mark.times > 1 ? `${mark.label}, ${mark.times} times` : mark.label),
    );
    const isLead = mark.role === "lead" && mark.by !== "lead"; // whatever name they go by
    row.append(element("span", "who", isLead ? `${mark.by}, lead` : mark.by));
    if (mark.text && mark.text.toLowerCase() !== mark.label.toLowerCase())
      row.append(element("span", "said", mark.text));
    if (isCorrectable(mark) && document.getElementById(CORRECTION)) row.append(correcting(mark));
    return row;
  });
}

/** @param {MarkRow} mark */
function correcting(mark) {
  const key = element("button", "button button-quiet", "Correct…");
  key.type = "button";
  key.setAttribute("aria-label", `Correct ${mark.label}`);
  Object.assign(key.dataset, { opens: CORRECTION, corrects: mark.id });
  return key;
}

const FIGURES = ["superheat", "subcooling"];

// Which figures there are not, because a probe is not on the circuit in view, and why.
/**
 * @param {Read} read
 * @returns {string[]}
 */
export function away(read) {
  const none = FIGURES.map(read).filter((it) => it !== null && it.value === null && it.quality === "elsewhere");
  return none.map((it) => `No ${it?.label.toLowerCase()}. ${sentenceCase(it?.reason ?? "")}.`);
}

/** @param {{ read: Read, silent: boolean }} view */
export function writeAway({ read, silent }) {
  rewrite("away", silent ? [] : away(read), (text) => element("li", "", iconOf("warning"), element("span", "", text)));
}

// --- instruments: rows are built once for a rig and then only written into

/**
 * @param {HTMLElement} holder
 * @param {{ about: About | null, read: Read, rigTime: number | null, doubts: Record<string, string> }} view
 */
export function writeInstruments(holder, { about, read, rigTime, doubts }) {
  const key = JSON.stringify(about?.instruments.map(({ name, channels }) => [name, channels]) ?? []);
  if (holder.dataset.shown !== key) {
    holder.dataset.shown = key;
    holder.replaceChildren(...(about?.instruments ?? []).map(buildInstrument));
  }
  for (const instrument of about?.instruments ?? []) {
    const table = holder.querySelector(`[data-instrument="${CSS.escape(instrument.name)}"]`);
    writeLink(table, instrument, heardFrom(instrument, read), rigTime);
    for (const name of instrument.channels) {
      writeReading(holder.querySelector(`[data-reading="${name}"]`), read(name), doubts[name] ?? "");
    }
  }
  const names = (about?.instruments ?? []).flatMap(({ channels }) => channels);
  const wrong = wrongOf(names, read, doubts);
  fill("instruments-read", names.length ? `${names.length - wrong.length} of ${names.length}` : "");
  rewrite("instruments-wrong", wrong, (text) => element("li", "", iconOf("warning"), element("span", "", text)));
}

/**
 * What is wrong with readings, each in one line: it stands in the open, whatever is folded.
 * @param {string[]} names
 * @param {Read} read
 * @param {Record<string, string>} doubts
 * @returns {string[]}
 */
export function wrongOf(names, read, doubts) {
  return names.flatMap((name) => {
    const reading = read(name);
    const label = reading?.label ?? name.replaceAll("_", " ");
    if (!reading) return [`${sentenceCase(label)}: never heard`];
    const why = doubts[name] ?? "";
    if (!why && !isPoor(reading)) return [];
    const said = why || reading.reason || (reading.old ? "nothing heard for a while" : "no value");
    return [`${sentenceCase(label)}: ${said}`];
  });
}

/** @param {Reading} reading */
const isPoor = (reading) => reading.value === null || reading.old || !["ok", "uncalibrated"].includes(reading.quality);

// One table for each instrument; its caption says what it is and how its link stands.
/** @param {Instrument} instrument */
function buildInstrument({ name, link, channels }) {
  const title = element("span", "instrument-name", `${name} `, element("span", "aside", link));
  const caption = element("caption", "", title, element("span", "link-state"), element("span", "reason"));
  const table = element("table", "readings", caption, element("tbody", "", ...channels.flatMap(buildReading)));
  table.dataset.instrument = name;
  return table;
}

const CELLS = ["value", "unit-of", "plus-minus", "age"];

// What is wrong with a reading is a sentence: it stands below, across the whole table.
/** @param {string} name */
function buildReading(name) {
  const label = element("th");
  label.scope = "row";
  const row = element("tr", "", label, ...CELLS.map((part) => element("td", part)));
  row.dataset.reading = name;
  const reason = element("td", "reason");
  reason.colSpan = 1 + CELLS.length;
  return [row, element("tr", "why", reason)];
}

/**
 * Whether an instrument has given anything yet: a link alone is no reading.
 * @param {Instrument} instrument
 * @param {Read} read
 */
export function heardFrom({ channels }, read) {
  const readings = channels.map(read);
  return !channels.length || readings.some((it) => it !== null && (it.value !== null || it.quality !== "stale"));
}

/**
 * How an instrument stands: mood, icon, words.
 * @param {Instrument} instrument
 * @param {boolean} heard
 * @returns {[string, string, string]}
 */
export function standing({ connected, state }, heard) {
  if (!connected) return ["bad", "warning", state];
  return heard ? ["good", "check", state] : ["care", "wait", "Waiting for its first reading"];
}

/**
 * @param {Element | null} table
 * @param {Instrument} instrument
 * @param {boolean} heard
 * @param {number | null} rigTime
 */
function writeLink(table, instrument, heard, rigTime) {
  const state = table?.querySelector(".link-state");
  if (!(state instanceof HTMLElement)) return;
  const [mood, icon, words] = standing(instrument, heard);
  if (state.dataset.shown !== words) {
    state.dataset.shown = words;
    state.className = `link-state ${mood}`;
    state.replaceChildren(iconOf(icon), ` ${words}`);
  }
  const lostFor =
    rigTime === null || instrument.connected ? "" : `for ${agedText(Math.max(0, rigTime - instrument.since))}`;
  write(table?.querySelector(".reason"), [lostFor, instrument.reason].filter(Boolean).join(": "));
}

const NEW_S = 3;

// How old a reading is. Where there is no value, its stamp tells only how long it has been lost, and a new one nothing.
/** @param {Reading | null} reading */
export function ageText(reading) {
  if (!reading || (reading.value === null && reading.age < NEW_S)) return "";
  return `${agedText(reading.age)}${reading.old ? " old" : ""}`;
}

// A doubt names what the readings contradict each other in, though each is plausible by itself.
/**
 * @param {HTMLElement | null} row
 * @param {Reading | null} heard
 * @param {string} doubt
 */
function writeReading(row, heard, doubt) {
  if (!row) return;
  const reading = heard && ranged(heard);
  const [label, value, unit, spread, age] = row.children;
  const doubtful = doubt !== "" || !reading || isPoor(reading);
  row.classList.toggle("doubtful", doubtful);
  write(label, reading?.label ?? row.dataset.reading?.replaceAll("_", " ") ?? "");
  write(value, figure(reading));
  write(unit, reading?.unit ?? "");
  write(spread, plusMinus(reading));
  write(age, ageText(reading));
  const poor = reading && (reading.value === null || !["ok", "stale"].includes(reading.quality));
  write(row.nextElementSibling?.firstElementChild, !reading ? "never heard" : poor ? reading.reason : doubt);
}

/**
 * @param {Element | null | undefined} cell
 * @param {string} text
 */
function write(cell, text) {
  if (cell && cell.textContent !== text) cell.textContent = text;
}
