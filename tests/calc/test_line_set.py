"""Line sets: CoolProp itself, a manual's table of risers, and line-set charges in print."""

import math
from contextlib import suppress

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.errors import ArgumentError, CalcError, CalcRangeError
from calc.estimate import Estimate
from calc.line_set import line_set_charge, liquid_riser, riser_velocity
from calc.superheat import subcooling
from calc.tubes import OUTER_DIAMETERS_M, Temper, acr_bore_m, is_outer_diameter
from tests.fuzzing import fuzz

PSI, INCH_M, FOOT_M = 6894.757, 0.0254, 0.3048
WALL_SHARE_M = 2 * 0.003 * INCH_M / math.sqrt(3)


def exact(value):
    return Estimate(value, 0.0)


@pytest.mark.parametrize(
    ("outer_in", "soft_in", "hard_in"),
    [(0.25, 0.190, 0.190), (0.3125, 0.248, 0.248), (0.375, 0.311, 0.315), (0.5, 0.436, 0.430), (0.625, 0.555, 0.545),
     (0.75, 0.680, 0.666), (0.875, 0.785, 0.785), (1.125, 1.025, 1.025), (1.375, 1.265, 1.265),
     (1.625, 1.505, 1.505), (2.125, 1.985, 1.985), (2.625, 2.465, 2.465), (3.125, 2.945, 2.945),
     (3.625, 3.425, 3.425), (4.125, 3.905, 3.905)],
)  # fmt: skip
def test_bores_in_print(outer_in, soft_in, hard_in):
    """ASTM B280 as a reference prints it, 1/4 to 1 3/8 in; two as type L in a tube table; the rest from memory."""
    assert acr_bore_m(outer_in * INCH_M) / INCH_M == pytest.approx(soft_in)
    assert acr_bore_m(outer_in * INCH_M, Temper.HARD) / INCH_M == pytest.approx(hard_in)


def test_a_size_that_is_none():
    assert is_outer_diameter(0.375 * INCH_M)
    assert is_outer_diameter(9.5e-3)  # 3/8 in, to a tenth of a millimetre
    assert not is_outer_diameter(0.375 * INCH_M + 0.031e-3)
    assert not any(is_outer_diameter(bore_in * INCH_M) for bore_in in (0.311, 0.315, 0.436, 0.555, 0.785, 1.025))
    for outer_in in (0.44, 4.2, 0.2):
        with pytest.raises(CalcRangeError, match="the nearest size; tube is sold as"):
            acr_bore_m(outer_in * INCH_M)
    with pytest.raises(CalcRangeError) as refused:
        acr_bore_m(0.44 * INCH_M)
    assert (refused.value.low, refused.value.high) == pytest.approx((0.5 * INCH_M - 0.2e-3, 0.5 * INCH_M + 0.2e-3))
    assert pytest.approx((0.25 * INCH_M, 4.125 * INCH_M)) == OUTER_DIAMETERS_M
    assert acr_bore_m(0.375 * INCH_M + 0.19e-3) == acr_bore_m(0.375 * INCH_M)
    with pytest.raises(CalcRangeError, match="the nearest size"):
        acr_bore_m(0.375 * INCH_M + 0.21e-3)


@pytest.mark.parametrize(("written", "bore_in", "outer_in"), [
    ("0.311in", "0.311", "0.375"), ("7.9mm", "0.311", "0.375"),
    ("0.436in", "0.436", "0.5"), ("0.785in", "0.785", "0.875"),
])  # fmt: skip
def test_a_bore_is_not_taken_for_the_next_smaller_tube(written, bore_in, outer_in):
    """ASTM B280: 0.311 in inside 3/8 in tube lies 0.04 mm from 5/16 in, which holds 36 % less."""
    lines = {"refrigerant": "R-410A", "vapour_tube": "7/8in", "length": "80ft", "included_length": "15ft"}
    with pytest.raises(
        ArgumentError, match=rf"{bore_in} in \(.* mm\) is the bore of {outer_in} in tube: write the outer"
    ):
        catalogue.run("line_set", {**lines, "liquid_tube": written})
    with pytest.raises(ArgumentError, match=r"3.905 in \(99.2 mm\) is the bore of 4.125 in tube"):
        acr_bore_m(3.905 * INCH_M)


