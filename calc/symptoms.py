"""How far what is measured departs from what a sound unit would show, in these conditions.

Each figure has an expectation with its spread and its source: the nameplate where it speaks, a published table where
there is one, else a rule of the trade, whose spread is wide because units differ. What an earlier visit measured on
this unit when it was sound beats all of them.
"""

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calc.errors import CalcRangeError
from calc.estimate import Estimate
from calc.governing import governing_figure
from calc.refrigerants import get
from calc.resting_air import coldest_air
from calc.return_air import return_wet_bulb
from calc.saturation import bubble_point, dew_point
from calc.situation import Situation
from calc.targets import target_superheat
from calc.uncertainty import Budget, propagate

FAHRENHEIT_DK = 5 / 9

_NAMEPLATE = "nameplate"
_TABLE = "California Title 24, RA3.2: the table of target superheat"
_MANUAL = (
    "a ground-source manual: superheat 8 to 12 °F (4 to 7 K), subcooling 10 to 12 °F (6 to 7 K) where nothing is wrong"
)
_VALVE = f"{_MANUAL}; California Title 24, RA3.2: 4 to 25 °F (2 to 14 K) with an expansion valve"
_PRACTICE = "common practice, no source"
_EARLIER = "this unit when it was last found sound"

_TESTED_WET_BULB_K = (67.0 + 459.67) * FAHRENHEIT_DK  # AHRI 210/240, condition A: 80 °F, 67 °F wet bulb; 95 °F outdoors
_TESTED_OUTDOOR_K = (95.0 + 459.67) * FAHRENHEIT_DK


@dataclass(frozen=True, slots=True)
class Departure:
    """One figure against its expectation.

    Attributes:
        name: of the figure; one of `FIGURES`.
        measured: with the uncertainty of the instruments [K; loads: 1].
        expected: with its spread among units [likewise].
        departure: measured less expected, with both uncertainties [likewise].
        source: of the expectation.

    """

    name: str
    measured: Estimate
    expected: Estimate
    departure: Estimate
    source: str


class Departures(NamedTuple):
    """All the figures that can be had, the covariance of their departures, and the names of those that cannot."""

    found: tuple[Departure, ...]
    covariance: NDArray[np.float64]
    missing: tuple[str, ...]


class _Expected(NamedTuple):
    value: float
    spread: float
    source: str


Values = Mapping[str, float]


class _Figure(NamedTuple):
    """How a figure comes from channels, and what is expected of it; None where nobody knows."""

    name: str
    channels: tuple[str, ...]
    compute: Callable[[Situation, Values], float]
    expect: Callable[[Situation, Values], _Expected | None]


def departures(observations: Situation) -> Departures:
    """Compare every figure that can be had with its expectation.

    Raises:
        UnknownNameError: an unknown refrigerant or metering device.
        CalcRangeError: a pressure without saturation, a temperature that is none of air.

    """
    governing_figure(observations.metering_device or "none")  # refuses what it does not know
    measured = _completed(observations) | _at_rest(observations.at_rest)
    found: list[tuple[Departure, Budget, float]] = []
    missing = []
    for name in FIGURES:
        compared = next(_compare(name, observations, measured), None)
        if compared is None:
            missing.append(name)
        else:
            found.append(compared)
    covariance = np.array([[one.covariance(other) for _, other, _ in found] for _, one, _ in found])
    covariance = covariance.reshape(len(found), len(found)) + np.diag([spread**2 for _, _, spread in found])
    return Departures(tuple(departure for departure, _, _ in found), covariance, tuple(missing))


def _completed(now: Situation) -> dict[str, Estimate]:
    """Add the wet bulb of the return air, and the amps of a motor of which only phases are measured."""
    found, wet = dict(now.measured), return_wet_bulb(now)
    if wet is not None:
        found["return_air_wet_bulb"] = wet
    phases = [found[name] for name in _COMPRESSOR_PHASES if name in found]
    if phases:
        found.setdefault("compressor_current", max(phases, key=lambda phase: phase.value))
    return found


_COMPRESSOR_PHASES = ("compressor_current_a", "compressor_current_b", "compressor_current_c")


def expected_air_split(now: Situation) -> tuple[Estimate, str] | None:
    """Give the split of the air that is expected [K], and by which rule; None where too little is measured.

    The protocol's own table is not at hand.
    """
    air = {name: found for name, found in now.measured.items() if "_air_" in name}
    try:
        found = departures(replace(now, measured=air, at_rest={}, barometric_pressure_pa=now.site_pressure_pa)).found
    except CalcRangeError:
        return None
    return next(((it.expected, it.source) for it in found if it.name == "air_split"), None)


