// What is asked for several times on a card, such as of each circuit, and a spot on a roof: what is sent of them.

import assert from "node:assert/strict";
import { test } from "node:test";
import { bodyOf } from "../../dashboard/visit/browser/drafts.js";
import { COUNT, countOf, expanded } from "../../dashboard/visit/browser/repeated.js";
import { snapped } from "../../dashboard/visit/browser/roof.js";

const field = (name, kind, more = {}) => ({
  name, to: name, label: name, kind, into: "fields.sheet", options: [], unit: "", quantity: "", channels: [], value: "",
  hint: "", needed: false, optional: false, several: false, only: "", usual: "", by_eye: false, like: "", offers: [], longest: 500,
  about: {}, shown: 0, also: [], drawing: null, had: [], ...more,
}); // biome-ignore format: one line is one field
const CIRCUIT = "fields.sheet.circuits.*";
const COMPRESSOR = "fields.sheet.parts.*+1";
const FIELDS = [
  field("name", "text", { into: CIRCUIT, label: "Circuit *", value: "*", also: [`${COMPRESSOR}.circuit`] }),
  field("refrigerant", "choice", { into: CIRCUIT, like: "refrigerant" }),
  field("charge_kg", "number", { into: CIRCUIT, unit: "oz", quantity: "mass" }),
  field("rla", "number", { into: COMPRESSOR, unit: "A", quantity: "current", to: "rated_current_a" }),
  field("ports", "choice", { into: CIRCUIT, several: true }),
];
const SETS = { [`${COMPRESSOR}.kind`]: "motor", [`${COMPRESSOR}.name`]: "compressor*" };
const key = (more) => ({
  says: "",
  ask: "",
  body: {},
  bare: false,
  grades: false,
  leaves: false,
  opens: null,
  adds: 0,
  ...more,
});
const KEEP = key({ ask: "describe", body: { fields: { sheet: { circuits: [], parts: [{ name: "blower" }] } } } });
const KEYS = [key({ adds: -1 }), key({ adds: 1 }), KEEP];
const card = (repeats = {}) => ({
  id: "unit-new",
  fields: [field("tag", "text"), field("at", "spot")],
  keys: KEYS,
  repeats: { fields: FIELDS, at: 1, sets: SETS, first: 0, least: 1, most: 3, ...repeats },
});
const sent = (shown, draft) => bodyOf(shown.keys.at(-1), shown.fields, { draft, taken: {} });

test("one circuit is asked for at first, under the number that units mostly have, among the other fields", () => {
  const shown = expanded(card(), {});
  assert.deepEqual(
    shown.fields.map(({ name, label }) => [name, label]),
    [
      ["tag", "tag"],
      ["name 0", "Circuit 1"],
      ["refrigerant 0", "refrigerant"],
      ["charge_kg 0", "charge_kg"],
      ["rla 0", "rla"],
      ["ports 0", "ports"],
      ["at", "at"],
    ],
  );
  assert.deepEqual(
    shown.keys.map(({ adds }) => adds),
    [1, 0], // there is none to leave out
  );
});

test("another circuit begins with what the one before has, by its own name, with a compressor of its own", () => {
  const draft = {
    [COUNT]: ["2"], tag: ["RTU-9"], at: ["0.25 0.5"], "name 0": ["A"], "name 1": ["B"], "refrigerant 0": ["R-32"],
    "charge_kg 1": ["80"], "rla 1": ["9"], "ports 1": ["suction", "discharge"],
  }; // biome-ignore format: a table
  const shown = expanded(card(), draft);
  assert.equal(shown.fields.find(({ name }) => name === "refrigerant 1").value, "R-32");
  assert.deepEqual(sent(shown, draft), {
    fields: {
      sheet: {
        tag: "RTU-9",
        at: [0.25, 0.5],
        circuits: [
          { name: "A", refrigerant: "R-32" },
          { name: "B", refrigerant: "R-32", ports: ["suction", "discharge"] },
        ],
        parts: [
          { name: "blower" },
          { kind: "motor", name: "compressor", circuit: "A" },
          { kind: "motor", name: "compressor 2", circuit: "B" },
        ],
      },
    },
    written: {
      "sheet/circuits/1/charge_kg": ["80 oz", "mass"],
      "sheet/parts/2/rated_current_a": ["9 A", "current"],
    },
  });
  assert.equal(KEEP.body.fields.sheet.circuits.length, 0); // what the server sent stays as it is
});

test("of a unit that has some, more are asked for behind them, and no more than there may be", () => {
  const known = card({ first: 2, least: 0 });
  assert.equal(countOf(known, {}), 0);
  assert.deepEqual(
    expanded(known, {}).fields.map(({ name }) => name),
    ["tag", "at"],
  );
  const shown = expanded(expanded(known, {}), { [COUNT]: ["3"] });
  assert.deepEqual(
    shown.fields.filter(({ to }) => to === "name").map(({ label, into }) => [label, into]),
    [
      ["Circuit 3", "fields.sheet.circuits.2"],
      ["Circuit 4", "fields.sheet.circuits.3"],
      ["Circuit 5", "fields.sheet.circuits.4"],
    ],
  );
  assert.deepEqual(
    shown.keys.map(({ adds }) => adds),
    [-1, 0],
  );
  const plain = { id: "note", fields: [], keys: [], repeats: null };
  assert.equal(expanded(plain, {}), plain);
});

test("photographs that there are stay, and new ones come behind them", () => {
  const photographs = field("photographs", "photographs", { several: true, had: ["p1"] });
  const body = (draft) => bodyOf(key({ ask: "describe" }), [photographs], { draft, taken: {} });
  assert.deepEqual(body({ photographs: ["p2"] }), { fields: { sheet: { photographs: ["p1", "p2"] } } });
  assert.deepEqual(body({}), {});
});

test("a spot lies on the grid and on the roof", () => {
  assert.deepEqual([0.262, 0.5, -0.2, 1.3].map(snapped), [0.25, 0.5, 0, 1]);
});
