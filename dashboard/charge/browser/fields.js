// A field that is filled in already is written over, not written on: 2 oz must not become 12 oz.

const AMOUNT = ".amount-row input";

/** @param {EventTarget | null} target */
const amountOf = (target) => (target instanceof HTMLInputElement && target.matches(AMOUNT) ? target : null);

// Select what stands in an amount when it is entered, by key or by touch. A second touch sets the cursor, as ever.
export function selectOnEntering() {
  /** @type {HTMLInputElement | null} */
  let entered = null;
  document.addEventListener("focusin", (event) => {
    entered = amountOf(event.target);
    entered?.select();
  });
  document.addEventListener("click", (event) => {
    if (entered === event.target) entered?.select(); // some browsers let the touch that entered it set the cursor
    entered = null;
  });
  document.addEventListener("input", () => {
    entered = null;
  });
}
