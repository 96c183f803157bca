// The past as fetched and what came live make one line, without doubles and without a hole that nobody sees.

import assert from "node:assert/strict";
import { test } from "node:test";
import { missed, Series, steadyRange, tickText, withForecasts } from "../../dashboard/charge/browser/charts.js";

const frame = (time, value, quality = "ok") => ({ time, values: { superheat: [value, 0.5, 0, quality, ""] } });
const past = (times, low, high = low) => ({ time: times.at(-1), times, values: { superheat: { low, high } } });

test("the lowest and the highest of each bin, then what came live", () => {
  const series = new Series(["superheat"]);
  series.replace(past([0, 60], [1, 3], [2, 4]));
  series.add(frame(120, 5));
  assert.deepEqual(series.points("superheat", 120), { x: [-2, -2, -1, -1, 0], y: [1, 2, 3, 4, 5] });
});

test("what is fetched again takes the place of what came live before it", () => {
  const series = new Series(["superheat"]);
  series.add(frame(60, 3));
  series.add(frame(120, 5));
  series.replace(past([0, 60], [1, 3]));
  assert.deepEqual(series.points("superheat", 120).y, [1, 1, 3, 3, 5]);
});

test("a gap in the past, and what is not to be trusted, break the line", () => {
  const series = new Series(["superheat"]);
  series.replace({ ...past([0, null, 60], [1, null, 3]), time: 60 });
  series.add(frame(120, 99, "stale"));
  series.add({ time: 121, values: {} });
  assert.deepEqual(series.points("superheat", 121).y, [1, 1, null, null, 3, 3, null, null]);
});

test("a jump of the numbers means that packs are missing; unsaved packs have none", () => {
  assert.equal(missed({ sequence: 4 }, { sequence: 5 }), false);
  assert.equal(missed({ sequence: 4 }, { sequence: 7 }), true);
  assert.equal(missed({ sequence: null }, { sequence: 7 }), false);
  assert.equal(missed({ sequence: 4 }, { sequence: null }), false);
  assert.equal(missed(null, { sequence: 7 }), false);
});

test("an axis stands still while figures move, and leaves room for flags", () => {
  assert.deepEqual(steadyRange([3.1, 8.2], 5, 0), steadyRange([3.3, 8.4], 5, 0));
  assert.deepEqual(steadyRange([], 5, 0), [0, 20]);
  assert.deepEqual(steadyRange([-2, 11], 5, 0.2), [-5, 20]);
});

test("time runs from now", () => {
  assert.deepEqual(
    [tickText(0, 20), tickText(-5, 20), tickText(5, 20), tickText(-120, 240)],
    ["now", "−5 min", "+5 min", "−2 h"],
  );
});

test("a forecast reaches ahead as far as it needs, less the time since it was made, and not in a silence", () => {
  const forecast = {
    seconds: 240,
    end: "",
    ahead: "",
    cone: [
      [0, 1, 1, 1],
      [240, 2, 3, 4],
    ],
  };
  const view = { advice: { time: 0, steadiness: { superheat: { forecast } } }, minutes: 20, now: 60, silent: false };
  const { age, end, forecasts } = withForecasts(view);
  assert.equal(age, 1);
  assert.equal(forecasts.length, 1);
  assert.equal(end, 4); // a fifth of the span, since three minutes are less
  assert.equal(withForecasts({ ...view, silent: true }).forecasts.length, 0);
});
