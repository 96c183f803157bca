// What must reach the rig, a lead's stop, is asked again under its id until the rig has recorded it: while it waits there
// for the disk, a rig that ends has lost it. Kept in the browser from before it is sent, so that whichever page is opened
// next goes on, of whichever rig that is: every page starts it.

import { post, rigHere } from "./asking.js";

/** @typedef {import("./asking.js").Answer} Answer */
/** @typedef {{ id: string } & Record<string, unknown>} Body */
/** @typedef {{ kind: string, body: Body, at: number, rig: string }} Open at: when it was asked, or the rig said that it waits [ms]; rig: which one, by its path. */

const STORE = "until-recorded";
const REPEATED = new Set(["stop"]);
const AGAIN_AFTER_MS = 3000;
const FORGOTTEN_AFTER_MS = 600_000; // what reaches the rig so much later is meant anew (common practice, no source)
const GIVEN_UP = "It did not reach the rig: ask again.";

/** @param {Answer} answer Whether it waits there, or the rig, or the page's server, was not reached. */
const isOpen = ({ ok, waits, status }) => !ok && (waits || status === 0 || status >= 500);

export class UntilRecorded {
  /**
   * @param {Pick<Storage, "getItem" | "setItem">} storage
   * @param {(body: Body, answer: Answer) => void} ended Told of what is recorded, refused, or given up.
   * @param {typeof post} [send]
   * @param {() => number} [now] [ms]
   */
  constructor(storage, ended, send = post, now = Date.now) {
    this.storage = storage;
    this.ended = ended;
    this.send = send;
    this.now = now;
    if (this.open().length) this.later();
  }

  // Keep what is about to be asked: a page that is left before the answer comes has not heard of it.
  /**
   * @param {string} kind
   * @param {Body} body
   * @param {string} [rig]
   */
  begin(kind, body, rig = rigHere()) {
    if (REPEATED.has(kind)) this.keep([...this.others(body), { kind, body, at: this.now(), rig }]);
  }

  // Take what was asked, with its answer, null where a person took it back; tells whether it is asked again from now on.
  /**
   * @param {string} kind
   * @param {Body} body
   * @param {Answer | null} answer
   * @param {string} [rig]
   */
  take(kind, body, answer, rig = rigHere()) {
    const again = REPEATED.has(kind) && answer !== null && isOpen(answer);
    if (again) this.begin(kind, body, rig);
    else this.keep(this.others(body));
    if (again) this.later();
    return again;
  }

  later() {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.again(), AGAIN_AFTER_MS);
  }

  async again() {
    for (const { kind, body, at, rig } of this.open()) {
      const answer = await this.send(kind, body, rig);
      if (answer.waits) this.take(kind, body, answer, rig);
      else if (!isOpen(answer)) this.end(body, answer);
      else if (this.now() - at > FORGOTTEN_AFTER_MS) this.end(body, { ...answer, reason: GIVEN_UP });
    }
    if (this.open().length) this.later();
  }

  /**
   * @param {Body} body
   * @param {Answer} answer
   */
  end(body, answer) {
    this.keep(this.others(body));
    this.ended(body, answer);
  }

  /** @param {Body} body */
  others(body) {
    return this.open().filter((it) => it.body.id !== body.id);
  }

  /** @returns {Open[]} */
  open() {
    return JSON.parse(this.storage.getItem(STORE) ?? "[]");
  }

  /** @param {Open[]} open */
  keep(open) {
    this.storage.setItem(STORE, JSON.stringify(open));
  }
}

// Go on with what is open, on whichever page: what became of it is told there.
/**
 * @param {(told: string, ok: boolean) => void} tell
 * @param {(id: string) => void} [answered]
 */
export const askUntilRecorded = (tell, answered = () => {}) =>
  new UntilRecorded(localStorage, ({ id }, { ok, reason = "" }) => {
    answered(id);
    tell(ok ? "Recorded: Stop." : `The stop is not recorded: ${reason}`, ok);
  });
