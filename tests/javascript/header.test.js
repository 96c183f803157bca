// What is told first: whether data comes, and whether it is on the disk.

import assert from "node:assert/strict";
import { test } from "node:test";
import { foldedText, onceText } from "../../dashboard/charge/browser/cautions.js";
import { hours, instrumentCount } from "../../dashboard/charge/browser/header.js";
import { keyToMove, sentenceCase } from "../../dashboard/charge/browser/opinion.js";
import { ageText, away, folded, heardFrom, isCorrectable, standing } from "../../dashboard/charge/browser/panels.js";
import { ofThisCircuit, pressureLines, signOf } from "../../dashboard/charge/browser/ruler.js";
import { targetsNow } from "../../dashboard/shared/browser/heard.js";
import { keptOnceRead, nowText, readOn, standsOpen, unread } from "../../dashboard/shared/browser/read.js";
import { leftOut, notSaved, savedStatus, trouble } from "../../dashboard/shared/browser/saved.js";

const sound = { link: "open", status: { broker: true, state: "online", not_saved: null }, silent: false };

test("what is lost nearest to the page is told first", () => {
  assert.equal(trouble(sound), "");
  assert.equal(trouble({ ...sound, silent: true }), "No data");
  assert.match(trouble({ ...sound, status: { broker: true, state: "online", another: true } }), /another daemon/i);
  assert.equal(trouble({ ...sound, silent: true, status: { broker: true, state: "offline" } }), "Rig is off");
  assert.equal(trouble({ ...sound, silent: true, status: { broker: false, state: "lost" } }), "Broker lost");
  assert.equal(trouble({ ...sound, silent: true, status: { broker: true, state: "lost" } }), "Rig lost");
  assert.equal(
    trouble({ ...sound, link: "lost", status: { broker: false, state: "lost" } }),
    "Page has lost its server",
  );
});

test("what proposes nothing any more is named, and nothing else is called wrong by it", () => {
  assert.equal(leftOut(sound), "");
  const view = { ...sound, status: { ...sound.status, left_out: ["connection", "scale"] } };
  assert.match(leftOut(view), /connection, scale.*configuration again/);
  assert.equal(trouble(view), "");
});

test("of what a newer rig tells, a page says that it shows older, before what is merely not proposed", () => {
  const view = {
    ...sound,
    status: { ...sound.status, left_out: ["scale"], not_understood: ["its advice", "the visit"] },
  };
  assert.match(leftOut(view), /does not understand .* its advice, the visit.*may be old.*go by the instruments/);
  assert.equal(trouble(view), "");
});

test("nothing is called saved that the daemon or the newest pack says is not", () => {
  const why = { path: "/v.sqlite", reason: "disk full", cure: "free space", since_s: 1 };
  assert.equal(notSaved({ status: sound.status, frame: { saved: true } }), null);
  assert.equal(notSaved({ status: { ...sound.status, not_saved: why }, frame: { saved: true } }), why);
  assert.deepEqual(notSaved({ status: sound.status, frame: { saved: false } }), {});
  assert.equal(notSaved({ status: null, frame: null }), null);
});

test("a visit is told in hours and minutes", () => {
  assert.deepEqual([hours(59), hours(2460), hours(36060)], ["0:00", "0:41", "10:01"]);
});

test("cautions that were read stay read on their visit only", () => {
  const kept = JSON.stringify({ visit: "v1", texts: ["gloves"] });
  assert.deepEqual(unread(["gloves", "no flame"], readOn("v1", kept)), ["no flame"]);
  assert.deepEqual(unread(["gloves"], readOn("v1", kept)), []);
  assert.deepEqual(unread(["gloves"], readOn("v2", kept)), ["gloves"]);
  assert.deepEqual(unread(["gloves"], readOn(undefined, null)), ["gloves"]);
});

test("over no caution of the step there is no line", () => {
  assert.deepEqual(
    [[], ["hot"], ["hot", "live"]].map((cautions) => nowText(cautions)),
    ["", "1 caution at this step", "2 cautions at this step"],
  );
  assert.equal(nowText(["hot"], true), "1 more caution at this step");
});

test("the line says how many cautions are for the whole visit, and how many of them are new", () => {
  assert.equal(onceText(["a", "b"], new Set()), "2 for the whole visit, unread");
  assert.equal(onceText(["a", "b"], new Set(["a"])), "2 for the whole visit, 1 new");
  assert.equal(onceText(["a", "b"], new Set(["a", "b"])), "2 for the whole visit");
});

