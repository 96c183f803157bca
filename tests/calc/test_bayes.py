"""The probabilities of causes, worked out again by another way: fault by fault, integrating over how units answer.

How likely each is beforehand, and how a fault's changes vary (all of them together by 25 %, each by itself by 20 % and
at least 1 K, the liquid line 0.5 K, a load 0.02; what is not in the list moves a figure by 9 K, a load by 0.3): common
practice, no source. Bayes' rule is a theorem.
"""

import csv
import math
from collections.abc import Sequence
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
    "nothing wrong": 0.31,
    "undercharge": 0.12,
    "overcharge": 0.08,
    "low evaporator airflow": 0.10,
    "condenser fouling or low outdoor airflow": 0.10,
    "liquid-line restriction": 0.06,
    "compressor valve leakage": 0.06,
    "non-condensables": 0.06,
    "expansion valve that feeds too much": 0.05,
    "several at once": 0.04,
    "not one of these": 0.02,
}
SIZES = list(
    csv.DictReader((Path(__file__).parents[2] / "calc/data/fault_signatures.csv").read_text("utf-8").splitlines())
)
TOGETHER = np.linspace(-6.0, 6.0, 41)


def density(seen: np.ndarray, covariance: np.ndarray) -> float:
    return math.exp(-seen @ np.linalg.inv(covariance) @ seen / 2) / math.sqrt(np.linalg.det(covariance))


def of_a_fault(names: Sequence[str], seen: np.ndarray, spread: np.ndarray, change: np.ndarray) -> float:
    """Integrate over what all changes have in common; what each does by itself is added as JCGM 100 has it."""
    found = 0.0
    shares = np.exp(-(TOGETHER**2) / 2)
    for deviate, share in zip(TOGETHER, shares / shares.sum(), strict=True):
        mean = change * (1 + 0.25 * deviate)
        if list(names) == ["condensing_over_outdoor", "subcooling"]:
            condensing, subcooling = change
            head = (0.2 * condensing) ** 2 + 1.0
            liquid_line = (0.2 * (condensing - subcooling)) ** 2 + 0.25
            itself = np.array([[head, head], [head, head + liquid_line]])
        else:
            least = np.array([0.02 if name.endswith("_load") else 1.0 for name in names])
            itself = np.diag((0.2 * change) ** 2 + least**2)
        found += share * density(seen - mean, spread + itself)
    return found


def posterior(unit: Situation, kind: str = "valve") -> dict[str, float]:
    """What each cause comes to, by the definition."""
    found = departures(unit)
    names = [each.name for each in found.found]
    seen = np.array([each.departure.value for each in found.found])
    units = np.array([1.0 if name.endswith("_load") else DDEGF for name in names])
    least = np.array(
        [-each.expected.value if each.name in ("superheat", "subcooling") else -np.inf for each in found.found]
    )
    sizes: dict[str, list[np.ndarray]] = {}
    for row in SIZES:
        if row["metering"] == kind:
            sizes.setdefault(row["fault"], []).append(np.array([float(row[name]) for name in names]) * units)

    def likely(changes: list[np.ndarray]) -> float:
        return float(np.mean([of_a_fault(names, seen, found.covariance, np.maximum(it, least)) for it in changes]))

    unknown = np.diag([0.09 if name.endswith("_load") else 81.0 for name in names])
    pairs = [
        [first + second for first, second in product(sizes[one], sizes[other])]
        for one, other in combinations([fault for fault in sizes if not fault.startswith("expansion")], 2)
        if (one, other) != ("undercharge", "overcharge")
    ]
    likelihood = {
        "nothing wrong": density(seen, found.covariance),
        "not one of these": density(seen, found.covariance + unknown),
        "several at once": float(np.mean([likely(both) for both in pairs])),
        **{fault: likely(changes) for fault, changes in sizes.items()},
    }
    odds = {fault: PRIOR[fault] * likelihood[fault] for fault in likelihood}
    return {fault: part / sum(odds.values()) for fault, part in odds.items()}


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
    *(at_suction(superheat_f) for superheat_f in (12.0, 2.0, 18.0)),
    *(at_liquid(*seen) for seen in ((20.0, 11.0), (30.0, 12.0), (23.0, 16.0))),
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
    assert told == pytest.approx({fault: share / sum(possible.values()) for fault, share in possible.items()})


@pytest.mark.parametrize("superheat_f", [12.0, 2.0, 18.0, 30.0])
def test_of_one_figure_the_weight_is_by_what_it_changes_the_odds(superheat_f: float) -> None:
    """Posterior odds over prior odds, against a sound unit: Bayes' rule. What tells less than e^0.5 is left out."""
    unit = at_suction(superheat_f)
    by_rule = posterior(unit)
    likeliest = max((fault for fault in by_rule if fault != "nothing wrong"), key=lambda fault: by_rule[fault])
    for cause in explain(unit):
        other = likeliest if cause.fault is Fault.NOTHING_WRONG else "nothing wrong"
        name = cause.fault.value
        weight = math.log(by_rule[name] / by_rule[other] / PRIOR[name] * PRIOR[other])
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
