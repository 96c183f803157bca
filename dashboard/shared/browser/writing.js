// Writing figures and words into the page.

/** @type {(name: string) => HTMLElement | null} */
export const find = (name) => document.querySelector(`[data-live="${name}"]`);

// A place that every page has.
/**
 * @param {string} name
 * @returns {HTMLElement}
 */
export function place(name) {
  const found = find(name);
  if (!found) throw new Error(`the page has no place for ${name}`);
  return found;
}

/**
 * @param {string} name
 * @param {string} text
 */
export function fill(name, text) {
  const element = find(name);
  if (element && element.textContent !== text) element.textContent = text;
}

const MOST_TICKS = 250;

// Where an axis is ticked, each counted from the first: added up, a step is lost beside a number that is large enough.
/**
 * @param {number} low
 * @param {number} high
 * @param {number} step
 */
export function ticks(low, high, step) {
  const first = Math.ceil(low / step);
  const count = Math.min(Math.floor(high / step) - first, MOST_TICKS);
  return count >= 0 ? Array.from({ length: count + 1 }, (_, index) => (first + index) * step) : [];
}

// At every how many steps an axis is ticked: at each, but for what no instrument can have read, which would be without end.
/** @param {number} steps */
export const tickedAt = (steps) => (steps <= MOST_TICKS ? 1 : 10 ** Math.ceil(Math.log10(steps / MOST_TICKS)));

// A status is a symbol, a word and a colour, all three.
/**
 * @param {string} name
 * @param {string} mood
 * @param {string} icon
 * @param {string} text
 */
export function setStatus(name, mood, icon, text) {
  const element = place(name);
  const key = `${mood} ${icon} ${text}`;
  if (element.dataset.shown === key) return;
  element.dataset.shown = key;
  element.className = `fact status ${mood}`;
  element.replaceChildren(iconOf(icon), ` ${text}`);
}

/** @param {string} name */
export function iconOf(name) {
  const icon = document.createElement("span");
  icon.className = `icon icon-${name}`;
  icon.setAttribute("aria-hidden", "true");
  return icon;
}

