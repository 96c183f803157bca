"""Nothing is said that was not seen: over the recorded visits, as a practitioner read their pages.

What each should say is common practice of who hands a unit over, no source; figures are those of the record.
"""

from typing import Any

import pytest
from msgspec.structs import replace

from ingest.report.compose import compose
from ingest.report.document import Fields, Report, Table, Trace
from ingest.report.errors import NoVisitError
from ingest.wire.messages import Acknowledged, Placed, Released, SessionBegan, Stop
from tests.ingest.report.journal import BURNS, ONE, Journal
from tests.ingest.report.reading import section, words
from tests.ingest.report.recorded import Shelf, names, read

CONCERNS = {
    "close_panel", "as_it_was", "probes_off", "leaks", "capacitor_by_eye", "capacitor_measured", "capacitor_under_load",
    "windings", "contactor", "start", "supply", "motor_amps", "joint_drop", "connections", "readings_after", "panels",
}  # fmt: skip
"""Checks that reach the owner's first line where they are not met: common practice, no source."""
NOW, FOUND = "You told us, and now", "What we found"
NOT_TOLD = "What we could not tell, or did not check"


def of(name: str, system: Any = "us") -> Report:
    visit = read(name)
    return compose(Shelf(visit), visit.id, system=system, zone="UTC")


def first_line(name: str) -> str:
    return section(of(name), "Outcome").splitlines()[0]


def rows(report: Report, title: str) -> dict[str, list[str]]:
    found = [it for it in (*report.front, *report.back) if it.title == title]
    tables = [block for it in found for block in it.blocks if isinstance(block, Table)]
    return {row[0].text: [cell.text for cell in row[1:]] for table in tables for row in table.rows}


def test_who_heats_does_not_say_that_it_cools() -> None:
    told = section(of("heating"), NOW)
    assert "Said to be gone. It was heating (35 °F outdoors); cooling could not be tried." in told


@pytest.mark.parametrize("name", ["low_blend", "a2l", "not_to_be_charged", "two_circuits", "weak_capacitor"])
def test_what_cooled_as_we_came_was_not_seen_to_fail(name: str) -> None:
    told = section(of(name), NOW)
    assert "Said to be gone. It cooled the same when we came (7" in told
    assert "we did not see it fail." in told


@pytest.mark.parametrize("name", ["low_blend", "a2l", "heating", "not_to_be_charged", "two_circuits"])
def test_a_port_that_is_not_recorded_as_shut_is_on_the_first_line(name: str) -> None:
    assert first_line(name).startswith("It runs, with a concern: ")
    assert "a service port is not recorded as shut" in first_line(name)


def test_a_lock_of_which_nobody_says_that_it_is_off_and_the_judges_last_word_are_on_the_front() -> None:
    assert "whether our lock is off is not recorded" in first_line("not_to_be_charged")
    assert "Likely: the outdoor coil is dirty or short of air." in section(of("not_to_be_charged"), FOUND)
    told = section(of("not_to_be_charged"), NOT_TOLD)
    assert "our own voltmeter read 229 V on L1-L2: it was live; that it was proved dead and discharged before" in told
    assert "locked off" not in told


@pytest.mark.parametrize(
    ("check", "choices", "says"),
    [
        ("probes_off", {"cores": "leaks"}, "a service port leaks"),
        ("panels", {"screws_back": "fewer"}, "not every panel and screw is back"),
        ("as_it_was", {"power": "other"}, "somebody else took our lock off"),
        ("as_it_was", {"cut_outs_reset": "open"}, "one of its safety switches stands open"),
        ("as_it_was", {"thermostat": "changed"}, "its thermostat or dampers are not set as they were"),
        ("as_it_was", {"tools": "missing"}, "a tool is missing that may be in it"),
        ("close_panel", {"cover": "off"}, "its electrical cover is not recorded as closed"),
        ("leaks", {"joints": "leak"}, "refrigerant leaks from it"),
        ("connections", {"found": "tight", "heat": "seen"}, "a wire connection is not as it should be"),
    ],
)
def test_what_is_not_met_as_it_is_left_is_a_concern(check: str, choices: dict[str, str], says: str) -> None:
    it = Journal(ONE)
    it.found(check, "not_met", choices=choices)
    it.handed_over()
    line = section(it.report(), "Outcome").splitlines()[0]
    assert line == f"It runs, with a concern: {says}."
    it.found(check, "met")
    assert "concern" not in section(it.report(), "Outcome")


