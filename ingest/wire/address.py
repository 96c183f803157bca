"""Where a broker is."""

import ssl
from typing import Any
from urllib.parse import unquote, urlsplit

import msgspec

from ingest.wire.encoding import MessageError
from ingest.wire.texts import shown


class BrokerAddress(msgspec.Struct, frozen=True):
    """Where a broker is and how to be let in."""

    host: str
    port: int
    tls: bool = False
    user: str = ""
    password: str = ""
    authority_file: str = ""

    def __repr__(self) -> str:
        """Never tell the password: what is printed ends in a log."""
        return f"BrokerAddress({self.host!r}, {self.port}, tls={self.tls}, user={self.user!r})"

    @classmethod
    def parse(cls, url: str, *, password: str = "", authority_file: str = "") -> "BrokerAddress":
        """Read `mqtt://host:1883` or `mqtts://user@host:8883`.

        A password in the URL is accepted; one given apart is preferred, since others can see a command line.

        What its user or password holds beyond letters and digits is percent-encoded (RFC 3986, section 2.1).

        Raises:
            MessageError: the URL is of another kind, has no host, or more than one. It never tells the password.

        """
        form = f"broker {shown(url)!r} is not of the form mqtt://host:port or mqtts://user@host:port"
        try:
            parts = urlsplit(url)
            host, port = parts.hostname, parts.port
        except ValueError:  # its words may hold the password, or a part of it
            raise MessageError(form) from None
        if parts.scheme not in ("mqtt", "mqtts") or not host or parts.path.strip("/") or parts.query or parts.fragment:
            raise MessageError(form)
        tls = parts.scheme == "mqtts"
        return cls(
            host=host,
            port=port or (8883 if tls else 1883),
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
