// A lead's stop, on either page: shown, told as seen, and acknowledged.

import assert from "node:assert/strict";
import { beforeEach, mock, test } from "node:test";
import { writeStands, writeStop } from "../../dashboard/shared/browser/stop.js";

const STOP = { id: "s1", by: "Robin", time: 1.7e9, text: "Hands off." };
const dialog = {
  open: false,
  showModal() {
    this.open = true;
  },
  close() {
    this.open = false;
  },
};
const key = {};
const places = { "stop-text": {}, "stop-by": {}, "stop-result": {}, stands: {}, "stands-text": {} };
const goOn = {};
/** @type {[string, Record<string, any>][]} */
let sent = [];
let reached = true;
const send = async (kind, body) => {
  sent.push([kind, body]);
  return reached ? { ok: true, status: 200 } : { ok: false, reason: "The broker is lost.", status: 503 };
};

globalThis.document = {
  getElementById: (id) => ({ stop: dialog, "stop-key": key, "go-on": goOn })[id] ?? null,
  querySelector: (query) => places[query.match(/"(.+)"/)[1]] ?? null,
};

beforeEach(() => {
  reached = true;
  writeStop(null, true, send);
  sent = [];
});

test("it stands over the page until the rig says that it was acknowledged, and is told as seen once", async () => {
  writeStop(STOP, true, send);
  writeStop(STOP, true, send);
  assert.equal(dialog.open, true);
  assert.equal(places["stop-text"].textContent, "Hands off.");
  assert.deepEqual(
    sent.map(([kind, { fields }]) => [kind, fields]),
    [["seen", { of: "s1" }]],
  );
  let prevented = false;
  dialog.oncancel({
    preventDefault: () => {
      prevented = true;
    },
  });
  assert.equal(prevented, true); // a key of the keyboard closes it no more than a touch beside it
  await key.onclick();
  await key.onclick();
  assert.equal(dialog.open, true);
  const [first, again] = sent.slice(1).map(([kind, body]) => [kind, body.of, body.id]);
  assert.deepEqual(first.slice(0, 2), ["acknowledge", "s1"]);
  assert.deepEqual(again, first); // touched twice, recorded once
  writeStop(null, true, send);
  assert.equal(dialog.open, false);
});

test("that it is not saved comes and goes while it stands", () => {
  writeStop({ ...STOP, text: "Hands off. NOT SAVED." }, true, send);
  writeStop(STOP, true, send);
  assert.equal(places["stop-text"].textContent, "Hands off.");
  assert.equal(sent.length, 1);
});

test("what did not arrive is said, and that it was seen is told again", async () => {
  mock.timers.enable({ apis: ["setTimeout"] });
  reached = false;
  writeStop(STOP, true, send);
  await key.onclick();
  assert.equal(places["stop-result"].textContent, "The broker is lost.");
  reached = true;
  mock.timers.tick(3000);
  writeStop(STOP, true, send);
  assert.deepEqual(
    sent.map(([kind]) => kind),
    ["seen", "acknowledge", "seen"],
  );
  mock.timers.reset();
});

test("a lead's own stop fills no screen of theirs", () => {
  writeStop(STOP, false, send);
  assert.deepEqual([dialog.open, sent], [false, []]);
});

test("a stop that was acknowledged stands in a bar until a lead says go on, which is sent once however often it is touched", async () => {
  const stands = { id: "s1", by: "Robin", time: 1.7e9, unsaved: "" };
  writeStands(stands, send);
  assert.equal(places.stands.hidden, false);
  assert.match(places["stands-text"].textContent, /^Robin asked to stop at .+, and has not said go on\.$/);
  reached = false;
  await goOn.onclick();
  writeStands({ ...stands }, send);
  assert.match(places["stands-text"].textContent, /The broker is lost\.$/);
  reached = true;
  await goOn.onclick();
  assert.deepEqual(sent[0], sent[1]);
  assert.deepEqual([sent[0][0], sent[0][1].fields], ["release", { of: "s1" }]);
  writeStands(null, send);
  assert.equal(places.stands.hidden, true);
});
