// The parts of the page that are lists: advice, instruments with their values, the visit's marks, a lead's note.

import { agedText, clock, element, figure, fill, iconOf, place, plusMinus } from "./writing.js";

// Rebuild a list only when what it says has changed, so that nobody's reading or selection is disturbed.
function rewrite(name, content, build) {
  const list = place(name);
  const key = JSON.stringify(content);
  if (list.dataset.shown === key) return;
  list.dataset.shown = key;
  list.replaceChildren(...content.map(build));
}

export function writeAdvice({ advice, about }) {
  fill("sentence", advice?.sentence ?? (about ? "Waiting for the first advice." : "Waiting for a rig."));
  rewrite("details", advice?.details ?? [], (text) => element("li", "", text));
  rewrite("cautions", advice?.cautions ?? [], (text) => element("li", "", iconOf("warning"), element("span", "", text)));
  const forecasts = Object.entries(advice?.steadiness ?? {}).filter(([, steadiness]) => steadiness.forecast);
  const told = forecasts.map(([name, { forecast }]) => `${name} to ${forecast.text}`);
  fill("forecast", told.length ? `Heading for ${told.join(", ").replace(/(superheat|subcooling) to/g, "$1")}` : "");
}

export function writeNote(marks, tell) {
  const note = place("note");
  const pending = marks?.pending ?? null;
  const id = pending?.id ?? "";
  if (note.dataset.shown === id) return;
  note.dataset.shown = id;
  note.hidden = !pending;
  tell(pending ? id : null);
  fill("note-by", pending ? `${pending.by}, lead · ${clock(pending.time)}` : "");
  fill("note-text", pending?.text ?? "");
}

export function writeLog(marks) {
  fill("totals", marks?.totals ?? "");
  const newest = (marks?.marks ?? []).filter((mark) => mark.kind !== "session").slice(-8).reverse();
  rewrite("log", newest, (mark) => {
    const row = element("li", "", element("time", "", clock(mark.time)), element("strong", "", mark.label));
    row.append(element("span", "who", mark.by));
    if (mark.text && mark.text !== mark.label) row.append(element("span", "said", mark.text));
    return row;
  });
}

// --- instruments: rows are built once for a rig and then only written into

export function writeInstruments(holder, { about, read, rigTime }) {
  const key = JSON.stringify(about?.instruments.map(({ name, channels }) => [name, channels]) ?? []);
  if (holder.dataset.shown !== key) {
    holder.dataset.shown = key;
    holder.replaceChildren(buildTable(about?.instruments ?? []));
  }
  for (const instrument of about?.instruments ?? []) {
    writeLink(holder.querySelector(`[data-instrument="${CSS.escape(instrument.name)}"]`), instrument, rigTime);
    for (const { name } of instrument.channels) {
      writeReading(holder.querySelector(`[data-reading="${name}"]`), read(name));
    }
  }
}

function buildTable(instruments) {
  const table = element("table", "readings");
  const caption = element("caption", "unseen", "Each instrument with its link and its newest values");
  table.append(caption);
  for (const instrument of instruments) table.append(buildInstrument(instrument));
  return table;
}

function buildInstrument({ name, link, channels }) {
  const body = element("tbody");
  const head = element("th", "", element("span", "link-state"), `${name} `, element("span", "aside", link), element("span", "reason"));
  head.colSpan = 5;
  head.scope = "rowgroup";
  const row = element("tr", "of-instrument", head);
  row.dataset.instrument = name;
  body.append(row, ...channels.map(buildReading));
  return body;
}

function buildReading({ name }) {
  const label = element("th", "label-of");
  label.scope = "row";
  const row = element("tr", "", label, ...["value", "unit-of", "plus-minus", "age"].map((part) => element("td", part)));
  row.dataset.reading = name;
  return row;
}

function writeLink(row, instrument, rigTime) {
  const state = row.querySelector(".link-state");
  const key = `${instrument.connected} ${instrument.state}`;
  if (state.dataset.shown !== key) {
    state.dataset.shown = key;
    state.className = `link-state ${instrument.connected ? "good" : "bad"}`;
    state.replaceChildren(iconOf(instrument.connected ? "check" : "warning"), ` ${instrument.state}`);
  }
  const lostFor = rigTime === null ? "" : ` for ${agedText(Math.max(0, rigTime - instrument.since))}`;
  write(row.querySelector(".reason"), instrument.connected ? "" : `${instrument.reason || instrument.state}${lostFor}`);
}

function writeReading(row, reading) {
  const [label, value, unit, spread, age] = row.children;
  const doubtful = !reading || reading.value === null || reading.old || !["ok", "uncalibrated"].includes(reading.quality);
  row.classList.toggle("doubtful", doubtful);
  write(label, reading?.label ?? row.dataset.reading.replaceAll("_", " "));
  write(value, figure(reading));
  write(unit, reading?.unit ?? "");
  write(spread, plusMinus(reading));
  write(age, reading ? agedText(reading.age) : "");
  const word = !reading ? "not heard yet" : reading.value === null || reading.quality !== "ok" ? reading.reason : "";
  if (word) label.append(element("span", "reason", word));
}

function write(cell, text) {
  if (cell.textContent !== text) cell.textContent = text;
}
