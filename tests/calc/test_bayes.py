"""The probabilities of causes, worked out again by another way: fault by fault, integrating over how units answer.

With each cause no instrument is off, or one of them: how often and how far each slips is common practice, no source,
and what that does to the figures is found here by reading otherwise, not by its derivative.

How likely each is beforehand, and how a fault's changes vary (all of them together by 20 %, each by itself by 22 % and
at least 0.7 K, the liquid line too, a load 0.025; what is not in the list moves a figure by 9 K, a load by 0.3): common
practice, no source. Two faults at once are of whatever sizes, each of its own, and as likely as each is beside the
other. Bayes' rule is a theorem.
"""

import csv
import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import combinations, product
from pathlib import Path

import numpy as np
import pytest

from calc.diagnosis import Fault, explain
from calc.estimate import Estimate
from calc.saturation import bubble_pressure, dew_pressure
from calc.situation import Situation
from calc.symptoms import departures
from tests.fahrenheit import DDEGF, kelvin

PRIOR = {
    "nothing wrong": 0.265,
    "undercharge": 0.102,
    "overcharge": 0.057,
    "low evaporator airflow": 0.0855,
    "condenser fouling or low outdoor airflow": 0.0855,
    "liquid-line restriction": 0.051,
    "compressor valve leakage": 0.051,
    "non-condensables": 0.064,
    "expansion valve that feeds too much": 0.037,
    "several at once": 0.185,
    "not one of these": 0.017,
}
SIZES = list(
    csv.DictReader((Path(__file__).parents[2] / "calc/data/fault_signatures.csv").read_text("utf-8").splitlines())
)
TOGETHER = np.linspace(-6.0, 6.0, 25)


SLIPS = {  # share, and standard deviation [K; Pa, above 3 % of what is read here; A as a share of the reading]
    "suction_line_temperature": (0.005, 2.5),
    "liquid_line_temperature": (0.005, 2.5),
    "outdoor_air_temperature": (0.0025, 2.5),
    "return_air_wet_bulb": (0.0025, 1.0),
    "liquid_pressure": (0.0025, 10 * 6894.757),
    "condenser_fan_current": (0.005, 0.30),
}
Off = tuple[float, np.ndarray]


def density(seen: np.ndarray, covariance: np.ndarray) -> float:
    return float(densities(seen[np.newaxis], covariance)[0])


def densities(seen: np.ndarray, covariance: np.ndarray) -> np.ndarray:
    squares = np.einsum("ni,ij,nj->n", seen, np.linalg.inv(covariance), seen)
    return np.exp(-squares / 2) / math.sqrt(np.linalg.det(covariance))


def of_faults(
    names: Sequence[str], seen: np.ndarray, spread: np.ndarray, changes: Sequence[np.ndarray], least: np.ndarray
) -> float:
    """Integrate over what all changes of each fault have in common; what each does by itself is added (JCGM 100)."""
    limited = [np.maximum(change, least) for change in changes]
    if list(names) == ["condensing_over_outdoor", "subcooling"]:
        head = 0.49 + sum((0.22 * condensing) ** 2 for condensing, _ in limited)
        liquid_line = 0.49 + sum((0.22 * (condensing - subcooling)) ** 2 for condensing, subcooling in limited)
        itself = np.array([[head, head], [head, head + liquid_line]])
    else:
        at_least = np.array([0.025 if name.endswith("_load") else 0.7 for name in names])
        itself = np.diag(at_least**2 + sum((0.22 * change) ** 2 for change in limited))
    sizes = np.array(list(product(TOGETHER, repeat=len(changes))))
    shares = np.exp(-(sizes**2).sum(axis=1) / 2)
    means = np.maximum(sum(changes), least) + 0.2 * sizes @ np.array(limited)
    return float(shares / shares.sum() @ densities(seen - means, spread + itself))


def offs(unit: Situation) -> list[Off]:
    """What may be off beside: nothing, or one instrument; how often, and what a standard deviation of it does."""
    found: list[Off] = []
    for channel, estimate in unit.measured.items():
        if not estimate.standard_uncertainty:
            continue  # taken to be exact
        share, spread = SLIPS[channel]
        spread *= estimate.value if channel.endswith("_current") else 1.0
        high, low = (
            [it.departure.value for it in departures(moved(unit, channel, by)).found]
            for by in (estimate.standard_uncertainty, -estimate.standard_uncertainty)
        )
        each = (np.array(high) - np.array(low)) / 2 / estimate.standard_uncertainty
        found.append((share, spread * each))
    return [(1 - sum(share for share, _ in found), np.zeros(len(departures(unit).found))), *found]


