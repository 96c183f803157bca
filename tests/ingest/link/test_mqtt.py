"""The MQTT link with a real mosquitto and its own publisher, mosquitto_pub, as the instrument."""

import asyncio
import getpass
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from ingest.backoff import Backoff
from ingest.broker.credentials import write_password_file
from ingest.broker.endpoint import free_loopback_port
from ingest.broker.find_program import find_program
from ingest.decode.mqtt import MqttDecoder, MqttValue
from ingest.frames import Frame, LinkError, LinkSetupError
from ingest.link.mqtt import MqttTopics
from ingest.supervise import Instrument, Surroundings
from ingest.wire.messages import BrokerAddress
from tests.brokers import Mosquitto, mosquitto
from tests.listening import listening
from tests.processes import BUSY

pytestmark = pytest.mark.skipif(
    find_program("mosquitto_pub") is None or find_program("mosquitto") is None,
    reason="needs mosquitto and mosquitto_pub (Debian: mosquitto, mosquitto-clients)",
)

DYNAMIC_SECURITY = next(Path("/usr/lib").glob("*/mosquitto_dynamic_security.so"), None)

VALUES = {
    "pressure": MqttValue("roof/low/pressure"),
    "return air": MqttValue("roof/air", pointer="/air/temperature"),
    "supply air": MqttValue("roof/packs", senml="roof/supply", unit="Cel"),
}
TOPICS = ("roof/air", "roof/low/pressure", "roof/packs")


@pytest.fixture
async def broker(tmp_path: Path) -> AsyncIterator[Mosquitto]:
    async with mosquitto(free_loopback_port(), tmp_path) as broker:
        yield broker


async def publish(address: BrokerAddress, topic: str, payload: str, *options: str) -> None:
    program = find_program("mosquitto_pub")
    assert program is not None
    arguments = ["-h", address.host, "-p", str(address.port), "-t", topic, "-m", payload, *options]
    process = await asyncio.create_subprocess_exec(program, *arguments)
    assert await process.wait() == 0


def values_of(frames: Sequence[Frame]) -> dict[str, object]:
    decode = MqttDecoder(VALUES)
    return {field: value for frame in frames for field, value in decode(frame).items()}


async def test_plain_json_and_senml_payloads(broker: Mosquitto) -> None:
    async with listening(MqttTopics(broker.address, TOPICS)) as listener:
        await listener.connected()
        await publish(broker.address, "roof/low/pressure", "118.2\n")
        await publish(broker.address, "roof/air", '{"air": {"temperature": 23.5, "humidity": 52}}')
        await publish(broker.address, "roof/packs", '[{"bn": "roof/", "n": "supply", "u": "Cel", "v": 12.25}]')
        await publish(broker.address, "roof/other", "7")
        frames = await listener.heard(3)
    assert [frame.source for frame in frames] == ["roof/low/pressure", "roof/air", "roof/packs"]
    assert values_of(frames) == {"pressure": 118.2, "return air": 23.5, "supply air": 12.25}


async def test_what_the_broker_kept_is_not_a_reading_of_now(broker: Mosquitto) -> None:
    await publish(broker.address, "roof/low/pressure", "1.0", "-r")
    async with listening(MqttTopics(broker.address, TOPICS)) as listener:
        await listener.connected()
        await publish(broker.address, "roof/low/pressure", "2.0", "-r")
        frames = await listener.heard(1)
    assert [frame.payload for frame in frames] == [b"2.0"]


async def test_a_broker_that_goes_away_is_lost_and_found_again(broker: Mosquitto) -> None:
    link = MqttTopics(broker.address, TOPICS)
    async with listening(link) as listener:
        await listener.connected()
        await broker.kill()
        error = await listener.error()
    assert isinstance(error, LinkError)
    async with listening(link) as listener:
        error = await listener.error()
    assert isinstance(error, LinkError)
    assert "does a broker run there" in str(error)
    await broker.start()
    async with listening(link) as listener:
        await listener.connected()
        await publish(broker.address, "roof/low/pressure", "3.0")
        assert values_of(await listener.heard(1)) == {"pressure": 3.0}


