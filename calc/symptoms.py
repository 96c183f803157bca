"""How far what is measured departs from what a sound unit would show, in these conditions.

Each figure has an expectation with its spread and its source: the nameplate where it speaks, a published table where
there is one, else a small model of a unit (calc.sound_unit) or a rule of the trade. Units differ, and what differs
moves several figures at once: so departures have a covariance, one for each way in which units are built. What an
earlier visit measured on this unit when it was sound tells what it is like, in each way in which it may be built: what
is unknown of a unit is the same at both visits, so that what is expected today follows from both (Bayes' rule, for
normal distributions).
"""

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calc.charging_chart import find_chart_superheat
from calc.dirt import SHARE as DIRTY_SHARE
from calc.dirt import SIZE as DIRT_SIZE
from calc.dirt import SIZE_SPREAD as DIRT_SIZE_SPREAD
from calc.dirt import slight_dirt
from calc.errors import CalcRangeError
from calc.estimate import Estimate
from calc.governing import governing_figure
from calc.refrigerants import get
from calc.resting_air import coldest_air
from calc.return_air import return_wet_bulb
from calc.saturation import bubble_point, dew_point
from calc.situation import Situation
from calc.sound_unit import CONDITIONS, MODELLED, Conditions, Population, held_up_dk, known_conditions, sound_units
from calc.targets import NoTarget, target_superheat
from calc.uncertainty import Budget, propagate

FAHRENHEIT_DK = 5 / 9

TABLE_SPREAD_DK = 3.5 * FAHRENHEIT_DK
"""How far makers charge their orifices from the table of target superheat (k = 1): common practice, no source."""

_NAMEPLATE = "nameplate"
_TABLE = "California Title 24, RA3.2: the table of target superheat"
_MANUAL = (
    "a ground-source manual: superheat 8 to 12 °F (4 to 7 K), subcooling 10 to 12 °F (6 to 7 K) where nothing is wrong"
)
_VALVE = f"{_MANUAL}; California Title 24, RA3.2: 4 to 25 °F (2 to 14 K) with an expansion valve"
_PRACTICE = "common practice, no source"
_EARLIER = "this unit when it was last found sound"
_MODEL = (
    "makers' tables of normal pressures and common practice, carried to these conditions by a small model of a unit"
)


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


class Built(NamedTuple):
    """Sound units of one build: their share of all, where their departures lie, and how far they vary [K or 1]."""

    share: float
    departures: NDArray[np.float64]
    covariance: NDArray[np.float64]


class Read(NamedTuple):
    """What one channel reads, and what it does to each figure that is found were it off by a standard uncertainty.

    value, standard_uncertainty: in its own unit. effects: [K or 1].
    """

    channel: str
    value: float
    standard_uncertainty: float
    effects: NDArray[np.float64]


class Departures(NamedTuple):
    """All the figures that can be had, the names of those that cannot, and what sound units of each build show.

    read: the channels that they come from; not those that are taken to be exact.
    """

    found: tuple[Departure, ...]
    missing: tuple[str, ...]
    builds: tuple[Built, ...]
    read: tuple[Read, ...]


class _Expected(NamedTuple):
    """What is expected of a sound unit, and how far this figure alone varies among units [K or 1]."""

    value: float
    aside: float
    source: str


Values = Mapping[str, float]


class _Seen(NamedTuple):
    """What is known of a unit, and what sound ones of each build read in these conditions."""

    unit: Situation
    conditions: Conditions
    populations: tuple[Population, ...]

    def middle(self, name: str, at: Values) -> float:
        """Give the mean over all builds of a figure of the model, moved with the conditions [K or 1]."""
        row, given = MODELLED.index(name), self.conditions.values
        moved = [at.get(channel, mine) - mine for channel, mine in zip(CONDITIONS, given, strict=True)]
        return float(sum(each.share * (each.values[row] + each.by_condition[row] @ moved) for each in self.populations))


class _Figure(NamedTuple):
    """How a figure comes from channels, and what is expected of it; None where nobody knows.

    uses: channels that what is expected hangs on as well, where they are measured.
    """

    name: str
    channels: tuple[str, ...]
    compute: Callable[[Situation, Values], float]
    expect: Callable[[_Seen, Values], _Expected | None]
    uses: tuple[str, ...] = ()


class _Compared(NamedTuple):
    """A figure beside what is expected of it, and where that comes from."""

    name: str
    measured: Estimate
    expected: _Expected
    departure: Budget
    source: str


