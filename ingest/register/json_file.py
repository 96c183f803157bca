"""The register as JSON: an array of sheets, by the schema in docs/unit.schema.json."""

import json
from collections.abc import Iterator, Sequence
from pathlib import Path

import msgspec

from ingest.checking.structure import find_problems
from ingest.register.faults import FileFault, UnitsFileError, read_text
from ingest.visit.sheets import faults
from ingest.wire.messages import Sheet, check_names

_SPACE = " \t\r\n"


def as_json(sheets: Sequence[Sheet]) -> str:
    """Write sheets so that a person can read them."""
    return msgspec.json.format(msgspec.json.encode(list(sheets)), indent=2).decode() + "\n"


def read_json(path: Path) -> list[Sheet]:
    """Read the sheets of a file.

    Raises:
        UnitsFileError: with everything that is wrong with it; of a sheet, with the line where it begins.

    """
    text = read_text(path)
    try:
        items = list(_items(text))
        check_names(text.encode())
    except json.JSONDecodeError as error:
        said = f"column {error.colno}: it is no JSON from here on: {error.msg}"
        raise UnitsFileError(path, [FileFault(error.lineno, "", said)]) from error
    except (ValueError, RecursionError) as error:  # a name twice, or a number of thousands of figures
        raise UnitsFileError(path, [FileFault(0, "", f"it cannot be read: {error}")]) from error
    wrong: list[FileFault] = []
    sheets, lines = [], dict[str, int]()
    for line, item in items:
        problems = find_problems(item, Sheet)
        if not problems:
            sheet = msgspec.convert(item, Sheet)
            problems = faults(sheet)
            sheets.append(sheet)
            if sheet.tag in lines:
                wrong.append(FileFault(line, "tag", f"{sheet.tag} stands in line {lines[sheet.tag]} already"))
            lines.setdefault(sheet.tag, line)
        wrong += [FileFault(line, "", str(problem)) for problem in problems]
    if wrong:
        raise UnitsFileError(path, wrong)
    return sheets


def _items(text: str) -> Iterator[tuple[int, object]]:
    """Read an array one item after the other, each with the line in which it begins."""
    decoder = json.JSONDecoder()
    place = _next(text, 0)
    if text[place : place + 1] != "[":
        raise json.JSONDecodeError("an array of sheets was expected, [", text, place)
    place = _next(text, place + 1)
    while text[place : place + 1] != "]":
        item, end = decoder.raw_decode(text, place)
        yield text.count("\n", 0, place) + 1, item
        place = _next(text, end)
        if text[place : place + 1] == ",":
            place = _next(text, place + 1)
            if text[place : place + 1] == "]":
                raise json.JSONDecodeError("another sheet was expected after the comma", text, place)
        elif text[place : place + 1] != "]":
            raise json.JSONDecodeError("a comma or ] was expected", text, place)
    if (end := _next(text, place + 1)) < len(text):
        raise json.JSONDecodeError("nothing more was expected", text, end)


def _next(text: str, place: int) -> int:
    while place < len(text) and text[place] in _SPACE:
        place += 1
    return place
