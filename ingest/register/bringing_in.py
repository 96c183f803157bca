"""Sheets from a file into a record that no daemon writes: all of them or none."""

from collections.abc import Iterable, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from ingest.record.beside import written
from ingest.record.errors import HeldError
from ingest.record.lock import Lock
from ingest.record.store import Record
from ingest.register.csv_in import read_csv
from ingest.register.csv_out import as_csv
from ingest.register.json_file import as_json, read_json
from ingest.visit import tags
from ingest.visit.describing import doubts
from ingest.visit.sheets import compared
from ingest.wire.messages import Sheet
from ingest.wire.texts import shown


class RegisterError(Exception):
    """What was asked of the register cannot be done: says why, and what to do."""


@dataclass(frozen=True, slots=True)
class BroughtIn:
    """What became of the sheets of a file: how many units were new, how many changed, how many were as before."""

    new: int
    changed: int
    same: int


def read_sheets(path: Path) -> list[Sheet]:
    """Read a file of units by the end of its name.

    Raises:
        UnitsFileError: with everything that is wrong in it.
        RegisterError: the name ends otherwise.

    """
    return read_csv(path) if _is_table(path) else read_json(path)


def write_sheets(path: Path, sheets: Sequence[Sheet], record: Path | None = None) -> None:
    """Write a file of units by the end of its name, out of a record; one that is there is replaced once it is whole.

    Raises:
        RegisterError: the name ends otherwise.
        RecordError: the file is a record or belongs to one, is no file, or cannot be written.

    """
    text = as_csv(sheets) if _is_table(path) else as_json(sheets)
    with written(path, record) as file:
        file.write(text.encode())


def bring_in(record: Path, sheets: Sequence[Sheet], *, time_s: float, confirmed: bool) -> BroughtIn:
    """Keep sheets in a record, in one transaction; a record that is not there yet is begun.

    confirmed: the person was asked what `doubts` asks, and it is so.

    Raises:
        RegisterError: a daemon writes the record; a new unit has a tag that cannot be; or there is something to be
            asked first.
        NotSavedError: the record refused.

    """
    try:
        lock = Lock(record)
    except HeldError as error:
        raise RegisterError(
            f"a daemon writes {record} ({error.holder}): stop it, import, and start it again; "
            "or describe units one by one at the rig, by an ask `describe`"
        ) from error
    with closing(lock), closing(Record(record)) as opened:
        known = {kept.sheet.tag: kept.sheet for kept in opened.sheets()}
        fresh = [sheet for sheet in sheets if not _is_same(sheet, known.get(sheet.tag))]
        _check_tags(sheet.tag for sheet in fresh if sheet.tag not in known)
        if not confirmed:
            _ask(fresh, known)
        opened.add_sheets(fresh, time_s)
        new = sum(sheet.tag not in known for sheet in fresh)
        return BroughtIn(new, len(fresh) - new, len(sheets) - len(fresh))


def _check_tags(new: Iterable[str]) -> None:
    if wrong := [f"{shown(tag)!r}: {why}" for tag in new if (why := tags.fault(tag))]:
        told = "\n  ".join(wrong)
        raise RegisterError(f"nothing was imported, for these tags cannot be of a new unit:\n  {told}")


def _ask(sheets: Sequence[Sheet], known: dict[str, Sheet]) -> None:
    so_far, asked = dict(known), []
    for sheet in sheets:
        asked += [question.us for question in doubts(sheet, so_far)]
        so_far[sheet.tag] = sheet
    if asked:
        told = "\n  ".join(asked)
        raise RegisterError(
            f"nothing was imported, for there is something to ask:\n  {told}\nIf all is so: --confirmed"
        )


def _is_same(sheet: Sheet, known: Sheet | None) -> bool:
    return known is not None and compared(sheet) == compared(known)


def _is_table(path: Path) -> bool:
    match path.suffix.lower():
        case ".csv":
            return True
        case ".json":
            return False
    raise RegisterError(f"{path}: a name that ends in .csv or .json was expected")
