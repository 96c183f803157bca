// The past as fetched and what came live make one line, without doubles and without a hole that nobody sees.

import assert from "node:assert/strict";
import { test } from "node:test";
import {
  flagged,
  headroom,
  labelPlaces,
  missed,
  missingHere,
  momentAt,
  mostTicks,
  placeFlags,
  Series,
  sideOf,
  steadyRange,
  targetText,
  tickText,
  wholeStep,
  withForecasts,
} from "../../dashboard/charge/browser/charts.js";

const frame = (time, value, quality = "ok") => ({ time, values: { superheat: [value, 0.5, 0, quality, ""] } });
const past = (times, low, high = low) => ({
  time: times.at(-1),
  times,
  missing: [],
  values: { superheat: { low, high } },
});

test("the lowest and the highest of each bin, then what came live", () => {
  const series = new Series(["superheat"]);
  series.replace(past([0, 3], [1, 3], [2, 4]));
  series.add(frame(6, 5));
  assert.deepEqual(series.points("superheat", 6), { x: [-0.1, -0.1, -0.05, -0.05, 0], y: [1, 2, 3, 4, 5] });
});

test("what is fetched again takes the place of what came live before it", () => {
  const series = new Series(["superheat"]);
  series.add(frame(3, 3));
  series.add(frame(6, 5));
  series.replace(past([0, 3], [1, 3]));
  assert.deepEqual(series.points("superheat", 6).y, [1, 1, 3, 3, 5]);
});

test("a gap in the past, and what is not to be trusted, break the line", () => {
  const series = new Series(["superheat"]);
  series.replace({ ...past([0, null, 60], [1, null, 3]), time: 60 });
  series.add(frame(63, 99, "stale"));
  series.add({ time: 64, values: {} });
  assert.deepEqual(series.points("superheat", 64).y, [1, 1, null, null, 3, 3, null, null]);
});

test("a value that no certificate stands behind is drawn; one out of its range, or of a sensor that failed, is not", () => {
  const series = new Series(["superheat"]);
  for (const quality of ["ok", "uncalibrated", "out_of_range", "sensor_fault", "stale"])
    series.add(frame(0, 1, quality));
  assert.deepEqual(series.points("superheat", 0).y, [1, 1, null, null, null]);
});

test("before anything came live, now is the end of the past; afterwards, what came live", () => {
  const series = new Series(["superheat"]);
  series.replace(past([0, 3], [1, 3]));
  assert.equal(series.newest, 3);
  series.add(frame(6, 5));
  series.replace(past([0, 3], [1, 3]));
  assert.equal(series.newest, 6);
});

test("superheat has the colour of the low side, subcooling that of the high side", () => {
  assert.deepEqual([sideOf("superheat"), sideOf("subcooling")], ["low", "high"]);
});

test("a target is told to a tenth, and none as nothing", () => {
  assert.deepEqual([targetText({ value: 10, low: 8, high: 12 }), targetText(undefined)], ["target 10.0", ""]);
});

test("a chart has no more ticks than labels have room", () => {
  assert.deepEqual([mostTicks(60), mostTicks(104), mostTicks(220), mostTicks(600)], [2, 2, 6, 6]);
});

test("what was not received breaks the line at once, and is marked where the record has it", () => {
  const series = new Series(["superheat"]);
  series.replace(past([0, 3], [1, 3]));
  series.add(frame(64, 5)); // after an outage, before the past is fetched again
  assert.deepEqual(series.points("superheat", 64).y, [1, 1, 3, 3, null, 5]);
  assert.deepEqual(missingHere(series, 60, 20), []);
  series.replace({
    ...past([0, null, 64], [1, null, 5]),
    missing: [
      [0, 60],
      [-9000, -8000],
      [-1800, -600],
    ],
  });
  assert.deepEqual(missingHere(series, 60, 20), [
    [-1, 0],
    [-20, -11],
  ]);
});

test("a jump of the numbers means that packs are missing; unsaved packs have none", () => {
  assert.equal(missed({ sequence: 4 }, { sequence: 5 }), false);
  assert.equal(missed({ sequence: 4 }, { sequence: 7 }), true);
  assert.equal(missed({ sequence: 4 }, { sequence: 6 }), true);
  assert.equal(missed({ sequence: null }, { sequence: 7 }), false);
  assert.equal(missed({ sequence: 4 }, { sequence: null }), false);
  assert.equal(missed(null, { sequence: 7 }), false);
});

