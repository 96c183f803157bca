// The Visit page: listens to the server's events, draws what they say, and sends what is touched.

import { ask, newId, putQuestion } from "../../shared/browser/asking.js";
import { startControls } from "../../shared/browser/controls.js";
import { startGlance, writeGlance } from "../../shared/browser/glance.js";
import { isSilent, lagText, nothingHeard, readOf, since, takersInto } from "../../shared/browser/heard.js";
import { sendPhotograph } from "../../shared/browser/photographs.js";
import { leftOut, notSaved, savedStatus, trouble, writeAlarm } from "../../shared/browser/saved.js";
import { speak, startSpoken } from "../../shared/browser/spoken.js";
import { writeStands, writeStop } from "../../shared/browser/stop.js";
import { openStream } from "../../shared/browser/stream.js";
import { askUntilRecorded } from "../../shared/browser/until_recorded.js";
import {
  atWork,
  clock,
  element,
  fill,
  find,
  iconOf,
  place,
  setStatus,
  unbroken,
} from "../../shared/browser/writing.js";
import { Asked } from "./asked.js";
import { isFor, writeCards, writeLive } from "./cards.js";
import { writeAir } from "./chart.js";
import { bodyOf, Drafts, missing, opened, shownBy, standsIn } from "./drafts.js";
import { gather, mainOf, writeGathered } from "./gathered.js";
import { COUNT, countOf } from "./repeated.js";
import { startReports, writeReports } from "./reports.js";
import { drawResting, heldBy, refuseAtRest } from "./resting.js";
import { recordsWith, writeRound } from "./round.js";
import { isToStop, offered, stopsOf } from "./stops.js";
import { asSigned, cardFor, comesBefore, isLater, standing, together, writeWork } from "./work.js";
import { canBeGathered, isAllAnswered, written } from "./written.js";

const FOLLOWS_MS = 5_000; // the rig tells what is next so soon, or a person has gone on by themselves meanwhile
const TOLD_MS = 15_000;
const QUIET_MS = 500; // without a frame for so long, what stands ages
const TALK_SHOWN = 2;
const LEAVES = "open"; // for another unit
const RECORDS = new Set(["finding", "keep", "leave_charge"]); // after these it goes on with what is next
const MAKING_DEAD = "B"; // the group of what comes before every hand in the panel
const IN_THE_BAR = 3; // keys; the others stand behind one more
const ROOMY = matchMedia("(min-width: 760px)"); // all keys of the bar fit side by side

const page = /** @type {HTMLElement} */ (document.getElementById("page"));
const sheet = /** @type {HTMLDialogElement} */ (document.getElementById("sheet"));
const state = {
  ...nothingHeard(),
  units: localStorage.getItem("units") ?? "us",
  told: /** @type {VisitTold | null} */ (null),
  checks: /** @type {VisitChecks | null} */ (null),
  opened: "", // the row that a person opened
  lingers: "", // the row that was left open by what it came to
  form: "", // the form in the sheet
};
const may = new Set([...(page.dataset.may ?? "").split(" "), `as ${page.dataset.role}`]);
const drafts = new Drafts(localStorage);
const asked = new Asked(localStorage);
const untilRecorded = askUntilRecorded(tellOutcome, (id) => asked.answered(id));
/** @type {Map<string, string>} */
const answered = new Map(); // by a check or a proposal: how it stood when it was recorded, until the rig tells of it
const holdsGathered = heldBy(place("gathered"));
const NEXT_IN = ["check-panel", "round-panel", "round-after-panel", "round-last-panel", "closing-panel"];
let followed = ""; // the card that was brought into view last
let followsFrom_ms = Number.NEGATIVE_INFINITY; // what is next after a record is brought into view, as it is told
/** @type {ReturnType<typeof openStream> | null} */
let stream = null;
let drawing = false;
let drawnAt = 0;

// --- listening

