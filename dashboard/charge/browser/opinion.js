// What to stop for, what would explain the readings, and whether the charge may be judged.

import { newId, post } from "../../shared/browser/asking.js";
import { element, fill, iconOf, place, unbroken } from "../../shared/browser/writing.js";
import { tellOutcome } from "./outcome.js";

let inView = "";

/** @param {{ advice: Advice | null, about: About | null, marks: Marks | null, silent: boolean }} view */
export function writeOpinion({ advice, about, marks, silent }) {
  inView = about?.visit ?? "";
  const causes = place("causes");
  const explanations = advice?.explanations ?? [];
  writeStops(advice?.alarms ?? [], silent);
  const page = /** @type {HTMLElement} */ (document.getElementById("page"));
  page.dataset.toMove = keyToMove(advice, silent, marks);
  const panel = /** @type {HTMLElement} */ (causes.parentElement);
  panel.hidden = !explanations.length && !advice?.judgement;
  panel.classList.toggle("outdated", silent);
  if (changed(causes, explanations)) writeCauses(causes, explanations);
  const notJudged = advice?.not_judged ?? [];
  writeOthers(panel, explanations.length - 1);
  fill("not-judged", notJudged.length ? `Not judged by these readings: ${notJudged.join(", ")}.` : "");
  writeConditions(advice?.judgement ?? null);
  place("conditions").parentElement?.classList.toggle("outdated", silent);
}

// Which key stands out: the one that the advice asks for, and none where it asks for neither, where somebody decided to
// leave the charge as it is, or where a lead asked to stop.
/** @type {(advice: { to_move: string } | null, silent: boolean, marks: Pick<Marks, "left" | "stands" | "pending"> | null) => string} */
export function keyToMove(advice, silent, marks) {
  const isHeld = marks?.left || marks?.stands || marks?.pending.some(({ stops }) => stops);
  return silent || isHeld ? "" : (advice?.to_move ?? "");
}

/**
 * @param {HTMLElement} holder
 * @param {unknown} content
 */
function changed(holder, content) {
  const key = JSON.stringify(content);
  if (holder.dataset.shown === key) return false;
  holder.dataset.shown = key;
  return true;
}

// On the page, and at the head of every dialog, which would cover it.
/**
 * @param {Alarm[]} alarms
 * @param {boolean} silent
 */
function writeStops(alarms, silent) {
  for (const holder of document.querySelectorAll(".dialog-stops")) {
    holder.classList.toggle("outdated", silent);
    if (!changed(/** @type {HTMLElement} */ (holder), alarms)) continue;
    holder.replaceChildren(
      ...alarms.map(({ stop, says }) => element("p", "", iconOf("warning"), element("strong", "", `${stop} ${says}`))),
    );
  }
  const list = place("stops");
  list.classList.toggle("outdated", silent);
  if (!changed(list, alarms)) return;
  list.replaceChildren(
    ...alarms.map(({ stop, says, measured, source }) => {
      const said = element("strong", "", `${stop} ${says}`);
      const why = element("span", "source", `${unbroken(measured)}. Limit: ${source}.`);
      return element("div", "stop", iconOf("warning"), element("p", "", said, " ", why));
    }),
  );
}

// The likeliest stands in the open, and the others, with what these readings cannot judge, behind a touch.
/**
 * @param {HTMLElement} panel
 * @param {number} count
 */
function writeOthers(panel, count) {
  const key = /** @type {HTMLButtonElement} */ (place("others"));
  const all = panel.classList.contains("all");
  key.hidden = false;
  fill("others", all ? "Less" : count > 0 ? `${count} more` : "More");
  key.setAttribute("aria-expanded", String(all));
  key.onclick = () => {
    panel.classList.toggle("all");
    writeOthers(panel, count);
  };
}

// What somebody has opened stays open, and keeps its focus, while the figures in it change.
/**
 * @param {HTMLElement} holder
 * @param {Cause[]} explanations
 */
