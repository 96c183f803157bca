"""Asks: what is recorded, who may, and what comes of nonsense."""

from collections.abc import Mapping

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ingest.asks import HEAVIEST_KG, KINDS, LONGEST_TEXT, Asks, Surroundings
from ingest.field_checks import CheckRefusedError
from ingest.record.errors import NotSavedError
from ingest.reload import ReloadError
from ingest.wire.messages import (
    LARGEST_MESSAGE_BYTES,
    Answer,
    Ask,
    Calibration,
    CheckFound,
    Line,
    Mark,
    Reading,
    decode,
    encode,
)

NOW_S = 1_700_000_000.0


class Book:
    """Marks in memory, on a disk that can be full."""

    def __init__(self) -> None:
        self.marks: dict[str, Mark] = {}
        self.is_full = False

    async def find(self, mark_id: str) -> Mark | None:
        return self.marks.get(mark_id)

    async def add(self, mark: Mark) -> None:
        if self.is_full:
            raise NotSavedError("database or disk is full")
        assert mark.id not in self.marks
        self.marks[mark.id] = mark


@pytest.fixture
def book() -> Book:
    return Book()


@pytest.fixture
def asks(book: Book) -> Asks:
    readings = {
        "suction_pressure": Reading(914_906.123456, NOW_S),
        "superheat": Reading(None, NOW_S, "stale", "the low side probe is silent"),
    }
    return Asks(surroundings(book, readings=lambda: readings))


def surroundings(book: Book, **changes: object) -> Surroundings:
    usual = {"readings": dict, "reload": reload, "check": find_half_a_degree, "correct": take_off_half_a_degree}
    return Surroundings(**{"find": book.find, "add": book.add, "time_s": lambda: NOW_S, **usual, **changes})  # type: ignore[arg-type]


FOUND = CheckFound("ice_point", "suction_line_temperature", 32.9, 273.65, 273.15, 0.5, 0.06, 0.25, "within", 0.19)


def find_half_a_degree(ask: Ask) -> CheckFound:
    if ask.channel != FOUND.channel:
        raise CheckRefusedError(f"there is no channel {ask.channel!r}")
    return FOUND


def take_off_half_a_degree(checks: Mapping[str, CheckFound]) -> Calibration:
    return Calibration(FOUND.channel, Line(1.0, 0.0, 0.25), Line(1.0, -0.9, 0.19), tuple(checks))


async def reload() -> str:
    return "instruments: added clamp meter"


async def refuse_to_reload() -> str:
    raise ReloadError("rig.toml cannot be used")


def ask(**fields: object) -> Ask:
    return Ask(**{"id": "a1", "by": "Sam", "role": "technician"} | fields)  # type: ignore[arg-type]


async def test_refrigerant_added_becomes_a_mark(asks: Asks, book: Book) -> None:
    answer = await asks.answer("added", ask(mass_kg=0.113, phase="liquid", text=" from cylinder 4 "))
    expected = Mark(
        id="a1",
        kind="added",
        time_s=NOW_S,
        by="Sam",
        role="technician",
        text="from cylinder 4",
        mass_kg=0.113,
        phase="liquid",
    )
    assert answer == Answer("a1", ok=True, mark=expected)
    assert book.marks == {"a1": expected}


async def test_a_reading_keeps_the_figures_of_the_moment(asks: Asks, book: Book) -> None:
    assert (await asks.answer("reading", ask(text="filter changed"))).ok
    assert book.marks["a1"].figures == {"suction_pressure": 914_906.1, "superheat": None}


async def test_a_reload_keeps_what_changed(asks: Asks, book: Book) -> None:
    assert (await asks.answer("reload", ask())).ok
    assert (book.marks["a1"].by, book.marks["a1"].text) == ("Sam", "instruments: added clamp meter")


async def test_a_reload_that_changed_nothing_is_no_mark_of_that_ask(book: Book) -> None:
    asks = Asks(surroundings(book, reload=refuse_to_reload))
    assert await asks.answer("reload", ask()) == Answer("a1", ok=False, reason="rig.toml cannot be used")
    assert book.marks == {}


async def test_a_repeated_ask_records_once(asks: Asks, book: Book) -> None:
    first = await asks.answer("added", ask(mass_kg=0.113, phase="liquid"))
    again = await asks.answer("added", ask(mass_kg=0.113, phase="liquid"))
    assert again == first
    assert len(book.marks) == 1


async def test_a_lead_may_leave_a_note_that_the_technician_acknowledges(asks: Asks, book: Book) -> None:
    note = await asks.answer("note", ask(id="n1", by="Robin", role="lead", text="Mind the filter first."))
    done = await asks.answer("acknowledge", ask(id="k1", of="n1"))
    assert note.ok
    assert done.ok
    assert (book.marks["n1"].role, book.marks["k1"].of) == ("lead", "n1")


async def test_a_check_proposes_and_a_second_ask_corrects(asks: Asks, book: Book) -> None:
    checked = await asks.answer("check", ask(id="c1", check="ice_point", channel="suction_line_temperature"))
    assert checked.mark is not None
    assert (checked.mark.kind, checked.mark.check, checked.mark.calibration) == ("check", FOUND, None)
    corrected = await asks.answer("correct", ask(id="c2", checks=["c1"]))
    assert corrected.mark is not None
    assert corrected.mark.calibration == take_off_half_a_degree({"c1": FOUND})
    assert (corrected.mark.by, list(book.marks)) == ("Sam", ["c1", "c2"])