def departures(observations: Situation) -> Departures:
    """Compare every figure that can be had with its expectation.

    Raises:
        UnknownNameError: an unknown refrigerant or metering device.
        CalcRangeError: a pressure without saturation, a temperature that is none of air.

    """
    governing_figure(observations.metering_device or "none")  # refuses what it does not know
    measured = _completed(observations) | _at_rest(observations.at_rest)
    conditions = known_conditions(measured)
    seen = _Seen(observations, conditions, sound_units(conditions, observations.site_pressure_pa))
    compared = [it for name in FIGURES if (it := next(_compare(name, seen, measured), None)) is not None]
    ways = _ways(compared, seen)
    earlier = observations.found_sound
    known = [index for index, each in enumerate(compared) if each.name in earlier]
    if known:
        departed = [earlier[compared[index].name] for index in known]
        dirt = [
            np.array([moved[each.name] for each in compared])
            for moved in slight_dirt(observations.metering_device or "none").values()
        ]
        ways = _likely(_after(way, known, departed, was_dirty=by) for way in ways for by in (None, *dirt))
        compared = [each._replace(source=_EARLIER) if each.name in earlier else each for each in compared]
    logarithms = np.array([way.share_log for way in ways])
    shares = np.exp(logarithms - logarithms.max())
    shares /= shares.sum()
    middle = shares @ np.array([way.middles for way in ways])
    builds = [
        Built(share, way.middles - middle, way.covariance) for share, way in zip(shares.tolist(), ways, strict=True)
    ]
    variances = sum(it.share * (np.diagonal(it.covariance) + it.departures**2) for it in builds)
    found = tuple(map(_departure, compared, middle.tolist(), np.sqrt(variances).tolist()))
    missing = tuple(name for name in FIGURES if name not in {each.name for each in compared})
    return Departures(found, missing, tuple(builds), _read(compared, measured))


def _read(compared: Sequence[_Compared], measured: Mapping[str, Estimate]) -> tuple[Read, ...]:
    """Put together what each instrument does to the figures, while the unit runs and as it read at rest."""
    effects: dict[str, NDArray[np.float64]] = {}
    for index, each in enumerate(compared):
        for channel, part in each.departure.contributions.items():
            effects.setdefault(_read_by(channel, measured), np.zeros(len(compared)))[index] += part
    return tuple(
        Read(channel, measured[channel].value, measured[channel].standard_uncertainty, parts)
        for channel, parts in effects.items()
    )


def _read_by(channel: str, measured: Mapping[str, Estimate]) -> str:
    """Name what measures while it runs what was read at rest, where that is measured too."""
    beside = {"pressure at rest": "liquid_pressure", "air at rest": "outdoor_air_temperature"}.get(channel, channel)
    return beside if beside in measured and measured[beside].standard_uncertainty else channel


def _departure(compared: _Compared, middle: float, spread: float) -> Departure:
    """Give it with the spread of all builds together: which one it is comes out where causes are weighed."""
    instruments = compared.departure.estimate.standard_uncertainty
    return Departure(
        name=compared.name,
        measured=compared.measured,
        expected=Estimate(compared.expected.value + middle, math.sqrt(max(spread**2 - instruments**2, 0.0))),
        departure=Estimate(compared.departure.value - middle, spread),
        source=compared.source,
    )


class _Way(NamedTuple):
    """One way in which units are built: where its figures lie, and how far they vary [K or 1].

    share_log: the logarithm of the share of units, up to a constant.
    lasting: what each thing that is unknown of a unit, and stays as it is, does to the figures. aside: how far each
    figure varies by itself. covariance: of all together, with the instruments.
    """

    share_log: float
    middles: NDArray[np.float64]
    lasting: NDArray[np.float64]
    aside: NDArray[np.float64]
    covariance: NDArray[np.float64]


def _ways(compared: Sequence[_Compared], seen: _Seen) -> list[_Way]:
    """Put together, for each build, what instruments, a figure by itself, and what is unknown of a unit come to."""
    inputs = dict.fromkeys(channel for each in compared for channel in each.departure.contributions)
    read = np.array([[each.departure.contributions.get(channel, 0.0) for channel in inputs] for each in compared])
    aside = np.array([each.expected.aside for each in compared])
    own = np.diag(aside**2) + read @ read.T
    charge = _charge(seen.unit)
    ways = []
    for population in seen.populations:
        middles, moved = np.zeros(len(compared)), np.zeros((len(compared), 1 + population.by_unknown.shape[1]))
        for index, each in enumerate(compared):
            moved[index, 0] = charge.get(each.name, 0.0)
            if each.name in MODELLED:
                row = MODELLED.index(each.name)
                middles[index] = population.values[row] - seen.middle(each.name, {})
                moved[index, 1:] = population.by_unknown[row]
        lasting = moved[:, : -len(CONDITIONS)]
        ways.append(_Way(math.log(population.share), middles, lasting, aside, own + moved @ moved.T))
    return ways


