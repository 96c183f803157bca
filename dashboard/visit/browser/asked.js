// The ids of what was asked and is not answered yet, kept in the browser: a page that was closed in between asks again
// under the same id, so that what the rig has recorded meanwhile is recorded once.

import { newId } from "../../shared/browser/asking.js";

const STORE = "visit-asked";
const KEPT = 20; // asks; the oldest go first
const FORGOTTEN_AFTER_MS = 600_000; // what is asked so much later is meant anew (common practice, no source)

export class Asked {
  /**
   * @param {Pick<Storage, "getItem" | "setItem">} storage
   * @param {() => number} [now] [ms]
   */
  constructor(storage, now = Date.now) {
    this.storage = storage;
    this.now = now;
  }

  // The id of an ask: that under which it was sent and not answered, else a new one.
  /**
   * @param {string} visit
   * @param {string} kind
   * @param {Record<string, unknown>} body
   * @returns {string}
   */
  idOf(visit, kind, body) {
    const what = JSON.stringify([visit, kind, body]);
    const open = this.open().filter(([, , at]) => this.now() - at < FORGOTTEN_AFTER_MS);
    const id = open.find(([known]) => known === what)?.[1] ?? newId();
    this.keep([...open.filter(([known]) => known !== what), [what, id, this.now()]]);
    return id;
  }

  /** @param {string} id */
  answered(id) {
    this.keep(this.open().filter(([, known]) => known !== id));
  }

  /** @returns {[string, string, number][]} What was asked, its id, and when. */
  open() {
    return JSON.parse(this.storage.getItem(STORE) ?? "[]");
  }

  /** @param {[string, string, number][]} open */
  keep(open) {
    this.storage.setItem(STORE, JSON.stringify(open.slice(-KEPT)));
  }
}
