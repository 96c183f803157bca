// An exercise on the bench: its story, and after the verdict what it was and what the way there was worth.

import { element, fill, find, iconOf, place } from "../../shared/browser/writing.js";

/**
 * @param {Bench | null} bench
 * @param {About | null} about
 */
export function writeBench(bench, about) {
  const panel = place("bench");
  panel.hidden = !about?.simulated || !(bench?.open || bench?.reveal);
  if (panel.hidden || !bench) return;
  const work = find("verdict-work"); // only who may commit has it
  fill("bench-title", bench.title);
  fill("bench-story", bench.story);
  fill("verdict-label", bench.reveal ? "See the result…" : "Give a verdict…");
  place("verdict-offer").hidden = !bench.reveal && !work;
  if (work) work.hidden = Boolean(bench.reveal);
  rewrite("bench-result", bench.reveal, brief);
  if (rewrite("reveal", bench.reveal, result)) place("reveal").querySelector("h3")?.focus();
}

// Rebuild what shows the result only when it has changed; tells whether it has.
/**
 * @param {string} name
 * @param {Reveal | null} reveal
 * @param {(reveal: Reveal) => Node[]} build
 */
function rewrite(name, reveal, build) {
  const key = JSON.stringify(reveal);
  const holder = place(name);
  if ((holder.dataset.shown ?? "null") === key) return false;
  holder.dataset.shown = key;
  holder.replaceChildren(...(reveal ? build(reveal) : []));
  return true;
}

/** @param {Reveal} reveal */
const mark = ({ right }) => iconOf(right ? "check" : "cross");

/** @param {Reveal} reveal */
function brief(reveal) {
  return [element("span", reveal.right ? "good" : "bad", mark(reveal)), element("span", "", reveal.brief)];
}

/** @param {Reveal} reveal */
function result(reveal) {
  const said = element("h3", `said ${reveal.right ? "good" : "bad"}`, mark(reveal), ` ${reveal.said}`);
  said.tabIndex = -1;
  /** @type {(kind: string) => (told: [string, string]) => HTMLElement} */
  const row =
    (kind) =>
    ([name, told]) =>
      element("div", kind, element("dt", "", name), element("dd", "", told));
  const wrong = reveal.wrong_moves.map((move) => element("li", "", iconOf("warning"), element("span", "", move)));
  return [
    said,
    element("dl", "figures-told", ...reveal.rows.map(row("")), ...reveal.parts.map(row("part"))),
    element("h4", "", "How the figures tell it"),
    element("p", "", reveal.reading),
    element("h4", "", "The way there"),
    wrong.length ? element("ul", "cautions", ...wrong) : element("p", "", "No wrong move."),
  ];
}
