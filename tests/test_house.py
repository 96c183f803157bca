"""Every room says what holds in it, and the map names every room."""

from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
ROOMS = sorted(
    path.parent.relative_to(ROOT)
    for house in ("calc", "ingest", "dashboard", "simulators")
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
