"""Lugs with a hexagon, against the tables in print."""

import pytest

from calc import catalogue
from calc.calculation import Unknown
from calc.errors import ArgumentError, CalcRangeError, UnknownNameError
from calc.wiring import Connector, hexagon_torque, socket_torque

LBF_IN_N_M = 0.112984829
INCH_M = 0.0254


@pytest.mark.parametrize(("gauge", "split_bolt", "other"), [
    ("18", 80, 75), ("16", 80, 75), ("14", 80, 75), ("12", 80, 75), ("10", 80, 75), ("8", 80, 75), ("6", 165, 110),
    ("4", 165, 110), ("3", 275, 150), ("2", 275, 150), ("1", 275, 150), ("1/0", 385, 180), ("2/0", 385, 180),
    ("3/0", 500, 250), ("4/0", 500, 250),
])  # fmt: skip
def test_hexagon_torque_as_printed(gauge, split_bolt, other):
    """NEC informative annex I, table I.1, as a generator's installation manual and a building authority print it."""
    for connector, lbf_in in ((Connector.SPLIT_BOLT, split_bolt), (Connector.OTHER, other)):
        found = hexagon_torque(gauge, connector)
        assert found.torque_n_m == pytest.approx(lbf_in * LBF_IN_N_M, rel=1e-6)
        assert "table I.1" in found.source


@pytest.mark.parametrize(("inch", "lbf_in", "n_m"), [
    (1 / 8, 45, 5.1), (5 / 32, 100, 11.4), (3 / 16, 120, 13.8), (7 / 32, 150, 17.0), (1 / 4, 200, 22.6),
    (5 / 16, 275, 31.1), (3 / 8, 375, 42.4), (1 / 2, 500, 56.5), (9 / 16, 600, 67.8),
])  # fmt: skip
def test_socket_torque_as_printed(inch, lbf_in, n_m):
    """NEC informative annex I, table I.3, as the same manual prints it; lug makers print 200, 275, 375 and 500 too."""
    for width_m in (inch * INCH_M, inch * INCH_M - 0.09e-3, inch * INCH_M + 0.09e-3):
        found = socket_torque(width_m)
        assert found.torque_n_m == pytest.approx(lbf_in * LBF_IN_N_M, rel=1e-6)
        assert found.torque_n_m == pytest.approx(n_m, abs=0.4)  # it rounds 11.3 to 11.4, 13.6 to 13.8
        assert "table I.3" in found.source


@pytest.mark.parametrize("millimetres", [5.0, 6.0, 7.0, 10.0, 6.24, 6.46])
def test_a_key_between_two_widths_is_refused(millimetres):
    with pytest.raises(
        ArgumentError, match=f"no socket of {millimetres:.2f} mm across the flats, only 1/8 in, 5/32 in"
    ):
        socket_torque(millimetres / 1000)


@pytest.mark.parametrize("inch", [0.12, 0.57])
def test_no_socket_of_the_table_is_so_narrow_or_so_wide(inch):
    with pytest.raises(CalcRangeError, match="the table's sockets are of 1/8 to 9/16 in"):
        socket_torque(inch * INCH_M)


def test_the_maker_wins():
    for found in (hexagon_torque("4", Connector.OTHER, maker_n_m=9.0), socket_torque(5e-3, maker_n_m=9.0)):
        assert (found.torque_n_m, found.source) == (9.0, "the maker")
    for wrong in (0.009, 1001.0):
        with pytest.raises(CalcRangeError, match="maker_n_m"):
            socket_torque(5e-3, maker_n_m=wrong)
    assert socket_torque(5e-3, maker_n_m=0.01).torque_n_m == 0.01
    assert hexagon_torque("4", Connector.OTHER, maker_n_m=1000.0).torque_n_m == 1000


def test_gauges_beyond_the_table():
    with pytest.raises(UnknownNameError, match=r"wire gauge of the torque table '20'.*up to 4/0"):
        hexagon_torque("20", Connector.OTHER)


def test_by_name_beside_the_slotted_screw():
    found = catalogue.run("hexagon_torque", {"gauge": "4 AWG", "connector": "box lug"}).values
    assert found["torque_n_m"] == pytest.approx(110 * LBF_IN_N_M)
    assert found["slotted_narrow_n_m"] == pytest.approx(35 * LBF_IN_N_M)  # table I.1
    assert found["slotted_wide_n_m"] == pytest.approx(45 * LBF_IN_N_M)
    assert "whole turn" in found["caution"]
    thick = catalogue.run("hexagon_torque", {"gauge": "2/0", "connector": "split_bolt"}).values
    assert thick["torque_n_m"] == pytest.approx(385 * LBF_IN_N_M)
    assert thick["slotted_wide_n_m"] == Unknown("slotted screws here go up to 2 AWG")
    key = catalogue.run("socket_torque", {"across_flats": "3/8 in"}).values
    assert key["torque_n_m"] == pytest.approx(375 * LBF_IN_N_M)
    assert (
        catalogue.run("socket_torque", {"across_flats": "3/8 in", "maker": "300 lbf in"}).values["says"] == "the maker"
    )
