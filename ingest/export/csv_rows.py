"""A visit as CSV (RFC 4180): one header, one row a pack, stamps by ISO 8601 in UTC, the unit in each column's name."""

import re
from collections.abc import Sequence

import numpy as np

from ingest.record.chunks import Runs
from ingest.record.columns import Block, Column, Floats
from ingest.record.guarded import guarded
from ingest.record.headers import OF_A_PACK, Heads, heads


def header(names: Sequence[str]) -> str:
    """Name the columns."""
    return ",".join([*OF_A_PACK, *(head for name in names for head in heads(name))]) + "\r\n"


def rows(block: Block, names: Sequence[str]) -> str:
    """Give the rows of a block. What is unknown is an empty cell, with the quality beside it that says why.

    Of a channel that a pack does not have the quality is empty, too.
    """
    count = len(block)
    columns = [
        stamps(block.times_s),
        [str(block.sequence + index) for index in range(count)],
        [str(block.session)] * count,
        _spread([(many, str(epoch)) for many, epoch in block.epochs]),
        [repr(it) for it in block.monotonic_s.tolist()],
        _spread([(many, str(unsaved)) for many, unsaved in block.unsaved_packs]),
    ]
    for name in names:
        columns += _cells(block.columns.get(name), block.times_s)
    return "\r\n".join(map(",".join, zip(*columns, strict=True))) + "\r\n"


def stamps(times_s: Floats) -> list[str]:
    """Write stamps [s since 1970] as ISO 8601.

    >>> stamps(np.array([1_700_000_000.25]))
    ['2023-11-14T22:13:20.250Z']
    """
    moments = np.rint(times_s * 1000.0).astype("int64").astype("datetime64[ms]")
    return [f"{moment}Z" for moment in np.datetime_as_string(moments).tolist()]


def _cells(column: Column | None, times_s: Floats) -> tuple[list[str], ...]:
    if column is None:
        return ([""] * len(times_s),) * len(Heads._fields)
    known = (~np.ma.getmaskarray(column.values)).tolist()
    values = [
        repr(value) if is_known else "" for value, is_known in zip(column.values.data.tolist(), known, strict=True)
    ]
    spreads = [(many, "" if it is None else repr(it)) for many, it in column.standard_uncertainties]
    ages_s = (np.rint(times_s * 1000.0) - np.rint(column.times_s * 1000.0)) / 1000.0
    reasons = [(many, _quoted(guarded(reason))) for many, reason in column.reasons]
    return values, _spread(column.qualities), _spread(spreads), list(map(repr, ages_s.tolist())), _spread(reasons)


def _spread(runs: Runs[str]) -> list[str]:
    return [what for many, what in runs for _ in range(many)]


def _quoted(text: str) -> str:
    return '"' + text.replace('"', '""') + '"' if _TO_QUOTE.search(text) else text


_TO_QUOTE = re.compile(r'^\s|[",\r\n]')
