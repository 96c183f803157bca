// Which cautions a person has read on this visit, as this browser keeps it, and what the line over them says.

// Where the browser keeps what was read.
export const READ = "cautions-read";

// The texts that were read on a visit, from what the browser keeps; another visit starts unread.
/**
 * @param {string | undefined} visit
 * @param {string | null} kept
 * @returns {Set<string>}
 */
export function readOn(visit, kept) {
  const known = kept ? JSON.parse(kept) : null;
  return new Set(known && known.visit === visit ? known.texts : []);
}

/** @type {(cautions: string[], read: Set<string>) => string[]} */
export const unread = (cautions, read) => cautions.filter((text) => !read.has(text));

// What the browser keeps once these have been read, beside what was read on this visit before.
/**
 * @param {string | undefined} visit
 * @param {string | null} kept
 * @param {string[]} cautions
 */
export const keptOnceRead = (visit, kept, cautions) =>
  JSON.stringify({ visit, texts: [...new Set([...readOn(visit, kept), ...cautions])] });

// Unfolded while one of them has not been read.
/** @type {(cautions: string[], read: Set<string>) => boolean} */
export const standsOpen = (cautions, read) => unread(cautions, read).length > 0;

// What the line says over the cautions of the step; of none there is no line. more: some stand above it.
/** @type {(cautions: { length: number }, more?: boolean) => string} */
export const nowText = ({ length }, more = false) =>
  length ? `${length} ${more ? "more " : ""}caution${length === 1 ? "" : "s"} at this step` : "";
