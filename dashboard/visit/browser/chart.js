// A maker's charging chart, typed as it is printed: outdoor air down, wet bulb across. It begins with the lines next to now.

import { element, unbroken } from "../../shared/browser/writing.js";
import { standsIn } from "./drafts.js";

/**
 * @typedef {object} Chart All of it as it was typed.
 * @property {"degF" | "degC"} unit
 * @property {string[]} wet_bulbs
 * @property {string[]} outdoors
 * @property {string[][]} cells Of each outdoor air its row.
 */

const MOST_LINES = 12;
const SHOWS = /** @type {const} */ ({ degF: "°F", degC: "°C" });
const STEPS = { degF: [2, 5], degC: [1, 3] }; // °F: of the table of California Title 24, RA3.2; °C: about as much

// As the server reads it; nothing where no superheat was typed. A value without a heading goes along: it is refused.
/** @param {string} draft */
export function chartText(draft) {
  const { unit, wet_bulbs, outdoors, cells } = /** @type {Chart} */ (JSON.parse(draft));
  const plain = (/** @type {string | undefined} */ text) => (text ?? "").trim().replace(",", ".");
  const points = outdoors.flatMap((outdoor, row) =>
    wet_bulbs.flatMap((wet, column) => {
      const superheat = plain(cells[row]?.[column]);
      return superheat ? [`${plain(wet)}/${plain(outdoor)} ${superheat}`] : [];
    }),
  );
  return points.length ? `${points.join(" | ")} ${unit}` : "";
}

// The printed line next to a temperature.
/**
 * @param {number | null | undefined} value
 * @param {number} step
 */
export const nextLine = (value, step) => (value == null ? "" : String(Math.round(value / step) * step));

// The chart of one box, next to now.
/**
 * @param {"degF" | "degC"} unit
 * @param {ChartAir | null} air
 * @returns {Chart}
 */
export function begun(unit, air) {
  const [wet, outdoor] = headings(unit, air);
  return { unit, wet_bulbs: [wet], outdoors: [outdoor], cells: [[""]] };
}

/**
 * @param {"degF" | "degC"} unit
 * @param {ChartAir | null} air
 * @returns {[string, string]}
 */
const headings = (unit, air) => [
  nextLine(air?.[unit][0], STEPS[unit][0] ?? 1),
  nextLine(air?.[unit][1], STEPS[unit][1] ?? 1),
];

// One more line, and whether it comes first: beyond now as seen from the one there is, else in the step of the last two.
/**
 * @param {string[]} lines
 * @param {number | null | undefined} now
 * @param {number} step
 * @returns {[string, boolean]}
 */
export function oneMore(lines, now, step) {
  const known = lines.map((text) => Number.parseFloat(text));
  const [first = Number.NaN, second = Number.NaN] = known;
  const [before = Number.NaN, last = Number.NaN] = known.slice(-2);
  if (known.some(Number.isNaN)) return ["", false];
  if (now != null && now < first) return [String(first - (second - first || step)), true];
  return [String(known.length > 1 ? last + (last - before || step) : first + step), false];
}

/**
 * @param {VisitField} field
 * @param {VisitCard} card
 * @param {import("./cards.js").Hands} hands
 */
