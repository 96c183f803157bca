// A signature as it is drawn, kept in a draft and sent; and where the report of a visit is.

import assert from "node:assert/strict";
import { test } from "node:test";
import { bodyOf } from "../../dashboard/visit/browser/drafts.js";
import { addressOf } from "../../dashboard/visit/browser/reports.js";
import { goesOn, inField, kept, strokesOf } from "../../dashboard/visit/browser/strokes.js";

test("what is kept in a draft comes back as it was drawn", () => {
  const strokes = [
    [
      [0.1, 0.25],
      [0.9, 0.5],
    ],
    [[0.5, 0.5]],
  ];
  assert.deepEqual(strokesOf(kept(strokes)), strokes);
  assert.deepEqual(strokesOf(""), []);
});

test("a point stays in the field, and is no finer than a thousandth", () => {
  assert.deepEqual(inField(-0.3, 1.7), [0, 1]);
  assert.deepEqual(inField(0.123456, 0.9999), [0.123, 1]);
});

test("points that are as good as one are one, and there are never too many", () => {
  const strokes = [[]];
  goesOn(strokes, [0.5, 0.5]);
  goesOn(strokes, [0.501, 0.501]);
  assert.equal(strokes[0].length, 1);
  for (let number = 0; number < 5_000; number++) goesOn(strokes, [number % 2, 0]);
  assert.ok(strokes[0].length <= 1_200); // what the rig takes (ingest/visit/signing.py)
  goesOn([], [0.5, 0.5]);
});

test("a signature goes as strokes, beside the name", () => {
  const field = (name, kind) => ({
    name,
    to: name,
    kind,
    into: "fields",
    quantity: "",
    several: false,
    also: [],
    value: "",
  });
  const key = { ask: "sign", body: { confirmed: true }, bare: false, grades: false };
  const draft = { name: ["Sam"], strokes: ["0.1,0.2 0.3,0.4|0.5,0.5"] };
  const body = bodyOf(key, [field("name", "text"), field("strokes", "signature")], { draft, taken: {} });
  assert.deepEqual(body, {
    confirmed: true,
    fields: {
      name: "Sam",
      strokes: [
        [
          [0.1, 0.2],
          [0.3, 0.4],
        ],
        [[0.5, 0.5]],
      ],
    },
  });
  assert.deepEqual(bodyOf(key, [field("strokes", "signature")], { draft: { strokes: [] }, taken: {} }), {
    confirmed: true,
  });
});

test("the report is asked for in the reader's units, zone and paper", () => {
  assert.equal(
    addressOf("v1", "pdf", "us", "America/Chicago"),
    "report/v1.pdf?units=us&zone=America%2FChicago&paper=letter",
  );
  assert.equal(addressOf("v1", "html", "si", "UTC"), "report/v1.html?units=si&zone=UTC&paper=a4");
});
