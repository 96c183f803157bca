"""Aluminium conductors against tables in print, and beside copper."""

import math

import pytest

from calc import catalogue
from calc.calculation import Unknown
from calc.errors import CalcRangeError, UnknownNameError
from calc.wiring import Metal, ampacity, overcurrent_limit, smallest_conductor, voltage_drop
from calc.wiring.conductor import find
from tests.printed import published

AL = Metal.ALUMINIUM
ROWS = published("nec_aluminium_conductors.csv")


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["awg"])
def test_as_printed(row):
    """NEC table 310.16 (2023), 240.4(D), and chapter 9, table 8: each in two public transcriptions that agree."""
    for column in (60, 75, 90):
        assert ampacity(row["awg"], column, metal=AL) == float(row[f"{column}C"])
    resistance_ohm_per_m = find(row["awg"], AL).resistance_ohm_per_m
    assert resistance_ohm_per_m * 304.8 == pytest.approx(float(row["dcR_ohm_per_kft_75C_stranded"]))
    small_a = row["240.4(D)_max_OCPD"]
    if small_a:
        assert overcurrent_limit(row["awg"], 75, metal=AL).current_a == float(small_a)
        assert "240.4(D)" in overcurrent_limit(row["awg"], 75, metal=AL).source
    else:
        assert "240.4(B)" in overcurrent_limit(row["awg"], 75, metal=AL).source


def test_it_conducts_as_a_handbook_says_beside_copper():
    """Aluminium's conductivity is some 61 % of copper's (EC grade, many handbooks): the tables agree within 2 %."""
    for row in ROWS:
        share = find(row["awg"]).resistance_ohm_per_m / find(row["awg"], AL).resistance_ohm_per_m
        assert share == pytest.approx(0.61, rel=0.02)


def test_ambient_and_crowding_count_as_for_copper():
    """NEC table 310.15(B)(1): 0.88 of a 75 °C conductor at 36 to 40 °C; 0.80 for 4 to 6 conductors, 310.15(C)(1)."""
    warm_a = ampacity("4", 75, metal=AL, ambient_temperature_k=313.15, current_carrying=5)
    assert warm_a == pytest.approx(65 * 0.88 * 0.8, rel=5e-3)
    assert smallest_conductor(60.0, 75, metal=AL) == "4"
    assert smallest_conductor(60.0, 75, metal=AL, ambient_temperature_k=313.15) == "3"
    assert smallest_conductor(60.0, 75, metal=AL, current_carrying=5) == "3"
    assert overcurrent_limit("4", 75, metal=AL, ambient_temperature_k=313.15, current_carrying=5).current_a == 50


def test_the_tables_begin_at_12_awg():
    for gauge in ("14", "18"):
        with pytest.raises(UnknownNameError, match="wire gauge of the tables"):
            ampacity(gauge, 75, metal=AL)
    with pytest.raises(UnknownNameError, match=r"wire gauge with an ampacity '16'.*14 AWG, and thicker"):
        ampacity("16", 75)


def test_the_drop_of_100_ft():
    """2 R I, with R of table 8."""
    lost = voltage_drop("8", 30.48, current_a=31.0, circuit_v=240.0, phases=1, metal=AL)
    assert lost.drop_v == pytest.approx(2 * 0.128 * 31)


def test_by_name_beside_copper():
    ampacities = catalogue.run("aluminium_ampacity", {"gauge": "8", "column": "75 °C"}).values
    assert (ampacities["aluminium_a"], ampacities["copper_a"]) == (40, 50)
    assert ampacities["greatest_fuse_of_aluminium_a"] == 40
    assert "AL-CU" in ampacities["caution"]
    thin = catalogue.run("aluminium_conductor", {"current": "31 A", "column": "75"}).values
    assert (thin["aluminium_gauge"], thin["copper_gauge"]) == ("8 AWG", "10 AWG")
    assert (thin["aluminium_a"], thin["copper_a"]) == (40, 35)
    thick = catalogue.run("aluminium_conductor", {"current": "200 A", "column": "75"}).values
    assert (thick["copper_gauge"], isinstance(thick["aluminium_gauge"], Unknown)) == ("3/0 AWG", True)
    with pytest.raises(CalcRangeError, match="current is 300 A"):
        catalogue.run("aluminium_conductor", {"current": "300 A", "column": "75"})
    load = {"gauge": "8", "length": "100 ft", "current": "31 A", "circuit_voltage": "240 V", "phases": "1"}
    lost = catalogue.run("aluminium_voltage_drop", load).values
    assert lost["aluminium_drop_v"] == pytest.approx(7.936)
    assert lost["aluminium_drop_percent"] == pytest.approx(100 * 7.936 / 240)
    assert lost["copper_drop_v"] == pytest.approx(2 * 0.0778 * 31)
    assert math.isclose(lost["copper_drop_percent"], 100 * 2 * 0.0778 * 31 / 240)
