// What a person enters on the Visit page, and what is sent of it.

import assert from "node:assert/strict";
import { test } from "node:test";
import { ask } from "../../dashboard/shared/browser/asking.js";
import { Asked } from "../../dashboard/visit/browser/asked.js";
import { isFor, looksOf } from "../../dashboard/visit/browser/cards.js";
import {
  bodyOf,
  Drafts,
  dateIn,
  gradeOf,
  isNeeded,
  missing,
  opened,
  standsIn,
  withUnit,
} from "../../dashboard/visit/browser/drafts.js";
import { gather } from "../../dashboard/visit/browser/gathered.js";
import { heldBy, moved } from "../../dashboard/visit/browser/resting.js";
import { allAsWritten, joinedCautions, notMetSaid, othersAsWritten } from "../../dashboard/visit/browser/round.js";
import { isToStop, offered, stopsOf } from "../../dashboard/visit/browser/stops.js";
import {
  asSigned,
  cardFor,
  comesBefore,
  endsWith,
  isLater,
  standing,
  together,
} from "../../dashboard/visit/browser/work.js";
import {
  answered,
  atAGlance,
  canBeGathered,
  demanded,
  isAllAnswered,
  isFolded,
  lastAnswers,
  stillShown,
  written,
} from "../../dashboard/visit/browser/written.js";

const field = (name, kind, more = {}) => ({
  name, to: name, label: name, kind, into: "fields.values", options: [], unit: "", quantity: "", channel: "", value: "", hint: "",
  needed: false,
  optional: false, several: false, only: "", usual: "", by_eye: false, like: "", offers: [], days: [], unfolded: false, glance: "", photographed: [], live: false, channels: [], longest: 500, about: {}, ...more,
}); // biome-ignore format: one line is one field
const key = (more = {}) => ({
  says: "Keep",
  ask: "finding",
  body: {},
  main: true,
  bare: false,
  leaves: false,
  grades: false,
  only_for: "",
  besides: [],
  opens: null,
  ...more,
});

class Kept {
  constructor() {
    this.kept = new Map();
  }
  getItem(name) {
    return this.kept.get(name) ?? null;
  }
  setItem(name, value) {
    this.kept.set(name, value);
  }
}

test("what was entered outlives the page, and not the visit", () => {
  const storage = new Kept();
  const first = new Drafts(storage);
  first.open("v1");
  first.set("c1", "herm", ["44.1"], true);
  first.set("c1", "words", ["loud"]);
  const again = new Drafts(storage);
  again.open("v1");
  assert.deepEqual(again.of("c1"), { draft: { herm: ["44.1"], words: ["loud"] }, taken: { herm: "44.1" } });
  again.set("c1", "herm", ["44.3"]); // typed over: no longer what the link said
  assert.deepEqual(again.of("c1").taken, {});
  again.open("v2");
  assert.deepEqual(again.of("c1"), { draft: {}, taken: {} });
});

test("what was asked and not answered is asked again under its id, by a page that was opened anew too", () => {
  const storage = new Kept();
  let now = 0;
  const id = new Asked(storage, () => now).idOf("v1", "note", { text: "Arrived." });
  const page = new Asked(storage, () => now); // the first was closed, or its browser killed
  assert.equal(page.idOf("v1", "note", { text: "Arrived." }), id);
  assert.notEqual(page.idOf("v1", "note", { text: "Left." }), id);
  assert.notEqual(page.idOf("v2", "note", { text: "Arrived." }), id);
  page.answered(id);
  const next = page.idOf("v1", "note", { text: "Arrived." });
  assert.notEqual(next, id); // once more, and meant
  now += 600_000;
  assert.notEqual(page.idOf("v1", "note", { text: "Arrived." }), next);
  for (let number = 0; number < 50; number += 1) page.idOf("v1", "note", { text: String(number) });
  assert.equal(page.open().length, 20);
});

test("a value is called measured only where every number came from the link", () => {
  const [volts, amps] = [field("volts", "number"), field("amps", "number")];
  const photo = field("photo", "photographs");
  assert.equal(gradeOf([volts], entered({ volts: ["236"] }, { volts: "236" })), "measured");
  assert.equal(gradeOf([volts, amps], entered({ volts: ["236"], amps: ["7"] }, { volts: "236" })), "typed");
  assert.equal(gradeOf([volts, photo], entered({ photo: ["p1"] })), "seen");
  assert.equal(gradeOf([volts, photo], entered({})), "said");
});

test("of one, a key speaks of one", () => {
  assert.deepEqual([1, 2].map(allAsWritten), ["As written", "All 2 as written"]);
  assert.deepEqual([1, 2].map(othersAsWritten), ["The other one: record it", "The other 2: record them"]);
});

test("every reason to stop stands there with what to do, and no check of refrigerant is offered under it", () => {
  const sentence = "The compressor draws current and does not pump: switch it off.";
  const alarm = { stop: "Add nothing: floodback.", says: "", measured: "0.4 °F; at least 1.8 °F", source: "" };
  const stop = { state: "stop", sentence, alarms: [], leads: [] };
  const told = `${alarm.stop} ${alarm.measured}`;
  assert.deepEqual(stopsOf(stop, false), [sentence]);
  assert.deepEqual(stopsOf({ ...stop, alarms: [alarm] }, false), [told]);
  assert.deepEqual(stopsOf({ ...stop, state: "look" }, false), []);
  assert.deepEqual(stopsOf(stop, true), []); // not heard: nothing is known of now
  assert.deepEqual(stopsOf(null, false), []);
  assert.deepEqual([isToStop(stop, false), isToStop({ ...stop, state: "look" }, false)], [true, false]);
  assert.deepEqual([isToStop(stop, true), isToStop(null, false)], [false, false]);
  assert.equal(isToStop({ ...stop, state: "look", alarms: [alarm] }, false), true);
  const rows = ["D", "E", "E", "F"].map((group, number) => ({ id: `r${number}`, group }));
  const ids = (opened, isToStop) => offered(rows, opened, isToStop).map(({ id }) => id);
  assert.deepEqual(ids("", true), ["r0", "r3"]);
  assert.deepEqual(ids("r2", true), ["r0", "r2", "r3"]);
  assert.deepEqual(ids("", false), ["r0", "r1", "r2", "r3"]);
});