/** @type {import("../../shared/browser/stream.js").Takers} */
const TAKERS = {
  ...takersInto(state),
  visit: (/** @type {VisitTold} */ told) => {
    if (state.told && state.told.visit !== told.visit) sheet.close(); // its form was of the unit before
    drafts.open(told.visit);
    state.told = told;
    for (const id of answered.keys()) if (!isAnswered(id)) answered.delete(id); // asked anew it may stand as it did then
  },
  checklist: (/** @type {VisitChecks} */ checks) => {
    state.checks = checks;
  },
};

function listen() {
  stream?.close();
  stream = openStream({ units: state.units, page: "visit" }, TAKERS, {
    heard: draw,
    lost: () => {
      state.link = "lost";
      draw();
    },
  });
}

const silent = () => isSilent(state);

/** @type {Read} */
const read = (name) => atWork(readOf(state, name), state.advice);

/** @returns {ChartAir | null} */
const air = () => (silent() ? null : (state.frame?.chart_air ?? null));

// --- sending

/** @type {import("./cards.js").Hands} */
const hands = { may, drafts, touch, touchAll, record, photograph, read, air };

/**
 * @param {VisitCard} card
 * @param {VisitKey} key
 */
async function touch(card, key) {
  if (key.leaves) {
    drafts.clear(card.id);
    state.opened = "";
    drawAll();
    return;
  }
  if (key.shows) {
    openForm(key.shows);
    return;
  }
  const entered = drafts.of(card.id);
  if (key.adds) {
    drafts.set(card.id, COUNT, [String(countOf(card, entered.draft) + key.adds)]);
    if (state.form) drawAll();
    else writeCards(place("sheet"), [card.plain ?? card], hands);
    return;
  }
  const empty = key.bare ? [] : missing(card.fields, entered.draft);
  if (empty.length) {
    tellAt(card.id, `Still open: ${empty.map(({ label }) => label).join(", ")}.`, "bad");
    return;
  }
  const form = opened(card, key, entered);
  if (form) {
    open("", form.title, [form]);
    return;
  }
  const tell = (/** @type {string} */ text) => tellAt(card.id, text, "bad");
  let told = await send(key.ask, bodyOf(key, card.fields, entered), tell);
  if (told === null) return;
  for (const body of key.besides) {
    const whole = await send(key.ask, body, tell);
    if (whole === null) break; // what is left stands there by itself
    told = whole; // of several that are kept of one check the last is judged with all of them
  }
  const done = [card.id, ...(card.of ? [card.of] : [])];
  answered.set(card.id, standsAs(card.id));
  for (const id of done) drafts.clear(id);
  if (done.includes(state.opened) || closes(told)) state.opened = "";
  if (card.of && !isDone(told.outcome)) state.opened = state.lingers = told.row; // what is missing, or wrong, stands there
  const inForm = state.form !== ""; // what only a key opened is drawn no more: it closes
  const stays = inForm && !card.fields.length && key.ask !== LEAVES && !key.closes; // a hose, a probe: the next is touched beside it
  if (!stays && sheet.querySelector(`[data-card="${CSS.escape(card.id)}"]`)) sheet.close();
  for (const id of done) forget(id);
  tellOutcome(`Recorded: ${told.says}.`, isDone(told.outcome));
  if (RECORDS.has(key.ask)) goOn();
  draw();
}

// Touch the main key of several cards whose sentences say all that they record.
/** @param {VisitCard[]} cards */
function touchAll(cards) {
  return sendAll(cards.map((card) => ({ card, entered: drafts.of(card.id), key: mainOf(card, may) })));
}

// Record checks with what stood in them as they were shown.
/** @param {import("./cards.js").Entry[]} entries */
function record(entries) {
  return sendAll(entries.map((entry) => ({ ...entry, key: recordsWith(entry.card) })));
}

