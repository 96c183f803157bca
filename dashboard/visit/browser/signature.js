// A signature, drawn with a finger or a pen in a field three times as wide as high.

import { element } from "../../shared/browser/writing.js";
import { standsIn } from "./drafts.js";
import { goesOn, inField, kept, MOST_STROKES, strokesOf } from "./strokes.js";

const PEN = 2.5; // px

/**
 * @param {VisitField} field
 * @param {VisitCard} card
 * @param {import("./cards.js").Hands} hands
 */
export function signatureOf(field, card, hands) {
  const canvas = element("canvas", "signature-field");
  canvas.setAttribute("role", "img");
  const again = element("button", "button key", "Draw it anew");
  again.type = "button";
  again.dataset.key = `${card.id} ${field.name} anew`;
  const strokes = strokesOf(standsIn(field, hands.drafts.of(card.id).draft)[0] ?? "");
  const tell = () => {
    draw(canvas, strokes);
    again.hidden = !strokes.length;
    canvas.setAttribute("aria-label", `${field.label}: ${strokes.length ? "drawn" : "not drawn"}`);
  };
  const keep = () => hands.drafts.set(card.id, field.name, strokes.length ? [kept(strokes)] : []);
  const at = (/** @type {PointerEvent} */ { clientX, clientY }) => {
    const { left, top, width, height } = canvas.getBoundingClientRect();
    return inField((clientX - left) / width, (clientY - top) / height);
  };
  canvas.addEventListener("pointerdown", (event) => {
    if (!event.isPrimary || strokes.length >= MOST_STROKES) return;
    event.preventDefault();
    canvas.setPointerCapture(event.pointerId);
    strokes.push([]);
    goesOn(strokes, at(event));
    tell();
  });
  canvas.addEventListener("pointermove", (event) => {
    if (!canvas.hasPointerCapture(event.pointerId)) return;
    for (const each of event.getCoalescedEvents?.() ?? [event]) goesOn(strokes, at(each));
    tell();
  });
  for (const end of ["pointerup", "pointercancel"]) canvas.addEventListener(end, keep);
  again.addEventListener("click", () => {
    strokes.length = 0;
    keep();
    tell();
  });
  new ResizeObserver(tell).observe(canvas);
  tell();
  return element("div", "signature", canvas, again);
}

/**
 * @param {HTMLCanvasElement} canvas
 * @param {import("./strokes.js").Stroke[]} strokes
 */
function draw(canvas, strokes) {
  const pen = canvas.getContext("2d");
  if (!pen) return;
  const { clientWidth, clientHeight } = canvas;
  canvas.width = clientWidth * devicePixelRatio;
  canvas.height = clientHeight * devicePixelRatio;
  pen.scale(devicePixelRatio, devicePixelRatio);
  pen.strokeStyle = getComputedStyle(canvas).color;
  pen.lineWidth = PEN;
  pen.lineCap = "round";
  pen.lineJoin = "round";
  for (const [first, ...rest] of strokes) {
    if (!first) continue;
    pen.beginPath();
    pen.moveTo(first[0] * clientWidth, first[1] * clientHeight);
    for (const [x, y] of rest.length ? rest : [first]) pen.lineTo(x * clientWidth, y * clientHeight);
    pen.stroke();
  }
}