test("a vacuum, and refrigerant in the air, stand above all else too, once, and hide no check", () => {
  const vacuum = "In a vacuum, or nearly: do not start it.";
  const rests = { state: "not running", sentence: vacuum, alarms: [], leads: [vacuum] };
  assert.deepEqual(stopsOf(rests, false), [vacuum]);
  assert.equal(isToStop(rests, false), false);
  assert.deepEqual(stopsOf({ ...rests, state: "stop" }, false), [vacuum]);
  const alarm = { stop: "Leave.", says: "", measured: "2 %; at most 1 %", source: "" };
  assert.deepEqual(stopsOf({ ...rests, state: "stop", sentence: "Leave.", alarms: [alarm] }, false), [
    "Leave. 2 %; at most 1 %",
    vacuum,
  ]);
  assert.deepEqual(stopsOf(rests, true), []);
});

test("what is usual stands until it is answered otherwise, and what was let go of again is open", () => {
  const [top, can] = [field("top", "choice", { usual: "flat" }), field("can", "choice", { usual: "dry" })];
  const body = (draft) => bodyOf(key(), [top, can], { draft, taken: {} }).fields?.values;
  assert.deepEqual(body({}), { top: "flat", can: "dry" });
  assert.deepEqual(body({ can: ["leaking"] }), { top: "flat", can: "leaking" });
  assert.deepEqual(body({ can: [] }), { top: "flat" });
  const begun = field("name", "text", { value: "Sam", usual: "Robin" });
  assert.deepEqual(standsIn(begun, {}), ["Sam"]);
  const noon = new Date(2026, 1, 26, 12).getTime(); // of a year whose February has 28 days
  assert.equal(dateIn(7, noon), "2026-03-05");
});

const WORDS = { options: [["dry", "Dry"], ["wet", "Leaks"]] }; // biome-ignore format: one line is enough
const entered = (draft, taken = {}) => ({ draft, taken });

test("what was looked at is usual only beside its photograph, and without one each answer is a touch of its own", () => {
  const can = field("can", "choice", { usual: "dry", by_eye: true, label: "Can", ...WORDS });
  const card = { fields: [can, field("photographs", "photographs", { several: true })] };
  const none = written(card, entered({}), () => null);
  assert.deepEqual([none.says, none.open], [[], [can]]);
  assert.deepEqual(bodyOf(key(), [can], { draft: {}, taken: {} }).fields, undefined);
  const taken = written(card, entered({ photographs: ["p1"] }), () => null);
  assert.deepEqual([taken.says, taken.open], [[["Can", "Dry"]], []]);
  assert.deepEqual(written(card, entered({ can: ["wet"] }), () => null).open, []);
  assert.ok(isFolded(can));
});

const live = (more = {}) =>
  field("outdoor", "number", {
    live: true,
    channels: [["outdoor", "Outdoor air"]],
    unit: "°F",
    quantity: "t",
    ...more,
  });
const reading = { name: "outdoor", value: 91.36, plusMinus: 0.9, unit: "°F", decimals: 1, age: 0.4, old: false };

test("what is demanded for the record is drawn in the open, and what a photograph answers once it was begun without one", () => {
  const [found, can] = [
    field("found", "choice", WORDS),
    field("can", "choice", { usual: "dry", by_eye: true, ...WORDS }),
  ];
  const slot = field("slot", "choice", { optional: true, needed_with: { found: ["wet"] }, ...WORDS });
  const fields = [found, can, slot, live(), field("photographs", "photographs", { several: true })];
  const names = (draft, read = () => null) =>
    demanded(written({ fields }, entered(draft), read).open, draft).map(({ name }) => name);
  assert.deepEqual(names({}), ["outdoor"]);
  assert.deepEqual(
    names({}, () => reading),
    [],
  );
  assert.deepEqual(names({ found: ["wet"] }), ["can", "slot", "outdoor"]);
  assert.deepEqual(
    names({ found: ["dry"] }, () => reading),
    ["can"],
  );
  assert.deepEqual(
    names({ found: ["dry"], photographs: ["p1"] }, () => reading),
    [],
  );
});

test("what a check would record stands in words, and what must be chosen is open", () => {
  const can = field("can", "choice", { usual: "dry", label: "Can", ...WORDS });
  const found = field("found", "choice", { label: "Found", ...WORDS });
  const photo = field("photo", "photographs");
  const card = { fields: [can, found, photo] };
  const made = written(card, entered({}), () => null);
  assert.deepEqual([made.says, made.open], [[["Can", "Dry"]], [found]]);
  assert.deepEqual(
    written(card, entered({ can: ["wet"], found: ["dry"] }), () => null),
    {
      says: [["Can", "Leaks"]],
      away: [],
      open: [],
      fails: [],
      entered: entered({ can: ["wet"], found: ["dry"] }),
    },
  );
  assert.deepEqual(written(card, entered({ can: [] }), () => null).open, [can, found]);
  const half = [field("n", "number", { held: "45.2 ± 0.9 µF" }), field("m", "number")];
  const goesOn = written({ fields: half, goes_on: true }, entered({}), () => null);
  assert.deepEqual([goesOn.says, goesOn.open], [[["n", "45.2 ± 0.9 µF"]], [half[1]]]); // the rig has it: not asked again
  assert.equal("n" in goesOn.entered.draft, false); // nor sent, as if it had been typed
});

