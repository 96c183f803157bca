"""All values of one moment, as a mark keeps them: with their ±, and what was in doubt or had not settled.

What is not of this unit or circuit, or of a while ago, is no value of this moment: it is left out, and that is said.
"""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from msgspec.structs import replace

from ingest.visit.deciding import Facts


class Moment(NamedTuple):
    """Figures by name, in the house's units; fields as in `ingest.wire.marks.ReadingTaken`."""

    figures: Mapping[str, float | None]
    standard_uncertainties: Mapping[str, float]
    in_doubt: Sequence[str]
    unsettled: Sequence[str]
    left_out: Mapping[str, str]


_NOT_OF_NOW = {"elsewhere": "it is elsewhere", "stale": "nothing new came from it"}
"""Qualities of a reading that is not of this moment and this place, and what is said where it gives no reason."""


def moment(facts: Facts) -> Moment:
    """Keep what the rig knows now."""
    left_out = {
        name: reading.reason or _NOT_OF_NOW[reading.quality]
        for name, reading in facts.readings.items()
        if reading.value is not None and reading.quality in _NOT_OF_NOW
    }
    readings = {
        name: replace(reading, value=None, standard_uncertainty=None) if name in left_out else reading
        for name, reading in facts.readings.items()
    }
    spreads = {name: _rounded(reading.standard_uncertainty) for name, reading in readings.items()}
    return Moment(
        figures={name: _rounded(reading.value) for name, reading in readings.items()},
        standard_uncertainties={name: spread for name, spread in spreads.items() if spread is not None},
        in_doubt=sorted(facts.in_doubt & readings.keys()),
        unsettled=sorted(facts.unsettled & readings.keys()),
        left_out=left_out,
    )


def _rounded(value: float | None) -> float | None:
    return None if value is None else float(f"{value:.7g}")