@pytest.mark.parametrize(
    ("choices", "told"),
    [
        ({"cover": "never_off"}, ""),
        ({"cover": "on"}, "The electrical side was closed again; that it was locked off, proved dead and discharged"),
        ({"cover": "off"}, "The electrical cover was off; that it was locked off, proved dead and discharged"),
    ],
)
def test_a_cover_that_was_off_and_not_made_dead_for_is_told_also_at_a_visit_to_the_circuit_alone(
    choices: dict[str, str], told: str
) -> None:
    it = Journal(BURNS)
    it.found("complaint", choices={"work": "circuit"})
    it.found("close_panel", "not_met" if choices["cover"] == "off" else "met", choices=choices)
    it.handed_over()
    said = section(it.report(), NOT_TOLD)
    assert told in said
    assert ("locked off" in said) is bool(told)


@pytest.mark.parametrize(
    ("bypassed", "work", "is_told"),
    [("outside", "connections", True), ("none", "connections", False), ("outside", "supply", False)],
)
def test_a_panel_that_was_opened_and_not_looked_behind_is_told(bypassed: str, work: str, is_told: bool) -> None:
    it = Journal(ONE)
    it.found("look_first", choices={"found": "nothing", "bypassed": bypassed})
    it.found(work)
    it.handed_over()
    assert ("looked at from outside alone" in section(it.report(), NOT_TOLD)) is is_told


def test_more_than_three_concerns_are_left_to_the_back() -> None:
    it = Journal(ONE)
    for check in ("panels", "close_panel", "supply", "start"):
        it.found(check, "not_met")
    it.handed_over()
    line = section(it.report(), "Outcome").splitlines()[0]
    assert line.endswith("and more that the back names.")
    assert line.count(",") == 3  # the concern itself, and between three of them


def test_a_clamp_on_the_capacitors_lead_tells_no_amps_of_the_compressor() -> None:
    report = of("weak_capacitor")
    elsewhere = "not recorded (the clamp was on another lead)"
    assert rows(report, "Before and after")["Current of the compressor (its plate: 16 A)"] == [elsewhere, "11.8 A"]
    assert rows(report, "Figures")["Compressor"][0] == elsewhere


def test_a_capacitor_that_was_weak_under_load_alone_is_told_so() -> None:
    """38.18 of 45 µF is 85 %."""
    report = of("weak_capacitor")
    assert "had about 85 % of the strength on its label left under load" in section(report, FOUND)
    told = section(report, NOT_TOLD)
    assert "With its leads off the run capacitor was within its limits before and after" in told
    assert "was not measured again under load" in told
    assert "that was not measured again" in first_line("weak_capacitor")


def test_two_readings_that_contradict_each_other_are_no_part_that_failed() -> None:
    report = of("low_blend")
    assert "disagree: about a fifth of the strength on its label" in section(report, FOUND)
    assert "Why the part failed" not in section(report, FOUND) + section(report, "Cause and its proof")
    assert "why the part failed" not in section(report, NOT_TOLD)
    assert "disagree (9.0 ± 0.2 µF and 45.0 ± 0.2 µF)" in section(report, "Cause and its proof")


def test_a_compressor_that_only_drew_current_likely_turned_backwards() -> None:
    report = of("turns_backwards")
    likely = "The compressor drew current and did not pump: likely it turned backwards (we measured)."
    assert likely in section(report, FOUND)
    assert "the order of the phases and which way the fans turn are not recorded" in section(report, "Start here")
    it = Journal(ONE)
    it.found("start", "not_met", "said", choices={"motor": "compressor", "course": "backwards"})
    assert "The compressor turned backwards (we saw)." in section(it.report(), FOUND)


def test_volts_lost_in_a_connection_are_told_before_and_after_with_their_heat() -> None:
    """4.816 V at 8.417 A is 40.5 W."""
    report = of("loose_lug")
    assert "under load 4.8 V was lost in it, which makes about 40 W of heat there, reckoned" in section(report, FOUND)
    assert rows(report, "Before and after")["Volts lost in a wire connection, L1"] == ["4.8 V", "0.0 V"]


