"""Many lines at once against the functions that the daemon has for one reading, whatever stands in a log."""

import random
from pathlib import Path

import pytest

from ingest.importing import visit_in
from ingest.record.reading import RecordFile
from ingest.wire.messages import Pack
from tests.ingest.importing.logs import MAP, Folder

T0_S = 1_780_322_400
MORE = """
[[channel]]
column = "High"
channel = "liquid_pressure"
unit = "bar"
reference = "absolute"
accuracy = "0.05 bar"
calibrated = "2025-05-31"

[[channel]]
column = "Liquid"
channel = "liquid_line_temperature"
unit = "degC"
accuracy = "0.25 degC"
interval = "10 s"

[[channel]]
column = "Outdoor"
channel = "outdoor_air_temperature"
unit = "degC"
accuracy = "0.25 degC"

[[channel]]
column = "L1"
channel = "compressor_current_a"
unit = "A"
accuracy = "0.1 A"

[[channel]]
column = "L2"
channel = "compressor_current_b"
unit = "A"
accuracy = "0.2 A"
"""
PLATE = '[unit.nameplate]\ncompressor_rla = "9 A"\n'


def log_of(seed: int, lines: int) -> str:
    """Make a log with all that a cell may be, in runs, with gaps between its lines."""
    chance = random.Random(seed)
    around = {"Suction": (35, 9), "Line": (50, 9), "High": (10, 4), "Liquid": (30, 5), "Outdoor": (30, 5)}
    around |= {"L1": (9, 3), "L2": (9, 3)}
    faults = dict.fromkeys(around, "")
    rows, time_ms = [",".join(["Time", *around])], 1000 * T0_S
    for _ in range(lines):
        time_ms += chance.choice([1000] * 60 + [250, 500, 2000, 5000, 40_000])
        cells = []
        for name, (level, spread) in around.items():
            if chance.random() < 0.03:
                faults[name] = chance.choice(["", "", "", "---", "OL", "9e9", "-40", "1e400"])
            value = f"{chance.gauss(level, spread):.{chance.choice([0, 1, 3, 6])}f}"
            seldom = name == "Liquid" and chance.random() < 0.9
            cells.append("" if seldom else faults[name] if faults[name] and chance.random() < 0.8 else value)
        rows.append(f"{time_ms}," + ",".join(cells))
    return "\n".join(rows) + "\n"


def brought_in(folder: Folder, record: Path) -> tuple[list[Pack], object]:
    folder.record = record
    taken = folder.bring_in()
    return list(RecordFile(record).visit_packs(taken.visit)), taken


@pytest.mark.parametrize(
    ("seed", "value"), [(0, "sample"), (1, "sample"), (2, "sample"), (3, "average_before"), (4, "average_after")]
)
def test_they_give_the_packs_that_one_line_after_the_other_gives(
    folder: Folder, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, seed: int, value: str
) -> None:
    text = (
        MAP.replace('"iso"', '"unix_ms"')
        .replace('"sample"', f'"{value}"')
        .replace("[[channel]]", PLATE + "[[channel]]", 1)
    )
    folder.map.write_text(text + MORE, encoding="utf-8")
    folder.written(log_of(seed, 5000))
    many, told = brought_in(folder, tmp_path / "many" / "visit.sqlite")
    monkeypatch.setattr(visit_in, "can_take", lambda *_: False)
    one, told_by_one = brought_in(folder, tmp_path / "one" / "visit.sqlite")
    assert len(many) == 5000
    for left, right in zip(many, one, strict=True):
        assert left == right
    assert told == told_by_one
    assert {it.quality for pack in one for it in pack.readings.values()} == {
        "ok", "uncalibrated", "stale", "overload", "out_of_range", "malformed",
    }  # fmt: skip
