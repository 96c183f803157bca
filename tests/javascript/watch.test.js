// The rigs in the order in which they need a lead, and the small ruler's words.

import assert from "node:assert/strict";
import { test } from "node:test";
import { behindText, countText, inOrder } from "../../dashboard/watch/browser/cards.js";
import { gapText, smallRuler } from "../../dashboard/watch/browser/small_ruler.js";

const known = (rig, rank, since) => ({ card: { rig, rank, since }, behindAt: null });

test("who needs a lead first stands first, and of two alike who has waited longer", () => {
  const all = [known("a", 6, 5), known("b", 1, 200), known("c", 1, 100), known("d", 0, null), known("e", 1, null)];
  assert.deepEqual(
    inOrder(all).map(({ card }) => card.rig),
    ["d", "c", "b", "e", "a"],
  );
});

test("how many need somebody is told by number", () => {
  const count = (shown, heard, needy, left = 0) => countText({ shown, heard, needy, left });
  assert.equal(count(2, 2, 1), "2 rigs: 1 needs you now");
  assert.equal(count(2, 2, 2), "2 rigs: 2 need you now");
  assert.equal(count(1, 1, 0), "1 rig, none needs you now");
  assert.equal(count(300, 312, 4), "300 of 312 rigs shown: 4 need you now");
  assert.equal(count(0, 3, 0), "0 of 3 rigs shown, none needs you now");
  assert.equal(count(300, 1012, 0, 12), "300 of 1012 rigs shown, none needs you now; 12 more than this page keeps");
});

test("how far a rig is behind grows by itself", () => {
  assert.equal(behindText(null), "No figures yet");
  assert.equal(behindText(performance.now()), "< 1 s behind");
  assert.equal(behindText(performance.now() - 125_000), "2 min behind");
});

const RULER = {
  unit: "°F",
  values: {
    suction_dew_point: [40, null],
    suction_line_temperature: [52, null],
    liquid_line_temperature: [95, null],
    liquid_bubble_point: [105, null],
    superheat: [12, 0.5],
    subcooling: [10, null],
  },
  targets: { subcooling: 10 },
  steadiness: { superheat: "settling", subcooling: "settled" },
};

test("a gap is told with its figure, its ± and its target, and a tick where it has settled", () => {
  assert.equal(gapText(RULER, "low"), "Superheat 12.0 ± 0.5 °F");
  assert.equal(gapText(RULER, "high"), "Subcooling 10.0 °F of 10.0 ✓");
  assert.equal(gapText({ ...RULER, values: {} }, "low"), "Superheat –");
});

test("a gap and its ghost begin at the same mark, and end alike where the target is met", () => {
  const [red, ghost] = [...smallRuler(RULER, 312).matchAll(/M([\d.]+),[\d.]+ V[\d.]+ H([\d.]+)/g)];
  const ends = (found) => [found[1], found[2]].map(Number).sort((a, b) => a - b);
  assert.deepEqual(ends(red), ends(ghost));
  assert.doesNotMatch(smallRuler({ ...RULER, values: {} }, 312), /NaN|Infinity/);
});

test("what no instrument can have read is drawn by a few ticks, and never without end", () => {
  for (const size of [3e3, 1e12, 1e18, 1e300]) {
    const drawn = smallRuler({ ...RULER, values: { ...RULER.values, suction_line_temperature: [size, null] } }, 312);
    assert.ok((drawn.match(/<path/g) ?? []).length <= 260, String(size));
  }
});
