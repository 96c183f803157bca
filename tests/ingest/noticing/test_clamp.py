"""A clamp on another lead than the compressor's: its amps are not kept, and it is asked where it is."""

from collections.abc import Callable
from typing import Any

import pytest

from ingest.noticing.jaw import Jaw
from ingest.noticing.sight import Sight
from ingest.wire.messages import Proposed, ProposedFinding, ProposedPlace, Reading
from tests.ingest.noticing.courses import KNOWN, SHEET, T0_S, Course, kinds, known, pack

REST = {"compressor_current": 0.0, "condenser_fan_current": 0.0, "line_voltage_ab": 240.0}
WORKS: dict[str, Any] = {
    "compressor_current": 9.0,
    "condenser_fan_current": 1.6,
    "line_voltage_ab": 236.0,
    "suction_pressure": 0.9e6,
    "liquid_pressure": 2.5e6,
}


def seldom(**known_as: Any) -> Course:
    """A course of packs that come once a second, which is often enough for a clamp."""
    return Course(tick_s=1.0, **known_as)


def amps_of_compressor(course: Course) -> list[float]:
    """Give what was proposed as its amps."""
    return [
        it.what.values["amps.a"] for it in of_check(course, "motor_amps") if it.what.choices["motor"] == "compressor"
    ]


def of_check(course: Course, check: str) -> list[Proposed]:
    return [it for it in course.proposed if isinstance(it.what, ProposedFinding) and it.what.check == check]


def moved(course: Course) -> list[ProposedPlace]:
    return [it.what for it in course.proposed if isinstance(it.what, ProposedPlace)]


@pytest.mark.parametrize("in_the_air_s", [0.0, 2.0, 20.0])
def test_amps_that_go_elsewhere_at_once_beside_volts_and_pressures_that_stand_are_another_lead_s(
    in_the_air_s: float,
) -> None:
    """A run capacitor of 45 uF at 370 V carries 6.3 A: C = 2652.6 A / V at 60 Hz."""
    course = seldom(spreads={"compressor_current": 0.1})
    course.go(20.0, **REST)
    course.go(120.0, **WORKS)
    left_s = course.time_s
    course.go(in_the_air_s, compressor_current=0.05)
    course.go(420.0, compressor_current=6.3)
    assert moved(course) == [ProposedPlace(["compressor_current"])]
    (seen,) = (it for it in course.proposed if it.says.kind == "noticed.clamp_moved")
    assert "from 9.0 ± 0.2 A to 6.3 ± 0.2 A at once" in seen.says.us
    assert seen.from_s == pytest.approx(left_s, abs=1.0)
    assert seen.time_s - left_s - in_the_air_s < 16.5
    assert amps_of_compressor(course) == []
    course.go(420.0, compressor_current=8.8)  # back where it was, as the weather has it by now
    assert amps_of_compressor(course) == [pytest.approx(8.8)]
    assert len(moved(course)) == 1


def test_a_clamp_that_was_moved_stays_so_through_a_stop() -> None:
    course = seldom()
    course.go(120.0, **WORKS)
    course.go(60.0, compressor_current=6.3)
    for _ in range(2):
        course.go(300.0, **REST, suction_pressure=1.5e6, liquid_pressure=1.5e6)
        course.go(420.0, **WORKS | {"compressor_current": 6.5})
    assert amps_of_compressor(course) == []


def ramp(begin: float, end: float, seconds: float) -> Callable[[float], float]:
    return lambda t_s: begin + (end - begin) * min(t_s / seconds, 1.0)


@pytest.mark.parametrize(
    "then",
    [
        {"compressor_current": 6.3, "liquid_pressure": 2.3e6},  # it unloads
        {"compressor_current": 6.3, "suction_pressure": 1.0e6},
        {"compressor_current": 6.3, "line_voltage_ab": 215.0},
        {"compressor_current": ramp(9.0, 6.3, 300.0)},  # slowly, with the weather
        {"compressor_current": 8.1},
        {"compressor_current": 6.3, "suction_pressure": None, "liquid_pressure": None},  # nothing tells
    ],
    ids=["head falls", "suction rises", "volts fall", "slowly", "a little", "no pressure"],
)
def test_what_the_compressor_may_do_itself_is_no_clamp_that_moved(then: dict[str, Any]) -> None:
    course = seldom()
    course.go(120.0, **WORKS)
    course.go(420.0, **then)
    assert moved(course) == []
    assert len(amps_of_compressor(course)) == 1


def test_a_start_moves_no_clamp_however_much_less_it_draws_than_before_it() -> None:
    course = seldom()
    course.go(120.0, **WORKS)
    course.go(30.0, **REST, suction_pressure=1.4e6, liquid_pressure=1.8e6)
    course.go(420.0, **WORKS | {"compressor_current": 6.3, "liquid_pressure": 2.3e6})
    assert moved(course) == []
    assert len(amps_of_compressor(course)) == 1