@pytest.mark.parametrize(
    ("written", "bore_in"), [("5/16in", 0.248), ("7.94mm", 0.248), ("8mm", 0.248), ("9.5mm", 0.311)]
)
def test_millimetres_of_the_trade_are_the_inches_meant(written, bore_in):
    """ASTM B280's bores; 5/16 in are 7.9375 mm, 3/8 in 9.525 mm."""
    lines = {"refrigerant": "R-410A", "vapour_tube": "7/8in", "length": "80ft", "included_length": "15ft"}
    found = catalogue.run("line_set", {**lines, "liquid_tube": written}).values
    assert found["liquid_bore_m"] == pytest.approx(bore_in * INCH_M)


LINES = {"included_length_m": 4.572, "liquid_bore_m": 0.311 * INCH_M, "vapour_bore_m": 0.785 * INCH_M,
         "liquid_temperature_k": 310.928, "suction_pressure_pa": 9e5, "suction_temperature_k": 284.0}  # fmt: skip


def lines(refrigerant="R-410A", length_m=19.812, u_m=0.0, **changed):
    return line_set_charge(refrigerant, Estimate(length_m, u_m), **LINES | changed)


@pytest.mark.parametrize(("refrigerant", "fluid", "oz_per_ft"), [("R-410A", "R410A", 0.521), ("R-32", "R32", 0.476)])
def test_what_both_lines_hold_by_the_equation_of_state(refrigerant, fluid, oz_per_ft):
    """50 ft beyond the maker's: densities of CoolProp; liquid per foot as computed with it for a table of lines."""
    found = lines(refrigerant)
    liquid = PropsSI("D", "T", 310.928, "Q", 0, fluid) * math.pi / 4 * (0.311 * INCH_M) ** 2 * 15.24
    vapour = PropsSI("D", "T", 284.0, "P", 9e5, fluid) * math.pi / 4 * (0.785 * INCH_M) ** 2 * 15.24
    assert found.liquid.value == pytest.approx(liquid, rel=2e-3)
    assert found.vapour.value == pytest.approx(vapour, rel=1e-2)
    assert found.total.value == pytest.approx(found.liquid.value + found.vapour.value)
    assert found.vapour_share_ratio == pytest.approx(found.vapour.value / found.total.value)
    assert found.beyond_m == pytest.approx(15.24)
    assert found.liquid.value / 0.028349523 / 50 == pytest.approx(oz_per_ft, abs=2e-3)


def test_walls_and_length_count():
    """2 x 0.003 in of wall, as likely anywhere within: JCGM 100, 4.3.7; the length moves both lines together."""
    by_wall = lines()
    assert by_wall.liquid.standard_uncertainty / by_wall.liquid.value == pytest.approx(
        2 * WALL_SHARE_M / (0.311 * INCH_M), rel=1e-3
    )
    assert by_wall.vapour.standard_uncertainty / by_wall.vapour.value == pytest.approx(
        2 * WALL_SHARE_M / (0.785 * INCH_M), rel=1e-3
    )
    assert by_wall.total.standard_uncertainty == pytest.approx(
        math.hypot(by_wall.liquid.standard_uncertainty, by_wall.vapour.standard_uncertainty)
    )
    longer = lines(u_m=2.0)
    moved = by_wall.total.value * 2.0 / 15.24
    assert longer.total.standard_uncertainty == pytest.approx(
        math.hypot(by_wall.total.standard_uncertainty, moved), rel=1e-3
    )


def test_shorter_lines_take_less_than_the_nameplates_charge():
    assert lines(length_m=3.0).total.value < 0
    assert lines(length_m=4.572).total.value == 0.0


@pytest.mark.parametrize(
    ("which", "low", "high"),
    [("length_m", 0.0, 300.0), ("included_length_m", 0.0, 300.0), ("liquid_bore_m", 1e-3, 0.11),
     ("vapour_bore_m", 1e-3, 0.11)],
)  # fmt: skip
def test_limits_of_lines(which, low, high):
    for edge, beyond in ((low, 0.99 * low - 1e-6), (high, min(1.01 * high, high + 0.5))):
        assert math.isfinite(lines(**{which: edge}).total.value)
        with pytest.raises(CalcRangeError, match=which.removesuffix("_m")):
            lines(**{which: beyond})


WARM_K = 316.483  # 110 °F