def test_what_was_tightened_by_feel_is_a_concern_until_it_was_measured() -> None:
    by_feel = "The wire connection that was loose was not tightened to a torque."
    for name in ("low_blend", "loose_lug"):  # of three phases, the lug was measured on L1 alone
        assert by_feel in section(of(name), NOT_TOLD)
        assert "a wire connection was tightened by feel alone" in first_line(name)


@pytest.mark.parametrize(
    ("phases", "joint", "legs", "is_open"),
    [
        (3, "Lug of L1", "abc", False),
        (3, "Lug of L1", "a", True),
        (3, "Blade of the disconnect", "abc", True),
        (1, "lug of l1", "ab", False),
        (1, "Lug of L1", "a", True),
        (0, "Lug of L1", "ab", True),
    ],
)
def test_a_joint_that_was_tightened_by_feel_is_open_until_each_leg_of_it_was_measured(
    phases: int, joint: str, legs: str, *, is_open: bool
) -> None:
    """A joint has a leg a phase, of a unit of one phase two: common practice, no source."""
    it = Journal(replace(ONE, phases=phases or None))
    it.found("joint_drop", "not_met", values={"drop.a": 4.8}, choices={"joint": "Lug of L1"})
    it.found("connections", "not_met", choices={"found": "a_turn", "torque_by": "feel", "terminal": "Lug of L1"})
    it.found("joint_drop", values={f"drop.{leg}": 0.01 for leg in legs}, choices={"joint": joint})
    it.handed_over()
    line = section(it.report(), "Outcome").splitlines()[0]
    assert ("a wire connection was tightened by feel alone" in line) is is_open
    it.found("connections", choices={"found": "a_turn", "torque_by": "marked", "terminal": "Lug of L1"})
    assert "by feel" not in section(it.report(), "Outcome")


def test_each_concern_of_the_headline_says_first_what_to_have_done_about_it() -> None:
    """What to do about each: common practice, no source."""
    title = "What to do, and by when"
    for name, asked in (
        ("not_to_be_charged", ["have the service ports shut and capped", "ask us whether our lock is off"]),
        ("weak_capacitor", ["have the run capacitor measured again under load"]),
        ("loose_lug", ["have every wire connection tightened to its torque, or measured on every leg"]),
    ):
        told = section(of(name), title).splitlines()
        for line, words_of_it in zip(told, asked, strict=False):
            assert line.startswith(f"Now: {words_of_it}")


@pytest.mark.parametrize("check", sorted(CONCERNS - {"leaks", "as_it_was"}))
def test_no_concern_stands_without_an_action(check: str) -> None:
    it = Journal(ONE)
    it.found(check, "not_met", choices={"cores": "leaks"})
    it.handed_over()
    assert "It runs, with a concern: " in section(it.report(), "Outcome")
    assert section(it.report(), "What to do, and by when").startswith("Now: ")


@pytest.mark.parametrize(
    ("choices", "says"),
    [
        ({"power": "throughout"}, "Now: ask us whether our lock is off"),
        ({"power": "other"}, "Now: tell us who took our lock off"),
        ({"cut_outs_reset": "open"}, "Now: have it found out why its safety switch opened"),
        ({"thermostat": "changed"}, "Now: have its thermostat"),
        ({"tools": "missing"}, "Now: have the tool looked for"),
        ({"jumpers_out": "fewer"}, "At once: have the wire taken out"),
        ({"leak_detector": "bypassed"}, "At once: have its leak detector put back"),
        ({"leak_detector": "alarm"}, "At once: have it found out why its leak detector"),
    ],
)
def test_what_is_not_as_it_was_says_what_to_have_done(choices: dict[str, str], says: str) -> None:
    it = Journal(ONE)
    it.found("as_it_was", "not_met", choices=choices)
    it.handed_over()
    assert section(it.report(), "What to do, and by when").startswith(says)


def test_a_capacitor_that_read_two_ways_is_a_concern_until_it_is_measured_again() -> None:
    assert "its run capacitor read two ways" in first_line("low_blend")
    assert "Now: have the run capacitor measured again." in section(of("low_blend"), "What to do, and by when")
    assert rows(of("low_blend"), "Figures")["can, Herm to common"][-1] == "readings disagree"
    assert rows(of("weak_capacitor"), "Figures")["can, Herm to common"][-1] == "met"
    it = Journal(ONE)
    label = {"label.herm": 45e-6, "tolerance": 0.06}
    it.found("capacitor_measured", "not_met", part="can", values={"measured.herm": 9e-6, **label})
    it.now_s -= 30.0
    it.found("capacitor_measured", part="can", values={"measured.herm": 45e-6, **label})
    it.handed_over()
    assert "its run capacitor read two ways" in section(it.report(), "Outcome")
    it.found("capacitor_measured", part="can", values={"measured.herm": 45e-6, **label})
    assert "two ways" not in section(it.report(), "Outcome")