// Send several, each an ask of its own with an id of its own: what a loss of power cuts off is recorded, or stands there
// still, and never twice. It ends at what is refused, or said no to, and says so there.
/** @param {(import("./cards.js").Entry & { key: VisitKey | undefined })[]} all */
async function sendAll(all) {
  const [first] = all;
  const stoodAlone = first && place("check").querySelector(`[data-card="${CSS.escape(first.card.id)}"]`) !== null;
  /** @type {string[]} */
  const done = [];
  /** @type {string[]} */
  const open = [];
  let refused = "";
  for (const { card, entered, key } of all) {
    if (!key) break;
    const told = await send(key.ask, bodyOf(key, card.fields, entered), (text) => {
      refused = all.length > 1 ? `${card.title}: ${text}` : "";
      tellAt(card.id, text, "bad");
    });
    if (told === null) break;
    drafts.clear(card.id);
    forget(card.id);
    answered.set(card.id, standsAs(card.id));
    done.push(told.says);
    if (card.id === state.opened || closes(told)) state.opened = "";
    if (isDone(told.outcome)) continue;
    open.push(told.says);
    if (stoodAlone) state.opened = state.lingers = told.row; // what is missing, or wrong, stands there
  }
  const count = all.length > 1 ? `${done.length} of ${all.length}. ${open.join(". ")}${refused}` : `${done[0]}.`;
  if (first && (done.length || refused)) tellOutcome(`Recorded: ${count}`.trim(), !open.length && !refused);
  if (done.length && !refused) goOn();
  draw();
}

// A photograph is sent at once, and named in the field; the card is recorded with it, or it stands for itself. One that
// answers was read before it was taken: with the last of these the check is recorded, where nothing of it is left open or
// merely usual.
/**
 * @param {VisitCard} card
 * @param {VisitField} field
 * @param {FileList} files
 * @param {VisitShot} [shot]
 */
async function photograph(card, field, files, shot) {
  for (const file of files) {
    tellAt(card.id, "Sending the photograph…", "");
    const id = newId();
    const part = card.fields.find(({ name }) => name === "part");
    const [of] = part && shot ? standsIn(part, drafts.of(card.id).draft) : [];
    const about = { ...field.about, ...(shot ? { shot: shot.word } : {}), ...(of ? { part: of } : {}) };
    const sent = await sendPhotograph(file, { id, visit: state.told?.visit ?? "", ...about });
    if (!sent.ok) {
      tellAt(card.id, sent.reason ?? "It did not arrive: take it again.", "bad");
      return;
    }
    drafts.set(card.id, field.name, [...(drafts.of(card.id).draft[field.name] ?? []), id]);
    for (const [name, option] of Object.entries(shot?.answers ?? {})) {
      drafts.set(card.id, name, [option]);
      drafts.set(card.id, shownBy(name), [id]);
    }
    forget(card.id);
    tellOutcome("Photograph taken.");
    drawAll();
  }
  if (shot) await recordShown(card.id);
}

// Record a check whose last answer was photographed.
/** @param {string} id */
async function recordShown(id) {
  const row = state.told?.rows.find((it) => it.id === id);
  const card = row && state.told ? cardOf(row, state.told) : null;
  if (!card || !isAllAnswered(card, drafts.of(id), read)) return;
  await record([{ card, entered: written(card, drafts.of(id), read).entered }]);
}

// What was entered in a card is recorded: it is drawn anew, empty.
/** @param {string} card */
function forget(card) {
  for (const old of document.querySelectorAll(`[data-card="${CSS.escape(card)}"]`)) {
    old.closest("[data-shown]")?.removeAttribute("data-shown");
  }
}

/** @param {string} outcome Of a check; empty of anything else. */
const isDone = (outcome) => !["not_met", "cannot_tell"].includes(outcome);

// Whether what stands open is done by what was just recorded, whichever card that was: it stood there for what was missing.
/** @param {{ outcome: string, row: string }} told */
const closes = ({ outcome, row }) => row === state.opened && isDone(outcome);

