// A stop is asked again under its id until the rig has recorded it.

import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { beforeEach, mock, test } from "node:test";
import { askUntilRecorded, UntilRecorded } from "../../dashboard/shared/browser/until_recorded.js";

const STOP = { id: "s1", visit: "v1", fields: { text: "Hands off." } };
const WAITS = { ok: false, waits: true, reason: "not saved: the disk is full", status: 409 };
const AWAY = { ok: false, reason: "The rig has not answered within 3 s.", status: 504 };
const REFUSED = { ok: false, reason: "a stop needs a text", status: 409 };
const RECORDED = { ok: true, status: 200 };
let now = 0;
/** @type {Map<string, string>} */
let kept = new Map();
/** @type {[string, any][]} */
let sent = [];
/** @type {any[]} */
let answers = [];
/** @type {[any, any][]} */
let ended = [];

const open = () =>
  new UntilRecorded(
    { getItem: (name) => kept.get(name) ?? null, setItem: (name, value) => kept.set(name, value) },
    (body, answer) => ended.push([body, answer]),
    async (kind, body) => {
      sent.push([kind, body]);
      return answers.shift() ?? AWAY;
    },
    () => now,
  );

const wait = async () => {
  now += 3000;
  mock.timers.tick(3000);
  await new Promise((resolve) => setImmediate(resolve));
};

beforeEach(() => {
  mock.timers.reset();
  mock.timers.enable({ apis: ["setTimeout"] });
  now = 0;
  kept = new Map();
  [sent, answers, ended] = [[], [], []];
});

test("what waits for the disk, or did not arrive, is asked again under its id until it is recorded", async () => {
  for (const first of [WAITS, AWAY, { ...AWAY, status: 0 }]) {
    [sent, ended] = [[], []];
    answers = [WAITS, AWAY, RECORDED];
    assert.equal(open().take("stop", STOP, first), true);
    for (const _ of answers.slice()) await wait();
    assert.deepEqual(sent, Array(3).fill(["stop", STOP]));
    assert.deepEqual(ended, [[STOP, RECORDED]]);
    await wait();
    assert.equal(sent.length, 3);
  }
});

test("a page that is opened anew goes on, whatever became of the one before", async () => {
  open().take("stop", STOP, WAITS);
  mock.timers.reset(); // as the page is closed
  mock.timers.enable({ apis: ["setTimeout"] });
  answers = [RECORDED];
  open();
  await wait();
  assert.deepEqual(ended, [[STOP, RECORDED]]);
});

test("a page that is left before the answer comes has kept it for the next; what a person takes back is not", async () => {
  open().begin("stop", STOP);
  mock.timers.reset();
  mock.timers.enable({ apis: ["setTimeout"] });
  answers = [RECORDED];
  open();
  await wait();
  assert.deepEqual([sent, ended], [[["stop", STOP]], [[STOP, RECORDED]]]);
  const asks = open();
  asks.begin("note", STOP);
  asks.begin("stop", STOP);
  assert.equal(asks.take("stop", STOP, null), false);
  assert.deepEqual(asks.open(), []);
});

test("every page that a lead may stand on goes on with a stop that was asked on another", async () => {
  for (const page of ["charge/browser/live.js", "visit/browser/visit.js", "watch/browser/watch.js"]) {
    const script = await readFile(new URL(`../../dashboard/${page}`, import.meta.url), "utf8");
    assert.match(script, /\baskUntilRecorded\(tellOutcome/, page);
  }
  const stored = { getItem: (name) => kept.get(name) ?? null, setItem: (name, value) => kept.set(name, value) };
  globalThis.localStorage = stored;
  globalThis.fetch = async (path, { body }) => {
    sent.push([path, JSON.parse(body)]);
    return {
      status: 200,
      headers: new Headers({ "content-type": "application/json" }),
      json: async () => ({ ok: true }),
    };
  };
  open().take("stop", STOP, WAITS);
  mock.timers.reset();
  mock.timers.enable({ apis: ["setTimeout"] });
  /** @type {[string, boolean][]} */
  const told = [];
  askUntilRecorded((text, ok) => told.push([text, ok]));
  await wait();
  await wait();
  assert.deepEqual(sent, [["/api/ask/stop", STOP]]);
  assert.deepEqual(told, [["Recorded: Stop.", true]]);
});

test("a stop goes to the rig at which it was asked, also from the page of another", async () => {
  open().take("stop", STOP, WAITS, "/rig/van-3/");
  mock.timers.reset();
  mock.timers.enable({ apis: ["setTimeout"] });
  /** @type {[string, any, string | undefined][]} */
  const to = [];
  const stored = { getItem: (name) => kept.get(name) ?? null, setItem: (name, value) => kept.set(name, value) };
  const send = async (kind, body, rig) => {
    to.push([kind, body.id, rig]);
    return WAITS;
  };
  new UntilRecorded(
    stored,
    () => {},
    send,
    () => now,
  );
  await wait();
  await wait();
  assert.deepEqual(to, Array(2).fill(["stop", "s1", "/rig/van-3/"]));
});

test("what is recorded or refused is asked no more, and nothing but a stop is", async () => {
  const asks = open();
  assert.equal(asks.take("stop", STOP, RECORDED), false);
  assert.equal(asks.take("stop", STOP, REFUSED), false);
  assert.equal(asks.take("note", STOP, AWAY), false);
  assert.equal(asks.take("stop", STOP, WAITS), true);
  answers = [REFUSED];
  await wait();
  await wait();
  assert.equal(sent.length, 1);
  assert.deepEqual(ended, [[STOP, REFUSED]]);
});

test("what did not reach the rig within ten minutes is given up and said; what waits there is not", async () => {
  open().take("stop", STOP, AWAY);
  for (let minute = 0; minute < 11; minute += 1) {
    now += 57_000;
    await wait();
  }
  assert.equal(ended.length, 1);
  assert.match(ended[0][1].reason, /did not reach the rig/);
  answers = Array(40).fill(WAITS);
  open().take("stop", { ...STOP, id: "s2" }, WAITS);
  for (let minute = 0; minute < 30; minute += 1) {
    now += 57_000;
    await wait();
  }
  assert.equal(ended.length, 1);
});
