// A lead's stop fills the screen until the technician says that they have stopped. That it was shown is told at once.

import { newId, post } from "./asking.js";
import { clock, fill } from "./writing.js";

const AGAIN_AFTER_MS = 3000;
let shown = "";

/**
 * @param {VisitStop | null} stop
 * @param {boolean} may Whether it is for whoever looks at this page: a lead's own fills no screen of theirs.
 * @param {typeof post} [send]
 */
export function writeStop(stop, may, send = post) {
  const dialog = /** @type {HTMLDialogElement} */ (document.getElementById("stop"));
  const key = /** @type {HTMLButtonElement} */ (document.getElementById("stop-key"));
  if (!stop || !may) {
    shown = "";
    if (dialog?.open) dialog.close();
    return;
  }
  fill("stop-text", stop.text); // anew, too: that it is not saved comes and goes
  if (shown === stop.id && dialog.open) return;
  const isNew = shown !== stop.id;
  shown = stop.id;
  fill("stop-by", `${stop.by}, ${clock(stop.time)}`);
  fill("stop-result", "");
  dialog.oncancel = (event) => event.preventDefault();
  const id = newId(); // the same for every touch: recorded once
  key.onclick = () => acknowledge(id, stop, send);
  if (!dialog.open) dialog.showModal();
  if (isNew) tellSeen(stop, send);
}

// It closes once the rig tells that it was acknowledged.
/**
 * @param {string} id
 * @param {VisitStop} stop
 * @param {typeof post} send
 */
async function acknowledge(id, stop, send) {
  const answer = await send("acknowledge", { id, of: stop.id });
  fill("stop-result", answer.ok ? "" : (answer.reason ?? ""));
}

// The lead waits to know that it was seen: what did not arrive is told again.
/**
 * @param {VisitStop} stop
 * @param {typeof post} send
 */
async function tellSeen(stop, send) {
  if ((await send("seen", { id: newId(), fields: { of: stop.id } })).ok) return;
  setTimeout(() => {
    if (shown === stop.id) shown = "";
  }, AGAIN_AFTER_MS);
}
