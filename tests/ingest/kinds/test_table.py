"""A kind of link is described once, in its own file, and everything else comes from there."""

import ast
from pathlib import Path
from typing import get_args

import pytest

from ingest.kinds.table import KINDS, LinkConfig

ROOM = Path(__file__).parents[3] / "ingest" / "kinds"
SHARED = {"__init__", "kind", "table", "ports", "registers"}


def test_every_configuration_has_its_kind_and_every_kind_stands_in_the_union() -> None:
    assert set(get_args(LinkConfig)) == set(KINDS)
    assert {path.stem for path in ROOM.glob("*.py")} - SHARED == {kind.name for kind in KINDS.values()}


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.name)
def test_a_kind_refuses_a_key_that_it_does_not_know(kind) -> None:  # type: ignore[no-untyped-def]
    assert kind.config.__struct_config__.forbid_unknown_fields
    assert kind.config.__struct_config__.tag_field == "kind"
    assert kind.word


def test_nothing_outside_of_the_room_tells_kinds_apart() -> None:
    """Who looks for an instrument makes the configuration of the kind that it found; nobody else names one."""
    names = {kind.config.__name__ for kind in KINDS.values()}
    root = ROOM.parents[1]
    naming = {
        str(path.relative_to(root))
        for folder in ("ingest", "dashboard")
        for path in (root / folder).rglob("*.py")
        if path.parent != ROOM
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Name) and node.id in names
    }
    assert naming <= {f"ingest/discover/{name}.py" for name in ("bluetooth", "modbus", "serial")}
