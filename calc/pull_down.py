"""How long a vacuum pump takes at least: its speed, what it ends at, and the hose between.

Only of air in a dry and tight circuit. Water, oil and leaks take longer, often much: the gauge tells when it is done,
and the rise test (calc.vacuum) whether it is dry and tight.
"""

import math
from dataclasses import dataclass

from calc.elementwise import takes_arrays, within
from calc.quantities import STANDARD_PRESSURE_PA

_HIGHEST_PA = 110e3
_VISCOUS = 1350.0
_MOLECULAR = 121.0
"""Of a long round tube with air of 20 °C: 135 d⁴ p / l, 12.1 d³ / l in l/s, cm and mbar (vacuum handbooks); in SI."""
_STEPS = 200


@dataclass(frozen=True, slots=True)
class PullDown:
    """The least time [s], that of the pump without a hose [s], and the hose's conductance at the end [m³/s]."""

    time_s: float
    pump_alone_s: float
    end_conductance_m3_per_s: float


def hose_conductance(bore_m: float, length_m: float, *, mean_pressure_pa: float) -> float:
    """Compute how much air a long hose lets through, per difference of pressure.

    Viscous and molecular flow added, as vacuum handbooks do between the two: 135 d⁴ p / l + 12.1 d³ / l in l/s, cm and
    mbar. Fittings, cores and depressors take more: a core left in costs most of it (common practice, no source).

    Args:
        bore_m: inside diameter, 1 to 100 mm [m].
        length_m: 0.05 to 100 [m].
        mean_pressure_pa: of both ends, absolute, 0 to 110 kPa [Pa].

    Returns:
        The conductance [m³/s].

    Raises:
        CalcRangeError: beyond these limits.

    >>> round(1000 * hose_conductance(0.05, 1.0, mean_pressure_pa=0.0), 1)  # 15.1 l/s in print: 5 cm, 1 m
    15.1

    """
    within("bore_m", bore_m, 1e-3, 0.1, "m")
    within("length_m", length_m, 0.05, 100.0, "m")
    within("mean_pressure_pa", mean_pressure_pa, 0.0, _HIGHEST_PA, "Pa")
    return (_VISCOUS * bore_m * mean_pressure_pa + _MOLECULAR) * bore_m**3 / length_m


@takes_arrays
def pull_down(
    volume_m3: float,
    pump_m3_per_s: float,
    *,
    end_pressure_pa: float,
    ultimate_pressure_pa: float,
    start_pressure_pa: float = STANDARD_PRESSURE_PA,
    bore_m: float | None = None,
    length_m: float = 1.5,
) -> PullDown:
    """Compute how long a pump takes at least to bring dry air in a volume down to a pressure.

    Without a hose V / S ln((p1 - pu) / (p2 - pu)). With one its conductance changes on the way, so V dp / Q is summed
    up over the way, where the hose lets through what the pump takes: Q = C (p - pi) = S (pi - pu).

    Args:
        volume_m3: of the circuit, above 0 to 100 [m³].
        pump_m3_per_s: the pump's speed, above 0 to 1 [m³/s].
        end_pressure_pa: absolute, above the ultimate pressure [Pa].
        ultimate_pressure_pa: what the pump ends at, as a gauge shows it on the pump alone, from 0 [Pa].
        start_pressure_pa: absolute, from the end pressure up to 110 kPa [Pa].
        bore_m: of the hose, 1 to 100 mm; None for a pump right at the circuit [m].
        length_m: of the hose, 0.05 to 100 [m].

    Raises:
        CalcRangeError: beyond these limits: the pump alone does not get so low.

    >>> found = pull_down(0.05, 0.001, end_pressure_pa=100.0, ultimate_pressure_pa=0.0, start_pressure_pa=100e3)
    >>> round(found.time_s)  # by the formula: 50 s times ln 1000
    345

    """
    within("volume_m3", volume_m3, 1e-6, 100.0, "m3")
    within("pump_m3_per_s", pump_m3_per_s, 1e-6, 1.0, "m3/s")
    within("start_pressure_pa", start_pressure_pa, 1e-3, _HIGHEST_PA, "Pa")
    within("ultimate_pressure_pa", ultimate_pressure_pa, 0.0, _HIGHEST_PA, "Pa")
    least_pa = ultimate_pressure_pa * (1 + 1e-6) + 1e-3
    because = "the pump alone does not get so low: ask for more than its ultimate pressure"
    within("end_pressure_pa", end_pressure_pa, least_pa, start_pressure_pa, "Pa", because)
    ratio = (start_pressure_pa - ultimate_pressure_pa) / (end_pressure_pa - ultimate_pressure_pa)
    alone_s = volume_m3 / pump_m3_per_s * math.log(ratio)
    if bore_m is None:
        return PullDown(alone_s, alone_s, math.inf)
    pump = _Pump(pump_m3_per_s, ultimate_pressure_pa, bore_m, length_m)
    step = math.log(ratio) / _STEPS
    above_pa = [(end_pressure_pa - ultimate_pressure_pa) * math.exp(step * index) for index in range(_STEPS + 1)]
    slowness = [over_pa / pump.flow(ultimate_pressure_pa + over_pa) for over_pa in above_pa]
    weighted = slowness[0] + slowness[-1] + 4 * sum(slowness[1:-1:2]) + 2 * sum(slowness[2:-1:2])  # Simpson's rule
    inlet_pa = ultimate_pressure_pa + pump.flow(end_pressure_pa) / pump_m3_per_s
    mean_pa = (end_pressure_pa + inlet_pa) / 2
    conductance = hose_conductance(bore_m, length_m, mean_pressure_pa=mean_pa)
    return PullDown(volume_m3 * weighted * step / 3, alone_s, conductance)


@dataclass(frozen=True, slots=True)
class _Pump:
    """A pump with its hose."""

    m3_per_s: float
    ultimate_pa: float
    bore_m: float
    length_m: float

    def flow(self, pressure_pa: float) -> float:
        """Give what it takes out of a circuit at this pressure [Pa m³/s].

        The pressure at its inlet solves C (p - pi) = S (pi - pu), where C is of the mean of both ends: a quadratic.
        """
        molecular = hose_conductance(self.bore_m, self.length_m, mean_pressure_pa=0.0)
        viscous = hose_conductance(self.bore_m, self.length_m, mean_pressure_pa=1.0) - molecular
        linear = molecular + self.m3_per_s
        constant = viscous / 2 * pressure_pa**2 + molecular * pressure_pa + self.m3_per_s * self.ultimate_pa
        inlet_pa = 2 * constant / (linear + math.sqrt(linear**2 + 2 * viscous * constant))
        return self.m3_per_s * (inlet_pa - self.ultimate_pa)