def test_a_hand_that_takes_longer_than_a_minute_is_not_told_from_the_weather() -> None:
    course = seldom()
    course.go(120.0, **WORKS)
    course.go(75.0, compressor_current=0.05)
    course.go(30.0, compressor_current=6.3)
    assert moved(course) == []
    course.go(50.0, compressor_current=0.05)
    course.go(30.0, compressor_current=9.0)
    assert len(moved(course)) == 1


@pytest.mark.parametrize(
    ("on", "told"), [("run capacitor", 0), ("fan", 0), ("compressor", 1), ("no such part", 1), (None, 1)]
)
def test_where_somebody_has_said_what_the_jaw_is_on_that_counts(on: str | None, told: int) -> None:
    places = {} if on is None else {"compressor_current": on}
    course = seldom(of=known(places=places))
    course.go(420.0, **WORKS)
    assert len(amps_of_compressor(course)) == told
    assert "condenser_fan" in [it.what.choices["motor"] for it in of_check(course, "motor_amps")]


def test_a_fan_s_clamp_on_another_part_tells_nothing_of_the_fan() -> None:
    course = seldom(of=known(places={"condenser_fan_current": "compressor"}))
    course.go(420.0, **WORKS)
    assert [it.what.choices["motor"] for it in of_check(course, "motor_amps")] == ["compressor"]


def test_a_jaw_that_somebody_put_back_on_the_compressor_counts_though_it_jumped() -> None:
    course = seldom()
    course.go(120.0, **WORKS)
    course.go(60.0, compressor_current=6.3)
    course.of = known(places={"compressor_current": "compressor"})
    course.go(420.0)
    assert amps_of_compressor(course) == [pytest.approx(6.3)]


@pytest.mark.parametrize(("across_v", "told"), [(370.0, 0), (240.0, 1), (600.0, 1)])
def test_a_meter_across_a_section_tells_that_the_jaw_is_on_its_lead(across_v: float, told: int) -> None:
    """6.3 A at 370 V are its 45 uF; 4 A at 600 V are 18 uF, which is none of its sections."""
    course = seldom(of=known(sheet=SHEET))
    course.go(400.0, **REST, multimeter_ac_voltage=across_v)
    course.go(420.0, **WORKS | {"compressor_current": 6.3 if across_v < 500.0 else 4.0})
    assert len(amps_of_compressor(course)) == told
    assert len(of_check(course, "start")) == told


def test_of_three_clamps_the_one_that_was_moved_is_told() -> None:
    legs = dict.fromkeys((f"compressor_current_{leg}" for leg in "abc"), 9.0)
    course = seldom()
    course.go(120.0, **{name: value for name, value in WORKS.items() if name != "compressor_current"} | legs)
    course.go(600.0, compressor_current_b=5.0)
    assert moved(course) == [ProposedPlace(["compressor_current_b"])]
    assert amps_of_compressor(course) == []
    assert "noticed.clamp_moved" in kinds(course.proposed)


def told_s(before: list[float], after: list[float], **ends_at: float) -> list[int]:
    """Put a jaw from amps that alternate among these to others, once a second; give after how many seconds it told.

    ends_at: what else is read then; the liquid pressure stands at 1 MPa, the volts at 240.
    """
    jaw, told = Jaw("compressor_current"), []
    stands = {"liquid_pressure": 1e6, "line_voltage_ab": 240.0}
    for second in range(160):
        amps = (before if second < 80 else after)[second % 2]
        values = {"compressor_current": amps, **stands, **(ends_at if second >= 80 else {})}
        readings = {name: Reading(value, T0_S + second) for name, value in values.items()}
        if jaw.take(Sight(pack(second, readings, 1.0), float(second), KNOWN)):
            told.append(second - 80)
    assert jaw.is_elsewhere is bool(told)
    return told


@pytest.mark.parametrize(
    ("before", "after", "ends_at", "told"),
    [
        ([8.8, 9.2], [6.1, 6.4], {}, [15]),  # amps swing by 3 %
        ([0.92, 1.08], [1.92, 2.08], {}, [15]),  # or by a tenth of an ampere
        ([1.0, 1.0], [1.25, 1.25], {}, []),  # too little, whatever share it is
        ([1.0, 1.0], [1.31, 1.31], {}, [15]),
        ([25.0, 25.0], [28.0, 28.0], {}, []),  # 12 % of it
        ([25.0, 25.0], [28.1, 28.1], {}, [15]),
        ([25.0, 25.0], [21.9, 21.9], {}, [15]),
        ([9.0, 9.0], [6.3, 6.3], {"liquid_pressure": 1.03e6}, [15]),
        ([9.0, 9.0], [6.3, 6.3], {"liquid_pressure": 1.031e6}, []),
        ([9.0, 9.0], [6.3, 6.3], {"liquid_pressure": 0.969e6}, []),
        ([9.0, 9.0], [6.3, 6.3], {"line_voltage_ab": 232.0}, []),
    ],
)
def test_a_hair_to_either_side(
    before: list[float], after: list[float], ends_at: dict[str, float], told: list[int]
) -> None:
    assert told_s(before, after, **ends_at) == told
