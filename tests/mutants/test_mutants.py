"""The tool behind `make mutants`: what it changes, that it tells a killed mutant from a survivor, and its page."""

import os
import subprocess
import sys
import tomllib
from pathlib import Path

import msgspec
import pytest

from tests.mutants.making import mutants_of
from tests.mutants.report import Measured, Survivor, page, reasons
from tests.mutants.trying import KILLED, SURVIVED, Work

REPOSITORY = Path(__file__).parents[2]
MODULES = tomllib.loads(Path(__file__).with_name("modules.toml").read_text())
ROOMS = ("calc/judge", "ingest/advice", "ingest/visit", "ingest/record")

LIMIT = """\
LIMIT_K = 5.0

def is_over(value_k: float | None, *, strict: bool) -> bool:
    return value_k is not None and value_k > LIMIT_K
"""


def test_numbers_bounds_and_conditions_are_changed_and_annotations_are_not() -> None:
    found = {(mutant.line, mutant.becomes) for mutant in mutants_of(LIMIT)}
    assert found == {
        (1, "LIMIT_K = 6.0"),
        (1, "LIMIT_K = 4.0"),
        (4, "return value_k is None and value_k > LIMIT_K"),
        (4, "return value_k is not None or value_k > LIMIT_K"),
        (4, "return value_k is not None and value_k >= LIMIT_K"),
        (4, "return value_k is not None and value_k <= LIMIT_K"),
    }


def test_what_only_the_type_checker_sees_is_not_changed() -> None:
    source = "@dataclass(frozen=True, slots=True, order=True)\nclass Place:\n    line: int | None\n"
    assert {mutant.becomes for mutant in mutants_of(source)} == {
        "@dataclass(frozen=True, slots=True, order=False)", "(nothing)",
    }  # fmt: skip


def test_a_mutant_that_no_test_holds_survives_and_the_next_is_tried_afresh(tmp_path: Path) -> None:
    (tmp_path / "limit.py").write_text(LIMIT)
    (tmp_path / "test_limit.py").write_text("""
from limit import is_over
def test_far_from_the_limit():
    assert is_over(9.0, strict=True) and not is_over(1.0, strict=True)
""")
    at_the_bound, opposite = LIMIT.replace(">", ">=", 2).replace("->=", "->"), LIMIT.replace("> LIMIT", "<= LIMIT")
    work = Work("limit.py", ["test_limit.py"], [at_the_bound, opposite, "LIMIT_K = (", LIMIT])
    assert _answers(work, tmp_path) == ["passed", SURVIVED, KILLED, KILLED, SURVIVED]


def test_a_module_whose_tests_fail_as_it_stands_is_not_measured(tmp_path: Path) -> None:
    (tmp_path / "limit.py").write_text(LIMIT)
    (tmp_path / "test_limit.py").write_text("def test_it():\n    assert False\n")
    assert _answers(Work("limit.py", ["test_limit.py"], [LIMIT]), tmp_path) == ["failed"]


def _answers(work: Work, tree: Path) -> list[str]:
    command = [sys.executable, "-m", "tests.mutants.trying"]
    environment = {**os.environ, "PYTHONPATH": str(REPOSITORY)}
    done = subprocess.run(
        command, cwd=tree, env=environment, input=msgspec.json.encode(work), stdout=subprocess.PIPE, check=True
    )
    return done.stdout.decode().split("\n")[:-1]


def test_the_page_says_what_was_tried_what_was_not_and_why_a_survivor_is_left() -> None:
    survivors = [Survivor(4, "a < b", "a <= b"), Survivor(9, "x = 1", "x = 2")]
    measured = {"one.py": Measured("2026-01-31", 50, 41, 1, survivors), "two.py": None}
    text = page(measured, {"one.py": {("a < b", "a <= b"): "equivalent: they are never equal"}})
    assert "| one.py | 50 | 41 | 1 | 39 | 1 | 97.5 % | 2026-01-31 |" in text  # 39 of 40
    assert "| all of these | 50 | 41 | 1 | 39 | 1 | 97.5 % | |" in text
    assert "| two.py | not run |" in text
    assert "- line 4: equivalent: they are never equal\n" in text
    assert "- line 9: not looked at yet\n" in text


def test_a_reason_is_given_for_a_line_that_still_stands() -> None:
    stale = {
        was
        for module, known in reasons().items()
        for was, _ in known
        if was not in map(str.strip, (REPOSITORY / module).read_text().splitlines())
    }
    assert stale == set()


@pytest.mark.parametrize("room", ROOMS)
def test_every_module_of_the_judging_rooms_has_its_tests(room: str) -> None:
    inside = {str(path.relative_to(REPOSITORY)) for path in (REPOSITORY / room).rglob("*.py")}
    assert {name for name in inside if not name.endswith("__init__.py")} <= MODULES.keys()


def test_the_table_names_only_what_is_there() -> None:
    named = [*MODULES, *(test.partition("::")[0] for tests in MODULES.values() for test in tests)]
    assert [name for name in named if not (REPOSITORY / name).is_file()] == []
