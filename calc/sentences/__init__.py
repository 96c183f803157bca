"""Sentences as kinds with their figures, and how a language makes words of them.

Invariant: nothing outside this room writes a sentence of judging, and nothing at all reads one: what decides is the
kind and its figures. Another language is another `Language`, and no line of logic.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal, NamedTuple

from calc.estimate import Estimate
from calc.quantities import STANDARD_PRESSURE_PA, Quantity
from calc.units import System
from calc.wording import as_fine_as_known, limit, mass_between, mass_to_move, measured, percent, time_ahead
from calc.wording import mass as mass_in_words

What = Literal[
    "term",
    "text",
    "percent",
    "minutes",
    "seconds",
    "ahead",
    "count",
    "quantity",
    "reading",
    "mass",
    "masses",
    "weighed",
    "sentence",
    "sentences",
]
_OF_OTHERS = ("sentence", "sentences")
"""What is made of other sentences, once the parts before it are worded."""
_ROUNDING = 1e-6


@dataclass(frozen=True, slots=True)
class Part:
    """What fills one place of a sentence.

    Attributes:
        place: its name in the sentence.
        what: how it is worded. `term`: each of `terms` by the language; `text`: as it stands, such as the name of an
            instrument; `reading`: of any kind of `calc.units`, as fine as it is known; `mass`: to weigh out; `masses`:
            from `value` to `expanded`; `weighed`: a mass as a scale gave it; `sentence`: the kind of another one, whose
            parts stand beside it; `sentences`: several of them, one behind the other; the rest from `value`.
        value: the number, SI [unit of quantity; probability 0 to 1; seconds].
        expanded: what it may be off by, k = 2 [likewise]; None for a limit.
        quantity: of `quantity`: the name of a `Quantity`; of `reading`: a kind of unit, empty for a plain number.
        terms: keys of the language's terms, or the text itself.

    """

    place: str
    what: What
    value: float = 0.0
    expanded: float | None = None
    quantity: str = ""
    terms: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Sentence:
    """Something to say: its kind, which is a key of every language, and what fills its places."""

    kind: str
    parts: tuple[Part, ...] = ()

    def __str__(self) -> str:
        """Give it in English, in US units."""
        return say(self, "us")


class Language(NamedTuple):
    """What a language says: a pattern for each kind of sentence, a word for each term, and what joins terms."""

    sentences: Mapping[str, str]
    terms: Mapping[str, str]
    joint: str


def term(place: str, *keys: str) -> Part:
    """Fill a place with terms."""
    return Part(place, "term", terms=keys)


def text(place: str, as_it_stands: str) -> Part:
    """Fill a place with what has no translation: the name of an instrument, a source."""
    return Part(place, "text", terms=(as_it_stands,))


def within(place: str, *kinds: str) -> Part:
    """Fill a place with other sentences, one behind the other, each with a capital; their parts stand before it."""
    return Part(place, "sentences", terms=kinds)


def chance(place: str, probability: float) -> Part:
    """Fill a place with a probability, 0 to 1."""
    return Part(place, "percent", round(probability, 4))


def minutes(place: str, seconds: float) -> Part:
    """Fill a place with a time in whole minutes, given in seconds."""
    return Part(place, "minutes", seconds)


def seconds(place: str, duration_s: float) -> Part:
    """Fill a place with a time in whole seconds."""
    return Part(place, "seconds", duration_s)


def ahead(place: str, duration_s: float) -> Part:
    """Fill a place with how long a wait is, given in seconds: "in 4 min"."""
    return Part(place, "ahead", round(duration_s, 0))


def count(place: str, number: float) -> Part:
    """Fill a place with a number of things."""
    return Part(place, "count", number)


def figure(place: str, value: Estimate, quantity: Quantity) -> Part:
    """Fill a place with a value and what it may be off by."""
    return Part(place, "quantity", value.value, value.expanded(), quantity.name)


def reading(place: str, value: float, expanded: float | None, kind: str) -> Part:
    """Fill a place with a value of any kind of unit; expanded: what it may be off by, None for a limit [SI]."""
    return Part(place, "reading", value, expanded, kind)


def mass(place: str, mass_kg: float) -> Part:
    """Fill a place with a mass to weigh out, without its sign [kg]."""
    return Part(place, "mass", mass_kg, None, Quantity.MASS.name)


def masses(place: str, least_kg: float, most_kg: float) -> Part:
    """Fill a place with what a mass lies between, likewise."""
    return Part(place, "masses", least_kg, most_kg, Quantity.MASS.name)


def weighed(place: str, mass_kg: float) -> Part:
    """Fill a place with a mass that was moved, as the scale gave it, without its sign [kg]."""
    return Part(place, "weighed", mass_kg, None, Quantity.MASS.name)


def amount(place: str, value: float, quantity: Quantity) -> Part:
    """Fill a place with a value alone: a limit, or a mass to move, without its sign."""
    return Part(place, "quantity", value, None, quantity.name)


def say(
    sentence: Sentence,
    system: System,
    language: Language | None = None,
    barometric_pressure_pa: float = STANDARD_PRESSURE_PA,
) -> str:
    """Word a sentence in a language, English where none is named, with a capital.

    Each place has a twin that begins with a capital, for where a pattern needs one: `{figure}` and `{Figure}`.

    Args:
        sentence: its kind and its parts.
        system: of the units.
        language: of the words.
        barometric_pressure_pa: from which gauge pressures count [Pa].

    Raises:
        KeyError: the language does not know the kind, or a term: a table that a test holds complete is not.

    >>> acts, kinds = term("acts", "adding"), term("kinds", "floodback", "head pressure")
    >>> say(Sentence("headline.alarm", (acts, kinds)), "us")
    'Add nothing: floodback and head pressure.'

    """
    language = ENGLISH if language is None else language
    plain = [part for part in sentence.parts if part.what not in _OF_OTHERS]
    parts = {part.place: _word(part, system, language, barometric_pressure_pa) for part in plain}
    parts |= {place.capitalize(): _with_a_capital(word) for place, word in parts.items()}
    for part in sentence.parts:
        if part.what in _OF_OTHERS:
            said = [language.sentences[kind].format_map(parts) for kind in part.terms]
            parts[part.place] = said[0] if part.what == "sentence" else " ".join(map(_with_a_capital, said))
    return _with_a_capital(language.sentences[sentence.kind].format_map(parts))


def _with_a_capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _word(part: Part, system: System, language: Language, barometric_pressure_pa: float) -> str:
    match part.what:
        case "term":
            *first, last = (language.terms[key] for key in part.terms)
            return f"{', '.join(first)}{language.joint}{last}" if first else last
        case "text":
            return part.terms[0]
        case "percent":
            return percent(part.value)
        case "minutes":
            return f"{math.floor(part.value / 60 + _ROUNDING):.0f}"  # 14.9 of 15 min are not all of them
        case "ahead":
            unit, number = time_ahead(part.value)
            return language.sentences[f"ahead.{unit}"].format(number=number)
        case "seconds" | "count":
            return f"{part.value:.0f}"
        case "mass" | "masses" | "weighed":
            return _mass(part, system)
        case "reading":
            return as_fine_as_known(part.value, part.expanded, part.quantity, system, barometric_pressure_pa)
    quantity = Quantity[part.quantity]
    if part.expanded is None:
        return limit(part.value, quantity, system, barometric_pressure_pa)
    return measured(Estimate(part.value, part.expanded / 2), quantity, system, barometric_pressure_pa)


def _mass(part: Part, system: System) -> str:
    match part.what:
        case "mass":
            return mass_to_move(part.value, system)
        case "masses":
            return mass_between(part.value, part.expanded or part.value, system)
    return mass_in_words(part.value, system, weighed=True)


# The tables come last, since they are made of the names above.
from calc.sentences import english  # noqa: E402

ENGLISH = Language(MappingProxyType(english.SENTENCES), MappingProxyType(english.TERMS), english.JOINT)