def riser(refrigerant, pressure_pa, kelvin, rise_ft, loss_pa=0.0, u_pa=0.0, u_k=0.0):
    return liquid_riser(
        refrigerant, Estimate(pressure_pa, u_pa), liquid_temperature=Estimate(kelvin, u_k),
        rise=exact(rise_ft * FOOT_M), other_loss=exact(loss_pa),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("refrigerant", "fluid", "rise_ft", "psi", "cooler_f"),
    [("R-134a", "R134a", 10, 4.9, 2.0), ("R-134a", "R134a", 50, 24.6, 11.0), ("R-134a", "R134a", 100, 49.1, 23.7),
     ("R-22", "R22", 10, 4.8, 1.6), ("R-22", "R22", 30, 14.5, 4.7), ("R-22", "R22", 100, 48.4, 16.5),
     ("R-404A", "R404A", 50, 20.4, 5.6), ("R-404A", "R404A", 100, 40.8, 11.8)],
)  # fmt: skip
def test_risers_in_a_manual(refrigerant, fluid, rise_ft, psi, cooler_f):
    """A refrigeration manual's table, of liquid at 110 °F: pressure within 1 % or 0.1 psi, temperature 0.4 °F."""
    found = riser(refrigerant, PropsSI("P", "T", WARM_K, "Q", 0, fluid), WARM_K, rise_ft)
    assert found.head.value / PSI == pytest.approx(psi, rel=0.01, abs=0.1)
    lost_dk = found.subcooling_below.value - found.subcooling_above.value
    assert lost_dk * 1.8 == pytest.approx(cooler_f, abs=0.4)


def test_other_losses_count_and_a_fall_gives_back():
    up, down = riser("R-410A", 25e5, 308.0, 30.0), riser("R-410A", 25e5, 308.0, -30.0)
    assert up.head.value == -down.head.value
    assert down.subcooling_above.value > down.subcooling_below.value == up.subcooling_below.value
    lost = riser("R-410A", 25e5, 308.0, 0.0, loss_pa=up.head.value)
    assert lost.subcooling_above.value == pytest.approx(up.subcooling_above.value, abs=1e-6)
    pressed_k = PropsSI("T", "P", 25e5 - up.head.value, "Q", 0, "R410A")
    assert up.subcooling_above.value == pytest.approx(pressed_k - 308.0, abs=2e-3)


@pytest.mark.parametrize(
    ("left_dk", "says"), [(1.0, "liquid arrives"), (0.1, "cannot tell"), (-0.1, "cannot tell"), (-1.0, "it boils")]
)
def test_what_is_left_is_judged_with_its_uncertainty(left_dk, says):
    """JCGM 106: within its ± nobody can tell."""
    left_k = riser("R-32", 25e5, 300.0, 30.0).subcooling_above.value + 300.0
    found = riser("R-32", 25e5, left_k - left_dk, 30.0, u_k=0.3)
    assert found.subcooling_above.value == pytest.approx(left_dk, abs=0.1)
    assert says in found.finding


def test_what_the_readings_of_a_riser_leave_open():
    slope = (PropsSI("T", "P", 25.1e5, "Q", 0, "R32") - PropsSI("T", "P", 24.9e5, "Q", 0, "R32")) / 2e4
    found = riser("R-32", 25e5, 305.0, 0.0, u_pa=24e3, u_k=0.25)
    expected = math.sqrt((24e3 * slope) ** 2 + 0.25**2 + 0.02**2)  # 0.02 K: the model's own
    assert found.subcooling_below.standard_uncertainty == pytest.approx(expected, rel=1e-2)
    unsure = liquid_riser("R-32", exact(25e5), liquid_temperature=exact(305.0), rise=Estimate(10.0, 1.0),
                          other_loss=Estimate(5e4, 2e4))  # fmt: skip
    assert unsure.head.standard_uncertainty == pytest.approx(unsure.head.value / 10)
    slope_above = slope * 1.06
    expected = math.hypot(unsure.head.standard_uncertainty, 2e4) * slope_above
    assert unsure.subcooling_above.standard_uncertainty == pytest.approx(expected, rel=0.05)


