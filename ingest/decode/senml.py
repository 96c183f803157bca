"""SenML packs in JSON, by RFC 8428.

    [{"bn": "roof/", "bt": 1700000000, "bu": "Cel", "n": "return", "v": 23.5},
     {"n": "supply", "v": 12.0, "t": -1}]

    bn, bt, bu, bv, bs    base name, time, unit, value, sum: hold for their own record and those after it
    n, t, u, v            name, time, unit, value; added to the base (bn + n, bt + t, bv + v), u instead of bu
    vs, vb, vd, s         a text, a truth, data or a sum where there is no number
    bver                  version of the format: 10, or left out
    other names           may be ignored, unless they end in `_`: those must be understood (4.4)

A time below 2**28 counts from now, a later one from 1970 (4.5.3).
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

import msgspec

from ingest.decode.json_text import Repeated, read_json, says_all_of
from ingest.decode.number_text import finite
from ingest.frames import FrameError
from ingest.wire.messages import LARGEST_MESSAGE_BYTES

NEWEST_VERSION = 10
SOONEST_ABSOLUTE_TIME_S = 2.0**28

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9\-:./_]*")
"""RFC 8428, 4.5.1."""


@dataclass(frozen=True, slots=True)
class SenmlReading:
    """One record resolved: its whole name, unit, time of measurement [s since 1970], and number if it has one."""

    name: str
    unit: str
    time_s: float
    value: float | None


class _Record(msgspec.Struct, frozen=True, omit_defaults=True):
    bn: str | None = None
    bt: float | None = None
    bu: str | None = None
    bv: float | None = None
    bs: float | None = None
    bver: int | None = None
    n: str = ""
    u: str | None = None
    v: float | None = None
    vs: str | None = None
    vb: bool | None = None
    vd: str | None = None
    s: float | None = None
    t: float = 0.0


_pack_decoder = msgspec.json.Decoder(list[_Record])
_names_decoder = msgspec.json.Decoder(list[dict[str, msgspec.Raw]])


def read_senml(payload: bytes, now_s: float) -> list[SenmlReading]:
    """Resolve a pack. now_s: when it arrived, which relative times count from.

    >>> read_senml(b'[{"bn": "roof/", "bu": "Cel", "n": "supply", "v": 12.0, "t": -1}]', 1700000000.0)
    [SenmlReading(name='roof/supply', unit='Cel', time_s=1699999999.0, value=12.0)]

    Raises:
        FrameError: it is no pack, or one of a later version, or uses what we must understand and do not.

    """
    if len(payload) > LARGEST_MESSAGE_BYTES:
        raise FrameError(f"a pack of {len(payload)} bytes; at most {LARGEST_MESSAGE_BYTES} are read")
    try:
        records = _pack_decoder.decode(payload)
        if b'_"' in payload:
            _refuse_mandatory(_names_decoder.decode(payload))
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError) as error:
        raise FrameError(f"not a SenML pack: {error}") from error
    if not says_all_of(payload, records):
        _refuse_repeated(payload)
    return list(_resolved(records, now_s))


def _refuse_mandatory(records: list[dict[str, msgspec.Raw]]) -> None:
    for record in records:
        for name in record:
            if name.endswith("_"):
                raise FrameError(f"the field {name!r} must be understood, and is not")


def _refuse_repeated(payload: bytes) -> None:
    """Refuse a pack in which a record says something twice: any later record may rest on it."""
    records = read_json(payload)
    for record in records if isinstance(records, list) else []:
        for name, value in record.items():
            if value is Repeated.TWICE:
                raise FrameError(f"a record gives {name!r:.40} twice")


def _resolved(records: list[_Record], now_s: float) -> Iterator[SenmlReading]:
    base = _Record(bn="", bt=0.0, bu="")
    for record in records:
        base = _next_base(base, record)
        if (record.v, record.vs, record.vb, record.vd).count(None) < 3:
            raise FrameError("a record with more than one value")
        name = f"{base.bn}{record.n}"
        if not _NAME.fullmatch(name):
            raise FrameError(f"{name!r} is not a name that SenML allows")
        yield SenmlReading(name, _unit(base, record), _time_s(base, record, now_s), _number(base, record))


def _next_base(base: _Record, record: _Record) -> _Record:
    if record.bver is not None and record.bver > NEWEST_VERSION:
        raise FrameError(f"version {record.bver} of SenML; {NEWEST_VERSION} is the newest that is read")
    return _Record(
        bn=base.bn if record.bn is None else record.bn,
        bt=base.bt if record.bt is None else record.bt,
        bu=base.bu if record.bu is None else record.bu,
        bv=base.bv if record.bv is None else record.bv,
    )


def _unit(base: _Record, record: _Record) -> str:
    return (base.bu if record.u is None else record.u) or ""


def _number(base: _Record, record: _Record) -> float | None:
    """Add value and base value, either of which may be missing. A text, a truth, data or a sum is no number."""
    others = (record.vs, record.vb, record.vd, record.s)
    if record.v is None and (base.bv is None or any(other is not None for other in others)):
        return None
    return finite((base.bv or 0.0) + (record.v or 0.0))


def _time_s(base: _Record, record: _Record, now_s: float) -> float:
    time_s = finite((base.bt or 0.0) + record.t)
    return time_s if time_s >= SOONEST_ABSOLUTE_TIME_S else now_s + time_s