def _at_rest(measured: Mapping[str, Estimate]) -> dict[str, Estimate]:
    """Give what was measured at rest names of its own; the two pressures are one then, and the colder air counts."""
    pressure = measured.get("liquid_pressure", measured.get("suction_pressure"))
    beside = coldest_air(measured)
    if pressure is None or beside is None:
        return {}
    return {"pressure at rest": pressure, "air at rest": beside[1]}


def _compare(
    name: str, observations: Situation, measured: Mapping[str, Estimate]
) -> Iterator[tuple[Departure, Budget, float]]:
    """Compare one figure in each way that what is measured allows, the best first."""
    for figure in _WAYS:
        if figure.name != name or not set(figure.channels) <= measured.keys():
            continue
        inputs = {channel: measured[channel] for channel in figure.channels}
        values = {channel: given.value for channel, given in inputs.items()}
        expected = figure.expect(observations, values)
        if expected is not None:
            yield _departure(figure, observations, inputs, expected)


def _departure(
    figure: _Figure, observations: Situation, inputs: Mapping[str, Estimate], expected: _Expected
) -> tuple[Departure, Budget, float]:
    def over(**values: float) -> float:
        """Give the departure: what conditions do to figure and expectation alike cancels."""
        now = figure.expect(observations, values)
        return figure.compute(observations, values) - (expected if now is None else now).value

    def itself(**values: float) -> float:
        return figure.compute(observations, values)

    departure, measured = propagate(over, inputs), propagate(itself, inputs).estimate
    model_k = get(observations.refrigerant).model_standard_uncertainty_k
    earlier = observations.found_sound.get(figure.name)
    if earlier is not None:
        departure = Budget(departure.value - earlier.value, departure.contributions)
        expected = _Expected(expected.value + earlier.value, earlier.standard_uncertainty, _EARLIER)
    spread = float(np.hypot(expected.spread, 0.0 if figure.name in _LOADS else model_k))
    total = float(np.hypot(departure.estimate.standard_uncertainty, spread))
    compared = Departure(
        name=figure.name,
        measured=measured,
        expected=Estimate(expected.value, expected.spread),
        departure=Estimate(departure.value, total),
        source=expected.source,
    )
    return compared, departure, spread


def _degf(difference: float) -> float:
    return difference * FAHRENHEIT_DK


def _glide(seen: Situation, pressure_pa: float) -> float:
    """Give the dew point less the bubble point: the rules speak of the temperature at which heat passes."""
    return dew_point(seen.refrigerant, pressure_pa) - bubble_point(seen.refrigerant, pressure_pa)


def _suction_dew_point(seen: Situation, at: Values) -> float:
    return dew_point(seen.refrigerant, at["suction_pressure"])


def _below_wet_bulb(seen: Situation, at: Values) -> _Expected:
    """Expect the coil 35 °F below the return air as tested, at 80 °F: 22 °F below its wet bulb.

    A wet coil follows the wet bulb, so that this carries the rule to other humidities.
    """
    return _Expected(
        at["return_air_wet_bulb"] - _degf(22.0) + _DEW_OVER_MEAN * _glide(seen, at["suction_pressure"]),
        _degf(2.5),
        f"35 °F (19 K) below the return air: {_PRACTICE}",
    )


def _below_dry_bulb(seen: Situation, at: Values) -> _Expected:
    coil_k = at["return_air_temperature"] - _degf(35.0)
    return _Expected(
        coil_k + _DEW_OVER_MEAN * _glide(seen, at["suction_pressure"]),
        _degf(5.0),
        f"35 °F (19 K) below the return air: {_PRACTICE}",
    )


def _superheat(seen: Situation, at: Values) -> float:
    return at["suction_line_temperature"] - dew_point(seen.refrigerant, at["suction_pressure"])


def _valve_superheat(seen: Situation, _at: Values) -> _Expected | None:
    if seen.metering_device == "fixed_orifice":
        return None
    return _Expected(_degf(12.0), _degf(4.0), _VALVE)


def _orifice_superheat(seen: Situation, at: Values) -> _Expected | None:
    if seen.target_superheat_dk is not None:
        return _Expected(seen.target_superheat_dk, _degf(2.5), _NAMEPLATE)
    target_dk = target_superheat(at["return_air_wet_bulb"], at["outdoor_air_temperature"])
    return None if target_dk is None else _Expected(target_dk, _degf(3.5), _TABLE)


def _subcooling(seen: Situation, at: Values) -> float:
    return bubble_point(seen.refrigerant, at["liquid_pressure"]) - at["liquid_line_temperature"]


