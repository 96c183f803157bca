// No key is touched by a finger that was meant for what stood there before: what a drawing has put elsewhere rests.

const RESTS_MS = 800; // a finger that is on its way down arrives sooner (common practice, no source)
const STAYS = 0.5; // of its height or width: so little moved, and a finger on its middle is on it still

/** @typedef {{ left: number, top: number, width: number, height: number }} Box */

const KEYS = "button, label.key"; // what only folds records nothing

// Which of these keys lie elsewhere than before, or are new there.
/**
 * @template Key
 * @param {Map<string, Box>} before By name.
 * @param {Map<string, { key: Key, box: Box }>} after
 * @returns {Key[]}
 */
export function moved(before, after) {
  return [...after].filter(([name, { box }]) => !isAt(before.get(name), box)).map(([, { key }]) => key);
}

/**
 * @param {Box | undefined} was
 * @param {Box} is
 */
const isAt = (was, is) =>
  was !== undefined &&
  Math.abs(was.left - is.left) <= STAYS * is.width &&
  Math.abs(was.top - is.top) <= STAYS * is.height;

// Draw, and let rest what that has moved. Of a first drawing nothing rests: nobody could aim at anything.
/**
 * @param {HTMLElement} holder
 * @param {() => void} drawing
 */
export function drawResting(holder, drawing) {
  const before = new Map([...keysIn(holder)].map(([name, { box }]) => [name, box]));
  drawing();
  if (before.size) for (const key of moved(before, keysIn(holder))) rest(key);
}

// The keys in view, by what they are: the card, what is written on them, and the how manieth of these.
/** @param {HTMLElement} holder */
function keysIn(holder) {
  /** @type {Map<string, { key: HTMLElement, box: Box }>} */
  const found = new Map();
  for (const key of /** @type {NodeListOf<HTMLElement>} */ (holder.querySelectorAll(KEYS))) {
    const box = key.getBoundingClientRect();
    if (!box.width || box.bottom < 0 || box.top > innerHeight) continue;
    const card = key.closest("[data-card]")?.getAttribute("data-card") ?? "";
    const name = `${card} ${key.dataset.key ?? key.textContent}`;
    let number = 0;
    while (found.has(`${name} ${number}`)) number += 1;
    found.set(`${name} ${number}`, { key, box });
  }
  return found;
}

/** @type {WeakMap<HTMLElement, ReturnType<typeof setTimeout>>} */
const resting = new WeakMap();

/** @param {HTMLElement} key */
function rest(key) {
  clearTimeout(resting.get(key));
  key.setAttribute("aria-disabled", "true");
  const ends = setTimeout(() => {
    key.removeAttribute("aria-disabled");
    resting.delete(key);
  }, RESTS_MS);
  resting.set(key, ends);
}

// A touch on a key that rests is nobody's. A key of the keyboard moves nothing under a finger: it counts.
/** @param {HTMLElement} holder */
export function refuseAtRest(holder) {
  holder.addEventListener(
    "click",
    (event) => {
      const key = event.target instanceof Element ? event.target.closest(KEYS) : null;
      if (!event.detail || !(key instanceof HTMLElement) || !resting.has(key)) return;
      event.preventDefault();
      event.stopPropagation();
    },
    { capture: true },
  );
}

// Whether a finger is down on something now: what it is about to keep stays as it was seen.
/**
 * @param {EventTarget} holder
 * @param {EventTarget} [whole] Where a finger may be lifted.
 */
export function heldBy(holder, whole = document) {
  let isDown = false;
  const lift = () => {
    setTimeout(() => {
      isDown = false; // after the click that follows
    }, 0);
  };
  holder.addEventListener("pointerdown", () => {
    isDown = true;
  });
  for (const end of ["pointerup", "pointercancel"]) whole.addEventListener(end, lift);
  return () => isDown;
}
