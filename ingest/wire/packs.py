"""Packs: everything that one tick knows, as SenML (RFC 8428) in its registered primary units.

Temperatures are kelvin inside the house and degrees Celsius on the wire. Unknown fields are ignored, as RFC 8428
section 4.4 asks, so that a newer rig can be watched by an older page.
"""

import math
from collections.abc import Mapping

import msgspec

from calc.quantities import QUANTITIES, Quantity
from ingest.wire.encoding import MessageError, check_size

CELSIUS_ZERO_K = 273.15

QUALITIES = (
    "sensor_fault", "malformed", "overload", "out_of_range", "stale", "held", "elsewhere", "uncalibrated", "ok",
)  # fmt: skip
"""How far a reading is to be trusted, worst first. Held: a display that a hand has stopped has no value of now."""

DECIMALS = {
    Quantity.PRESSURE: 1,
    Quantity.TEMPERATURE: 4,
    Quantity.TEMPERATURE_DIFFERENCE: 4,
    Quantity.HUMIDITY: 3,
    Quantity.CURRENT: 5,
    Quantity.VOLTAGE: 4,
    Quantity.CAPACITANCE: 12,
    Quantity.MASS: 6,
    Quantity.RESISTANCE: 4,
    Quantity.AIR_PRESSURE: 2,
    Quantity.AIR_FLOW: 6,
    Quantity.CONCENTRATION: 7,
    Quantity.RATIO: 6,
}
"""The decimal places that travel: far below what a field instrument resolves, so nothing measured is lost."""

TIME_DECIMALS = 3


class SenmlRecord(msgspec.Struct, frozen=True, omit_defaults=True):
    """One record of a SenML pack, with two fields of ours: `q` quality and `su` standard uncertainty [u]."""

    n: str = ""
    bn: str = ""
    bt: float = 0.0
    u: str = ""
    v: float | None = None
    vs: str | None = None
    vb: bool | None = None
    t: float = 0.0
    q: str = ""
    su: float | None = None


class Reading(msgspec.Struct, frozen=True):
    """One value with its stamp, quality and uncertainty. A value that is unknown is None, with the reason.

    value: in the house's unit of its quantity (Pa absolute, K, A, ...). time_s: wall time [s since 1970].
    """

    value: float | None
    time_s: float
    quality: str = "ok"
    reason: str = ""
    standard_uncertainty: float | None = None


class Pack(msgspec.Struct, frozen=True):
    """Everything that one tick knows.

    sequence: the number of this pack in the record, without gaps; None where it could not be saved.
    session: which start of the daemon. epoch: how many steps of the wall clock came before.
    monotonic_s, time_s: when. unsaved_packs: how many packs of this session could not be saved so far.
    """

    rig: str
    sequence: int | None
    session: int
    epoch: int
    monotonic_s: float
    time_s: float
    readings: Mapping[str, Reading]
    unsaved_packs: int = 0

    @property
    def saved(self) -> bool:
        """Whether this pack is on disk."""
        return self.sequence is not None


_encoder = msgspec.json.Encoder()
_pack_decoder = msgspec.json.Decoder(tuple[SenmlRecord, ...])


def encode_pack(pack: Pack) -> bytes:
    """Encode a pack as SenML. The first record carries the base name, the base time and the pack's number."""
    base = f"{pack.rig}/"
    time_s = round(pack.time_s, TIME_DECIMALS)
    if pack.sequence is None:
        records = [SenmlRecord(bn=base, bt=time_s, n="saved", vb=False)]
    else:
        records = [SenmlRecord(bn=base, bt=time_s, n="pack", v=pack.sequence)]
    records += [
        SenmlRecord(n="session", v=pack.session),
        SenmlRecord(n="epoch", v=pack.epoch),
        SenmlRecord(n="monotonic", u="s", v=round(pack.monotonic_s, TIME_DECIMALS)),
    ]
    if pack.unsaved_packs:
        records.append(SenmlRecord(n="unsaved_packs", v=pack.unsaved_packs))
    records += [_senml(name, reading, time_s) for name, reading in pack.readings.items()]
    return _encoder.encode(records)