// Ask, and give what was recorded in words, with why it came so; null where nothing was, which is told.
/**
 * @param {string} kind
 * @param {Record<string, any>} body
 * @param {(text: string) => void} tell
 * @returns {Promise<{ says: string, outcome: string, row: string } | null>}
 */
async function send(kind, body, tell) {
  if (page.classList.contains("sending")) return null;
  const visit = state.told?.visit ?? ""; // of what stands here: a question is answered for the same one
  const id = asked.idOf(visit, kind, body);
  page.classList.add("sending");
  untilRecorded.begin(kind, { id, visit, ...body });
  try {
    const answer = await ask(kind, { id, visit, ...body }, (question, offers) =>
      putQuestion(inUnits(question), offers),
    );
    const again = untilRecorded.take(kind, { id, visit, ...body }, answer);
    if (answer?.ok) {
      asked.answered(id);
      const why = inUnits(answer.mark?.says).replace(/\.$/, "");
      const { check = "", part = "", circuit = "", outcome = "" } = answer.mark ?? {};
      const row = [check, part || circuit].filter(Boolean).join(" ");
      return { says: [inUnits(answer.says), why].filter(Boolean).join(". "), outcome, row };
    }
    if (answer) tell(`${answer.reason ?? ""}${again ? " This page asks again until it is recorded." : ""}`);
    return null;
  } finally {
    page.classList.remove("sending");
  }
}

/** @param {{ us: string, si: string } | undefined} wording */
const inUnits = (wording) => (state.units === "si" ? wording?.si : wording?.us) ?? "";

/**
 * @param {string} card
 * @param {string} text
 * @param {string} mood
 */
function tellAt(card, text, mood) {
  for (const result of document.querySelectorAll(`[data-card="${CSS.escape(card)}"] > .card-result`)) {
    result.className = `result card-result ${mood}`;
    result.replaceChildren(...(mood ? [iconOf("warning"), " "] : []), text);
  }
}

/** @type {ReturnType<typeof setTimeout> | undefined} */
let ending;

/**
 * @param {string} text
 * @param {boolean} [good]
 */
function tellOutcome(text, good = true) {
  clearTimeout(ending);
  const looks = good ? ["outcome-good", "check"] : ["outcome-good care", "warning"];
  place("outcome").replaceChildren(
    element("span", looks[0], iconOf(looks[1] ?? ""), element("span", "", unbroken(text))),
  );
  ending = setTimeout(() => place("outcome").replaceChildren(), TOLD_MS);
}

// --- drawing

function draw() {
  if (drawing || document.hidden) return;
  drawing = true;
  requestAnimationFrame(() => {
    drawing = false;
    drawnAt = performance.now();
    drawResting(page, drawAll);
  });
}

function drawQuiet() {
  if (performance.now() - drawnAt >= QUIET_MS) draw();
}

function drawAll() {
  drawHead();
  drawStops();
  tellElsewhere();
  if (!state.told) return;
  writeStop(state.told.stop, may.has("seen"));
  writeStands(state.told.stands);
  drawTalk(state.told);
  drawCheck(state.told);
  drawProposals(state.told);
  drawBar(state.told);
  writeReports(place("report"), state.told, state.units);
  writeLive(page, read);
  writeAir(page);
  openAddressed();
  follow();
}

function tellElsewhere() {
  const { about, advice, told, heardAt } = state;
  const view = {
    read,
    about,
    advice,
    stands: told?.stands ?? null,
    stop: told?.stop ?? null,
    note: told?.talk[0]?.title ?? "",
    wrong: trouble({ ...state, silent: silent() }),
    silent: silent(),
    heardFor: since(heardAt),
  };
  writeGlance(view);
  speak(view);
}

