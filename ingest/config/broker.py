"""What a `[broker]` section must fulfil."""

import ipaddress
from pathlib import Path

import msgspec

from ingest.checking.check import WIRE_NAME_RULE, Check, check_file
from ingest.config.structs import BrokerConfig
from ingest.wire.messages import BrokerAddress, MessageError
from ingest.wire.topics import WIRE_NAME


def check_broker(check: Check, broker: BrokerConfig, directory: Path) -> None:
    """Note what is wrong with the section. directory: where the configuration lies, with its files."""
    for name in ("password_file", "authority_file", "certificate_file", "key_file"):
        check_file(check, f"broker.{name}", getattr(broker, name), directory)
    seen: dict[str, str] = {}
    for index, user in enumerate(broker.users):
        key = f"broker.user[{index}]"
        if not WIRE_NAME.fullmatch(user.name):
            check.wrong(f"{key}.name", user.name, WIRE_NAME_RULE)
        check.first(seen, f"{key}.name", user.name)
        check_file(check, f"{key}.password_file", user.password_file, directory)
        if user.role == "instrument" and user.name == "dewline":
            check.wrong(f"{key}.name", user.name, "an instrument writes under its own name, and dewline/ is the rigs'")
    if broker.url:
        _check_url(check, broker)
    else:
        _check_listen(check, broker)


def _check_url(check: Check, broker: BrokerConfig) -> None:
    try:
        BrokerAddress.parse(broker.url)
    except MessageError as error:
        check.wrong("broker.url", broker.url, str(error))
    if broker.kind != "auto":
        check.wrong("broker.kind", broker.kind, "url names a broker that runs already; keep one of them")


def _check_listen(check: Check, broker: BrokerConfig) -> None:
    host, _, port = broker.listen.rpartition(":")
    if not host or not port.isdecimal() or not 0 < int(port) <= 65535:
        check.wrong("broker.listen", broker.listen, 'an address and port such as "127.0.0.1:1883" was expected')
        return
    if _is_loopback(host):
        return
    if broker.kind == "embedded":
        expected = "the embedded broker serves this machine only (127.0.0.1); install mosquitto for others"
        check.wrong("broker.listen", broker.listen, expected)
    for name in ("certificate_file", "key_file"):
        if not getattr(broker, name):
            check.wrong(f"broker.{name}", None, "is missing; who listens beyond this machine needs TLS")
    if not broker.users:
        check.wrong("broker.user", None, "is missing; who listens beyond this machine needs at least one")
    for index, user in enumerate(broker.users):
        if not user.password_file:
            key = f"broker.user[{index}].password_file"
            check.wrong(key, None, "is missing; who comes from beyond this machine needs a password")


def _is_loopback(host: str) -> bool:
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return host == "localhost"


def with_whole_paths(broker: BrokerConfig, directory: Path) -> BrokerConfig:
    """Turn the broker's files, relative to the configuration, into paths that hold from anywhere."""
    users = [
        msgspec.structs.replace(user, password_file=whole_path(user.password_file, directory)) for user in broker.users
    ]
    return msgspec.structs.replace(
        broker,
        password_file=whole_path(broker.password_file, directory),
        authority_file=whole_path(broker.authority_file, directory),
        certificate_file=whole_path(broker.certificate_file, directory),
        key_file=whole_path(broker.key_file, directory),
        users=users,
    )


def whole_path(name: str, directory: Path) -> str:
    """Turn the name of a file, relative to the configuration, into a path; none stays none."""
    return str((directory / name).resolve()) if name else ""