test("an axis stands still while figures move, and leaves room for flags", () => {
  assert.deepEqual(steadyRange([3.1, 8.2], 5, 0), steadyRange([3.3, 8.4], 5, 0));
  assert.deepEqual(steadyRange([], 5, 0), [0, 20]);
  assert.deepEqual(steadyRange([-2, 11], 5, 0.2), [-5, 20]);
});

const inTime = (placed) => placed.sort((a, b) => a.flag.at - b.flag.at);
const OVERLAP = (a, b) => a.row === b.row && a.left <= b.right && b.left <= a.right;

test("flags of marks that are near each other cover each other nowhere, and none is lost", () => {
  const labels = ["+6 oz liquid", "Reading", "−1 lb 4 oz vapour", "Note", "+6 oz liquid", "+6 oz liquid", "Note"];
  for (const rows of [1, 2]) {
    for (const apart of [0.1, 0.5, 2]) {
      for (const newest of [0, -3, -19.9]) {
        const marks = labels.map((label, back) => ({ at: Math.max(newest - apart * back, -20), label, heavy: true }));
        const placed = placeFlags(marks, { pixelsPerMinute: 18, minutes: 20, rows });
        assert.equal(
          placed.reduce((sum, { more }) => sum + 1 + more, 0),
          labels.length,
        );
        assert.ok(
          placed.some(({ flag }) => flag === marks[0]),
          "the newest keeps its flag",
        );
        assert.ok(placed.every(({ left, row }) => left >= 0 && row < rows));
        for (const [at, one] of placed.entries())
          assert.ok(!placed.slice(at + 1).some((other) => OVERLAP(one, other)), `${rows} ${apart} ${newest}`);
      }
    }
  }
});

test("a mark that has no room of its own is counted", () => {
  const marks = [-4, -3.9, -3.8].map((at) => ({ at, label: "+6 oz liquid", heavy: true }));
  const [only, ...others] = placeFlags(marks, { pixelsPerMinute: 30, minutes: 20, rows: 1 });
  assert.deepEqual([only.text, others], ["+6 oz liquid, 2 marks", []]);
});

test("notes and readings are counted at each other rather than at an amount, which would pass for more of it", () => {
  const move = (at) => ({ at, label: "+6 oz liquid", heavy: true });
  const notes = [-5, -4.4, -3.8, -3.1, -2.5].map((at) => ({ at, label: "Note", heavy: false }));
  const reading = { at: 0, label: "Reading", heavy: false };
  const placed = placeFlags([move(-10), move(-5.2), ...notes, reading], { pixelsPerMinute: 30, minutes: 20, rows: 1 });
  assert.deepEqual(placed.map(({ text }) => text).sort(), ["+6 oz liquid", "+6 oz liquid", "Reading, 5 marks"]);
  for (let count = 1; count < 40; count += 1) {
    const many = Array.from({ length: count }, (_, back) => ({ at: -back / 2, label: "Note", heavy: false }));
    const told = placeFlags([move(-12), ...many], { pixelsPerMinute: 30, minutes: 20, rows: 1 });
    assert.equal(
      told.reduce((sum, { more }) => sum + 1 + more, 0),
      count + 1,
    );
  }
});

test("a mark is counted even where the chart is too narrow to say so clear of the others", () => {
  const marks = [-9, -9.1, -20].map((at) => ({ at, label: "+6 g", heavy: at === -20 }));
  const placed = placeFlags(marks, { pixelsPerMinute: 10, minutes: 20, rows: 1 });
  assert.deepEqual(
    inTime(placed).map(({ more }) => more),
    [1, 0],
  );
});

test("what was moved keeps its flag beside notes and readings that came later, and those are counted", () => {
  const move = (at) => ({ at, label: "+6 oz liquid", heavy: true });
  const later = [-3, -2.9, -2.8, -2.7].map((at) => ({ at, label: "Note", heavy: false }));
  const placed = placeFlags([move(-10), move(-3.1), ...later], { pixelsPerMinute: 30, minutes: 20, rows: 1 });
  assert.deepEqual(
    inTime(placed).map(({ text, flag }) => [text, flag.at]),
    [
      ["+6 oz liquid", -10],
      ["+6 oz liquid, 4 marks", -3.1],
    ],
  );
});

