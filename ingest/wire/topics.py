"""Topics: where each kind of message of a rig travels."""

import re
from urllib.parse import quote

from ingest.wire.encoding import MessageError
from ingest.wire.texts import shown

WIRE_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,62}")
"""A name that may stand in a topic, in an access list, in a path of the page and in a SenML base name."""

SHEETS = "unit/"
"""What the kind of every message with a sheet begins with."""


def topic(rig: str, kind: str) -> str:
    """Name the topic of one kind of message of a rig, such as `dewline/1/van-3/readings`."""
    return f"dewline/1/{rig}/{kind}"


def rig_and_kind(full_topic: str) -> tuple[str, str]:
    """Split a topic into the rig's name and the kind of message.

    Raises:
        MessageError: the topic is not one of ours, or names a rig as none can be configured.

    """
    parts = full_topic.split("/", 3)
    if len(parts) != 4 or parts[:2] != ["dewline", "1"]:
        raise MessageError(f"topic {shown(full_topic)!r} is not dewline/1/<rig>/<kind>")
    if not WIRE_NAME.fullmatch(parts[2]):
        raise MessageError(f"{shown(parts[2])!r} is no name of a rig: letters, digits, - and _ were expected")
    return parts[2], parts[3]


def kind_of_sheet(tag: str) -> str:
    """Name the kind of message that has the sheet of a unit: a tag may hold what splits topics, or filters them.

    >>> kind_of_sheet("RTU 4/b+")
    'unit/RTU%204%2Fb%2B'
    """
    return f"{SHEETS}{quote(tag, safe='')}"
