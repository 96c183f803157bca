"""Each broker of ours through the client that the daemon and the page use, on real sockets.

A denied publish is acknowledged and dropped in MQTT 3.1.1 (section 3.3.5), so what is denied is seen by what
does not arrive.
"""

import asyncio
import gc
import signal
import stat
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from pathlib import Path

import aiomqtt
import msgspec
import pytest
import trustme

from ingest.broker import left_behind
from ingest.broker.credentials import DAEMON_USER, users_of
from ingest.broker.find_program import find_program
from ingest.broker.serve import BrokerSetupError, serve_broker
from ingest.config.structs import BrokerConfig, BrokerUserConfig, InstrumentConfig
from ingest.wire.messages import BrokerAddress, topic
from tests.kinds import build
from tests.listening import listening
from tests.processes import is_free

LARGEST_MESSAGE_BYTES = 64 * 1024
"""64 KiB: what docs/asyncapi.yaml promises."""

RIG = "bench"
SILENCE_S = 0.3
"""How long nothing must come for us to believe that nothing will."""

Serve = Callable[[], AbstractAsyncContextManager[BrokerAddress]]


@pytest.fixture(params=["mosquitto", "embedded"])
def serve(request: pytest.FixtureRequest, free_port: Callable[[], int], tmp_path: Path) -> Serve:
    """A function that serves one of our brokers on a free port of loopback."""
    config = BrokerConfig(kind=request.param, listen=f"127.0.0.1:{free_port()}")
    return lambda: serve_broker(config, RIG, tmp_path / "broker")


async def next_message(client: aiomqtt.Client, within_s: float = 3.0) -> aiomqtt.Message:
    async with asyncio.timeout(within_s):
        return await anext(aiter(client.messages))


async def hears_nothing(client: aiomqtt.Client) -> bool:
    try:
        await next_message(client, SILENCE_S)
    except TimeoutError:
        return True
    return False


# --- Both brokers


@pytest.mark.parametrize("qos", [0, 1])
async def test_delivers(serve: Serve, qos: int) -> None:
    async with (
        serve() as address,
        aiomqtt.Client(**address.client_arguments()) as page,
        aiomqtt.Client(**address.client_arguments()) as daemon,
    ):
        await page.subscribe(topic(RIG, "#"), qos=qos)
        await daemon.publish(topic(RIG, "readings"), b"pack", qos=qos)
        message = await next_message(page)
        assert (str(message.topic), message.payload, message.qos) == (topic(RIG, "readings"), b"pack", qos)


async def test_keeps_what_is_retained_for_those_who_come_later(serve: Serve) -> None:
    async with serve() as address, aiomqtt.Client(**address.client_arguments()) as daemon:
        await daemon.publish(topic(RIG, "about"), b"about", qos=1, retain=True)
        async with aiomqtt.Client(**address.client_arguments()) as page:
            await page.subscribe(topic(RIG, "#"), qos=1)
            message = await next_message(page)
            assert (message.payload, message.retain) == (b"about", True)


async def test_sends_the_will_of_a_client_that_is_killed(serve: Serve) -> None:
    async with serve() as address, aiomqtt.Client(**address.client_arguments()) as page:
        await page.subscribe(topic(RIG, "status"), qos=1)
        doomed = await asyncio.create_subprocess_exec(
            *(
                "mosquitto_sub",
                "-h",
                address.host,
                "-p",
                str(address.port),
                "-q",
                "1",
                "-t",
                topic(RIG, "ask/#"),
            ),
            *(
                "--will-topic",
                topic(RIG, "status"),
                "--will-payload",
                "lost",
                "--will-qos",
                "1",
                "--will-retain",
            ),
        )
        await asyncio.sleep(0.3)
        doomed.send_signal(signal.SIGKILL)
        await doomed.wait()
        assert (await next_message(page)).payload == b"lost"
        async with aiomqtt.Client(**address.client_arguments()) as later:
            await later.subscribe(topic(RIG, "status"), qos=1)
            assert (await next_message(later)).payload == b"lost"


