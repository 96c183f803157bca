"""The HOLD key of a meter names the pair that is asked for, by the hand that holds the leads there.

Live, dead on each pair, live: NFPA 70E, as taught. 3 V and 50 V: common practice, no source.
"""

import pytest

from ingest.noticing.noticer import Noticer
from ingest.wire.messages import ByHold, Proposed, Reading
from ingest.wire.sheet import Sheet
from tests.ingest.noticing.courses import Course, kinds, known, pack

METER = "multimeter_ac_voltage"
DEAD = {"compressor_current": 0.0, "line_voltage_ab": 0.0}
OF_ONE_PHASE = ("source_before", "volts.a_b", "volts.a_earth", "volts.b_earth", "control", "source_after")
OF_THREE = (
    "source_before", "volts.a_b", "volts.b_c", "volts.c_a", "volts.a_earth", "volts.b_earth", "volts.c_earth",
    "control", "source_after",
)  # fmt: skip


def asks(course: Course) -> ByHold:
    found = course.noticer.by_hold
    assert found is not None
    return found


def told(course: Course) -> str:
    says = asks(course).says
    return says.kind if says else ""


def press(course: Course, volts: float, *, seconds: float = 3.0) -> list[Proposed]:
    """Put the leads somewhere, wait until it stands, and press; then let go."""
    return [*course.go(seconds, **{METER: volts}), *course.hold(1.5, METER)]


def begun(course: Course, *pairs: float) -> Course:
    course.go(5.0, **DEAD, **{METER: 0.0})
    press(course, 238.0)
    for volts in pairs:
        press(course, volts)
    return course


def proved(course: Course) -> list[Proposed]:
    return [it for it in course.proposed if it.what.check == "prove_dead"]


@pytest.mark.parametrize(("phases", "order"), [(1, OF_ONE_PHASE), (3, OF_THREE)])
def test_each_press_is_of_the_pair_that_is_asked_for_in_the_told_order(phases: int, order: tuple[str, ...]) -> None:
    course = Course(of=known(sheet=Sheet(tag="x", circuits=[], phases=phases)), spreads={METER: 0.5})  # type: ignore[arg-type]
    course.go(5.0, **DEAD, **{METER: 0.0})
    asked = []
    for number, name in enumerate(order, 1):
        asked.append((asks(course).name, asks(course).number, asks(course).of))
        press(course, 238.0 if name.startswith("source") else 0.1 * number)
    course.go(60.0)
    assert asked == [(name, number, len(order)) for number, name in enumerate(order, 1)]
    (seen,) = proved(course)
    assert seen.says.kind == "noticed.dead_held"
    assert tuple(seen.what.values) == order
    assert seen.what.values["volts.a_b"] == pytest.approx(0.2)
    assert seen.what.values["control"] == pytest.approx(0.1 * order.index("control") + 0.1)
    assert seen.what.standard_uncertainties == dict.fromkeys(order, 0.5)
    assert (seen.what.per, seen.what.places) == ({}, 0)
    assert seen.what.choices == {"tester_kind": "meter"}
    assert "4 pairs below 3 V" in seen.says.us or "7 pairs below 3 V" in seen.says.us
    (most,) = (part.value for part in seen.says.parts if part.place == "most")
    assert most == pytest.approx(0.1 * (len(order) - 1))


def test_a_live_pair_is_told_and_ends_what_was_taken() -> None:
    course = begun(Course(), 0.1, 238.0)
    assert told(course) == "hold.live"
    assert "hands out" in asks(course).says.us  # type: ignore[union-attr]
    assert asks(course).name == "source_before"
    for volts in (0.1, 0.1, 238.0):  # what would have been the rest
        press(course, volts)
    course.go(60.0)
    assert "noticed.dead_held" not in kinds(course.proposed)


@pytest.mark.parametrize("volts", [3.1, 24.0, 49.0])
def test_what_is_neither_live_nor_dead_is_not_taken(volts: float) -> None:
    course = begun(Course(), 0.1, volts)
    assert (told(course), asks(course).name) == ("hold.some_volts", "volts.a_earth")


