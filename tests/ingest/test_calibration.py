"""A check and a correction in a running daemon: read at once, in the record, and there after a crash."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import aiomqtt
import pytest

from ingest.field_checks import LEAST_S
from ingest.wire.messages import About, Answer, Ask, CheckAsk, CorrectAsk, Pack, decode, decode_pack, encode
from simulators.device.serial import SerialProbe
from tests.brokers import Ear, Mosquitto, listening_to, mosquitto
from tests.processes import running
from tests.rigs import write_configuration

BENCH = "dewline/1/bench"
PSI = 6894.757  # NIST SP 811, B.8
AIR_PA = 101_325.0  # at the elevation of 0 m in the configuration, ISO 2533


def newest(ear: Ear) -> Pack | None:
    payloads = ear.payloads(f"{BENCH}/readings")
    return decode_pack(payloads[-1]) if payloads else None


def gauge_psi(ear: Ear) -> float | None:
    pack = newest(ear)
    value = pack.readings["suction_pressure"].value if pack else None
    return None if value is None else (value - AIR_PA) / PSI


async def tell(broker: Mosquitto, ear: Ear, kind: str, ask: Ask) -> Answer:
    async with aiomqtt.Client("127.0.0.1", broker.address.port) as sam:
        await sam.publish(f"{BENCH}/ask/technician/{kind}", encode(ask), qos=1)
    await ear.until(lambda: bool(ear.payloads(f"{BENCH}/answer/technician/{ask.id}")))
    return decode(ear.payloads(f"{BENCH}/answer/technician/{ask.id}")[0], Answer)


async def test_a_probe_that_is_off_in_the_air_is_corrected_for_the_visit(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    configuration = ["daemon", "--config"]
    probe = SerialProbe(
        lambda: {"pressure": 0.6, "temperature": 50.0}, address=tmp_path / "low", interval_s=0.1
    )  # open to the air, and 0.6 psi too high
    async with mosquitto(free_port(), tmp_path) as broker, probe, listening_to(broker.address) as ear:
        configuration.append(str(write_configuration(tmp_path, f'url = "mqtt://127.0.0.1:{broker.address.port}"')))
        async with running(configuration, tmp_path / "daemon.log") as daemon:
            await ear.until(lambda: gauge_psi(ear) == pytest.approx(0.6, abs=1e-3))
            await ear.until(lambda: len(ear.payloads(f"{BENCH}/readings")) > 4 * LEAST_S + 4)
            before = newest(ear)
            answer = await tell(
                broker, ear, "check", CheckAsk("c1", "Sam", check="open_to_air", channel="suction_pressure")
            )
            assert answer.mark is not None
            assert answer.mark.check is not None
            assert answer.mark.check.offset == pytest.approx(0.6 * PSI, rel=1e-4)
            assert gauge_psi(ear) == pytest.approx(0.6, abs=1e-3)  # a check only proposes
            assert (await tell(broker, ear, "correct", CorrectAsk("c2", "Sam", checks=["c1"]))).ok
            await ear.until(lambda: gauge_psi(ear) == pytest.approx(0.0, abs=1e-3))
            after = newest(ear)
            daemon.process.kill()
            await daemon.process.wait()
        assert before is not None
        assert after is not None
        surer = after.readings["suction_pressure"].standard_uncertainty
        assert surer is not None
        assert surer < (before.readings["suction_pressure"].standard_uncertainty or 0.0)
        async with running(configuration, tmp_path / "daemon.log"):
            await ear.until(
                lambda: (pack := newest(ear)) is not None and pack.session == 2 and gauge_psi(ear) is not None
            )
            assert gauge_psi(ear) == pytest.approx(0.0, abs=1e-3)
            about = decode(ear.payloads(f"{BENCH}/about")[-1], About)
    assert [mark.kind for mark in about.marks if mark.by] == ["check", "correct"]
    with closing(sqlite3.connect(tmp_path / "bench.sqlite")) as record:
        rows = record.execute(
            "SELECT session, offset, mark FROM calibrations WHERE channel = 'suction_pressure' ORDER BY number"
        ).fetchall()
    assert rows == [(1, 0.0, ""), (1, pytest.approx(-0.6), "c2"), (2, pytest.approx(-0.6), "")]