// Words within markup that is drawn.
/** @param {string} text */
export const escaped = (text) => text.replace(/[&<>"]/g, (sign) => `&#${sign.charCodeAt(0)};`);

// Keep a figure, its sign and its unit on one line, and the number of a page, such as RA3-15.
/** @param {string} text */
export const unbroken = (text) =>
  text
    .replace(/(?<=\d) (?=[±°%]|(?:K|oz|lb|g|kg|min|s|A|V|psig)\b)|(?<=±|\blb) (?=\d)/g, "\u00a0")
    .replace(/(?<=\b[A-Z]+\d+)-(?=\d)/g, "-\u2060");

/**
 * @template {keyof HTMLElementTagNameMap} Tag
 * @param {Tag} tag
 * @param {string} [className]
 * @param {(string | Node)[]} content
 * @returns {HTMLElementTagNameMap[Tag]}
 */
export function element(tag, className, ...content) {
  const made = document.createElement(tag);
  if (className) made.className = className;
  made.append(...content);
  return made;
}

/** @param {number} number */
export const whole = (number) => Math.max(0, Math.floor(number));

/**
 * @param {number} value
 * @param {number} decimals
 */
export const number = (value, decimals) =>
  value
    .toFixed(decimals)
    .replace(/^-(?=0*\.?0*$)/, "")
    .replace("-", "−");

/** @param {Reading | null | undefined} reading */
export const figure = (reading) => (reading?.value == null ? "–" : number(reading.value, reading.decimals));

/** @param {Reading | null | undefined} reading */
export function plusMinus(reading) {
  if (reading?.plusMinus == null) return "";
  return `± ${reading.plusMinus >= 10 ? reading.plusMinus.toFixed(0) : reading.plusMinus.toFixed(1)}`;
}

// What a figure was judged at, where it has settled and still is within the ± of that.
/**
 * @param {Reading} reading
 * @param {Steadiness | undefined} steadiness
 * @returns {Reading}
 */
export function judged(reading, steadiness) {
  if (steadiness?.state !== "settled" || steadiness.value === null || reading.value === null || reading.old)
    return reading;
  const may = Math.max(steadiness.plus_minus ?? 0, 10 ** -reading.decimals);
  const moved = Math.abs(reading.value - steadiness.value) > may;
  return moved ? reading : { ...reading, value: steadiness.value, plusMinus: steadiness.plus_minus };
}

// A figure of a unit at work: while it stands there is none, whatever the pipes read as they even out.
/**
 * @param {Reading} reading
 * @param {string | undefined} state
 * @returns {Reading}
 */
export const ofARunning = (reading, state) =>
  state === "not running" && reading.value !== null
    ? { ...reading, value: null, plusMinus: null, reason: "None at rest" }
    : reading;

// A reading as it may be taken: of what the judge has of a unit that runs there is none while it stands.
/**
 * @param {Reading | null} reading
 * @param {Advice | null} advice
 * @returns {Reading | null}
 */
export const atWork = (reading, advice) =>
  reading && advice?.steadiness[reading.name] ? ofARunning(reading, advice.state) : reading;

// Why what the link shows is no figure of this unit and this moment, as the rig says it; empty where it is one.
/** @type {(reading: Pick<Reading, "quality" | "reason" | "old"> | null) => string} */
export const notOfHere = (reading) =>
  reading?.quality === "elsewhere"
    ? reading.reason || "it is elsewhere"
    : reading?.old
      ? reading.reason || "nothing new came from it"
      : "";

// A multimeter's figure in the range in which it would show it: millivolts, kilohms and megohms too.
/**
 * @param {Reading} reading
 * @returns {Reading}
 */
export function ranged(reading) {
  if (!reading.name.startsWith("multimeter_") || reading.value === null) return reading;
  const size = Math.abs(reading.value);
  const [factor, prefix, decimals] =
    reading.unit === "Ω"
      ? size >= 1e6
        ? [1e6, "M", 1]
        : size >= 1e3
          ? [1e3, "k", 2]
          : [1, "", 1]
      : reading.unit !== "V"
        ? [1, "", reading.decimals]
        : size > 0 && size < 1
          ? [1e-3, "m", 0]
          : [1, "", size < 10 ? 2 : 0];
  const plusMinus = reading.plusMinus === null ? null : Number((reading.plusMinus / factor).toPrecision(2));
  return { ...reading, value: reading.value / factor, plusMinus, unit: `${prefix}${reading.unit}`, decimals };
}

// Said in place of "Settled": a figure may stand still and be wrong.
export const IN_DOUBT = "In doubt";

// How old something is, no finer than anyone needs.
/** @param {number} seconds */
export function agedText(seconds) {
  if (seconds < 1) return "< 1 s";
  if (seconds < 100) return `${Math.floor(seconds)} s`;
  if (seconds < 6000) return `${Math.floor(seconds / 60)} min`;
  return `${Math.floor(seconds / 3600)} h`;
}

// What stands across figures that are no longer fed.
/** @param {number | null} seconds */
export const silenceText = (seconds) =>
  seconds === null ? "No data yet" : `No data for ${agedText(seconds)}: these figures are old`;

/** @param {number} seconds */
export const clock = (seconds) =>
  new Date(seconds * 1000).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });

// A day, with its month in letters: 3/5 is read as two days.
/** @param {number} seconds */
export const day = (seconds) =>
  new Date(seconds * 1000).toLocaleDateString([], { day: "numeric", month: "short", year: "numeric" });

/** @param {number} seconds */
export const clockToTheSecond = (seconds) =>
  new Date(seconds * 1000).toLocaleTimeString([], {
    hour: "2-digit",
    minute: "2-digit",
    second: "2-digit",
    hourCycle: "h23",
  });

/** @param {{ read: Read, advice: Advice | null, silent: boolean }} view */
export function spokenSummary({ read, advice, silent }) {
  if (silent) return "No data.";
  const said = ["superheat", "subcooling"].map((name) => {
    const reading = read(name);
    if (reading?.value == null) return `${reading?.label ?? name} unknown.`;
    const standing = name in (advice?.doubts ?? {}) ? IN_DOUBT : advice?.steadiness[name]?.word;
    const steadiness = standing?.toLowerCase();
    const spread = reading.plusMinus == null ? "" : ` plus or minus ${reading.plusMinus}`;
    return `${reading.label} ${figure(reading)}${spread} ${reading.unit}${steadiness ? `, ${steadiness}` : ""}.`;
  });
  const stop = advice?.alarms.map(({ stop }) => stop) ?? [];
  return [...stop, ...said, stop.length ? "" : (advice?.sentence ?? "")].filter(Boolean).join(" ");
}