def test_a_dead_tester_or_a_dead_source_is_no_source() -> None:
    course = Course()
    course.go(5.0, **DEAD, **{METER: 0.0})
    press(course, 0.2)
    assert (told(course), asks(course).name) == ("hold.no_source", "source_before")
    begun(course, 0.1, 0.1, 0.1, 0.1)
    press(course, 0.2)
    assert (told(course), asks(course).name) == ("hold.no_source", "source_after")
    press(course, 238.0)
    course.go(5.0)
    assert kinds(proved(course)) == ["noticed.dead_held"]


def test_the_source_before_its_turn_proves_nothing() -> None:
    """Out of order: the meter goes back to its source before every pair was held."""
    course = begun(Course(), 0.1, 0.1, 238.0)
    course.go(60.0)
    assert proved(course) == []
    assert told(course) == "hold.live"


def test_a_display_that_was_held_before_it_was_asked_is_no_press() -> None:
    course = Course()
    course.held.add(METER)
    course.go(10.0, **DEAD)
    assert (asks(course).name, told(course)) == ("source_before", "")
    course.held.discard(METER)
    press(course, 238.0)
    assert asks(course).name == "volts.a_b"


def test_a_display_that_stays_held_takes_one_place_alone() -> None:
    course = begun(Course())
    course.go(3.0, **{METER: 0.1})
    course.hold(60.0, METER)
    assert asks(course).name == "volts.a_earth"


def test_a_display_that_was_lost_while_it_was_live_and_comes_back_held_is_no_press() -> None:
    """Somebody pressed it while nothing was heard: on what, nobody knows."""
    course = begun(Course())
    course.go(3.0, **{METER: 0.1})
    course.go(10.0, **{METER: None})
    course.hold(5.0, METER)
    assert asks(course).name == "volts.a_b"


@pytest.mark.parametrize("silent_s", [1.25, 2.0, 5.0])
def test_what_the_meter_showed_before_its_link_fell_silent_is_not_taken(silent_s: float) -> None:
    """The last sample stands in every pack until it is stale; where the leads lie by then nobody knows."""
    course = begun(Course())
    course.go(0.5, **{METER: 0.0})
    silent(course, silent_s, 0.0)
    course.hold(2.0, METER)
    assert (told(course), asks(course).name) == ("hold.unsteady", "volts.a_b")
    course.go(0.5, **{METER: 0.0})
    silent(course, silent_s, 0.0)
    course.go(0.5, **{METER: 0.0})  # heard again, and not for long enough
    assert asks(course).name == "volts.a_b"


def silent(course: Course, seconds: float, volts: float) -> None:
    """Let its last sample stand, as the rig's channels do."""
    sampled_s = course.time_s
    for _ in range(round(seconds / course.tick_s)):
        course.ticks += 1
        still = {name: Reading(value, course.time_s) for name, value in DEAD.items()}
        course.follow(pack(course.ticks, {**still, METER: Reading(volts, sampled_s)}))


def test_a_pair_that_stands_live_ends_what_was_taken_though_nobody_pressed() -> None:
    course = begun(Course(), 0.1)
    course.go(3.0, **{METER: 0.0})
    course.go(5.0, **{METER: 240.0})
    assert (told(course), asks(course).name) == ("hold.live", "source_before")
    course.hold(1.5, METER)  # of the pair: it is no known source
    assert (told(course), asks(course).name) == ("hold.live", "source_before")
    course.go(3.0, **{METER: 0.0})
    press(course, 238.0)
    assert asks(course).name == "volts.a_b"


def test_the_source_on_which_the_leads_still_are_ends_nothing() -> None:
    course = begun(Course())
    course.go(10.0, **{METER: 238.0})
    assert asks(course).name == "volts.a_b"


def test_a_live_pair_with_its_sign_turned_is_live() -> None:
    """A meter on its DC range."""
    course = begun(Course(), 0.1, -240.0)
    assert (told(course), asks(course).name) == ("hold.live", "source_before")


