"""What the readings of a rig contradict each other in, for those who watch."""

from collections.abc import Mapping, Sequence

from calc.doubts.observed import Observed, Reference, Repetition
from calc.doubts.plausibility import doubts
from calc.estimate import Estimate
from ingest.advice.situation import fresh
from ingest.rig import ChannelSetup
from ingest.wire.messages import Doubt, Reading, UnitAbout

_RUNNING_SHARE = 0.15
_RUNNING_A = 1.0
"""Of its rated amps, or where the plate is silent: a crankcase heater takes less, any compressor more; no source."""

_WORKING_RATIO = 1.5
EQUALIZED_RATIO = 1.15
"""Liquid over suction pressure of a compressor that works, and of a unit at rest: common practice, no source."""

LASTING_S = 30.0
"""A contradiction that passes sooner comes from a start or from a hand on the probe: common practice, no source."""

_COMPRESSOR = ("compressor_current", "compressor_current_a", "compressor_current_b", "compressor_current_c")


class Doubts:
    """Keeps the doubts that last. speed: how much faster than life the unit runs; times here are the unit's own."""

    def __init__(self, speed: float = 1.0) -> None:
        self._speed = speed
        self._since_s: dict[Doubt, float] = {}

    def lasting(self, found: Sequence[Doubt], monotonic_s: float) -> list[Doubt]:
        """Take what was found at this moment; give what has been found for long enough."""
        time_s = monotonic_s * self._speed
        self._since_s = {doubt: self._since_s.get(doubt, time_s) for doubt in found}
        return [doubt for doubt, since_s in self._since_s.items() if time_s - since_s >= LASTING_S]


def find_doubts(
    readings: Mapping[str, Reading],
    setups: Sequence[ChannelSetup],
    repetitions: Mapping[str, Repetition],
    unit: UnitAbout,
    barometric_pressure_pa: float,
) -> list[Doubt]:
    """Look for contradictions among what is fresh and known."""
    known = {setup.name: estimate for setup in setups if (estimate := fresh(readings.get(setup.name)))}
    observed = Observed(
        refrigerant=unit.refrigerant,
        readings=known,
        barometric_pressure_pa=barometric_pressure_pa,
        running=is_running(known, unit),
        references={setup.name: reference for setup in setups if (reference := _reference(setup))},
        repetitions={name: run for name, run in repetitions.items() if name in known},
    )
    return [Doubt(it.channels, it.reason, it.fix, it.confidence, it.source) for it in doubts(observed)]


def is_running(known: Mapping[str, Estimate], unit: UnitAbout) -> bool | None:
    """Tell whether the compressor runs: by its amps, else by what it does to the pressures; None if neither tells."""
    amps = [known[name].value for name in _COMPRESSOR if name in known]
    if amps:
        return max(amps) > (_RUNNING_SHARE * unit.compressor_rla_a if unit.compressor_rla_a else _RUNNING_A)
    suction, liquid = known.get("suction_pressure"), known.get("liquid_pressure")
    if suction is None or liquid is None:
        return None
    if liquid.value > _WORKING_RATIO * suction.value:
        return True
    at_rest = liquid.value < EQUALIZED_RATIO * suction.value and suction.value < EQUALIZED_RATIO * liquid.value
    return False if at_rest else None


def _reference(setup: ChannelSetup) -> Reference | None:
    """Say what a pressure of the refrigerant is configured to count from."""
    return setup.reference if setup.reference and setup.name.split("_")[0] in ("suction", "liquid") else None