// What is next stands at the top of the view once something was recorded: as soon as the rig has told of it.
function follow() {
  if (performance.now() - followsFrom_ms > FOLLOWS_MS || sheet.open) return;
  const next = NEXT_IN.map(place).find((panel) => !panel.hidden);
  const shown = next?.querySelector("[data-card]")?.getAttribute("data-card") ?? "";
  if (!next || shown === followed) return;
  followed = shown;
  const order = place("order-panel"); // stands before it, where it does
  (order.hidden ? next : order).scrollIntoView({ block: "start", behavior: "instant" }); // a key that glides is touched by chance
}

// Whoever scrolls has found what they want: nothing is taken from under their eyes.
function stay() {
  followsFrom_ms = Number.NEGATIVE_INFINITY;
}
for (const kind of ["wheel", "touchmove"]) page.addEventListener(kind, stay, { passive: true });

function goOn() {
  followsFrom_ms = performance.now();
  followed = "";
}

function drawHead() {
  const { about, told } = state;
  fill("tag", about?.tag ?? "Waiting for a rig");
  fill("place", about?.place ?? "");
  fill("lag", lagText(state));
  fill("circuit", told?.circuit ?? "");
  fill("who", told ? [told.who, `since ${clock(told.since)}`, state.watchers].filter(Boolean).join(" · ") : "");
  place("bench").hidden = !about?.simulated;
  place("played").hidden = !about?.played;
  const hands = find("hands-offer"); // only a technician has it
  if (hands) hands.hidden = !about?.simulated;
  const view = { ...state, silent: silent() };
  const unsaved = notSaved(view);
  const packs = state.frame?.unsaved ?? 0;
  const wrong = trouble(view) || (unsaved ? "NOT SAVED" : "");
  writeAlarm(place("alarm"), { wrong: about ? wrong || leftOut(view) : "", unsaved, packs });
  setStatus("saved", ...savedStatus(wrong, since(state.savedAt), packs));
}

function drawStops() {
  const stops = place("stops");
  const said = stopsOf(state.advice, silent());
  const key = JSON.stringify(said);
  if (stops.dataset.shown === key) return;
  stops.dataset.shown = key;
  stops.replaceChildren(
    ...said.map((text) => element("p", "stop", iconOf("warning"), element("span", "", unbroken(text)))),
  );
}

// How a check or a proposal stands, by its id, as the rig told last.
/** @param {string} id */
const standsAs = (id) =>
  JSON.stringify([state.told?.rows.find((row) => row.id === id), state.told?.proposals.find((card) => card.id === id)]);

// Whether what was just recorded stands there only because the rig has not told of it yet: nobody records it twice.
/** @param {string} id */
const isAnswered = (id) => answered.get(id) === standsAs(id);

/** @param {VisitTold} told */
function drawCheck(told) {
  const due = told.rows.find(({ next }) => next);
  const isDue = due?.group === MAKING_DEAD && due.id !== state.opened;
  if (isDue && state.opened === state.lingers) state.opened = state.lingers = ""; // it hides nothing that a life hangs on
  const offerable = told.rows.filter(({ id, outcome }) =>
    told.signed ? outcome !== "" : id === state.opened || !isAnswered(id),
  );
  const rows = offered(offerable, state.opened, isToStop(state.advice, silent()));
  const row = standing(rows, state.opened, (id) => Object.keys(drafts.of(id).draft).length > 0);
  const lists = together(rows, state.opened, (it) => canBeGathered(cardOf(it, told)));
  const single = row && !lists.some((list) => list.includes(row)) ? cardOf(row, told) : null;
  place("check-panel").hidden = !single;
  writeRound(place("check"), single && alone(single), hands);
  const [next] = [single && row ? [row] : [], ...lists].flat();
  for (const [index, name] of ["round", "round-after", "round-last"].entries()) {
    const list = lists[index] ?? [];
    const apart = list[0]?.apart ? cardOf(list[0], told) : null;
    foldLater(name, list, next, told);
    writeRound(place(name), apart ? alone(apart) : list.length ? roundOf(list, told) : null, hands);
  }
  place("closing-panel").hidden = !told.closing.some(({ keys }) => keys.some((key) => isFor(key, may)));
  writeCards(place("closing"), told.closing, hands);
  const open = (/** @type {VisitRow} */ { id }) => {
    state.opened = id;
    drawAll();
    place("check-panel").scrollIntoView({ block: "start" });
  };
  const sign = () => place("closing-panel").scrollIntoView({ block: "start" });
  writeWork(place("groups"), told, row?.id ?? "", open, sign);
  drawOrder(!told.signed && (next?.group === "E" || !place("closing-panel").hidden));
}

