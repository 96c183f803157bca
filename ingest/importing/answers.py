"""Answers to what a proposed map asks, each a word, written into it."""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from ingest.importing.log_map import OPEN, question_of

_ASKED = f'= "{OPEN}"'


class AnswerError(ValueError):
    """An answer that answers nothing: says what is asked."""


def questions(text: str) -> list[str]:
    r"""Give the keys of what a proposed map asks, in its order.

    >>> questions('[time]\nzone = "?"\n[[channel]]\ncolumn = "3"\nunit = "?"')
    ['time.zone', 'channel.3.unit']
    """
    return [key for key, line in _keys(text) if _ASKED in line]


def answered(text: str, answers: Sequence[str], choices: Mapping[str, Mapping[str, str]]) -> str:
    """Write answers such as "zone=UTC" into a proposed map: each for the question whose key ends so.

    choices: by key the words for what is written.

    Raises:
        AnswerError: no question is meant, or several are.

    """
    asked = questions(text)
    found: dict[str, str] = {}
    for answer in answers:
        short, sign, word = (part.strip() for part in answer.partition("="))
        meant = [key for key in asked if f".{key}".endswith(f".{short}")]
        if not sign or not word or len(meant) != 1:
            which = f"any of {', '.join(meant)}" if meant else f"none of {', '.join(asked) or 'none: nothing is asked'}"
            raise AnswerError(f"the answer {answer!r} is for {which}; KEY=WORD was expected")
        found[meant[0]] = choices.get(meant[0], {}).get(word, word)
    lines = []
    for key, line in _keys(text):
        quoted = '"' + found[key].replace("\\", "\\\\").replace('"', '\\"') + '"' if key in found else ""
        lines.append(line.replace(_ASKED, f"= {quoted}", 1) if quoted else line)
    return "\n".join(lines) + "\n"


def still_asked(path: Path, count: int) -> str:
    """Say how many questions a proposed map has, and what to do.

    >>> still_asked(Path("map.toml"), 0), still_asked(Path("map.toml"), 1)[:38]
    ('map.toml asks nothing: look through it, and import by it', 'map.toml has a question in one place: ')
    """
    if not count:
        return f"{path} asks nothing: look through it, and import by it"
    where, it = ("one place", "it") if count == 1 else (f"{count} places", "them")
    return f"{path} has a question in {where}: answer {it} there or by --answer, and look through the rest"


def told(text: str, choices: Mapping[str, Mapping[str, str]]) -> Iterator[str]:
    """Say what is still asked, a line each."""
    for key in questions(text):
        words = " or ".join(choices.get(key, {}))
        yield f"  {key}: {words or question_of(key)}"


def _keys(text: str) -> Iterator[tuple[str, str]]:
    """Give each line with the key that it sets; of a channel's by the name of its column."""
    table = ""
    for line in text.splitlines():
        name, _, value = line.partition("=")
        if line.startswith("["):
            table = line.partition("#")[0].strip("[] ")
        elif table.startswith("channel") and name.strip() == "column":
            table = f"channel.{value.strip().strip(chr(34))}"
        yield f"{table}.{name.strip()}" if value else "", line
