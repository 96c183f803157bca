"""Every room says what holds in it, and the map names every room."""

import ast
from importlib import import_module
from pathlib import Path

import pytest
from msgspec.structs import replace

from dashboard.asks import MADE_FROM, AskBody
from ingest.asks import Asks
from ingest.visit.decisions import DECISIONS
from ingest.wire.asks import ASKS, MAY_ASK
from ingest.wire.events import word_of
from ingest.wire.messages import Sheet

ROOT = Path(__file__).parents[1]
ROOMS = sorted(
    path.parent.relative_to(ROOT)
    for house in ("calc", "ingest", "dashboard", "simulators", "commands")
    for path in (*ROOT.glob(f"{house}/__init__.py"), *ROOT.glob(f"{house}/*/__init__.py"))
)
WITHOUT = {
    "calc/calculations", "calc/data", "calc/motor", "calc/sensors", "calc/wiring",  # names gathered, or data
    "dashboard/charge", "dashboard/shared", "dashboard/training",  # held by dashboard's own
    "simulators/data", "simulators/scenarios", "ingest",
}  # fmt: skip


@pytest.mark.parametrize("room", [room for room in ROOMS if str(room) not in WITHOUT], ids=str)
def test_a_room_says_what_holds_in_it(room: Path) -> None:
    assert "Invariant: " in (ROOT / room / "__init__.py").read_text(encoding="utf-8")


@pytest.mark.parametrize("room", [room for room in ROOMS if len(room.parts) == 2], ids=str)
def test_the_map_names_every_room(room: Path) -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").partition("## Words")[0]
    told = {"calc/data", "calc/calculations", "dashboard/charge", "dashboard/training", "simulators/data"}
    told |= {"simulators/scenarios"}
    assert str(room) in told or f"`{room.name}`" in text or f"`{room}`" in text or f"`{room.name}/`" in text


SHEET = Sheet("RTU-K7Q-4", [])
BODY = AskBody(text="Let it sit.", mass="6 oz", phase="liquid", of="m1", check="ice_point", checks=("c1",), sheet=SHEET)


FIELDS: dict[str, dict[str, object]] = {
    "open": {"unit": "RTU-9"},
    "place": {"on": "2", "channels": ["suction_pressure"]},
    "finding": {"check": "tag", "grade": "said"},
    "hose": {"port": "suction", "on": True},
    "wait": {"reason": "parts"},
    "leave_charge": {"reason": "owner"},
    "hand_over": {"to": "Robin"},
    "sign": {"name": "Sam"},
    "cylinder": {"name": "7", "use": "virgin", "refrigerant": "R-410A"},
    "question": {"text": "Is that right?"},
    "reply": {"of": "q1", "text": "It is."},
    "want": {"what": "photograph", "text": "the label"},
    "dismiss": {"of": "w1", "text": "no label"},
    "hold": {"before": "first_move"},
    "release": {"of": "h1"},
    "withdraw_baseline": {"of": "b1", "text": "The coil was fouled."},
    "stop": {"text": "Shut the cylinder."},
    "seen": {"of": "s1"},
    "pattern": {"states": 4},
    "choose": {"tag": "RTU-K7Q-4", "grade": "said"},
    "photograph": {"photograph": "p1", "digest": "0" * 64, "part_number": 1, "part_count": 1, "data": "AA=="},
}
"""Of the asks that a page sends as they travel."""


@pytest.mark.parametrize("ask", ASKS, ids=word_of)
def test_one_line_makes_an_ask_whole_and_the_guide_says_so(ask: type) -> None:
    assert (ask in DECISIONS) != (ask in Asks.HANDLERS)
    body = replace(BODY, fields=FIELDS.get(word_of(ask), {}))
    assert type(MADE_FROM[word_of(ask)](("a1", "Sam"), body)) is ask
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").partition("## Add an ask")[2].partition("\n## ")[0]
    assert all(f"`{table}`" in text for table in ("ASKS", "DECISIONS", "MADE_FROM"))


def test_nothing_handles_or_sends_what_is_no_ask() -> None:
    assert Asks.HANDLERS.keys() | DECISIONS.keys() == ASKS.keys()
    assert MADE_FROM.keys() == MAY_ASK.keys()


PINNED = {"LONGEST_NAME", "LONGEST_TEXT", "LONGEST_FRAME_BYTES", "RULED_OUT"}
"""Limits of the code that a test compares with a number of its own."""
NOT_EXPECTED = {"LOOK_S", "LEAST_S", "RECORDED_EVERY_S", "LENGTH"}
"""How long a test waits, or what it hands to a part as the daemon does."""


@pytest.mark.parametrize("room", ["ingest", "dashboard"])
def test_no_test_expects_a_limit_because_the_code_has_it(room: str) -> None:
    taken = {
        f"{path.name}: {name.name}"
        for path in sorted((ROOT / "tests" / room).rglob("*.py"))
        for node in ast.parse(path.read_text(encoding="utf-8")).body
        if isinstance(node, ast.ImportFrom) and (node.module or "").partition(".")[0] in {"calc", "ingest", "dashboard"}
        for name in node.names
        if name.name.isupper() and name.name not in PINNED | NOT_EXPECTED
        if isinstance(getattr(import_module(str(node.module)), name.name), int | float)
    }
    assert not taken, "type the number, with its reason"
