"""Where a broker of ours listens: one address and port, free to be taken."""

import asyncio
import errno
import ipaddress
import socket
from dataclasses import dataclass

ORPHAN_PATIENCE_S = 2.0
"""How long a port may stay taken before we give up: the broker of a killed daemon needs a moment to go."""


class BrokerSetupError(Exception):
    """A broker that cannot be had as configured: which, why, and what to do."""


@dataclass(frozen=True)
class Endpoint:
    """An address and a port to listen on.

    >>> Endpoint.parse("[::1]:1883")
    Endpoint(host='::1', port=1883)
    """

    host: str
    port: int

    @classmethod
    def parse(cls, listen: str) -> "Endpoint":
        """Read `host:port`, as the configuration has checked it."""
        host, _, port = listen.rpartition(":")
        return cls(host.strip("[]"), int(port))

    def __str__(self) -> str:
        return f"[{self.host}]:{self.port}" if ":" in self.host else f"{self.host}:{self.port}"

    @property
    def is_loopback(self) -> bool:
        """Whether only this machine can reach it. Any name but localhost counts as one that others can."""
        try:
            return ipaddress.ip_address(self.host).is_loopback
        except ValueError:
            return self.host == "localhost"

    async def wait_until_free(self, patience_s: float = ORPHAN_PATIENCE_S) -> None:
        """Wait until nothing listens here.

        Raises:
            BrokerSetupError: something still does, or this machine cannot listen here at all.

        """
        clock = asyncio.get_running_loop().time
        deadline = clock() + patience_s
        while (refusal := self._refusal()) is not None:
            if refusal.errno != errno.EADDRINUSE:
                raise BrokerSetupError(f"the broker cannot listen on {self}: {refusal.strerror}") from refusal
            if clock() > deadline:
                raise BrokerSetupError(
                    f"port {self.port} of {self.host} is in use by another program. If that is an MQTT "
                    f'broker, use it with url = "mqtt://{self}" under [broker]; else stop it, or let listen '
                    "name a free port"
                ) from refusal
            await asyncio.sleep(0.05)

    def _refusal(self) -> OSError | None:
        family = socket.AF_INET6 if ":" in self.host else socket.AF_INET
        try:
            socket.create_server((self.host, self.port), family=family).close()
        except OSError as error:
            return error
        return None


def free_loopback_port() -> int:
    """Find a port on which nothing listens now."""
    with socket.create_server(("127.0.0.1", 0)) as probe:
        port: int = probe.getsockname()[1]
        return port
