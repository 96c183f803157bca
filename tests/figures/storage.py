"""How much room readings take in the record, noise included."""

import random
import sqlite3
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from calc.quantities import CHANNELS
from ingest.clock import Moment
from ingest.derive import derive
from ingest.record.chunks import CHUNK_PACKS
from ingest.record.store import Record
from ingest.rig import Rig
from ingest.wire.messages import Pack, Reading
from tests.figures import Figure
from tests.rigs import make_rig

MINUTES = 30
TICK_S = 0.25
INTERVAL_S = 0.5

NOISE = {
    "suction_pressure": (914_906.0, 1_000.0, 69.0),
    "suction_line_temperature": (283.15, 0.05, 0.0556),
    "liquid_pressure": (2_514_000.0, 2_000.0, 10.0),
    "liquid_line_temperature": (309.15, 0.05, 0.01),
    "return_air_temperature": (297.0, 0.05, 0.01),
    "supply_air_temperature": (286.0, 0.05, 0.01),
    "outdoor_air_temperature": (308.0, 0.1, 0.01),
    "return_air_humidity": (50.0, 0.3, 0.01),
    "compressor_current": (7.8, 0.02, 0.001),
    "line_voltage_ab": (230.0, 0.5, 0.01),
}
"""Level, noise and resolution of ten channels as field instruments have them [SI]."""


def measure() -> Iterator[Figure]:
    """Record half an hour of ten channels and what derives from them, and compact it."""
    with tempfile.TemporaryDirectory() as directory:
        rig = make_rig(Path(directory))
        record = Record(rig.record)
        record.begin_session(rig, boot="boot", new_visit="visit", time_s=time.time())
        readings = 0
        for minute in range(MINUTES):
            packs = packs_of_a_minute(rig, minute)
            readings += sum(len(pack.readings) for pack in packs)
            record.commit(packs)
        record.advance("mqtt packs", MINUTES * CHUNK_PACKS)
        took_s = []
        while True:
            started_s = time.perf_counter()
            if not record.compact(newest_packs=0):
                break
            took_s.append(time.perf_counter() - started_s)
        record.close()
        database = sqlite3.connect(rig.record)
        (stored,) = database.execute("SELECT sum(length(data)) FROM chunks").fetchone()
        database.close()
    yield Figure("storage of compacted readings", f"{stored / readings:.2f} MB per million", "<= 3 MB per million")
    mean_ms = 1e3 * sum(took_s) / len(took_s)
    yield Figure("compacting a minute of 10 channels", f"{mean_ms:.0f} ms", "far below 60 s")


def packs_of_a_minute(rig: Rig, minute: int) -> list[Pack]:
    """Make the packs of a minute, with noise."""
    chance = random.Random(minute)
    packs = []
    readings: dict[str, Reading] = {}
    for tick in range(CHUNK_PACKS):
        since_s = minute * 60 + tick * TICK_S
        moment = Moment(1_000.0 + since_s, 1_700_000_000.0 + since_s, 0)
        if tick % round(INTERVAL_S / TICK_S) == 0:
            readings = {name: _reading(name, moment, chance) for name in CHANNELS if name in NOISE}
        packs.append(
            Pack(
                rig=rig.name,
                sequence=None,
                session=1,
                epoch=0,
                monotonic_s=moment.monotonic_s,
                time_s=moment.time_s,
                readings={**readings, **derive(readings, rig.unit)},
            )
        )
    return packs


def _reading(name: str, moment: Moment, chance: random.Random) -> Reading:
    level, noise, resolution = NOISE[name]
    value = round(chance.gauss(level, noise) / resolution) * resolution
    return Reading(value, moment.time_s - chance.uniform(0.05, 0.06), "ok", "", noise)
