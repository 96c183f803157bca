"""docs/units.md names every column of a table of units and no other, and its examples are true."""

import re
from pathlib import Path

from ingest.register.columns import header, known_names
from ingest.visit.tags import ALPHABET, kind_of

TEXT = (Path(__file__).parents[2] / "docs" / "units.md").read_text(encoding="utf-8")


def test_every_column_is_told_and_no_other() -> None:
    rows = [line.split("|") for line in TEXT.splitlines() if line.startswith("| `")]
    first = {name for row in rows for name in re.findall(r"`(\w+)`", row[1])}
    own = {
        name for name in known_names() if (found := header(name)) and found.column.field == name.removeprefix("part_1_")
    }
    assert first == own | {"circuit"}
    others = {name for row in rows for name in re.findall(r"`(?:\.\.\.|[a-z_0-9]+)_(\w+)`", row[2])}
    assert others >= {"g", "lb", "oz", "df", "psig", "ft", "in", "mm", "uf", "percent"}
    for row in rows:
        for stem in re.findall(r"`(\w+)`", row[1]):
            for unit in re.findall(r"`\.\.\._(\w+)`", row[2]):
                assert header(f"{stem.rpartition('_')[0]}_{unit}"), f"{stem}: {unit}"


def test_its_tags_are_what_it_says() -> None:
    assert kind_of("KX7-7PM") == "issued"
    assert kind_of("RTU-104") == kind_of("4") == kind_of("North 2") == "foreign"
    assert f"`{' '.join(ALPHABET)}`" in TEXT