def test_the_back_says_no_more_of_the_complaint_than_the_front() -> None:
    for name, says in (
        ("a2l", "The complaint is said to be gone, we did not see it fail."),
        ("heating", "The complaint is said to be gone, not tried: it was heating."),
        ("loose_lug", "The complaint is said to be gone."),
    ):
        assert says.lower() in section(of(name), "Start here").lower()


def test_working_dead_afresh_is_no_job_that_was_left() -> None:
    told = section(of("low_blend"), "Start here")
    assert "Before a hand goes in, lock, prove dead and discharge afresh." in told
    assert "To be made again" not in told


def test_an_alarm_of_floodback_stands_where_the_next_one_starts_and_in_the_readers_units() -> None:
    """1.7 and 1.2 °F of a difference are 0.9 and 0.7 K: NIST SP 811, B.8, 1 °F is 5/9 K."""
    assert "Alarm of floodback at 20:56" in section(of("weak_capacitor"), "Start here")
    assert "Superheat 1.7 ± 1.2 °F" in section(of("weak_capacitor"), "Time line")
    assert "Superheat 0.9 ± 0.7 K" in section(of("weak_capacitor", "si"), "Time line")
    assert "loodback" not in section(of("a2l"), "Start here")


def test_a_figure_that_was_read_twice_has_both_verdicts() -> None:
    assert rows(of("a2l"), "Figures")["Subcooling"][-1] == "not met, then cannot tell"
    assert rows(of("not_to_be_charged"), "Figures")["Subcooling"][-1] == "before: cannot tell"


def test_a_plate_is_told_in_the_words_of_its_motor_and_what_is_missing_by_its_name() -> None:
    """RLA is of a compressor, FLA of a fan's motor: as plates have it."""
    told = section(of("not_to_be_charged"), "Plate")
    assert "RLA 20 A" in told
    assert "FLA 3.5 A" in told
    assert " or " not in told
    assert "Still missing: the nameplate's volts" in section(of("not_to_be_charged"), "Checks")
    assert "wet bulb of the return air" in section(of("a2l"), "Figures")


def test_a_level_too_near_to_tell_is_not_told_as_enough() -> None:
    for name in ("low_blend", "a2l"):
        assert "Whether it now has enough refrigerant: too near to tell." in section(of(name), NOT_TOLD)
        assert "All was right" not in section(of(name), "Time line")


def test_a_reading_alone_stands_by_when_it_was_taken() -> None:
    """Of the compressor's lead at the end, after the work or without any; before it, under Before."""
    parts = rows(of("weak_capacitor"), "Figures")
    assert parts["compressor, L1"][:2] == ["", "11.82 ± 0.15 A"]
    assert parts["can, Herm to common"][:2] == ["43.60 ± 0.05 µF", "45.00 ± 0.05 µF"]
    assert rows(of("loose_lug"), "Figures")["compressor, L1"][:2] == ["", "8.61 ± 0.15 A"]
    assert rows(of("low_blend"), "Figures")["can, Herm to common"][:2] == ["9.0 ± 0.2 µF", "45.0 ± 0.2 µF"]


def test_whom_to_call_is_never_left_to_a_line_that_nobody_filled() -> None:
    told = section(of("a2l"), "Safety")
    assert "call your service company" in told
    assert "Fire: leave, and call the fire service from outside." in told
    assert "named below" not in told
    who = next(it for it in of("a2l").front if it.title == "Who")
    fields = next(it for it in who.blocks if isinstance(it, Fields))
    assert set(dict(fields.rows)["Telephone of the company"].text) == {"_"}


def test_the_log_of_a_logger_is_refused_as_no_visit() -> None:
    log = SessionBegan("v1-0", 1_780_144_200.0, text="imported from june.csv, SHA-256 00ff")
    with pytest.raises(NoVisitError, match=r"is a log of a logger, no visit \(imported from june.csv"):
        compose(Shelf.of("v1", ONE.tag, [log], ONE), "v1", system="si", zone="UTC")


