"""From readings to figures: superheat, subcooling and the rest, each with its standard uncertainty.

Pure. A figure takes the worst quality and the oldest stamp of what it comes from. Where an input is unknown,
or the pressure has no saturation (a vacuum, for one), the figure is None with the reason, never a number.
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from calc.elementwise import hypot, takes_arrays
from calc.errors import CalcRangeError
from calc.estimate import Estimate
from calc.quantities import FIGURE_INPUTS
from calc.saturation import bubble_point, bubble_slope, dew_point, dew_slope
from calc.superheat import model_uncertainty_k, subcooling, superheat
from ingest.wire.messages import QUALITIES, Reading, UnitAbout

_Curve = Callable[[str, float], float]


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure, the channels it comes from, and how: of numbers, or of arrays of them.

    The estimates come in the order of the channels.
    """

    name: str
    inputs: tuple[str, ...]
    compute: Callable[..., Estimate]


def derive(readings: Mapping[str, Reading], unit: UnitAbout) -> dict[str, Reading]:
    """Compute every figure of which at least one input is measured."""
    return {figure.name: evaluate(figure, readings, unit) for figure in figures_of(readings, unit)}


def figures_of(names: Collection[str], unit: UnitAbout) -> list[Figure]:
    """List the figures that come from at least one of these channels."""
    figures = [*_saturation_figures(unit.refrigerant), *_load_figures(names, unit)]
    return [figure for figure in figures if any(name in names for name in figure.inputs)]


def worst(qualities: Sequence[str]) -> str:
    """Give the worst of several qualities."""
    return min(qualities, key=QUALITIES.index)


def evaluate(figure: Figure, readings: Mapping[str, Reading], unit: UnitAbout) -> Reading:
    """Compute one figure of the readings of a moment."""
    inputs = [readings[name] for name in figure.inputs if name in readings]
    quality = worst([reading.quality for reading in inputs])
    time_s = min(reading.time_s for reading in inputs)
    estimates = []
    for name in figure.inputs:
        reading = readings.get(name)
        if reading is not None and reading.quality == "elsewhere":
            return Reading(None, time_s, quality, f"{name.replace('_', ' ')}: {reading.reason}")
        if reading is None or reading.value is None:
            reason = reading.reason if reading else "not measured"
            return Reading(None, time_s, worst([quality, "stale"]), f"{name.replace('_', ' ')}: {reason}")
        estimates.append(Estimate(reading.value, reading.standard_uncertainty or 0.0))
    try:
        result = figure.compute(*estimates)
    except CalcRangeError:
        reason = f"no saturation of {unit.refrigerant} is known at this pressure"
        return Reading(None, time_s, worst([quality, "out_of_range"]), reason)
    return Reading(result.value, time_s, quality, "", result.standard_uncertainty)


@cache
def _saturation_figures(refrigerant: str) -> tuple[Figure, ...]:
    def dew(pressure: Estimate) -> Estimate:
        return _point(refrigerant, dew_point, dew_slope, pressure)

    def bubble(pressure: Estimate) -> Estimate:
        return _point(refrigerant, bubble_point, bubble_slope, pressure)

    def over_dew(pressure: Estimate, line: Estimate) -> Estimate:
        return superheat(
            refrigerant,
            pressure.value,
            suction_line_temperature_k=line.value,
            pressure_standard_uncertainty_pa=pressure.standard_uncertainty,
            temperature_standard_uncertainty_k=line.standard_uncertainty,
        )

    def under_bubble(pressure: Estimate, line: Estimate) -> Estimate:
        return subcooling(
            refrigerant,
            pressure.value,
            liquid_line_temperature_k=line.value,
            pressure_standard_uncertainty_pa=pressure.standard_uncertainty,
            temperature_standard_uncertainty_k=line.standard_uncertainty,
        )

    def over_ambient(pressure: Estimate, outdoor: Estimate) -> Estimate:
        return _difference(bubble(pressure), outdoor)

    computed: Mapping[str, Callable[..., Estimate]] = {
        "suction_dew_point": dew,
        "liquid_bubble_point": bubble,
        "superheat": over_dew,
        "subcooling": under_bubble,
        "condensing_over_ambient": over_ambient,
        "air_split": _difference,
    }
    return tuple(Figure(name, FIGURE_INPUTS[name], compute) for name, compute in computed.items())


def _point(refrigerant: str, at: _Curve, slope: _Curve, pressure: Estimate) -> Estimate:
    """Give the dew or the bubble point with its uncertainty, by its curve and the slope of that."""
    slope_k_per_pa = slope(refrigerant, pressure.value)
    model_k = model_uncertainty_k(refrigerant, pressure.value, slope_k_per_pa)
    uncertainty_k = hypot(model_k, slope_k_per_pa * pressure.standard_uncertainty)
    return Estimate(at(refrigerant, pressure.value), uncertainty_k)


def _difference(first: Estimate, second: Estimate) -> Estimate:
    return Estimate(first.value - second.value, hypot(first.standard_uncertainty, second.standard_uncertainty))


def _load_figures(names: Collection[str], unit: UnitAbout) -> list[Figure]:
    """Amps over what the nameplate rates; of a three-phase compressor the phase that carries most."""
    whole, *phases = FIGURE_INPUTS["compressor_load_ratio"]
    compressor = (whole,) if whole in names else tuple(name for name in phases if name in names)
    figures = []
    if unit.compressor_rla_a and compressor:
        figures.append(Figure("compressor_load_ratio", compressor, _over(unit.compressor_rla_a)))
    if unit.condenser_fan_fla_a:
        over_fla = _over(unit.condenser_fan_fla_a)
        figures.append(Figure("condenser_fan_load_ratio", FIGURE_INPUTS["condenser_fan_load_ratio"], over_fla))
    return figures


def _over(rated_a: float) -> Callable[..., Estimate]:
    @takes_arrays
    def ratio(*currents: Estimate) -> Estimate:
        most = max(currents, key=lambda current: current.value)
        return Estimate(most.value / rated_a, most.standard_uncertainty / rated_a)

    return ratio
