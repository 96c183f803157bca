"""What a card of the Visit page is made of: what it says, fields to fill in, and keys that each ask the rig something.

A card knows its asks as data. The browser puts what stands in the fields into the body of the key that is touched, and
sends it; it knows no kind of card by name.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal, NamedTuple

from calc.cautions import Step, beware_at_steps, harm, stands_open
from calc.sentences import Sentence
from calc.units import Kind, System, to_display
from dashboard import words
from dashboard.display import Json
from dashboard.sentences import say
from ingest.wire.roles import Role
from ingest.wire.texts import LONGEST_TEXT

Option = tuple[str, str]
"""A value, and what it says."""


@dataclass(frozen=True, slots=True)
class Key:
    """Asks the rig for something. body: as `dashboard.asks.AskBody`. main: the one to touch, if all is well.

    besides: further bodies, each asked by itself once the one before was done.
    bare: takes nothing of the fields. leaves: asks nothing, and leaves the card as it stands. grades: the body says how
    its values are known. opens: a form of its own instead, for what needs a second touch; its keys take what was
    entered before along. only_for: of an ask that both roles may make, whose turn it is. adds: asks nothing, and takes
    one more of what the card repeats, or one less. shows: asks nothing, and opens a form of the bottom edge, by its id.
    closes: once it is done, nothing beside it in its form is to be touched: that closes.
    """

    says: str
    ask: str = ""
    body: Mapping[str, Any] = field(default_factory=dict)
    main: bool = False
    bare: bool = False
    leaves: bool = False
    grades: bool = False
    only_for: Role | Literal[""] = ""
    opens: "Card | None" = None
    shows: str = ""
    closes: bool = False
    besides: tuple[Mapping[str, Any], ...] = ()
    adds: int = 0


@dataclass(frozen=True, slots=True)
class Field:
    """Something to fill in. into: the part of the body that it is a line of, as a path; empty for the body itself.

    to: its name there, where that is another. unit: what a bare number counts as. quantity: of a number, a kind of
    `calc.units` or "number"; without, it goes as text. channels: whose live figures may be taken in place of typing.
    usual: what one touch takes, with that of the card's other fields, once it was read: an option, or words. by_eye: it
    is so only beside a photograph that the card asks for; without one a touch of its own answers it. usual_when: it is
    so only where this fact of the visit is. known_by: what it is by a fact of the visit. offered_when: options that
    stand there only while a fact of the visit is so. shots: of
    photographs, those that answer other fields of the card. unfolded: it stands open all the same. offers: figures or
    words to take by a touch. days: of a date, so many from today likewise, of which the first is usual where `usual`
    says "days". live: what its one channel shows is the figure. not_while: a fact of the visit while which no channel
    shows it.
    value: at first. like: of a form that a key opens: the field of the card
    before with whose value it begins. several: options that may be chosen together. only: a fact of the visit, without
    which it is not asked for. optional: it stands folded. about: of a photograph, what it shows or for what it is.
    glance: the option that one touch says together with those of the card's other fields that have one. step: whose
    cautions stand at it. shown: so many options stand at first, and the others behind a key; 0 for all. also:
    further paths of the body that take the same. drawing: of a spot, what stands on the roof beside it. had:
    photographs that there are already. photographed: options that count only beside a photograph that the card
    asks for. fails: options by which the check is not met. needed_with: by the names of the card's other fields those
    of their values beside which it is asked for though it is optional; of none of them, beside any. needed_without:
    likewise where nothing stands in these.
    """

    name: str
    label: str
    kind: Literal["choice", "number", "text", "words", "photographs", "spot", "signature", "chart"] = "text"
    into: str = "fields"
    options: tuple[Option, ...] = ()
    unit: str = ""
    quantity: str = ""
    channels: tuple[str, ...] = ()
    value: str = ""
    hint: str = ""
    needed: bool = False
    optional: bool = False
    several: bool = False
    to: str = ""
    only: str = ""
    usual: str = ""
    by_eye: bool = False
    usual_when: str = ""
    known_by: Mapping[str, str] = field(default_factory=dict)
    offered_when: Mapping[str, str] = field(default_factory=dict)
    shots: tuple["Answering", ...] = ()
    like: str = ""
    offers: tuple[str, ...] = ()
    days: tuple[int, ...] = ()
    unfolded: bool = False
    glance: str = ""
    live: bool = False
    not_while: str = ""
    longest: int = LONGEST_TEXT
    about: Mapping[str, str] = field(default_factory=dict)
    shown: int = 0
    also: tuple[str, ...] = ()
    drawing: "Drawing | None" = None
    had: tuple[str, ...] = ()
    step: Step | None = None
    photographed: tuple[str, ...] = ()
    fails: tuple[str, ...] = ()
    needed_with: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    needed_without: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Answering:
    """A photograph that answers. label: of what. answers: by the name of a field its option; says: those in words.

    only: a fact of the visit, without which it is not asked for.
    """

    word: str
    label: str
    answers: Mapping[str, str]
    says: str
    only: str = ""


@dataclass(frozen=True, slots=True)
class Repeat:
    """What a card asks for once or several times, such as of each circuit. fields: of one, behind `at` others.

    In the paths `*` stands for which it is, from 0, `*+2` for two more than that; in labels and values for its
    number, from 1. A field that is `like` something begins with what stands in the one before. sets: what is so of
    each besides, by its path; in it `*` is nothing of the first, and else its number. first: which the first is, as
    there may be some already. least, most: how many there may be.
    """

    fields: tuple[Field, ...]
    at: int
    sets: Mapping[str, str] = field(default_factory=dict)
    first: int = 0
    least: int = 1
    most: int = 12


@dataclass(frozen=True, slots=True)
class Dot:
    """A unit on the drawing of its roof. at: as shares. key: by which one goes there. here: the one at work."""

    says: str
    at: tuple[float, float]
    key: Key | None = None
    here: bool = False


@dataclass(frozen=True, slots=True)
class Drawing:
    """A roof: its frame is its edge. north_deg: clockwise from the upper edge. shape: width by depth; 1 if unknown.

    spot: what a place that is touched on it is called.
    """

    dots: tuple[Dot, ...] = ()
    north_deg: float | None = None
    hatch: tuple[float, float] | None = None
    shape: float = 1.0
    spot: str = ""


Cell = str | float
"""Of a table: a text, or when something was [s since 1970], which the browser writes as a day."""


@dataclass(frozen=True, slots=True)
class Table:
    """Rows that fold out below a title. time_s: a day before that, such as of a visit. is_open: unfolded at first."""

    title: str
    rows: tuple[tuple[Cell, ...], ...]
    head: tuple[str, ...] = ()
    time_s: float | None = None
    is_open: bool = False


@dataclass(frozen=True, slots=True)
class Card:
    """One thing to decide or to do. sign: an icon and a mood. time_s, by: when and whose, as it stands in its head.

    apprentice: the sentence with which somebody who learns is told why. more: what folds out, its head first.
    times: to be read aloud: what is done, and when [s since 1970]. tables: what was before. together: its main key may
    be touched for several such cards at once, each of which is read before: nothing is to be chosen in it, and no life
    hangs on it. drawing: of the roof. repeats: what it asks for several times. at_a_panel: what kills there stands
    open though it was read before.
    """

    id: str
    title: str
    says: tuple[str, ...] = ()
    sign: tuple[str, str] = ("", "")
    time_s: float | None = None
    by: str = ""
    steps: tuple[Step, ...] = ()
    apprentice: str = ""
    more: tuple[str, ...] = ()
    times: tuple[tuple[str, float], ...] = ()
    tables: tuple[Table, ...] = ()
    drawing: Drawing | None = None
    repeats: Repeat | None = None
    fields: tuple[Field, ...] = ()
    keys: tuple[Key, ...] = ()
    together: bool = False
    at_a_panel: bool = False


class InIt(NamedTuple):
    """What the unit holds. found: the safety class that the visit found; empty where nobody looked."""

    refrigerant: str | None
    found: str = ""


def laid_out(card: Card, it: InIt) -> Json:
    """Lay a card out for the browser, with what to beware of at its steps with what is in the unit.

    What stands above, or at a field before, is not said again.
    """
    above = beware_at_steps(it.refrigerant, card.steps, found=it.found).now
    steps = (*card.steps, *(each.step for each in card.fields if each.step is not None))
    once = [str(each) for each in beware_at_steps(it.refrigerant, steps, found=it.found).once]
    said = set(above)
    at_fields = []
    for each in card.fields:
        now = beware_at_steps(it.refrigerant, () if each.step is None else (each.step,), found=it.found).now
        at_fields.append([caution for caution in now if caution not in said])
        said |= set(now)
    return {
        "id": card.id,
        "title": card.title,
        "says": list(card.says),
        "icon": card.sign[0],
        "mood": card.sign[1],
        "time": card.time_s,
        "by": card.by,
        "apprentice": card.apprentice,
        "more": list(card.more),
        "times": [list(each) for each in card.times],
        "tables": [table_laid_out(each) for each in card.tables],
        "drawing": _drawing(card.drawing, it),
        "repeats": _repeat(card.repeats, it),
        "cautions": _cautions(above, card),
        "once": say("dialogs.whole_visit", count=len(once)) if once else "",
        "cautions_once": once,
        "fields": [
            {**_field(each, it), "cautions": _cautions(now, card)}
            for each, now in zip(card.fields, at_fields, strict=True)
        ],
        "keys": [_key(each, it) for each in card.keys],
        "together": card.together,
    }


def _cautions(now: Sequence[Sentence], card: Card) -> list[Json]:
    return [{"says": str(each), "harm": harm(each), "stands": card.at_a_panel and stands_open(each)} for each in now]


def table_laid_out(it: Table) -> Json:
    """Lay out what was before, below the title that folds it."""
    return {
        "title": it.title,
        "head": list(it.head),
        "rows": [list(row) for row in it.rows],
        "time": it.time_s,
        "open": it.is_open,
    }


def _key(it: Key, in_it: InIt) -> Json:
    return {
        "says": it.says,
        "ask": it.ask,
        "body": dict(it.body),
        "main": it.main,
        "bare": it.bare,
        "leaves": it.leaves,
        "grades": it.grades,
        "only_for": it.only_for,
        "besides": [dict(body) for body in it.besides],
        "opens": None if it.opens is None else laid_out(it.opens, in_it),
        "adds": it.adds,
        "shows": it.shows,
        "closes": it.closes,
    }


def _drawing(it: Drawing | None, in_it: InIt) -> Json | None:
    if it is None:
        return None
    dots = [
        {
            "says": dot.says,
            "at": list(dot.at),
            "key": _key(dot.key, in_it) if dot.key else None,
            "here": dot.here,
        }
        for dot in it.dots
    ]
    return {
        "dots": dots,
        "north": it.north_deg,
        "hatch": list(it.hatch) if it.hatch else None,
        "shape": it.shape,
        "spot": it.spot,
    }


def _repeat(it: Repeat | None, in_it: InIt) -> Json | None:
    if it is None:
        return None
    return {
        "fields": [_field(each, in_it) for each in it.fields],
        "at": it.at,
        "sets": dict(it.sets),
        "first": it.first,
        "least": it.least,
        "most": it.most,
    }


def _field(it: Field, in_it: InIt) -> Json:
    return {
        "name": it.name,
        "label": it.label,
        "kind": it.kind,
        "into": it.into,
        "options": [list(option) for option in it.options],
        "unit": it.unit,
        "quantity": it.quantity,
        "channels": [[name, words.channel(name)] for name in it.channels],
        "value": it.value,
        "hint": it.hint,
        "needed": it.needed,
        "optional": it.optional,
        "several": it.several,
        "only": it.only,
        "usual": it.usual,
        "by_eye": it.by_eye,
        "usual_when": it.usual_when,
        "known_by": dict(it.known_by),
        "offered_when": dict(it.offered_when),
        "shots": [_shot(each) for each in it.shots],
        "like": it.like,
        "offers": list(it.offers),
        "days": list(it.days),
        "unfolded": it.unfolded,
        "glance": it.glance,
        "live": it.live,
        "not_while": it.not_while,
        "to": it.to or it.name,
        "longest": it.longest,
        "about": dict(it.about),
        "shown": it.shown,
        "also": list(it.also),
        "drawing": _drawing(it.drawing, in_it),
        "had": list(it.had),
        "photographed": list(it.photographed),
        **({"fails": list(it.fails)} if it.fails else {}),
        "needed_with": {name: list(values) for name, values in it.needed_with.items()},
        "needed_without": list(it.needed_without),
    }


def _shot(it: Answering) -> Json:
    return {"word": it.word, "label": it.label, "answers": dict(it.answers), "says": it.says, "only": it.only}


@dataclass(frozen=True, slots=True)
class Form:
    """A key of the bottom edge, and the cards that it opens. in_bar: else another key opens it, or an address."""

    id: str
    title: str
    cards: tuple[Card, ...]
    in_bar: bool = True


def unit_of(kind: Kind, system: System) -> str:
    """Name the unit in which a bare number of a kind counts; a mass in ounces or grams, as a small one is shown.

    A share is asked for in percent, as labels have it; a bare number below 1 is still the share itself.
    """
    return "%" if kind == "ratio" else to_display(0.0, kind, system, barometric_pressure_pa=0.0)[1]
