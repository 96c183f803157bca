"""What calc knows only from memory: the page docs/from_memory.md, which docs.build_calculations writes."""

import ast
import io
import json
import re
import tokenize
from collections.abc import Iterator
from pathlib import Path

from docs.sources import IN_FULL

ROOT = Path(__file__).parents[1]
PAGE = Path(__file__).parent / "from_memory.md"
_MARK = "from memory"
_SENTENCE_END = re.compile(r"(?<=[.;])\s+(?=[A-Z0-9\"`])|\n\s*\n|(?<=\.)\s*$")

_INTRODUCTION = """# From memory, to be checked

Written by `python -m docs.build_calculations` from the code; change it there.

Each of these is marked "from memory" where it stands: nobody has read it in print for this project. Who has the
document at hand, please check the figure and put edition and page in the place of the mark: then it leaves this list.
"""


def page() -> str:
    """Give the whole page: by file, what it says there."""
    lines = [_INTRODUCTION]
    for path in sorted((ROOT / "calc").rglob("*")):
        said = list(dict.fromkeys(_said_in(path)))
        if said:
            lines += [f"## {path.relative_to(ROOT)}\n", *(f"- {sentence}" for sentence in said), ""]
    named = [f"- {name}: {what}" for name, what in IN_FULL.items() if _MARK in what or "not known" in what]
    return "\n".join([*lines, "## Editions and pages of sources\n", *named]) + "\n"


def _said_in(path: Path) -> Iterator[str]:
    if path.suffix not in (".py", ".json"):
        return
    text = path.read_text("utf-8")
    pieces = _of_python(text) if path.suffix == ".py" else _of_json(json.loads(text))
    for piece in pieces:
        for sentence in [piece] if ">>>" in piece else _SENTENCE_END.split(piece):
            if sentence and _MARK in sentence:
                yield " ".join(sentence.split()).lstrip("# ")


def _of_python(text: str) -> Iterator[str]:
    """Give strings and comments; a comment after code with its line, for the figure stands there."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield from (line for line in node.value.splitlines() if ">>>" in line and "#" in line)
            yield "\n".join("" if ">>>" in line else line for line in node.value.splitlines())
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type == tokenize.COMMENT:
            yield token.line.strip()


def _of_json(value: object) -> Iterator[str]:
    if isinstance(value, dict):
        numbers = ", ".join(f"{name} {part}" for name, part in value.items() if isinstance(part, float | int))
        for part in value.values():
            if isinstance(part, str) and _MARK in part:
                yield f"{numbers}: {part}" if numbers else part
            else:
                yield from _of_json(part)
    elif isinstance(value, list):
        for part in value:
            yield from _of_json(part)
    elif isinstance(value, str):
        yield value
