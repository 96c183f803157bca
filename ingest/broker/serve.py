"""The broker that a rig publishes to: one that runs already, a mosquitto of our own, or the embedded one."""

from collections.abc import AsyncIterator
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from pathlib import Path

from ingest.broker.endpoint import BrokerSetupError, Endpoint
from ingest.broker.find_program import find_program
from ingest.broker.mosquitto import serve_mosquitto
from ingest.config.structs import BrokerConfig
from ingest.password import PasswordError, read_password
from ingest.wire.messages import BrokerAddress

__all__ = ["BrokerSetupError", "serve_broker"]


@asynccontextmanager
async def serve_broker(broker: BrokerConfig, rig: str, directory: Path) -> AsyncIterator[BrokerAddress]:
    """Have a broker for as long as the block runs, and say how to connect to it.

    broker: as `ingest.config.load.load` has checked it. rig: its name on the wire. directory: where a broker
    of our own keeps its files; it is made if need be.

    Raises:
        BrokerSetupError: the broker cannot be had as configured.

    """
    if broker.url:
        try:
            password = read_password(Path(broker.password_file)) if broker.password_file else ""
        except PasswordError as error:
            raise BrokerSetupError(str(error)) from error
        yield BrokerAddress.parse(broker.url, password=password, authority_file=broker.authority_file)
        return
    async with _serve_our_own(broker, rig, directory) as address:
        yield address


def _serve_our_own(broker: BrokerConfig, rig: str, directory: Path) -> AbstractAsyncContextManager[BrokerAddress]:
    mosquitto = None if broker.kind == "embedded" else find_program("mosquitto")
    if mosquitto is not None:
        return serve_mosquitto(mosquitto, broker, rig=rig, directory=directory)
    if broker.kind == "mosquitto":
        raise BrokerSetupError("there is no mosquitto on PATH: install it, or leave out kind under [broker]")
    from ingest.broker.embedded import serve_embedded  # a broker in Python, which nobody waits for beside a mosquitto

    return serve_embedded(Endpoint.parse(broker.listen))
