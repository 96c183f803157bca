"""All values of one moment, as a mark keeps them: with their ±, and what was in doubt or had not settled."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from ingest.visit.deciding import Facts


class Moment(NamedTuple):
    """Figures by name, in the house's units; fields as in `ingest.wire.marks.ReadingTaken`."""

    figures: Mapping[str, float | None]
    standard_uncertainties: Mapping[str, float]
    in_doubt: Sequence[str]
    unsettled: Sequence[str]


def moment(facts: Facts) -> Moment:
    """Keep what the rig knows now."""
    readings = facts.readings
    spreads = {name: _rounded(reading.standard_uncertainty) for name, reading in readings.items()}
    return Moment(
        figures={name: _rounded(reading.value) for name, reading in readings.items()},
        standard_uncertainties={name: spread for name, spread in spreads.items() if spread is not None},
        in_doubt=sorted(facts.in_doubt & readings.keys()),
        unsettled=sorted(facts.unsettled & readings.keys()),
    )


def _rounded(value: float | None) -> float | None:
    return None if value is None else float(f"{value:.7g}")