async def test_what_could_not_be_read_before_the_broker_went_away_is_no_reason_after_it(broker: Mosquitto) -> None:
    """Of an instrument that is silent since, or sends what is wrong in another way."""
    instrument = Instrument(
        "roof probes",
        "mqtt",
        lambda: (MqttTopics(broker.address, TOPICS), MqttDecoder(VALUES)),
        Surroundings(lambda *_: None, lambda *_: None, lambda: 0.0),
        Backoff(),
    )

    async def until(state: str, rejected: int) -> str:
        async with asyncio.timeout(20 * BUSY):
            while (it := instrument.about()).state != state or it.rejected_frames != rejected:  # noqa: ASYNC110 - it tells nobody
                await asyncio.sleep(0.01)
        return it.reason

    task = asyncio.create_task(instrument.supervise())
    try:
        await until("connected", 0)
        for _ in range(5):
            await publish(broker.address, "roof/low/pressure", "warm")
        assert "the last 5 messages could not be read" in await until("connected", 5)
        await broker.kill()
        assert "does a broker run there" in await until("waiting", 5)
        await broker.start()
        assert await until("connected", 5) == ""
        for number in range(6, 11):
            await publish(broker.address, "roof/air", "{}")
            said = await until("connected", number)
            assert said == "" or number == 10
        assert said == "the last 5 messages could not be read: the document has nothing at /air/temperature"
        await publish(broker.address, "roof/low/pressure", "118.2")
        async with asyncio.timeout(20 * BUSY):
            while instrument.about().reason:  # noqa: ASYNC110 - it tells nobody
                await asyncio.sleep(0.01)
    finally:
        task.cancel()
        await asyncio.wait([task])


@asynccontextmanager
async def guarded_broker(directory: Path) -> AsyncIterator[BrokerAddress]:
    """A broker that lets in one user, who may read only half of what there is."""
    broker = Mosquitto(free_loopback_port(), directory)
    await write_password_file(directory / "passwords", {"sam": "right"})
    (directory / "access").write_text("user sam\ntopic read roof/low/#\n")
    (directory / "mosquitto.conf").write_text(
        f"user {getpass.getuser()}\nlistener {broker.address.port} 127.0.0.1\nallow_anonymous false\n"
        f"password_file {directory / 'passwords'}\nacl_file {directory / 'access'}\n"
    )
    await broker.start()
    try:
        yield replace_user(broker.address, "right")
    finally:
        await broker.kill()


def replace_user(address: BrokerAddress, password: str) -> BrokerAddress:
    return BrokerAddress(address.host, address.port, user="sam", password=password)


async def test_a_wrong_password_stops_the_instrument(tmp_path: Path) -> None:
    async with guarded_broker(tmp_path) as address:
        async with listening(MqttTopics(address, ["roof/low/pressure"])) as listener:
            await listener.connected()
        async with listening(MqttTopics(replace_user(address, "wrong"), ["roof/low/pressure"])) as listener:
            error = await listener.error()
    assert isinstance(error, LinkSetupError)
    assert "correct the user or password" in str(error)


@pytest.mark.skipif(DYNAMIC_SECURITY is None, reason="needs mosquitto's plugin for dynamic security")
async def test_a_topic_that_the_broker_refuses_is_named(tmp_path: Path) -> None:
    """An access list of mosquitto lets everybody subscribe, and then sends nothing; its plugin refuses."""
    broker = Mosquitto(free_loopback_port(), tmp_path)
    (tmp_path / "rules.json").write_text('{"defaultACLAccess": {"subscribe": false}}')
    with (tmp_path / "mosquitto.conf").open("a") as configuration:
        configuration.write(f"user {getpass.getuser()}\nplugin {DYNAMIC_SECURITY}\n")
        configuration.write(f"plugin_opt_config_file {tmp_path / 'rules.json'}\n")
    await broker.start()
    try:
        async with listening(MqttTopics(broker.address, TOPICS)) as listener:
            error = await listener.error()
    finally:
        await broker.kill()
    assert isinstance(error, LinkSetupError)
    assert "does not let us read roof/air, roof/low/pressure, roof/packs" in str(error)
    assert listener.connections == 0