def moved(unit: Situation, channel: str, by: float) -> Situation:
    was = unit.measured[channel]
    return replace(unit, measured={**unit.measured, channel: Estimate(was.value + by, was.standard_uncertainty)})


def posterior(unit: Situation, kind: str = "valve") -> dict[str, float]:
    """What each cause comes to, by the definition."""
    found = departures(unit)
    names, off = [each.name for each in found.found], offs(unit)
    seen = np.array([each.departure.value for each in found.found])
    units = np.array([1.0 if name.endswith("_load") else DDEGF for name in names])
    least = np.array(
        [-each.expected.value if each.name in ("superheat", "subcooling") else -np.inf for each in found.found]
    )
    sizes: dict[str, list[np.ndarray]] = {}
    for row in SIZES:
        if row["metering"] == kind:
            sizes.setdefault(row["fault"], []).append(np.array([float(row[name]) for name in names]) * units)

    def likely(changes: Sequence[Sequence[np.ndarray]]) -> float:
        return over_builds(
            lambda rest, spread: float(np.mean([of_faults(names, rest, spread, it, least) for it in changes]))
        )

    def over_builds(each: Callable[[np.ndarray, np.ndarray], float]) -> float:
        """Integrate over what may be off, and the ways in which units are built: the law of total probability."""
        return sum(share * with_it(each, spread) for share, spread in off)

    def with_it(each: Callable[[np.ndarray, np.ndarray], float], spread: np.ndarray) -> float:
        more = np.outer(spread, spread)
        return sum(build.share * each(seen - build.departures, build.covariance + more) for build in found.builds)

    unknown = np.diag([0.09 if name.endswith("_load") else 81.0 for name in names])
    pairs = {
        (one, other): PRIOR[one] * PRIOR[other]
        for one, other in combinations([fault for fault in sizes if not fault.startswith("expansion")], 2)
        if (one, other) != ("undercharge", "overcharge")
    }
    likelihood = {
        "nothing wrong": off[0][0] * with_it(density, off[0][1]),
        "an instrument that is off": sum(share * with_it(density, spread) for share, spread in off[1:]),
        "not one of these": over_builds(lambda rest, spread: density(rest, spread + unknown)),
        "several at once": sum(
            share * likely(list(product(sizes[one], sizes[other]))) for (one, other), share in pairs.items()
        )
        / sum(pairs.values()),
        **{fault: likely([(change,) for change in changes]) for fault, changes in sizes.items()},
    }
    odds = {fault: before(fault) * likelihood[fault] for fault in likelihood}
    return {fault: part / sum(odds.values()) for fault, part in odds.items()}


def before(fault: str) -> float:
    """An instrument that is off is so in a unit in which nothing else is wrong."""
    return PRIOR["nothing wrong" if fault == "an instrument that is off" else fault]


def at_suction(superheat_f: float, device: str = "txv") -> Situation:
    return Situation(
        refrigerant="R-22",
        metering_device=device,
        target_superheat_dk=12 * DDEGF,
        measured={
            "suction_pressure": Estimate(dew_pressure("R-22", kelvin(45.0)), 0.0),
            "suction_line_temperature": Estimate(kelvin(45.0 + superheat_f), 0.3),
            "return_air_wet_bulb": Estimate(kelvin(67.0), 0.2),
            "outdoor_air_temperature": Estimate(kelvin(95.0), 0.2),
        },
    ).without(set() if device == "fixed_orifice" else {"return_air_wet_bulb", "outdoor_air_temperature"})


def at_liquid(over_f: float, subcooling_f: float) -> Situation:
    return Situation(
        refrigerant="R-22",
        metering_device="txv",
        target_subcooling_dk=11 * DDEGF,
        measured={
            "liquid_pressure": Estimate(bubble_pressure("R-22", kelvin(95.0 + over_f)), 7e3),
            "liquid_line_temperature": Estimate(kelvin(95.0 + over_f - subcooling_f), 0.3),
            "outdoor_air_temperature": Estimate(kelvin(95.0), 0.2),
        },
    )