test("what stands without a touch and makes a check not met is said, and what a person chose is not", () => {
  const condition = field("condition", "choice", { value: "wet", fails: ["wet"], label: "Can", ...WORDS });
  const fails = (draft) => written({ fields: [condition] }, entered(draft), () => null).fails;
  assert.deepEqual(fails({}), [["Can", "Leaks"]]);
  assert.equal(notMetSaid(fails({})), "As written it is not met: Can: Leaks.");
  assert.deepEqual([fails({ condition: ["wet"] }), fails({ condition: ["dry"] })], [[], []]);
  assert.deepEqual(written({ fields: [{ ...condition, value: "dry" }] }, entered({}), () => null).fails, []);
  assert.equal(notMetSaid([]), "");
});

test("a live figure is taken as it is shown, with its ± and age, and never where it is old, missing or one of two", () => {
  const card = { fields: [live({ label: "Outdoor air" })] };
  const made = written(card, entered({}), (name) => (name === "outdoor" ? reading : null));
  assert.deepEqual(made.says, [["Outdoor air", "91.4 ± 0.9 °F (< 1 s ago)"]]);
  assert.deepEqual(made.entered, entered({ outdoor: ["91.4 °F"] }, { outdoor: "91.4 °F" }));
  assert.equal(gradeOf(card.fields, made.entered), "measured");
  for (const heard of [{ ...reading, old: true }, { ...reading, value: null }, null]) {
    const none = written(card, entered({}), () => heard);
    assert.deepEqual([none.says, none.open, none.entered], [[], card.fields, entered({})]);
  }
  const away = { ...reading, quality: "elsewhere", reason: "it was on RTU-2, and nobody has said that it moved" };
  const left = written(card, entered({}), () => away);
  assert.deepEqual([left.says, left.open, left.entered], [[], card.fields, entered({})]);
  assert.deepEqual(left.away, [["Outdoor air", away.reason]]);
  assert.deepEqual(written(card, entered({}), () => ({ ...reading, old: true })).away, [
    ["Outdoor air", "nothing new came from it"],
  ]);
  assert.deepEqual(made.away, []);
  const meter = { ...reading, name: "multimeter_ac_voltage", value: 236.04, plusMinus: 2, unit: "V", decimals: 3 };
  const volts = [live({ name: "volts", label: "L1", channels: [["multimeter_ac_voltage", "Meter"]], unit: "V" })];
  const shown = written({ fields: volts }, entered({}), () => meter);
  assert.deepEqual(shown.says, [["L1", "236 ± 2.0 V (< 1 s ago)"]]); // no finer than the meter shows it
  assert.deepEqual(shown.entered.draft, { volts: ["236 V"] });
  const two = [["outdoor", "Outdoor air"], ["other", "Other"]]; // biome-ignore format: one line is enough
  assert.equal(written({ fields: [live({ channels: two })] }, entered({}), () => reading).open.length, 1);
  const typed = written(card, entered({ outdoor: ["88"] }), () => reading);
  assert.deepEqual([typed.says, typed.entered], [[["Outdoor air", "88 °F"]], entered({ outdoor: ["88"] })]);
});

test("the one thing that is left open is answered by the keys that record it all", () => {
  const found = field("found", "choice", WORDS);
  const said = field("said", "text", { offers: ["Loud."] });
  assert.deepEqual(
    lastAnswers([found]),
    WORDS.options.map(([value, says]) => [{ found: value }, says]),
  );
  assert.deepEqual(lastAnswers([said]), [[{ said: "Loud." }, "Loud."]]);
  for (const open of [[], [found, said], [field("n", "number", { offers: ["1"] })], [field("t", "text")]]) {
    assert.deepEqual(lastAnswers(open), []);
  }
});

test("what one look finds is answered by one key, alone or as the last that is open", () => {
  const [top, can, other] = [
    field("top", "choice", { glance: "dry", ...WORDS }),
    field("can", "choice", { glance: "wet", ...WORDS }),
    field("other", "choice", WORDS),
  ];
  const says = "top: Dry · can: Leaks";
  assert.deepEqual(atAGlance([top, other, can]), [[top, can], says]);
  assert.deepEqual(lastAnswers([top, can]), [[{ top: "dry", can: "wet" }, says]]);
  assert.deepEqual([atAGlance([top, other]), lastAnswers([top, other])], [[[], ""], []]);
  assert.deepEqual(lastAnswers([top, can, other]), []);
});

test("checks stand in one list by their group, where touches answer them and no hands hang on it", () => {
  const [can, dead] = [{ fields: [field("top", "choice"), live()] }, { fields: [field("volts", "number")] }];
  assert.deepEqual([canBeGathered(can), canBeGathered(dead), canBeGathered(null)], [true, false, false]);
  const rows = [
    row("b1", { asked: true, apart: true }),
    row("b2", { asked: true, card: "dead" }),
    row("c1", { group: "C", asked: true }),
    row("c2", { group: "C" }),
    row("c3", { group: "C", asked: true }),
    row("d1", { group: "D", asked: true }),
  ];
  const ids = (opened, all = rows) =>
    together(all, opened, ({ card }) => card !== "dead").map((list) => list.map(({ id }) => id));
  assert.deepEqual(
    [ids(""), ids("c1")],
    [
      [["c1", "c3"], ["d1"]],
      [["c3"], ["d1"]],
    ],
  );
  const more = ["E", "F"].map((group) => row(`${group}1`, { group, asked: true }));
  assert.deepEqual(
    ids("", [...rows, ...more]).map(([id]) => id),
    ["c1", "d1", "E1"], // no wall of lists, and what cannot be answered yet hides no closing
  );
  const cover = row("c4", { group: "C", asked: true, apart: true });
  assert.deepEqual(ids("", [...rows.slice(0, 5), cover, ...rows.slice(5)]), [["c1", "c3"], ["c4"], ["d1"]]); // its own touch
  const measured = row("c0", { group: "C", asked: true, card: "dead", next: true });
  assert.deepEqual(ids("", [measured, cover]), [["c4"]]); // and whoever does not measure finds it
  assert.deepEqual(ids("", [{ ...cover, next: true }]), []); // next, it stands in its place
});

