"""What the first ten seconds say, from courses made by hand; `tests/starts` has simulated units.

R-410A by CoolProp: bubble point 58.3 °C at 3.7 MPa and 49.0 °C at 3.0 MPa, dew point -27.4 °C at 0.3
MPa.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from calc.cautions import Step, beware_at_steps
from calc.errors import CalcRangeError, SeriesError
from calc.sentences import say
from calc.start_diagnosis import StartKind, StartRecord, Trace, diagnose, sag_of

CALL_S, END_S = 3.0, 15.0
RLA_A = 16.0

Course = Callable[[float], float]


def trace(course: Course, interval_s: float = 0.25) -> Trace:
    times = np.arange(0.0, END_S + interval_s / 2, interval_s)
    return Trace(times, np.array([course(float(time_s)) for time_s in times]))


def steps(*levels: tuple[float, float]) -> Trace:
    """One level from each moment on; nothing before."""
    return trace(lambda time_s: ([0.0] + [level for begin_s, level in levels if time_s >= begin_s - 1e-9])[-1])


def parting(*, by_pa: float, from_s: float = CALL_S, equal: bool = True) -> dict[str, Trace]:
    """Suction falls and liquid rises by half each, within eight seconds."""
    rest_pa = 1.5e6

    def share(time_s: float) -> float:
        return min(max((time_s - from_s) / 8.0, 0.0), 1.0) * by_pa / 2

    above_pa = 0.0 if equal else 0.5e6
    return {
        "suction_pressure": trace(lambda time_s: rest_pa - share(time_s), 0.5),
        "liquid_pressure": trace(lambda time_s: rest_pa + above_pa + share(time_s), 0.5),
    }


PARTS = parting(by_pa=6e5)
STAYS = parting(by_pa=0.0)
BLOWS = steps((CALL_S, 3.0))
VOLTS = {"line_voltage_ab": trace(lambda _: 231.0)}
THREE_VOLTS = {f"line_voltage_{pair}": trace(lambda _: 231.0) for pair in ("ab", "bc", "ca")}
SOUND = {
    **VOLTS, **PARTS,
    "compressor_current": steps((3.25, 80.0), (3.5, 7.0)),
    "condenser_fan_current": steps((3.25, 2.4), (4.0, 1.2)),
    "blower_current": BLOWS,
}  # fmt: skip
RESTS = {**VOLTS, **STAYS, "compressor_current": trace(lambda _: 0.0), "blower_current": BLOWS}


def record(traces: dict[str, Trace], **known: object) -> StartRecord:
    usual = StartRecord(
        traces=traces, phases=1, compressor_rla_a=RLA_A, called_s=CALL_S, nominal_voltage_v=230.0,
        condenser_fan_fla_a=1.4, refrigerant="R-410A", is_called=True, since_stop_s=900.0, outdoor_air_k=308.15,
    )  # fmt: skip
    return replace(usual, **known)  # type: ignore[arg-type]


def kind(traces: dict[str, Trace], **known: object) -> StartKind:
    return diagnose(record(traces, **known)).kind


def would_tell(traces: dict[str, Trace], **known: object) -> tuple[str, ...]:
    found = diagnose(record(traces, **known))
    assert found.kind is StartKind.CANNOT_TELL
    return found.would_tell


def test_a_sound_start() -> None:
    found = diagnose(record(SOUND))
    assert found.kind is StartKind.STARTED
    assert str(found.says) == "Started well: once, up to speed within 1 s, and the pressures part."


def test_a_record_too_slow_for_the_inrush_says_so_and_one_without_the_fan_too() -> None:
    unseen = SOUND | {"compressor_current": steps((3.25, 7.0))}
    assert "too slow for the inrush" in str(diagnose(record(unseen)).says)
    found = diagnose(record({name: it for name, it in SOUND.items() if name != "condenser_fan_current"}))
    assert (found.kind, found.would_tell) == (StartKind.STARTED, ("tell.fan_amps",))
    assert kind(SOUND, condenser_fan_fla_a=None) is StartKind.STARTED


def test_nothing_asks_for_it() -> None:
    quiet = RESTS | {"blower_current": trace(lambda _: 0.0)}
    assert kind(quiet, is_called=None) is StartKind.NO_CALL
    assert kind(RESTS, is_called=False) is StartKind.NO_CALL
    for found in (diagnose(record(quiet, is_called=None)), diagnose(record(RESTS, is_called=False))):
        assert found.steps == (Step.START, Step.LOOK)
    assert would_tell(quiet, is_called=True) == ("tell.volts", "tell.coil_volts")
    assert "tell.volts" in would_tell(quiet, is_called=None, phases=3)  # one pair of three tells of no supply


def test_no_supply() -> None:
    dead = RESTS | {"line_voltage_ab": trace(lambda _: 0.4)}
    assert kind(dead) is StartKind.NO_SUPPLY
    assert would_tell(dead, phases=3) == ("tell.volts",)


def test_the_delay_timer_is_blamed_only_within_five_minutes() -> None:
    """Five minutes between stop and start: makers of compressors."""
    found = diagnose(record(RESTS, since_stop_s=120.0))
    assert found.kind is StartKind.DELAY_TIMER
    assert "wait 180 s more" in str(found.says)
    assert kind(RESTS, since_stop_s=299.0) is StartKind.DELAY_TIMER
    assert would_tell(RESTS, since_stop_s=300.0) == ("tell.cut_outs", "tell.contactor")
    assert "tell.since_stop" in would_tell(RESTS, since_stop_s=None)


def test_a_blower_that_ran_before_is_no_sign_of_a_call() -> None:
    fan_on = RESTS | {"blower_current": trace(lambda _: 3.0)}
    assert would_tell(fan_on, is_called=None, since_stop_s=60.0) == ("tell.coil_volts", "tell.cut_outs")
    assert kind(fan_on, since_stop_s=60.0) is StartKind.DELAY_TIMER
    bare = {name: it for name, it in RESTS.items() if name != "blower_current"}
    assert would_tell(bare, is_called=None) == ("tell.blower_amps", "tell.coil_volts")
    assert would_tell({"compressor_current": bare["compressor_current"]}) == ("tell.volts", "tell.blower_amps")
    assert kind(bare, since_stop_s=60.0) is StartKind.DELAY_TIMER


def test_a_cut_out_by_where_it_stopped() -> None:
    high, low = {"liquid_pressure": 3.7e6}, {"suction_pressure": 3.0e5}
    assert kind(RESTS, at_stop=high, since_stop_s=60.0) is StartKind.HIGH_CUT_OUT
    assert kind(RESTS, at_stop={"liquid_pressure": 3.0e6}, since_stop_s=60.0) is StartKind.DELAY_TIMER
    assert kind(RESTS, at_stop=low) is StartKind.LOW_CUT_OUT
    assert kind(RESTS, at_stop={"liquid_pressure": 3.0e6}, high_cut_out_pa=3.1e6) is StartKind.HIGH_CUT_OUT
    assert would_tell(RESTS, at_stop=high, high_cut_out_pa=4.4e6) == ("tell.cut_outs", "tell.contactor")
    assert kind(RESTS, at_stop={"suction_pressure": 4.1e5}, low_cut_out_pa=4.0e5) is StartKind.LOW_CUT_OUT
    assert would_tell(RESTS, at_stop=low, low_cut_out_pa=2.0e5) == ("tell.cut_outs", "tell.contactor")
    assert would_tell(RESTS, at_stop=high | low, refrigerant="") == ("tell.cut_outs", "tell.contactor")


def test_a_unit_that_has_lost_its_refrigerant_rests_far_below_saturation() -> None:
    empty = RESTS | {name: trace(lambda _: 3.0e5, 0.5) for name in PARTS}
    assert kind(empty) is StartKind.LOW_CUT_OUT
    assert would_tell(empty, outdoor_air_k=None) == ("tell.cut_outs", "tell.contactor")
    assert would_tell(empty, low_cut_out_pa=2.0e5) == ("tell.cut_outs", "tell.contactor")


def test_a_leak_detector() -> None:
    found = diagnose(record(RESTS, detector_alarms=True, refrigerant="R-454B"))
    assert found.kind is StartKind.LEAK_DETECTOR
    quiet = RESTS | {"blower_current": trace(lambda _: 0.0)}
    for traces in (RESTS, quiet):
        for is_called in (False, None, True):
            assert kind(traces, detector_alarms=True, is_called=is_called) is StartKind.LEAK_DETECTOR
    assert any(caution.kind == "caution.burns" for caution in beware_at_steps("R-454B", found.steps).now)
    assert would_tell(RESTS, refrigerant="R-454B", since_stop_s=60.0) == ("tell.detector", "tell.cut_outs")
    assert kind(RESTS, refrigerant="R-454B", since_stop_s=60.0, detector_alarms=False) is StartKind.DELAY_TIMER
    assert would_tell(RESTS, has_detector=True, since_stop_s=60.0) == ("tell.detector", "tell.cut_outs")


def test_a_coil_that_is_live_leaves_contactor_and_overload() -> None:
    live = RESTS | {"coil_voltage": steps((CALL_S, 25.0))}
    assert would_tell(live, since_stop_s=60.0) == ("tell.contactor",)
    assert would_tell(live, phases=3) == ("tell.contactor", "tell.all_phases")
    assert kind(RESTS | {"coil_voltage": trace(lambda _: 0.2)}, since_stop_s=60.0) is StartKind.DELAY_TIMER


def test_a_fan_that_runs_on_the_same_contactor_shows_that_nothing_holds_it() -> None:
    fan = RESTS | {"condenser_fan_current": steps((CALL_S, 1.2))}
    assert would_tell(fan, since_stop_s=60.0) == ("tell.contactor",)
    assert would_tell(fan, since_stop_s=60.0, condenser_fan_fla_a=None) == ("tell.contactor",)


def test_a_clamp_on_a_dead_phase_is_no_delay_timer() -> None:
    assert "tell.all_phases" in would_tell(RESTS, phases=3, since_stop_s=60.0)
    dead_coil = RESTS | {"coil_voltage": trace(lambda _: 0.2)}
    assert kind(dead_coil, phases=3, since_stop_s=60.0) is StartKind.DELAY_TIMER
    three = RESTS | {f"compressor_current_{phase}": RESTS["compressor_current"] for phase in "abc"}
    del three["compressor_current"]
    assert kind(three, phases=3, since_stop_s=60.0) is StartKind.DELAY_TIMER


def test_a_stall_is_switched_off() -> None:
    stalls = SOUND | STAYS | {"compressor_current": steps((3.25, 88.0))}
    found = diagnose(record(stalls))
    assert found.kind is StartKind.STALLED
    assert "Switch it off" in str(found.says)
    assert Step.LOOK in found.steps
    tripped = SOUND | STAYS | {"compressor_current": steps((3.25, 88.0), (8.0, 0.0))}
    assert kind(tripped) is StartKind.STALLED


def test_a_stall_on_three_phases_wants_to_know_of_all_of_them() -> None:
    one = SOUND | STAYS | {"compressor_current_a": steps((3.25, 88.0))}
    del one["compressor_current"]
    found = diagnose(record(one, phases=3))
    assert found.kind is StartKind.CANNOT_TELL
    assert "switch it off" in str(found.says)
    assert kind(one | THREE_VOLTS, phases=3) is StartKind.STALLED
    three = one | {f"compressor_current_{phase}": steps((3.25, 88.0)) for phase in "bc"}
    assert kind(three, phases=3) is StartKind.STALLED


def test_a_stall_of_a_moment_is_watched_for_longer() -> None:
    short = {
        name: Trace(it.times_s[it.times_s <= 4.75], it.values[it.times_s <= 4.75])
        for name, it in (SOUND | STAYS | {"compressor_current": steps((3.25, 88.0))}).items()
    }
    assert would_tell(short) == ("tell.longer",)
    rests = {name: Trace(it.times_s[it.times_s <= 4.75], it.values[it.times_s <= 4.75]) for name, it in RESTS.items()}
    assert would_tell(rests) == ("tell.longer",)
    parts = SOUND | {"compressor_current": steps((3.25, 88.0))}
    assert would_tell(parts) == ("tell.longer",)  # a clamp on ten turns, or another plate


def test_a_weak_capacitor_draws_more_before_there_is_much_to_do() -> None:
    heavy = SOUND | {"compressor_current": steps((3.25, 85.0), (3.75, 0.66 * RLA_A))}
    found = diagnose(record(heavy))
    assert found.kind is StartKind.WEAK_CAPACITOR
    assert "measure it with its leads off" in say(found.says, "si")
    slow = SOUND | {"compressor_current": steps((3.25, 85.0), (5.0, 7.0))}
    assert kind(slow) is StartKind.WEAK_CAPACITOR
    between = SOUND | {"compressor_current": steps((3.25, 85.0), (3.75, 0.55 * RLA_A))}
    assert would_tell(between) == ("tell.capacitor",)


def test_a_slow_start_may_be_the_supply_or_the_pressures() -> None:
    slow = SOUND | {"compressor_current": steps((3.25, 85.0), (5.0, 7.0))}
    assert would_tell(slow | {"line_voltage_ab": trace(lambda _: 198.0)}) == ("tell.volts",)
    assert would_tell(slow, nominal_voltage_v=None) == ("tell.volts",)
    assert would_tell(slow | parting(by_pa=6e5, equal=False)) == ("tell.rest",)
    heavy = SOUND | {"compressor_current": steps((3.25, 85.0), (3.75, 0.66 * RLA_A))}
    assert kind(heavy | parting(by_pa=6e5, equal=False)) is StartKind.STARTED


def test_the_condenser_fan() -> None:
    locked = SOUND | {"condenser_fan_current": steps((3.25, 2.9))}
    assert kind(locked) is StartKind.FAN
    assert would_tell(SOUND | {"condenser_fan_current": trace(lambda _: 0.0)}) == ("tell.contactor",)


def test_far_too_many_amps_are_no_sound_start() -> None:
    dragging = SOUND | THREE_VOLTS | {"compressor_current": steps((3.25, 80.0), (3.5, 1.5 * RLA_A))}
    assert would_tell(dragging, phases=3) == ("tell.volts", "tell.longer")


@pytest.mark.parametrize(("phase", "leg"), [("a", "L1"), ("b", "L2"), ("c", "L3")])
def test_a_lost_phase_by_its_amps(phase: str, leg: str) -> None:
    lost = {f"compressor_current_{it}": steps((3.25, 0.1 if it == phase else 70.0)) for it in "abc"}
    found = diagnose(record(RESTS | lost, phases=3))
    assert found.kind is StartKind.LOST_PHASE
    assert str(found.says).startswith(f"Phase {leg} is missing")


def test_a_lost_phase_by_its_volts() -> None:
    """NEMA MG 1 lets nothing run beyond 5 % of unbalance: these pairs differ by half."""
    half = THREE_VOLTS | {"line_voltage_bc": trace(lambda _: 118.0), "line_voltage_ca": trace(lambda _: 117.0)}
    assert kind(RESTS | half, phases=3) is StartKind.LOST_PHASE
    assert kind(RESTS | THREE_VOLTS, phases=3, since_stop_s=60.0) is StartKind.DELAY_TIMER


def test_one_clamp_names_no_phase() -> None:
    bare = {"compressor_current_a": steps((3.25, 70.0), (3.75, 9.0)), **PARTS}
    assert kind(bare | {"condenser_fan_current": SOUND["condenser_fan_current"]}, phases=3) is StartKind.STARTED


def test_it_turns_backwards() -> None:
    """Three phases, far less than its plate, and pressures that stay: makers' manuals on scrolls."""
    idles = SOUND | THREE_VOLTS | STAYS | {"compressor_current": steps((3.25, 70.0), (3.5, 6.0))}
    found = diagnose(record(idles, phases=3))
    assert found.kind is StartKind.BACKWARDS
    assert "exchange two of the compressor's leads at the load side of its contactor" in str(found.says)
    assert would_tell(idles) == ("tell.longer",)  # one phase cannot be exchanged
    assert would_tell(idles | parting(by_pa=1e5), phases=3) == ("tell.longer",)
    without = {name: it for name, it in idles.items() if "pressure" not in name}
    assert would_tell(without, phases=3) == ("tell.pressures",)


