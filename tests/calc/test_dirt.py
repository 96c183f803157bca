"""What slight dirt does: directions that the trade knows. A unit that is clean again: tests/calc/test_baseline.py."""

import pytest

from calc.dirt import slight_dirt

CONDENSER, AIRFLOW = "condenser fouling or low outdoor airflow", "low evaporator airflow"


@pytest.mark.parametrize("metering_device", ["txv", "eev", "none", "fixed_orifice"])
def test_dirt_moves_figures_as_the_trade_has_it(metering_device: str) -> None:
    """Dirt outdoors: head and amps up. Indoors: suction down, split up, the head a little down. From memory."""
    moved = slight_dirt(metering_device)
    assert moved.keys() == {CONDENSER, AIRFLOW}
    assert moved[CONDENSER]["condensing_over_outdoor"] > 2.0
    assert moved[CONDENSER]["compressor_load"] > 0.0
    assert moved[AIRFLOW]["suction_dew_point"] < -1.0
    assert moved[AIRFLOW]["air_split"] > 2.0
    assert moved[AIRFLOW]["condensing_over_outdoor"] < 0.0


def test_behind_an_orifice_it_lowers_the_superheat_and_behind_a_valve_it_does_not() -> None:
    for fault in (CONDENSER, AIRFLOW):
        assert slight_dirt("fixed_orifice")[fault]["superheat"] < -2.0
        assert slight_dirt("txv")[fault]["superheat"] == 0.0


def test_differences_are_of_kelvins_and_loads_of_no_unit() -> None:
    """Five in a hundred of the amps and 6 °F of head, behind a valve: sizes are common practice, no source."""
    moved = slight_dirt("txv")[CONDENSER]
    assert moved["compressor_load"] == 0.05
    assert moved["condensing_over_outdoor"] == pytest.approx(6.0 * 5 / 9)
