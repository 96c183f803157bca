"""What holds of the rooms of judging as a whole."""

import ast
import re
from pathlib import Path

import msgspec

import calc.doubts
import calc.judge
import ingest.advice
from calc.sentences import ENGLISH, Language
from ingest.advice.sentence import advise
from tests.ingest.advice.test_sentence import AIR, CHARGED, UNDERCHARGED, situation, watch

ADVICE = Path(ingest.advice.__file__).parent
ARITHMETIC = (ast.Mult, ast.Div, ast.Pow, ast.FloorDiv, ast.Mod)
COUNTS_SECONDS = "history.py"


def test_nothing_is_worked_out_in_the_room_of_advice() -> None:
    worked_out = []
    for path in ADVICE.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            imported = [name.name for name in node.names] if isinstance(node, ast.Import) else []
            if path.name != COUNTS_SECONDS and {"math", "numpy"} & set(imported):
                worked_out.append(f"{path.name} imports {imported}")
            if isinstance(node, ast.BinOp) and isinstance(node.op, ARITHMETIC) and path.name != COUNTS_SECONDS:
                worked_out.append(f"{path.name}:{node.lineno}")
    # the horizon of a rerun is a time by the clock, and an expanded uncertainty is halved to travel back into calc
    assert [it for it in worked_out if not it.startswith(("rerun.py", "advisor.py"))] == []


def test_each_room_says_what_holds() -> None:
    for room in (calc.judge, calc.doubts, ingest.advice):
        assert room.__doc__ is not None
        assert "Invariant:" in room.__doc__


CAUTIONS = ("cautions", "cautions_once")


def test_another_language_changes_words_and_nothing_else() -> None:
    """A made-up language swaps every sentence; states, kinds, figures, causes and amounts stay as they are."""
    other = Language(
        {kind: f"«{kind}»" for kind in ENGLISH.sentences}, {key: f"«{key}»" for key in ENGLISH.terms}, " + "
    )
    history, _ = watch(1000, 4.0)
    now = situation({**UNDERCHARGED, **AIR}, 1000.0, CHARGED)
    plain, swapped = (
        msgspec.to_builtins(advise(now.known, now.pack, history, language)) for language in (ENGLISH, other)
    )
    assert swapped["sentence"]["us"] == f"«{plain['sentence']['kind']}»"
    assert all(detail["us"] == f"«{detail['kind']}»" for detail in swapped["details"])
    assert all(swapped[name] for name in CAUTIONS)
    assert all(re.fullmatch(r"«caution\.\w+»", caution) for name in CAUTIONS for caution in swapped[name])
    assert without_words(plain) == without_words(swapped)


def without_words(told: object) -> object:
    if isinstance(told, dict):
        return {key: without_words(value) for key, value in told.items() if key not in ("us", "si", *CAUTIONS)}
    return [without_words(each) for each in told] if isinstance(told, list) else told