def test_what_still_moves_is_not_taken() -> None:
    course = begun(Course())
    course.go(2.0, **{METER: lambda at_s: 40.0 - 18.0 * at_s})
    course.hold(2.0, METER)
    assert (told(course), asks(course).name) == ("hold.unsteady", "volts.a_b")


def test_leads_that_have_just_come_to_lie_there_are_not_steady_yet() -> None:
    course = begun(Course())
    course.go(3.0, **{METER: 238.0})
    course.go(0.25, **{METER: 0.1})
    course.hold(2.0, METER)
    assert (told(course), asks(course).name) == ("hold.unsteady", "volts.a_b")


@pytest.mark.parametrize("power", [{"line_voltage_ab": 238.0}, {"line_voltage_ab": 50.0}, {"compressor_current": 8.0}])
def test_power_meanwhile_ends_what_was_taken(power: dict[str, float]) -> None:
    course = begun(Course(), 0.1, 0.1)
    course.go(2.0, **power)
    course.go(5.0, **DEAD)
    assert (told(course), asks(course).name) == ("hold.fed", "source_before")


def test_the_source_that_is_the_unit_itself_with_its_power_back_proves_nothing() -> None:
    """A voltmeter of the supply that finds it live while the meter is on its source again."""
    course = begun(Course(), 0.1, 0.1, 0.1, 0.1)
    course.go(3.0, line_voltage_ab=238.0, **{METER: 238.0})
    course.hold(20.0, METER)
    course.go(20.0)
    assert proved(course) == []
    assert asks(course).number == 2  # of another proof, with this as its source before


def test_a_voltmeter_that_was_not_read_since_is_waited_for_and_then_asked_for_again() -> None:
    """It still shows what it read before the leads were on the source."""
    course = begun(Course(), 0.1, 0.1, 0.1, 0.1)
    read_s = course.time_s
    for held in (False, True):
        for _ in range(4 * 14 if held else 4 * 3):
            course.ticks += 1
            meter = Reading(None, course.time_s, "held") if held else Reading(238.0, course.time_s)
            readings = {METER: meter, "compressor_current": Reading(0.0, course.time_s)}
            course.follow(pack(course.ticks, {**readings, "line_voltage_ab": Reading(0.0, read_s)}))
    assert proved(course) == []
    assert (told(course), asks(course).name) == ("hold.no_witness", "source_after")


def test_without_a_voltmeter_of_the_supply_the_press_says_which_source_it_was() -> None:
    """As a touch would; the motors' clamps still tell of power."""
    course = Course()
    course.go(5.0, compressor_current=0.0, **{METER: 0.0})
    for volts in (238.0, 0.1, 0.1, 0.1, 0.1, 238.0):
        press(course, volts)
    assert kinds(proved(course)) == ["noticed.dead_held"]


def test_a_source_that_was_proved_too_long_ago_is_asked_for_again() -> None:
    course = begun(Course(), 0.1)
    course.go(901.0)
    assert (told(course), asks(course).name) == ("hold.too_long", "source_before")


def test_without_a_press_places_are_counted_as_before() -> None:
    course = Course()
    for volts in (238.0, 0.1, 238.0):
        course.go(10.0, **DEAD, **{METER: volts})
    course.go(40.0)
    assert kinds(course.proposed) == ["noticed.dead_unnamed"]


def test_after_a_kill_it_goes_on_where_it_was() -> None:
    """From the packs that the record holds."""
    course = begun(Course(), 0.1, 0.1)
    anew = Course(Noticer("v1"))
    anew.noticer.go_on(course.packs, [], course.of)
    assert asks(anew) == asks(course)
    anew.ticks = course.ticks
    for volts in (0.1, 0.1, 238.0):
        anew.go(1.0, **DEAD)
        press(anew, volts)
    assert kinds(proved(anew)) == ["noticed.dead_held"]


def test_nothing_is_asked_of_a_meter_that_is_not_there() -> None:
    course = Course()
    course.go(5.0, **DEAD)
    assert course.noticer.by_hold is None


