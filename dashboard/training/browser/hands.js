// The controls at a simulated unit: each key does what it says, and the bench tells how things then stand.

import { element, fill, find, place } from "../../shared/browser/writing.js";

/**
 * @param {Hands | null} hands
 * @param {About | null} about
 */
export function writeHands(hands, about) {
  const offer = find("hands-offer"); // only a technician has it
  if (!offer) return;
  offer.hidden = !about?.simulated || !hands;
  const holder = place("hands");
  const key = JSON.stringify(hands?.groups ?? []);
  fill("hands-refused", hands?.refused ? `Not done: ${hands.refused}.` : "");
  if (!hands || holder.dataset.shown === key) return;
  holder.dataset.shown = key;
  holder.replaceChildren(...hands.groups.flatMap(group));
}

/** @param {[string, Control[]]} told */
function group([title, controls]) {
  return [element("h3", "", title), element("dl", "hands", ...controls.flatMap(control))];
}

/** @param {Control} told */
function control({ name, stands, keys }) {
  const says = stands ? [name, element("span", "stands", stands)] : [name];
  return [element("dt", "", ...says), element("dd", "", ...keys.map(keyOf))];
}

/** @param {[string, object]} told */
function keyOf([says, act]) {
  const key = element("button", "button", says);
  key.type = "button";
  key.addEventListener("click", () => send(act));
  return key;
}

/** @param {object} act */
async function send(act) {
  try {
    const response = await fetch("/api/bench/act", {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(act),
    });
    const answer = await response.json();
    fill("hands-refused", answer.ok ? "" : `Not done: ${answer.reason}`);
  } catch (error) {
    console.warn("the bench was not reached", error);
    fill("hands-refused", "Not done: the page has lost its server. Touch it again once it is back.");
  }
}
