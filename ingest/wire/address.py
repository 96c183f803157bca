"""Where a broker is."""

import ssl
from typing import Any
from urllib.parse import unquote, urlsplit

import msgspec

from ingest.wire.encoding import MessageError


class BrokerAddress(msgspec.Struct, frozen=True):
    """Where a broker is and how to be let in."""

    host: str
    port: int
    tls: bool = False
    user: str = ""
    password: str = ""
    authority_file: str = ""

    @classmethod
    def parse(cls, url: str, *, password: str = "", authority_file: str = "") -> "BrokerAddress":
        """Read `mqtt://host:1883` or `mqtts://user@host:8883`.

        A password in the URL is accepted; one given apart is preferred, since others can see a command line.

        Raises:
            MessageError: the URL is of another kind, or has no host.

        """
        parts = urlsplit(url)
        if parts.scheme not in ("mqtt", "mqtts") or not parts.hostname:
            raise MessageError(f"broker {url!r} is not of the form mqtt://host:port or mqtts://user@host:port")
        tls = parts.scheme == "mqtts"
        return cls(
            host=parts.hostname,
            port=parts.port or (8883 if tls else 1883),
            tls=tls,
            user=unquote(parts.username or ""),
            password=password or unquote(parts.password or ""),
            authority_file=authority_file,
        )

    def client_arguments(self) -> dict[str, Any]:
        """Give the arguments of `aiomqtt.Client` that reach this broker, with the time limits we rely on."""
        arguments: dict[str, Any] = {"hostname": self.host, "port": self.port, "timeout": 3.0, "keepalive": 4}
        if self.user:
            arguments |= {"username": self.user, "password": self.password}
        if self.tls:
            arguments["tls_context"] = ssl.create_default_context(cafile=self.authority_file or None)
        return arguments