test("a list of a later group than is in hand is folded until the power is on, and no other", () => {
  const [b, c, d, e] = ["B", "C", "D", "E"].map((group) => row(group, { group }));
  const later = [[b, b], [c, b], [e, c], [b, e], [c, undefined], [undefined, b], [e, d]]; // biome-ignore format: a pair each
  assert.deepEqual(
    later.map(([first, next]) => isLater(first ? [first] : [], next, [])),
    [false, true, true, false, false, false, false],
  );
  const power = (outcome) => row("power_back", { group: "D", outcome });
  assert.deepEqual(
    ["", "not_met", "met"].map((outcome) => isLater([e], c, [power(outcome)])),
    [true, true, false], // what is still open at the panel, such as why it failed, holds up nothing then
  );
});

test("what is open comes before a list of hands, and before none that only a pen is needed for", () => {
  const isolate = row("isolate", { asked: true });
  const can = row("can", { group: "C", asked: true });
  const cause = row("cause", { group: "C", asked: true, by_pen: true });
  const rows = [isolate, row("b2"), can, cause];
  const ids = (list) => comesBefore(list, rows).map(({ id }) => id);
  assert.deepEqual([ids([can]), ids([can, cause]), ids([cause])], [["isolate"], ["isolate"], []]);
});

test("a number alone counts in the unit beside it, and one with a unit stays as it was written", () => {
  assert.equal(withUnit("44,1", "µF"), "44.1 µF");
  assert.equal(withUnit("−3", "°F"), "-3 °F");
  assert.equal(withUnit("1 lb 4 oz", "oz"), "1 lb 4 oz");
  assert.equal(withUnit("12", ""), "12");
  assert.equal(withUnit("6", "%"), "6 %");
  assert.equal(withUnit("0,06", "%"), "0.06"); // a share, and not 0.06 %
  assert.equal(withUnit("0.5 %", "%"), "0.5 %");
  assert.equal(withUnit("1", "%"), "1"); // the server asks which
});

test("a key asks for what stands in the fields, each in its part of the body", () => {
  const fields = [
    field("volts.a_b", "number", { unit: "V", quantity: "voltage" }),
    field("turns", "number", { quantity: "number" }),
    field("mass", "number", { into: "", unit: "oz" }),
    field("tester", "choice", { into: "fields.choices" }),
    field("photographs", "photographs", { into: "fields", several: true }),
    field("text", "words", { into: "", value: "as before" }),
  ];
  const entered = {
    draft: { "volts.a_b": ["0.4"], turns: ["2"], mass: ["6"], tester: ["two_pole"], photographs: ["p1", "p2"] },
    taken: {},
  };
  const body = bodyOf(key({ body: { fields: { check: "b2" } }, grades: true }), fields, entered);
  assert.deepEqual(body, {
    text: "as before",
    mass: "6 oz",
    written: { "values/volts.a_b": ["0.4 V", "voltage"], "values/turns": ["2", ""] },
    fields: {
      check: "b2",
      grade: "typed",
      choices: { tester: "two_pole" },
      photographs: ["p1", "p2"],
    },
  });
  assert.deepEqual(bodyOf(key({ body: { of: "p" }, bare: true }), fields, entered), { of: "p" });
  const linked = bodyOf(key({ grades: true }), fields, { ...entered, taken: { "volts.a_b": "0.4" } });
  assert.deepEqual([linked.fields.grade, linked.fields.grades], ["typed", { "volts.a_b": "measured" }]);
  const bare = bodyOf(key({ grades: true, bare: true }), fields, { ...entered, taken: { "volts.a_b": "0.4" } });
  assert.deepEqual(bare.fields, { grade: "typed" });
});

test("what must be filled in is named", () => {
  const fields = [
    field("a", "text", { needed: true }),
    field("b", "text", { needed: true, value: "x" }),
    field("c", "text"),
  ];
  assert.deepEqual(
    missing(fields, { a: [" "] }).map(({ name }) => name),
    ["a"],
  );
});

test("a question is put to the person, and only a yes asks again", async () => {
  const sent = [];
  const rig = async (kind, body) => {
    sent.push([kind, body]);
    return body.confirmed
      ? { ok: true, status: 200 }
      : { ok: false, question: { us: "So much?", si: "" }, asks: ["amount.sum:1"], status: 409 };
  };
  assert.equal(await ask("added", { id: "a" }, async () => false, rig), null);
  assert.deepEqual(await ask("added", { id: "a" }, async ({ us }) => us === "So much?", rig), {
    ok: true,
    status: 200,
  });
  assert.deepEqual(sent.at(-1), ["added", { id: "a", confirmed: true, confirms: ["amount.sum:1"] }]);
  assert.equal(sent.length, 3);
});

test("what came up before the yes is put to the person as well, and the yes names all of it", async () => {
  const asks = ["a", "b"];
  const shown = [];
  const rig = async (_, { confirms = [] }) =>
    confirms.length === 2
      ? { ok: true, status: 200 }
      : {
          ok: false,
          question: { us: asks[confirms.length], si: "" },
          asks: asks.slice(0, confirms.length + 1),
          status: 409,
        };
  const yes = async ({ us }) => shown.push(us) > 0;
  assert.equal((await ask("added", { id: "a" }, yes, rig)).ok, true);
  assert.deepEqual(shown, asks);
});

