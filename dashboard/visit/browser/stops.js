// What the unit is to be stopped for, above all else on the Visit page, and what is not offered under it.

const REFRIGERANT = "E"; // the group of checks that are made while it runs as it should

/**
 * What stands above all else: every reason to stop with what to do, else what the advice says where its state is to
 * stop; and what else it says that nobody starts the unit in, or stays at it in.
 * @param {Pick<Advice, "state" | "sentence" | "alarms" | "leads"> | null} advice
 * @param {boolean} silent Whether the rig is not heard: then nothing is known of now.
 * @returns {string[]}
 */
export function stopsOf(advice, silent) {
  if (!advice || silent) return [];
  const alarms = advice.alarms.map(({ stop, measured }) => `${stop} ${measured}`.trim());
  const stops = !alarms.length && advice.state === "stop" ? [advice.sentence] : alarms;
  return [...new Set([...stops, ...advice.leads])];
}

/**
 * Whether the unit is to stop, as far as the rig is heard.
 * @param {Pick<Advice, "state" | "alarms"> | null} advice
 * @param {boolean} silent
 */
export const isToStop = (advice, silent) =>
  !silent && advice !== null && (advice.alarms.length > 0 || advice.state === "stop");

/**
 * The rows that may stand open: of refrigerant none while it is to stop, but for the one that a person opened.
 * @param {VisitRow[]} rows
 * @param {string} opened
 * @param {boolean} stops
 */
export const offered = (rows, opened, stops) =>
  stops ? rows.filter(({ id, group }) => group !== REFRIGERANT || id === opened) : rows;