// What is of a later group than the one in hand is folded under that group's name, until a person opens it.
/**
 * @param {string} name
 * @param {VisitRow[]} list
 * @param {VisitRow | undefined} next
 * @param {VisitTold} told
 */
function foldLater(name, list, next, told) {
  const panel = /** @type {HTMLDetailsElement} */ (place(`${name}-panel`));
  const group = list[0]?.group ?? "";
  const folds = isLater(list, next, told.rows);
  panel.hidden = !list.length;
  panel.classList.toggle("later", folds);
  const key = `${told.visit} ${folds ? group : ""}`; // what a person has opened or folded stays so
  if (panel.dataset.of !== key) panel.open = !folds;
  panel.dataset.of = key;
  fill(`${name}-name`, `${group} · ${titleOf(group, told)}: ${list.length} open`);
}

// What the judge says of the charge, in its own sentence, where refrigerant is worked on or the visit is signed. What
// leads stands above all else already.
/** @param {boolean} isAsked */
function drawOrder(isAsked) {
  const advice = state.advice;
  const leads = advice && (advice.state === "stop" || advice.leads.includes(advice.sentence));
  const cards = isToStop(advice, silent()) ? [] : (state.told?.leaving ?? []);
  const leaving = cards.filter(({ keys }) => !keys.length || keys.some((key) => isFor(key, may)));
  const isLeft = leaving.some(({ id }) => id === "charge-left");
  const isAskedFor = state.told?.facts.includes("charge_asked") ?? false;
  const isOpen = isAskedFor && !isLeft && !state.told?.signed;
  const says = (isAsked || isOpen) && advice && !silent() && !leads ? advice.sentence : "";
  place("order-panel").hidden = !says && !isOpen && !isLeft;
  place("charge-asked").hidden = !isOpen;
  fill("order", says);
  writeCards(place("leaving"), leaving, hands);
}

/**
 * @param {VisitRow} row
 * @param {VisitTold} told
 */
function cardOf(row, told) {
  const card = cardFor(row, state.checks, told.facts, state.units, drafts.of(row.id).draft);
  return card && told.signed ? asSigned(card) : card;
}

/**
 * @param {string} group
 * @param {VisitTold} told
 */
const titleOf = (group, told) => told.groups.find(([name]) => name === group)?.[1] ?? "";

/** @param {VisitCard} card */
const alone = (card) => ({ id: card.id, title: card.title, says: [], cards: [card] });

// What is asked for before a round, and open, is said in its head: the order is advice, and nothing waits for it.
/**
 * @param {VisitRow[]} rows
 * @param {VisitTold} told
 */
function roundOf(rows, told) {
  const group = rows[0]?.group ?? "";
  const before = comesBefore(rows, told.rows).map(({ title }) => title);
  return {
    id: `round ${group}`,
    title: `${group} · ${titleOf(group, told)}`,
    says: before.length ? [`Comes before, and is open: ${before.join(", ")}.`] : [],
    cards: rows.flatMap((row) => cardOf(row, told) ?? []),
  };
}

// What waits for a person stands above the check, and not so much of it that the check is out of sight.
/** @param {VisitTold} told */
function drawTalk({ talk }) {
  writeCards(place("talk"), talk.slice(0, TALK_SHOWN), hands);
  const rest = talk.slice(TALK_SHOWN);
  place("talk-rest").hidden = !rest.length;
  fill("talk-more", `${rest.length} more`);
  writeCards(place("talk-others"), rest, hands);
}