async def test_the_largest_message_passes_and_a_huge_one_does_not(serve: Serve) -> None:
    async with serve() as address, aiomqtt.Client(**address.client_arguments()) as page:
        await page.subscribe(topic(RIG, "#"), qos=1)
        async with aiomqtt.Client(**address.client_arguments()) as daemon:
            await daemon.publish(topic(RIG, "about"), bytes(LARGEST_MESSAGE_BYTES), qos=1)
            assert len((await next_message(page)).payload) == LARGEST_MESSAGE_BYTES
            with pytest.raises(aiomqtt.MqttError):
                await daemon.publish(topic(RIG, "about"), bytes(20_000_000), qos=1, timeout=0.5)
        assert await hears_nothing(page)


async def test_serves_again_after_it_has_stopped(serve: Serve) -> None:
    for _ in range(2):
        async with serve() as address, aiomqtt.Client(**address.client_arguments()) as daemon:
            await daemon.publish(topic(RIG, "status"), b"online", qos=1)


async def test_a_port_in_use_is_told(serve: Serve) -> None:
    async with serve() as address:
        message = rf"port {address.port} of 127\.0\.0\.1 is in use .* url = \"mqtt://127\.0\.0\.1:{address.port}\""
        with pytest.raises(BrokerSetupError, match=message):
            async with serve():
                pass


# --- Which one


async def test_a_configured_broker_is_only_named(tmp_path: Path) -> None:
    (tmp_path / "password").write_text("h:une pomme\n", encoding="utf-8")
    config = BrokerConfig(
        url="mqtts://van-3@shop.example:8884",
        password_file=str(tmp_path / "password"),
        authority_file="/etc/ssl/shop.pem",
    )
    async with serve_broker(config, RIG, tmp_path / "broker") as address:
        assert address == BrokerAddress(
            "shop.example",
            8884,
            tls=True,
            user="van-3",
            password="h:une pomme",
            authority_file="/etc/ssl/shop.pem",
        )
    assert not (tmp_path / "broker").exists()


async def test_auto_takes_mosquitto_where_there_is_one(free_port: Callable[[], int], tmp_path: Path) -> None:
    async with serve_broker(BrokerConfig(listen=f"127.0.0.1:{free_port()}"), RIG, tmp_path):
        assert (tmp_path / "mosquitto.conf").exists()


