"""What the dashboard needs to know before it starts."""

from ipaddress import ip_address
from pathlib import Path

import msgspec

from dashboard.errors import SettingsError
from ingest.wire.messages import BrokerAddress, Role

__all__ = ["PagePlace", "Settings", "SettingsError", "is_address", "is_loopback"]


class PagePlace(msgspec.Struct, frozen=True, kw_only=True):
    """Where the page is served, which is all that an invitation needs to know.

    data_directory: where the secret and the marks of used invitations are kept. certificate: a PEM file for TLS.
    public_name: the host name by which others reach this machine, if it is not an address. relays: addresses from which
    a relay passes requests on; it ends TLS, and tells for whom it asks.
    """

    data_directory: Path
    host: str = "127.0.0.1"
    port: int = 8050
    certificate: Path | None = None
    public_name: str = ""
    relays: frozenset[str] = frozenset()

    @property
    def secure(self) -> bool:
        """Whether browsers reach the page over TLS: our own, or that of a relay."""
        return self.certificate is not None or bool(self.relays)


class Settings(PagePlace, frozen=True, kw_only=True):
    """How the page finds its rig and whom it serves.

    rig: the rig to show; None takes the first one heard. record: the rig's SQLite file, for the past.
    key: the PEM file that belongs to the certificate. open_loopback_role: who a visitor on this machine is without
    an invitation; None lets nobody in so. technician: the name beside what the local visitor does.
    """

    broker: BrokerAddress
    rig: str | None = None
    record: Path | None = None
    key: Path | None = None
    open_loopback_role: Role | None = "technician"
    technician: str = "technician"

    @property
    def tls(self) -> bool:
        """Whether the page is served over TLS."""
        return self.certificate is not None

    def check(self) -> None:
        """Refuse what cannot work, and to serve anyone in clear text beyond this machine.

        Raises:
            SettingsError: the page would listen beyond loopback without TLS, or a file of TLS is missing.

        """
        try:
            self.broker.client_arguments()
        except OSError as error:
            raise SettingsError(
                f"the authority file {self.broker.authority_file!r} of the broker cannot be used: {error}"
            ) from error
        if (self.certificate is None) != (self.key is None):
            raise SettingsError("TLS needs both: give --certificate and --key, each a PEM file")
        if self.relays and not self.public_name:
            raise SettingsError("behind a relay --public-name is needed: the name under which it serves this page")
        for relay in self.relays:
            if not is_address(relay):
                raise SettingsError(f"--relay {relay!r}: the address from which the relay connects was expected")
        if not self.tls and not is_loopback(self.host):
            raise SettingsError(
                f"the page would listen on {self.host} in clear text, where others could read and act: "
                "give --certificate and --key, or listen on 127.0.0.1"
            )


def is_address(host: str) -> bool:
    """Whether a text is an IP address.

    >>> is_address("192.0.2.7"), is_address("roof.example")
    (True, False)
    """
    try:
        ip_address(host)
    except ValueError:
        return False
    return True


def is_loopback(host: str) -> bool:
    """Whether a host name or address means this machine alone.

    >>> is_loopback("127.0.0.1"), is_loopback("::1"), is_loopback("localhost"), is_loopback("0.0.0.0")
    (True, True, True, False)
    """
    if host == "localhost":
        return True
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return False
