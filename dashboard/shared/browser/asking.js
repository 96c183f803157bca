// Asking the rig to record something. Where it asks back, its question is put to the person, and the same ask answers it.

/** @typedef {{ ok: boolean, mark?: any, says?: Wording, question?: Wording, reason?: string, waits?: boolean, status: number }} Answer */
/** @typedef {{ us: string, si: string }} Wording */

export const newId = () =>
  crypto.randomUUID?.().replaceAll("-", "") ?? `t${Date.now()}${Math.random()}`.replace(".", "");

// Send an ask. `confirm` puts a question to the person; without a yes nothing is recorded, and null comes back.
/**
 * @param {string} kind
 * @param {Record<string, unknown>} body
 * @param {(question: Wording) => Promise<boolean>} confirm
 * @param {typeof post} [send]
 * @returns {Promise<Answer | null>}
 */
export async function ask(kind, body, confirm, send = post) {
  const answer = await send(kind, body);
  if (answer.ok || !answer.question) return answer;
  if (!(await confirm(answer.question))) return null;
  return send(kind, { ...body, confirmed: true });
}

/**
 * @param {string} kind
 * @param {Record<string, unknown>} body
 */
export const post = (kind, body) => postTo(`/api/ask/${kind}`, body);

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

// Put a question in the page's own dialog; closing it in any other way than by yes is a no.
/**
 * @param {string} text
 * @returns {Promise<boolean>}
 */
export function putQuestion(text) {
  const dialog = /** @type {HTMLDialogElement} */ (document.getElementById("asking"));
  const question = /** @type {HTMLElement} */ (document.getElementById("asking-question"));
  question.textContent = text;
  dialog.returnValue = "";
  for (const [id, value] of [
    ["asking-yes", "yes"],
    ["asking-no", ""],
  ]) {
    const key = document.getElementById(id ?? "");
    if (key) key.onclick = () => dialog.close(value);
  }
  dialog.showModal();
  return new Promise((resolve) => {
    dialog.addEventListener("close", () => resolve(dialog.returnValue === "yes"), { once: true });
  });
}
