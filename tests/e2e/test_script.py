"""A visit that is played twice, by the command itself over real transports, is recorded alike but for its stamps."""

import asyncio
import os
from collections.abc import Callable
from difflib import SequenceMatcher
from itertools import groupby
from pathlib import Path

import pytest

from calc.quantities import CHANNELS
from ingest.record.reading import RecordFile
from ingest.wire.messages import Added, LinkChanged, Mark, Note, Proposed, ReadingTaken
from simulators.bench.scenario import load_scenario
from simulators.unit.transfers import OUNCE_KG
from tests.bluetooth import needs_fake_bluez
from tests.ingest.replay.again import assert_same, played_again
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
confirmed = true
[[step]]
at = "140 s"
ask = "note"
text = "Hose stays on."
"""


async def play(directory: Path, script: Path, port: int, broker_port: int, *, speed: int = 10) -> RecordFile:
    command = ["bench", "--script", str(script), "--speed", str(speed), "--directory", str(directory)]
    command += ["--port", str(port), "--broker-port", str(broker_port)]
    async with running(command, directory.with_suffix(".log")) as bench, asyncio.timeout(BUSY * 200):
        assert await bench.process.wait() == 0
    told = directory.with_suffix(".log").read_text(encoding="utf-8").splitlines()
    assert [line for line in told if "WARNING" in line and "the script at" in line] == []  # each step could be done
    assert [line for line in told if "WARNING dashboard" in line] == []  # the page goes before its broker
    return RecordFile(directory / "bench.sqlite")


def said(record: RecordFile) -> list[tuple[str, ...]]:
    """What the technician did, without its stamps, and what was told of it.

    Instruments come on in the order in which they are found, which is not of the visit; `proposed` has what they show.
    """
    return [words(mark) for mark in marks(record) if not isinstance(mark, LinkChanged | Proposed)]


def marks(record: RecordFile) -> list[Mark]:
    visit = record.newest_visit()
    assert visit is not None
    return [each.mark for each in record.marks_after(visit, 0)]


def proposed(record: RecordFile) -> list[str]:
    """What was proposed, in no order: of instruments that show the same second, either may be read first."""
    return sorted(mark.says.kind for mark in marks(record) if isinstance(mark, Proposed))


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


def at_most(record: RecordFile) -> float:
    """How many samples an instrument can have given: two in each second recorded, and one more at either end."""
    packs = list(record.packs_after(0))
    return 2 * (packs[-1].monotonic_s - packs[0].monotonic_s) + 2


def in_common(one: list[float], other: list[float]) -> int:
    """Count the samples of the longest row that is in both, in order."""
    longest = [0] * (len(other) + 1)
    for value in one:
        before = longest
        longest = [0]
        for place, its in enumerate(other):
            longest.append(before[place] + 1 if value == its else max(before[place + 1], longest[place]))
    return longest[-1]


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
    assert proposed(first) == proposed(second)
    assert said(first)[-4:] == [
        ("reading", "script-1", "Sam"),
        ("Warned",),  # it has not settled yet
        ("added", "script-5", f"{2 * OUNCE_KG:.6f}", "liquid"),
        ("note", "script-6", "Sam", "Hose stays on."),
    ]
    one, other = samples(first), samples(second)
    assert one.keys() == other.keys()
    there_were = max(at_most(first), at_most(second))
    for name in ("suction_pressure", "liquid_line_temperature", "compressor_current", "return_air_humidity"):
        alike = in_common(one[name], other[name])
        assert alike > 10, name
        # A machine that stalls misses samples, but what either has is one of those that there were.
        assert len(one[name]) + len(other[name]) - alike <= there_were, name
    recorded = tmp_path / "first" / "bench.sqlite"
    assert_same(*await played_again(recorded, free_port), recorded)


def of_every_instrument() -> set[str]:
    """What the instruments read in this scenario; of a gauge on a circuit under pressure there is no number."""
    instruments = [it for it in load_scenario("hums_and_trips").instruments if it.link != "bluetooth"]
    return {output.channel for instrument in instruments for output in instrument.outputs} - {"vacuum_pressure"}


WHOLE_VISIT = Path(__file__).parents[2] / "simulators" / "scripts" / "whole_visit.toml"


@pytest.mark.skipif("DEWLINE_REHEARSAL" not in os.environ, reason="takes minutes: make rehearsal")
async def test_a_whole_visit_played_twice_is_recorded_alike(tmp_path: Path, free_port: Callable[[], int]) -> None:
    first, second = await asyncio.gather(
        *(play(tmp_path / name, WHOLE_VISIT, free_port(), free_port(), speed=20) for name in ("first", "second"))
    )
    assert said(first) == said(second)
    # What is proposed of a start or a joint rests on single samples: a busy machine misses some at 20 times life.
    done = [kind for kind, *_ in said(first) if kind in ("note", "reading", "added", "Finding")]
    assert done == ["note", "Finding", "reading", "Finding", "added", "reading", "note"]
    one, other = samples(first), samples(second)
    assert one.keys() == other.keys() >= of_every_instrument()
    assert any(1e6 < ohm < 2e9 for ohm in one["multimeter_resistance"])  # megohms of a sound motor
    assert any(0.0 < volts < 0.1 for volts in one["multimeter_ac_voltage"])  # millivolts over a tight lug that runs
    for name in one.keys() & CHANNELS.keys():
        assert SequenceMatcher(None, one[name], other[name], autojunk=False).ratio() > 0.95, name


PANEL = """
title = "What the panel and the scale say"
scenario = "hums_and_trips"
ends = "72 s"
[[step]]
at = "6 s"
act = "leads"
red = "line_a"
black = "line_b"
[[step]]
at = "16 s"
act = "disconnect"
closed = false
[[step]]
at = "17 s"
act = "panel"
on = false
[[step]]
at = "18 s"
act = "lug"
lug = "capacitor_herm"
off = true
[[step]]
at = "20 s"
act = "dial"
function = "capacitance"
[[step]]
at = "21 s"
act = "leads"
red = "capacitor_herm"
black = "capacitor_common"
[[step]]
at = "36 s"
act = "dial"
function = "dc_voltage"
[[step]]
at = "46 s"
act = "dial"
function = "resistance"
[[step]]
at = "47 s"
act = "leads"
red = "coil_1"
black = "coil_2"
[[step]]
at = "58 s"
act = "dial"
function = "insulation"
[[step]]
at = "59 s"
act = "leads"
red = "compressor_run"
black = "earth"
"""


@pytest.mark.skipif("DEWLINE_REHEARSAL" not in os.environ, reason="a minute: make rehearsal")
async def test_every_instrument_of_the_bench_is_read_over_its_own_transport(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    script = tmp_path / "visit.toml"
    script.write_text(PANEL, encoding="utf-8")
    record = await play(tmp_path / "only", script, free_port(), free_port(), speed=4)
    read = samples(record)
    assert read["multimeter_ac_voltage"][-1] == pytest.approx(238.0, abs=1.0)  # as the scenario's line
    assert read["multimeter_capacitance"][-1] == pytest.approx(9e-6, rel=0.01)  # a fifth of its 45 uF
    assert read["multimeter_dc_voltage"][-1] == pytest.approx(0.0, abs=0.5)
    assert any(5.0 < ohm < 50.0 for ohm in read["multimeter_resistance"])  # a coil of 24 V (common practice, no source)
    assert 1e6 < read["multimeter_resistance"][-1] < 2e9  # megohms of a sound motor (common practice, no source)
    assert read["cylinder_mass"][-1] == pytest.approx(9.9, abs=0.02)
    assert max(read["supply_air_flow"]) == pytest.approx(0.54, abs=0.05)
    assert max(read["external_static_pressure"]) == pytest.approx(125.0, abs=5.0)
    assert max(map(abs, read["refrigerant_in_air"])) < 2e-5
    gauge = [pack.readings["vacuum_pressure"] for pack in record.packs_after(0) if "vacuum_pressure" in pack.readings]
    assert {it.quality for it in gauge} >= {"overload"}  # a vacuum gauge on a circuit under pressure
    assert of_every_instrument() <= read.keys()