def test_volts_that_stand_in_the_table_are_told_as_read_and_why_they_were_not_judged() -> None:
    read = "The supply voltage was read, not judged: "
    for name, why in (
        ("a2l", "not at the load side, under load."),
        ("not_to_be_charged", "the plate's volts are not recorded."),
        ("loose_lug", "one of three pairs of wires was read."),
    ):
        told = section(of(name), NOT_TOLD)
        assert f"{read}{why}" in told
        assert "supply voltage" not in told.replace(read, "")


def test_a_level_that_was_read_as_we_left_and_not_kept_is_told_as_that() -> None:
    level = "Refrigerant, by the maker's own figure"
    assert rows(of("weak_capacitor"), "Before and after")[level] == ["right", "cannot tell: still settling"]
    assert rows(of("not_to_be_charged"), "Before and after")[level] == ["too near to tell", "read, not judged"]


def test_what_was_put_right_and_not_named_is_not_recorded() -> None:
    report = of("not_to_be_charged")
    assert "something that explains the complaint; what it was is not recorded" in section(report, FOUND)
    assert section(report, "What we did") == "Put right what we saw; what it was is not recorded."
    assert "A fault was gone at the end; what was done is not recorded." in section(
        of("turns_backwards"), "What we did"
    )
    assert "we looked and measured" in section(of("heating"), "What we did")


def test_what_is_to_be_read_again_is_named() -> None:
    title = "What to do, and by when"
    assert "By 30 December 2026: have the refrigerant level read again;" in section(
        of("a2l"), title
    )  # as the look asks
    assert "what is to be read then is not recorded" in section(of("loose_lug"), title)


def test_that_nobody_looked_for_a_leak_is_said_of_each_circuit() -> None:
    nobody = "Nobody looked for a leak."
    assert section(of("heating"), "Refrigerant").count(nobody) == 1
    assert section(of("two_circuits"), "Refrigerant").count(nobody) == 1  # it was at the other one
    assert nobody not in section(of("a2l"), "Refrigerant")


@pytest.mark.parametrize("name", names())
def test_a_page_that_is_signed_asks_nothing_of_who_wrote_it(name: str) -> None:
    told = words(of(name), "back")
    for asked in (
        "say who",
        "take a torque tool",
        "not asked for again",
        "at least 0 ",
        "stood as made dead",
        "(60 %)",
    ):
        assert asked not in told


def test_amps_below_what_is_no_limit_are_no_verdict() -> None:
    """RLA is of a compressor, FLA of a fan's motor: as plates have it."""
    parts = rows(of("a2l"), "Figures")
    assert parts["compressor, L1"][3:] == ["RLA 15.2 A: its plate; it is no limit", ""]
    assert parts["condenser fan, L1"][3:] == ["FLA 1.3 A: its plate", "met"]


def test_air_that_is_heated_rises() -> None:
    assert rows(of("heating"), "Figures")["Rise of the air"][:2] == ["26.7 ± 0.8 °F", "25.9 ± 0.8 °F"]
    assert "Split of the air" in rows(of("a2l"), "Figures")


def test_the_trace_of_a_circuit_has_a_gap_where_the_probes_were_on_the_other() -> None:
    visit = read("two_circuits")
    moved_s = [mark.time_s for mark in Shelf(visit).marks[visit.id] if isinstance(mark, Placed) and mark.on == "2"]
    (trace,) = [it for part in of("two_circuits").back for it in part.blocks if isinstance(it, Trace)]
    for line in trace.lines:
        known_s = [time_s for time_s, value in zip(line.times_s, line.values, strict=True) if value is not None]
        assert (min(known_s) < moved_s[0]) is (line.name == "Compressor")


def test_what_the_page_offered_for_a_touch_is_no_place_and_no_decision() -> None:
    report = of("loose_lug")
    assert "A wire connection was loose; which one is not recorded (we saw" in section(report, FOUND)
    assert (
        section(report, "What we did") == "Tightened wire connections by feel at every terminal that was proved dead."
    )
    told = section(report, "What to do, and by when")
    assert "You were told what was found and done. Your decision is not recorded." in told


