// What is written into the page: figures, ages, and which value a figure is shown with.

import assert from "node:assert/strict";
import { test } from "node:test";
import {
  agedText,
  atWork,
  figure,
  judged,
  notOfHere,
  number,
  ofARunning,
  plusMinus,
  ranged,
  silenceText,
  spokenSummary,
  tickedAt,
  ticks,
  unbroken,
} from "../../dashboard/shared/browser/writing.js";

const reading = (changes) => ({
  name: "superheat",
  label: "Superheat",
  unit: "°F",
  decimals: 1,
  value: 18.34,
  plusMinus: 1,
  quality: "ok",
  reason: "",
  age: 0.1,
  old: false,
  ...changes,
});
const settled = { state: "settled", word: "Settled", value: 18.1, plus_minus: 0.9 };

test("a figure has its decimals, a true minus, and a dash where it is unknown", () => {
  assert.equal(figure(reading()), "18.3");
  assert.equal(figure(reading({ value: null })), "–");
  assert.equal(figure(null), "–");
  assert.equal(number(-1.25, 1), "−1.3");
  assert.equal(number(-0.04, 1), "0.0"); // no zero is below zero
  assert.equal(number(-0.4, 0), "0");
  assert.equal(number(-10, 0), "−10");
});

test("what is known within ten or more has no decimals", () => {
  assert.equal(plusMinus(reading({ plusMinus: 0.94 })), "± 0.9");
  assert.equal(plusMinus(reading({ plusMinus: 12.4 })), "± 12");
  assert.equal(plusMinus(reading({ plusMinus: null })), "");
});

test("a figure that has settled is shown as it was judged", () => {
  const shown = judged(reading(), settled);
  assert.deepEqual([shown.value, shown.plusMinus], [18.1, 0.9]);
});

test("a figure that has moved away, is old or has not settled is shown as it is", () => {
  assert.equal(judged(reading({ value: 19.1 }), settled).value, 19.1);
  assert.equal(judged(reading({ value: 17.1 }), settled).value, 17.1);
  assert.equal(judged(reading({ old: true }), settled).value, 18.34);
  assert.equal(judged(reading(), { ...settled, state: "settling" }).value, 18.34);
  assert.equal(judged(reading(), undefined).value, 18.34);
  assert.equal(judged(reading({ value: null }), settled).value, null);
});

test("a unit that stands has no superheat and no subcooling, whatever its pipes read", () => {
  const rests = ofARunning(reading({ value: -13.3 }), "not running");
  assert.deepEqual([figure(rests), plusMinus(rests), rests.reason], ["–", "", "None at rest"]);
  assert.equal(ofARunning(reading(), "settling").value, 18.34);
  const lost = reading({ value: null, reason: "suction pressure: lost" });
  assert.equal(ofARunning(lost, "not running").reason, "suction pressure: lost");
});

test("what is read at rest is offered nowhere as a figure of a unit at work", () => {
  const advice = (state) => ({ state, steadiness: { [reading().name]: { state: "settling", value: null } } });
  assert.equal(atWork(reading(), advice("not running")).value, null);
  assert.equal(atWork(reading(), advice("settling")).value, 18.34);
  assert.equal(atWork(reading({ name: "outdoor_air_temperature" }), advice("not running")).value, 18.34);
  assert.deepEqual([atWork(null, advice("not running")), atWork(reading(), null).value], [null, 18.34]);
});

test("what is elsewhere or old is no figure of here and now, and says why", () => {
  const why = (quality, reason, old = false) => notOfHere({ quality, reason, old });
  assert.equal(why("elsewhere", "it is on circuit 2"), "it is on circuit 2");
  assert.equal(why("elsewhere", ""), "it is elsewhere");
  assert.equal(why("stale", "the clamp is silent", true), "the clamp is silent");
  assert.equal(why("ok", "", true), "nothing new came from it");
  assert.deepEqual([why("ok", ""), why("uncalibrated", "calibrated long ago"), notOfHere(null)], ["", "", ""]);
});

test("a settled figure without a ±, or with a finer one than its last digit, may move by that digit", () => {
  for (const plus_minus of [null, 0.01]) {
    assert.equal(judged(reading({ value: 18.16 }), { ...settled, plus_minus }).value, 18.1);
    assert.equal(judged(reading({ value: 18.26 }), { ...settled, plus_minus }).value, 18.26);
    assert.equal(judged(reading({ value: 18.6, decimals: 0 }), { ...settled, plus_minus }).value, 18.1);
  }
});

