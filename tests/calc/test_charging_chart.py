"""A maker's charging chart is looked up as the published table is: that one, entered as a chart, gives its values.

tests/published/target_superheat_degf.csv: California Title 24, RA3.2, in whole °F; its interpolated cases were computed
apart from this code.
"""

import math
import statistics

import pytest

from calc.charging_chart import ChartPoint, check_chart, find_chart_superheat, find_unusual, parse_chart
from calc.errors import ArgumentError
from calc.estimate import Estimate
from calc.targets import NoTarget, Target
from tests.fahrenheit import DDEGF, kelvin
from tests.printed import published

PRINTED = [
    (float(name.removeprefix("wb_")), float(row["outdoor_db_F"]), float(value) if value else None)
    for row in published("target_superheat_degf.csv")
    for name, value in row.items()
    if name != "outdoor_db_F"
]
CHART = [
    ChartPoint(kelvin(wet_bulb_degf), kelvin(outdoor_degf), printed_ddegf * DDEGF)
    for wet_bulb_degf, outdoor_degf, printed_ddegf in PRINTED
    if printed_ddegf is not None
]


@pytest.mark.parametrize("row", published("target_superheat_interpolation_cases.csv"), ids=lambda row: str(row))
def test_a_chart_is_looked_up_between_what_is_printed_of_it(row):
    """The table of California Title 24, RA3.2, entered as if it were a maker's chart, in whatever order."""
    air_degf = [float(row[name]) for name in ("indoor_wb_F", "outdoor_db_F")]
    air = (Estimate(kelvin(it), 0.2) for it in air_degf)
    found = find_chart_superheat(CHART[::-1], *air)
    printed = row["bilinear_F_or_blank_if_any_corner_is_dash"]
    if not printed:
        assert isinstance(found, NoTarget)
        assert "as it was entered, is blank" in str(found.reason)
        return
    assert isinstance(found, Target)
    assert found.value.value / DDEGF == pytest.approx(float(printed), abs=0.06)
    assert found.source == "the maker's charging chart"
    assert found.value.contributions["table_rounding"] == pytest.approx(0.5 / math.sqrt(3) * DDEGF)  # JCGM 100, 4.3.7


@pytest.mark.parametrize(("wet_bulb_degf", "outdoor_degf"), [(49.0, 85.0), (77.0, 85.0), (67.0, 54.0), (67.0, 116.0)])
def test_beyond_a_chart_there_is_no_target(wet_bulb_degf, outdoor_degf):
    """The table of Title 24 runs from 50 to 76 °F wet bulb and from 55 to 115 °F outdoors."""
    found = find_chart_superheat(CHART, Estimate(kelvin(wet_bulb_degf), 0.2), Estimate(kelvin(outdoor_degf), 0.2))
    assert isinstance(found, NoTarget)
    assert "runs from 50 °F to 76 °F wet bulb and 55 °F to 115 °F outdoors" in str(found.reason)


@pytest.mark.parametrize(
    ("points", "says"),
    [
        ([], "needs one value at least"),
        ([(63, 85, 8), (67, 95, 13), (67, 95, 12)], "67 °F wet bulb at 95 °F outdoors twice"),
    ],
)
def test_what_cannot_be_looked_up_is_no_chart(points, says):
    chart = [ChartPoint(kelvin(wet), kelvin(outdoor), ddegf * DDEGF) for wet, outdoor, ddegf in points]
    with pytest.raises(ArgumentError, match=says):
        check_chart(chart)


def at(chart, wet_bulb_degf, outdoor_degf):
    return find_chart_superheat(chart, Estimate(kelvin(wet_bulb_degf), 0.0), Estimate(kelvin(outdoor_degf), 0.0))