def _liquid_subcooling(seen: Situation, _at: Values) -> _Expected:
    if seen.target_subcooling_dk is not None and seen.metering_device != "fixed_orifice":
        return _Expected(seen.target_subcooling_dk, _degf(1.2), _NAMEPLATE)
    return _Expected(_degf(11.0), _degf(3.0), _MANUAL)


def _condensing_over_outdoor(seen: Situation, at: Values) -> float:
    return bubble_point(seen.refrigerant, at["liquid_pressure"]) - at["outdoor_air_temperature"]


def _over_outdoor_by_load(seen: Situation, at: Values) -> _Expected:
    """Expect 20 °F as tested, and otherwise in proportion to the vapour that is pumped: so much heat is rejected.

    The coil follows the wet bulb, and its vapour gets denser with it.
    """
    load = math.exp(_DENSER_PER_DK * (at["return_air_wet_bulb"] - _TESTED_WET_BULB_K))
    below_dk = _BUBBLE_BELOW_MEAN * _glide(seen, at["liquid_pressure"])
    return _Expected(
        _degf(20.0) * load - below_dk,
        _degf(2.2),
        f"15 to 25 °F (8 to 14 K) over the outdoor air, at 67 °F (19 °C) wet bulb: {_PRACTICE}",
    )


def _over_outdoor(seen: Situation, at: Values) -> _Expected:
    below_dk = _BUBBLE_BELOW_MEAN * _glide(seen, at["liquid_pressure"])
    return _Expected(_degf(20.0) - below_dk, _degf(3.0), f"15 to 25 °F (8 to 14 K) over the outdoor air: {_PRACTICE}")


def _air_split(_seen: Situation, at: Values) -> float:
    return at["return_air_temperature"] - at["supply_air_temperature"]


def _humid_split(_seen: Situation, at: Values) -> _Expected:
    """Expect 20 °F where the coil is 35 °F below the air, and in proportion: the air by-passes the coil alike."""
    coil_k = at["return_air_wet_bulb"] - _degf(22.0)
    split_dk = 20.0 / 35.0 * (at["return_air_temperature"] - coil_k)
    return _Expected(split_dk, _degf(2.0), f"20 °F (11 K) at 80 °F (27 °C) and 67 °F (19 °C) wet bulb: {_PRACTICE}")


def _any_split(_seen: Situation, _at: Values) -> _Expected:
    return _Expected(_degf(20.0), _degf(4.0), f"16 to 24 °F (9 to 13 K): {_PRACTICE}")


def _discharge_superheat(seen: Situation, at: Values) -> float:
    return at["discharge_line_temperature"] - dew_point(seen.refrigerant, at["liquid_pressure"])


def _compressed_superheat(seen: Situation, at: Values) -> _Expected | None:
    """Expect what compression at an efficiency of 85 % would give: the shell loses some of the heat.

    With R-410A as tested that is 165 °F or so, as the trade knows it (from memory).
    """
    exponent = _COMPRESSION_EXPONENTS.get(get(seen.refrigerant).designation)
    if exponent is None:
        return None
    ratio = max(at["liquid_pressure"] / at["suction_pressure"], 1.0)
    suction_k = at["suction_line_temperature"]
    discharge_k = suction_k * (1 + (ratio**exponent - 1) / 0.85)
    expected_dk = discharge_k - dew_point(seen.refrigerant, at["liquid_pressure"])
    return _Expected(expected_dk, _degf(12.0), f"compression at an efficiency of 85 %: {_PRACTICE}")


_COMPRESSION_EXPONENTS: Mapping[str, float] = MappingProxyType(
    {
        "R-22": 0.170,
        "R-32": 0.206,
        "R-134a": 0.120,
        "R-290": 0.140,
        "R-404A": 0.136,
        "R-407A": 0.141,
        "R-407C": 0.143,
        "R-407F": 0.150,
        "R-410A": 0.171,
        "R-422D": 0.124,
        "R-448A": 0.143,
        "R-449A": 0.143,
        "R-452B": 0.180,
        "R-454A": 0.147,
        "R-454B": 0.180,
        "R-454C": 0.133,
        "R-455A": 0.137,
        "R-507A": 0.137,
        "R-513A": 0.114,
        "R-1234yf": 0.108,
    }
)
"""How temperature goes with pressure at constant entropy: computed with CoolProp 8.0.0, from 6 K above a dew point of
7 °C to a bubble point of 47 °C."""


def _rest_over_outdoor(seen: Situation, at: Values) -> float:
    return bubble_point(seen.refrigerant, at["pressure at rest"]) - at["air at rest"]


