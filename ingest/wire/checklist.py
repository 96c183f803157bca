"""The guided checks as a page shows them: what each asks for, when it is met, and what it rests on. They are data.

A value is named after its figure: `herm`, or `volts.a_b` where the figure is taken of several pairs, sections or legs.
Choices and texts are kept together, by their names.
"""

from collections.abc import Mapping, Sequence
from typing import Literal

import msgspec

Fact = Literal[
    "panel",
    "circuit",
    "dead_first",
    "cover_needed",
    "flammable",
    "single_phase",
    "three_phase",
    "phases_unknown",
    "capacitor_in_question",
    "capacitor_failed",
    "winding_in_question",
    "joint_in_question",
    "contactor_in_question",
    "part_failed",
    "cause_in_question",
    "touched_wires",
    "moving",
    "added",
    "recovered",
    "opened",
    "runs",
    "cooling",
    "heating",
    "first_visit",
    "on_throughout",
    "charge_asked",
    "lock_taken_off",
    "cover_closed",
    "cores_under_probes",
    "cover_as_found",
    "cover_was_off",
    "panel_dead",
    "runs_well",
]
"""What may be so of a visit, and makes it ask for a check; `ingest.visit.circumstances` says when each is.

That the compressor runs, or the unit cools or heats, is so at this moment, by what the rig reads, that nobody was here
before, as far as the record knows, and that it runs and was not isolated at this visit: these make what is usual so,
and ask for nothing. So do that power is back and runs it, and each lock of this visit was said to be off by who placed
it, that the panel was closed and no hand was in it since, that both probes are on the circuit in view, and that it
runs, was recorded to be as it was, nothing found stands not met, and nobody left the charge or said to stop. That its
cover was off at this visit, or not as far as anybody recorded, and that it is off and dead, each makes a photograph be
asked for. Likewise that the judge asks for refrigerant to be moved, or for a look before: nothing is closed meanwhile.
"""

Known = Literal["read", "from memory", "common practice", "computed"]
"""How a rule is known: read where its text says, recalled and to be verified, practice without a source, worked out."""


class Figure(msgspec.Struct, frozen=True, omit_defaults=True):
    """A number to take. quantity: a kind of `calc.units`, in SI on the wire; empty: a plain number.

    per: where it is taken, by the second part of the value's name, with a word for people; empty where it is one.
    channels: which show it, by that second part; under an empty name for all of them. only: asked for where this is so.
    accuracy, accuracy_share: the ± limit taken where neither a channel nor the person gives one [SI; of the value].
    offers: what is found most often, each to take by a touch in place of typing [SI]. live: its channel is of nothing
    else, so that what it shows as the check is recorded is the figure. Not so of a multimeter, whose leads may lie
    anywhere, nor of what was so at another moment. plate: it stands on a label: what is measured is known no worse for
    it, however that was read. needed_with: though it may be left out, the check cannot tell without it where a choice
    of these names is one of its options here, or where a figure of these names, with no options, was taken of the same
    thing; both, where it names both. one_at_least: likewise where it was taken of nothing yet. not_while: it is of
    another moment than one at which this is so, and no channel shows it then.
    """

    name: str
    label: str
    quantity: str = ""
    per: Mapping[str, str] = {}
    channels: Mapping[str, Sequence[str]] = {}
    only: Fact | Literal[""] = ""
    optional: bool = False
    accuracy: float = 0.0
    accuracy_share: float = 0.0
    offers: Sequence[float] = ()
    live: bool = False
    plate: bool = False
    needed_with: Mapping[str, Sequence[str]] = {}
    one_at_least: bool = False
    not_while: Fact | Literal[""] = ""


class Choice(msgspec.Struct, frozen=True, omit_defaults=True):
    """One of several to choose. options: by what is kept, with its words.

    usual: the option that one touch takes together with those of the check's other choices, where somebody looked and
    nothing was wrong: it is read in words before. Empty where the answer must be thought about, and is given by itself.
    usual_when: it is so only where this is: else nothing is taken that the rig reads otherwise. known_by: what it is by
    what the visit knows already, by the fact that says so: it is read before it is recorded, too. unfolded: its options
    stand open all the same, as it is often otherwise. glance: the option which one look finds together with those of
    the check's other choices that have one: a touch of its own, and only one, says all of them. No life hangs on it.
    photographed: options that count only beside a photograph, which is asked for with them. offered_when: options that
    are offered only where a fact is so. last: it is asked below all else, also texts and photographs, as it comes after
    them. needed_with: as of a figure. fails: options by which the check is not met, as its rules have it.
    """

    name: str
    label: str
    options: Mapping[str, str]
    only: Fact | Literal[""] = ""
    optional: bool = False
    usual: str = ""
    usual_when: Fact | Literal[""] = ""
    known_by: Mapping[Fact, str] = {}
    unfolded: bool = False
    glance: str = ""
    photographed: Sequence[str] = ()
    offered_when: Mapping[str, Fact] = {}
    last: bool = False
    needed_with: Mapping[str, Sequence[str]] = {}
    fails: Sequence[str] = ()


class Text(msgspec.Struct, frozen=True, omit_defaults=True):
    """Words to write, or to speak.

    offers: what is said most often, each to take by a touch in place of typing. days: of a date, so many from now,
    likewise. usual: the first of these is, as of a choice. unfolded: it is asked for openly, though it may be left out.
    """

    name: str
    label: str
    optional: bool = False
    offers: Sequence[str] = ()
    days: Sequence[int] = ()
    usual: bool = False
    unfolded: bool = False


class Shot(msgspec.Struct, frozen=True, omit_defaults=True):
    """A photograph that answers: what it is of, and what whoever takes it says by that, by the names of choices.

    word: by which the photograph names it. Only what a picture can show is answered so, and it is read before it is
    taken. only: asked for where this is so.
    """

    word: str
    label: str
    answers: Mapping[str, str]
    only: Fact | Literal[""] = ""


class Source(msgspec.Struct, frozen=True, omit_defaults=True):
    """What a rule rests on. text: where it was read, or which rule it is; known: how."""

    text: str
    known: Known


class Check(msgspec.Struct, frozen=True, omit_defaults=True):
    """One guided check. word: by which it is asked and recorded. place: in the order, which is advice, such as B2.

    of: what it is of, beside the unit. photographs: what of; shots: those of them that answer. met, not_met: when it
    is, in words. automatic: what the instruments tell by themselves; recogniser: which part of the rig proposes it.
    steps: of `calc.cautions`, whose cautions stand above it; steps_at: those of them that stand at a choice or a figure
    instead, as what is done first there, by its name. asked_when: what must be so, all of it. apart: where this is so,
    it is answered by a touch of its own, never together with others: hands or a life hang on it.
    """

    word: str
    place: str
    title: str
    met: str
    apprentice: str
    sources: Sequence[Source]
    of: Literal["part", "circuit", ""] = ""
    figures: Sequence[Figure] = ()
    choices: Sequence[Choice] = ()
    texts: Sequence[Text] = ()
    photographs: Sequence[str] = ()
    shots: Sequence[Shot] = ()
    not_met: str = ""
    automatic: str = ""
    recogniser: str = ""
    steps: Sequence[str] = ()
    steps_at: Mapping[str, str] = {}
    asked_when: Sequence[Fact] = ()
    apart: Fact | Literal[""] = ""


class Checklist(msgspec.Struct, frozen=True):
    """The checks of one group, in their order; retained on a topic of the group's letter."""

    group: str
    title: str
    checks: Sequence[Check]