IDLES = {**SOUND, **STAYS, "compressor_current": steps((3.25, 70.0), (3.5, 6.0))}
THREE_LEGS = {f"compressor_current_{leg}": steps((3.25, 70.0), (3.5, 6.0)) for leg in "abc"}


def test_nobody_need_know_of_how_many_phases_it_is_to_see_that_it_pumps_nothing() -> None:
    """Three phases: exchange two leads. One: by a maker's manual a scroll may do so after a blink of the power."""
    found = diagnose(record(IDLES, phases=None))
    assert found.kind is StartKind.BACKWARDS
    assert "see how many leads feed it" in str(found.says)
    assert "Three: exchange two of the compressor's leads" in str(found.says)
    assert str(found.says).lower().count("locked out, proved dead and discharged") == 1
    assert set(found.steps) == {Step.LOOK, Step.START}
    for three in (THREE_VOLTS, THREE_LEGS):
        legs = {name: it for name, it in IDLES.items() if name != "compressor_current" or three is THREE_VOLTS}
        assert "exchange two of the compressor's leads" in str(diagnose(record(legs | three, phases=None)).says)
    two = {name: it for name, it in THREE_VOLTS.items() if name != "line_voltage_ca"}
    assert "see how many" in str(diagnose(record(IDLES | two, phases=None)).says)


