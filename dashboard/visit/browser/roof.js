// A roof, drawn so plainly that a thumb can make it: its edge, north, where one comes up, and the units by their tags.

import { element } from "../../shared/browser/writing.js";
import { standsIn } from "./drafts.js";

const STEPS = 20; // of a spot, along each edge
const MOVES = /** @type {Record<string, [number, number]>} */ ({
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
});

// Go by the nearest line of the grid: nobody touches finer than that in a glove.
/** @param {number} share */
export const snapped = (share) => Math.round(Math.min(Math.max(share, 0), 1) * STEPS) / STEPS;

/**
 * @param {VisitDrawing} drawing
 * @param {((key: VisitKey) => void) | null} touch What a touched unit opens; null where none is to be touched.
 */
export function roofOf({ dots, north, hatch, shape }, touch) {
  const made = element("div", "roof");
  made.style.aspectRatio = String(Math.min(Math.max(shape, 0.5), 2));
  if (north !== null) made.append(arrowOf(north));
  if (hatch) made.append(at(element("span", "roof-hatch", "Way up"), hatch));
  made.append(...dots.map((dot) => dotOf(dot, touch)));
  return made;
}

/**
 * @param {VisitDrawing["dots"][number]} dot
 * @param {((key: VisitKey) => void) | null} touch
 */
function dotOf({ says, at: spot, key, here }, touch) {
  if (!key || !touch) return at(element("span", `roof-dot${here ? " roof-here" : ""}`, says), spot);
  const made = element("button", "button roof-dot", says);
  made.type = "button";
  made.dataset.key = `roof ${says}`;
  made.addEventListener("click", () => touch(key));
  return at(made, spot);
}

/** @param {number} north */
function arrowOf(north) {
  const arrow = element("span", "roof-north", "N");
  arrow.style.rotate = `${north}deg`;
  arrow.setAttribute("aria-label", `North, ${north}° clockwise from the upper edge`);
  arrow.setAttribute("role", "img");
  return arrow;
}

// At an edge it is shifted inwards, so that all of its tag lies on the roof.
/**
 * @template {HTMLElement} Made
 * @param {Made} made
 * @param {[number, number]} spot
 */
function at(made, [x, y]) {
  made.style.left = `${100 * x}%`;
  made.style.top = `${100 * y}%`;
  made.style.transform = `translate(${-100 * x}%, ${-100 * y}%)`;
  return made;
}

// A spot on the roof: a touch puts it there, another one elsewhere; arrows move it.
/**
 * @param {VisitField} field
 * @param {VisitCard} card
 * @param {import("./cards.js").Hands} hands
 */
export function spotOf(field, card, hands) {
  const drawing = field.drawing ?? { dots: [], north: null, hatch: null, shape: 1, spot: field.label };
  const made = roofOf(drawing, null);
  made.classList.add("roof-spot");
  made.tabIndex = 0;
  made.setAttribute("role", "application");
  made.dataset.key = `${card.id} ${field.name}`;
  const dot = element("span", "roof-dot roof-here", drawing.spot);
  const tell = () => {
    const [x, y] = (standsIn(field, hands.drafts.of(card.id).draft)[0] ?? "").split(" ").map(Number);
    if (x === undefined || y === undefined) return;
    const percent = (/** @type {number} */ share) => `${Math.round(100 * share)} %`;
    made.setAttribute("aria-label", `${field.label}: ${percent(x)} from the left, ${percent(y)} down`);
    made.append(at(dot, [x, y]));
  };
  const set = (/** @type {number} */ x, /** @type {number} */ y) => {
    hands.drafts.set(card.id, field.name, [`${snapped(x)} ${snapped(y)}`]);
    tell();
  };
  made.setAttribute("aria-label", `${field.label}: touch where it is`);
  made.addEventListener("click", ({ clientX, clientY }) => {
    const { left, top, width, height } = made.getBoundingClientRect();
    set((clientX - left) / width, (clientY - top) / height);
  });
  made.addEventListener("keydown", (event) => {
    const move = MOVES[event.key];
    if (!move) return;
    event.preventDefault();
    const stands = (standsIn(field, hands.drafts.of(card.id).draft)[0] ?? "0.5 0.5").split(" ").map(Number);
    set((stands[0] ?? 0.5) + move[0] / STEPS, (stands[1] ?? 0.5) + move[1] / STEPS);
  });
  tell();
  return made;
}
