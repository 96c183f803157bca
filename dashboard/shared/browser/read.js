// Which cautions a person has read on this visit, as this browser keeps it.

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
