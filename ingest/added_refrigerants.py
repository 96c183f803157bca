"""Refrigerants that somebody added on this machine: one file each, read as every program starts.

A file that cannot be used stops the program: a refrigerant that is silently missing would be met on a roof. Each holds
a digest of what it says, so that a figure that was changed in it is never shown.
"""

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import msgspec

from calc.errors import CalcError
from calc.saturation import bubble_point, bubble_pressure, dew_point
from calc.shelf import Table, put_beside
from ingest.whole_file import read_whole

_POINTS = 40
_FIT_K = 2e-3
_LARGEST_BYTES = 4 * 1024 * 1024


class AddedFileError(Exception):
    """A file of an added refrigerant cannot be used: which, why, and what to do."""


class _Curves(msgspec.Struct, frozen=True):
    low_pa: float
    high_pa: float
    bubble: tuple[float, ...]
    dew: tuple[float, ...]


class AddedFile(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a file holds: one refrigerant, as the tables of calc's shelf have it, and how it was made and checked.

    worst_k: the greatest difference from the equation of state [K]. flashes: that agree, of those tried. digest: the
    SHA-256 of all else, as `signed` puts it in.
    """

    designation: str
    made_with: str
    worst_k: float
    flashes: tuple[int, int]
    tables: dict[Table, dict[str, Any]]
    digest: str = ""


def signed(added: AddedFile) -> AddedFile:
    """Put the digest of what it says into a file."""
    rest = msgspec.structs.replace(added, digest="")
    return msgspec.structs.replace(
        added, digest=hashlib.sha256(msgspec.json.encode(rest, order="deterministic")).hexdigest()
    )


def save(place: Path, added: AddedFile) -> Path:
    """Write a refrigerant's file, whole or not at all; returns its path."""
    place.mkdir(parents=True, exist_ok=True)
    path = place / f"{added.designation}.json"
    unfinished = path.with_suffix(".unfinished")
    unfinished.write_bytes(msgspec.json.format(msgspec.json.encode(signed(added)), indent=1) + b"\n")
    unfinished.replace(path)
    return path


def read(place: Path) -> list[AddedFile]:
    """Read every refrigerant of a folder, in the order of their names; none where there is no such folder.

    Raises:
        AddedFileError: one of the files cannot be used.

    """
    return [_read(path) for path in sorted(place.glob("*.json"))]


def put_on_shelf(place: Path) -> None:
    """Put the refrigerants of a folder beside those shipped.

    Raises:
        AddedFileError: one of the files cannot be used.

    """
    for path in sorted(place.glob("*.json")):
        _put_on_shelf(path)


def put_on_shelf_what_can(place: Path) -> tuple[list[AddedFile], dict[str, AddedFileError]]:
    """Do so with those that can be used; returns them, and by name what is wrong with the others.

    For those who see to the folder itself; what judges must not go on without one.
    """
    sound, spoilt = list[AddedFile](), dict[str, AddedFileError]()
    for path in sorted(place.glob("*.json")):
        try:
            sound.append(_put_on_shelf(path))
        except AddedFileError as error:
            spoilt[path.stem] = error
    return sound, spoilt


def remove(place: Path, designation: str) -> None:
    """Remove the file of an added refrigerant, sound or not.

    Raises:
        AddedFileError: there is none of this name, or it cannot be removed.

    """
    path = next((each for each in place.glob("*.json") if each.stem == designation), None)
    if path is None:
        there = ", ".join(each.stem for each in sorted(place.glob("*.json"))) or "none"
        raise AddedFileError(f"{designation} was not added on this machine; added are: {there}")
    try:
        path.unlink()
    except OSError as error:
        raise AddedFileError(f"{path} cannot be removed: {error.strerror}") from error


def _put_on_shelf(path: Path) -> AddedFile:
    added = _read(path)
    try:
        put_beside(added.tables)
        _look_over(added.designation, added.tables)
    except (CalcError, ArithmeticError, TypeError, LookupError) as error:
        raise AddedFileError(f"{path}: {error}. {_way_out(path)}") from error
    return added


def _way_out(path: Path) -> str:
    return f"Remove it (dewline refrigerant remove '{path.stem}'), then add it anew"


def _read(path: Path) -> AddedFile:
    try:
        added = msgspec.json.decode(read_whole(path, _LARGEST_BYTES), type=AddedFile)
        msgspec.convert(added.tables["saturation"][added.designation], _Curves)
    except (OSError, UnicodeDecodeError, msgspec.MsgspecError, LookupError, RecursionError) as error:
        raise AddedFileError(f"{path} is no refrigerant: {error}. {_way_out(path)}") from error
    if path.stem != added.designation:
        raise AddedFileError(f"{path} holds {added.designation}: name the file after it")
    if added.digest != signed(added).digest:
        raise AddedFileError(f"{path} was changed since it was made: its digest does not fit. {_way_out(path)}")
    return added


def _look_over(designation: str, tables: Mapping[Table, Mapping[str, Any]]) -> None:
    """See that curves rise, and that none boils above its dew point: a file may have been changed."""
    curves = tables["saturation"][designation]
    low_pa, high_pa = float(curves["low_pa"]), float(curves["high_pa"])
    before_k = 0.0
    for step in range(_POINTS + 1):
        pressure_pa = min(low_pa * (high_pa / low_pa) ** (step / _POINTS), high_pa)
        bubble_k, dew_k = bubble_point(designation, pressure_pa), dew_point(designation, pressure_pa)
        if not (before_k < bubble_k <= dew_k + _FIT_K):
            raise ArithmeticError(f"its curves cannot be true at {pressure_pa:.0f} Pa")
        before_k = bubble_k
    bubble_pressure(designation, before_k - _FIT_K)