test("an age is no finer than anyone needs", () => {
  const ages = { 0.4: "< 1 s", 42.9: "42 s", 99: "99 s", 100: "1 min", 5999: "99 min", 7200: "2 h" };
  for (const [seconds, told] of Object.entries(ages)) assert.equal(agedText(Number(seconds)), told);
});

test("a figure, its sign and its unit stay on one line, and words may break", () => {
  assert.equal(unbroken("8.9 ± 0.5 °F in 4 min"), "8.9\u00a0±\u00a00.5\u00a0°F in 4\u00a0min");
  assert.equal(unbroken("Add 4 oz as liquid"), "Add 4\u00a0oz as liquid");
});

test("an alarm is spoken before everything else, and the sentence only where there is none", () => {
  const advice = { sentence: "Wait.", alarms: [], steadiness: { superheat: settled } };
  const view = { read: (name) => (name === "superheat" ? reading() : null), advice, silent: false };
  assert.equal(spokenSummary(view), "Superheat 18.3 plus or minus 1 °F, settled. subcooling unknown. Wait.");
  const stopped = { ...view, advice: { ...advice, alarms: [{ stop: "Add nothing: floodback." }] } };
  assert.match(spokenSummary(stopped), /^Add nothing: floodback\. Superheat/);
  assert.doesNotMatch(spokenSummary(stopped), /Wait/);
  assert.equal(spokenSummary({ ...view, silent: true }), "No data.");
});

test("a silence says how long it lasts and what that makes of the figures", () => {
  assert.equal(silenceText(12.3), "No data for 12 s: these figures are old");
  assert.equal(silenceText(null), "No data yet");
});

test("the number of a page is not parted at the end of a line", () => {
  assert.equal(unbroken("page RA3-15 of R-410A"), "page RA3-\u206015 of R-410A");
});

test("pounds and ounces are not parted at the end of a line", () => {
  assert.equal(unbroken("Add 7 lb 4 oz as liquid"), "Add 7\u00a0lb\u00a04\u00a0oz as liquid");
});

test("a multimeter's figure stands in the range in which the meter would show it", () => {
  const shown = (name, unit, value) => {
    const it = ranged(reading({ name, unit, value, plusMinus: value / 100, decimals: 1 }));
    return `${figure(it)} ${it.unit}`;
  };
  const ac = (value) => shown("multimeter_ac_voltage", "V", value);
  assert.deepEqual([ac(238.4), ac(4.2), ac(0.757), ac(0)], ["238 V", "4.20 V", "757 mV", "0.00 V"]);
  const ohms = (value) => shown("multimeter_resistance", "Ω", value);
  assert.deepEqual([ohms(2.04), ohms(20300), ohms(89.5e6)], ["2.0 Ω", "20.30 kΩ", "89.5 MΩ"]);
  assert.equal(shown("multimeter_capacitance", "µF", 9.04), "9.0 µF");
  assert.equal(shown("line_voltage_ab", "V", 0.2), "0.2 V");
  const spread = ranged(reading({ name: "multimeter_resistance", unit: "Ω", value: 89.5e6, plusMinus: 1.3e6 }));
  assert.equal(spread.plusMinus, 1.3);
  assert.equal(ranged(reading({ name: "multimeter_resistance", value: null })).value, null);
});

test("an axis is ticked at each step, and beyond what a ruler shows at every tenth, hundredth and so on", () => {
  assert.deepEqual([0, 12, 250].map(tickedAt), [1, 1, 1]);
  assert.equal(tickedAt(2_500), 10);
  for (const steps of [251, 1e6, 1e17, 1e300]) assert.ok(steps / tickedAt(steps) <= 250, String(steps));
});

test("an axis has an end however large what stands at it is, and none where it has no ends", () => {
  assert.deepEqual(ticks(3, 11, 2), [4, 6, 8, 10]);
  assert.deepEqual(ticks(5, 4, 2), []);
  assert.ok(ticks(1e17, 1e17 + 64, 10).length <= 251);
  assert.deepEqual(ticks(Number.NaN, 1, 1), []);
  assert.deepEqual(ticks(0, Number.POSITIVE_INFINITY, 1).length, 251);
});
