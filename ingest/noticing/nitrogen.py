"""The standing pressure test: pressure that came into an empty circuit at rest, and stands, corrected for temperature.

A probe that is put on a circuit with refrigerant shows a rise as well: a pressure that is the refrigerant's own at the
temperature of the pipes is none of nitrogen.
"""

from collections.abc import Sequence
from typing import ClassVar

from calc.errors import CalcRangeError
from calc.nitrogen import Finding, NitrogenTest, nitrogen_test
from calc.quantities import Quantity
from calc.saturation import bubble_pressure, dew_pressure
from calc.sentences import Sentence, amount, figure, minutes
from ingest.noticing.motors import runs
from ingest.noticing.plateau import Band, Plateau
from ingest.noticing.sight import Seen, Sight
from ingest.wire.messages import ProposedFinding

PRESSURES = ("liquid_pressure", "suction_pressure")
PIPES = ("liquid_line_temperature", "suction_line_temperature")
EMPTY_PA = 50e3
"""Against the air, at most so much is in a circuit that nitrogen is put into (common practice, no source)."""
TEST_PA = 500e3
"""Against the air, at least so much is a test (common practice, no source)."""
SATURATED_SHARE = 0.12
"""So near its own saturation a pressure may be the refrigerant's: common practice, no source."""
RISES_WITHIN_S = 900.0
SOONEST_S, LONGEST_S, EVERY_S = 600.0, 1800.0, 30.0
STANDS = Band(share=0.01, least=5e3, hold_s=60.0)
_KINDS = {
    Finding.HELD: "noticed.nitrogen_held",
    Finding.LEAK: "noticed.nitrogen_leak",
    Finding.ROSE: "noticed.nitrogen_rose",
    Finding.CANNOT_TELL: "noticed.nitrogen_cannot_tell",
}


class NitrogenSeen:
    """Takes the start once the pressure stands, and tells once the test tells, or after half an hour what it cannot."""

    latency_s: ClassVar[float] = STANDS.hold_s + LONGEST_S + EVERY_S

    def __init__(self) -> None:
        self._stands = Plateau(STANDS)
        self._empty_s: float | None = None
        self._start: tuple[float, float, float, float] | None = None
        self._looked_s = 0.0
        self._is_told = False

    def take(self, sight: Sight) -> Sequence[Seen]:
        """Take the next sight."""
        pressure, pipe = _first(PRESSURES, sight), _first(PIPES, sight)
        gauge_pa = sight.gauge_pa(pressure)
        if gauge_pa is None or sight.value(pipe) is None:
            return ()
        if runs(sight) or gauge_pa < TEST_PA / 2:
            self._begin_anew(sight, gauge_pa)
            return ()
        if self._empty_s is None or self._is_told:
            return ()
        pressure_pa, pipe_k = gauge_pa + sight.known.barometric_pressure_pa, sight.value(pipe) or 0.0
        if self._start is None:
            stands = self._stands.take(pressure_pa if gauge_pa >= TEST_PA else None, sight.unit_s, sight.time_s)
            if sight.unit_s - self._empty_s > RISES_WITHIN_S or (
                stands and _is_refrigerant(pressure_pa, pipe_k, sight)
            ):
                self._empty_s = None
            elif stands:
                self._start = sight.unit_s, sight.time_s, pressure_pa, pipe_k
                self._looked_s = sight.unit_s
            return ()
        stood_s = sight.unit_s - self._start[0]
        if stood_s < SOONEST_S or sight.unit_s - self._looked_s < EVERY_S:
            return ()
        self._looked_s = sight.unit_s
        found = _judge(self._start, pressure_pa, pipe_k, sight.spread(pressure), sight.spread(pipe))
        if found.finding is Finding.CANNOT_TELL and stood_s < LONGEST_S:
            return ()
        self._is_told = True
        return (_told(self._start, pressure_pa, pipe_k, found, sight),)

    def _begin_anew(self, sight: Sight, gauge_pa: float) -> None:
        self._stands.clear()
        self._start, self._is_told = None, False
        if gauge_pa <= EMPTY_PA and not runs(sight):
            self._empty_s = sight.unit_s
        elif runs(sight):
            self._empty_s = None


def _first(names: Sequence[str], sight: Sight) -> str:
    return next((name for name in names if sight.value(name) is not None), names[0])


def _is_refrigerant(pressure_pa: float, pipe_k: float, sight: Sight) -> bool:
    """Tell whether this is about what the unit's refrigerant has at the temperature of its pipes."""
    refrigerant = sight.known.unit.refrigerant
    try:
        low_pa, high_pa = dew_pressure(refrigerant, pipe_k), bubble_pressure(refrigerant, pipe_k)
    except CalcRangeError:  # so hot or cold a pipe tells nothing of it
        return False
    return (1 - SATURATED_SHARE) * low_pa <= pressure_pa <= (1 + SATURATED_SHARE) * high_pa


def _judge(
    start: tuple[float, float, float, float], end_pa: float, end_k: float, pressure_su_pa: float, pipe_su_k: float
) -> NitrogenTest:
    _, _, start_pa, start_k = start
    return nitrogen_test(
        start_pa,
        end_pa,
        start_temperature_k=start_k,
        end_temperature_k=end_k,
        pressure_standard_uncertainty_pa=pressure_su_pa,
        temperature_standard_uncertainty_k=pipe_su_k,
    )


def _told(
    start: tuple[float, float, float, float], end_pa: float, end_k: float, found: NitrogenTest, sight: Sight
) -> Seen:
    start_s, from_s, start_pa, start_k = start
    pressure, pipe = _first(PRESSURES, sight), _first(PIPES, sight)
    values = {"nitrogen.start": start_pa, "nitrogen.end": end_pa, "pipe.start": start_k, "pipe.end": end_k}
    spreads = sight.spreads(nitrogen__start=pressure, nitrogen__end=pressure, pipe__start=pipe, pipe__end=pipe)
    parts = (
        minutes("stood", sight.unit_s - start_s),
        figure("expected", found.expected, Quantity.PRESSURE),
        amount("found", end_pa, Quantity.PRESSURE),
    )
    what = ProposedFinding(
        "opened",
        values={name: round(value, 3) for name, value in values.items()},
        standard_uncertainties=spreads,
        circuit=sight.known.circuit,
    )
    return Seen(what, from_s, sight.time_s, Sentence(_KINDS[found.finding], parts))
