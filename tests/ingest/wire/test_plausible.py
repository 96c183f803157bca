"""What a page takes for a figure: bounds wider than anything in this trade; common practice, no source."""

import math

import pytest

from ingest.wire.messages import MessageError, Pack, Reading
from ingest.wire.plausible import believable

TIME_S = 1.7e9
BOUNDS = {
    "suction_pressure": (0.0, 15e6),
    "barometric_pressure": (50e3, 110e3),
    "suction_line_temperature": (173.15, 523.15),
    "return_air_humidity": (0.0, 105.0),
    "compressor_current": (-2e3, 2e3),
    "line_voltage_ab": (-2e3, 2e3),
    "capacitance_herm": (0.0, 0.01),
    "cylinder_mass": (-10.0, 1e3),
    "multimeter_resistance": (0.0, 1e12),
    "external_static_pressure": (-5e3, 5e3),
    "supply_air_flow": (0.0, 100.0),
    "refrigerant_in_air": (0.0, 1.0),
    "superheat": (-1e4, 1e4),
    "compressor_load_ratio": (-1e4, 1e4),
}


def taken(name: str, value: float) -> float | None:
    """What of a value the page takes."""
    pack = Pack("van", 1, 1, 0, 0.0, TIME_S, {name: Reading(value, TIME_S)})
    return believable(pack).readings[name].value


@pytest.mark.parametrize("name", BOUNDS)
def test_a_figure_is_taken_up_to_its_bounds_and_none_beyond(name: str) -> None:
    low, high = BOUNDS[name]
    assert (taken(name, low), taken(name, high)) == (low, high)
    assert taken(name, math.nextafter(low, -math.inf)) is None
    assert taken(name, math.nextafter(high, math.inf)) is None


def test_the_reason_stands_where_a_figure_was_and_what_is_unknown_stays_so() -> None:
    silent = Reading(None, TIME_S - 9.0, "stale", "silent")
    pack = Pack("van", 1, 1, 0, 0.0, TIME_S, {"superheat": Reading(1e17, TIME_S - 1.0), "subcooling": silent})
    told = believable(pack).readings
    assert (told["superheat"].quality, told["superheat"].reason) == (
        "out_of_range",
        "no reading of this trade is so far off",
    )
    assert told["subcooling"] == silent


def test_a_pack_is_taken_from_1970_to_2096_and_of_no_other_time() -> None:
    for time_s in (0.0, 4e9):
        pack = Pack("van", 1, 1, 0, 0.0, time_s, {})
        assert believable(pack) == pack
    for time_s in (math.nextafter(0.0, -1.0), math.nextafter(4e9, math.inf), math.nan):
        with pytest.raises(MessageError, match="which is no time of ours"):
            believable(Pack("van", 1, 1, 0, 0.0, time_s, {}))