@pytest.mark.parametrize(("amps", "tells"), [(0.69, StartKind.BACKWARDS), (0.71, StartKind.CANNOT_TELL)])
def test_what_idles_draws_well_below_its_plate(amps: float, tells: StartKind) -> None:
    idles = IDLES | {"compressor_current": steps((3.25, 70.0), (3.5, amps * RLA_A))}
    assert kind(idles, phases=None) is tells


def test_what_depends_on_the_phases_is_not_told_without_them() -> None:
    assert kind(SOUND, phases=None) is StartKind.STARTED
    heavy = SOUND | {"compressor_current": steps((3.25, 85.0), (3.75, 0.66 * RLA_A))}
    assert would_tell(heavy, phases=None) == ("tell.phases",)
    assert would_tell(heavy | {"line_voltage_ab": trace(lambda _: 198.0)}, phases=None) == ("tell.phases", "tell.volts")
    stalls = SOUND | STAYS | {"compressor_current": steps((3.25, 88.0))}
    assert would_tell(stalls, phases=None) == ("tell.all_phases", "tell.volts")
    assert kind(stalls | THREE_VOLTS, phases=None) is StartKind.STALLED
    dead = RESTS | {"line_voltage_ab": trace(lambda _: 0.0)}
    assert would_tell(dead, phases=None) == ("tell.volts",)
    assert kind(dead, phases=1) is StartKind.NO_SUPPLY
    lost = {f"compressor_current_{it}": steps((3.25, 0.1 if it == "a" else 70.0)) for it in "ab"}
    assert kind(RESTS | lost, phases=None) is StartKind.LOST_PHASE


