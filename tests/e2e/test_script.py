"""A visit that is played twice, by the command itself over real transports, is recorded alike but for its stamps."""

import asyncio
from collections.abc import Callable
from difflib import SequenceMatcher
from itertools import groupby
from pathlib import Path

from ingest.record.reading import RecordFile
from ingest.wire.marks import Added, LinkChanged, Mark, Note, ReadingTaken
from simulators.unit.transfers import OUNCE_KG
from tests.bluetooth import needs_fake_bluez
from tests.processes import BUSY, running

VISIT = """
title = "A little in, by the scale"
scenario = "low_charge"
by = "Sam"
ends = "150 s"
[[step]]
at = "20 s"
ask = "reading"
[[step]]
at = "30 s"
act = "hose"
port = "suction"
on = true
[[step]]
at = "40 s"
act = "cylinder"
open = "100 %"
[[step]]
at = "60 s"
act = "cylinder"
open = "0 %"
[[step]]
at = "65 s"
ask = "added"
mass = "2 oz"
phase = "liquid"
[[step]]
at = "140 s"
ask = "note"
text = "Hose stays on."
"""


async def play(directory: Path, script: Path, port: int, broker_port: int) -> RecordFile:
    command = ["bench", "--script", str(script), "--speed", "10", "--directory", str(directory)]
    command += ["--port", str(port), "--broker-port", str(broker_port)]
    async with running(command, directory.with_suffix(".log")) as bench, asyncio.timeout(BUSY * 60):
        assert await bench.process.wait() == 0
    return RecordFile(directory / "bench.sqlite")


def said(record: RecordFile) -> list[tuple[str, ...]]:
    """What the technician did, without its stamps. Instruments come on in the order in which they are found."""
    visit = record.newest_visit()
    assert visit is not None
    return [words(each.mark) for each in record.marks_after(visit, 0) if not isinstance(each.mark, LinkChanged)]


def words(mark: Mark) -> tuple[str, ...]:
    match mark:
        case Added():
            return "added", mark.id, f"{mark.mass_kg:.6f}", mark.phase
        case Note():
            return "note", mark.id, mark.by, mark.text
        case ReadingTaken():
            return "reading", mark.id, mark.by
    return (type(mark).__name__,)


def samples(record: RecordFile) -> dict[str, list[float]]:
    """What each channel read, one sample after the other."""
    packs = list(record.packs_after(0))
    names = {name for pack in packs for name in pack.readings}
    values = {name: [pack.readings[name].value for pack in packs if name in pack.readings] for name in names}
    return {name: [one for one, _ in groupby(all_of) if one is not None] for name, all_of in values.items()}


@needs_fake_bluez
async def test_a_visit_played_twice_is_recorded_alike_but_for_its_stamps(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    script = tmp_path / "visit.toml"
    script.write_text(VISIT, encoding="utf-8")
    first, second = await asyncio.gather(
        *(play(tmp_path / name, script, free_port(), free_port()) for name in ("first", "second"))
    )
    assert said(first) == said(second)
    assert said(first)[-3:] == [
        ("reading", "script-1", "Sam"),
        ("added", "script-5", f"{2 * OUNCE_KG:.6f}", "liquid"),
        ("note", "script-6", "Sam", "Hose stays on."),
    ]
    one, other = samples(first), samples(second)
    assert one.keys() == other.keys()
    for name in ("suction_pressure", "liquid_line_temperature", "compressor_current", "return_air_humidity"):
        assert len(one[name]) > 20
        alike = SequenceMatcher(None, one[name], other[name], autojunk=False).ratio()
        assert alike > 0.95, name  # a machine that stalls for half a second misses a sample; none has another value
