"""The files that a mosquitto of ours is started with.

On loopback it lets in whoever is on this machine. Beyond it there is TLS only, a password for everyone, and an
access list; the daemon then comes in by a second listener, on loopback, with a password made for this run.
"""

import os
import secrets
from pathlib import Path

from ingest.broker.credentials import (
    DAEMON_USER,
    access_list,
    read_passwords,
    write_password_file,
    write_private,
)
from ingest.broker.endpoint import Endpoint, free_loopback_port
from ingest.broker.limits import LARGEST_PACKET_BYTES
from ingest.config.structs import BrokerConfig
from ingest.wire.messages import BrokerAddress

CONFIGURATION = "mosquitto.conf"

# Nothing lives only in a broker: the record sends again what was not acknowledged. So nothing is kept on disk.
# The queue holds the 14,400 packs of an hour's outage, for a page that is slower than the record.
_LIMITS = f"""\
persistence false
sys_interval 0
log_dest stderr
log_timestamp false
log_type error
log_type warning
max_packet_size {LARGEST_PACKET_BYTES}
max_queued_messages 20000
max_queued_bytes 67108864
persistent_client_expiration 1h
"""


async def write_files(broker: BrokerConfig, *, rig: str, directory: Path) -> BrokerAddress:
    """Write the configuration and what belongs to it; returns where the daemon connects.

    Raises:
        BrokerSetupError: a password cannot be used.

    """
    endpoint = Endpoint.parse(broker.listen)
    if endpoint.is_loopback:
        address = BrokerAddress(endpoint.host, endpoint.port)
        rules = f"allow_anonymous true\nlistener {endpoint.port} {endpoint.host}\n"
    else:
        address = BrokerAddress("127.0.0.1", free_loopback_port(), user=DAEMON_USER, password=secrets.token_urlsafe(24))
        rules = await _guarded(broker, rig=rig, directory=directory, inner=address)
    # Started by root it would change to a user of its own, who cannot read these files.
    user = "user root\n" if os.geteuid() == 0 else ""
    write_private(directory / CONFIGURATION, user + _LIMITS + rules)
    return address


async def _guarded(broker: BrokerConfig, *, rig: str, directory: Path, inner: BrokerAddress) -> str:
    """Write the password and access files of a broker that others reach; returns its rules."""
    outer = Endpoint.parse(broker.listen)
    passwords, access = directory / "mosquitto.passwords", directory / "mosquitto.access"
    await write_password_file(passwords, read_passwords(broker.users) | {inner.user: inner.password})
    write_private(access, access_list(rig, broker.users))
    # A client id is bound to its user name: else anyone let in could take over the daemon's own connection.
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
