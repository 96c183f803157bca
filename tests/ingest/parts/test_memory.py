"""What is remembered of the unit at work, as it is told: from the visits before, and with every finding of this one."""

from ingest.parts.memory import Memory
from ingest.wire.messages import Described, Finding, Mark, Note, Sheet, UnitHistory, decode
from ingest.wire.sheet import Capacitor
from tests.units import CORRECT

T0_S = 1_700_000_000.0
SHEET = Sheet("AHU-1", CORRECT.circuits, parts=(Capacitor("run capacitor"),))


def cold(name: str, after_s: float, herm_f: float) -> Finding:
    return Finding(
        name, T0_S + after_s, check="capacitor_measured", grade="typed", outcome="met", values={"measured.herm": herm_f}
    )


class Board:
    """What is retained, and how often it was told."""

    def __init__(self) -> None:
        self.shown: list[tuple[str, bytes]] = []
        self.memory = Memory(lambda kind, payload: self.shown.append((kind, payload)))

    @property
    def told(self) -> UnitHistory:
        kind, payload = self.shown[-1]
        assert kind == "history"
        return decode(payload, UnitHistory)

    def begin(self, *earlier: tuple[str, list[Mark]], visit: str = "v3", marks: tuple[Mark, ...] = ()) -> None:
        self.memory.begin(earlier, visit, marks, "AHU-1", SHEET)


def test_it_tells_the_visits_newest_first_and_the_readings_of_this_one_as_they_come() -> None:
    board = Board()
    board.begin(("v1", [cold("f1", 0, 45e-6)]), ("v2", [Note("n", T0_S + 50), cold("f2", 60, 44e-6)]))
    assert (board.told.tag, [it.visit for it in board.told.visits]) == ("AHU-1", ["v2", "v1"])
    board.memory.take(cold("f3", 90, 43e-6), SHEET)
    (can,) = board.told.parts
    assert [(it.visit, it.id) for it in can.readings] == [("v3", "f3"), ("v2", "f2"), ("v1", "f1")]
    board.memory.take(Note("n2", T0_S + 95, text="x"), SHEET)
    assert len(board.shown) == 2


def test_after_a_restart_in_the_middle_of_a_visit_it_knows_the_same() -> None:
    went_on, restarted = Board(), Board()
    earlier: tuple[str, list[Mark]] = ("v1", [cold("f1", 0, 45e-6)])
    went_on.begin(earlier)
    went_on.memory.take(cold("f2", 90, 43e-6), SHEET)
    restarted.begin(earlier, marks=(Note("n", T0_S), cold("f2", 90, 43e-6)))
    assert went_on.told == restarted.told


def test_a_record_that_takes_anothers_place_forgets_no_visit_and_another_unit_has_its_own() -> None:
    board = Board()
    board.begin(("v1", [cold("f1", 0, 45e-6)]))
    board.begin(marks=(cold("f2", 90, 43e-6),))
    assert [it.visit for it in board.told.visits] == ["v1"]
    assert [it.id for it in board.told.parts[0].readings] == ["f2", "f1"]
    board.memory.begin((), "v9", (), "AHU-2", None)
    assert board.told == UnitHistory("AHU-2", visits=[], parts=[], baselines=[])


def test_a_part_that_is_named_by_then_has_what_was_measured_before_nobody_had() -> None:
    board = Board()
    board.memory.begin((), "v1", (cold("f1", 0, 45e-6),), "AHU-1", None)
    assert board.told.parts[0].part == ""
    board.memory.take(Described("d", T0_S + 9, sheet=SHEET), SHEET)
    assert board.told.parts[0].part == "run capacitor"
    told = len(board.shown)
    board.memory.take(Described("d2", T0_S + 9, sheet=CORRECT), SHEET)
    assert len(board.shown) == told
