"""A mosquitto of our own: started as a child, and started again if it dies."""

import asyncio
import logging
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager, suppress
from pathlib import Path

from ingest.broker.endpoint import BrokerSetupError, Endpoint
from ingest.broker.files import CONFIGURATION, write_files
from ingest.broker.left_behind import alone_in
from ingest.broker.tethered import Tethered
from ingest.config.structs import BrokerConfig
from ingest.wire.messages import BrokerAddress

logger = logging.getLogger(__name__)

SETTLED_S = 0.15
"""How long a broker must stay, that could still fail."""

START_PATIENCE_S = 5.0
RESTART_PAUSE_S = 0.5


@asynccontextmanager
async def serve_mosquitto(
    program: str, broker: BrokerConfig, *, rig: str, directory: Path
) -> AsyncIterator[BrokerAddress]:
    """Run a mosquitto for as long as the block runs.

    Raises:
        BrokerSetupError: it cannot be configured, or does not start.

    """
    directory.mkdir(parents=True, exist_ok=True)  # noqa: ASYNC240 - nothing runs yet that could wait
    endpoint = Endpoint.parse(broker.listen)
    command = [program, "-c", str(directory / CONFIGURATION)]
    async with alone_in(directory, command):
        await endpoint.wait_until_free()
        address = await write_files(broker, rig=rig, directory=directory)
        async with _running(Mosquitto(command, address, reads_certificate=not endpoint.is_loopback)):
            logger.info("mosquitto serves on %s", endpoint)
            yield address


@asynccontextmanager
async def _running(child: "Mosquitto") -> AsyncIterator[None]:
    try:
        await child.start()
        keeper = asyncio.create_task(child.keep_running(), name="mosquitto")
        try:
            yield
        finally:
            keeper.cancel()
            await asyncio.wait([keeper])
    finally:
        await child.stop()


class Mosquitto:
    """A mosquitto process that is replaced when it dies. reads_certificate: it can die of that after it listens."""

    def __init__(self, command: Sequence[str], address: BrokerAddress, *, reads_certificate: bool) -> None:
        self._command = command
        self._address = address
        self._settled_s = SETTLED_S if reads_certificate else 0.0
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
                    # It listens before it has read its certificate: only one that stays has started. One that reads
                    # none, on loopback, has nothing left to fail at, and nobody waits for it after a daemon was killed.
                    if await self._takes_connections() and not await run.ends_within(self._settled_s):
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
