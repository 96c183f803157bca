// Asking the rig to record something. Where it asks back, its question is put to the person, and the same ask answers it.

import { element } from "./writing.js";

/** @typedef {{ ok: boolean, mark?: any, says?: Wording, question?: Wording, asks?: string[], offers?: Offer[], reason?: string, waits?: boolean, status: number }} Answer */
/** @typedef {{ says: string, body?: Record<string, any> }} Offer What a question asks for, to be kept as a finding; without a body it is only told. */
/** @typedef {{ us: string, si: string }} Wording */

export const newId = () =>
  crypto.randomUUID?.().replaceAll("-", "") ?? `t${Date.now()}${Math.random()}`.replace(".", "");

// Send an ask. `confirm` puts a question to the person; without a yes nothing is recorded, and null comes back. A yes names
// what was asked: what came up meanwhile is put to them as well. What is offered instead is recorded first, and then the
// same is asked again: it may ask for something else.
/**
 * @param {string} kind
 * @param {Record<string, unknown>} body
 * @param {(question: Wording, offers: Offer[]) => Promise<boolean | Offer>} confirm
 * @param {typeof post} [send]
 * @returns {Promise<Answer | null>}
 */
export async function ask(kind, body, confirm, send = post) {
  const answer = await send(kind, body);
  if (answer.ok || !answer.question) return answer;
  const said = await confirm(answer.question, answer.offers ?? []);
  if (!said) return null;
  if (said === true) return ask(kind, { ...body, confirmed: true, confirms: answer.asks ?? [] }, confirm, send);
  const kept = await send("finding", { id: newId(), visit: body.visit, ...said.body });
  return kept.ok ? ask(kind, body, confirm, send) : { ...kept, reason: kept.reason ?? kept.question?.us ?? "" };
}

// Below which path the rig of this page is asked: a lead's pages are of many.
export const rigHere = () => (globalThis.document?.baseURI ? new URL(".", document.baseURI).pathname : "/");

/**
 * @param {string} kind
 * @param {Record<string, unknown>} body
 * @param {string} [rig]
 */
export const post = (kind, body, rig = rigHere()) => postTo(`${rig}api/ask/${kind}`, body);

/**
 * @param {string} path
 * @param {Record<string, unknown>} body
 */
export const postTo = (path, body) =>
  answerTo(
    fetch(path, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
    }),
    "Touch it again once it is back.",
  );

// What the page's server answers to a request; where it is not reached, that is the answer, with what to do then.
/**
 * @param {Promise<Response>} request
 * @param {string} then
 * @returns {Promise<Answer>}
 */
export async function answerTo(request, then) {
  try {
    const response = await request;
    const type = response.headers.get("content-type") ?? "";
    const told = type.startsWith("application/json")
      ? await response.json()
      : { ok: false, reason: await response.text() };
    return { ...told, status: response.status };
  } catch (error) {
    console.warn("the page's server was not reached", error);
    return { ok: false, reason: `The page has lost its server. ${then}`, status: 0 };
  }
}

// Put a question in the page's own dialog; closing it in any other way than by yes, or by what is offered, is a no.
/**
 * @param {string} text
 * @param {Offer[]} [offers]
 * @returns {Promise<boolean | Offer>}
 */
export function putQuestion(text, offers = []) {
  const dialog = /** @type {HTMLDialogElement} */ (document.getElementById("asking"));
  const question = /** @type {HTMLElement} */ (document.getElementById("asking-question"));
  question.textContent = text;
  dialog.returnValue = "";
  const keys = offers.map(({ says, body }, index) => {
    if (!body) return element("p", "", says);
    const key = element("button", "button key-long", says);
    key.type = "button";
    key.addEventListener("click", () => dialog.close(String(index)));
    return key;
  });
  document.getElementById("asking-offers")?.replaceChildren(...keys);
  for (const [id, value] of [
    ["asking-yes", "yes"],
    ["asking-no", ""],
  ]) {
    const key = document.getElementById(id ?? "");
    if (key) key.onclick = () => dialog.close(value);
  }
  dialog.showModal();
  return new Promise((resolve) => {
    const said = () => (dialog.returnValue === "yes" ? true : (offers[Number(dialog.returnValue || "none")] ?? false));
    dialog.addEventListener("close", () => resolve(said()), { once: true });
  });
}
