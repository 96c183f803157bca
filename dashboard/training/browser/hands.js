// The controls at a simulated unit: each key does what it says, and the bench tells how things then stand. Places open
// one at a time. What is chosen in a field is the page's own until a key puts it into an act.

import { postTo } from "../../shared/browser/asking.js";
import { element, figure, fill, find, iconOf, place, ranged, unbroken } from "../../shared/browser/writing.js";

const AT_THE_UNIT = "#at-the-unit";
const FEW = 4; // so many choices stand as keys; more of them in a list
/** @type {Map<string, string>} */
const chosen = new Map();
let touched = ""; // the control whose key was touched last
const DOUBLE_MS = 600; // a double touch is over by then
/** @type {Touch} */
let before = { id: "", keys: "", at_ms: Number.NEGATIVE_INFINITY };
let told = ""; // what a refusal was told beside

/** @param {{ hands: Hands | null, about: About | null, read: Read }} view */
export function writeHands({ hands, about, read }) {
  const offer = find("hands-offer"); // only a technician has it
  if (!offer) return;
  offer.hidden = !about?.simulated || !hands;
  if (!hands) return;
  if (!offer.hidden && location.hash === AT_THE_UNIT) openOnce(offer);
  fill("hands-last", hands.last);
  writeBefore(hands.before);
  const key = `${hands.refused_act} ${hands.refused}`;
  if (key !== told) {
    told = key;
    fill("hands-refused", hands.refused);
  }
  const holder = place("hands");
  for (const where of hands.places) writePlace(holder, where, hands);
  for (const old of [...holder.children]) {
    if (!hands.places.some(({ name }) => name === old.getAttribute("data-place"))) old.remove();
  }
  for (const shown of holder.querySelectorAll("[data-reads]")) writeFigure(shown, read);
}

// Whoever comes from the other page for these controls finds them open; not again when they come back to this address.
/** @param {HTMLElement} offer */
function openOnce(offer) {
  history.replaceState(null, "", location.pathname + location.search);
  offer.querySelector("button")?.click();
}

/** @param {string[]} before */
function writeBefore(before) {
  const holder = place("hands-before");
  holder.hidden = !before.length;
  const list = place("hands-before-list");
  const key = before.join();
  if (list.dataset.shown === key) return;
  list.dataset.shown = key;
  list.replaceChildren(...before.map((did) => element("li", "", did)));
}

/**
 * @param {HTMLElement} holder
 * @param {HandsPlace} where
 * @param {Hands} hands
 */
function writePlace(holder, where, hands) {
  const refused = refusedIn(where, hands);
  const key = JSON.stringify([where, refused && hands.refused]);
  let section = /** @type {HTMLDetailsElement | null} */ (holder.querySelector(`[data-place="${where.name}"]`));
  if (section?.dataset.shown === key) return;
  if (!section) {
    section = element("details", "hands-place");
    section.name = "hands"; // opens one at a time
    section.dataset.place = where.name;
    section.append(element("summary", ""), element("div", "dialog-body"));
    section.addEventListener("toggle", startAtTop);
    holder.append(section);
  }
  section.dataset.shown = key;
  const focused = document.activeElement?.getAttribute("data-key");
  const [summary, body] = section.children;
  summary.replaceChildren(element("span", "", where.title), element("span", "stands", unbroken(where.stands)));
  body.replaceChildren(
    ...where.says.map((says) => element("p", "hands-says", says)),
    ...warned(where, body),
    ...where.controls.map((it) => control(it, where, it.name === refused ? hands.refused : "")),
  );
  if (focused && !document.activeElement?.closest(".hands")) {
    /** @type {HTMLElement | null} */ (section.querySelector(`[data-key="${CSS.escape(focused)}"]`))?.focus();
  }
}

// The place above folds when one opens: without this its cautions would lie above the edge.
/** @param {Event} event */
function startAtTop({ target }) {
  if (target instanceof HTMLDetailsElement && target.open) target.scrollIntoView({ block: "start" });
}

// Which control a refusal stands beside: the one that was touched here, else the first that does such an act.
/**
 * @param {HandsPlace} where
 * @param {Hands} hands
 */
function refusedIn(where, hands) {
  const able = where.controls.filter((it) => it.act === hands.refused_act);
  return hands.refused ? (able.find((it) => `${where.name} ${it.name}` === touched) ?? able[0])?.name : undefined;
}

// What bears on the hands there stands; what holds for the whole visit is folded.
/**
 * @param {HandsPlace} where
 * @param {Element} body
 */
function warned({ cautions, once, cautions_once }, body) {
  const list = (/** @type {string[]} */ texts) =>
    element(
      "ul",
      "cautions",
      ...texts.map((text) => element("li", "", iconOf("warning"), element("span", "", unbroken(text)))),
    );
  if (!cautions_once.length) return [list(cautions)];
  const folded = element("details", "rest", element("summary", "", once), list(cautions_once));
  folded.open = /** @type {HTMLDetailsElement | null} */ (body.querySelector(".rest"))?.open ?? false;
  return [list(cautions), folded];
}

/**
 * @param {HandsControl} it
 * @param {HandsPlace} where
 * @param {string} refused
 */
