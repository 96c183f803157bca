"""Defrost of a heat pump's outdoor coil: when it begins, and when it ends.

Its control looks at the coil's temperature and at the clock. Figures are common practice, no source: 30, 60 or 90 min
of running with a cold coil, or a coil that has fallen further below the outdoor air than it was when clean; the end by
a warm coil, and after ten minutes whatever happens.
"""

from dataclasses import dataclass, replace

from simulators.unit.lag import lagged
from simulators.unit.limits import check_limits

LONGEST_S = 600.0
SENSOR_LAG_S = 15.0
"""How soon the sensor on the coil follows (common practice, no source)."""

CLEAN_AFTER_S = 420.0
"""When a coil, started or defrosted, shows how far a clean one is below the outdoor air."""


@dataclass(frozen=True, slots=True)
class TimedDefrost:
    """After so much running with a coil below its limit, counted since the last one."""

    interval_s: float = 3600.0

    def __post_init__(self) -> None:
        check_limits(self, {"interval_s": (600.0, 7200.0)})

    def is_due(self, state: "DefrostState", below_outdoor_dk: float) -> bool:  # noqa: ARG002 - it goes by the clock
        """Tell whether it is time."""
        return state.cold_s >= self.interval_s


@dataclass(frozen=True, slots=True)
class DemandDefrost:
    """When the coil has fallen this much further below the outdoor air than a clean one, and not too soon."""

    further_dk: float = 2.5
    least_s: float = 1800.0

    def __post_init__(self) -> None:
        check_limits(self, {"further_dk": (0.5, 10.0), "least_s": (300.0, 7200.0)})

    def is_due(self, state: "DefrostState", below_outdoor_dk: float) -> bool:
        """Tell whether frost shows."""
        return state.cold_s >= self.least_s and below_outdoor_dk > state.clean_dk + self.further_dk


Defrost = TimedDefrost | DemandDefrost


@dataclass(frozen=True, slots=True)
class DefrostLimits:
    """The coil's temperatures: below one its frost is counted with, and at the other it is clear [K]."""

    cold_k: float = 272.0
    clear_k: float = 291.0


@dataclass(frozen=True, slots=True)
class DefrostState:
    """cold: run with a cold coil since the last one. run: since the last, or the start. active: since it began [s]."""

    sensor_k: float
    cold_s: float = 0.0
    run_s: float = 0.0
    active_s: float = 0.0
    clean_dk: float = 1e3
    is_active: bool = False


def after(
    state: DefrostState, control: Defrost, limits: DefrostLimits, *, coil_k: float, outdoor_k: float, step_s: float
) -> DefrostState:
    """Look at the coil after this long of running in heating, or in a defrost."""
    sensor_k = lagged(state.sensor_k, coil_k, step_s / SENSOR_LAG_S)
    if state.is_active:
        if sensor_k >= limits.clear_k or state.active_s >= LONGEST_S:
            return DefrostState(sensor_k)
        return replace(state, sensor_k=sensor_k, active_s=state.active_s + step_s)
    run_s = state.run_s + step_s
    below_dk = outdoor_k - sensor_k
    shows_clean = state.run_s < CLEAN_AFTER_S <= run_s
    seen = replace(
        state,
        sensor_k=sensor_k,
        run_s=run_s,
        cold_s=state.cold_s + (step_s if sensor_k < limits.cold_k else 0.0),
        clean_dk=below_dk if shows_clean else state.clean_dk,
    )
    return replace(seen, is_active=sensor_k < limits.cold_k and control.is_due(seen, below_dk))
