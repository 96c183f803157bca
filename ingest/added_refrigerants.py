"""Refrigerants that somebody added on this machine: one file each, read as every program starts.

A file that cannot be used stops the program: a refrigerant that is silently missing would be met on a roof.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import msgspec

from calc.errors import CalcError
from calc.saturation import bubble_point, bubble_pressure, dew_point
from calc.shelf import Table, put_beside

_POINTS = 40
_FIT_K = 2e-3


class AddedFileError(Exception):
    """A file of an added refrigerant cannot be used: which, why, and what to do."""


class _Curves(msgspec.Struct, frozen=True):
    low_pa: float
    high_pa: float
    bubble: tuple[float, ...]
    dew: tuple[float, ...]


class AddedFile(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a file holds: one refrigerant, as the tables of calc's shelf have it, and how it was made and checked.

    worst_k: the greatest difference from the equation of state [K]. flashes: that agree, of those tried.
    """

    designation: str
    made_with: str
    worst_k: float
    flashes: tuple[int, int]
    tables: dict[Table, dict[str, Any]]


def save(place: Path, added: AddedFile) -> Path:
    """Write a refrigerant's file, whole or not at all; returns its path."""
    place.mkdir(parents=True, exist_ok=True)
    path = place / f"{added.designation}.json"
    unfinished = path.with_suffix(".unfinished")
    unfinished.write_bytes(msgspec.json.format(msgspec.json.encode(added), indent=1) + b"\n")
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
    for added in read(place):
        path = place / f"{added.designation}.json"
        try:
            put_beside(added.tables)
            _look_over(added.designation, added.tables)
        except (CalcError, ArithmeticError, TypeError, LookupError) as error:
            raise AddedFileError(f"{path}: {error}. Add the refrigerant anew, or remove the file") from error


def _read(path: Path) -> AddedFile:
    try:
        added = msgspec.json.decode(path.read_bytes(), type=AddedFile)
        msgspec.convert(added.tables["saturation"][added.designation], _Curves)
    except (OSError, UnicodeDecodeError, msgspec.MsgspecError, LookupError) as error:
        raise AddedFileError(f"{path} is no refrigerant: {error}. Add it anew, or remove the file") from error
    if path.stem != added.designation:
        raise AddedFileError(f"{path} holds {added.designation}: name the file after it")
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
