// The controls at a simulated unit: which touch counts.

import assert from "node:assert/strict";
import { test } from "node:test";
import { isEcho } from "../../dashboard/training/browser/hands.js";

const open = { id: "power Disconnect", keys: "Open", at_ms: 1000 };

test("the second touch of a double one does not undo the first", () => {
  assert.equal(isEcho(open, { ...open, keys: "Close", at_ms: 1250 }), true);
});

test("a touch that follows later counts, so does one elsewhere, or on keys that are as they were", () => {
  assert.equal(isEcho(open, { ...open, keys: "Close", at_ms: 1700 }), false);
  assert.equal(isEcho(open, { ...open, id: "power Thermostat", keys: "Stop", at_ms: 1250 }), false);
  assert.equal(isEcho(open, { ...open, at_ms: 1250 }), false);
});