def at_the_fan(load: float) -> Situation:
    fan = {"condenser_fan_current": Estimate(2.0 * load, 0.05)}
    return Situation(refrigerant="R-22", metering_device="eev", measured=fan, condenser_fan_fla_a=2.0)


UNITS = [
    *(at_suction(superheat_f) for superheat_f in (12.0, 18.0)),
    *(at_liquid(*seen) for seen in ((20.0, 11.0), (30.0, 12.0))),
    *(at_the_fan(load) for load in (0.88, 0.5)),
]


@pytest.mark.parametrize("unit", UNITS)
def test_probabilities_are_what_bayes_rule_makes_of_how_units_answer(unit: Situation) -> None:
    """No charge here reaches the 50 % at which it is held back."""
    expected = posterior(unit)
    assert max(expected["undercharge"], expected["overcharge"]) < 0.5
    assert {it.fault.value: it.probability for it in explain(unit)} == pytest.approx(expected, rel=1e-3, abs=1e-9)


@pytest.mark.parametrize("unit", UNITS)
def test_where_something_is_known_to_be_wrong_the_rest_is_shared_alike(unit: Situation) -> None:
    before = {it.fault: it.probability for it in explain(unit)}
    wrong = {it.fault: it.probability for it in explain(unit, something_is_wrong=True)}
    sound = before.pop(Fault.NOTHING_WRONG)
    assert wrong.pop(Fault.NOTHING_WRONG) == 0.0
    if max(wrong[Fault.UNDERCHARGE], wrong[Fault.OVERCHARGE]) < 0.5:
        assert wrong == pytest.approx({fault: share / (1 - sound) for fault, share in before.items()})


@pytest.mark.parametrize("device", ["txv", "fixed_orifice"])
def test_with_nothing_measured_each_is_as_likely_as_before(device: str) -> None:
    """An orifice has no valve that feeds too much."""
    told = {it.fault.value: it.probability for it in explain(Situation(refrigerant="R-22", metering_device=device))}
    possible = {fault: share for fault, share in PRIOR.items() if device == "txv" or not fault.startswith("expansion")}
    assert told.pop("an instrument that is off") == 0.0  # none is there
    assert told == pytest.approx({fault: share / sum(possible.values()) for fault, share in possible.items()})


@pytest.mark.parametrize("superheat_f", [12.0, 2.0, 18.0, 30.0])
def test_of_one_figure_the_weight_is_by_what_it_changes_the_odds(superheat_f: float) -> None:
    """Posterior odds over prior odds, against a sound unit: Bayes' rule. What tells less than e^0.5 is left out."""
    unit = at_suction(superheat_f)
    by_rule, sound = posterior(unit), offs(unit)[0][0] * PRIOR["nothing wrong"]
    off = PRIOR["nothing wrong"] - sound
    first = PRIOR | {"nothing wrong": sound, "an instrument that is off": off}
    likeliest = max((fault for fault in by_rule if fault != "nothing wrong"), key=lambda fault: by_rule[fault])
    for cause in explain(unit):
        other = likeliest if cause.fault is Fault.NOTHING_WRONG else "nothing wrong"
        name = cause.fault.value
        weight = math.log(by_rule[name] / by_rule[other] / first[name] * first[other])
        told = [piece.weight for piece in (*cause.evidence_for, *cause.evidence_against)]
        assert told == pytest.approx([weight] if abs(weight) > 0.5 else [], rel=0.01, abs=0.01)
        assert bool(cause.evidence_for) is (weight > 0.5)


def test_the_strongest_evidence_comes_first_and_what_tells_little_not_at_all() -> None:
    for cause in explain(at_liquid(33.0, 18.0)):
        for_it, against = (
            [abs(piece.weight) for piece in each] for each in (cause.evidence_for, cause.evidence_against)
        )
        for weights in (for_it, against):
            assert weights == sorted(weights, reverse=True)
            assert all(weight > 0.5 for weight in weights)


def test_two_at_once_are_two_that_can_be() -> None:
    """Too little and too much refrigerant are not; a valve that feeds too much is not paired."""
    for seen in ((30.0, 30.0), (10.0, 3.0), (33.0, 4.0), (20.0, 11.0)):
        (several,) = [cause for cause in explain(at_liquid(*seen)) if cause.fault is Fault.SEVERAL]
        assert len(several.together) == 2
        assert set(several.together) != {Fault.UNDERCHARGE, Fault.OVERCHARGE}
        assert Fault.OVERFEEDING not in several.together
