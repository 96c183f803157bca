"""What an instrument publishes: on each topic a plain number, a JSON document, or a SenML pack.

    roof/low/pressure    118.2                              plain: the whole payload is one number, or `OL`
    roof/low/state       {"air": {"temperature": 23.5}}     JSON, the number at the pointer /air/temperature (RFC 6901)
    roof/air             [{"n": "supply", "v": 12.0}]       SenML, the record of that name (RFC 8428)

One payload may hold several values. One that is missing or no number is told under its name and leaves the others
alone; a payload without a single one that can be read is refused. A SenML record may be missing, since packs may come
in parts.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from ingest.decode.json_text import Repeated, read_json
from ingest.decode.number_text import finite
from ingest.decode.said import read_said
from ingest.decode.senml import SenmlReading, read_senml
from ingest.frames import Earlier, Frame, FrameError, Malformed, Unreadable, Value
from ingest.wire.messages import LARGEST_MESSAGE_BYTES

LONGEST_REASON = 120
"""It may quote what came."""
OLDEST_S = 10.0
"""How far a SenML record's own time may be from its arrival: an older one was kept back, and is no reading of now."""

_INDEX = re.compile(r"0|[1-9]\d{0,8}", re.ASCII)


@dataclass(frozen=True, slots=True)
class MqttValue:
    """Where a value is: in a payload of `topic`, at `pointer`, or in the record `senml` with the unit `unit`."""

    topic: str
    pointer: str | None = None
    senml: str | None = None
    unit: str = ""


class MqttDecoder:
    """A decoder of payloads, whose frames are named by their topic. values: by field.

    >>> from ingest.frames import Stamp
    >>> decode = MqttDecoder({"return air": MqttValue("roof/air", pointer="/temperature")})
    >>> decode(Frame(b'{"temperature": 23.5}', Stamp(0, 0), "roof/air"))
    {'return air': 23.5}
    """

    def __init__(self, values: Mapping[str, MqttValue]) -> None:
        self._values: dict[str, dict[str, MqttValue]] = {}
        for field, value in values.items():
            self._values.setdefault(value.topic, {})[field] = value

    def __call__(self, frame: Frame) -> Mapping[str, Value]:
        """Read every value that the topic's payload should hold; one that cannot be read is `Malformed`.

        Raises:
            FrameError: another topic, or a payload that is too large, of another form, or without any value.

        """
        if frame.source not in self._values:
            raise FrameError(f"the topic {frame.source!r} is not one that we read")
        if len(frame.payload) > LARGEST_MESSAGE_BYTES:
            raise FrameError(f"{len(frame.payload)} bytes; at most {LARGEST_MESSAGE_BYTES} are read")
        payload = _Payload(frame)
        found: dict[str, Value] = {}
        odd: list[FrameError] = []
        for field, wanted in self._values[frame.source].items():
            try:
                value = payload.read(wanted)
            except FrameError as error:
                odd.append(error)
                value = Malformed(str(error)[:LONGEST_REASON])
            if value is not None:
                found[field] = value
        if odd and len(odd) == len(found):
            raise odd[0]
        return found


class _Payload:
    """A payload, parsed as often as its values have forms: once each."""

    def __init__(self, frame: Frame) -> None:
        self._frame = frame
        self._document: object = None
        self._records: dict[tuple[str, str], SenmlReading] | None = None

    def read(self, value: MqttValue) -> Value | None:
        if value.senml is not None:
            return self._record(value.senml, value.unit)
        if value.pointer is not None:
            return _number(_at(self._json(), value.pointer))
        text = self._text()
        if not text.strip():
            raise FrameError("an empty payload")
        return read_said(text)

    def _text(self) -> str:
        try:
            return self._frame.payload.decode("utf-8")
        except UnicodeDecodeError as error:
            raise FrameError("the payload is not UTF-8 text") from error

    def _json(self) -> object:
        if self._document is None:
            self._document = read_json(self._frame.payload)
        return self._document

    def _record(self, name: str, unit: str) -> float | None:
        now_s = self._frame.stamp.time_ns / 1e9
        if self._records is None:
            in_order = sorted(read_senml(self._frame.payload, now_s), key=lambda reading: reading.time_s)
            self._records = {(reading.name, reading.unit): reading for reading in in_order}
        reading = self._records.get((name, unit))
        if reading is None:
            others = [f"{other!r}" for found, other in self._records if found == name]
            if others:
                raise FrameError(f"{name} comes in {', '.join(others)}, not in {unit!r}")
            return None
        if reading.value is None:
            raise FrameError(f"{name} comes without a number")
        by_s = now_s - reading.time_s
        if abs(by_s) > OLDEST_S:
            raise FrameError(f"{name} is {by_s:.0f} s old by its own time; is its clock set?")
        return Earlier(reading.value, by_s) if by_s > 0.0 else reading.value


def _at(document: object, pointer: str) -> object:
    """Follow a JSON pointer (RFC 6901, section 4)."""
    place = document
    for key in _keys(pointer):
        if isinstance(place, dict) and key in place:
            place = place[key]
        elif isinstance(place, list) and _INDEX.fullmatch(key) and int(key) < len(place):
            place = place[int(key)]
        else:
            raise FrameError(f"the document has nothing at {pointer}")
        if place is Repeated.TWICE:
            raise FrameError(f"the document gives {key!r:.40} of {pointer} twice")
    return place


@cache
def _keys(pointer: str) -> tuple[str, ...]:
    return tuple(token.replace("~1", "/").replace("~0", "~") for token in pointer.split("/")[1:])


def _number(found: object) -> Value:
    if isinstance(found, float):
        return finite(found)
    if found is None:
        return Unreadable.UNKNOWN
    if isinstance(found, str):
        return read_said(found)
    if isinstance(found, bool) or not isinstance(found, int):
        raise FrameError(f"{found!r:.40} is not a number")
    try:
        return finite(float(found))
    except OverflowError as error:
        raise FrameError("a number beyond all bounds") from error
