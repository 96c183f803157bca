"""A record by columns, for whoever computes with it: arrays of a channel instead of one reading after another.

Values are to the last digit those of the packs: a chunk holds whole numbers, of which each value is one quotient.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

from calc.quantities import QUANTITIES, Quantity
from ingest.record.chunks import Chunk, Runs
from ingest.record.errors import RecordError
from ingest.wire.messages import CELSIUS_ZERO_K, DECIMALS, TIME_DECIMALS, UnitAbout

if TYPE_CHECKING:
    import pyarrow as pa

Floats = NDArray[np.float64]
Masked = np.ma.MaskedArray[Any, np.dtype[np.float64]]
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Column:
    """One channel or figure over several packs.

    values: as on the wire, temperatures in degrees Celsius; masked where unknown. times_s: of each reading [s since
    1970]. qualities, reasons, standard_uncertainties: runs, how often and what.
    """

    name: str
    values: Masked
    times_s: Floats
    qualities: Runs[str]
    reasons: Runs[str]
    standard_uncertainties: Runs[float | None]


@dataclass(frozen=True, slots=True)
class Block:
    """Packs that follow each other and have the same columns; fields as those of a pack, one entry or run for each.

    sequence: of the first. times_s: of the packs [s since 1970].
    """

    rig: str
    sequence: int
    session: int
    times_s: Floats
    monotonic_s: Floats
    epochs: Runs[int]
    unsaved_packs: Runs[int]
    columns: Mapping[str, Column]

    def __len__(self) -> int:
        return len(self.times_s)


def block_of(chunk: Chunk) -> Block:
    """Lay a chunk out as arrays.

    Raises:
        ValueError: it holds a number that no reading is.

    """
    try:
        return _block_of(chunk)
    except OverflowError as error:
        raise ValueError(f"a number of the packs from {chunk.sequence} on is beyond any reading") from error


def _block_of(chunk: Chunk) -> Block:
    columns = {}
    for column in chunk.columns:
        known = spread(column.known)
        values = np.zeros(len(known))
        values[known] = np.cumsum(column.values, dtype=np.int64) / 10.0 ** DECIMALS[QUANTITIES[column.name]]
        columns[column.name] = Column(
            column.name,
            np.ma.MaskedArray(values, ~known),
            np.cumsum(column.times, dtype=np.int64) / 10.0**TIME_DECIMALS,
            column.qualities,
            column.reasons,
            column.uncertainties,
        )
    return Block(
        chunk.rig,
        chunk.sequence,
        chunk.session,
        np.cumsum(chunk.times, dtype=np.int64) / 10.0**TIME_DECIMALS,
        np.cumsum(chunk.monotonic, dtype=np.int64) / 10.0**TIME_DECIMALS,
        chunk.epochs,
        chunk.unsaved_packs,
        columns,
    )


def spread(runs: Runs[bool]) -> NDArray[np.bool_]:
    """Lay runs of yes and no out one by one."""
    return np.repeat(np.array([it for _, it in runs], dtype=bool), [count for count, _ in runs])


def in_house_unit(name: str, values: Masked) -> Masked:
    """Give values as the house has them: temperatures in kelvin, to the digit as a pack has them."""
    quantity = QUANTITIES[name]
    if quantity is not Quantity.TEMPERATURE:
        return values
    scale = 10.0 ** DECIMALS[quantity]
    counted = np.rint(values.data * scale) + round(CELSIUS_ZERO_K * scale)
    return np.ma.MaskedArray(counted / scale, np.ma.getmaskarray(values))


@dataclass(frozen=True, slots=True)
class RecordedVisit:
    """A visit: its id and unit, and when it began and ended [s since 1970]; ended_s is None while it is open."""

    id: str
    unit: UnitAbout
    started_s: float
    ended_s: float | None


@dataclass(frozen=True, slots=True)
class ChannelArrays:
    """Everything that was read of a channel or figure at a visit, one entry a pack.

    values: in the house's unit of `quantity`, pressures absolute [Pa], temperatures [K]; masked where unknown. times_s:
    when each was measured [s since 1970]. qualities: as `ingest.wire.packs.QUALITIES` has them.
    standard_uncertainties: in the same unit; masked where it is not known.
    """

    name: str
    quantity: Quantity
    values: Masked
    times_s: Floats
    qualities: NDArray[np.str_]
    reasons: NDArray[np.str_]
    standard_uncertainties: Masked


class Blocks(Protocol):
    """A record that can be read by columns."""

    def visits(self) -> list[RecordedVisit]:
        """Read which visits there are, in the order in which they began."""
        ...

    def blocks(self, visit: str) -> Iterator[Block]:
        """Read the packs of a visit, oldest first."""
        ...


class VisitArrays:
    """The readings of one visit. times_s: of its packs [s since 1970]; sequences: their numbers."""

    def __init__(self, visit: RecordedVisit, blocks: Sequence[Block]) -> None:
        self.visit = visit
        self._blocks = blocks
        self.names = tuple(dict.fromkeys(chain.from_iterable(block.columns for block in blocks)))
        self.times_s = _joined([block.times_s for block in blocks])
        self.sequences = _joined([block.sequence + np.arange(len(block)) for block in blocks])

    def __getitem__(self, name: str) -> ChannelArrays:
        """Give the arrays of a channel or figure.

        Raises:
            KeyError: it was not read at this visit.

        """
        if name not in self.names:
            raise KeyError(f"{name} was not read at the visit {self.visit.id}; there are {', '.join(self.names)}")
        parts = [block.columns.get(name) or _nothing(name, block) for block in self._blocks]
        uncertainties = [su for part in parts for su in _each(part.standard_uncertainties)]
        return ChannelArrays(
            name,
            QUANTITIES[name],
            in_house_unit(
                name,
                np.ma.MaskedArray(
                    _joined([part.values.data for part in parts]),
                    _joined([np.ma.getmaskarray(part.values) for part in parts]),
                ),
            ),
            _joined([part.times_s for part in parts]),
            np.array([it for part in parts for it in _each(part.qualities)]),
            np.array([it for part in parts for it in _each(part.reasons)]),
            np.ma.MaskedArray([su or 0.0 for su in uncertainties], [su is None for su in uncertainties]),
        )

    def table(self) -> "pa.Table":
        """Give all of it as an Arrow table, as `dewline export --to parquet` writes it: `.to_pandas()` and the like.

        Raises:
            RecordError: pyarrow is not installed.

        """
        from ingest.record.arrow import table_of  # of an extra

        return table_of(self._blocks)


class OpenRecord:
    """A record by arrays. visits: in the order in which they began."""

    def __init__(self, record: Blocks) -> None:
        self._record = record
        self.visits = record.visits()

    def visit(self, visit: str | None = None) -> VisitArrays:
        """Read a visit by its id; without one the newest.

        Raises:
            RecordError: there is none.

        """
        found = self.visit_named(visit)
        return VisitArrays(found, list(self._record.blocks(found.id)))

    def visit_named(self, visit: str | None) -> RecordedVisit:
        """Find a visit by its id; without one the newest. Raises as `visit` does."""
        found = [it for it in self.visits if visit in (None, it.id)]
        if not found:
            known = ", ".join(it.id for it in self.visits)
            raise RecordError(f"there is no visit {visit!r}; there are {known}" if known else "there is no visit yet")
        return found[-1]


def _joined(parts: Sequence[NDArray[Any]]) -> NDArray[Any]:
    return np.concatenate(parts) if parts else np.zeros(0)


def _each(runs: Runs[T]) -> Iterator[T]:
    return (what for count, what in runs for _ in range(count))


def _nothing(name: str, block: Block) -> Column:
    """Say of a block in which a channel is not that it was not measured."""
    count = len(block)
    unknown = np.ma.MaskedArray(np.zeros(count), np.ones(count, dtype=bool))
    return Column(name, unknown, block.times_s, [(count, "stale")], [(count, "not measured")], [(count, None)])
