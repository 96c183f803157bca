import assert from "node:assert/strict";
import { test } from "node:test";
import { news, speak, told } from "../../dashboard/shared/browser/spoken.js";

/** @type {any} */
const READ = (name) => ({
  label: { subcooling: "Subcooling", superheat: "Superheat" }[name],
  value: 9.94,
  decimals: 1,
});
/** @type {any} */
const SETTLING = {
  sentence: "Wait. Still settling.",
  alarms: [],
  doubts: {},
  steadiness: { subcooling: { state: "settling" }, superheat: { state: "settled" } },
};
const SETTLED = {
  ...SETTLING,
  sentence: "Add 5 oz.",
  steadiness: { ...SETTLING.steadiness, subcooling: { state: "settled" } },
};
const STOP = { id: "s1", by: "Ada", time: 1.7e9, text: "Hands off." };
const view = (changes) => told({ read: READ, advice: SETTLING, stop: null, note: "", silent: false, ...changes });

test("a figure that settles is said once, with its value, before what to do", () => {
  const told = news(view({}), view({ advice: SETTLED }), READ);
  assert.deepEqual(told, [
    ["settled", "Settled: subcooling 9.9."],
    ["advice", "Add 5 oz."],
  ]);
  assert.deepEqual(news(view({ advice: SETTLED }), view({ advice: SETTLED }), READ), []);
});

test("a figure in doubt is not said to have settled", () => {
  const doubted = { ...SETTLED, sentence: SETTLING.sentence, doubts: { subcooling: "In doubt." } };
  assert.deepEqual(news(view({}), view({ advice: doubted }), READ), []);
});

test("a lead's stop comes before everything, and an alarm before a note", () => {
  const advice = { ...SETTLED, alarms: [{ stop: "Stop: discharge 260 °F." }] };
  const all = news(view({}), view({ advice, stop: STOP, note: "Ada: look at the fan" }), READ);
  assert.deepEqual(
    all.map(([event]) => event),
    ["people", "alarm", "people", "settled", "advice"],
  );
  assert.equal(all[0][1], "Hands off.");
});

test("a silence is told once, and what comes back with the link is no news", () => {
  const silent = view({ silent: true, advice: SETTLED });
  assert.deepEqual(news(view({}), silent, READ), [["alarm", "No data."]]);
  assert.deepEqual(news(silent, silent, READ), []);
  assert.deepEqual(news(silent, view({ advice: SETTLED }), READ), []);
});

test("an alarm that came with the link is news all the same", () => {
  const advice = { ...SETTLED, alarms: [{ stop: "Stop." }] };
  assert.deepEqual(news(view({ silent: true }), view({ advice }), READ), [["alarm", "Stop."]]);
});

test("a second stop in the same words is another one, and one that is shown on is none", () => {
  const [first, second] = [view({ stop: STOP }), view({ stop: { ...STOP, id: "s2" } })];
  assert.deepEqual(news(first, second, READ), [["people", "Hands off."]]);
  assert.deepEqual(news(first, first, READ), []);
});

test("a stop and an alarm that come back are said again at once, and cut short whatever is being said", () => {
  const said = [];
  globalThis.localStorage = /** @type {any} */ ({ getItem: () => "people alarm advice" });
  globalThis.window = /** @type {any} */ ({
    speechSynthesis: { speak: (it) => said.push(it.text), cancel: () => said.push("-") },
  });
  globalThis.SpeechSynthesisUtterance = /** @type {any} */ (
    class {
      constructor(text) {
        this.text = text;
      }
    }
  );
  globalThis.navigator ??= /** @type {any} */ ({});
  const one = { read: READ, advice: SETTLING, stop: null, note: "", silent: false };
  const alarm = { ...SETTLING, alarms: [{ stop: "Stop." }] };
  for (const changes of [
    {},
    { stop: STOP },
    {},
    { stop: { ...STOP, id: "s2" } },
    { advice: alarm },
    {},
    { advice: alarm },
  ])
    speak(/** @type {any} */ ({ ...one, ...changes }));
  assert.deepEqual(said, ["-", "Hands off.", "-", "Hands off.", "-", "Stop.", "-", "Stop."]);
});
