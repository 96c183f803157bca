// What the server's events and the history carry, as dashboard/display.py, journal.py, opinion.py and training.py lay it
// out; and what the scripts pass to each other. For the type checker alone: nothing of it reaches a browser.

type Plain = string | number | boolean | null;

/** Value, ±, age in seconds, quality, reason. */
type Sample = [number | null, number | null, number, string, string];

interface Frame {
  time: number;
  sequence: number | null;
  since: number;
  saved: boolean;
  unsaved: number;
  values: Record<string, Sample>;
}

interface QuantityAbout {
  label: string;
  unit: string;
  decimals: number;
}

interface Instrument {
  name: string;
  link: string;
  connected: boolean;
  state: string;
  reason: string;
  since: number;
  channels: string[];
}

interface Band {
  value: number;
  low: number;
  high: number;
}

interface Limits {
  targets: Record<string, Band>;
  compressor_current: number | null;
  condenser_fan_current: number | null;
  blower_current: number | null;
}

interface About {
  tag: string;
  visit: string;
  place: string;
  facts: string;
  simulated: boolean;
  speed: number;
  visit_started: number;
  quantities: Record<string, QuantityAbout>;
  instruments: Instrument[];
  limits: Limits;
}

interface Forecast {
  seconds: number;
  end: string;
  ahead: string;
  /** Seconds ahead, low, middle, high. */
  cone: [number, number, number, number][];
}

interface Steadiness {
  state: string;
  word: string;
  reason: string;
  value: number | null;
  plus_minus: number | null;
  slope: number | null;
  forecast: Forecast | null;
}

interface Alarm {
  stop: string;
  says: string;
  measured: string;
  source: string;
}

interface Cause {
  fault: string;
  chance: string;
  share: number;
  for: string[];
  against: string[];
  next: string;
  held_back: string;
}

interface Condition {
  name: string;
  mood: string;
  icon: string;
  state: string;
  measured: string;
  says: string;
  source: string;
}

/** done: how much of the time has passed, 0 to 1. */
interface AwaitedTime {
  what: string;
  ahead: string;
  seconds_left: number;
  done: number;
}

interface Advice {
  time: number;
  state: string;
  to_move: "" | "added" | "recovered";
  awaited: AwaitedTime | null;
  targets: Record<string, Band>;
  not_judged: string[];
  sentence: string;
  details: string[];
  cautions: string[];
  cautions_once: string[];
  doubts: Record<string, string>;
  steadiness: Record<string, Steadiness>;
  alarms: Alarm[];
  explanations: Cause[];
  judgement: { verdict: string; conditions: Condition[] } | null;
}

/** holds: the label with what the newest correction says it really was; empty where nothing was moved. */
interface MarkRow {
  id: string;
  kind: string;
  time: number;
  by: string;
  role: string;
  text: string;
  label: string;
  corrected: boolean;
  holds: string;
}

interface PendingNote {
  id: string;
  by: string;
  text: string;
  time: number;
}

interface Marks {
  marks: MarkRow[];
  pending: PendingNote[];
  totals: string;
}

interface Reveal {
  right: boolean;
  said: string;
  brief: string;
  rows: [string, string][];
  parts: [string, string][];
  reading: string;
  wrong_moves: string[];
}

interface Bench {
  title: string;
  story: string;
  open: boolean;
  reveal: Reveal | null;
}

/** What it says, and what it puts into an act. */
type HandsOption = [string, Record<string, any>];

interface HandsField {
  label: string;
  chosen: string;
  groups: [string, HandsOption[]][];
}

interface HandsControl {
  name: string;
  act: string;
  stands: string;
  refuses: string;
  fields: HandsField[];
  keys: [string, Record<string, any>][];
  /** Keys that take nothing of the fields. */
  bare: string[];
  reads: string[];
}

interface HandsPlace {
  name: string;
  title: string;
  stands: string;
  says: string[];
  cautions: string[];
  once: string;
  cautions_once: string[];
  controls: HandsControl[];
}

interface Hands {
  refused: string;
  refused_act: string;
  last: string;
  before: string[];
  places: HandsPlace[];
}

interface NotSaved {
  path?: string;
  reason?: string;
  cure?: string;
  since_s?: number;
}

interface Status {
  rig: string | null;
  state: string;
  broker: boolean;
  refused: number;
  another: boolean;
  not_saved: NotSaved | null;
}

interface PastColumn {
  low: (number | null)[];
  high: (number | null)[];
}

/** missing: from when until when packs are in the record that did not come here. */
interface Past {
  time: number | null;
  missing: [number, number][];
  times: (number | null)[];
  values: Record<string, PastColumn>;
}

/** One value with everything that the drawing of it needs to know. */
interface Reading extends QuantityAbout {
  name: string;
  value: number | null;
  plusMinus: number | null;
  quality: string;
  reason: string;
  age: number;
  old: boolean;
}

type Read = (name: string) => Reading | null;

interface Points {
  x: (number | null)[];
  y: (number | null)[];
}

interface Window {
  Plotly?: typeof Plotly;
  dash_clientside?: { set_props?: (id: string, props: Record<string, unknown>) => void; page?: object };
}

declare const Plotly: {
  react(holder: HTMLElement, traces: object[], layout: object, config: object): void;
};
