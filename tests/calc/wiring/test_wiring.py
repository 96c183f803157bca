"""Conductors and voltage drop against the tables of the code.

tests/published/awg_geometry.csv is ASTM B258's geometry, nec_conductors.csv NEC table 310.16, 240.4(D) and chapter 9,
table 8, as printed.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.errors import ArgumentError, CalcError, CalcRangeError, UnknownNameError
from calc.units import parse
from calc.wiring import (
    ampacity,
    awg_area_m2,
    awg_diameter_m,
    awg_number,
    overcurrent_limit,
    smallest_conductor,
    voltage_drop,
)
from calc.wiring.conductor import find
from tests.edges import check_edges
from tests.fuzzing import fuzz
from tests.printed import published

FOOT_M = 0.3048
GAUGES = ["14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0"]
COPPER_OHM_M_75C = 1.7241e-8 * (1 + 0.00393 * 55)
"""Annealed copper: resistivity at 20 °C and its temperature coefficient (IEC 60028)."""


@pytest.mark.parametrize("row", published("awg_geometry.csv"), ids=lambda row: row["awg"])
def test_geometry_of_solid_wire(row):
    assert awg_diameter_m(row["awg"]) * 1e3 == pytest.approx(float(row["dia_mm"]), rel=5e-4)
    assert awg_area_m2(row["awg"]) * 1e6 == pytest.approx(float(row["area_mm2"]), rel=5e-4)
    assert awg_area_m2(int(row["awg"])) == pytest.approx(parse(f"{row['circ_mils']} cmil", "area"), rel=5e-4)
    assert awg_area_m2(row["awg"]) == pytest.approx(parse(f"{row['awg']} AWG", "area"))


@pytest.mark.parametrize(
    ("gauge", "inch"), [("4/0", 0.46), ("1/0", 0.3249), ("1", 0.2893), ("24", 0.0201), ("36", 0.005)]
)
def test_geometry_of_thick_and_thin_wire(gauge, inch):
    """The table of solid copper wire in a public textbook of electric circuits."""
    assert awg_diameter_m(gauge) / 0.0254 == pytest.approx(inch, abs=6e-5)


@pytest.mark.parametrize("gauge", ["0", "5/0", "41", "14.5", "AWG", "", -1, 0])
def test_what_is_no_gauge(gauge):
    with pytest.raises(UnknownNameError, match="unknown wire gauge"):
        awg_diameter_m(gauge)


def test_spellings_of_a_gauge():
    assert {
        awg_number(text) for text in ("14", "14 AWG", "14awg", 14, " 14 ", "#14", "14 ga", "14 gauge", "AWG 14")
    } == {14}


@pytest.mark.parametrize("row", published("nec_conductors.csv"), ids=lambda row: row["awg"])
def test_tables_of_the_code(row):
    for column_c in (60, 75, 90):
        assert ampacity(row["awg"], column_c) == float(row[f"{column_c}C"])
    kilofoot_ohm = find(row["awg"]).resistance_ohm_per_m * 1000 * FOOT_M
    assert kilofoot_ohm == pytest.approx(float(row["dcR_ohm_per_kft_75C_stranded"]))
    small = row["240.4(D)_max_OCPD"]
    if small:
        assert overcurrent_limit(row["awg"], 75).current_a == float(small)


@pytest.mark.parametrize(("gauge", "sixty", "seventy_five", "ninety"), [
    ("3", 85, 100, 115), ("2", 95, 115, 130), ("1", 110, 130, 145), ("1/0", 125, 150, 170), ("2/0", 145, 175, 195),
    ("3/0", 165, 200, 225), ("4/0", 195, 230, 260),
])  # fmt: skip
def test_ampacity_of_thick_conductors(gauge, sixty, seventy_five, ninety):
    """NEC table 310.16 as two public transcriptions give it."""
    assert [ampacity(gauge, column_c) for column_c in (60, 75, 90)] == [sixty, seventy_five, ninety]


@pytest.mark.parametrize("gauge", ["18", "16", *GAUGES])
def test_resistance_is_that_of_copper_two_percent_longer_for_its_lay(gauge):
    solid_ohm_per_m = COPPER_OHM_M_75C / awg_area_m2(gauge)
    assert find(gauge).resistance_ohm_per_m == pytest.approx(1.02 * solid_ohm_per_m, rel=0.006)


@pytest.mark.parametrize(("band_end_c", "sixty", "seventy_five", "ninety"), [
    (10, 1.29, 1.20, 1.15), (15, 1.22, 1.15, 1.12), (20, 1.15, 1.11, 1.08), (25, 1.08, 1.05, 1.04), (30, 1, 1, 1),
    (35, 0.91, 0.94, 0.96), (40, 0.82, 0.88, 0.91), (45, 0.71, 0.82, 0.87), (50, 0.58, 0.75, 0.82),
    (55, 0.41, 0.67, 0.76), (60, None, 0.58, 0.71), (65, None, 0.47, 0.65), (70, None, 0.33, 0.58),
])  # fmt: skip
def test_ambient_correction_of_the_code_in_print(band_end_c, sixty, seventy_five, ninety):
    """Table 310.15(B)(1), as adopted in the Residential Code of Colorado 2021, table E3705.2."""
    for column_c, printed in ((60, sixty), (75, seventy_five), (90, ninety)):
        if printed:
            share = ampacity("10", column_c, ambient_temperature_k=273.15 + band_end_c) / ampacity("10", column_c)
            assert share == pytest.approx(printed, abs=0.0051)


@pytest.mark.parametrize(("count", "share"), [(3, 1), (4, 0.8), (7, 0.7), (10, 0.5), (21, 0.45), (31, 0.4)])
def test_crowded_raceways(count, share):
    """NEC 310.15(C)(1), as a public program for solar design transcribes it."""
    assert ampacity("10", 75, current_carrying=count) == pytest.approx(35 * share)


def test_a_textbooks_air_conditioner():
    """A textbook on the 2020 code: MCA 31.40 A, breaker at most 50 A, terminals of 75 °C: 10 AWG and 50 A."""
    gauge = smallest_conductor(31.4, 75)
    assert gauge == "10"
    assert overcurrent_limit(gauge, 75, article_440_mocp_a=50.0).current_a == 50
    assert overcurrent_limit(gauge, 75).current_a == 30


def test_a_hot_or_crowded_raceway_asks_for_more_copper():
    """Table 310.15(B)(1) prints 0.75 at 46 to 50 °C: of 35 A are left 26; 310.15(C)(1): 0.8 for four conductors."""
    assert smallest_conductor(31.0, 75) == "10"
    assert smallest_conductor(31.0, 75, ambient_temperature_k=323.15) == "8"
    assert smallest_conductor(31.0, 75, current_carrying=4) == "8"
    found = catalogue.run(
        "smallest_conductor", {"current": "31A", "column": "75", "ambient_temperature": "50degC"}
    ).values
    assert (found["gauge"], round(found["ampacity_a"])) == ("8 AWG", 37)
    assert overcurrent_limit("8", 75).current_a == 50
    assert overcurrent_limit("8", 75, ambient_temperature_k=323.15).current_a == 40  # 37 A, and the next rating
    assert overcurrent_limit("10", 75, current_carrying=21).current_a == 20  # 15.75 A: below the 30 A of 240.4(D)


@pytest.mark.parametrize(("amps", "within"), [("18A", True), ("18.5A", False)])
def test_three_percent_of_drop_is_advised(amps, within):
    """3 %: notes to NEC 210.19, from memory. 12 AWG, 100 ft, 240 V: 0.165 % an ampere, by table 8."""
    arguments = {"gauge": "12", "length": "100ft", "current": amps, "circuit_voltage": "240V", "phases": "1"}
    assert catalogue.run("voltage_drop", arguments).values["within_advice"] is within


def test_no_more_than_the_circuits_voltage_is_lost():
    """14 AWG, 3.14 ohm per 1000 ft (NEC chapter 9, table 8): 5000 ft and back are 31.4 ohm, and 120 V drive 3.82 A."""
    with pytest.raises(CalcRangeError, match=r"current_a is 100 A, outside 0 to 3\.82"):
        voltage_drop("14", 5000 * FOOT_M, current_a=100.0, circuit_v=120.0, phases=1)


def test_an_article_on_nameplates():
    """19.7 A of MCA: it takes 12 AWG, 25 A at 75 °C, which suffices; by the table 14 AWG, 20 A, does too."""
    assert ampacity("12", 75) >= 19.7
    assert smallest_conductor(19.7, 75) == "14"


def test_protection_above_the_small_conductors_is_the_next_rating():
    assert overcurrent_limit("2", 75).current_a == 125  # a tutorial on 240.4(B): 115 A may be protected with 125 A
    assert overcurrent_limit("8", 75).current_a == 50


@pytest.mark.parametrize(("gauge", "phases", "feet", "amps", "volts", "drop_v", "percent"), [
    ("12", 1, 100, 16, 240, 6.336, 2.64), ("10", 3, 150, 28, 208, 9.021, 4.34), ("14", 1, 50, 12, 120, 3.768, 3.14),
])  # fmt: skip
def test_voltage_drop(gauge, phases, feet, amps, volts, drop_v, percent):
    """Computed by hand from the stranded resistances of chapter 9, table 8."""
    lost = voltage_drop(gauge, feet * FOOT_M, current_a=amps, circuit_v=volts, phases=phases)
    assert (lost.drop_v, 100 * lost.ratio) == pytest.approx((drop_v, percent), abs=0.006)


def test_limits_of_a_drop():
    def drop(*, length_m=1.0, current_a=1.0, circuit_v=1e5):
        return voltage_drop("4/0", length_m, current_a=current_a, circuit_v=circuit_v, phases=1).drop_v

    check_edges(lambda length_m: drop(length_m=length_m), "length_m", 0.0, 1e4)
    check_edges(lambda amps: drop(current_a=amps), "current_a", 0.0, 1e4)
    check_edges(lambda volts: drop(circuit_v=volts), "circuit_v", 1.0, 1e5)
    assert drop(length_m=0.0, current_a=1e4, circuit_v=1.0) == 0.0  # 2 R I of nothing


@pytest.mark.parametrize(("call", "error", "message"), [
    (lambda: ampacity("18", 75), UnknownNameError, "wire gauge with an ampacity"),
    (lambda: ampacity("20", 75), UnknownNameError, "wire gauge of the tables"),
    (lambda: ampacity("14", 80), UnknownNameError, "column"),
    (lambda: ampacity("14", 60, ambient_temperature_k=330.0), CalcRangeError, "ambient_temperature_k"),
    (lambda: ampacity("14", 60, current_carrying=41), CalcRangeError, "current_carrying"),
    (lambda: smallest_conductor(300.0, 90), CalcRangeError, "carries no more"),
    (lambda: voltage_drop("12", 10.0, current_a=1.0, circuit_v=240.0, phases=2), ArgumentError, "one phase or three"),
])  # fmt: skip
def test_what_the_tables_do_not_hold(call, error, message):
    with pytest.raises(error, match=message):
        call()


@given(st.floats(1, 230), st.sampled_from([60, 75, 90]))
def test_the_smallest_conductor_carries_the_current_and_the_next_thinner_does_not(current_a, column_c):
    if current_a > ampacity("4/0", column_c):
        return
    place = GAUGES.index(smallest_conductor(current_a, column_c))
    assert ampacity(GAUGES[place], column_c) >= current_a
    if place:
        assert ampacity(GAUGES[place - 1], column_c) < current_a


@fuzz
@given(st.floats(), st.floats(), st.floats())
def test_any_numbers_give_an_answer_or_a_calc_error(first, second, third):
    for function in (
        lambda: ampacity("12", 75, ambient_temperature_k=first, current_carrying=second),
        lambda: overcurrent_limit("12", 75, article_440_mocp_a=first).current_a,
        lambda: ampacity(smallest_conductor(first, 75), 75),
        lambda: voltage_drop("12", first, current_a=second, circuit_v=third, phases=1).ratio,
    ):
        try:
            answer = function()
        except CalcError:
            continue
        assert math.isfinite(answer)
