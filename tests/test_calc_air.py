"""Air against the ASHRAE Handbook of Fundamentals, chapter 1, table 1 (values from memory)."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.air import barometric_pressure
from calc.errors import CalcRangeError


@pytest.mark.parametrize(
    ("elevation_m", "printed_kpa"),
    [(-500, 107.478), (0, 101.325), (500, 95.461), (1000, 89.875), (1500, 84.556), (3000, 70.108)],
)
def test_standard_atmosphere(elevation_m, printed_kpa):
    assert barometric_pressure(elevation_m) == pytest.approx(printed_kpa * 1e3, abs=1.0)


@pytest.mark.parametrize(("elevation_ft", "psia"), [(1000, 14.1727), (5280, 12.1002), (10000, 10.1066)])
def test_standard_atmosphere_in_psi(elevation_ft, psia):
    """Computed from the handbook's formula in inch-pound units."""
    assert barometric_pressure(elevation_ft * 0.3048) / 6894.757 == pytest.approx(psia, abs=2e-3)


@given(st.floats())
def test_any_elevation_gives_a_pressure_or_a_range_error(elevation_m):
    if -5000 <= elevation_m <= 11000:
        assert 2e4 < barometric_pressure(elevation_m) < 2e5
    else:
        with pytest.raises(CalcRangeError, match=r"elevation_m is .*, outside -5000 to 11000 m"):
            barometric_pressure(elevation_m)


def test_nan_is_no_elevation():
    with pytest.raises(CalcRangeError):
        barometric_pressure(math.nan)