@pytest.mark.parametrize(
    ("kind", "fields", "reason"),
    [
        ("check", {"check": "ice_point", "channel": "oil_temperature"}, "there is no channel 'oil_temperature'"),
        ("correct", {}, "checks names 0 checks"),
        ("correct", {"checks": ["c1", "c2", "c3"]}, "checks names 3 checks"),
        ("correct", {"checks": ["c9"]}, "there is no check 'c9'"),
        ("correct", {"checks": ["n1"]}, "there is no check 'n1'"),
    ],
)
async def test_what_cannot_be_checked_or_corrected_changes_nothing(
    asks: Asks, book: Book, kind: str, fields: dict[str, object], reason: str
) -> None:
    await asks.answer("note", ask(id="n1", text="x"))
    answer = await asks.answer(kind, ask(**fields))
    assert (answer.ok, list(book.marks)) == (False, ["n1"])
    assert reason in answer.reason


@pytest.mark.parametrize("kind", sorted(set(KINDS) - {"note"}))
async def test_a_lead_may_do_nothing_else(asks: Asks, book: Book, kind: str) -> None:
    answer = await asks.answer(kind, ask(by="Robin", role="lead", mass_kg=0.1, phase="liquid", of="n1"))
    assert (answer.ok, book.marks) == (False, {})
    assert answer.reason.startswith("a lead may leave notes")


@pytest.mark.parametrize(
    ("kind", "fields", "reason"),
    [
        ("added", {"phase": "liquid"}, "mass_kg is missing: how much was added"),
        ("added", {"mass_kg": 0.0, "phase": "liquid"}, "mass_kg is 0; more than 0"),
        ("added", {"mass_kg": -0.1, "phase": "liquid"}, "mass_kg is -0.1; more than 0"),
        ("added", {"mass_kg": HEAVIEST_KG + 1, "phase": "liquid"}, "at most 50"),
        ("added", {"mass_kg": 0.1}, "phase is missing"),
        ("recovered", {}, "mass_kg is missing: how much was recovered"),
        ("note", {"text": "  "}, "a note needs a text"),
        ("note", {"text": "x" * (LONGEST_TEXT + 1)}, "at most 500 are kept"),
        ("note", {"text": "x", "mass_kg": 0.1}, "do not belong to 'note'"),
        ("reading", {"by": " "}, "by is the name of who asks"),
        ("reading", {"by": "x" * 65}, "by is the name of who asks"),
        ("acknowledge", {"of": "n9"}, "there is no note 'n9'"),
        ("acknowledge", {}, "there is no note ''"),
        ("erase", {}, "'erase' is none of added, recovered, reading, note, acknowledge, reload, check, correct"),
    ],
)
async def test_what_makes_no_sense_is_refused_with_the_reason(
    asks: Asks, book: Book, kind: str, fields: dict[str, object], reason: str
) -> None:
    answer = await asks.answer(kind, ask(**fields))
    assert (answer.ok, answer.mark, book.marks) == (False, None, {})
    assert reason in answer.reason


async def test_only_a_note_can_be_acknowledged(asks: Asks, book: Book) -> None:
    await asks.answer("reading", ask(id="r1"))
    assert not (await asks.answer("acknowledge", ask(id="k1", of="r1"))).ok


async def test_what_the_disk_refuses_is_not_confirmed(asks: Asks, book: Book) -> None:
    book.is_full = True
    answer = await asks.answer("added", ask(mass_kg=0.113, phase="liquid"))
    assert (answer.ok, answer.reason) == (False, "not saved: database or disk is full")
    book.is_full = False
    assert (await asks.answer("added", ask(mass_kg=0.113, phase="liquid"))).ok


async def test_an_answer_goes_to_the_id_of_its_ask(asks: Asks) -> None:
    handled = await asks.handle("note", encode(ask(text="hello")))
    assert handled is not None
    assert handled[0] == "a1"
    assert decode(handled[1], Answer).ok


@pytest.mark.parametrize(
    "payload",
    [
        b"",
        b"\xff\xfe",
        b'{"id":"a1","by":"S\xffm","role":"technician"}',
        b'{"id":"a1"}',
        b'{"id":"a/b","by":"Sam","role":"technician"}',
        b'{"id":"","by":"Sam","role":"technician"}',
        b'{"id":"a1","by":"Sam","role":"owner"}',
        b'{"id":"a1","by":"Sam","role":"technician","mass_kg":NaN}',
        b'{"id":"a1","by":"Sam","role":"technician","mass_kg":"0.1"}',
        b'{"x":' * 20_000,
        b'{"x":' + b"[" * 60_000,
        b" " * (LARGEST_MESSAGE_BYTES + 1),
        b"x" * 10_000_000,
    ],
    ids=lambda payload: repr(payload[:32]),
)
async def test_what_cannot_be_read_is_counted(asks: Asks, book: Book, payload: bytes) -> None:
    assert await asks.handle("note", payload) is None
    assert asks.refused_messages == 1
    assert (await asks.handle("note", encode(ask(text="still here")))) is not None


async def test_of_two_values_for_one_key_one_counts(asks: Asks, book: Book) -> None:
    payload = b'{"id":"a1","by":"Sam","role":"lead","role":"technician","text":"x","text":"y"}'
    assert await asks.handle("note", payload) is not None
    assert (book.marks["a1"].role, book.marks["a1"].text) == ("technician", "y")


@given(st.binary(max_size=300), st.text(max_size=20))
async def test_nothing_that_comes_stops_the_daemon(payload: bytes, kind: str) -> None:
    book = Book()
    asks = Asks(surroundings(book))
    assert await asks.handle(kind, payload) is None
    assert asks.refused_messages == 1