def _after(
    today: _Way, known: Sequence[int], departed: Sequence[Estimate], *, was_dirty: NDArray[np.float64] | None = None
) -> _Way:
    """Give what a unit of this build shows that departed so when it was sound (Bayes' rule, for normal distributions).

    known: which figures. What is unknown of a unit, and what a figure does by itself, was there before. was_dirty: what
    slight dirt does to each figure, where it was dirty then and is clean today; None where it is as it was [K or 1].
    """
    own = np.diag(today.aside**2)
    lasting = today.lasting @ today.lasting.T + own
    before = lasting[np.ix_(known, known)] + np.diag([it.standard_uncertainty**2 for it in departed])
    over = np.array([it.value for it in departed]) - today.middles[known]
    share = 1.0 - _WAYS_OF_DIRT * DIRTY_SHARE
    if was_dirty is not None:
        over = over - DIRT_SIZE * was_dirty[known]
        before = before + DIRT_SIZE_SPREAD**2 * np.outer(was_dirty[known], was_dirty[known])
        share = DIRTY_SHARE
    told = np.linalg.solve(before, np.column_stack((over, lasting[known])))
    likely_log = -(over @ told[:, 0] + np.linalg.slogdet(before)[1]) / 2
    return today._replace(
        share_log=today.share_log + math.log(share) + float(likely_log),
        middles=today.middles + lasting[:, known] @ told[:, 0],
        covariance=today.covariance - lasting[:, known] @ told[:, 1:],
    )


_WAYS_OF_DIRT = 2
_LEAST_LIKELY = 0.01


def _likely(ways: Iterable[_Way]) -> list[_Way]:
    """Leave out what is too unlikely to tell: weighing causes takes a time for each way that is left."""
    listed = list(ways)
    most_log = max(way.share_log for way in listed)
    return [way for way in listed if way.share_log >= most_log + math.log(_LEAST_LIKELY)]


def _charge(unit: Situation) -> Mapping[str, float]:
    """Tell how far charges differ that all count as right, by what they do [K]."""
    subcooling_dk = _degf(_subcooling_expected(unit)[1])
    return {"subcooling": subcooling_dk, "condensing_over_outdoor": _HEAD_PER_SUBCOOLING * subcooling_dk}


_HEAD_PER_SUBCOOLING = 0.3
"""How far the head rises with each kelvin of subcooling: practice (from memory)."""


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


def _compare(name: str, seen: _Seen, measured: Mapping[str, Estimate]) -> Iterator[_Compared]:
    """Compare one figure in each way that what is measured allows, the best first."""
    for figure in _WAYS:
        if figure.name != name or not set(figure.channels) <= measured.keys():
            continue
        used = (*figure.channels, *(channel for channel in figure.uses if channel in measured))
        inputs = {channel: measured[channel] for channel in dict.fromkeys(used)}
        expected = figure.expect(seen, {channel: given.value for channel, given in inputs.items()})
        if expected is not None:
            yield _beside(figure, seen, inputs, expected)


def _beside(figure: _Figure, seen: _Seen, inputs: Mapping[str, Estimate], expected: _Expected) -> _Compared:
    def over(**values: float) -> float:
        """Give the departure: what conditions do to figure and expectation alike cancels."""
        now = figure.expect(seen, values)
        return figure.compute(seen.unit, values) - (expected if now is None else now).value

    def itself(**values: float) -> float:
        return figure.compute(seen.unit, values)

    departure, measured = propagate(over, inputs), propagate(itself, inputs).estimate
    model_k = get(seen.unit.refrigerant).model_standard_uncertainty_k if figure.name in _BY_SATURATION else 0.0
    expected = expected._replace(aside=math.hypot(expected.aside, model_k))
    return _Compared(figure.name, measured, expected, departure, expected.source)


def _degf(difference: float) -> float:
    return difference * FAHRENHEIT_DK