test("what a question asks for is kept by a finding first, and then the same is asked again", async () => {
  const sent = [];
  let looked = false;
  const offer = { says: "I looked for leaks.", body: { fields: { check: "leaks" } } };
  const rig = async (kind, body) => {
    sent.push([kind, body.visit, body.fields?.check, body.confirmed]);
    if (kind === "finding") looked = true;
    if (looked) return { ok: true, status: 200 };
    return { ok: false, question: { us: "Nobody looked.", si: "" }, offers: [offer], status: 409 };
  };
  const answer = await ask("added", { id: "a", visit: "v1" }, async (_, [only]) => only, rig);
  assert.equal(answer.ok, true);
  assert.deepEqual(sent, [
    ["added", "v1", undefined, undefined],
    ["finding", "v1", "leaks", undefined],
    ["added", "v1", undefined, undefined], // and nothing was confirmed
  ]);
  const refuses = async (kind) =>
    kind === "finding"
      ? { ok: false, reason: "The visit is signed.", status: 409 }
      : { ok: false, question: { us: "Nobody looked.", si: "" }, offers: [offer], status: 409 };
  const none = await ask("added", { id: "a" }, async () => offer, refuses);
  assert.deepEqual([none.ok, none.reason], [false, "The visit is signed."]);
});

test("a form that a key opens begins with what stood before, and asks for both", () => {
  const into = (circuit) => ({ into: `fields.sheet.circuits.${circuit}`, needed: true });
  const second = {
    id: "second",
    fields: [field("refrigerant", "choice", { ...into(1), like: "refrigerant" }), field("charge", "text", into(1))],
    keys: [key({ ask: "describe" })],
  };
  const card = { id: "unit-new", fields: [field("refrigerant", "choice", into(0)), field("tag", "text")] };
  const body = { fields: { sheet: { circuits: [{ name: "1" }, { name: "2" }] } } };
  const before = { draft: { refrigerant: ["R-32"], tag: ["RTU-9"] }, taken: {} };
  const form = opened(card, key({ body, opens: second }), before);
  assert.deepEqual([form.id, form.of, form.fields[0].value], ["unit-new second", "unit-new", "R-32"]);
  const circuits = (draft) => bodyOf(form.keys[0], form.fields, { draft, taken: {} }).fields.sheet.circuits;
  const first = { name: "1", refrigerant: "R-32" };
  assert.deepEqual(circuits({ charge: ["5"] }), [first, { name: "2", refrigerant: "R-32", charge: "5" }]);
  assert.equal(circuits({ refrigerant: ["R-410A"] })[1].refrigerant, "R-410A");
  assert.deepEqual(body.fields.sheet.circuits, [{ name: "1" }, { name: "2" }]);
});

test("what is of another part goes on with nothing of this one", () => {
  const part = field("part", "text", { into: "fields" });
  const goesOn = key({ body: { fields: { check: "c3", part: "can", builds_on: "f1" } } });
  const asked = (draft) => bodyOf(goesOn, [part], { draft, taken: {} }).fields;
  assert.equal(asked({}).builds_on, "f1");
  assert.equal(asked({ part: ["can"] }).builds_on, "f1");
  assert.deepEqual(asked({ part: ["other"] }), { check: "c3", part: "other" });
  const unnamed = key({ body: { fields: { check: "c3", builds_on: "f1" } } });
  assert.equal(bodyOf(unnamed, [part], { draft: { part: ["can"] }, taken: {} }).fields.builds_on, undefined);
  assert.equal(bodyOf(unnamed, [part], { draft: {}, taken: {} }).fields.builds_on, "f1");
});

const row = (id, more = {}) => ({
  id, card: id, group: "B", place: id, title: id, of: "", body: {}, goes_on: "", outcome: "", icon: "", mood: "", said: "", grade: "",
  why: [],
  time: null, next: false, asked: false, apart: false, by_pen: false, begins: {}, offers: {}, ...more,
}); // biome-ignore format: one line is one row

test("the check that a person opened or has begun stays, else the next stands there", () => {
  const rows = [row("b1"), row("b2", { next: true }), row("b3")];
  assert.equal(standing(rows, "", () => false)?.id, "b2");
  assert.equal(standing(rows, "", (id) => id === "b3")?.id, "b3");
  assert.equal(standing(rows, "b1", (id) => id === "b3")?.id, "b1");
  assert.equal(
    standing([], "", () => false),
    undefined,
  );
});

test("a check is asked of its part, for what is so of the visit, and says what was found before", () => {
  const card = {
    id: "c3",
    title: "Capacitor",
    says: ["Leads off."],
    fields: [field("herm", "number"), field("third", "number", { only: "three_phase" })],
    keys: [key({ body: { fields: { check: "c3" } } })],
  };
  const answered = row("c3 can", { card: "c3", place: "C3", of: "can", body: { part: "can" }, outcome: "met" });
  const told = { ...answered, said: "Met", grade: "typed", why: ["Within 5 %.", "-"] };
  const made = cardFor(told, { cards: { c3: card } }, [], "us");
  assert.equal(made.title, "C3 · Capacitor · can");
  assert.deepEqual(made.says, ["Met · typed", "Within 5 %.", "Leads off."]);
  assert.deepEqual(made.keys[0].body, { fields: { check: "c3", part: "can" } });
  const names = (facts) => cardFor(told, { cards: { c3: card } }, facts, "us").fields.map(({ name }) => name);
  assert.deepEqual([names([]), names(["three_phase"])], [["herm"], ["herm", "third"]]);
  const asked = field("chosen phases", "choice", { only: "phases_unknown" });
  const checks = { cards: { c3: { ...card, fields: [asked, ...card.fields] } } };
  const legs = (draft) => cardFor(told, checks, ["phases_unknown"], "us", draft).fields.map(({ name }) => name);
  assert.deepEqual(legs({ "chosen phases": ["three"] }), ["chosen phases", "herm", "third"]); // before it is recorded
  assert.deepEqual(legs({ "chosen phases": ["single"] }), ["chosen phases", "herm"]);
  const rest = field("rest", "number", { channels: [["line_voltage_ab", "L1 to L2"]], not_while: "runs" });
  const shown = (facts) =>
    cardFor(told, { cards: { c3: { ...card, fields: [rest] } } }, facts, "us").fields[0].channels;
  assert.deepEqual([shown([]).length, shown(["runs"]).length], [1, 0]); // what stands there now is not at rest
  const on = cardFor({ ...told, goes_on: "f1" }, { cards: { c3: card } }, [], "us");
  assert.deepEqual(on.keys[0].body, { fields: { check: "c3", part: "can", builds_on: "f1" } });
  assert.equal(cardFor(row("x"), { cards: {} }, [], "us"), null);
});

