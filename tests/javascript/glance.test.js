import assert from "node:assert/strict";
import { test } from "node:test";
import { word } from "../../dashboard/shared/browser/glance.js";

const ADVICE = /** @type {Advice} */ (/** @type {unknown} */ ({ word: "Wait" }));
const STANDS = /** @type {StopThatStands} */ (/** @type {unknown} */ ({ id: "1", by: "Ada" }));

test("the state's word is the advice's", () => {
  assert.equal(word({ advice: ADVICE, stands: null, silent: false }), "Wait");
  assert.equal(word({ advice: null, stands: null, silent: false }), "–");
});

test("what is old is no state", () => {
  assert.equal(word({ advice: ADVICE, stands: null, silent: true }), "No data");
});

test("a lead's stop stands above whatever is advised or not heard", () => {
  assert.equal(word({ advice: ADVICE, stands: STANDS, silent: false }), "Stop");
  assert.equal(word({ advice: ADVICE, stands: STANDS, silent: true }), "Stop");
});
