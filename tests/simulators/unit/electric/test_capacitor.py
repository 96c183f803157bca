"""Run capacitors: what they hold, cold, hot and under load, and how they empty themselves."""

import pytest

from simulators.unit.electric.capacitor import Can, Section, after_discharge_v


@pytest.mark.parametrize(
    ("duration_s", "left_v"),
    [(0.0, 523.0), (0.9, 523.0 / 2.718281828), (2.113, 50.0), (4.186, 5.0)],
)
def test_a_resistor_empties_it_by_the_exponential_law(duration_s: float, left_v: float) -> None:
    """V exp(-t / R C): 20 kohm and 45 µF have 0.9 s; from 523 V it is at 50 V after 2.11 s and at 5 V after 4.19 s."""
    assert after_discharge_v(523.0, 45e-6, 20e3, duration_s) == pytest.approx(left_v, rel=1e-3)


def test_in_many_short_steps_it_empties_as_in_one() -> None:
    left_v = 523.0
    for _ in range(420):
        left_v = after_discharge_v(left_v, 45e-6, 20e3, 0.01)
    assert left_v == pytest.approx(after_discharge_v(523.0, 45e-6, 20e3, 4.2), rel=1e-9)


def test_a_weak_one_is_within_its_limits_cold_and_fails_hot_and_under_load() -> None:
    """±6 % where the label is silent: common practice, no source."""
    weak = Section(45e-6, share=0.98, fails_under_load=0.12)
    low_f = 0.94 * 45e-6
    assert weak.cold_f > low_f
    assert weak.capacitance_f(0.0, 333.15) > low_f
    assert weak.capacitance_f(370.0, 298.15) > low_f
    assert weak.capacitance_f(370.0, 333.15) < low_f
    sound = Section(45e-6, share=0.98)
    assert sound.capacitance_f(370.0, 333.15) > low_f


def test_age_takes_some_of_it_and_a_domed_can_has_none() -> None:
    assert Section(45e-6).aged(15.0).cold_f == pytest.approx(45e-6 * 0.94)
    assert Section(45e-6).aged(400.0).cold_f == 0.0
    can = Can({"herm": Section(45e-6), "fan": Section(5e-6)})
    assert (can.cold_f("herm"), can.capacitance_f("fan", 370.0)) == (45e-6, pytest.approx(5e-6))
    can.is_bulged = True
    assert (can.cold_f("herm"), can.capacitance_f("fan", 370.0)) == (0.0, 0.0)


def test_a_can_warms_beside_its_motor_within_half_an_hour() -> None:
    can = Can({"herm": Section(45e-6)}, temperature_k=303.15)
    can.warm(1800.0, air_k=303.15, under_load=True)
    assert 316.0 < can.temperature_k < 323.15
    can.warm(7200.0, air_k=303.15, under_load=False)
    assert can.temperature_k == pytest.approx(303.15, abs=0.1)