test("a photograph without which an answer does not count is asked for before it is recorded", () => {
  const told = field("told_by", "choice", {
    options: [
      ["tag", "Tag"],
      ["said", "Said"],
    ],
    photographed: ["tag"],
  });
  const fields = [told, field("photographs", "photographs")];
  const open = (draft, more) =>
    written({ fields, goes_on: false, ...more }, entered(draft), () => null).open.map(({ name }) => name);
  assert.deepEqual(open({ told_by: ["tag"] }), ["photographs"]);
  assert.deepEqual(open({ told_by: ["tag"], photographs: ["p"] }), []);
  assert.deepEqual(open({ told_by: ["said"] }), []);
  assert.deepEqual(open({ told_by: ["tag"] }, { goes_on: true }), []);
});

test("an answer that makes others needed names them as open, and does not record by its touch", () => {
  const options = [
    ["table", "Table"],
    ["feel", "By feel"],
  ];
  const by = field("by", "choice", { options });
  const gauge = field("gauge", "number", { optional: true, needed_with: { by: ["table"] } });
  const slot = field("slot", "choice", {
    optional: true,
    needed_with: { by: ["table"] },
    options: [["narrow", "Narrow"]],
  });
  const checks = { cards: { c7: { id: "c7", title: "Connections", says: [], fields: [by, gauge, slot], keys: [] } } };
  const made = (draft) => cardFor(row("c7"), checks, [], "us", draft);
  const open = (draft) => written(made(draft), entered(draft), () => null).open.map(({ name }) => name);
  assert.deepEqual([open({}), open({ by: ["table"] }), open({ by: ["feel"] })], [["by"], ["gauge", "slot"], []]);
  const asks = (chosen) => answered(made({}), { by: chosen }, entered({}), () => null).asksMore;
  assert.deepEqual([asks("table"), asks("feel")], [true, false]); // the touch of the one records nothing yet
  assert.equal(lastAnswers([by]).length, 2);
  const folded = (draft) => made(draft).fields.map(isFolded);
  assert.deepEqual(
    [folded({}), folded({ by: ["table"] })],
    [
      [false, true, true],
      [false, false, false],
    ],
  );
  assert.equal(canBeGathered(made({ by: ["table"] })), true); // it stays where it was touched
  const again = cardFor(row("c7", { held: { gauge: ["12", "12"] } }), checks, [], "us", { by: ["table"] });
  assert.deepEqual(written(again, entered({ by: ["table"] }), () => null).open, [again.fields[2]]);
});

test("what a choice and a figure together ask for is asked for by neither alone", () => {
  const fields = [
    field("labels", "choice"),
    field("old.herm", "number"),
    field("new.herm", "number", { optional: true, needed_with: { "old.herm": [], labels: ["otherwise"] } }),
  ];
  const asked = (draft) => isNeeded(fields[2], fields, draft);
  assert.deepEqual(
    [asked({ labels: ["otherwise"] }), asked({ "old.herm": ["45"] }), asked({ labels: ["alike"], "old.herm": ["45"] })],
    [false, false, false],
  );
  assert.equal(asked({ labels: ["otherwise"], "old.herm": ["45"] }), true);
});

test("of a part that is replaced each section that the old one had is asked for, and what its label says is not", () => {
  const of = (name, more) => ["herm", "fan"].map((place) => field(`${name}.${place}`, "number", more(place)));
  const old = of("old", (place) => ({
    optional: true,
    unfolded: true,
    needed_without: [place === "herm" ? "old.fan" : "old.herm"],
  }));
  const fitted = of("new", (place) => ({ optional: true, unfolded: true, needed_with: { [`old.${place}`]: [] } }));
  const checks = { cards: { c4: { id: "c4", title: "Replacement", says: [], fields: [...old, ...fitted], keys: [] } } };
  const stands = (held, draft, units = "us") =>
    written(cardFor(row("c4", { held }), checks, [], units, draft), entered(draft), () => null);
  const open = (held, draft) => stands(held, draft).open.map(({ name }) => name);
  assert.deepEqual(open({}, {}), ["old.herm", "old.fan"]); // one of them at least
  assert.deepEqual(open({}, { "old.herm": ["45"] }), ["new.herm"]);
  const can = { "old.herm": ["45 µF", "45 µF"], "old.fan": ["5 µF", "5 uF"] };
  assert.deepEqual(open(can, {}), ["new.herm", "new.fan"]);
  assert.deepEqual(stands(can, {}, "si").says, [
    ["old.herm", "45 µF"],
    ["old.fan", "5 uF"],
  ]);
});

test("that a lock is off is offered by a touch, and stands nowhere before it", () => {
  const checks = {
    cards: { d1: { id: "d1", title: "Power back", says: [], fields: [field("off", "text")], keys: [] } },
  };
  const [off] = cardFor(row("d1", { offers: { off: { Ada: "Ada took their lock off" } } }), checks, [], "us").fields;
  assert.deepEqual([off.offers, off.says, off.value], [["Ada"], { Ada: "Ada took their lock off" }, ""]);
  assert.deepEqual(lastAnswers([off]), [[{ off: "Ada" }, "Ada took their lock off"]]);
});