_COLDEST_AT_REST_DEGF = 4.0
"""How far below the colder air the pressure at rest may stand and still be that of its coil (as sun and wind)."""


def _saturated_at_rest(seen: Situation, at: Values) -> _Expected | None:
    """Expect the colder air; nothing of a pressure far below it: something colder has drawn the refrigerant there."""
    if _rest_over_outdoor(seen, at) < -_degf(_COLDEST_AT_REST_DEGF):
        return None
    return _Expected(
        0.0, _degf(2.0), f"saturation at the colder air: physics; ± 4 °F (2 K) for sun and wind: {_PRACTICE}"
    )


def rest_tells_nothing(seen: Situation) -> bool:
    """Tell whether the pressure at rest was read, and is too far below saturation to tell of air."""
    at = {name: found.value for name, found in _at_rest(seen.at_rest).items()}
    return {"pressure at rest", "air at rest"} <= at.keys() and _saturated_at_rest(seen, at) is None


def _compressor_load(seen: Situation, at: Values) -> float:
    return at["compressor_current"] / _rated(seen.compressor_rla_a)


def _running_load(seen: Situation, at: Values) -> _Expected | None:
    """Expect three quarters of the rated amps as tested, and less where it is cooler outdoors."""
    if seen.compressor_rla_a is None:
        return None
    warmer_f = (at["outdoor_air_temperature"] - _TESTED_OUTDOOR_K) / FAHRENHEIT_DK
    return _Expected(
        0.78 + 0.006 * warmer_f, 0.08, f"0.6 to 0.9 of the rated amps at 95 °F (35 °C) outdoors: {_PRACTICE}"
    )


def _fan_load(seen: Situation, at: Values) -> float:
    return at["condenser_fan_current"] / _rated(seen.condenser_fan_fla_a)


def _full_load(seen: Situation, _at: Values) -> _Expected | None:
    if seen.condenser_fan_fla_a is None:
        return None
    return _Expected(0.88, 0.10, f"a fan near its full load amps: {_PRACTICE}")


def _rated(amps: float | None) -> float:
    return 1.0 if amps is None else amps


_DENSER_PER_DK = 0.03
"""How much saturated vapour near 7 °C gets denser for each K: R-410A, R-32, R-22 and R-407C, by CoolProp 8.0.0."""

_DEW_OVER_MEAN, _BUBBLE_BELOW_MEAN = 0.4, 0.5  # of the glide: a fifth has boiled before the evaporator

_LOADS = ("compressor_load", "condenser_fan_load")

_WAYS = (
    _Figure("suction_dew_point", ("suction_pressure", "return_air_wet_bulb"), _suction_dew_point, _below_wet_bulb),
    _Figure("suction_dew_point", ("suction_pressure", "return_air_temperature"), _suction_dew_point, _below_dry_bulb),
    _Figure("superheat", ("suction_pressure", "suction_line_temperature"), _superheat, _valve_superheat),
    _Figure(
        "superheat",
        ("suction_pressure", "suction_line_temperature", "return_air_wet_bulb", "outdoor_air_temperature"),
        _superheat,
        _orifice_superheat,
    ),
    _Figure(
        "condensing_over_outdoor",
        ("liquid_pressure", "outdoor_air_temperature", "return_air_wet_bulb"),
        _condensing_over_outdoor,
        _over_outdoor_by_load,
    ),
    _Figure(
        "condensing_over_outdoor",
        ("liquid_pressure", "outdoor_air_temperature"),
        _condensing_over_outdoor,
        _over_outdoor,
    ),
    _Figure("subcooling", ("liquid_pressure", "liquid_line_temperature"), _subcooling, _liquid_subcooling),
    _Figure(
        "air_split",
        ("return_air_temperature", "supply_air_temperature", "return_air_wet_bulb"),
        _air_split,
        _humid_split,
    ),
    _Figure("air_split", ("return_air_temperature", "supply_air_temperature"), _air_split, _any_split),
    _Figure(
        "discharge_superheat",
        ("discharge_line_temperature", "liquid_pressure", "suction_pressure", "suction_line_temperature"),
        _discharge_superheat,
        _compressed_superheat,
    ),
    _Figure("rest_over_outdoor", ("pressure at rest", "air at rest"), _rest_over_outdoor, _saturated_at_rest),
    _Figure("compressor_load", ("compressor_current", "outdoor_air_temperature"), _compressor_load, _running_load),
    _Figure("condenser_fan_load", ("condenser_fan_current",), _fan_load, _full_load),
)

FIGURES = tuple(dict.fromkeys(figure.name for figure in _WAYS))
"""The figures that are compared."""