def test_probes_that_are_read_rarely_tell_too_once_they_would_have_parted() -> None:
    sparse = {name: Trace(STAYS[name].times_s[::5], STAYS[name].values[::5]) for name in STAYS}  # each 2.5 s
    last = {name: Trace(it.times_s[:-1], it.values[:-1]) for name, it in sparse.items()}
    assert kind(IDLES | THREE_VOLTS | last, phases=3) is StartKind.BACKWARDS
    early = {name: Trace(it.times_s[:4], it.values[:4]) for name, it in sparse.items()}  # to 7.5 s
    assert would_tell(IDLES | THREE_VOLTS | early, phases=3) == ("tell.pressures",)


def test_a_start_of_three_phases_that_takes_long_is_not_called_sound() -> None:
    """Within 3 s: common practice, no source."""
    slow = SOUND | THREE_VOLTS | {"compressor_current": steps((3.25, 85.0), (6.5, 7.0))}
    assert kind(slow, phases=3) is StartKind.STARTED  # from 3.25 to 6.25 s, for all that the record tells
    slower = SOUND | THREE_VOLTS | {"compressor_current": steps((3.25, 85.0), (6.75, 7.0))}
    assert would_tell(slower, phases=3) == ("tell.volts",)


@pytest.mark.parametrize(("low_v", "tells"), [(198.0, ()), (195.0, ("tell.supply",))])
def test_a_start_that_sags_the_volts_is_not_called_sound(low_v: float, tells: tuple[str, ...]) -> None:
    """85 % of 231 V are 196 V: makers, from memory."""
    sags = {"line_voltage_bc": trace(lambda time_s: low_v if 3.25 <= time_s < 4.0 else 231.0)}
    found = diagnose(record(SOUND | THREE_VOLTS | sags, phases=3))
    assert found.would_tell == tells
    assert (found.kind is StartKind.STARTED) is (tells == ())
    after = dict.fromkeys(THREE_VOLTS, trace(lambda time_s: low_v if time_s >= 6.5 else 231.0))
    assert kind(SOUND | THREE_VOLTS | after, phases=3) is StartKind.STARTED  # that is no sag of the start


