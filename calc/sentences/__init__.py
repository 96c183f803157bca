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
from calc.quantities import Quantity
from calc.units import System
from calc.wording import limit, mass_between, mass_to_move, measured, percent, time_ahead
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
    "mass",
    "masses",
    "weighed",
    "sentence",
]
STANDARD_PRESSURE_PA = 101_325.0
_ROUNDING = 1e-6


@dataclass(frozen=True, slots=True)
class Part:
    """What fills one place of a sentence.

    Attributes:
        place: its name in the sentence.
        what: how it is worded. `term`: each of `terms` by the language; `text`: as it stands, such as the name of an
            instrument; `mass`: to weigh out; `masses`: from `value` to `expanded`; `weighed`: a mass as a scale gave
            it; `sentence`: the kind of another one, whose parts stand beside it; the rest from `value`.
        value: the number, SI [unit of quantity; probability 0 to 1; seconds].
        expanded: what it may be off by, k = 2 [likewise]; None for a limit.
        quantity: of `quantity`: the name of a `Quantity`.
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
    plain = [part for part in sentence.parts if part.what != "sentence"]
    parts = {part.place: _word(part, system, language, barometric_pressure_pa) for part in plain}
    parts |= {place.capitalize(): word[:1].upper() + word[1:] for place, word in parts.items()}
    within = {
        part.place: language.sentences[part.terms[0]].format_map(parts)
        for part in sentence.parts
        if part.what == "sentence"
    }
    parts |= within
    said = language.sentences[sentence.kind].format_map(parts)
    return said[:1].upper() + said[1:]


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
