// What the unit is to be stopped for, above all else on the Visit page, and what is not offered under it.

const REFRIGERANT = "E"; // the group of checks that are made while it runs as it should

/**
 * Every reason to stop: each alarm with what to do; else what the advice says, where its state is to stop.
 * @param {Pick<Advice, "state" | "sentence" | "alarms"> | null} advice
 * @param {boolean} silent Whether the rig is not heard: then nothing is known of now.
 * @returns {string[]}
 */
export function stopsOf(advice, silent) {
  if (!advice || silent) return [];
  if (advice.alarms.length) return advice.alarms.map(({ stop, measured }) => `${stop} ${measured}`.trim());
  return advice.state === "stop" ? [advice.sentence] : [];
}

/**
 * The rows that may stand open: of refrigerant none while it is to stop, but for the one that a person opened.
 * @param {VisitRow[]} rows
 * @param {string} opened
 * @param {boolean} isToStop
 */
export const offered = (rows, opened, isToStop) =>
  isToStop ? rows.filter(({ id, group }) => group !== REFRIGERANT || id === opened) : rows;
