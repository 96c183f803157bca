"""What README.md tells a newcomer to type and to write is what the program takes."""

import contextlib
import io
import re
import shlex
from pathlib import Path

import msgspec
import pytest

import dewline
from ingest.config.load import load

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def blocks(text: str) -> list[str]:
    """The TOML in a document, without its indentation."""
    return [re.sub(rf"^{indent}", "", body, flags=re.MULTILINE)
            for indent, body in re.findall(r"^( *)```toml\n(.*?)^ *```", text, re.MULTILINE | re.DOTALL)]  # fmt: skip


def commands() -> list[str]:
    """Every command of ours: whole lines, whose continuations are indented, and those in the text."""
    lines = re.findall(r"^    (?:\$ )?(?:\.venv/bin/)?(dewline .+)$", README, re.MULTILINE)
    return lines + [" ".join(found.split()) for found in re.findall(r"`(dewline [^`]+)`", README)]


def test_the_configuration_can_be_used(tmp_path: Path) -> None:
    [configuration] = blocks(README)
    path = tmp_path / "rig.toml"
    path.write_text(configuration, encoding="utf-8")
    assert load(path).instruments[0].name == "low side probe"


def test_the_instruments_for_contributors_go_with_it(tmp_path: Path) -> None:
    head, _, _ = blocks(README)[0].partition("[[instrument]]")
    [instruments] = blocks(DEVELOPERS)
    path = tmp_path / "rig.toml"
    path.write_text(head + instruments, encoding="utf-8")
    assert len(load(path).instruments) == len(msgspec.toml.decode(instruments)["instrument"])


def test_there_are_commands() -> None:
    assert {line.split()[1] for line in commands()} >= {
        "calc",
        "check",
        "daemon",
        "dashboard",
        "instruments",
        "invite",
    }


@pytest.mark.parametrize("line", commands())
def test_a_command_is_one_that_the_program_takes(line: str) -> None:
    assert dewline._parser().parse_args(shlex.split(line)[1:]).command


@pytest.mark.parametrize("line", [line for line in commands() if line.startswith("dewline calc")])
def test_the_arithmetic_runs(line: str) -> None:
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed):
        assert dewline.main(shlex.split(line)[1:]) == 0
    assert printed.getvalue()


def test_the_commands_of_make_exist() -> None:
    targets = set(re.findall(r"^([a-z-]+):", (ROOT / "Makefile").read_text(encoding="utf-8"), re.MULTILINE))
    named = set(re.findall(r"^    make ([a-z-]+)", README + DEVELOPERS, re.MULTILINE))
    assert {"bench", "test"} <= named <= targets


def test_the_variables_of_make_exist() -> None:
    known = set(re.findall(r"^([A-Z_]+) (?:\?=|:=$)", (ROOT / "Makefile").read_text(encoding="utf-8"), re.MULTILINE))
    assert set(re.findall(r"\b([A-Z_]+)=", README)) <= known