def test_what_the_page_listed_by_itself_is_not_quoted_as_written_for_the_next_one() -> None:
    assert "Nobody wrote what the next person must know." in section(of("not_to_be_charged"), "Start here")
    it = Journal(ONE)
    it.handed_over(next_person="Not met: Tag. Mind the wasps. They nest in the curb. Nothing is left open.")
    told = section(it.report(), "Start here")
    assert "What you must know: “Mind the wasps. They nest in the curb.”" in told
    assert "Not met" not in told


def test_what_is_open_is_of_the_signature_and_not_of_the_list_at_handing_over() -> None:
    it = Journal(ONE)
    it.found("supply", "not_met")
    it.found("capacitor_measured", "cannot_tell", part="run capacitor")
    it.handed_over(next_person="Not met: Supply. Could not be told: Capacitor. Not made: Start.")
    it.found("supply")
    told = section(it.report(), "Start here")
    assert "Supply under load" not in told
    assert "Could not be told: Capacitor, measured" in told
    it.found("capacitor_measured", "met", part="run capacitor")
    it.signed()
    told = section(it.report(), "Start here")
    assert "Could not be told" not in told
    assert "Not made: Complaint" in told


def test_what_was_left_open_behind_a_closed_panel_is_told_as_not_made() -> None:
    it = Journal(ONE)
    for check in ("isolate", "prove_dead", "discharge", "capacitor_measured", "close_panel", "power_back"):
        it.found(check)
    it.handed_over()
    it.signed()
    told = section(it.report(), "Start here")
    assert "Conductor and terminal" in told
    assert "Before a hand goes in, lock, prove dead and discharge afresh." in told


def test_that_a_lead_asked_to_stop_is_told_and_their_words_are_not() -> None:
    it = Journal(ONE)
    stop = it.add(Stop, text="slower with that hose", by="Robin", role="lead")
    it.add(Acknowledged, of=stop)
    it.add(Released, of=stop, by="Robin", role="lead")
    it.add(Acknowledged, of="some note")
    told = section(it.report(), "Time line")
    assert "A lead asked to stop (Robin)." in told
    assert told.count("The lead's stop was read.") == 1
    assert "The lead said go on (Robin)." in told
    assert "slower" not in told


def test_no_superheat_or_subcooling_is_traced_while_the_compressor_stands() -> None:
    visit = read("weak_capacitor")
    off_s = {
        pack.time_s
        for pack in Shelf(visit).packs[visit.id]
        if (amps := pack.readings.get("compressor_current")) and amps.value is not None and amps.value < 0.1
    }
    (trace,) = [it for part in of("weak_capacitor").back for it in part.blocks if isinstance(it, Trace)]
    line = next(it for it in trace.lines if it.name == "Subcooling")
    told = {time_s: value for time_s, value in zip(line.times_s, line.values, strict=True) if time_s in off_s}
    assert told
    assert set(told.values()) == {None}


def test_a_look_for_leaks_that_names_no_place_is_none_and_one_by_eye_cannot_tell() -> None:
    """The front says one thing of it, where refrigerant is told of and where is told what nobody knows."""
    it = Journal()
    it.added(4.0)
    it.found("leaks", "cannot_tell", "said")
    told = words(it.report())
    assert "Nobody looked for a leak." in told
    assert "A leak was looked for" not in told
    for outcome in ("cannot_tell", "met"):  # whatever was made of it
        it.found("leaks", outcome, "seen", choices={"by": "seen", "joints": "tight"})
        told = words(it.report())
        assert "by eye alone, which cannot tell" in told
        assert "We do not know whether it leaks: what was looked at cannot tell." in told
        assert "obody looked for a leak" not in told


def test_a_power_that_was_live_when_it_was_to_be_off_is_told_to_who_comes_next() -> None:
    """The first thing that whoever opens it has to know: common practice, no source."""
    told = section(of("not_to_be_charged"), "Start here").splitlines()
    assert told[1] == "When it was to be off, our own voltmeter read 229 V on L1-L2: it was live."
    assert told[-1] == "Before a hand goes in, lock, prove dead and discharge afresh."
    assert "When the power was to be off, our own voltmeter read 229 V" in section(of("not_to_be_charged"), NOT_TOLD)


def test_what_the_figures_pointed_at_last_is_to_be_seen_to() -> None:
    asked = section(of("not_to_be_charged"), "What to do, and by when")
    assert "Have the outdoor coil looked at, and cleaned if it is dirty. No day is set." in asked
    assert "outdoor coil" not in section(of("two_circuits"), "What to do, and by when")