test("an instrument that is connected and has given nothing yet is waited for", () => {
  const probe = { connected: true, state: "Connected", channels: ["suction_pressure", "suction_line_temperature"] };
  const nothing = { value: null, quality: "stale" };
  const read = (sample) => (name) => (name === "suction_pressure" ? sample : null);
  assert.equal(
    heardFrom(probe, () => null),
    false,
  );
  assert.equal(heardFrom(probe, read(nothing)), false);
  assert.equal(heardFrom(probe, read({ value: null, quality: "sensor_fault" })), true);
  assert.equal(heardFrom(probe, read({ value: 1, quality: "stale" })), true);
  assert.deepEqual(standing(probe, false), ["care", "wait", "Waiting for its first reading"]);
  assert.deepEqual(standing(probe, true), ["good", "check", "Connected"]);
  const lost = { ...probe, connected: false, state: "Lost, trying again" };
  assert.deepEqual(standing(lost, false), ["bad", "warning", "Lost, trying again"]);
});

test("only what is connected and has given a reading counts as there", () => {
  const probe = { connected: true, state: "Connected", channels: ["suction_pressure"] };
  const lost = { ...probe, connected: false };
  const read = () => ({ value: 1, quality: "ok" });
  assert.deepEqual(instrumentCount([probe, probe], read, {}, false), ["good", "check", "Instruments 2 of 2"]);
  assert.deepEqual(instrumentCount([probe, lost], read, {}, false), ["bad", "warning", "Instruments 1 of 2"]);
  assert.deepEqual(
    instrumentCount([probe], () => null, {}, false),
    ["bad", "warning", "Instruments 0 of 1"],
  );
  assert.deepEqual(instrumentCount([], read, {}, false), ["bad", "warning", "Instruments 0 of 0"]);
});

test("an instrument in doubt is counted as such, and in a silence none is called good", () => {
  const probe = { connected: true, state: "Connected", channels: ["suction_pressure", "suction_line_temperature"] };
  const other = { connected: true, state: "Connected", channels: ["liquid_pressure"] };
  const read = () => ({ value: 1, quality: "ok" });
  const doubts = { suction_pressure: "In doubt. It failed.", suction_line_temperature: "In doubt.", superheat: "" };
  const all = [probe, other];
  assert.deepEqual(instrumentCount(all, read, doubts, false), ["care", "warning", "Instruments 2 of 2, 1 in doubt"]);
  const half = [{ ...probe, connected: false }, other];
  assert.deepEqual(instrumentCount(half, read, doubts, false), ["bad", "warning", "Instruments 1 of 2, 1 in doubt"]);
  assert.deepEqual(instrumentCount(all, read, {}, true), ["unsure", "unknown", "Instruments ? of 2"]);
});

test("what is wrong is told in place of when it was last saved, and packs that were lost beside it", () => {
  assert.deepEqual(savedStatus("", 0.26, 0), ["good", "check", "Saved 0.3 s ago"]);
  assert.deepEqual(savedStatus("", 0.26, 3), ["care", "warning", "Saved 0.3 s ago, 3 packs lost"]);
  assert.deepEqual(savedStatus("Rig lost", 0.26, 3), ["bad", "cross", "Rig lost"]);
  assert.deepEqual(savedStatus("", null, 0), ["bad", "cross", "Nothing saved yet"]);
  assert.deepEqual(savedStatus("Rig is off", null, 0), ["bad", "cross", "Rig is off"]);
});

test("cautions are unfolded while one of them has not been read", () => {
  assert.equal(standsOpen(["a", "b"], new Set(["a"])), true);
  assert.equal(standsOpen(["a", "b"], new Set(["a", "b"])), false);
});

test("what was read on a visit is kept beside what is read now, and nothing of another visit", () => {
  const kept = keptOnceRead("v1", null, ["gloves"]);
  assert.deepEqual(readOn("v1", keptOnceRead("v1", kept, ["no flame"])), new Set(["gloves", "no flame"]));
  assert.deepEqual(readOn("v2", keptOnceRead("v2", kept, ["no flame"])), new Set(["no flame"]));
});

const CALM = { left: null, stands: null, pending: [] };
const NOTE = { id: "n1", by: "Robin", text: "Let it sit.", time: 0 };

test("no key stands out where the charge is left as it is, nor where a lead asked to stop", () => {
  const asked = (/** @type {object} */ changes) => keyToMove({ to_move: "added" }, false, { ...CALM, ...changes });
  assert.equal(asked({ left: { says: "Left as it is.", by: "Sam", time: 0 } }), "");
  assert.equal(asked({ pending: [NOTE, { ...NOTE, stops: "Hands off." }] }), "");
  assert.equal(asked({ stands: { id: "s1", by: "Robin", time: 0, unsaved: "" } }), "");
  assert.equal(asked({ pending: [NOTE] }), "added");
});

test("the key that stands out is the one that the advice asks for", () => {
  assert.equal(keyToMove({ to_move: "added" }, false, CALM), "added");
  assert.equal(keyToMove({ to_move: "recovered" }, false, null), "recovered");
  assert.equal(keyToMove({ to_move: "" }, false, CALM), "");
  assert.equal(keyToMove({ to_move: "added" }, true, CALM), ""); // figures that are old ask for nothing
  assert.equal(keyToMove(null, false, CALM), "");
});

