"""The visit's marks as a person reads them."""

from dashboard import journal
from ingest.wire.messages import Mark
from tests import wire_rig

TIME_S = 1.7e9
OUNCE_KG = 0.028349523125  # NIST SP 811, B.8: 1 oz (avoirdupois) = 2.834 952 E-02 kg


def note(identity: str, role: str = "lead") -> Mark:
    return Mark(identity, "note", TIME_S, by="Robin", role=role, text=f"Let it sit, {identity}.")


def test_the_notes_of_a_lead_wait_in_a_queue_the_oldest_first_until_each_is_acknowledged() -> None:
    waiting = [note("n1"), note("n2", role="technician"), note("n3"), note("n4")]
    assert [it["id"] for it in journal.pending_notes(waiting)] == ["n1", "n3", "n4"]
    waiting.append(Mark("a", "acknowledge", TIME_S, of="n3"))
    assert [it["id"] for it in journal.pending_notes(waiting)] == ["n1", "n4"]
    waiting.append(Mark("b", "acknowledge", TIME_S, of="n1"))
    assert [it["id"] for it in journal.pending_notes(waiting)] == ["n4"]


def test_marks_are_worded_and_summed() -> None:
    events = [
        Mark("1", "added", TIME_S, mass_kg=6 * OUNCE_KG, phase="liquid"),
        Mark("2", "added", TIME_S, mass_kg=4 * OUNCE_KG, phase="liquid"),
        Mark("3", "recovered", TIME_S, mass_kg=2 * OUNCE_KG, phase="vapour"),
    ]
    known = journal.marks(events, None, "us")
    assert [mark["label"] for mark in known["marks"]] == ["+6.0 oz liquid", "+4.0 oz liquid", "−2.0 oz vapour"]
    assert known["totals"] == "added 10.0 oz · recovered 2.0 oz"
    assert journal.marks(events, None, "si")["totals"] == "added 283 g · recovered 57 g"


def test_a_reading_tells_its_figures() -> None:
    figures = {"superheat": 10.0, "subcooling": None, "suction_pressure": wire_rig.psig(118.2), "air_split": 9.0}
    reading = Mark("r1", "reading", TIME_S, by="Sam", role="technician", figures=figures)
    about = wire_rig.about(started_s=TIME_S)
    (told,) = journal.marks([reading], about, "us")["marks"]
    assert (told["label"], told["text"]) == ("Reading", "Superheat 18.0 °F, Suction pressure 118.2 psig")
    (told,) = journal.marks([reading], about, "si")["marks"]
    assert told["text"] == "Superheat 10.0 K, Suction pressure 815 kPa gauge"  # 118.2 x 6.894 757 (NIST SP 811, B.8)


def test_who_read_a_note_says_which() -> None:
    read = Mark("a", "acknowledge", TIME_S + 60, by="Sam", role="technician", of="n1")
    *_, told = journal.marks([note("n1"), read], None, "us")["marks"]
    assert (told["label"], told["by"], told["text"]) == ("Note read", "Sam", "Let it sit, n1.")


def test_no_flood_of_other_marks_pushes_a_move_off_the_page() -> None:
    moved = Mark("m", "added", TIME_S, mass_kg=OUNCE_KG, phase="liquid")
    told = journal.marks([moved, *(note(f"n{number}") for number in range(journal.MOST_OTHERS + 50))], None, "us")
    assert told["marks"][0]["id"] == "m"
    assert len(told["marks"]) == journal.MOST_OTHERS + 1
