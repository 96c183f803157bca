"""Chunks: a run of packs as columns of whole numbers, for keeping.

Neighbouring packs differ little. Each column holds the first value and then the differences, in units of the last
decimal that travels; deflated, a reading takes about one byte. Nothing is rounded: from a chunk come the packs,
and from the packs the very bytes that were published.
"""

import zlib
from collections.abc import Iterable, Sequence
from itertools import accumulate, groupby, pairwise
from typing import TypeVar

import msgspec

from calc.quantities import QUANTITIES
from ingest.wire.messages import DECIMALS, TIME_DECIMALS, Pack, Reading, from_wire, to_wire

CHUNK_PACKS = 240
"""One minute, at four a second."""

T = TypeVar("T")
Runs = list[tuple[int, T]]
"""A column that seldom changes: how often, and what."""


class Column(msgspec.Struct, frozen=True, array_like=True):
    """One channel or figure. values: differences of those that are known; known: runs of yes and no."""

    name: str
    known: Runs[bool]
    values: list[int]
    times: list[int]
    qualities: Runs[str]
    reasons: Runs[str]
    uncertainties: Runs[float | None]


class Chunk(msgspec.Struct, frozen=True, array_like=True):
    """A run of packs: each list has one entry a pack, or runs of them; times are differences in thousandths [s]."""

    rig: str
    sequence: int
    session: int
    epochs: Runs[int]
    unsaved_packs: Runs[int]
    monotonic: list[int]
    times: list[int]
    columns: list[Column]


def can_share_a_chunk(first: Pack, other: Pack) -> bool:
    """Tell whether two packs have the same columns; the numbers of a chunk must follow each other besides."""
    return (first.rig, first.session, list(first.readings)) == (other.rig, other.session, list(other.readings))


def to_chunk(packs: Sequence[Pack]) -> bytes:
    """Write saved packs that can share a chunk, with numbers that follow each other."""
    return encode_chunk(gather(packs), level=9)


def encode_chunk(chunk: Chunk, *, level: int = 5) -> bytes:
    """Write a chunk whose columns are laid out. level: of deflating; 5 takes a quarter of the time of 9."""
    return zlib.compress(msgspec.json.encode(chunk), level=level)


def gather(packs: Sequence[Pack]) -> Chunk:
    """Lay such packs out in columns."""
    first = packs[0]
    return Chunk(
        rig=first.rig,
        sequence=first.sequence or 0,
        session=first.session,
        epochs=runs(pack.epoch for pack in packs),
        unsaved_packs=runs(pack.unsaved_packs for pack in packs),
        monotonic=differences(_scaled(pack.monotonic_s, TIME_DECIMALS) for pack in packs),
        times=differences(_scaled(pack.time_s, TIME_DECIMALS) for pack in packs),
        columns=[_to_column(name, [pack.readings[name] for pack in packs]) for name in first.readings],
    )


def decode_chunk(data: bytes) -> Chunk:
    """Read the columns of a chunk."""
    return msgspec.json.decode(zlib.decompress(data), type=Chunk)


def from_chunk(data: bytes) -> list[Pack]:
    """Read the packs of a chunk."""
    chunk = decode_chunk(data)
    columns = {column.name: _from_column(column) for column in chunk.columns}
    rows = zip(
        _values(chunk.epochs),
        _values(chunk.unsaved_packs),
        accumulate(chunk.monotonic),
        accumulate(chunk.times),
        strict=True,
    )
    return [
        Pack(
            rig=chunk.rig,
            sequence=chunk.sequence + index,
            session=chunk.session,
            epoch=epoch,
            monotonic_s=_unscaled(monotonic, TIME_DECIMALS),
            time_s=_unscaled(time, TIME_DECIMALS),
            readings={name: readings[index] for name, readings in columns.items()},
            unsaved_packs=unsaved_packs,
        )
        for index, (epoch, unsaved_packs, monotonic, time) in enumerate(rows)
    ]


def nearest_in_chunk(data: bytes, time_s: float) -> Pack:
    """Read the one pack of a chunk that is nearest to a moment [s since 1970], without making the others."""
    chunk = decode_chunk(data)
    times, moment = list(accumulate(chunk.times)), _scaled(time_s, TIME_DECIMALS)
    index = min(range(len(times)), key=lambda at: abs(times[at] - moment))
    return Pack(
        rig=chunk.rig,
        sequence=chunk.sequence + index,
        session=chunk.session,
        epoch=_values(chunk.epochs)[index],
        monotonic_s=_unscaled(sum(chunk.monotonic[: index + 1]), TIME_DECIMALS),
        time_s=_unscaled(times[index], TIME_DECIMALS),
        readings={column.name: _reading_at(column, index) for column in chunk.columns},
        unsaved_packs=_values(chunk.unsaved_packs)[index],
    )


def _to_column(name: str, readings: Sequence[Reading]) -> Column:
    return Column(
        name=name,
        known=runs(reading.value is not None for reading in readings),
        values=differences(scaled_value(name, reading.value) for reading in readings if reading.value is not None),
        times=differences(_scaled(reading.time_s, TIME_DECIMALS) for reading in readings),
        qualities=runs(reading.quality for reading in readings),
        reasons=runs(reading.reason for reading in readings),
        uncertainties=runs(reading.standard_uncertainty for reading in readings),
    )


def _from_column(column: Column) -> list[Reading]:
    decimals = DECIMALS[QUANTITIES[column.name]]
    values = accumulate(column.values)
    rows = zip(
        _values(column.known),
        accumulate(column.times),
        _values(column.qualities),
        _values(column.reasons),
        _values(column.uncertainties),
        strict=True,
    )
    return [
        Reading(
            from_wire(column.name, _unscaled(next(values), decimals)) if known else None,
            _unscaled(time, TIME_DECIMALS),
            quality,
            reason,
            uncertainty,
        )
        for known, time, quality, reason, uncertainty in rows
    ]


def _reading_at(column: Column, index: int) -> Reading:
    known = _values(column.known)
    value = sum(column.values[: sum(known[: index + 1])]) if known[index] else None
    return Reading(
        None if value is None else from_wire(column.name, _unscaled(value, DECIMALS[QUANTITIES[column.name]])),
        _unscaled(sum(column.times[: index + 1]), TIME_DECIMALS),
        _values(column.qualities)[index],
        _values(column.reasons)[index],
        _values(column.uncertainties)[index],
    )


def scaled_value(name: str, value: float) -> int:
    """Give a value in the house's unit as a whole number of the last decimal that travels."""
    return _scaled(to_wire(name, value), DECIMALS[QUANTITIES[name]])


def _scaled(value: float, decimals: int) -> int:
    return round(value * 10.0**decimals)


def _unscaled(value: int, decimals: int) -> float:
    """Divide: the quotient of two whole numbers is the nearest float there is, as decimal text would give it."""
    return value / 10.0**decimals


def differences(values: Iterable[int]) -> list[int]:
    """Give the first of some numbers, and of each other its difference from the one before."""
    listed = list(values)
    return listed[:1] + [after - before for before, after in pairwise(listed)]


def runs(values: Iterable[T]) -> Runs[T]:
    """Say how often each value follows itself, and which it is."""
    listed = list(values)
    if listed and listed.count(listed[0]) == len(listed):  # nearly always
        return [(len(listed), listed[0])]
    return [(len(list(group)), value) for value, group in groupby(listed)]


def _values(runs: Runs[T]) -> list[T]:
    return [value for count, value in runs for _ in range(count)]
