"""A mosquitto of our own: started as a child with a generated configuration, and started again if it dies.

On loopback it lets in whoever is on this machine. Beyond it there is TLS only, a password for everyone,
and an access list; the daemon then comes in by a second listener, on loopback, with a password made for
this run.
"""

import asyncio
import logging
import os
import secrets
import shutil
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from ingest.broker_credentials import (
    DAEMON_USER,
    access_list,
    read_passwords,
    write_password_file,
    write_private,
)
from ingest.broker_endpoint import BrokerSetupError, Endpoint, free_loopback_port
from ingest.broker_limits import LARGEST_PACKET_BYTES
from ingest.config_structs import BrokerConfig
from ingest.messages import BrokerAddress
from ingest.tethered import Tethered

logger = logging.getLogger(__name__)

PLACES = os.pathsep.join([os.environ.get("PATH", os.defpath), "/usr/local/sbin", "/usr/sbin"])
"""Where programs are: PATH, and where Debian installs services, which is not on everyone's PATH."""

START_PATIENCE_S = 5.0
RESTART_PAUSE_S = 0.5

_LIMITS = f"""\
persistence false
sys_interval 0
log_dest stderr
log_timestamp false
log_type error
log_type warning
max_packet_size {LARGEST_PACKET_BYTES}
max_queued_messages 1000
max_queued_bytes 8388608
persistent_client_expiration 1h
"""
# Nothing lives only in a broker: the record sends again what was not acknowledged. So no file is kept.


@dataclass(frozen=True)
class Programs:
    """Where mosquitto's programs are."""

    mosquitto: str
    mosquitto_passwd: str


def find_mosquitto() -> Programs | None:
    """Look for mosquitto's programs."""
    mosquitto = shutil.which("mosquitto", path=PLACES)
    if mosquitto is None:
        return None
    return Programs(mosquitto, shutil.which("mosquitto_passwd", path=PLACES) or "mosquitto_passwd")


@asynccontextmanager
async def serve_mosquitto(
    programs: Programs, broker: BrokerConfig, *, rig: str, directory: Path
) -> AsyncIterator[BrokerAddress]:
    """Run a mosquitto for as long as the block runs.

    Raises:
        BrokerSetupError: it cannot be configured or does not start.

    """
    directory.mkdir(parents=True, exist_ok=True)  # noqa: ASYNC240 - nothing runs yet that could wait
    endpoint = Endpoint.parse(broker.listen)
    await endpoint.wait_until_free()
    if endpoint.is_loopback:
        address = BrokerAddress(endpoint.host, endpoint.port)
        rules = f"allow_anonymous true\nlistener {endpoint.port} {endpoint.host}\n"
    else:
        address = BrokerAddress(
            "127.0.0.1", free_loopback_port(), user=DAEMON_USER, password=secrets.token_urlsafe(24)
        )
        rules = await _guarded(programs, broker, rig=rig, directory=directory, inner=address)
    configuration = directory / "mosquitto.conf"
    # Run as root it would change to a user of its own, who cannot read these files.
    write_private(configuration, ("user root\n" if os.geteuid() == 0 else "") + _LIMITS + rules)
    child = Mosquitto([programs.mosquitto, "-c", str(configuration)], address)
    try:
        await child.start()
        keeper = asyncio.create_task(child.keep_running(), name="mosquitto")
        try:
            logger.info("mosquitto serves on %s", endpoint)
            yield address
        finally:
            keeper.cancel()
            await asyncio.wait([keeper])
    finally:
        await child.stop()


async def _guarded(
    programs: Programs, broker: BrokerConfig, *, rig: str, directory: Path, inner: BrokerAddress
) -> str:
    """Write the password and access files of a broker that others reach, and return its rules."""
    outer = Endpoint.parse(broker.listen)
    if not (broker.certificate_file and broker.key_file and broker.users):
        raise BrokerSetupError(
            f"a broker that others reach at {outer} needs certificate_file, key_file and at least one "
            "[[broker.user]]; or listen on 127.0.0.1"
        )
    passwords, access = directory / "mosquitto.passwords", directory / "mosquitto.access"
    credentials = read_passwords(broker.users) | {inner.user: inner.password}
    await write_password_file(programs.mosquitto_passwd, passwords, credentials)
    write_private(access, access_list(rig, broker.users))
    # A client id is bound to its credential: else anyone let in could take over the daemon's own connection.
    return f"""\
allow_anonymous false
password_file {passwords}
acl_file {access}
listener {inner.port} {inner.host}
listener {outer.port} {outer.host}
use_username_as_clientid true
tls_version tlsv1.2
certfile {broker.certificate_file}
keyfile {broker.key_file}
"""


class Mosquitto:
    """A mosquitto process that is replaced when it dies."""

    def __init__(self, command: list[str], address: BrokerAddress) -> None:
        self._command = command
        self._address = address
        self._run: Tethered | None = None

    async def start(self) -> None:
        """Start it, and wait until it takes connections.

        Raises:
            BrokerSetupError: it ended at once, or takes none.

        """
        self._run = run = await Tethered.start(self._command, logger)
        with suppress(TimeoutError):
            async with asyncio.timeout(START_PATIENCE_S):
                while run.is_running:
                    if await self._takes_connections():
                        return
                    await asyncio.sleep(0.02)
        await run.stop()
        raise BrokerSetupError(f"mosquitto did not start: {run.last_words or 'it gave no reason'}")

    async def stop(self) -> None:
        """Stop it."""
        if self._run is not None:
            await self._run.stop()

    async def keep_running(self) -> None:
        """Start it again whenever it ends, until cancelled."""
        while self._run is not None:
            code = await self._run.wait()
            logger.warning("mosquitto ended with code %d; starting it again", code)
            await asyncio.sleep(RESTART_PAUSE_S)
            try:
                await self.start()
            except BrokerSetupError as error:
                logger.error("%s", error)  # noqa: TRY400 - tried again; a traceback would say no more

    async def _takes_connections(self) -> bool:
        try:
            _, writer = await asyncio.open_connection(self._address.host, self._address.port)
        except OSError:
            return False
        writer.close()
        await writer.wait_closed()
        return True
