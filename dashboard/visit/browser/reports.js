// Where the report of a visit is: its links, for the units and the time zone of who reads it, and what it is by now.

const PAPERS = /** @type {Record<string, string>} */ ({ us: "letter", si: "a4" });
const TOLD_MS = 8_000;

/**
 * @param {string} visit
 * @param {string} form
 * @param {string} units
 * @param {string} zone
 */
export function addressOf(visit, form, units, zone) {
  const asked = new URLSearchParams({ units, zone, paper: PAPERS[units] ?? "a4" });
  return `report/${encodeURIComponent(visit)}.${form}?${asked}`;
}

// Point the links at the visit that stands here. A touch of one says that the file is being made, while that goes on in
// a page of its own.
/**
 * @param {HTMLElement} panel
 * @param {{ visit: string, signed: boolean }} told
 * @param {string} units
 */
export function writeReports(panel, { visit, signed }, units) {
  const zone = Intl.DateTimeFormat().resolvedOptions().timeZone || "UTC";
  for (const link of panel.querySelectorAll("a")) link.href = addressOf(visit, link.dataset.form ?? "", units, zone);
  for (const says of /** @type {NodeListOf<HTMLElement>} */ (panel.querySelectorAll("[data-stands]"))) {
    says.hidden = (says.dataset.stands === "signed") !== signed;
  }
  panel.hidden = !visit;
}

/** @param {HTMLElement} panel */
export function startReports(panel) {
  const making = /** @type {HTMLElement | null} */ (panel.querySelector("[data-making]"));
  for (const link of panel.querySelectorAll("a")) {
    link.addEventListener("click", () => {
      if (!making) return;
      making.hidden = false;
      setTimeout(() => {
        making.hidden = true;
      }, TOLD_MS);
    });
  }
}
