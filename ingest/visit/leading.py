"""Where the page leads to now, of all that a visit asks for: by what the rig reads, which no mark holds."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from calc.mode import Mode
from ingest.visit.checklist import guided
from ingest.visit.leaks import LEAKS
from ingest.wire.checklist import Fact

_MAKING_DEAD, _CLOSING = "B", "F"
_A_MOVE = guided()["moving"].check.place
_RUNNING, _COOLING = frozenset({"air"}), frozenset({"readings_before"})
"""Checks that tell nothing while the compressor stands, and while it heats."""


@dataclass(frozen=True, slots=True)
class Now:
    """What the rig reads. runs: whether the compressor does; None where nothing tells.

    stops: an alarm stands, or the advice is to stop it. powered: a pair of the supply is live, or a motor draws: a
    delay timer may hold what runs next. charge_asked: the judge asks for refrigerant to be moved, or for a look before.
    way: which way to move it, if any; step_kg: how much of it at once, added above 0 [kg]. leaks_first: leaks are to be
    looked for before. both_pressed: the probes of both sides read more than the air presses there.
    """

    runs: bool | None = None
    mode: Mode = Mode.CANNOT_TELL
    stops: bool = False
    powered: bool = False
    charge_asked: bool = False
    way: Literal["add", "recover", ""] = ""
    both_pressed: bool = False
    step_kg: float | None = None
    leaks_first: bool = False

    @property
    def is_live(self) -> bool:
        """Whether it has power, by what the rig reads."""
        return self.runs is True or self.powered

    def facts(self) -> set[Fact]:
        """Name what is so of it as the wire has it."""
        so: Mapping[Fact, bool] = {
            "runs": self.runs is True,
            "cooling": self.mode is Mode.COOLING,
            "heating": self.mode is Mode.HEATING,
        }
        return {fact for fact, is_so in so.items() if is_so}


def led_to(asked: Sequence[str], dead_still_open: Sequence[str], now: Now) -> list[str]:
    """Put what is asked for in the order that holds now.

    While something asks for a stop, making dead comes first and nothing is closed; nor is it while the charge is asked
    for. Leaks are looked for before refrigerant is moved, where the judge asks for that. dead_still_open: what of
    making dead is open, whatever the visit asks for.
    """
    without = (_RUNNING if now.runs is False else frozenset()) | (_COOLING if now.mode is Mode.HEATING else frozenset())
    left = [word for word in asked if word not in without]
    places = {word: one.check.place for word, one in guided().items()}
    if now.leaks_first:
        left = [word for word in left if word != LEAKS]
        left.insert(next((at for at, word in enumerate(left) if places[word] >= _A_MOVE), len(left)), LEAKS)
    if not now.stops:
        return [word for word in left if not (now.charge_asked and places[word].startswith(_CLOSING))]
    first = [word for word in places if places[word].startswith(_MAKING_DEAD) and word in {*left, *dead_still_open}]
    return [*first, *(word for word in left if word not in first and not places[word].startswith(_CLOSING))]