def test_of_several_pairs_the_one_that_sags_most_is_told() -> None:
    sags = {"line_voltage_ca": trace(lambda time_s: 200.0 if 3.25 <= time_s < 4.0 else 230.0)}
    assert sag_of(THREE_VOLTS | sags, 3.25) == (230.0, 30.0)
    assert sag_of({}, 3.25) is None
    assert sag_of({"line_voltage_ab": trace(lambda _: 0.0)}, 3.25) is None
    assert sag_of(VOLTS, END_S + 1.0) is None


def test_it_stops_within_seconds() -> None:
    stops = SOUND | {"compressor_current": steps((3.25, 80.0), (3.5, 7.0), (9.0, 0.0))}
    assert would_tell(stops) == ("tell.cut_outs", "tell.contactor")
    assert kind(stops, low_cut_out_pa=1.3e6) is StartKind.LOW_CUT_OUT
    blind = {name: it for name, it in stops.items() if "pressure" not in name}
    assert would_tell(blind) == ("tell.cut_outs", "tell.contactor")


def test_a_record_must_begin_before_and_go_on_after() -> None:
    assert would_tell(SOUND | {"compressor_current": trace(lambda _: 7.0)}) == ("tell.from_before",)
    assert would_tell(VOLTS) == ("tell.compressor_amps",)
    assert would_tell({}) == ("tell.compressor_amps",)
    early = {name: Trace(it.times_s[it.times_s <= 8.0], it.values[it.times_s <= 8.0]) for name, it in SOUND.items()}
    assert would_tell(early) == ("tell.longer",)
    late = SOUND | {name: Trace(PARTS[name].times_s[10:], PARTS[name].values[10:]) for name in PARTS}
    assert would_tell(late) == ("tell.pressures",)


def test_what_is_no_record_is_refused() -> None:
    two = np.array([0.0, 1.0])
    with pytest.raises(SeriesError, match="as many values as times"):
        diagnose(record({"compressor_current": Trace(two, np.array([1.0]))}))
    with pytest.raises(SeriesError, match="times must rise"):
        diagnose(record({"compressor_current": Trace(two[::-1], two)}))
    with pytest.raises(CalcRangeError, match="compressor_rla_a"):
        diagnose(record(SOUND, compressor_rla_a=0.0))
