// A lead's stop, sent by one touch of the key beside the box for notes, and asked again until the rig has recorded it.

import { newId, post } from "../../shared/browser/asking.js";
import { tellOutcome } from "./outcome.js";

/**
 * @param {Pick<import("../../shared/browser/until_recorded.js").UntilRecorded, "begin" | "take">} untilRecorded
 * @param {() => string} visit
 * @param {typeof post} [send]
 */
export function stopsAtOnce(untilRecorded, visit, send = post) {
  let isSending = false;
  document.addEventListener("click", async ({ target }) => {
    const key = target instanceof Element ? target.closest("#stop-at-once") : null;
    if (!(key instanceof HTMLElement) || isSending) return;
    isSending = true; // whoever is in haste touches twice, and means one stop
    const body = { id: newId(), visit: visit(), fields: { text: key.dataset.says } };
    untilRecorded.begin("stop", body);
    try {
      const answer = await send("stop", body);
      const again = untilRecorded.take("stop", body, answer) ? " This page asks again until it is recorded." : "";
      tellOutcome(
        answer.ok ? "Recorded: Stop." : `The stop is not recorded: ${answer.reason ?? ""}${again}`,
        answer.ok,
      );
    } finally {
      isSending = false;
    }
  });
}
