"""What no check can find is refused, with what bounds it and in which unit; what a meter may read is not."""

import math

import pytest

from ingest.visit.answers import value_name
from ingest.visit.bounds import check_values
from ingest.visit.checklist import guided
from ingest.visit.deciding import RefusedError
from tests.ingest.visit.checks import find

ATMOSPHERE_PA = 101_325.0
"""ISO 2533."""


def refused(check: str, name: str, value: float) -> tuple[str, str]:
    """What is said in either system of units."""
    with pytest.raises(RefusedError) as error:
        find(check, {name: value}, {})
    assert error.value.wording is not None
    assert str(error.value) == f"values: {name}: {error.value.wording.us}"
    return error.value.wording.us, error.value.wording.si


@pytest.mark.parametrize(
    ("check", "name", "value", "us", "si"),
    [
        ("panels", "screws.out", -3.0, "−3, which cannot be; at least 0 was expected", ""),
        ("panels", "screws.back", 1001.0, "1001, which cannot be; at most 1000 was expected", ""),
        ("panels", "screws.back", 7.5, "7.5; a whole number was expected", ""),
        ("as_it_was", "jumpers.in", -1.0, "at least 0", ""),
        ("capacitor_measured", "measured.fan", -5e-6, "−5 µF, which cannot be; at least 0 µF", ""),
        ("capacitor_measured", "measured.fan", 5.0, "at most 5000 µF", ""),
        ("look_first", "damper", 9.0, "9, which cannot be; at most 1", ""),
        ("motor_amps", "amps.a", -4.0, "−4 A, which cannot be; at least 0 A", ""),
        ("motor_amps", "turns", 0.0, "at least 1", ""),
        ("prove_dead", "volts.a_b", 5.1e3, "at most 5000 V", ""),
        ("windings", "ohms.start_common", -1.0, "at least 0", ""),
        ("conductor", "gauge", 41.0, "at most 40", ""),
        ("conductor", "gauge", -4.0, "at least −3", ""),
        ("which_unit", "circuits", 0.0, "at least 1", ""),
        ("power_back", "since_stop", -60.0, "at least 0", ""),
        ("opened", "weighed_in", -0.1, "at least 0", ""),
        ("opened", "vacuum", 2 * ATMOSPHERE_PA, "at most", "at most 1.1e+05 Pa"),
        ("air", "outdoor", 0.0, "at least −148 °F", "at least −100 °C"),
        ("opened", "nitrogen.start", -1e5, "at least −14.7 psi", "at least −101.3 kPa"),
        ("readings_before", "superheat", 1000.0, "at most 270 °F", "at most 150 K"),
    ],
)
def test_what_cannot_be_is_refused_with_the_bound_and_its_unit(
    check: str, name: str, value: float, us: str, si: str
) -> None:
    said_us, said_si = refused(check, name, value)
    assert us in said_us
    assert si in said_si


def test_a_meter_near_nothing_may_read_a_little_below_it() -> None:
    """By its usual ± limit, which the check states: 0.1 A for a clamp, 0.1 µF for a meter on capacitance."""
    checks = {word: one.check for word, one in guided().items()}
    check_values(checks["motor_amps"], {"amps.a": -0.1})
    check_values(checks["capacitor_measured"], {"measured.herm": -1e-7})
    check_values(checks["discharge"], {"volts.herm_fan": -420.0})  # the leads the other way round
    for name, check, value in (("amps.a", "motor_amps", -0.11), ("measured.herm", "capacitor_measured", -1.1e-7)):
        with pytest.raises(RefusedError):
            check_values(checks[check], {name: value})


def test_every_figure_of_every_check_is_bounded_on_both_sides() -> None:
    for one in guided().values():
        for figure in one.check.figures:
            for of in figure.per or ("",):
                for value in (-2e12, 2e12):
                    with pytest.raises(RefusedError, match="which cannot be"):
                        check_values(one.check, {value_name(figure, of): value})


def test_what_stands_on_a_roof_is_within_the_bounds() -> None:
    """Sizes in print: 4/0 to 40 AWG (ASTM B258), 600 V equipment (UL 1995, from memory), R-410A at 4.3 MPa."""
    checks = {word: one.check for word, one in guided().items()}
    for check, name, value in (
        ("conductor", "gauge", -3.0),
        ("conductor", "gauge", 40.0),
        ("supply", "running.a_b", 600.0),
        ("windings", "test_volts", 5000.0),
        ("opened", "nitrogen.start", 4.3e6),
        ("opened", "vacuum", ATMOSPHERE_PA),
        ("opened", "weighed_in", 500.0),
        ("look_first", "screws.control", 0.0),
        ("replacement", "hertz.new", 60.0),
        ("complaint", "outdoor", 233.15),
        ("windings", "to_case", 1e12),
        ("power_back", "since_stop", 365 * 86_400.0),
    ):
        assert math.isfinite(value)
        check_values(checks[check], {name: value})