@pytest.mark.parametrize("by_hold", [True, False])
def test_a_second_proof_is_told_though_the_leads_stood_on_the_source_as_a_gap_ended(by_hold: bool) -> None:
    """What was proved before it is not it: each time anew (29 CFR 1910.333(b)(2), from memory)."""

    def prove(course: Course) -> None:
        for volts in (238.0, 0.1, 0.1, 0.1, 0.1, 238.0):
            press(course, volts) if by_hold else course.go(3.0, **DEAD, **{METER: volts})
        course.go(40.0, **DEAD)

    course = Course()
    course.go(10.0, **DEAD, **{METER: 0.0})
    prove(course)
    assert len(proved(course)) == 1
    course.ticks += round(200.0 / course.tick_s)  # two minutes and more of which no pack came
    prove(course)
    first, second = proved(course)
    assert second.from_s > first.to_s + 200.0


def stopped(course: Course, *, for_s: float) -> None:
    """A lead asks to stop now, and says go on after so long."""
    course.of = known(stops=((course.time_s, course.time_s + for_s, "Robin"),))


def test_while_a_lead_s_stop_stands_the_key_takes_nothing_and_says_why() -> None:
    course = begun(Course(), 0.1)
    stopped(course, for_s=20.0)
    course.go(0.5)
    assert (told(course), asks(course).name, asks(course).label) == ("hold.lead_stopped", "", "")
    assert "Robin asked to stop" in asks(course).says.us  # type: ignore[union-attr]
    for volts in (0.1, 0.1, 0.1, 238.0):  # what would have been the rest
        press(course, volts)
    assert told(course) == "hold.lead_stopped"
    course.go(20.0, **{METER: 0.1})
    assert (told(course), asks(course).name) == ("", "source_before")
    assert "noticed.dead_held" not in kinds(course.proposed)
    for volts in (238.0, 0.1, 0.1, 0.1, 0.1, 238.0):
        press(course, volts)
    assert kinds(proved(course)).count("noticed.dead_held") == 1


def test_after_a_stop_of_a_lead_nothing_counts_that_was_taken_before_it_though_nobody_moved_the_leads() -> None:
    course = begun(Course(), 0.1)
    stopped(course, for_s=3.0)
    course.go(6.0, **{METER: 0.1})
    assert (told(course), asks(course).name) == ("", "source_before")


def test_a_key_that_was_pressed_under_a_stop_and_is_held_still_is_no_press_after_it() -> None:
    course = Course()
    course.go(5.0, **DEAD, **{METER: 0.0})
    course.go(3.0, **{METER: 238.0})
    stopped(course, for_s=2.0)
    course.hold(5.0, METER)
    assert (told(course), asks(course).name) == ("", "source_before")


def test_what_was_pressed_under_a_stop_is_not_taken_by_a_start_after_it() -> None:
    """From the packs that the record holds: a stop stood when it stood."""
    course = Course()
    course.go(5.0, **DEAD, **{METER: 0.0})
    stopped(course, for_s=10.0)
    for volts in (238.0, 0.1):
        press(course, volts)
    course.go(10.0, **{METER: 0.1})
    anew = Noticer("v1")
    anew.go_on(course.packs, [], course.of)
    assert anew.by_hold
    assert anew.by_hold.name == "source_before"


def test_power_after_the_first_pair_ends_it_and_before_any_pair_it_does_not() -> None:
    for pairs, asked in (((), "volts.a_b"), ((0.1,), "source_before")):
        course = begun(Course(), *pairs)
        course.go(2.0, **{**DEAD, "line_voltage_ab": 238.0})
        course.go(2.0, **DEAD)
        assert asks(course).name == asked


def test_the_pairs_stay_those_of_the_beginning() -> None:
    """A second voltmeter that is heard meanwhile makes of one phase three, and what was said of the order untrue."""
    course = begun(Course(of=known(sheet=None)), 0.1)
    assert (asks(course).name, asks(course).of) == ("volts.a_earth", 6)
    course.go(5.0, line_voltage_bc=0.0)
    assert (asks(course).name, asks(course).of) == ("volts.a_earth", 6)


def test_a_pair_that_stands_live_with_its_sign_turned_ends_it_too() -> None:
    course = begun(Course(), 0.1)
    course.go(3.0, **{METER: 0.0})
    course.go(5.0, **{METER: -238.0})
    assert (told(course), asks(course).name) == ("hold.live", "source_before")


