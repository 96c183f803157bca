"""A record as Arrow, of the extra `dewline[parquet]`: nothing else needs it, and it is loaded only here."""

from collections.abc import Iterable, Sequence
from importlib import import_module
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

from ingest.record.chunks import Runs
from ingest.record.columns import Block
from ingest.record.errors import RecordError
from ingest.record.headers import heads, unit_of

if TYPE_CHECKING:
    import pyarrow as pa

T = TypeVar("T")


def arrow(module: str = "pyarrow") -> Any:
    """Load pyarrow, or a module of it.

    Raises:
        RecordError: it is not installed; says by which extra it comes.

    """
    try:
        return import_module(module)
    except ImportError as error:
        raise RecordError(
            "this needs pyarrow, which is not installed here: in the folder of Dewline, "
            '.venv/bin/pip install ".[parquet]"'
        ) from error


def schema_of(names: Sequence[str]) -> "pa.Schema":
    """Give the columns of these channels and figures: stamp and number of the pack, then value, quality and ± each."""
    pa = arrow()
    fields = [
        pa.field("time", pa.timestamp("ms", tz="UTC"), nullable=False),
        pa.field("sequence", pa.int64(), nullable=False),
        pa.field("session", pa.int32(), nullable=False),
        pa.field("epoch", pa.int32(), nullable=False),
        pa.field("monotonic_s", pa.float64(), nullable=False),
        pa.field("unsaved_packs", pa.int64(), nullable=False),
    ]
    for name in names:
        head, told = heads(name), {"unit": unit_of(name)}
        fields += [
            pa.field(head.value, pa.float64(), metadata=told),
            pa.field(head.quality, pa.dictionary(pa.int8(), pa.string())),
            pa.field(head.standard_uncertainty, pa.float64(), metadata=told),
            pa.field(head.age, pa.float64(), metadata={"unit": "s"}),
            pa.field(head.reason, pa.dictionary(pa.int32(), pa.string())),
        ]
    return pa.schema(fields)


def batch_of(block: Block, names: Sequence[str], schema: "pa.Schema") -> "pa.RecordBatch":
    """Lay a block out by those columns; of a channel that it does not have they are null."""
    pa, count = arrow(), len(block)
    times = pa.array(np.rint(block.times_s * 1000.0).astype("int64"), pa.timestamp("ms", tz="UTC"))
    arrays = [times, pa.array(block.sequence + np.arange(count)), pa.array(np.full(count, block.session, "int32"))]
    arrays += [pa.array(_each(block.epochs), pa.int32()), pa.array(block.monotonic_s)]
    arrays.append(pa.array(_each(block.unsaved_packs), pa.int64()))
    for name in names:
        column = block.columns.get(name)
        if column is None:
            arrays += [pa.nulls(count, field.type) for field in (schema.field(head) for head in heads(name))]
            continue
        ages_s = (np.rint(block.times_s * 1000.0) - np.rint(column.times_s * 1000.0)) / 1000.0
        arrays += [
            pa.array(column.values.filled(0.0), mask=np.ma.getmaskarray(column.values)),
            pa.DictionaryArray.from_arrays(*_coded(_each(column.qualities), pa.int8())),
            pa.array(_each(column.standard_uncertainties), pa.float64()),
            pa.array(ages_s),
            pa.DictionaryArray.from_arrays(*_coded(_each(column.reasons), pa.int32())),
        ]
    return pa.RecordBatch.from_arrays(arrays, schema=schema)


def table_of(blocks: Iterable[Block]) -> "pa.Table":
    """Give blocks as one table."""
    listed = list(blocks)
    names = list(dict.fromkeys(name for block in listed for name in block.columns))
    schema = schema_of(names)
    return arrow().Table.from_batches([batch_of(block, names, schema) for block in listed], schema)


def _each(runs: Runs[T]) -> list[T]:
    return [what for many, what in runs for _ in range(many)]


def _coded(texts: Sequence[str], kind: Any) -> tuple[Any, Any]:
    """Give each text as its number in a list of those that there are."""
    known = {text: index for index, text in enumerate(dict.fromkeys(texts))}
    pa = arrow()
    return pa.array([known[text] for text in texts], kind), pa.array(list(known), pa.string())
