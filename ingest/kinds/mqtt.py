"""An instrument that publishes to an MQTT broker: another's, or the rig's own."""

import re
from collections.abc import Collection
from pathlib import Path

import msgspec

from ingest.checking.check import Check, check_any, check_file
from ingest.decode.mqtt import MqttDecoder, MqttValue
from ingest.frames import Decode, Link, LinkSetupError
from ingest.kinds.kind import Around, Kind
from ingest.password import PasswordError, read_password
from ingest.wire.messages import BrokerAddress, MessageError

_POINTER = re.compile(r"(/([^~/]|~[01])*)*")
"""RFC 6901, section 3."""


class MqttValueConfig(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Where one value comes in: a topic whose payload is a plain number, unless one of these is given.

    pointer: the number's place in a JSON document (RFC 6901), such as `/air/temperature`. senml: the whole name of a
    SenML record (RFC 8428), base name included; unit: the SenML unit that it must have.
    """

    topic: str
    pointer: str | None = None
    senml: str | None = None
    unit: str | None = None


class MqttConfig(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True, tag="mqtt", tag_field="kind"):
    """An instrument that publishes to an MQTT broker, the rig's own without a url. values: field to where it comes."""

    values: dict[str, MqttValueConfig]
    url: str = ""
    password_file: str = ""
    authority_file: str = ""


def _check(check: Check, key: str, link: MqttConfig, directory: Path) -> None:
    if link.url:
        try:
            BrokerAddress.parse(link.url)
        except MessageError as error:
            check.wrong(f"{key}.url", link.url, str(error))
    for name in ("password_file", "authority_file"):
        check_file(check, f"{key}.{name}", getattr(link, name), directory)
        if getattr(link, name) and not link.url:
            check.wrong(f"{key}.{name}", getattr(link, name), "only a broker with a url needs one")
    check_any(check, f"{key}.values", link.values)
    for name, value in link.values.items():
        _check_value(check, f"{key}.values.{name}", value)


def _check_value(check: Check, key: str, value: MqttValueConfig) -> None:
    if not value.topic or set(value.topic) & set("+#\0"):
        check.wrong(f"{key}.topic", value.topic, "the whole name of one topic was expected, without + and #")
    if value.pointer is not None and not _POINTER.fullmatch(value.pointer):
        check.wrong(f"{key}.pointer", value.pointer, 'a place such as "/air/temperature" was expected')
    if value.pointer is not None and value.senml is not None:
        check.wrong(f"{key}.senml", value.senml, "pointer is given too; keep one of them")
    if value.senml is not None and value.unit is None:
        check.wrong(f"{key}.unit", None, 'is missing; the record\'s SenML unit, such as "Cel", or "" was expected')
    if value.senml is None and value.unit is not None:
        check.wrong(f"{key}.unit", value.unit, "only a SenML record says its unit; leave it out")


def _build(link: MqttConfig, _interval_s: float, around: Around) -> tuple[Link, Decode]:
    from ingest.link.mqtt import MqttTopics

    values = {
        field: MqttValue(value.topic, value.pointer, value.senml, value.unit or "")
        for field, value in link.values.items()
    }
    return MqttTopics(_address(link, around), sorted({value.topic for value in values.values()})), MqttDecoder(values)


def _address(link: MqttConfig, around: Around) -> BrokerAddress:
    if not link.url:
        if around.broker is None:
            raise LinkSetupError("it publishes to the rig's own broker, which is there only while the daemon runs")
        return around.broker
    try:
        password = read_password(Path(link.password_file)) if link.password_file else ""
    except PasswordError as error:
        raise LinkSetupError(str(error)) from error
    return BrokerAddress.parse(link.url, password=password, authority_file=link.authority_file)


def _fields(link: MqttConfig) -> Collection[str]:
    return link.values


KIND = Kind(config=MqttConfig, word="MQTT", check=_check, build=_build, fields=_fields)
