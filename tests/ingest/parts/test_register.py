"""The register as it is told: newest first, bounded, and each sheet under its own topic."""

from msgspec.structs import replace

from ingest.parts.register import Register
from ingest.record.sheets import RegisteredSheet
from ingest.wire.messages import Described, Note, Sheet, UnitBrief, Units, decode, topic
from tests.units import CORRECT

T0_S = 1_700_000_000.0


class Board:
    """What is retained."""

    def __init__(self) -> None:
        self.shown: dict[str, bytes] = {}
        self.register = Register(self.show)

    def show(self, kind: str, payload: bytes) -> None:
        self.shown[kind] = payload

    @property
    def units(self) -> Units:
        return decode(self.shown["units"], Units)


def kept(tag: str, since_s: float = T0_S, **changes: object) -> RegisteredSheet:
    return RegisteredSheet(replace(CORRECT, tag=tag, **changes), since_s)


def test_who_was_visited_or_described_last_comes_first() -> None:
    board = Board()
    board.register.begin([kept("AHU-1"), kept("AHU-2"), kept("AHU-3", T0_S + 5)], {"AHU-2": T0_S + 10}, "")
    assert [unit.tag for unit in board.units.units] == ["AHU-2", "AHU-3", "AHU-1"]
    place, both = CORRECT.place, ["R-410A", "R-454B"]
    assert board.units.units[0] == UnitBrief("AHU-2", place, both, T0_S + 10)
    assert board.units.units[2] == UnitBrief("AHU-1", place, both)
    board.register.take(Described("m1", T0_S + 20, sheet=replace(CORRECT, tag="AHU-1", place="yard")))
    assert board.units.units[0] == UnitBrief("AHU-1", "yard", both)
    assert decode(board.shown["unit/AHU-1"], Sheet).place == board.register.sheets["AHU-1"].place == "yard"


def test_another_mark_changes_nothing() -> None:
    board = Board()
    board.register.begin([kept("AHU-1")], {}, "")
    board.shown.clear()
    board.register.take(Note("n1", T0_S, text="AHU-1"))
    assert board.shown == {}


def test_a_tag_is_one_level_of_a_topic_whatever_it_holds() -> None:
    """MQTT 3.1.1, 4.7.1: / parts levels, + and # are filters; RFC 3986, 2.1 has the encoding."""
    board = Board()
    board.register.begin([kept("Roof/4 #2+")], {}, "")
    assert topic("bench", "unit/Roof%2F4%20%232%2B") == "dewline/1/bench/unit/Roof%2F4%20%232%2B"
    assert "unit/Roof%2F4%20%232%2B" in board.shown


def test_a_large_register_is_told_in_one_message_of_at_most_64_kib() -> None:
    """The longest names and places that are kept, in letters of four bytes."""
    board = Board()
    board.register.begin(
        [kept(f"{number:04}" + "𝛥" * 60, T0_S + number, place="𝛥" * 500) for number in range(2000)],
        {},
        "",
    )
    assert len(board.shown["units"]) < 48 * 1024
    told = board.units
    assert told.more == 2000 - len(told.units)
    assert [unit.tag[:4] for unit in told.units[:2]] == ["1999", "1998"]
    assert len(board.shown) == len(told.units) + 1


def test_no_more_sheets_are_retained_than_the_embedded_broker_keeps() -> None:
    """500 topics, of which a rig has a dozen others."""
    board = Board()
    board.register.begin([kept(f"AHU-{number}", place="") for number in range(1000)], {}, "")
    assert (len(board.units.units), board.units.more, len(board.shown)) == (300, 700, 301)


def test_the_largest_sheets_leave_the_embedded_broker_room_for_everything_else() -> None:
    """It retains 4 MiB: of sheets of 16 KiB, the largest that are kept, 128 are 2 MiB."""
    board = Board()
    board.register.begin([kept(f"AHU-{number}", access="x" * 15_000) for number in range(300)], {}, "")
    sheets = [payload for kind, payload in board.shown.items() if kind.startswith("unit/")]
    assert sum(map(len, sheets)) <= 2 * 1024 * 1024
    assert len(sheets) == len(board.units.units) == 300 - board.units.more > 100


def test_a_sheet_that_is_told_no_more_is_taken_from_the_broker() -> None:
    """Or the next ones would find no room: the embedded broker retains 500 topics."""
    board = Board()
    board.register.begin([kept(f"AHU-{number}", T0_S + number, place="") for number in range(300)], {}, "")
    for number in range(300):
        sheet = replace(CORRECT, tag=f"RTU-{number}", place="")
        board.register.take(Described(f"m{number}", T0_S + 1000 + number, sheet=sheet))
    retained = [kind for kind, payload in board.shown.items() if payload]
    assert sorted(retained) == sorted(["units", *(f"unit/RTU-{number}" for number in range(300))])


def test_the_unit_at_work_is_told_first_though_hundreds_were_imported_since() -> None:
    board = Board()
    many = [kept(f"AHU-{number}", T0_S + 100, place="") for number in range(1000)]
    board.register.begin([kept("RTU-1", T0_S), *many], {"RTU-1": T0_S}, "RTU-1")
    assert board.units.units[0].tag == "RTU-1"
    assert "unit/RTU-1" in board.shown