def _glide(seen: Situation, pressure_pa: float) -> float:
    """Give the dew point less the bubble point: the rules speak of the temperature at which heat passes."""
    return dew_point(seen.refrigerant, pressure_pa) - bubble_point(seen.refrigerant, pressure_pa)


def _suction_dew_point(seen: Situation, at: Values) -> float:
    return dew_point(seen.refrigerant, at["suction_pressure"])


def _evaporating(seen: _Seen, at: Values) -> _Expected:
    """Expect the dew point above the coil's mean by a part of the glide."""
    coil_k = seen.middle("suction_dew_point", at)
    return _Expected(coil_k + _DEW_OVER_MEAN * _glide(seen.unit, at["suction_pressure"]), _degf(0.8), _MODEL)


def _superheat(seen: Situation, at: Values) -> float:
    return at["suction_line_temperature"] - dew_point(seen.refrigerant, at["suction_pressure"])


def _valve_superheat(seen: _Seen, _at: Values) -> _Expected | None:
    if seen.unit.metering_device == "fixed_orifice":
        return None
    return _Expected(_degf(13.0), _degf(4.0), _VALVE)


def _orifice_superheat(seen: _Seen, at: Values) -> _Expected | None:
    if seen.unit.target_superheat_dk is not None:
        return _Expected(seen.unit.target_superheat_dk, _degf(2.5), _NAMEPLATE)
    if seen.unit.superheat_chart:
        exact = (Estimate(at[channel], 0.0) for channel in ("return_air_wet_bulb", "outdoor_air_temperature"))
        found = find_chart_superheat(seen.unit.superheat_chart, *exact)
        return None if isinstance(found, NoTarget) else _Expected(found.value.value, _degf(2.5), found.source)
    target_dk = target_superheat(at["return_air_wet_bulb"], at["outdoor_air_temperature"])
    return None if target_dk is None else _Expected(target_dk, TABLE_SPREAD_DK, _TABLE)


def _subcooling(seen: Situation, at: Values) -> float:
    return bubble_point(seen.refrigerant, at["liquid_pressure"]) - at["liquid_line_temperature"]


def _liquid_subcooling(seen: _Seen, _at: Values) -> _Expected:
    value_f, _, source = _subcooling_expected(seen.unit)
    return _Expected(_degf(value_f), _degf(0.6), source)


def _subcooling_expected(unit: Situation) -> tuple[float, float, str]:
    """Give the subcooling that is expected, and how far charges that count as right move it [°F]."""
    if unit.metering_device == "fixed_orifice":
        return 10.5, 3.0, _MANUAL
    if unit.target_subcooling_dk is not None:
        return unit.target_subcooling_dk / FAHRENHEIT_DK, 1.1, _NAMEPLATE
    return 10.5, 3.2, _MANUAL


def _condensing_over_outdoor(seen: Situation, at: Values) -> float:
    return bubble_point(seen.refrigerant, at["liquid_pressure"]) - at["outdoor_air_temperature"]


def _over_outdoor(seen: _Seen, at: Values) -> _Expected:
    """Expect the bubble point below the coil's mean by a part of the glide, and more of a unit that is to subcool more.

    In cold air a control may hold the head up.
    """
    below_dk = _BUBBLE_BELOW_MEAN * _glide(seen.unit, at["liquid_pressure"])
    flooded_dk = _HEAD_PER_SUBCOOLING * _degf(_subcooling_expected(seen.unit)[0] - 10.0)
    value_k = seen.middle("condensing_over_outdoor", at) + flooded_dk - below_dk
    return _Expected(value_k, math.hypot(_degf(0.6), held_up_dk(at["outdoor_air_temperature"])), _MODEL)


def _air_split(_seen: Situation, at: Values) -> float:
    return at["return_air_temperature"] - at["supply_air_temperature"]


def _split(seen: _Seen, at: Values) -> _Expected:
    return _Expected(seen.middle("air_split", at), _degf(1.5), _MODEL)


def _discharge_superheat(seen: Situation, at: Values) -> float:
    return at["discharge_line_temperature"] - dew_point(seen.refrigerant, at["liquid_pressure"])


