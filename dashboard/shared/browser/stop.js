// A lead's stop fills the screen until the technician says that they have stopped. That it was shown is told at once.

import { newId, post } from "./asking.js";
import { clock, fill, place } from "./writing.js";

const AGAIN_AFTER_MS = 3000;
let shown = "";
let released = { id: "", ask: "", told: "" };

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

/**
 * The bar of a stop that was acknowledged: it lasts until a lead says go on, by the key that only they have in it.
 * @param {StopThatStands | null} stands
 * @param {typeof post} [send]
 */
export function writeStands(stands, send = post) {
  place("stands").hidden = !stands;
  if (!stands) return;
  const said = `${stands.by} asked to stop at ${clock(stands.time)}, and has not said go on. ${stands.unsaved}`.trim();
  if (released.id !== stands.id) released = { id: stands.id, ask: newId(), told: "" };
  fill("stands-text", `${said} ${released.told}`.trim());
  const key = /** @type {HTMLButtonElement | null} */ (document.getElementById("go-on"));
  if (!key) return;
  key.onclick = async () => {
    const mine = released; // the same id for every touch: recorded once
    const answer = await send("release", { id: mine.ask, fields: { of: stands.id } });
    mine.told = answer.ok ? "" : (answer.reason ?? "");
  };
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