def test_one_value_holds_for_a_step_around_it_with_what_the_way_to_it_leaves_open():
    """Of the table of Title 24 each value alone, against all that the table itself has within a step of it."""
    off, outside = [], 0
    steps = [(x, y) for x in (-2, -1, 0, 1, 2) for y in (-5, -2.5, 0, 2.5, 5) if (x, y) != (0, 0)]
    for alone in CHART:
        wet_degf, outdoor_degf = (it / DDEGF - 459.67 for it in alone[:2])
        for wet, outdoor in ((wet_degf + x, outdoor_degf + y) for x, y in steps):
            by_table, by_one = at(CHART, wet, outdoor), at([alone], wet, outdoor)
            if isinstance(by_table, Target):
                assert isinstance(by_one, Target)
                off.append((by_one.value.value - by_table.value.value) / DDEGF)
                outside += abs(off[-1]) * DDEGF > by_one.value.estimate.expanded()
    assert len(off) > 2000
    assert outside / len(off) < 0.05  # k = 2
    assert abs(statistics.fmean(off)) < 0.1
    assert statistics.pstdev(off) < 1.0  # in °F
    exactly = at(CHART[:1], *(it / DDEGF - 459.67 for it in CHART[0][:2]))
    assert exactly.value.value == pytest.approx(CHART[0].superheat_dk)
    assert exactly.value.estimate.standard_uncertainty == pytest.approx(0.5 / math.sqrt(3) * DDEGF)  # JCGM 100, 4.3.7
    assert isinstance(at(CHART[:1], 52.2, 55.0), NoTarget)
    assert isinstance(at(CHART[:1], 50.0, 60.2), NoTarget)
    assert isinstance(at(made((64, 95, 1)), 63.0, 96.0), NoTarget)  # by then liquid would come back


def made(*printed):
    return [ChartPoint(kelvin(wet), kelvin(outdoor), ddegf * DDEGF) for wet, outdoor, ddegf in printed]


def test_one_row_is_looked_up_along_it_and_says_how_far_it_holds():
    """Along the row of 95 °F in Title 24's table: 10, 14 and 18 °F at 66, 68 and 70 °F wet bulb."""
    row = made((66, 95, 14), (68, 95, 18), (64, 95, 10))
    assert at(row, 67.0, 95.0).value.value / DDEGF == pytest.approx(16.0)
    assert at(row, 67.0, 97.5).value.value / DDEGF == pytest.approx(15.0, abs=0.5)  # 14.75 in the table, to 100 °F
    beyond = at(row, 67.0, 100.1)
    assert isinstance(beyond, NoTarget)
    assert "64 °F to 68 °F wet bulb and 90 °F to 100 °F outdoors" in str(beyond.reason)


def test_values_of_two_days_each_hold_by_themselves():
    days = made((68, 95, 18), (64, 80, 15))  # Title 24
    assert at(days, 68.0, 95.0).value.value / DDEGF == pytest.approx(18.0)
    assert at(days, 69.0, 95.0).value.value / DDEGF == pytest.approx(20.0, abs=0.5)
    assert at(days, 64.0, 80.0).value.value / DDEGF == pytest.approx(15.0)
    assert isinstance(at(days, 66.0, 88.0), NoTarget)


def test_what_no_published_table_does_is_found():
    """In every row and column of Title 24's table superheat rises with the wet bulb, and falls as it gets hotter."""
    assert find_unusual(CHART[::-1]) is None
    slip = made((64, 95, 10), (66, 95, 41), (68, 95, 18))
    assert find_unusual(slip) == (slip[1], slip[2])
    hotter = made((64, 95, 10), (64, 85, 9))
    assert find_unusual(hotter) == (hotter[1], hotter[0])
    assert find_unusual(made((64, 95, 10), (66, 85, 9))) is None  # of no common line


def test_a_chart_is_read_as_it_is_printed():
    assert parse_chart("", "degF", "degF") == []
    (first, second) = parse_chart("63/85 14 | 19.5/35 5.5", "degC", "K")
    assert first[:2] == pytest.approx((336.15, 358.15))
    assert second == pytest.approx((292.65, 308.15, 5.5))
    with pytest.raises(ArgumentError, match="'63/ 14' in the chart: wet bulb/outdoors superheat was expected"):
        parse_chart("63/ 14", "degF", "degF")