function control(it, where, refused) {
  const id = `${where.name} ${it.name}`;
  const head = element("div", "hands-head", element("h3", "", it.name));
  if (it.stands) head.append(element("span", "stands", unbroken(it.stands)));
  for (const channel of it.reads) {
    const shown = element("span", "hands-figure");
    shown.dataset.reads = channel;
    head.append(shown);
  }
  const keys = it.keys.map(([says, act]) => keyOf(says, `${id} ${says}`, () => send(id, it, says, act)));
  const made = element(
    "div",
    "hands-control",
    head,
    ...it.fields.map((each) => field(each, `${id} ${each.label}`)),
    element("div", "hands-keys", ...keys),
  );
  made.dataset.control = it.name;
  if (it.refuses) made.append(element("p", "hands-refuses", it.refuses));
  if (refused) made.append(element("p", "hands-refused", iconOf("cross"), ` ${refused}`));
  return made;
}

/**
 * @param {string} says
 * @param {string} key
 * @param {() => void} touch
 */
function keyOf(says, key, touch) {
  const made = element("button", "button", says);
  made.type = "button";
  made.dataset.key = key;
  made.addEventListener("click", touch);
  return made;
}

/** @param {HandsField} it */
const optionsOf = (it) => it.groups.flatMap(([, options]) => options);

// What a field stands on: what was chosen here, else how it stands, else its first choice.
/**
 * @param {HandsField} it
 * @param {string} id
 */
function standing(it, id) {
  const options = optionsOf(it);
  const has = (/** @type {string | undefined} */ says) => options.some(([each]) => each === says);
  const own = chosen.get(id);
  return has(own) ? own : has(it.chosen) ? it.chosen : options[0]?.[0];
}

/**
 * @param {HandsField} it
 * @param {string} id
 */
function field(it, id) {
  const options = optionsOf(it);
  return element("div", "hands-field", ...(options.length <= FEW ? few(it, id) : many(it, id)));
}

/**
 * @param {HandsField} it
 * @param {string} id
 */
function few(it, id) {
  const group = element("div", "choice");
  group.setAttribute("role", "group");
  group.setAttribute("aria-label", it.label);
  for (const [says] of optionsOf(it)) {
    const option = element("button", "choice-option", says);
    option.type = "button";
    option.dataset.key = `${id} ${says}`;
    option.setAttribute("aria-pressed", String(says === standing(it, id)));
    option.addEventListener("click", () => {
      chosen.set(id, says);
      for (const each of group.children) each.setAttribute("aria-pressed", String(each === option));
    });
    group.append(option);
  }
  return [element("span", "hands-label", it.label), group];
}

/**
 * @param {HandsField} it
 * @param {string} id
 */
function many(it, id) {
  const list = element("select", "field");
  list.dataset.key = id;
  for (const [title, options] of it.groups) {
    const made = options.map(([says]) => element("option", "", says));
    if (!title) list.append(...made);
    else if (made.length) {
      const group = element("optgroup", "", ...made);
      group.label = title;
      list.append(group);
    }
  }
  list.value = standing(it, id) ?? "";
  list.addEventListener("change", () => chosen.set(id, list.value));
  return [element("label", "hands-label", it.label, list)];
}

// Whether a touch is the second of a double one, on the key that has come meanwhile to where the first one was: it would
// undo the first.
/** @typedef {{ id: string, keys: string, at_ms: number }} Touch */
/**
 * @param {Touch} first
 * @param {Touch} second
 */
export function isEcho(first, second) {
  return first.id === second.id && first.keys !== second.keys && second.at_ms - first.at_ms < DOUBLE_MS;
}

// Put what stands in the fields into an act; a part of it joins what is there.
/**
 * @param {Record<string, any>} act
 * @param {Record<string, any>} part
 * @returns {Record<string, any>}
 */
export function joined(act, part) {
  const whole = { ...act };
  for (const [name, value] of Object.entries(part)) {
    whole[name] = value !== null && typeof value === "object" ? joined(whole[name] ?? {}, value) : value;
  }
  return whole;
}

/**
 * @param {string} id
 * @param {HandsControl} it
 * @param {string} says
 * @param {Record<string, any>} act
 */
async function send(id, it, says, act) {
  const touch = { id, keys: it.keys.map(([each]) => each).join(), at_ms: performance.now() };
  if (isEcho(before, touch)) return;
  before = touch;
  touched = id;
  told = "";
  let whole = act;
  for (const each of it.bare.includes(says) ? [] : it.fields) {
    const name = `${id} ${each.label}`;
    const option = optionsOf(each).find(([says]) => says === standing(each, name));
    if (option) whole = joined(whole, option[1]);
  }
  const answer = await postTo("api/bench/act", whole);
  if (!answer.ok) fill("hands-refused", `Not done: ${answer.reason}`);
}

/**
 * @param {Element} shown
 * @param {Read} read
 */
function writeFigure(shown, read) {
  const heard = read(/** @type {HTMLElement} */ (shown).dataset.reads ?? "");
  const reading = heard && ranged(heard);
  const none = !reading || reading.value === null;
  const value = none ? (reading?.quality === "overload" ? "OL" : "–") : `${figure(reading)} ${reading.unit}`;
  const text = unbroken(reading?.name.endsWith("_pressure") ? `${reading.label} ${value}` : value); // no regulator's
  if (shown.textContent !== text) shown.textContent = text;
  shown.classList.toggle("outdated", !!reading?.old);
}