def test_a_rise_that_takes_off_more_than_there_is():
    with pytest.raises(ArgumentError, match="no liquid R-32 there"):
        liquid_riser("R-32", exact(4e5), liquid_temperature=exact(250.0), rise=exact(40.0), other_loss=exact(0.0))
    with pytest.raises(ArgumentError, match="no liquid R-32 there"):
        liquid_riser("R-32", exact(4e5), liquid_temperature=exact(250.0), rise=exact(0.0), other_loss=exact(3.9e5))
    with pytest.raises(CalcRangeError, match="no saturation known"):
        liquid_riser("R-32", exact(2e4), liquid_temperature=exact(250.0), rise=exact(-40.0), other_loss=exact(0.0))


@pytest.mark.parametrize(
    ("rise_m", "loss_pa", "name"),
    [(-60.1, 0.0, "rise"), (60.1, 0.0, "rise"), (1.0, -0.1, "other_loss"), (1.0, 5e5 + 0.5, "other_loss")],
)
def test_limits_of_a_riser(rise_m, loss_pa, name):
    def at(rise_m, loss_pa):
        return liquid_riser("R-410A", exact(25e5), liquid_temperature=exact(305.0), rise=exact(rise_m),
                            other_loss=exact(loss_pa))  # fmt: skip

    with pytest.raises(CalcRangeError, match=name):
        at(rise_m, loss_pa)
    assert at(-60.0, 0.0).subcooling_above.value > at(60.0, 5e5).subcooling_above.value


GAS = {"bore_m": 0.785 * INCH_M, "suction_pressure": exact(9e5), "suction_temperature": exact(284.0),
       "liquid_temperature_k": 308.0}  # fmt: skip


@pytest.mark.parametrize(("refrigerant", "fluid"), [("R-410A", "R410A"), ("R-32", "R32"), ("R-22", "R22")])
def test_velocity_by_the_equation_of_state(refrigerant, fluid):
    """Mass flow by enthalpies, velocity by density of CoolProp: 1 %."""
    pressure_pa = {"R22": 6e5}.get(fluid, 9e5)
    taken_up = PropsSI("H", "P", pressure_pa, "T", 284.0, fluid) - PropsSI("H", "T", 308.0, "Q", 0, fluid)
    density = PropsSI("D", "P", pressure_pa, "T", 284.0, fluid)
    found = riser_velocity(refrigerant, exact(10550.0), **GAS | {"suction_pressure": exact(pressure_pa)})
    assert found.mass_flow_kg_per_s == pytest.approx(10550.0 / taken_up, rel=5e-3)
    by_hand = 10550.0 / taken_up / density / (math.pi / 4 * (0.785 * INCH_M) ** 2)
    assert found.velocity.value == pytest.approx(by_hand, rel=0.01)


def test_below_a_rise_it_is_the_subcooling_that_everybody_reads():
    instruments = {"pressure_standard_uncertainty_pa": 0.0, "temperature_standard_uncertainty_k": 0.0}
    read = subcooling("R-32", 25e5, liquid_line_temperature_k=305.0, **instruments)
    below = riser("R-32", 25e5, 305.0, 30.0, loss_pa=2e4).subcooling_below
    assert below.value == pytest.approx(read.value, rel=1e-9)
    assert below.standard_uncertainty == pytest.approx(read.standard_uncertainty, rel=1e-9)


def test_the_bore_alone_leaves_open():
    found = riser_velocity("R-410A", exact(10550.0), **GAS).velocity
    assert found.standard_uncertainty / found.value == pytest.approx(2 * WALL_SHARE_M / (0.785 * INCH_M), rel=1e-3)


@pytest.mark.parametrize(("ft_per_min", "inside", "says"), [(1000, 1, "slow"), (4000, -1, "fast")])
def test_its_limits_to_a_hair(ft_per_min, inside, says):
    """JCGM 106: a limit holds with 90 % at 1.2816 standard uncertainties inside it, and is broken as far outside."""
    found = riser_velocity("R-410A", exact(10550.0), **GAS).velocity
    share = found.standard_uncertainty / found.value
    for side, told in ((inside, "within what"), (-inside, says)):
        at_edge = 10550.0 * ft_per_min * FOOT_M / 60 / found.value / (1 - side * 1.28155 * share)
        for hair, wanted in ((side * 1e-4, told), (-side * 1e-4, "cannot tell")):
            finding = riser_velocity("R-410A", exact(at_edge * (1 + hair)), **GAS).finding
            assert finding.startswith(wanted)