export function chartOf(field, card, hands) {
  const made = element("div", "chart");
  made.dataset.chart = "";
  const kept = () => standsIn(field, hands.drafts.of(card.id).draft)[0];
  const own = field.unit === "degC" ? "degC" : "degF";
  let chart = /** @type {Chart} */ (JSON.parse(kept() ?? "null")) ?? begun(own, hands.air());
  const keep = () => hands.drafts.set(card.id, field.name, [JSON.stringify(chart)]);
  const redraw = () => {
    keep();
    draw();
  };
  const grow = (/** @type {0 | 1} */ axis) => {
    const lines = axis ? chart.outdoors : chart.wet_bulbs;
    const [line, isFirst] = oneMore(lines, hands.air()?.[chart.unit][axis], STEPS[chart.unit][axis] ?? 1);
    const at = isFirst ? 0 : lines.length;
    lines.splice(at, 0, line);
    if (axis)
      chart.cells.splice(at, 0, chart.wet_bulbs.map(() => "")); // biome-ignore format: one line is one axis
    else for (const row of chart.cells) row.splice(at, 0, "");
    redraw();
    const shown = made.querySelectorAll(axis ? "tr" : "tr:first-child th")[axis ? at + 1 : at];
    shown?.scrollIntoView({ block: "nearest", inline: isFirst ? "end" : "nearest", behavior: "instant" });
  };
  const now = element("p", "aside");
  const draw = () => {
    const more = /** @type {const} */ ([
      ["Another wet bulb →", 0, chart.wet_bulbs],
      ["Another outdoor air ↓", 1, chart.outdoors],
    ]).map(([says, axis, lines]) => {
      const key = keyOf(says, `${card.id} ${says}`, () => grow(axis));
      key.disabled = lines.length >= MOST_LINES;
      return key;
    });
    const units = /** @type {const} */ (["degF", "degC"]).map((unit) => {
      const touch = () => {
        const isTyped = chartText(JSON.stringify(chart)) !== ""; // which is not converted: it is as printed
        chart = isTyped ? { ...chart, unit } : begun(unit, hands.air());
        redraw();
      };
      const key = keyOf(SHOWS[unit], `${card.id} ${unit}`, touch, "button key choice-key");
      key.setAttribute("aria-pressed", String(chart.unit === unit));
      return key;
    });
    const printed = element("div", "chart-units", element("span", "", "Printed in"), ...units);
    printed.setAttribute("role", "group");
    printed.setAttribute("aria-label", "Printed in");
    made.replaceChildren(
      now,
      element("div", "chart-grid", gridOf(chart, card.id, keep)),
      element("div", "keys-grid", ...more),
      printed,
    );
    tellNow();
  };
  const tellNow = () => {
    const air = hands.air()?.[chart.unit] ?? [null, null];
    const shown = (/** @type {number | null} */ it) =>
      it === null ? "unknown" : `${it.toFixed(1)} ${SHOWS[chart.unit]}`;
    const says = `Now: ${shown(air[1])} outdoors, ${shown(air[0])} wet bulb inside.`;
    if (now.textContent !== says) now.textContent = unbroken(says);
  };
  made.addEventListener("air", () => {
    const [[wet], [outdoor]] = [chart.wet_bulbs, chart.outdoors];
    const isUntouched = !kept() && !made.contains(document.activeElement);
    const anew = begun(chart.unit, hands.air());
    const isMore = (!wet && anew.wet_bulbs[0]) || (!outdoor && anew.outdoors[0]);
    if (!isUntouched || !isMore) return tellNow();
    chart = anew;
    draw();
  });
  draw();
  return made;
}

/**
 * @param {Chart} chart
 * @param {string} card
 * @param {() => void} keep
 */
function gridOf(chart, card, keep) {
  const unit = SHOWS[chart.unit];
  const line = (/** @type {string[]} */ lines, /** @type {number} */ index, /** @type {string} */ says) =>
    inputOf(`${says}, line ${index + 1}`, lines[index] ?? "", `${card} ${says} ${index}`, (text) => {
      lines[index] = text;
      keep();
    });
  const heads = chart.wet_bulbs.map((_, column) => element("th", "", line(chart.wet_bulbs, column, "Wet bulb inside")));
  const rows = chart.cells.map((row, index) => {
    const head = element("th", "", line(chart.outdoors, index, "Outdoor air"));
    const cells = row.map((superheat, column) => {
      const says = `Superheat, row ${index + 1}, column ${column + 1}`;
      const input = inputOf(says, superheat, `${card} cell ${index} ${column}`, (text) => {
        row[column] = text;
        keep();
      });
      return element("td", "", input);
    });
    return element("tr", "", head, ...cells);
  });
  const corner = element(
    "td",
    "chart-corner",
    element("span", "", `Outdoors ${unit} ↓`),
    element("span", "", `Wet bulb ${unit} →`),
  );
  return element("table", "", element("tbody", "", element("tr", "", corner, ...heads), ...rows));
}

/**
 * @param {string} label
 * @param {string} value
 * @param {string} key
 * @param {(text: string) => void} typed
 */
function inputOf(label, value, key, typed) {
  const made = element("input", "field number");
  made.inputMode = "decimal";
  made.autocomplete = "off";
  made.maxLength = 6;
  made.value = value;
  made.dataset.key = key;
  made.setAttribute("aria-label", label);
  made.addEventListener("focus", () => made.select()); // typed over at once
  made.addEventListener("input", () => typed(made.value));
  return made;
}

/**
 * @param {string} says
 * @param {string} id
 * @param {() => void} touch
 * @param {string} [looks]
 */
function keyOf(says, id, touch, looks = "button key") {
  const made = element("button", looks, says);
  made.type = "button";
  made.dataset.key = id;
  made.addEventListener("click", touch);
  return made;
}

// Tell every chart that is drawn what the air is now.
/** @param {ParentNode} holder */
export function writeAir(holder) {
  for (const chart of holder.querySelectorAll("[data-chart]")) chart.dispatchEvent(new Event("air"));
}
