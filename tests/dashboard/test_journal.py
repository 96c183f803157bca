"""The visit's marks as a person reads them."""

from msgspec.structs import replace

from dashboard import journal, words
from ingest.visit.standing import Standing
from ingest.wire.messages import (
    Acknowledged,
    Added,
    Checked,
    CheckFound,
    Correction,
    Finding,
    Grade,
    Mark,
    Note,
    PowerRead,
    Question,
    ReadingTaken,
    Recovered,
    Stop,
    Visit,
)
from tests import wire_rig

TIME_S = 1.7e9
OUNCE_KG = 0.028349523125  # NIST SP 811, B.8: 1 oz (avoirdupois) = 2.834 952 E-02 kg


def note(identity: str, role: str = "lead") -> Mark:
    return Note(identity, TIME_S, by="Robin", role=role, text=f"Let it sit, {identity}.")


def told(*events: Mark) -> Visit:
    """What the rig says of these marks."""
    return Standing("v1", events).message()


def test_the_notes_of_a_lead_wait_as_the_rig_says() -> None:
    events = [note("n1"), note("n2", role="technician"), note("n3"), Acknowledged("a", TIME_S, of="n1")]
    pending = journal.marks(events, told(*events), None, "us")["pending"]
    assert pending == [{"id": "n3", "by": "Robin", "text": "Let it sit, n3.", "time": TIME_S, "about": None}]
    assert journal.marks(events, None, None, "us")["pending"] == []


def test_a_note_about_a_moment_hangs_there_and_says_so() -> None:
    about = Note("n1", TIME_S, "Robin", "lead", "Here the fan stopped.", TIME_S - 300.0)
    told_of = journal.marks([about, note("n2")], told(about), None, "us")
    assert [(mark["time"], mark["at"]) for mark in told_of["marks"]] == [(TIME_S, TIME_S - 300.0), (TIME_S, TIME_S)]
    assert told_of["pending"][0]["about"] == TIME_S - 300.0


def test_a_leads_stop_stands_before_their_notes_until_it_is_acknowledged() -> None:
    events: list[Mark] = [note("n1"), Stop("s1", TIME_S, "Robin", "lead", "Hands off.")]
    pending = journal.marks(events, told(*events), None, "us")["pending"]
    assert [(it["id"], it["text"]) for it in pending] == [("s1", "STOP. Hands off."), ("n1", "Let it sit, n1.")]
    assert [it.get("stops") for it in pending] == ["Hands off.", None]
    events.append(Acknowledged("a", TIME_S, "Sam", "technician", of="s1"))
    assert [it["id"] for it in journal.marks(events, told(*events), None, "us")["pending"]] == ["n1"]


def test_power_that_nobody_recorded_is_told_with_what_read_it() -> None:
    read = [("line_voltage_ab", 230.4), ("blower_current", 0.31)]
    events = [PowerRead(f"b{number}", TIME_S, channel=name, value=value) for number, (name, value) in enumerate(read)]
    assert [words.mark(it, "us") for it in events] == [
        "Power was read, and nobody recorded it: Line voltage L1–L2 230 V",
        "Power was read, and nobody recorded it: Blower 0.3 A",
    ]


def test_of_a_finding_is_told_how_each_figure_is_known_where_they_differ() -> None:
    says = wire_rig.same("All of it holds.")
    grades: dict[str, Grade] = {"amps.a": "measured", "rated": "typed", "since_stop": "typed"}
    found = Finding("f1", TIME_S, "Sam", "technician", check="motor_amps", grade="typed", outcome="met", says=says,
                    grades=grades)  # fmt: skip
    alike = replace(found, id="f2", grades=dict.fromkeys(grades, "typed"))
    of_before = replace(found, id="f3", grades={})
    told_as = [mark["text"] for mark in journal.marks([found, alike, of_before], None, None, "us")["marks"]]
    assert told_as == [
        "All of it holds. (measured: amps a; typed: rated, since stop)", "All of it holds.", "All of it holds.",
    ]  # fmt: skip


def test_of_a_reading_is_told_what_was_left_out_and_why() -> None:
    why = "it was on RTU-A, and nobody has said that it moved"
    left = {"suction_pressure": why, "compressor_current": why, "liquid_line_temperature": "nothing new came from it"}
    told_as = f"left out, as {why}: Suction pressure, Compressor; "
    told_as += "left out, as nothing new came from it: Liquid line"
    events = [
        ReadingTaken("r1", TIME_S, figures=dict.fromkeys(left), left_out=left),
        Question("q1", TIME_S, "Sam", "technician", "Is that right?", left_out=left),
        Question("q2", TIME_S, "Sam", "technician", "And that?"),
    ]
    assert [mark["text"] for mark in journal.marks(events, None, None, "us")["marks"]] == [
        told_as, f"Is that right? ({told_as})", "And that?",
    ]  # fmt: skip