async def test_auto_takes_the_embedded_one_where_there_is_no_mosquitto(
    free_port: Callable[[], int], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    hide_mosquitto(monkeypatch)
    async with (
        serve_broker(BrokerConfig(listen=f"127.0.0.1:{free_port()}"), RIG, tmp_path) as address,
        aiomqtt.Client(**address.client_arguments()) as daemon,
    ):
        await daemon.publish(topic(RIG, "status"), b"online", qos=1)
    assert not files_in(tmp_path)


def hide_mosquitto(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("ingest.broker.find_program.PLACES", "")


async def test_says_what_to_do_where_mosquitto_is_missing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    hide_mosquitto(monkeypatch)
    with pytest.raises(BrokerSetupError, match="no mosquitto on PATH: install it"):
        async with serve_broker(BrokerConfig(kind="mosquitto"), RIG, tmp_path):
            pass


async def test_the_embedded_one_refuses_to_serve_others(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    hide_mosquitto(monkeypatch)
    with pytest.raises(BrokerSetupError, match="no TLS and no passwords"):
        async with serve_broker(BrokerConfig(listen="0.0.0.0:8883"), RIG, tmp_path):
            pass


# --- A mosquitto that others reach


@pytest.fixture
def guarded(free_port: Callable[[], int], tmp_path: Path) -> BrokerConfig:
    """A broker on every address, with Sam the technician and Robin the lead."""
    authority = trustme.CA()
    certificate = authority.issue_cert("localhost")
    authority.cert_pem.write_to_path(str(tmp_path / "authority.pem"))
    certificate.cert_chain_pems[0].write_to_path(str(tmp_path / "certificate.pem"))
    certificate.private_key_pem.write_to_path(str(tmp_path / "key.pem"))
    users = []
    for name, role in (("sam", "technician"), ("robin", "lead")):
        (tmp_path / f"{name}.txt").write_text(f"password of {name}\n", encoding="utf-8")
        users.append(BrokerUserConfig(name=name, role=role, password_file=str(tmp_path / f"{name}.txt")))
    return BrokerConfig(
        listen=f"0.0.0.0:{free_port()}",
        certificate_file=str(tmp_path / "certificate.pem"),
        key_file=str(tmp_path / "key.pem"),
        authority_file=str(tmp_path / "authority.pem"),
        users=users,
    )


def outside(config: BrokerConfig, user: str, password: str | None = None) -> BrokerAddress:
    """How someone elsewhere reaches that broker."""
    port = config.listen.rpartition(":")[2]
    return BrokerAddress.parse(
        f"mqtts://{user}@localhost:{port}",
        password=password or f"password of {user}",
        authority_file=config.authority_file,
    )


@asynccontextmanager
async def daemon_and(
    config: BrokerConfig, user: str, directory: Path
) -> AsyncIterator[tuple[aiomqtt.Client, aiomqtt.Client]]:
    """The daemon's own connection, subscribed to all it may hear, and that of somebody outside."""
    async with (
        serve_broker(config, RIG, directory / "broker") as address,
        aiomqtt.Client(**address.client_arguments()) as daemon,
        aiomqtt.Client(**outside(config, user).client_arguments()) as other,
    ):
        await daemon.subscribe("#", qos=1)
        yield daemon, other


@pytest.mark.parametrize("user", ["sam", "robin"])
async def test_everyone_let_in_reads_all_of_the_rig(guarded: BrokerConfig, user: str, tmp_path: Path) -> None:
    async with daemon_and(guarded, user, tmp_path) as (daemon, other):
        await other.subscribe("#", qos=1)
        for kind in ("status", "about", "readings", "latest", "advice", "marks", "answer/a1"):
            await daemon.publish(topic(RIG, kind), kind.encode(), qos=1)
            assert (await next_message(other)).payload == kind.encode()


@pytest.mark.parametrize(
    ("user", "kind", "allowed"),
    [
        ("sam", "ask/sam/added", True),
        ("sam", "ask/sam/note", True),
        ("sam", "ask/sam:technician/added", True),
        ("sam", "ask/sam:lead/note", True),  # for a lead whom the technician's page let in
        ("sam", "ask/sam:lead/added", False),
        ("sam", "ask/robin/note", False),
        ("sam", "ask/technician/added", False),
        ("robin", "ask/robin/note", True),
        ("robin", "ask/robin:lead/note", True),
        ("robin", "ask/robin/added", False),
        ("robin", "ask/robin/acknowledge", True),
        ("robin", "ask/robin/correct", False),
        ("robin", "ask/robin:technician/added", False),
        ("robin", "ask/sam/added", False),  # a lead's password does not ask as the technician
        ("robin", "ask/technician/added", False),
        ("robin", "ask/sam:technician/added", False),
        ("sam", "readings", False),
        ("sam", "status", False),
        ("sam", "answer/a1", False),
        ("sam", "bench/verdict", False),  # a bench is on loopback
        ("robin", "readings", False),
        ("robin", "bench/verdict", False),
    ],
)
async def test_writes_only_what_its_role_allows(
    guarded: BrokerConfig, user: str, kind: str, *, allowed: bool, tmp_path: Path
) -> None:
    async with daemon_and(guarded, user, tmp_path) as (daemon, other):
        await other.publish(topic(RIG, kind), b"x", qos=1)
        assert await hears_nothing(daemon) is not allowed


@pytest.fixture
def with_probe(guarded: BrokerConfig, tmp_path: Path) -> BrokerConfig:
    """The same broker, and a probe on the roof that publishes to it."""
    (tmp_path / "roof-probe.txt").write_text("password of roof-probe\n", encoding="utf-8")
    probe = BrokerUserConfig(name="roof-probe", role="instrument", password_file=str(tmp_path / "roof-probe.txt"))
    return msgspec.structs.replace(guarded, users=[*guarded.users, probe])


async def test_an_instrument_is_read_from_the_rigs_own_broker(with_probe: BrokerConfig, tmp_path: Path) -> None:
    values = 'values = { outdoor = { topic = "roof-probe/state", pointer = "/temperature" } }'
    text = f'name = "roof probe"\nlink = {{ kind = "mqtt", {values} }}\nchannel = []'
    config = msgspec.toml.decode(text.encode(), type=InstrumentConfig)
    async with (
        serve_broker(with_probe, RIG, tmp_path / "broker") as address,
        aiomqtt.Client(**outside(with_probe, "roof-probe").client_arguments()) as probe,
    ):
        link, decode = build(config, broker=address)
        async with listening(link) as listener:
            await listener.connected()
            await probe.publish("roof-probe/state", b'{"temperature": 35.5}', qos=1)
            frames = await listener.heard(1)
    assert decode(frames[0]) == {"outdoor": 35.5}


@pytest.mark.parametrize(
    "name",
    [topic(RIG, "readings"), topic(RIG, "status"), topic(RIG, "ask/roof-probe/note"), "sam/state", "roof-probe2/x"],
)
async def test_an_instrument_writes_under_its_own_name_only(
    with_probe: BrokerConfig, name: str, tmp_path: Path
) -> None:
    async with daemon_and(with_probe, "roof-probe", tmp_path) as (daemon, probe):
        await probe.publish(name, b"x", qos=1)
        assert await hears_nothing(daemon)


async def test_an_instrument_reads_nothing_and_asks_for_nothing(with_probe: BrokerConfig, tmp_path: Path) -> None:
    assert "roof-probe" not in users_of(with_probe)
    async with daemon_and(with_probe, "roof-probe", tmp_path) as (daemon, probe):
        await probe.subscribe("#", qos=1)
        await daemon.publish(topic(RIG, "readings"), b"x", qos=1)
        assert await hears_nothing(probe)


async def test_another_rig_is_out_of_reach(guarded: BrokerConfig, tmp_path: Path) -> None:
    async with daemon_and(guarded, "sam", tmp_path) as (daemon, sam):
        await sam.subscribe("#", qos=1)
        await daemon.publish(topic("another", "readings"), b"x", qos=1)
        await sam.publish(topic("another", "ask/sam/note"), b"x", qos=1)
        assert await hears_nothing(sam)
        assert await hears_nothing(daemon)


@pytest.mark.parametrize(("user", "password"), [("sam", "password of robin"), ("pat", "x"), (DAEMON_USER, "x")])
async def test_a_wrong_password_is_refused(guarded: BrokerConfig, user: str, password: str, tmp_path: Path) -> None:
    async with serve_broker(guarded, RIG, tmp_path / "broker"):
        with pytest.raises(aiomqtt.MqttError, match="Not authorized"):
            async with aiomqtt.Client(**outside(guarded, user, password).client_arguments()):
                pass


async def test_nobody_comes_in_without_a_password(guarded: BrokerConfig, tmp_path: Path) -> None:
    async with serve_broker(guarded, RIG, tmp_path / "broker") as inner:
        for address in (BrokerAddress(inner.host, inner.port), outside(guarded, "")):
            with pytest.raises(aiomqtt.MqttError, match="Not authorized"):
                async with aiomqtt.Client(**address.client_arguments()):
                    pass


async def test_nobody_comes_in_from_outside_without_tls(guarded: BrokerConfig, tmp_path: Path) -> None:
    port = int(guarded.listen.rpartition(":")[2])
    plain = BrokerAddress("127.0.0.1", port, user="sam", password="password of sam")
    async with serve_broker(guarded, RIG, tmp_path / "broker"):
        with pytest.raises(aiomqtt.MqttError):
            async with aiomqtt.Client(**plain.client_arguments() | {"timeout": 0.5}):
                pass


@pytest.mark.filterwarnings("ignore:.*SSLSocket:pytest.PytestUnraisableExceptionWarning")  # paho leaves it open
async def test_a_broker_that_another_authority_vouches_for_is_not_believed(
    guarded: BrokerConfig, tmp_path: Path
) -> None:
    trustme.CA().cert_pem.write_to_path(guarded.authority_file)
    async with serve_broker(guarded, RIG, tmp_path / "broker"):
        with pytest.raises(aiomqtt.MqttError, match="CERTIFICATE_VERIFY_FAILED"):
            async with aiomqtt.Client(**outside(guarded, "sam").client_arguments()):
                pass
    gc.collect()


async def test_nobody_can_take_over_the_daemons_connection(guarded: BrokerConfig, tmp_path: Path) -> None:
    async with (
        serve_broker(guarded, RIG, tmp_path / "broker") as inner,
        aiomqtt.Client(**inner.client_arguments(), identifier="the-daemon") as daemon,
        aiomqtt.Client(**outside(guarded, "sam").client_arguments(), identifier="the-daemon"),
    ):
        await daemon.publish(topic(RIG, "status"), b"online", qos=1)


async def test_its_files_are_private_and_hold_no_password(guarded: BrokerConfig, tmp_path: Path) -> None:
    async with serve_broker(guarded, RIG, tmp_path / "broker"):
        files = files_in(tmp_path / "broker")
    assert files.keys() == {"mosquitto.conf", "mosquitto.passwords", "mosquitto.access"}
    for mode, text in files.values():
        assert mode == 0o600
        assert "password of" not in text


def files_in(directory: Path) -> dict[str, tuple[int, str]]:
    """The mode and the text of each file, by name."""
    return {
        file.name: (stat.S_IMODE(file.stat().st_mode), file.read_text(encoding="utf-8")) for file in directory.iterdir()
    }


def overwrite(file: str, text: str) -> None:
    Path(file).write_text(text, encoding="utf-8")


@pytest.mark.parametrize(
    ("password", "problem"), [("", "is empty"), ("a:b", "holds a colon"), ("a\tb", "or a control character")]
)
async def test_a_password_that_would_not_work_is_told(
    guarded: BrokerConfig, password: str, problem: str, tmp_path: Path
) -> None:
    overwrite(guarded.users[0].password_file, password)
    with pytest.raises(BrokerSetupError, match=problem):
        async with serve_broker(guarded, RIG, tmp_path / "broker"):
            pass


async def test_one_that_a_killed_daemon_left_behind_gives_its_port_back(
    free_port: Callable[[], int], tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """Its tether was killed with the daemon, so nobody ended it."""
    broker = BrokerConfig(kind="mosquitto", listen=f"127.0.0.1:{free_port()}")
    async with serve_broker(broker, RIG, tmp_path / "broker"):
        pass
    program, configuration = find_program("mosquitto"), tmp_path / "broker" / "mosquitto.conf"
    left = await asyncio.create_subprocess_exec(str(program), "-c", str(configuration))
    try:
        async with asyncio.timeout(20):
            while is_free(int(broker.listen.rpartition(":")[2])):  # noqa: ASYNC110 - another process
                await asyncio.sleep(0.02)
        async with serve_broker(broker, RIG, tmp_path / "broker"):
            assert await left.wait() == -signal.SIGKILL
        assert "was left behind by a daemon that was killed" in caplog.text
    finally:
        if left.returncode is None:
            left.kill()


async def test_the_broker_of_a_daemon_that_lives_is_left_alone(free_port: Callable[[], int], tmp_path: Path) -> None:
    first, second = (BrokerConfig(kind="mosquitto", listen=f"127.0.0.1:{free_port()}") for _ in range(2))
    async with serve_broker(first, RIG, tmp_path / "broker") as address, aiomqtt.Client(**address.client_arguments()):
        command = [str(find_program("mosquitto")), "-c", str(tmp_path / "broker" / "mosquitto.conf")]
        assert len(await left_behind._running(command)) == 1
        async with serve_broker(second, RIG, tmp_path / "broker"):
            assert len(await left_behind._running(command)) == 2


async def test_what_mosquitto_has_against_its_configuration_is_told(guarded: BrokerConfig, tmp_path: Path) -> None:
    overwrite(guarded.certificate_file, "not a certificate")
    with pytest.raises(BrokerSetupError, match=r"mosquitto did not start: .*certificate"):
        async with serve_broker(guarded, RIG, tmp_path / "broker"):
            pass
