// A maker's charging chart as it is typed: what it begins with, how it grows, and what is sent of it.

import assert from "node:assert/strict";
import { test } from "node:test";
import { begun, chartText, nextLine, oneMore } from "../../dashboard/visit/browser/chart.js";
import { bodyOf, missing } from "../../dashboard/visit/browser/drafts.js";

const AIR = { degF: [66.8, 84.3], degC: [19.3, 29.1] };
const CHART = { unit: "degF", wet_bulbs: ["64", "66"], outdoors: ["85", "90"], cells: [["11", ""], ["", " 13,5 "]] }; // biome-ignore format: one line is one chart
const FIELD = {
  name: "chart",
  to: "superheat_chart_k",
  label: "Superheat",
  kind: "chart",
  into: "fields.sheet.circuits.0",
  unit: "degF",
  quantity: "charging_chart",
  value: "",
  usual: "",
  needed: true,
};
const KEY = { body: { fields: { sheet: { circuits: [{ name: "1" }] } } }, bare: false, grades: false };

test("it begins with the printed lines next to now, and with none where that is unknown", () => {
  assert.deepEqual(begun("degF", AIR), { unit: "degF", wet_bulbs: ["66"], outdoors: ["85"], cells: [[""]] });
  assert.deepEqual(begun("degC", AIR).wet_bulbs, ["19"]);
  assert.deepEqual(begun("degF", null).outdoors, [""]);
  assert.equal(nextLine(null, 5), "");
});

test("one more line lies beyond now, or goes on in the steps of the last", () => {
  assert.deepEqual(oneMore(["85"], 86.4, 5), ["90", false]);
  assert.deepEqual(oneMore(["64"], 63.0, 2), ["62", true]);
  assert.deepEqual(oneMore(["62", "64"], 63.0, 2), ["66", false]);
  assert.deepEqual(oneMore(["75", "85"], 60, 5), ["65", true]);
  assert.deepEqual(oneMore(["75", "85"], null, 5), ["95", false]);
  assert.deepEqual(oneMore([""], 60, 5), ["", false]);
});

test("what is typed goes as it is printed, and blanks do not", () => {
  assert.equal(chartText(JSON.stringify(CHART)), "64/85 11 | 66/90 13.5 degF");
  assert.equal(
    chartText(
      JSON.stringify({
        ...CHART,
        cells: [
          ["", ""],
          ["", ""],
        ],
      }),
    ),
    "",
  );
});

test("a chart that nobody touched is not sent, one that was emptied is, and a new one needs a value", () => {
  const known = { ...FIELD, value: JSON.stringify(CHART) };
  const empty = {
    chart: [
      JSON.stringify({
        ...CHART,
        cells: [
          ["", ""],
          ["", ""],
        ],
      }),
    ],
  };
  assert.equal(bodyOf(KEY, [known], { draft: {}, taken: {} }).written, undefined);
  const path = "sheet/circuits/0/superheat_chart_k";
  assert.deepEqual(bodyOf(KEY, [known], { draft: empty, taken: {} }).written, { [path]: ["degF", "charging_chart"] });
  assert.deepEqual(missing([known], empty), []);
  assert.deepEqual(missing([FIELD], empty), [FIELD]);
  assert.deepEqual(missing([FIELD], { chart: [JSON.stringify(CHART)] }), []);
});