def test_marks_are_worded_and_the_sums_are_the_rigs() -> None:
    events = [
        Added("1", TIME_S, mass_kg=6 * OUNCE_KG, phase="liquid"),
        Added("2", TIME_S, mass_kg=40 * OUNCE_KG, phase="liquid"),
        Recovered("3", TIME_S, mass_kg=2 * OUNCE_KG, phase="vapour"),
        Correction("4", TIME_S, of="2", mass_kg=4 * OUNCE_KG),
    ]
    known = journal.marks(events[2:], told(*events), None, "us")  # though the page does not hold them all
    assert [mark["label"] for mark in known["marks"]] == ["−2 oz vapour", "It was 4 oz"]
    assert known["totals"] == "added 10 oz · recovered 2 oz"
    assert journal.marks(events, told(*events), None, "si")["totals"] == "added 283 g · recovered 57 g"
    whole = journal.marks(events, told(*events), None, "us")["marks"]
    assert [mark["corrected"] for mark in whole] == [False, True, False, False]
    assert [mark["holds"] for mark in whole] == ["+6 oz liquid", "+4 oz liquid", "−2 oz vapour", "It was 4 oz"]
    assert whole[-1]["text"] == "instead of +2 lb 8 oz liquid"


def test_what_was_never_moved_holds_nothing() -> None:
    events = [Recovered("1", TIME_S, mass_kg=2 * OUNCE_KG, phase="vapour"), Correction("2", TIME_S, of="1")]
    assert [mark["holds"] for mark in journal.marks(events, None, None, "us")["marks"]] == ["", "Amount withdrawn"]


def test_a_reading_tells_its_figures() -> None:
    figures = {"superheat": 10.0, "subcooling": None, "suction_pressure": wire_rig.psig(118.2), "air_split": 9.0}
    reading = ReadingTaken("r1", TIME_S, by="Sam", role="technician", figures=figures)
    about = wire_rig.about(started_s=TIME_S)
    (read,) = journal.marks([reading], None, about, "us")["marks"]
    assert (read["label"], read["text"]) == ("Reading", "Superheat 18.0 °F, Suction pressure 118.2 psig")
    (read,) = journal.marks([reading], None, about, "si")["marks"]
    assert read["text"] == "Superheat 10.0 K, Suction pressure 815 kPa gauge"  # 118.2 x 6.894 757 (NIST SP 811, B.8)


def test_a_reading_tells_how_sure_it_was() -> None:
    """0.4 K is 0.72 °F (NIST SP 811, B.8), and ± is twice the standard uncertainty."""
    reading = ReadingTaken(
        "r1",
        TIME_S,
        figures={"superheat": 10.0, "subcooling": 5.0, "suction_pressure": wire_rig.psig(118.2)},
        standard_uncertainties={"superheat": 0.2, "subcooling": 0.2},
        in_doubt=["superheat", "suction_pressure"],
        unsettled=["superheat", "subcooling"],
    )
    (read,) = journal.marks([reading], None, wire_rig.about(started_s=TIME_S), "us")["marks"]
    assert read["text"].replace("\u00a0", " ") == (
        "Superheat 18.0 °F (± 0.72, in doubt, not settled), Subcooling 9.0 °F (± 0.72, not settled), "
        "Suction pressure 118.2 psig (in doubt)"
    )


def test_who_read_a_note_says_which() -> None:
    read = Acknowledged("a", TIME_S + 60, by="Sam", role="technician", of="n1")
    *_, last = journal.marks([note("n1"), read], None, None, "us")["marks"]
    assert (last["label"], last["by"], last["text"]) == ("Read", "Sam", "Let it sit, n1.")


def test_no_flood_of_other_marks_pushes_a_move_off_the_page() -> None:
    moved = Added("m", TIME_S, mass_kg=OUNCE_KG, phase="liquid")
    others = (note(f"n{number}") for number in range(350))
    shown = journal.marks([moved, *others], None, None, "us")
    assert [mark["id"] for mark in shown["marks"]] == ["m", *(f"n{number}" for number in range(50, 350))]


def test_a_check_says_what_was_found_and_what_that_means() -> None:
    """What to do about it is for the dialog. 813.581 kPa are 118.0 psi, 1 kPa 0.145 (NIST SP 811, B.8)."""
    found = CheckFound("open_to_air", "suction_pressure", 118.0, 914_906.0, 101_325.0, 813_581.0, 500.0, 3_447.0, "out")
    (shown,) = journal.marks([Checked("c", TIME_S, "Sam", "technician", check=found)], None, None, "us")["marks"]
    reads, means = (
        "Suction pressure reads 118.00 psi higher than it should, ± 0.15 psi.",
        "That is beyond its maker's limit.",
    )
    assert shown["text"].replace("\u00a0", " ") == f"{reads} {means}"
