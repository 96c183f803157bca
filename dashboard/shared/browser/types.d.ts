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
  /** Only of a fixed orifice. */
  chart_air?: ChartAir;
}

/** By unit: the wet bulb inside, and the outdoor air; null where it is unknown. */
interface ChartAir {
  degF: [number | null, number | null];
  degC: [number | null, number | null];
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
  /** The one in view; empty where none was named. */
  circuit: string;
  simulated: boolean;
  played: boolean;
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
  looks: { says: string; body: Record<string, unknown>; said: { by: string; time: number } | null }[];
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
  /** The state as it is read from three metres. */
  word: string;
  to_move: "" | "added" | "recovered";
  heats: boolean;
  /** The maker's own charging chart, or more of it, would tell more. */
  to_chart: boolean;
  awaited: AwaitedTime | null;
  targets: Record<string, Band>;
  not_judged: string[];
  sentence: string;
  details: string[];
  in_the_open?: number;
  cautions: string[];
  cautions_once: string[];
  doubts: Record<string, string>;
  steadiness: Record<string, Steadiness>;
  alarms: Alarm[];
  /** What stands above all else beside them, such as a vacuum. */
  leads: string[];
  explanations: Cause[];
  judgement: { verdict: string; conditions: Condition[] } | null;
}

/** at: where it hangs on the trace. holds: the label with what the newest correction says it really was; empty where nothing was moved. */
interface MarkRow {
  id: string;
  kind: string;
  time: number;
  at: number;
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
  about?: number | null;
  /** Of a stop: what the lead says, alone. */
  stops?: string;
}

/** A charge that is left as it is, against what the judge asks for. */
interface ChargeLeft {
  says: string;
  by: string;
  time: number;
}