def _compressed_superheat(seen: _Seen, at: Values) -> _Expected | None:
    """Expect what compression at an efficiency of 85 % would give: the shell loses some of the heat.

    With R-410A as tested that is 165 °F or so, as the trade knows it (from memory).
    """
    exponent = _COMPRESSION_EXPONENTS.get(get(seen.unit.refrigerant).designation)
    if exponent is None:
        return None
    ratio = max(at["liquid_pressure"] / at["suction_pressure"], 1.0)
    suction_k = at["suction_line_temperature"]
    discharge_k = suction_k * (1 + (ratio**exponent - 1) / 0.85)
    expected_dk = discharge_k - dew_point(seen.unit.refrigerant, at["liquid_pressure"])
    return _Expected(expected_dk, _degf(5.0), f"compression at an efficiency of 85 %: {_PRACTICE}")


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


def _saturated_at_rest(seen: _Seen, at: Values) -> _Expected | None:
    """Expect the colder air; nothing of a pressure far below it: something colder has drawn the refrigerant there."""
    if _is_far_below(seen.unit, at):
        return None
    return _Expected(
        0.0, _degf(2.0), f"saturation at the colder air: physics; ± 4 °F (2 K) for sun and wind: {_PRACTICE}"
    )


def rest_tells_nothing(seen: Situation) -> bool:
    """Tell whether the pressure at rest was read, and is too far below saturation to tell of air."""
    at = {name: found.value for name, found in _at_rest(seen.at_rest).items()}
    return {"pressure at rest", "air at rest"} <= at.keys() and _is_far_below(seen, at)


def _is_far_below(seen: Situation, at: Values) -> bool:
    return _rest_over_outdoor(seen, at) < -_degf(_COLDEST_AT_REST_DEGF)


def _compressor_load(seen: Situation, at: Values) -> float:
    return at["compressor_current"] / _rated(seen.compressor_rla_a)


def _running_load(seen: _Seen, at: Values) -> _Expected | None:
    if seen.unit.compressor_rla_a is None:
        return None
    held_up = _LOAD_PER_DK * held_up_dk(at["outdoor_air_temperature"])
    return _Expected(seen.middle("compressor_load", at), math.hypot(0.06, held_up), _MODEL)


_LOAD_PER_DK = 0.015


def _fan_load(seen: Situation, at: Values) -> float:
    return at["condenser_fan_current"] / _rated(seen.condenser_fan_fla_a)


def _full_load(seen: _Seen, _at: Values) -> _Expected | None:
    if seen.unit.condenser_fan_fla_a is None:
        return None
    return _Expected(0.88, 0.10, f"a fan near its full load amps: {_PRACTICE}")


def _rated(amps: float | None) -> float:
    return 1.0 if amps is None else amps


_DEW_OVER_MEAN, _BUBBLE_BELOW_MEAN = 0.4, 0.5  # of the glide: a fifth has boiled before the evaporator

_BY_SATURATION = (
    "suction_dew_point",
    "superheat",
    "condensing_over_outdoor",
    "subcooling",
    "discharge_superheat",
    "rest_over_outdoor",
)

_WAYS = (
    *(
        _Figure("suction_dew_point", ("suction_pressure", air), _suction_dew_point, _evaporating, CONDITIONS)
        for air in ("return_air_wet_bulb", "return_air_temperature")
    ),
    _Figure("superheat", ("suction_pressure", "suction_line_temperature"), _superheat, _valve_superheat),
    _Figure(
        "superheat",
        ("suction_pressure", "suction_line_temperature", "return_air_wet_bulb", "outdoor_air_temperature"),
        _superheat,
        _orifice_superheat,
    ),
    _Figure(
        "condensing_over_outdoor",
        ("liquid_pressure", "outdoor_air_temperature"),
        _condensing_over_outdoor,
        _over_outdoor,
        CONDITIONS,
    ),
    _Figure("subcooling", ("liquid_pressure", "liquid_line_temperature"), _subcooling, _liquid_subcooling),
    _Figure("air_split", ("return_air_temperature", "supply_air_temperature"), _air_split, _split, CONDITIONS),
    _Figure(
        "discharge_superheat",
        ("discharge_line_temperature", "liquid_pressure", "suction_pressure", "suction_line_temperature"),
        _discharge_superheat,
        _compressed_superheat,
    ),
    _Figure("rest_over_outdoor", ("pressure at rest", "air at rest"), _rest_over_outdoor, _saturated_at_rest),
    _Figure(
        "compressor_load",
        ("compressor_current", "outdoor_air_temperature"),
        _compressor_load,
        _running_load,
        CONDITIONS,
    ),
    _Figure("condenser_fan_load", ("condenser_fan_current",), _fan_load, _full_load),
)

FIGURES = tuple(dict.fromkeys(figure.name for figure in _WAYS))
"""The figures that are compared."""