test("what the rig reads otherwise is not usual, and is open until somebody answers it", () => {
  const unit = field("unit_is", "choice", { usual: "runs", usual_when: "runs", ...WORDS });
  const checks = { cards: { e0: { id: "e0", title: "Probes on", says: [], fields: [unit], keys: [] } } };
  const open = (facts) => written(cardFor(row("e0"), checks, facts, "us"), entered({}), () => null).open.length;
  assert.deepEqual([open([]), open(["runs"])], [1, 0]);
});

test("what the visit knows already stands as that, and not as what is usual", () => {
  const power = field("power", "choice", {
    usual: "throughout", usual_when: "never", known_by: { lock_off: "on" }, options: [["on", "On"], ["throughout", "Throughout"]],
  }); // biome-ignore format: one line is one field
  const checks = { cards: { f2: { id: "f2", title: "As it was", says: [], fields: [power], keys: [] } } };
  const stands = (facts) => written(cardFor(row("f2"), checks, facts, "us"), entered({}), () => null);
  assert.deepEqual(stands(["lock_off"]).says, [["power", "On"]]);
  assert.equal(stands([]).open.length, 1);
});

const SHOTS = [
  { word: "cover", label: "The cover", answers: { cover: "on" }, says: "", only: "" },
  { word: "air", label: "The air", answers: { aired: "yes" }, says: "", only: "burns" },
];

test("only photographs that are asked for answer, and what is merely usual is left to a key", () => {
  const cover = field("cover", "choice", { usual: "on", by_eye: true, options: [["on", "On"]] });
  const inside = field("inside", "choice", { usual: "none", by_eye: true, options: [["none", "None"]] });
  const photographs = field("photographs", "photographs", { shots: SHOTS });
  const checks = {
    cards: { c: { id: "c", title: "Close", says: [], fields: [cover, inside, photographs], keys: [] } },
  };
  const card = (facts) => cardFor(row("c"), checks, facts, "us");
  const words = (facts) =>
    card(facts)
      .fields.find(({ name }) => name === "photographs")
      .shots.map(({ word }) => word);
  assert.deepEqual([words([]), words(["burns"])], [["cover"], ["cover", "air"]]);
  const taken = entered({ photographs: ["p1"], cover: ["on"] });
  assert.deepEqual(written(card([]), taken, () => null).open, []); // it stands, and a key may record it
  assert.equal(
    isAllAnswered(card([]), taken, () => null),
    false,
  ); // but no photograph showed the inside
  assert.equal(
    isAllAnswered(card([]), taken, () => null, ["inside"]),
    true,
  );
  const both = entered({ photographs: ["p1"], cover: ["on"], inside: ["none"] });
  assert.equal(
    isAllAnswered(card([]), both, () => null),
    true,
  );
  assert.deepEqual(stillShown(card(["burns"]), taken.draft), ["aired"]);
});

test("an answer names the photograph that gave it, and a word that takes its place names none", () => {
  const cover = field("chosen cover", "choice", { to: "cover", into: "fields.choices", options: [["on", "On"]] });
  const sent = (draft) => bodyOf(key({ body: { fields: {} } }), [cover], entered(draft)).fields;
  const shown = { "chosen cover": ["on"], "shown chosen cover": ["p1"] };
  assert.deepEqual(sent(shown), { choices: { cover: "on" }, by_photograph: { cover: "p1" } });
  assert.deepEqual(sent({ ...shown, "shown chosen cover": [] }), { choices: { cover: "on" } });
});

test("what the hold key takes next stands first, in the units of the page", () => {
  const checks = { cards: { b2: { id: "b2", title: "Prove dead", says: ["Met when"], fields: [], keys: [] } } };
  const says = (units) => cardFor({ ...row("b2"), asks_now: [["us", "si"]] }, checks, [], units).says;
  assert.deepEqual(
    [says("us"), says("si")],
    [
      ["us", "Met when"],
      ["si", "Met when"],
    ],
  );
});

test("what is usual beside a photograph stands open where it is not so", () => {
  const power = field("power", "choice", { usual: "throughout", usual_when: "runs", by_eye: true, ...WORDS });
  const checks = { cards: { f2: { id: "f2", title: "As it was", says: [], fields: [power], keys: [] } } };
  const folded = (facts) => isFolded(cardFor(row("f2"), checks, facts, "us").fields[0]);
  assert.deepEqual([folded([]), folded(["runs"])], [false, true]);
});

test("what was answered can be left as it stands, and no longer skipped", () => {
  const keys = [key({ says: "Skip", opens: { id: "skip" } }), key({ says: "Leave", ask: "", leaves: true }), key()];
  const card = { id: "c3", title: "Capacitor", says: [], fields: [], keys };
  const says = (more) =>
    cardFor({ ...row("c3"), card: "c3", why: [], ...more }, { cards: { c3: card } }, [], "us").keys.map(
      (it) => it.says,
    );
  assert.deepEqual(says({ outcome: "" }), ["Skip", "Keep"]);
  assert.deepEqual(says({ outcome: "not_met", next: false }), ["Leave", "Keep"]);
  assert.deepEqual(says({ outcome: "not_met", next: true }), ["Skip", "Keep"]); // hands depend on it: it is asked again
  assert.equal(isFor(key({ ask: "", leaves: true, only_for: "technician" }), new Set(["as lead"])), false);
});

test("a key shows to who may ask what it asks, and of an ask of both only to whose turn it is", () => {
  const lead = new Set(["reply", "acknowledge", "as lead"]);
  const technician = new Set(["reply", "acknowledge", "finding", "as technician"]);
  assert.deepEqual([isFor(key(), lead), isFor(key(), technician)], [false, true]);
  const opens = { keys: [key({ ask: "reply" })] };
  assert.equal(isFor(key({ ask: "", opens }), lead), true);
  const got = key({ ask: "acknowledge", only_for: "technician" });
  assert.deepEqual([isFor(got, lead), isFor(got, technician)], [false, true]);
});

