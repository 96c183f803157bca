"""A visit as SenML (RFC 8428): its packs as they were published, to the byte, one a line.

Column by column, and not pack by pack as `ingest.wire.packs.encode_pack` does it, which takes ten times as long; that
both give the same bytes is tested.
"""

from collections.abc import Iterator, Sequence
from typing import TypeVar

import msgspec
import numpy as np

from calc.quantities import QUANTITIES
from ingest.record.chunks import Runs
from ingest.record.columns import Block, Column, Floats
from ingest.wire.messages import TIME_DECIMALS

T = TypeVar("T")
_encode = msgspec.json.encode


def lines(block: Block) -> bytes:
    """Write the packs of a block."""
    packs = zip(_heads(block), *(_records(column, block.times_s) for column in block.columns.values()), strict=True)
    return b"".join(b"[%b]\n" % b",".join(records) for records in packs)


def _heads(block: Block) -> Iterator[bytes]:
    """Write the records that number a pack."""
    base = _encode(f"{block.rig}/")
    rows = zip(
        range(block.sequence, block.sequence + len(block)),
        _numbers(block.times_s),
        _numbers(block.monotonic_s),
        _each(block.epochs),
        _each(block.unsaved_packs),
        strict=True,
    )
    for sequence, time, monotonic, epoch, unsaved in rows:
        more = b',{"n":"unsaved_packs","v":%d}' % unsaved if unsaved else b""
        yield (
            b'{"n":"pack","bn":%b,"bt":%b,"v":%d},{"n":"session","v":%d},{"n":"epoch","v":%d},'
            b'{"n":"monotonic","u":"s","v":%b}%b'
        ) % (base, time, sequence, block.session, epoch, monotonic, more)


def _records(column: Column, times_s: Floats) -> Iterator[bytes]:
    """Write the records of one channel or figure."""
    name = _encode(column.name)
    known = b'{"n":%b,"u":%b,"v":' % (name, _encode(QUANTITIES[column.name].senml_unit))
    scale = 10**TIME_DECIMALS
    ages_ms = np.rint(column.times_s * scale) - np.rint(times_s * scale)
    rows = zip(
        (~np.ma.getmaskarray(column.values)).tolist(),
        _numbers(column.values.data),
        _each(column.reasons),
        _numbers(ages_ms / scale),
        _ends(column),
        strict=True,
    )
    for is_known, value, reason, age, end in rows:
        start = known + value if is_known else b'{"n":%b,"vs":%b' % (name, _encode(reason))
        yield start + b',"t":' + age + end


def _ends(column: Column) -> Iterator[bytes]:
    """Write the two fields of ours, quality and standard uncertainty, where there is anything to say."""
    spreads = list(_each([(many, _spread(su)) for many, su in column.standard_uncertainties]))
    qualities = _each([(many, _quality(quality)) for many, quality in column.qualities])
    return (quality + spread for quality, spread in zip(qualities, spreads, strict=True))


def _quality(quality: str) -> bytes:
    return b"" if quality == "ok" else b',"q":' + _encode(quality)


def _spread(standard_uncertainty: float | None) -> bytes:
    return b"}" if standard_uncertainty is None else b',"su":' + _encode(standard_uncertainty) + b"}"


def _numbers(values: Floats) -> Sequence[bytes]:
    """Write numbers as the encoder of the wire does."""
    return _encode((values + 0.0).tolist())[1:-1].split(b",")


def _each(runs: Runs[T]) -> Iterator[T]:
    return (what for many, what in runs for _ in range(many))