def test_what_its_readings_leave_open():
    found = riser_velocity("R-410A", Estimate(10550.0, 500.0), **GAS | {"suction_pressure": Estimate(9e5, 12e3)})
    relative = math.sqrt((500 / 10550) ** 2 + (2 * WALL_SHARE_M / (0.785 * INCH_M)) ** 2 + (12e3 / 9e5 * 1.1) ** 2)
    assert found.velocity.standard_uncertainty / found.velocity.value == pytest.approx(relative, rel=0.03)


@pytest.mark.parametrize(
    ("share", "says"),
    [(0.95, "slow"), (0.99, "cannot tell"), (1.01, "cannot tell"), (1.05, "within what the trade press has"),
     (3.8, "within what the trade press has"), (4.2, "fast")],
)  # fmt: skip
def test_a_thousand_feet_a_minute_and_four(share, says):
    """500 and 1,000 ft/min at least, level and upward, and 4,000 at most: the trade press."""
    at_one = 10550.0 * (1000 * FOOT_M / 60) / riser_velocity("R-410A", exact(10550.0), **GAS).velocity.value
    assert says in riser_velocity("R-410A", exact(share * at_one), **GAS).finding


@pytest.mark.parametrize(
    ("capacity_w", "bore_m", "name"),
    [(99.0, 0.02, "capacity_w"), (1e6 + 0.5, 0.02, "capacity_w"), (1e4, 0.9e-3, "bore_m"), (1e4, 0.12, "bore_m")],
)
def test_limits_of_a_suction_riser(capacity_w, bore_m, name):
    with pytest.raises(CalcRangeError, match=name):
        riser_velocity("R-410A", exact(capacity_w), **GAS | {"bore_m": bore_m})
    slowest = riser_velocity("R-410A", exact(100.0), **GAS | {"bore_m": 0.11})
    fastest = riser_velocity("R-410A", exact(1e6), **GAS | {"bore_m": 1e-3})
    assert (slowest.finding.split(":")[0], fastest.finding.split(":")[0]) == ("slow", "fast")


def test_by_name():
    tubes = {"refrigerant": "R-410A", "liquid_tube": "3/8in", "vapour_tube": "7/8in", "included_length": "15 ft"}
    found = catalogue.run("line_set", tubes | {"length": "65 ft"}).values
    assert found["of_that_liquid_kg"].value / 0.028349523 / 50 == pytest.approx(0.521, abs=2e-3)
    assert 0.1 < found["vapour_share_ratio"] < 0.25
    assert "more than the nameplate" in found["says"]
    shorter = catalogue.run("line_set", tubes | {"length": "10 ft"}).values
    assert "less than the nameplate" in shorter["says"]
    hard = catalogue.run("line_set", tubes | {"length": "65 ft", "temper": "hard"}).values
    assert hard["liquid_bore_m"] / INCH_M == pytest.approx(0.315)
    up = {"refrigerant": "R-22", "liquid_pressure": "226 psig", "liquid_line_temperature": "110 degF", "rise": "100 ft"}
    head = catalogue.run("liquid_riser", up).values
    assert head["riser_head_swing_dpa"] / PSI == pytest.approx(48.4, abs=0.2)
    assert "it boils" in head["finding"]
    gas = {"refrigerant": "R-410A", "capacity": "3 ton", "tube": "7/8in", "suction_pressure": "118 psig",
           "suction_line_temperature": "50 degF", "liquid_line_temperature": "97 degF"}  # fmt: skip
    velocity = catalogue.run("suction_riser", gas).values["velocity_m_per_s"]
    assert velocity.value * 60 / FOOT_M == pytest.approx(1160, rel=0.01)
    assert velocity.expanded() / velocity.value == pytest.approx(0.154, abs=0.01)


@fuzz
@given(st.tuples(*(st.floats(),) * 6))
def test_any_numbers_give_an_answer_or_a_calc_error(numbers):
    with suppress(CalcError):
        assert np.isfinite(
            lines(length_m=numbers[0], liquid_bore_m=numbers[1], suction_pressure_pa=numbers[2]).total.value
        )
    with suppress(CalcError):
        assert riser("R-410A", *numbers[:3], loss_pa=numbers[3], u_pa=numbers[4], u_k=numbers[5]).finding
    with suppress(CalcError):
        assert riser_velocity("R-32", Estimate(*numbers[:2]), **GAS | {"bore_m": numbers[2]}).finding
