"""The limits of conductors to their last step: crowding, ambient, gauges, fuses."""

import pytest

from calc.errors import CalcRangeError, UnknownNameError
from calc.wiring import ampacity, awg_diameter_m, overcurrent_limit, smallest_conductor
from calc.wiring.conductor import awg_number
from tests.edges import check_edges


@pytest.mark.parametrize(("fewest", "most", "share"), [
    (1, 3, 1.0), (4, 6, 0.8), (7, 9, 0.7), (10, 20, 0.5), (21, 30, 0.45), (31, 40, 0.4),
])  # fmt: skip
def test_crowding_as_printed(fewest, most, share):
    """NEC 310.15(C)(1): 80, 70, 50, 45 and 40 % of the ampacity from 4, 7, 10, 21 and 31 conductors on."""
    for count in (fewest, most):
        assert ampacity("4", 75, current_carrying=count) == pytest.approx(85 * share)
    for beyond in (0, 41):
        with pytest.raises(CalcRangeError, match="current_carrying"):
            ampacity("4", 75, current_carrying=beyond)


def test_what_is_not_said_is_30_degc():
    """The table's own; 130 A of 1 AWG times 0.7 are 91 A, next up 100; at 31 °C it would be 89.98 A, next up 90."""
    assert ampacity("4", 75) == 85
    assert smallest_conductor(85.0, 75) == "4"
    assert overcurrent_limit("1", 75, current_carrying=7).current_a == 100


def test_the_small_conductor_rule_is_told_where_both_say_the_same():
    """NEC 240.4(D): 15 A for 14 AWG, whose 15 A of the 60 °C column are a standard rating too."""
    assert overcurrent_limit("14", 60).source == "small conductor: NEC 240.4(D)"


@pytest.mark.parametrize("column", [60, 75, 90])
def test_the_ambient_ends_5_k_below_the_column(column):
    """At -40 °C, and where the conductor would carry next to nothing: limits of ours."""
    check_edges(
        lambda kelvin: ampacity("4", column, ambient_temperature_k=kelvin),
        "ambient_temperature_k", 233.15, column + 273.15 - 5,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("text", "number"), [("1/0", 0), ("4/0", -3), ("1", 1), ("40", 40), ("#14", 14), ("14 ga", 14)]
)
def test_gauges_of_astm_b258(text, number):
    assert awg_number(text) == number
    assert awg_diameter_m(text) > 0


@pytest.mark.parametrize("text", ["0/0", "5/0", "0", "41", "14 mm", "", "1/1"])
def test_what_is_no_gauge_is_refused_with_those_that_are(text):
    with pytest.raises(UnknownNameError, match=r"It may be 4/0, 3/0, 2/0, 1/0, 1 to 40$"):
        awg_number(text)


def test_fuses_of_a_unit_are_standard_ones():
    """NEC 240.6(A): 15 to 6000 A."""
    check_edges(lambda amps: overcurrent_limit("4", 75, article_440_mocp_a=amps), "article_440_mocp_a", 15.0, 6000.0)


def test_the_current_that_one_conductor_carries():
    """NEC table 310.16: 230 A of 4/0 AWG copper at 75 °C."""
    check_edges(lambda amps: smallest_conductor(amps, 75), "current_a", 1e-6, 230.0)