test("an amount that was corrected keeps its flag where it was moved, with what it really was", () => {
  const slip = { kind: "added", time: 0, at: 0, label: "+3 lb 12 oz liquid", corrected: true, holds: "+6 oz liquid" };
  const none = { ...slip, holds: "" };
  const correction = {
    kind: "correction",
    time: 60,
    at: 60,
    label: "It was 6 oz",
    corrected: false,
    holds: "It was 6 oz",
  };
  const unflagged = { ...correction, kind: "link" };
  const old = { ...slip, at: -1200 };
  const marks = { marks: [old, slip, none, correction, unflagged], pending: [], totals: "" };
  assert.deepEqual(flagged({ marks, now: 120, minutes: 20 }), [
    { label: "+6 oz liquid", at: -2, heavy: true },
    { label: "It was 6 oz", at: -1, heavy: false },
  ]);
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
  const view = {
    advice: { time: 0, steadiness: { superheat: { forecast } } },
    minutes: 20,
    now: 60,
    silent: false,
    width: 750,
  };
  const { age, end, forecasts } = withForecasts(view);
  assert.equal(age, 1);
  assert.equal(forecasts.length, 1);
  assert.equal(end, 4); // a fifth of the span, since three minutes are less
  assert.equal(withForecasts({ ...view, silent: true }).forecasts.length, 0);
});

test("the time ahead has room for the labels, which would lie on what was just measured", () => {
  const forecast = { seconds: 10, end: "13.6 ± 1.6 °F", ahead: "shortly", cone: [[0, 1, 1, 1]] };
  const view = { advice: { time: 0, steadiness: { superheat: { forecast } } }, minutes: 20, now: 0, silent: false };
  const label_px = 145; // as the page draws it at 15 px
  for (const width of [600, 718, 900]) {
    const { end } = withForecasts({ ...view, width });
    assert.ok((end / (20 + end)) * (width - 36) >= label_px, `${width}`);
  }
  assert.equal(withForecasts({ ...view, width: 300 }).end, 8); // the past keeps most of a telephone
});

test("amps have one whole step besides zero, the largest within", () => {
  assert.deepEqual([4, 8, 12, 19.9, 20, 22, 64, 120].map(wholeStep), [2, 5, 10, 10, 20, 20, 50, 100]);
});

test("flags take their room of the plot, not of the chart with its margins, and leave the traces half of it", () => {
  for (const [height, flag] of [
    [112, 28],
    [140, 28],
    [240, 56],
  ]) {
    const [low, high] = steadyRange([13.9], 5, headroom(flag, height));
    const fromTop = ((high - 13.9) / (high - low)) * (height - 32);
    assert.ok(fromTop >= flag, `${height}: ${fromTop}`);
  }
  assert.equal(headroom(28, 40), 0.5);
});

test("the labels of two forecasts stand within the chart and not upon each other, however near they end", () => {
  for (const share of [0.2, 0.35, 0.5, 0.7]) {
    for (let first = 0; first <= 20; first += 1) {
      for (let second = 0; second <= 20; second += 1) {
        const ends = [first, second].map((value) => [0, value - 0.6, value, value + 0.6]);
        const places = labelPlaces(ends, [0, 20], share);
        const spans = places.map(({ y, above, room }) => (above ? [y, y + room] : [y - room, y]));
        for (const [low, high] of spans) assert.ok(low >= -1e-9 && high <= 20 + 1e-9, `${share} ${first} ${second}`);
        const [lower, upper] = [...spans].sort((a, b) => a[0] - b[0]);
        assert.ok(lower[1] <= upper[0] + 1e-9, `${share} ${first} ${second}`);
        assert.equal(places[0].lines, share > 0.5 ? 1 : 2);
      }
    }
  }
  assert.deepEqual(labelPlaces([], [0, 20], 0.3), []);
});

test("a place of the traces is a moment before now, to a tenth of a second", () => {
  const span = { now: 1000, minutes: 20, end: 4 };
  const width = 32 + 24 * 10 + 4; // ten pixels a minute between the margins
  assert.equal(momentAt(32 + 150, width, span), 1000 - 300);
  assert.equal(momentAt(0, width, span), 1000 - 1200);
  assert.equal(momentAt(32 + 210, width, span), null);
  assert.equal(momentAt(100, width, { ...span, now: null }), null);
});
