"""A maker's charging chart is looked up as the published table is: that one, entered as a chart, gives its values.

tests/published/target_superheat_degf.csv: California Title 24, RA3.2, in whole °F; its interpolated cases were computed
apart from this code.
"""

import math

import pytest

from calc.charging_chart import ChartPoint, check_chart, find_chart_superheat
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
    air = (Estimate(kelvin(float(row[name])), 0.2) for name in ("indoor_wb_F", "outdoor_db_F"))
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
        ([(63, 95, 8)], "two wet bulbs and two outdoor temperatures"),
        ([(63, 95, 8), (67, 95, 13)], "two wet bulbs and two outdoor temperatures"),
        ([(63, 85, 8), (63, 95, 13)], "two wet bulbs and two outdoor temperatures"),
        ([(63, 85, 8), (67, 95, 13), (67, 95, 12)], "67 °F wet bulb at 95 °F outdoors twice"),
    ],
)
def test_what_cannot_be_looked_up_is_no_chart(points, says):
    chart = [ChartPoint(kelvin(wet), kelvin(outdoor), ddegf * DDEGF) for wet, outdoor, ddegf in points]
    with pytest.raises(ArgumentError, match=says):
        check_chart(chart)