test("one key keeps together what has nothing to choose, and what its visitor may keep", () => {
  const card = (id, together, more = {}) => ({ id, together, keys: [key({ ask: "keep", ...more })] });
  const cards = [card("a", true), card("b", false), card("c", true), card("d", true, { main: false })];
  const ids = (may) => Object.values(gather(cards, new Set(may))).map((each) => each.map(({ id }) => id));
  assert.deepEqual(ids(["keep"]), [
    ["a", "c"],
    ["b", "d"],
  ]);
  assert.deepEqual(ids([]), [[], ["a", "b", "c", "d"]]);
  assert.deepEqual(gather([card("a", true), card("b", false)], new Set(["keep"])).together, []); // of one: as it was
});

test("a key that a drawing has put elsewhere rests, and one that a finger would still be on does not", () => {
  const box = (left, top) => ({ left, top, width: 200, height: 60 });
  const before = new Map([["stays", box(0, 100)], ["slides", box(0, 300)], ["gone", box(0, 500)]]); // biome-ignore format: one line is enough
  const after = new Map([
    ["stays", { key: "stays", box: box(0, 129) }],
    ["slides", { key: "slides", box: box(0, 331) }],
    ["new", { key: "new", box: box(0, 500) }],
  ]);
  assert.deepEqual(moved(before, after), ["slides", "new"]);
  const aside = new Map([["stays", { key: "stays", box: box(101, 100) }]]);
  assert.deepEqual(moved(before, aside), ["stays"]);
});

test("what a finger is down on stays as it was seen, until after its click", async () => {
  const [holder, whole] = [new EventTarget(), new EventTarget()];
  const isHeld = heldBy(holder, whole);
  assert.equal(isHeld(), false);
  holder.dispatchEvent(new Event("pointerdown"));
  assert.equal(isHeld(), true);
  whole.dispatchEvent(new Event("pointerup"));
  assert.equal(isHeld(), true); // the click is still to come
  await new Promise((after) => setTimeout(after, 5));
  assert.equal(isHeld(), false);
});

test("a key whose words vouch for much is as wide as its card", () => {
  const says = "Keep each, at the place of work: L1 to L2, L1 to ground (earth), L2 to ground (earth)";
  assert.equal(looksOf({ says, main: false }), "button key key-long");
  assert.equal(looksOf({ says: "1: Herm to common. 2: Herm to common.", main: false }), "button key");
  assert.equal(looksOf({ says: "Keep those chosen", main: true }), "button key button-main");
});

test("on a visit that is signed a check is read, and nothing of it entered", () => {
  const card = { id: "c3", title: "Capacitor", says: ["Met"], fields: [field("herm", "number")] };
  const made = asSigned({ ...card, keys: [key(), key({ says: "Leave", ask: "", leaves: true })] });
  assert.deepEqual([made.says, made.fields, made.keys.map(({ says }) => says)], [["Met"], [], ["Leave"]]);
  assert.equal(isFor(key({ ask: "", shows: "units", only_for: "technician" }), new Set(["as technician"])), true);
});

test("the key to the signature stands in the last group, once all of it is answered and handed over", () => {
  const told = (outcome, closing = [{}]) => ({
    groups: [["E", "Refrigerant"], ["F", "Closing"]],
    rows: [row("e1", { group: "E" }), row("f1", { group: "F", outcome: "met" }), row("f2", { group: "F", outcome })],
    closing,
  }); // biome-ignore format: one line is one row
  assert.deepEqual(
    [told("skipped"), told(""), told("met", [])].map((it) => endsWith("F", it)),
    [true, false, false],
  );
});

const caution = (/** @type {string} */ says, /** @type {number} */ harm, stands = false) => ({ says, harm, stands });

test("in a round what kills comes first, whichever check it is of, and stands open if it does at one of them", () => {
  const before = { cautions: [caution("hot", 8), caution("lock out", 0)], cautions_once: [], once: "" };
  const panel = { cautions: [caution("lock out", 0, true), caution("live", 1, true)], cautions_once: [], once: "" };
  for (const cards of [
    [before, panel],
    [panel, before],
  ]) {
    const { cautions } = joinedCautions(cards);
    assert.deepEqual(cautions, [caution("lock out", 0, true), caution("live", 1, true), caution("hot", 8)]);
  }
});

test("several cards beware of each thing once: what is of now at one of them is not told for the whole visit too", () => {
  const [hot, burns] = [caution("hot", 8), caution("burns", 3)];
  const look = { cautions: [hot], cautions_once: ["burns", "plate"], once: "" };
  const open = { cautions: [hot, burns], cautions_once: ["plate"], once: "" };
  const joined = joinedCautions([look, open]);
  assert.deepEqual(joined.cautions, [burns, hot]);
  assert.deepEqual(joined.cautions_once, ["plate"]);
  assert.equal(joined.once, "1 for the whole visit");
});

test("what only an open, dead panel shows can be said only once it is", () => {
  const said = [
    ["outside", "None seen from outside"],
    ["none", "None, seen with it open and dead"],
  ];
  const bypassed = field("bypassed", "choice", { options: said, offered_when: { none: "panel_dead" } });
  const checks = { cards: { e0: { id: "e0", title: "Look first", says: [], fields: [bypassed], keys: [] } } };
  const offered = (facts) => cardFor(row("e0"), checks, facts, "us").fields[0].options.map(([option]) => option);
  assert.deepEqual(offered(["panel"]), ["outside"]);
  assert.deepEqual(offered(["panel", "panel_dead"]), ["outside", "none"]);
});