def as_recorded(pack: Pack) -> Pack:
    """Give a pack as it comes back from the record, so that what is judged now is what can be judged again."""
    return decode_pack(encode_pack(pack))


def to_wire(name: str, value: float) -> float:
    """Convert a value in the house's unit to what travels: degrees Celsius, and no more decimals than mean anything.

    >>> to_wire("suction_line_temperature", 310.0)
    36.85
    """
    quantity = QUANTITIES[name]
    shifted = value - CELSIUS_ZERO_K if quantity is Quantity.TEMPERATURE else value
    return round(shifted, DECIMALS[quantity]) + 0.0  # never -0.0


def from_wire(name: str, value: float) -> float:
    """Convert back what `to_wire` made; `to_wire` of that is the same again."""
    quantity = QUANTITIES[name]
    shifted = value + CELSIUS_ZERO_K if quantity is Quantity.TEMPERATURE else value
    return round(shifted, DECIMALS[quantity])


def _senml(name: str, reading: Reading, base_time_s: float) -> SenmlRecord:
    known = reading.value is not None
    return SenmlRecord(
        n=name,
        u=QUANTITIES[name].senml_unit if known else "",
        v=to_wire(name, reading.value) if reading.value is not None else None,
        vs=None if known else reading.reason,
        t=round(reading.time_s - base_time_s, TIME_DECIMALS) + 0.0,
        q="" if reading.quality == "ok" else reading.quality,
        su=three_digits(reading.standard_uncertainty),
    )


def three_digits(uncertainty: float | None) -> float | None:
    """Round an uncertainty to what travels of it."""
    return None if uncertainty is None else float(f"{uncertainty:.3g}")


_YEAR_1_S, _YEAR_10000_S = -62_135_596_800.0, 253_402_300_800.0
"""The years that ISO 8601 writes with four digits, as does an export."""


def decode_pack(payload: bytes) -> Pack:
    """Read a pack back from SenML. Names that this version does not know are left out.

    Raises:
        MessageError: too large, not UTF-8, not SenML, or without the records that number it.

    """
    check_size(payload)
    try:
        records = _pack_decoder.decode(payload)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError) as error:
        raise MessageError(str(error)) from error
    if not records or not records[0].bn.endswith("/"):
        raise MessageError("the first record has no base name ending in '/'")
    first = records[0]
    if not _YEAR_1_S <= first.bt < _YEAR_10000_S:
        raise MessageError(f"its base time is {first.bt:g} s since 1970, which no calendar has")
    heads = {record.n: record for record in records if record.n not in QUANTITIES}
    return Pack(
        rig=first.bn[:-1],
        sequence=_whole(heads, "pack") if "pack" in heads else None,
        session=_whole(heads, "session"),
        epoch=_whole(heads, "epoch"),
        monotonic_s=_number(heads, "monotonic"),
        time_s=first.bt,
        readings={record.n: _reading(record, first.bt) for record in records if record.n in QUANTITIES},
        unsaved_packs=_whole(heads, "unsaved_packs") if "unsaved_packs" in heads else 0,
    )


def _number(heads: Mapping[str, SenmlRecord], name: str) -> float:
    record = heads.get(name)
    if record is None or record.v is None or not math.isfinite(record.v):
        raise MessageError(f"the pack has no number for {name!r}")
    return record.v


def _whole(heads: Mapping[str, SenmlRecord], name: str) -> int:
    number = _number(heads, name)
    if number != int(number):
        raise MessageError(f"{name!r} is {number:g}, not a whole number")
    return int(number)


def _reading(record: SenmlRecord, base_time_s: float) -> Reading:
    value = record.v
    if value is not None:
        expected = QUANTITIES[record.n].senml_unit
        if record.u != expected:
            raise MessageError(f"{record.n} comes in {record.u!r}, not in {expected!r}")
        value = from_wire(record.n, value)
    quality = record.q or "ok"
    if quality not in QUALITIES:
        raise MessageError(f"{record.n} has the unknown quality {quality!r}")
    time_s = round(base_time_s + record.t, TIME_DECIMALS)
    return Reading(value, time_s, quality, record.vs or "", record.su)
