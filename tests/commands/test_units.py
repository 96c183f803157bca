"""`dewline units`: the register at the shell, from a shop's file to the labels of its units."""

import re
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from dewline import main
from ingest.record.store import Record
from ingest.visit.tags import kind_of
from ingest.wire.messages import Added, Finding, Mark, Question, Signed
from tests.rigs import make_rig

T0_S = 1_700_000_000.0
TABLE = """tag,circuit,refrigerant,metering_device,charge_lb,place
AHU-9,1,R-410A,txv,7.5,"Harbour Street library, roof"
AHU-9,2,R-454B,eev,,
KX7-7PM,,R-22,fixed_orifice,,yard
"""


@pytest.fixture
def record(tmp_path: Path) -> str:
    """A record with one visit at one unit."""
    rig = make_rig(tmp_path)
    opened = Record(rig.record)
    opened.begin_session(rig, boot="b", new_visit="v1", time_s=T0_S)
    opened.close()
    return str(rig.record)


def units(*words: str) -> int:
    return main(["units", *words])


def test_a_shops_file_comes_in_is_listed_and_goes_out_as_json_and_back(
    record: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "shop.csv").write_text(TABLE)
    assert units("import", "--record", record, str(tmp_path / "shop.csv")) == 0
    assert capsys.readouterr().out == "2 units are new, 0 changed, 0 were as they are\n"
    assert units("list", "--record", record) == 0
    listed = capsys.readouterr().out.splitlines()
    assert sorted(line.split()[0] for line in listed) == ["AHU-9", "KX7-7PM", "RTU-K7Q-4"]
    assert listed[-1].split(maxsplit=3)[:3] == ["RTU-K7Q-4", "2023-11-14", "R-410A"]
    assert "no visit yet  1 R-410A, 2 R-454B  Harbour Street library, roof" in "\n".join(listed)
    for name in ("units.json", "units.csv"):
        assert units("export", "--record", record, str(tmp_path / name)) == 0
        assert units("import", "--record", record, str(tmp_path / name)) == 0
        assert capsys.readouterr().out.splitlines()[1] == "0 units are new, 0 changed, 3 were as they are"
        assert units("import", "--record", str(tmp_path / f"of {name}.sqlite"), str(tmp_path / name)) == 0
        assert capsys.readouterr().out.startswith("3 units are new")


def test_a_file_with_a_mistake_changes_nothing(record: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "shop.csv").write_text(TABLE.replace("R-454B", "R-999"))
    assert units("import", "--record", record, str(tmp_path / "shop.csv")) == 2
    told = capsys.readouterr().err
    assert "shop.csv cannot be used, and nothing of it was imported:\n  line 3, refrigerant: " in told
    assert units("list", "--record", record) == 0
    assert "AHU-9" not in capsys.readouterr().out


def test_tags_are_issued_and_drawn(record: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert units("issue", "--record", record, "--count", "20") == 0
    tags = capsys.readouterr().out.split()
    assert (len(set(tags)), {kind_of(tag) for tag in tags}) == (20, {"issued"})
    assert units("label", tags[0], "--out", str(tmp_path / "label.svg")) == 0
    assert ET.parse(tmp_path / "label.svg").getroot().tag.endswith("svg")
    assert capsys.readouterr().err == ""
    assert units("label", "KX7-9PM") == 0
    said = capsys.readouterr()
    assert said.out.startswith("<svg")
    assert "is that tag right? Its check character does not fit" in said.err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["list", "--record", "{here}/notes.txt"], r"notes\.txt cannot be read"),
        (["issue", "--record", "{here}/notes.txt"], r"notes\.txt cannot be read"),
        (["export", "--record", "{here}/notes.txt", "{here}/units.csv"], r"notes\.txt cannot be read"),
        (["export", "--record", "{here}/none.sqlite", "{here}/none/units.csv"], r"units\.csv cannot be written"),
        (["import", "--record", "{here}/notes.txt", "{here}/shop.csv"], r"it is a text, not a record"),
        (["import", "--record", "{here}/new.sqlite", "{here}/shop.txt"], r"ends in \.csv or \.json was expected"),
        (["label", " "], r"the tag is empty"),
        (["label", "a\nb"], r"the tag holds the control character"),
        (["label", "AHU-9", "--out", "{here}/none/label.svg"], r"label\.svg cannot be written"),
    ],
)
def test_what_cannot_be_done_is_said(
    words: list[str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "shop.csv").write_text(TABLE)
    (tmp_path / "notes.txt").write_text("Readings of last week, by hand. " * 100)
    assert units(*(word.format(here=tmp_path) for word in words)) == 2
    told = capsys.readouterr().err
    assert told.startswith("dewline units: ")
    assert re.search(said, told)


BY = ("Sam", "technician")
WARM = {"complaint": "Warm\nupstairs"}
LAST: list[Mark] = [
    Finding("c", T0_S + 1, *BY, check="complaint", grade="said", outcome="met", choices=WARM),
    Finding(
        "f", T0_S + 2, *BY, check="capacitor_measured", grade="typed", outcome="met", part="run capacitor",
        values={"measured.fan": 4.8e-6, "label.fan": 5e-6, "tolerance": 0.06},
        standard_uncertainties={"measured.fan": 0.1e-6},
    ),
    Finding("l", T0_S + 3, *BY, check="leaks", grade="seen", outcome="not_met", circuit="1"),
    Added("m", T0_S + 4, *BY, mass_kg=0.17009714, circuit="1"),
    Question("q", T0_S + 5, *BY, text="Who has the key?"),
    Finding(
        "r", T0_S + 6, *BY, check="replacement", grade="said", outcome="met", part="run capacitor",
        values={"measured.fan": 5.1e-6},
    ),
    Signed("s", T0_S + 7, *BY, name="Sam Example", digest="0" * 64),
]  # fmt: skip


def test_what_is_remembered_of_a_unit_is_told(record: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert units("history", "--record", record, "RTU-9") == 0
    assert capsys.readouterr().out == f"{record} knows of no visit to RTU-9\n"
    opened = Record(Path(record))
    opened.begin_session(make_rig(Path(record).parent), boot="b", new_visit="v1", time_s=T0_S)
    for mark in LAST:
        opened.add_mark(mark)
    opened.close()
    assert units("history", "--record", record, "RTU-K7Q-4", "--units", "si") == 0
    assert capsys.readouterr().out.splitlines() == [
        "2023-11-14, Sam, signed by Sam Example",
        "  complaint: Warm upstairs",
        "  found: Leak evidence 1: not met.",
        "  found: Replacement run capacitor: met.",
        "  circuit 1: added 170 g, recovered 0 g",
        "  nobody replied to: Who has the key?",
        "run capacitor",
        "  2023-11-14  Fan to common: 5.1 µF  (said, met)",
        "  2023-11-14  fitted",
        "run capacitor, taken out 2023-11-14",
        "  label: fan 5 µF, tolerance 6 %",
        "  2023-11-14  Fan to common: 4.8 ± 0.2 µF  (typed, met)",
    ]
    assert units("history", "--record", record, "RTU-K7Q-4") == 0
    assert "  circuit 1: added 6 oz, recovered 0 oz" in capsys.readouterr().out.splitlines()
