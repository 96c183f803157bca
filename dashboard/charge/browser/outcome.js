// What came of a touch well is told for a while: the log keeps it, and the advice says what to wait for. What did not
// stays until the next touch.

const TOLD_MS = 15_000;
const OUTCOME = "outcome"; // as dashboard/ids.py has it

export function endOutcomes() {
  const outcome = document.getElementById(OUTCOME);
  if (!outcome) return;
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let ending;
  const told = new MutationObserver(() => {
    clearTimeout(ending);
    if (!outcome.querySelector(".outcome-good")) return;
    ending = setTimeout(() => window.dash_clientside?.set_props?.(OUTCOME, { children: null }), TOLD_MS);
  });
  told.observe(outcome, { childList: true, subtree: true, characterData: true });
}

// What the page itself has to tell of a request, where the server's callbacks tell of theirs.
/**
 * @param {string} text
 * @param {boolean} ok
 */
export function tellOutcome(text, ok) {
  const props = { children: text, className: ok ? "outcome-good" : "outcome-bad" };
  window.dash_clientside?.set_props?.(OUTCOME, {
    children: { namespace: "dash_html_components", type: "Span", props },
  });
}