interface Marks {
  marks: MarkRow[];
  pending: PendingNote[];
  stands: StopThatStands | null;
  left: ChargeLeft | null;
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
  left_out: string[];
  not_understood?: string[];
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

/** What a key of the Visit page asks for. bare: with nothing of the fields; grades: the body says how values are known;
 * opens: a form of its own instead. */
interface VisitKey {
  says: string;
  ask: string;
  body: Record<string, any>;
  main: boolean;
  bare: boolean;
  /** Asks nothing, and leaves the card as it stands. */
  leaves: boolean;
  grades: boolean;
  only_for: string;
  /** Further bodies, each asked by itself after the one before was done. */
  besides: Record<string, any>[];
  opens: VisitCard | null;
  /** Asks nothing, and takes one more of what the card repeats, or one less; 0 for none of that. */
  adds: number;
  /** Asks nothing, and opens a form of the bottom edge, by its id. */
  shows: string;
  /** Once it is done, its form closes. */
  closes: boolean;
}

/** into: the part of the body that it is a line of, as a path; empty for the body itself. */
interface VisitField {
  name: string;
  /** Its name in the body. */
  to: string;
  label: string;
  kind: "choice" | "number" | "text" | "words" | "photographs" | "spot" | "signature" | "chart";
  into: string;
  options: [string, string][];
  unit: string;
  /** What a number is of; empty for one that the rig takes as it is written. */
  quantity: string;
  /** Whose live figures may be taken: names, with their words. */
  channels: [string, string][];
  value: string;
  hint: string;
  needed: boolean;
  optional: boolean;
  several: boolean;
  only: string;
  /** What one touch takes, with that of the card's other fields, once it was read: an option, words, or the first of
   * `days`; empty: it is answered by itself only. */
  usual: string;
  /** What is usual stands only beside a photograph that was taken for the card. */
  by_eye: boolean;
  /** What is usual is so only where this fact of the visit is; empty: always. */
  usual_when: string;
  /** What it is by what the visit knows already, by the fact that says so. */
  known_by?: Record<string, string>;
  /** Options that stand there only while a fact of the visit is so. */
  offered_when?: Record<string, string>;
  /** What is usual is so by what the rig knows, not only by custom. */
  is_known?: boolean;
  /** Of photographs: those that answer other fields of the card. */
  shots?: VisitShot[];
  /** In a form that a key opens: the field of the card before it with whose value it begins; empty: with its own. */
  like: string;
  /** So many options stand at first, and the others behind a key; 0 for all. */
  shown: number;
  /** Further paths of the body that take the same. */
  also: string[];
  /** Of a spot: what stands on the roof beside it. */
  drawing: VisitDrawing | null;
  /** Photographs that there are already. */
  had: string[];
  /** Options that count only beside a photograph that the card asks for. */
  photographed: string[];
  /** Options by which the check is not met. */
  fails?: string[];
  /** By the names of the card's other fields those of their values beside which it is asked for though optional; of none
   * of them, beside any. */
  needed_with?: Record<string, string[]>;
  /** It is asked for though optional where nothing stands in any of these. */
  needed_without?: string[];
  /** A fact of the visit while which no channel shows it. */
  not_while?: string;
  /** What the rig has of it already, in words: it is said, and not sent again. */
  held?: string;
  /** Figures or words to take by a touch, as they would be typed. */
  offers: string[];
  /** With what words these are offered, where it is not with their own. */
  says?: Record<string, string>;
  /** Of a date: so many days from today, likewise. */
  days: number[];
  /** It stands open although something is usual. */
  unfolded: boolean;
  /** The option that one touch says together with those of the card's other fields that have one; empty: none. */
  glance: string;
  /** What its one channel shows is the figure. */
  live: boolean;
  longest: number;
  /** Of a photograph: what it shows, or for what it is. */
  about: Record<string, string>;
  /** What to beware of as it is done, which no field before says. */
  cautions?: VisitCaution[];
}

/** A photograph that answers: by the names of fields their options, with those in words. */
interface VisitShot {
  word: string;
  label: string;
  answers: Record<string, string>;
  says: string;
  only: string;
}

interface VisitCard {
  id: string;
  /** The card by a key of which this one was opened. */
  of?: string;
  /** It goes on from what was found before, which still counts. */
  goes_on?: boolean;
  title: string;
  says: string[];
  icon: string;
  mood: string;
  time: number | null;
  by: string;
  apprentice: string;
  /** What folds out, its head first; nothing does where it is empty. */
  more?: string[];
  /** What is done, and when [s since 1970]. */
  times?: [string, number][];
  /** What was before, each table below a title that folds it. */
  tables?: VisitTable[];
  drawing?: VisitDrawing | null;
  repeats?: VisitRepeat | null;
  /** As the server sent it, of a card that was written out with all that it repeats. */
  plain?: VisitCard;
  cautions: VisitCaution[];
  once: string;
  cautions_once: string[];
  fields: VisitField[];
  keys: VisitKey[];
  /** Its main key may be touched for several such cards at once: nothing is to be chosen in it. */
  together: boolean;
}

/** What to beware of at a step. harm: its rank, 0 the worst. stands: it is never folded. */
interface VisitCaution {
  says: string;
  harm: number;
  stands: boolean;
}

/** A roof: spots are shares from its left and its upper edge. shape: its width by its depth. */
interface VisitDrawing {
  dots: { says: string; at: [number, number]; key: VisitKey | null; here: boolean }[];
  north: number | null;
  hatch: [number, number] | null;
  shape: number;
  /** What a place that is touched is called. */
  spot: string;
}

/** What a card asks for once or several times: `*` in a path is which, `*+2` two more; in a label its number. */
interface VisitRepeat {
  fields: VisitField[];
  at: number;
  sets: Record<string, string>;
  first: number;
  least: number;
  most: number;
}

/** A number is when something was [s since 1970], and is written as a day. */
interface VisitTable {
  title: string;
  head: string[];
  rows: (string | number)[][];
  time: number | null;
  open: boolean;
}

/** One check, of one part or circuit: what became of it. of: which; card: of the list of checks. */
interface VisitRow {
  id: string;
  card: string;
  group: string;
  place: string;
  title: string;
  of: string;
  body: Record<string, string>;
  /** The finding that an answer goes on from: what was entered still counts. Empty where it begins anew. */
  goes_on: string;
  outcome: string;
  icon: string;
  mood: string;
  said: string;
  grade: string;
  /** Why it came so, in either system of units; empty where no rule tells. */
  why: string[];
  /** What the HOLD key of a meter takes next, and what came of its last press, each in US and in SI units. */
  asks_now?: string[][];
  time: number | null;
  next: boolean;
  /** The facts ask for it. */
  asked: boolean;
  /** It is answered by a touch of its own, never together with others. */
  apart: boolean;
  /** At a panel, and no hand goes there for it: what makes that dead need not come before. */
  by_pen: boolean;
  /** With what its fields begin, by their names. */
  begins: Record<string, string>;
  /** By the name of a field: what the rig has of it already, in US and in SI units. */
  held?: Record<string, [string, string]>;
  /** What may be said by a touch now, by the names of its fields: what is kept, with the words of its key. */
  offers: Record<string, Record<string, string>>;
}

interface VisitStop {
  id: string;
  by: string;
  time: number;
  text: string;
}

/** A stop that was acknowledged, and for which no lead has said go on. unsaved: that the disk has not taken it. */
interface StopThatStands {
  id: string;
  by: string;
  time: number;
  unsaved: string;
}

/** A key of the bottom edge, and the cards that it opens. */
interface VisitForm {
  id: string;
  title: string;
  /** Else it stands behind another form's key, or an address. */
  in_bar: boolean;
  cards: VisitCard[];
}

interface VisitTold {
  visit: string;
  /** Nothing of it changes any more: it can be added to. */
  signed: boolean;
  circuit: string;
  who: string;
  since: number;
  stop: VisitStop | null;
  stands: StopThatStands | null;
  proposals: VisitCard[];
  talk: VisitCard[];
  /** What ends the visit, once it is handed over in words. */
  closing: VisitCard[];
  /** How the charge is left as it is, or that it was; none where nothing is asked of it. */
  leaving: VisitCard[];
  rows: VisitRow[];
  groups: [string, string][];
  facts: string[];
  forms: VisitForm[];
}

/** The checks, by their words; they change with the unit and not with the visit. */
interface VisitChecks {
  cards: Record<string, VisitCard>;
}

interface Window {
  Plotly?: typeof Plotly;
  dash_clientside?: { set_props?: (id: string, props: Record<string, unknown>) => void; page?: object };
}

declare const Plotly: {
  react(holder: HTMLElement, traces: object[], layout: object, config: object): void;
};