// What one key may keep together is a list above the work. Of the others one at a time, the oldest first, at the bottom
// edge, so that they never cover the work.
/** @param {VisitTold} told */
function drawProposals({ proposals }) {
  const { together, alone } = gather(
    proposals.filter(({ id }) => !isAnswered(id)),
    may,
  );
  const gathered = place("gathered");
  if (!holdsGathered()) writeGathered(gathered, together, hands);
  const holder = place("proposals");
  const [first] = alone;
  const more = alone.length > 1 ? ` (1 of ${alone.length}: ${alone.length - 1} more)` : "";
  writeCards(holder, first ? [{ ...first, title: `${first.title}${more}` }] : [], hands);
}

/** @param {VisitForm} form */
const isOpenTo = ({ cards }) => cards.some(({ keys }) => keys.some((key) => isFor(key, may)));

/** @param {VisitTold} told */
function drawBar(told) {
  const open = told.forms.filter(isOpenTo);
  const forms = open.filter(({ in_bar }) => in_bar);
  const holder = place("keys");
  const key = JSON.stringify([ROOMY.matches, forms.map(({ id, title }) => [id, title])]);
  if (holder.dataset.shown !== key) {
    holder.dataset.shown = key;
    const first = ROOMY.matches || forms.length <= IN_THE_BAR + 1 ? forms : forms.slice(0, IN_THE_BAR);
    const rest = forms.slice(first.length);
    const keys = first.map(({ id, title }) => {
      const made = barKey(title, () => openForm(id));
      made.dataset.form = id;
      return made;
    });
    holder.replaceChildren(...keys, ...(rest.length ? [barKey("More…", () => openMore(rest))] : []));
  }
  const shown = open.find(({ id }) => id === state.form);
  if (sheet.open && shown) writeCards(place("sheet"), shown.cards, hands);
}

/**
 * @param {string} says
 * @param {() => void} touch
 */
function barKey(says, touch) {
  const made = element("button", "button key", says);
  made.type = "button";
  made.addEventListener("click", touch);
  return made;
}

/** @param {string} id */
function openForm(id) {
  const form = state.told?.forms.find((it) => it.id === id);
  if (form) open(form.id, form.title, form.cards);
}

// A form that another page leads to, by its id behind the address; once.
function openAddressed() {
  const id = location.hash.slice(1);
  if (!id) return;
  history.replaceState(null, "", location.pathname + location.search);
  openForm(id);
}

/**
 * @param {string} id Of a form, which is drawn as it changes; empty for a card that only a key opens.
 * @param {string} title
 * @param {VisitCard[]} cards
 */
function open(id, title, cards) {
  state.form = id;
  fill("sheet-title", title);
  place("sheet").replaceChildren();
  writeCards(place("sheet"), cards, hands);
  sheet.dataset.single = String(cards.length === 1);
  if (!sheet.open) sheet.showModal();
  for (const scrolled of [sheet, place("sheet")]) scrolled.scrollTop = 0; // a form in place of another begins anew
}

/** @param {VisitForm[]} forms */
function openMore(forms) {
  state.form = "";
  fill("sheet-title", "More");
  place("sheet").replaceChildren(
    element("div", "keys-grid", ...forms.map(({ id, title }) => barKey(title, () => openForm(id)))),
  );
  sheet.showModal();
}

// --- starting

startControls({
  units: (value) => {
    state.units = value;
    listen();
  },
  theme: (value) => {
    document.documentElement.dataset.theme = value;
  },
  ready: draw,
});
document.getElementById("sheet-close")?.addEventListener("click", () => sheet.close());
refuseAtRest(page);
startReports(place("report"));
listen();
startGlance(draw);
startSpoken();
setInterval(drawQuiet, QUIET_MS);
document.addEventListener("visibilitychange", draw);
ROOMY.addEventListener("change", draw);
