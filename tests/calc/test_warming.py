"""CO2 equivalents against the table of the US code, and against the blends' figures in trade."""

import pytest

from calc import catalogue
from calc.errors import CalcRangeError, UnknownNameError
from calc.estimate import Estimate
from calc.warming import BASES, co2_equivalent

TABLE = {"R-32": 675, "R-125": 3500, "R-134a": 1430, "R-143a": 4470}
"""40 CFR 98, table A-1, over 100 years; the exchange values of the AIM Act are the same."""


@pytest.mark.parametrize(
    ("refrigerant", "shares"),
    [("R-32", {"R-32": 1.0}), ("R-134a", {"R-134a": 1.0}), ("R-410A", {"R-32": 0.5, "R-125": 0.5}),
     ("R-404A", {"R-125": 0.44, "R-143a": 0.52, "R-134a": 0.04}),
     ("R-407C", {"R-32": 0.23, "R-125": 0.25, "R-134a": 0.52}), ("R-507A", {"R-125": 0.5, "R-143a": 0.5})],
)  # fmt: skip
def test_gwp_of_the_code_of_federal_regulations(refrigerant, shares):
    """A blend is the sum of its constituents by mass: 40 CFR 84.64(b)."""
    printed = sum(TABLE[component] * share for component, share in shares.items())
    assert co2_equivalent(refrigerant, Estimate(2.0, 0.0)).value == pytest.approx(2 * printed, abs=0.2)


@pytest.mark.parametrize(("refrigerant", "printed"), [("R-410A", 2088), ("R-454B", 466), ("R-404A", 3922)])
def test_figures_in_trade(refrigerant, printed):
    assert round(co2_equivalent(refrigerant, Estimate(1.0, 0.0)).value) == printed


def test_the_report_makes_a_difference_and_the_mass_brings_its_uncertainty():
    assert {co2_equivalent("R-32", Estimate(1.0, 0.0), report=report).value for report in BASES} == {675, 677, 771}
    found = co2_equivalent("R-32", Estimate(3.0, 0.1))
    assert found == Estimate(2025.0, 67.5)


@pytest.mark.parametrize("mass_kg", [-0.01, 100001.0])
def test_limits(mass_kg):
    with pytest.raises(CalcRangeError, match="mass_kg"):
        co2_equivalent("R-32", Estimate(mass_kg, 0.0))
    assert co2_equivalent("R-32", Estimate(0.0, 0.0)).value == 0.0
    assert co2_equivalent("R-32", Estimate(1e5, 0.0)).value == 675e5


def test_by_name():
    added = {"refrigerant": "R-410A", "mass": "10 lb", "mass_accuracy": "0.5 oz"}
    found = catalogue.run("co2_equivalent", added).values
    assert found["co2_equivalent_kg"].value == pytest.approx(10 * 0.45359237 * 2087.5)
    assert found["co2_equivalent_kg"].expanded() == pytest.approx(0.028349523 / 2 * 2087.5)
    assert "40 CFR 84.64" in found["basis"]
    newer = catalogue.run("co2_equivalent", added | {"report": "AR6"}).values
    assert newer["per_mass_ratio"] == pytest.approx(2255.5)
    assert "AR6" in newer["basis"]
    with pytest.raises(UnknownNameError, match="unknown report"):
        catalogue.run("co2_equivalent", added | {"report": "AR7"})
