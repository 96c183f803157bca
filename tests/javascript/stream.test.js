// How both pages listen to the server, and what they have heard; the stream itself is tried in a real browser.

import assert from "node:assert/strict";
import { createServer } from "node:http";
import { afterEach, beforeEach, mock, test } from "node:test";
import { answerTo } from "../../dashboard/shared/browser/asking.js";
import { isSilent, nothingHeard, readOf, since, takersInto } from "../../dashboard/shared/browser/heard.js";
import { openStream } from "../../dashboard/shared/browser/stream.js";

/** @type {Source[]} */
let opened = [];
let root = { status: 200 };
let reloads = 0;

// As HTML's EventSource behaves: what is lost it opens again by itself, what was refused it leaves closed.
class Source {
  static CLOSED = 2;
  constructor(address) {
    Object.assign(this, { address, readyState: 0, takers: new Map(), closed: false });
    opened.push(this);
  }
  addEventListener(kind, take) {
    this.takers.set(kind, take);
  }
  say(kind, data) {
    this.takers.get(kind)({ data: JSON.stringify(data) });
  }
  async fail(state) {
    this.readyState = state;
    await this.onerror();
  }
  close() {
    Object.assign(this, { readyState: Source.CLOSED, closed: true });
  }
}

globalThis.EventSource = Source;
globalThis.window = { location: { reload: () => reloads++ } };

beforeEach(() => {
  opened = [];
  reloads = 0;
  root = { status: 200 };
  mock.timers.enable({ apis: ["setTimeout"] });
  mock.method(globalThis, "fetch", async () => {
    if (!root) throw new TypeError("fetch failed");
    return root;
  });
});

afterEach(() => {
  mock.timers.reset();
  mock.restoreAll();
});

function listening() {
  const told = [];
  const stream = openStream(
    { units: "us", page: "charge" },
    { about: (data) => told.push(data.tag) },
    { heard: () => told.push("heard"), lost: () => told.push("lost") },
  );
  return { told, stream };
}

test("each event is taken before the page is told to draw, and what is lost comes back by itself", async () => {
  const { told } = listening();
  assert.equal(opened[0].address, "api/stream?units=us&page=charge");
  opened[0].say("about", { tag: "RTU-1" });
  await opened[0].fail(0);
  mock.timers.tick(10_000);
  assert.deepEqual(told, ["RTU-1", "heard", "lost"]);
  assert.equal(opened.length, 1);
});

test("a stream that the server refuses is asked for again, for as long as the page wants it", async () => {
  const { told, stream } = listening();
  for (const answer of [{ status: 200 }, null]) {
    root = answer; // a server without room for this page, and none at all
    await opened.at(-1).fail(Source.CLOSED);
    mock.timers.tick(2000);
  }
  assert.equal(opened.length, 3);
  opened[2].say("about", { tag: "RTU-2" });
  assert.deepEqual(told, ["lost", "lost", "RTU-2", "heard"]);
  stream.close();
  assert.equal(opened[2].closed, true);
  await opened[2].fail(Source.CLOSED);
  mock.timers.tick(10_000);
  assert.equal(opened.length, 3); // in other units the page has another
});

test("a page whose login has ended shows what its server says to that", async () => {
  listening();
  root = { status: 401 };
  await opened[0].fail(Source.CLOSED);
  mock.timers.tick(10_000);
  assert.deepEqual([reloads, opened.length], [1, 1]);
});

const QUANTITY = { label: "Suction pressure", unit: "psig", decimals: 1 };

test("a figure ages while nothing comes, by a clock that does not step, and is old after three seconds", () => {
  let now_ms = 50_000;
  mock.method(performance, "now", () => now_ms);
  const heard = nothingHeard();
  const take = takersInto(heard);
  assert.deepEqual([isSilent(heard), readOf(heard, "suction_pressure")], [true, null]);
  take.hello({});
  take.about({ quantities: { suction_pressure: QUANTITY } });
  take.frame({ time: 1.7e9, since: 0.5, saved: true, values: { suction_pressure: [118.2, 1, 0.25, "ok", ""] } });
  assert.equal(heard.link, "open");
  const { age, old, value, unit } = readOf(heard, "suction_pressure");
  assert.deepEqual([age, old, value, unit], [0.75, false, 118.2, "psig"]);
  now_ms += 2500;
  assert.deepEqual([readOf(heard, "suction_pressure").old, isSilent(heard)], [true, false]); // it was older already
  now_ms += 10;
  assert.deepEqual([isSilent(heard), readOf(heard, "no such thing")], [true, null]);
  take.frame({ time: 1.7e9, since: 0, saved: false, values: { suction_pressure: [118.2, 1, 0, "stale", ""] } });
  assert.deepEqual([isSilent(heard), readOf(heard, "suction_pressure").old], [false, true]);
  assert.deepEqual([since(heard.heardAt), since(heard.savedAt)], [0, 3.01]); // the newest is not saved
});

test("what a request came to is told alike for JSON, for plain words and for a server that is gone", async () => {
  mock.restoreAll();
  mock.timers.reset();
  mock.method(console, "warn", () => {});
  const server = createServer((request, response) => {
    const [status, type, body] = {
      "/json": [200, "application/json", '{"ok":true,"mark":{"id":"m1"}}'],
      "/words": [413, "text/plain; charset=utf-8", "too large"],
    }[request.url];
    response.writeHead(status, { "Content-Type": type, Connection: "close" }).end(body);
  });
  await new Promise((listens) => server.listen(0, "127.0.0.1", listens));
  const at = (path) => answerTo(fetch(`http://127.0.0.1:${port}${path}`), "Touch it again.");
  const { port } = server.address();
  assert.deepEqual(await at("/json"), { ok: true, mark: { id: "m1" }, status: 200 });
  assert.deepEqual(await at("/words"), { ok: false, reason: "too large", status: 413 });
  await new Promise((closed) => server.close(closed));
  assert.deepEqual(await at("/json"), {
    ok: false,
    reason: "The page has lost its server. Touch it again.",
    status: 0,
  });
});