def test_the_first_pair_is_not_taken_while_something_else_finds_the_supply_live() -> None:
    course = begun(Course())
    course.go(3.0, line_voltage_ab=238.0, **{METER: 0.1})
    course.hold(2.0, METER)
    assert (told(course), asks(course).name) == ("hold.fed", "source_before")


def test_a_second_press_while_a_voltmeter_is_waited_for_makes_the_wait_no_longer() -> None:
    course = begun(Course(), 0.1, 0.1, 0.1, 0.1)
    read_s = course.time_s
    for seconds, held in ((3, False), (1, True), (4, False), (1, True), (5, False)):
        for _ in range(4 * seconds):
            course.ticks += 1
            meter = Reading(None, course.time_s, "held") if held else Reading(238.0, course.time_s)
            readings = {METER: meter, "compressor_current": Reading(0.0, course.time_s)}
            course.follow(pack(course.ticks, {**readings, "line_voltage_ab": Reading(0.0, read_s)}))
    assert told(course) == "hold.no_witness"


def test_what_stood_steady_before_the_link_fell_silent_is_not_taken() -> None:
    course = begun(Course())
    course.go(3.0, **{METER: 0.0})
    silent(course, 1.25, 0.0)
    course.hold(2.0, METER)
    assert (told(course), asks(course).name) == ("hold.unsteady", "volts.a_b")


def test_what_stood_on_both_sides_of_a_silence_did_not_stand_in_between() -> None:
    course = begun(Course())
    course.go(3.0, **{METER: 0.0})
    silent(course, 1.25, 0.0)
    course.go(0.5, **{METER: 0.0})
    course.hold(2.0, METER)
    assert (told(course), asks(course).name) == ("hold.unsteady", "volts.a_b")


def test_a_live_sample_that_a_silent_link_repeats_has_not_stood() -> None:
    course = begun(Course(), 0.1)
    course.go(3.0, **{METER: 0.0})
    course.go(0.5, **{METER: 238.0})
    silent(course, 2.0, 238.0)
    assert asks(course).name == "volts.a_earth"


def test_a_display_that_was_lost_and_comes_back_held_says_nothing_of_a_press() -> None:
    course = begun(Course())
    course.go(3.0, **{METER: 0.1})
    course.go(10.0, **{METER: None})
    course.hold(5.0, METER)
    assert told(course) == "hold.taken"  # of the source, as before


def test_a_motor_that_draws_one_ampere_is_live_and_a_proof_begins_where_its_source_stood() -> None:
    course = begun(Course(), 0.1, 0.1)
    course.go(2.0, compressor_current=1.0)
    assert told(course) == "hold.fed"
    course.go(2.0, **DEAD, **{METER: 0.0})
    began_s = course.time_s
    for volts in (238.0, 0.1, 0.1, 0.1, 0.1, 238.0):
        press(course, volts)
    (seen,) = proved(course)
    assert seen.from_s == pytest.approx(began_s, abs=0.5)
    assert seen.to_s == pytest.approx(course.time_s, abs=2.0)


def test_heard_one_second_before_it_is_heard_just_before() -> None:
    course = begun(Course())
    course.go(3.0, **{METER: 0.0})
    silent(course, 0.75, 0.0)
    course.hold(2.0, METER)
    assert asks(course).name == "volts.a_earth"


def test_each_voltmeter_of_the_supply_is_waited_for() -> None:
    course = begun(Course(), 0.1, 0.1, 0.1, 0.1)
    read_s = course.time_s
    for held in (False, True):
        for _ in range(4 * 12):
            course.ticks += 1
            meter = Reading(None, course.time_s, "held") if held else Reading(238.0, course.time_s)
            lines = {"line_voltage_ab": Reading(0.0, course.time_s), "line_voltage_bc": Reading(0.0, read_s)}
            course.follow(pack(course.ticks, {METER: meter, **lines}))
    assert (proved(course), told(course)) == ([], "hold.no_witness")
