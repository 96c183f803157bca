"""The brokers under faults: killed, orphaned, frozen out by a client that stalls."""

import asyncio
import os
import signal
from collections.abc import Callable
from functools import partial
from pathlib import Path

import aiomqtt
import psutil
import pytest

from ingest.broker.serve import serve_broker
from ingest.config.structs import BrokerConfig
from ingest.wire.messages import BrokerAddress, topic
from tests.processes import eventually
from tests.serving import serving

RIG = "bench"


def mosquitto_of(config: BrokerConfig) -> list[psutil.Process]:
    """The mosquitto processes that listen where that broker does."""
    port = int(config.listen.rpartition(":")[2])
    listening = {each.pid for each in psutil.net_connections() if each.status == "LISTEN" and each.laddr.port == port}
    return [process for process in map(psutil.Process, filter(None, listening)) if process.name() == "mosquitto"]


async def can_publish(address: BrokerAddress) -> bool:
    try:
        async with aiomqtt.Client(**address.client_arguments()) as client:
            await client.publish(topic(RIG, "status"), b"online", qos=1)
    except aiomqtt.MqttError:
        return False
    return True


@pytest.fixture
def mosquitto(free_port: Callable[[], int]) -> BrokerConfig:
    return BrokerConfig(kind="mosquitto", listen=f"127.0.0.1:{free_port()}")


async def test_a_mosquitto_that_dies_is_started_again(mosquitto: BrokerConfig, tmp_path: Path) -> None:
    async with serve_broker(mosquitto, RIG, tmp_path) as address:
        for _ in range(2):
            (process,) = mosquitto_of(mosquitto)
            process.kill()
            await eventually("the end of mosquitto", partial(is_gone, process), within_s=5)
            await eventually("service again", partial(can_publish, address), within_s=5)
    assert not mosquitto_of(mosquitto)


async def test_a_frozen_mosquitto_does_not_hold_up_our_end(mosquitto: BrokerConfig, tmp_path: Path) -> None:
    async with serve_broker(mosquitto, RIG, tmp_path):
        (process,) = mosquitto_of(mosquitto)
        process.suspend()
    assert not process.is_running()


@pytest.mark.parametrize("kind", ["mosquitto", "embedded"])
async def test_a_killed_daemon_does_not_block_the_next(kind: str, free_port: Callable[[], int], tmp_path: Path) -> None:
    config = BrokerConfig(kind=kind, listen=f"127.0.0.1:{free_port()}")
    for _ in range(3):
        async with serving(config, tmp_path) as process:
            process.send_signal(signal.SIGKILL)
        async with serve_broker(config, RIG, tmp_path) as address:
            assert await can_publish(address)


async def test_mosquitto_does_not_outlive_a_killed_daemon(mosquitto: BrokerConfig, tmp_path: Path) -> None:
    async with serving(mosquitto, tmp_path) as process:
        (child,) = mosquitto_of(mosquitto)
        process.send_signal(signal.SIGKILL)
        await process.wait()
        await eventually("mosquitto gone", partial(is_gone, child), within_s=2)


async def is_gone(process: psutil.Process) -> bool:
    return not process.is_running()


async def test_ctrl_c_leaves_mosquitto_to_us(mosquitto: BrokerConfig, tmp_path: Path) -> None:
    """At a terminal Ctrl-C goes to the whole process group; the daemon must still be able to say goodbye."""
    async with serving(mosquitto, tmp_path) as process:
        (child,) = mosquitto_of(mosquitto)
        assert child.parent() is not None
        assert all(os.getpgid(each.pid) != os.getpgid(process.pid) for each in (child, child.parent()))


async def test_a_mosquitto_that_cannot_start_again_is_tried_on(
    mosquitto: BrokerConfig, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    configuration = tmp_path / "mosquitto.conf"
    async with serve_broker(mosquitto, RIG, tmp_path) as address:
        sound = configuration.read_text(encoding="utf-8")
        configuration.write_text("nonsense\n", encoding="utf-8")
        mosquitto_of(mosquitto)[0].kill()
        await eventually("a complaint", partial(is_logged, caplog, "mosquitto did not start"), within_s=5)
        configuration.write_text(sound, encoding="utf-8")
        await eventually("service again", partial(can_publish, address), within_s=5)


async def is_logged(caplog: pytest.LogCaptureFixture, text: str) -> bool:
    return text in caplog.text


@pytest.mark.parametrize("kind", ["mosquitto", "embedded"])
async def test_one_client_that_stalls_does_not_hold_up_another(
    kind: str, free_port: Callable[[], int], tmp_path: Path
) -> None:
    config = BrokerConfig(kind=kind, listen=f"127.0.0.1:{free_port()}")
    async with serve_broker(config, RIG, tmp_path) as address:
        arguments = address.client_arguments()
        stalled = await asyncio.create_subprocess_exec(
            *("mosquitto_sub", "-h", address.host, "-p", str(address.port), "-t", topic(RIG, "#"), "-q", "1"),
            stdout=asyncio.subprocess.DEVNULL,
        )
        await asyncio.sleep(0.2)
        stalled.send_signal(signal.SIGSTOP)
        try:
            async with aiomqtt.Client(**arguments) as teller, aiomqtt.Client(**arguments) as listener:
                await listener.subscribe(topic(RIG, "#"), qos=1)
                for number in range(200):
                    await teller.publish(topic(RIG, "readings"), b"%d" % number + bytes(20_000), qos=1)
                async with asyncio.timeout(5):
                    heard = [await anext(aiter(listener.messages)) for _ in range(200)]
            assert [int(message.payload.rstrip(b"\0")) for message in heard] == list(range(200))
        finally:
            stalled.kill()
            await stalled.wait()