function writeCauses(holder, explanations) {
  const rows = new Map([...holder.querySelectorAll("details")].map((row) => [row.dataset.fault, row]));
  const wanted = explanations.map((cause) => {
    const row = rows.get(cause.fault) ?? build(cause.fault);
    write(row, cause);
    return row;
  });
  place("no-cause").hidden = wanted.length > 0;
  const same = wanted.length === holder.children.length && wanted.every((row, index) => row === holder.children[index]);
  if (!same) holder.replaceChildren(...wanted);
}

/** @param {string} fault */
function build(fault) {
  const bar = element("span", "bar", element("span"));
  bar.setAttribute("aria-hidden", "true");
  const row = element("details", "cause");
  row.dataset.fault = fault;
  row.append(
    element("summary", "", element("span", "fault", fault), element("span", "chance"), bar),
    element("ul", "evidence"),
    element("p", "next"),
    element("p", "held-back"),
    element("div", "looks"),
  );
  return row;
}

/**
 * @param {HTMLElement} row
 * @param {Cause} cause
 */
function write(row, cause) {
  const page = /** @type {HTMLElement} */ (document.getElementById("page"));
  const part = (/** @type {string} */ name) => /** @type {HTMLElement} */ (row.querySelector(name));
  part(".chance").textContent = unbroken(cause.chance);
  part(".bar > span").style.width = `${100 * cause.share}%`;
  part(".evidence").replaceChildren(
    ...cause.for.map((text) => speaking("for", text)),
    ...cause.against.map((text) => speaking("against", text)),
  );
  part(".next").replaceChildren(element("strong", "", "Next: "), cause.next);
  part(".held-back").textContent = cause.held_back ? `Not to blame yet: ${cause.held_back}` : "";
  const looks = part(".looks");
  const keys = page.dataset.role === "technician" ? cause.looks : [];
  if (changed(looks, keys)) looks.replaceChildren(...keys.map(keyOfLook));
}

// What was seen by a look is kept by a touch, and counts beside the figures from then on.
/** @param {Cause["looks"][number]} look */
function keyOfLook({ says, body, said }) {
  const key = element("button", "button", says, ...(said ? [element("span", "aside", ` ${whoSaid(said)}`)] : []));
  key.type = "button";
  key.setAttribute("aria-pressed", String(Boolean(said)));
  key.addEventListener("click", async () => {
    key.disabled = true;
    const answer = await post("finding", { id: newId(), visit: inView, ...body });
    key.disabled = false;
    tellOutcome(answer.ok ? `Recorded. ${says}.` : (answer.reason ?? answer.question?.us ?? ""), answer.ok);
  });
  return key;
}

/** @param {{ by: string, time: number }} said */
const whoSaid = ({ by, time }) =>
  `${by}, ${new Date(1000 * time).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" })}`;

// A word, not a sign: a cross would read as "bad", and what speaks against a cause is often good news.
/**
 * @param {string} side
 * @param {string} text
 */
function speaking(side, text) {
  return element("li", side, element("span", "side-of", side), element("span", "", unbroken(text)));
}

/** @param {Advice["judgement"]} judgement */
function writeConditions(judgement) {
  const list = place("conditions");
  /** @type {HTMLElement} */ (list.parentElement).hidden = !judgement;
  fill("verdict", judgement?.verdict ?? "");
  if (!changed(list, judgement?.conditions ?? [])) return;
  list.replaceChildren(
    ...(judgement?.conditions ?? []).map(({ name, mood, icon, state, measured, says, source }) => {
      const value = measured ? ` ${unbroken(measured)}` : "";
      const head = element("span", "", element("strong", "", name), value, element("span", "unseen", `: ${state}`));
      const why = element("span", "aside", says && mood !== "good" ? `${says} ${sentenceCase(source)}` : source);
      return element("li", "", element("span", mood, iconOf(icon)), element("span", "", head, why));
    }),
  );
}

/** @param {string} text */
export const sentenceCase = (text) => text.slice(0, 1).toUpperCase() + text.slice(1);
