"""A visit as CSV (RFC 4180): one header, one row a pack, stamps by ISO 8601 in UTC, the unit in each column's name."""

from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from ingest.record.columns import Block, Column, Floats
from ingest.record.headers import heads


def header(names: Sequence[str]) -> str:
    """Name the columns."""
    return ",".join(["time", "sequence", "session", *(head for name in names for head in heads(name))]) + "\r\n"


def rows(blocks: Iterable[Block], names: Sequence[str]) -> Iterator[str]:
    """Give the rows, many at once. What is unknown is an empty cell, with the quality beside it that says why."""
    for block in blocks:
        count = len(block)
        numbers = [str(block.sequence + index) for index in range(count)]
        columns = [stamps(block.times_s), numbers, [str(block.session)] * count]
        for name in names:
            columns += _cells(block.columns.get(name), count)
        yield "\r\n".join(map(",".join, zip(*columns, strict=True))) + "\r\n"


def stamps(times_s: Floats) -> list[str]:
    """Write stamps [s since 1970] as ISO 8601.

    >>> stamps(np.array([1_700_000_000.25]))
    ['2023-11-14T22:13:20.250Z']
    """
    moments = np.rint(times_s * 1000.0).astype("int64").astype("datetime64[ms]")
    return [f"{moment}Z" for moment in np.datetime_as_string(moments).tolist()]


def _cells(column: Column | None, count: int) -> tuple[list[str], list[str], list[str]]:
    if column is None:
        return [""] * count, [""] * count, [""] * count
    known = (~np.ma.getmaskarray(column.values)).tolist()
    values = [
        repr(value) if is_known else "" for value, is_known in zip(column.values.data.tolist(), known, strict=True)
    ]
    qualities: list[str] = []
    for many, quality in column.qualities:
        qualities += [quality] * many
    uncertainties: list[str] = []
    for many, spread in column.standard_uncertainties:
        uncertainties += ["" if spread is None else repr(spread)] * many
    return values, qualities, uncertainties
