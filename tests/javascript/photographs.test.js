// How large a photograph is sent, and where to; what a canvas makes of it is tried in a real browser.

import assert from "node:assert/strict";
import { test } from "node:test";
import { address, fitted, LONGEST_SIDE } from "../../dashboard/shared/browser/photographs.js";

test("a photograph is sent no larger than the rig keeps it, and never made larger", () => {
  assert.equal(LONGEST_SIDE, 2000);
  const sizes = [
    [4000, 3000, 2000, 1500],
    [3000, 4000, 1500, 2000],
    [2000, 1200, 2000, 1200],
    [640, 480, 640, 480],
    [12000, 3, 2000, 1],
    [1, 9000, 1, 2000],
  ];
  for (const [width, height, kept, keptHigh] of sizes) {
    assert.deepEqual(fitted(width, height), { width: kept, height: keptHigh });
  }
});

test("what a photograph is of stands in its address, each sign as it was meant", () => {
  const sent = new URL(
    address({ id: "p1", check: "wiring_photograph", text: "50 % & more: übrig?", want: "" }),
    "http://rig",
  );
  assert.equal(sent.pathname, "/api/photograph");
  assert.deepEqual(Object.fromEntries(sent.searchParams), {
    id: "p1",
    check: "wiring_photograph",
    text: "50 % & more: übrig?",
  });
});
