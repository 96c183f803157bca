// What a question in a dialog asks for, kept by a touch of its key: the amount is reviewed again then.

import { post } from "../../shared/browser/asking.js";

export function keepOffers() {
  document.addEventListener("click", async (event) => {
    const key = event.target instanceof Element ? event.target.closest("[data-finding]") : null;
    if (!(key instanceof HTMLButtonElement) || key.disabled) return;
    key.disabled = true;
    const { finding = "", then = "", told = "" } = key.dataset;
    const answer = await post("finding", JSON.parse(finding));
    key.disabled = false;
    if (answer.ok) document.getElementById(then)?.click();
    else tell(told, answer.reason ?? answer.question?.us ?? "");
  });
}

/**
 * @param {string} id
 * @param {string} text
 */
function tell(id, text) {
  window.dash_clientside?.set_props?.(id, { children: text });
}
