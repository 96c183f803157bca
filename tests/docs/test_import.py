"""docs/import.md names every key of a map with its default and no other; docs/examples has what it says."""

import json
import re
from pathlib import Path

import msgspec
import pytest

from dewline import main
from ingest.importing import log_map
from ingest.importing.log_map import read_map

DOCS = Path(__file__).parents[2] / "docs"
TEXT = (DOCS / "import.md").read_text(encoding="utf-8")
SECTIONS = {
    "`[log]`": log_map.LinesMap,
    "`[time]`": log_map.TimeMap,
    "`[site]`": log_map.SiteMap,
    "`[[channel]]`": log_map.ColumnMap,
}


def default_of(field: msgspec.structs.FieldInfo) -> str:
    if field.required:
        return "required"
    made = field.default if field.default_factory is msgspec.NODEFAULT else field.default_factory()
    return "–" if made in (None, "") else json.dumps(made)


@pytest.mark.parametrize("title", SECTIONS)
def test_a_section_has_each_key_with_its_default_and_no_other(title: str) -> None:
    (found,) = re.findall(rf"^## {re.escape(title)}\n(.*?)(?=^#|\Z)", TEXT, re.MULTILINE | re.DOTALL)
    rows = [[cell.strip() for cell in line.strip("|").split(" | ")] for line in found.splitlines() if line[:3] == "| `"]
    documented = {row[0].strip(" `"): row[1] for row in rows}
    assert documented == {field.encode_name: default_of(field) for field in msgspec.structs.fields(SECTIONS[title])}


def test_the_map_of_the_example_is_what_is_proposed_for_it_but_for_its_questions(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log, written = DOCS / "examples" / "roof_unit.csv", DOCS / "examples" / "roof_unit.toml"
    assert main(["import", "--guess", str(log)]) == 0
    proposed = {line.partition("  #")[0] for line in capsys.readouterr().out.splitlines() if "?" not in line}
    mapped = {line.partition("  #")[0] for line in written.read_text(encoding="utf-8").splitlines()}
    assert {line for line in proposed if " = " in line} <= mapped
    assert len(read_map(written, tmp_path / "visit.sqlite").rig.channels) == 6


def cells(name: str) -> list[dict[str, object]]:
    notebook = json.loads((DOCS / "examples" / name).read_text(encoding="utf-8"))
    assert (notebook["nbformat"], notebook["nbformat_minor"]) == (4, 4)
    return list(notebook["cells"])


def test_the_cells_of_the_notebook_are_code_that_has_not_been_run() -> None:
    for cell in cells("a_visit.ipynb"):
        assert cell.get("outputs", []) == []
        if cell["cell_type"] == "code":
            compile("".join(cell["source"]), "a cell", "exec")  # type: ignore[arg-type]


@pytest.mark.hours
def test_the_notebook_runs_and_says_what_it_says(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Its code one cell after another, in one namespace, as a kernel would."""
    monkeypatch.chdir(DOCS.parent)
    monkeypatch.setattr("tempfile.mkdtemp", lambda: str(tmp_path))
    namespace: dict[str, object] = {"__name__": "__main__"}
    for cell in cells("a_visit.ipynb"):
        if cell["cell_type"] == "code":
            exec("".join(cell["source"]), namespace)  # type: ignore[arg-type]
    said = capsys.readouterr().out
    assert "353 lines, 1 gap of 40 s" in said
    assert re.search(r"subcooling over the last five minutes: \d\.\d\d K ± 0\.\d\d K", said)
    assert "the longest gap is 40 s" in said
    again, of = map(int, re.findall(r"(\d+) of (\d+) advices", said)[0])
    assert again == of > 10
