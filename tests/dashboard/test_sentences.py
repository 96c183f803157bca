"""The page's own sentences stand in one table, as those of judging do: none missing, left over or spelt elsewhere."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from string import Formatter
from typing import get_args, get_type_hints

import pytest

import dashboard
from calc.quantities import QUANTITIES as CHANNELS_AND_FIGURES
from calc.sentences import ENGLISH as JUDGED
from dashboard import words
from dashboard.sentences import ENGLISH
from ingest.supervise import LinkState
from ingest.wire.messages import Steadiness, UnitAbout
from ingest.wire.packs import QUALITIES

ROOM = Path(dashboard.__file__).parent
PARTS = ("display.py", "journal.py", "opinion.py", "words.py", "ids.py")
OF_WATCH = ("watch/page.py", "watch/situation.py", "watch/told.py")
PAGES = sorted(
    path
    for place in ("charge", "training", "visit", "shared", *OF_WATCH, *PARTS)
    for path in ((ROOM / place).rglob("*.py") if (ROOM / place).is_dir() else [ROOM / place])
)
"""What a page is made of. Refusals of the gate, of the door and of the command line are their own."""

THREE_WORDS = re.compile(r"[A-Za-z]{2,}[,;:]? [a-z]{2,}[,;:]? [a-z]{2,}")


def said() -> Iterator[tuple[str, str, set[str]]]:
    """Give where, what and with which places the page says something."""
    for path in sorted(ROOM.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "say":
                for key in _keys(node.args[0]):
                    yield path.name, key, {str(keyword.arg) for keyword in node.keywords}


def _keys(node: ast.expr) -> Iterator[str]:
    """Give the keys that an argument may be: one, or one of two."""
    for it in [node.body, node.orelse] if isinstance(node, ast.IfExp) else [node]:
        assert isinstance(it, ast.Constant), ast.unparse(it)
        yield str(it.value)


def test_what_the_page_says_is_in_its_table_and_nothing_else_is() -> None:
    assert {key for _, key, _ in said()} == set(ENGLISH)


def test_every_place_of_a_sentence_is_filled() -> None:
    for where, key, places in said():
        assert {name for _, name, _, _ in Formatter().parse(ENGLISH[key]) if name is not None} == places, (where, key)


def test_both_tables_are_complete() -> None:
    """What judging can say is held complete by tests/calc/test_sentences.py; here, that neither has an empty entry."""
    assert all(text.strip() for table in (ENGLISH, JUDGED.terms) for text in table.values())
    assert {kind for kind, text in JUDGED.sentences.items() if not text.strip()} == {"known.not", "measured.not_at_all"}
    assert not set(ENGLISH) & set(JUDGED.sentences)


def test_every_name_has_its_word() -> None:
    assert set(words.QUALITIES) == set(QUALITIES)
    assert set(words.LINK_STATES) == {state.value for state in LinkState}
    assert set(words.STEADINESS) == set(get_args(get_type_hints(Steadiness)["state"]))
    assert set(words.METERING_DEVICES) == set(get_args(get_type_hints(UnitAbout)["metering_device"]))
    assert set(words._CHANNELS) <= set(CHANNELS_AND_FIGURES)


@pytest.mark.parametrize("path", PAGES, ids=lambda path: str(path.relative_to(ROOM)))
def test_no_page_module_spells_a_sentence(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    explained = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    tables = {
        id(it)
        for node in tree.body
        if isinstance(node, ast.Assign) and path.name == "words.py"
        for it in ast.walk(node)
    }
    spelt = [
        text
        for node in ast.walk(tree)
        if id(node) not in explained | tables
        for text in [_text(node)]
        if THREE_WORDS.search(text)
    ]
    assert spelt == []


def _text(node: ast.AST) -> str:
    """Give the text of a literal, with a figure wherever it is filled in."""
    if isinstance(node, ast.JoinedStr):
        return "".join(str(it.value) if isinstance(it, ast.Constant) else "0" for it in node.values)
    return node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else ""