test("a channel that never gave a reading has no age", () => {
  assert.equal(ageText(null), "");
  assert.equal(ageText({ value: null, quality: "stale", age: 0.2, old: true }), "");
  assert.equal(ageText({ value: null, quality: "stale", age: 40, old: true }), "40 s old");
  assert.equal(ageText({ value: 118, quality: "ok", age: 0.2, old: false }), "< 1 s");
});

test("an alarm that comes and goes is told once, and pushes out nothing that was moved", () => {
  const stop = (time) => ({ kind: "alarm", label: "Floodback", text: "Stop adding.", time });
  const other = { kind: "alarm", label: "Head pressure", text: "Stop.", time: 5 };
  const moved = { kind: "added", label: "+6 oz liquid", text: "", time: 4 };
  const told = folded([stop(9), stop(8), other, stop(6), moved, moved, stop(2)]);
  assert.deepEqual(
    told.map(({ label, time, times }) => [label, time, times]),
    [
      ["Floodback", 9, 3],
      ["Head pressure", 5, 1],
      ["+6 oz liquid", 4, 1],
      ["+6 oz liquid", 4, 1],
      ["Floodback", 2, 1],
    ],
  );
});

test("why there is no figure is said where a probe is not on the circuit in view, and of nothing else", () => {
  const none = { label: "Superheat", value: null, quality: "elsewhere" };
  const read = (it) => (name) => (name === "superheat" ? it : null);
  const hose = { ...none, reason: "suction pressure: a hose is on the suction port" };
  assert.deepEqual(away(read(hose)), ["No superheat. Suction pressure: a hose is on the suction port."]);
  assert.deepEqual(away(read({ ...none, quality: "stale", reason: "suction pressure: lost" })), []);
  assert.deepEqual(away(read({ ...none, value: 12, quality: "ok", reason: "" })), []);
});

test("what a probe reads on another circuit is not drawn beside the figures of this one", () => {
  const mark = { value: 51.9, quality: "elsewhere", reason: "it is on circuit 1" };
  assert.deepEqual(ofThisCircuit(mark), { ...mark, value: null });
  assert.equal(ofThisCircuit({ ...mark, quality: "stale" }).value, 51.9);
  assert.equal(ofThisCircuit(null), null);
});

test("a pressure of another circuit says so, and is not as bold as one of this", () => {
  const reading = { name: "liquid_pressure", value: 309.2, decimals: 1, unit: "psig", plusMinus: 1.1, old: false };
  const size = { small: 16, pressure: 27 };
  const lines = (quality) =>
    pressureLines("high", { read: () => ({ ...reading, quality }), size, narrow: false, doubts: {} });
  const [, [, bold], [beside]] = lines("ok");
  assert.deepEqual([bold.fill, beside], ["var(--ink)", "± 1.1"]);
  const [, [, faint], [away]] = lines("elsewhere");
  assert.deepEqual([faint.fill, away], ["var(--muted)", "not of this circuit ± 1.1"]);
});

test("what has settled at an alarm is not marked as good", () => {
  assert.match(signOf("settled", false), /--good/);
  assert.doesNotMatch(signOf("settled", true), /--good/);
  assert.equal(signOf("unknown", false), "");
});

test("what stands after a full stop begins with a capital", () => {
  assert.equal(
    `Wait. ${sentenceCase("a moving window, after NIST SP 1087")}`,
    "Wait. A moving window, after NIST SP 1087",
  );
  assert.equal(sentenceCase(""), "");
});

test("the nameplate's target stands above the one by the table of now", () => {
  const plate = { value: 10, low: 7, high: 13 };
  const table = { value: 17, low: 12, high: 22 };
  assert.deepEqual(targetsNow(null, null), {});
  const about = /** @type {About} */ ({ limits: { targets: { subcooling: plate } } });
  const advice = /** @type {Advice} */ ({ targets: { subcooling: table, superheat: table } });
  assert.deepEqual(targetsNow(about, advice), { subcooling: plate, superheat: table });
  assert.deepEqual(targetsNow(about, { ...advice, heats: true }), {}); // none of them is made for heating
});

test("what was withdrawn is not corrected any more, nor is what is no amount", () => {
  const moved = { kind: "added", holds: "+2 oz" };
  assert.equal(isCorrectable(moved), true);
  assert.equal(isCorrectable({ ...moved, holds: "" }), false);
  assert.equal(isCorrectable({ ...moved, kind: "note" }), false);
});

test("folded, the cautions of a step still say what is worst, how many, and that the visit has its own", () => {
  const now = ["R-454B burns (A2L): ventilate throughout.", "Gloves and eye protection."];
  assert.equal(foldedText(now, ["a", "b"]), "R-454B burns (A2L) · 2 cautions at this step · 2 for the visit");
  assert.equal(foldedText(["Gloves and eye protection."], []), "1 caution at this step");
  assert.equal(foldedText([], ["a"]), "");
});
