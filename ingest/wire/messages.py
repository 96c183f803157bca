"""The wire: what Dewline publishes over MQTT, as frozen structs with their encoding.

Readings travel as SenML (RFC 8428) in its registered primary units; everything else is plain JSON.
Temperatures are kelvin inside the house and degrees Celsius on the wire. Unknown fields are ignored, as
RFC 8428 section 4.4 asks, so that a newer rig can be watched by an older page.
"""

import math
import ssl
from collections.abc import Mapping, Sequence
from typing import Any, Literal, TypeVar
from urllib.parse import unquote, urlsplit

import msgspec

from calc.quantities import QUANTITIES, Quantity

LARGEST_MESSAGE_BYTES = 64 * 1024
"""A larger message is refused before it is decoded: nothing we publish comes near it."""

CELSIUS_ZERO_K = 273.15

Role = Literal["technician", "lead"]
AskKind = Literal["added", "recovered", "reading", "note", "acknowledge", "reload", "check", "correct"]
CheckKind = Literal["open_to_air", "ice_point", "one_pipe", "closed_jaw", "reference"]

QUALITIES = ("sensor_fault", "malformed", "overload", "out_of_range", "stale", "uncalibrated", "ok")
"""How far a reading is to be trusted, worst first."""


class MessageError(ValueError):
    """A message that does not say what its topic promises. Count it and go on."""


def topic(rig: str, kind: str) -> str:
    """Name the topic of one kind of message of a rig, such as `dewline/1/van-3/readings`."""
    return f"dewline/1/{rig}/{kind}"


def rig_and_kind(full_topic: str) -> tuple[str, str]:
    """Split a topic into the rig's name and the kind of message.

    Raises:
        MessageError: the topic is not one of ours.

    """
    parts = full_topic.split("/", 3)
    if len(parts) != 4 or parts[:2] != ["dewline", "1"]:
        raise MessageError(f"topic {full_topic!r} is not dewline/1/<rig>/<kind>")
    return parts[2], parts[3]


DECIMALS = {
    Quantity.PRESSURE: 1,
    Quantity.TEMPERATURE: 4,
    Quantity.TEMPERATURE_DIFFERENCE: 4,
    Quantity.HUMIDITY: 3,
    Quantity.CURRENT: 5,
    Quantity.VOLTAGE: 4,
    Quantity.CAPACITANCE: 12,
    Quantity.MASS: 6,
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


T = TypeVar("T")
_encoder = msgspec.json.Encoder()
_pack_decoder = msgspec.json.Decoder(tuple[SenmlRecord, ...])


def _check_size(payload: bytes) -> None:
    if len(payload) > LARGEST_MESSAGE_BYTES:
        raise MessageError(f"{len(payload)} bytes; at most {LARGEST_MESSAGE_BYTES} are accepted")


def encode(message: msgspec.Struct) -> bytes:
    """Encode any message but a pack, as JSON."""
    return _encoder.encode(message)


def decode(payload: bytes, kind: type[T]) -> T:
    """Decode a JSON message.

    Raises:
        MessageError: too large, not UTF-8, not JSON, or not of this kind.

    """
    _check_size(payload)
    try:
        return msgspec.json.decode(payload, type=kind)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError) as error:
        raise MessageError(str(error)) from error


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
        su=_three_digits(reading.standard_uncertainty),
    )


def _three_digits(uncertainty: float | None) -> float | None:
    return None if uncertainty is None else float(f"{uncertainty:.3g}")


def decode_pack(payload: bytes) -> Pack:
    """Read a pack back from SenML. Names that this version does not know are left out.

    Raises:
        MessageError: too large, not UTF-8, not SenML, or without the records that number it.

    """
    _check_size(payload)
    try:
        records = _pack_decoder.decode(payload)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError) as error:
        raise MessageError(str(error)) from error
    if not records or not records[0].bn.endswith("/"):
        raise MessageError("the first record has no base name ending in '/'")
    first = records[0]
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


class NotSaved(msgspec.Struct, frozen=True):
    """Why nothing is recorded now. path: of the record. reason: what is wrong with it. cure: what to do about it.

    since_s: when the first pack was refused [s since 1970].
    """

    path: str
    reason: str
    cure: str
    since_s: float


class Status(msgspec.Struct, frozen=True, omit_defaults=True):
    """Whether the rig is there, and whether it records. The broker says `lost` for a daemon that vanished (its will).

    session: 0 before a record could first be opened. not_saved: None while packs are saved.
    """

    s: Literal["online", "offline", "lost"]
    session: int
    not_saved: NotSaved | None = None


class ChannelAbout(msgspec.Struct, frozen=True):
    """How a channel is measured. accuracy: the maker's ± limit, in the house's unit of the quantity."""

    name: str
    instrument: str
    unit: str
    accuracy: float
    reference: Literal["absolute", "gauge", ""] = ""
    calibrated: str = ""


class InstrumentAbout(msgspec.Struct, frozen=True):
    """An instrument and how its link stands. state: a value of `ingest.supervise.LinkState`."""

    name: str
    link: str
    state: str
    since_s: float
    reason: str = ""
    frames: int = 0
    rejected_frames: int = 0


class UnitAbout(msgspec.Struct, frozen=True):
    """The unit under service, as its nameplate says. All in SI; None where the nameplate is silent."""

    tag: str
    place: str
    refrigerant: str
    safety_class: str
    metering_device: Literal["fixed_orifice", "txv", "eev"]
    charge_as_liquid: bool
    target_superheat_dk: float | None = None
    target_subcooling_dk: float | None = None
    nameplate_charge_kg: float | None = None
    compressor_rla_a: float | None = None
    condenser_fan_fla_a: float | None = None
    blower_fla_a: float | None = None
    high_side_design_pressure_pa: float | None = None


class CheckFound(msgspec.Struct, frozen=True, omit_defaults=True):
    """What a field check of a channel found, in the house's unit; a gauge pressure counts from the air.

    sent: what the instrument sent, averaged, in its own unit. reading: what was made of it. reference: what it should
    have been. offset: how much too high it reads. standard_uncertainty: of a reading before;
    corrected_standard_uncertainty: with the offset taken off, None where that would not help. other: for one_pipe, the
    channel it was compared with.
    """

    kind: CheckKind
    channel: str
    sent: float
    reading: float
    reference: float
    offset: float
    offset_standard_uncertainty: float
    standard_uncertainty: float
    verdict: Literal["within", "out", "cannot_tell"]
    corrected_standard_uncertainty: float | None = None
    other: str = ""


class Line(msgspec.Struct, frozen=True):
    """How a channel is read: value = slope x sent + offset, in the instrument's own unit.

    standard_uncertainty: of one reading, in the house's unit.
    """

    slope: float
    offset: float
    standard_uncertainty: float


class Calibration(msgspec.Struct, frozen=True):
    """How a channel was read before and is from now on. checks: the marks that it rests on, one or two."""

    channel: str
    before: Line
    after: Line
    checks: Sequence[str]


class Mark(msgspec.Struct, frozen=True, omit_defaults=True):
    """An event on the visit's time line.

    kind: an AskKind, or `visit`, `session`, `link`, `clock_step`, `alarm`, `record`. of: for `acknowledge`, the id of
    the note. figures: for `reading`, the values at that moment in house units. text: for `reload`, what changed.
    check: for `check`, what it found. calibration: for `correct`, what it changed.
    """

    id: str
    kind: str
    time_s: float
    by: str = ""
    role: str = ""
    text: str = ""
    mass_kg: float | None = None
    phase: Literal["liquid", "vapour", ""] = ""
    of: str = ""
    figures: Mapping[str, float | None] = {}
    check: CheckFound | None = None
    calibration: Calibration | None = None


class About(msgspec.Struct, frozen=True):
    """Everything a page needs to make sense of the readings; retained, and renewed when any of it changes."""

    rig: str
    boot: str
    session: int
    started_s: float
    visit: str
    visit_started_s: float
    unit: UnitAbout
    barometric_pressure_pa: float
    channels: Sequence[ChannelAbout]
    instruments: Sequence[InstrumentAbout]
    marks: Sequence[Mark] = ()
    simulated: bool = False
    speed: float = 1.0


class Forecast(msgspec.Struct, frozen=True):
    """Where a figure is heading: final value ± expanded (k = 2) [K], and the time to get there [s]."""

    value_dk: float
    expanded_dk: float
    seconds: float


class Steadiness(msgspec.Struct, frozen=True):
    """Whether one figure has settled, and why not.

    value_dk ± expanded_dk (k = 2): where it has settled [K]. swing_dk: how far it moves about or away, where that is
    the reason [K].
    """

    state: Literal["settled", "settling", "not_steady", "unknown"]
    reason: str = ""
    swing_dk: float | None = None
    slope_dk_per_min: float | None = None
    forecast: Forecast | None = None
    value_dk: float | None = None
    expanded_dk: float | None = None


class Wording(msgspec.Struct, frozen=True):
    """One sentence, worded with its figures in either system of units."""

    us: str
    si: str


class Doubt(msgspec.Struct, frozen=True):
    """A reason to doubt what some channels say, though each of them is plausible by itself.

    fix: what to do about it. confidence: that this is the cause, 0 to 1. source: of the rule.
    """

    channels: Sequence[str]
    reason: str
    fix: str
    confidence: float
    source: str


class Alarm(msgspec.Struct, frozen=True):
    """A reason to stop at once.

    kind: a value of `calc.judge.guidance.AlarmKind`. says: why, and what to do. measured: against its limit. source: of
    the limit.
    """

    kind: str
    says: str
    measured: Wording
    source: str


class Condition(msgspec.Struct, frozen=True):
    """One condition under which the charge may be judged. says: why it is met or not, and what to do about it."""

    name: str
    state: Literal["met", "not met", "unknown"]
    says: str
    measured: Wording
    source: str


class Judgement(msgspec.Struct, frozen=True):
    """What a formal verification says of the charge now.

    figure: that shows the charge. state: a value of `calc.judge.guidance.ChargeState`. probability: of that verdict;
    where there is none, of the charge being right; None if it may not be judged. deviation_dk ± expanded_dk (k = 2):
    the figure less its target [K]; None without a target.
    """

    figure: str
    state: str
    probability: float | None
    deviation_dk: float | None
    expanded_dk: float | None
    conditions: Sequence[Condition]


class Evidence(msgspec.Struct, frozen=True):
    """What one figure says for or against an explanation.

    figure: one of `calc.judge.symptoms.FIGURES`. weight: the logarithm of how much likelier it makes the explanation
    than a sound unit, by itself; a sound unit is compared with the likeliest fault. measured: against what was
    expected. source: of the expectation.
    """

    figure: str
    weight: float
    measured: Wording
    source: str


class Explanation(msgspec.Struct, frozen=True):
    """One cause that would explain the readings.

    fault, together: values of `calc.diagnosis.Fault`. held_back: why a wrong charge is not blamed yet; else empty.
    """

    fault: str
    probability: float
    together: Sequence[str]
    evidence_for: Sequence[Evidence]
    evidence_against: Sequence[Evidence]
    next_check: str
    held_back: str


class NextStep(msgspec.Struct, frozen=True):
    """How much refrigerant to move next, were the charge the only fault: added above 0, recovered below [kg].

    needed_kg: what it takes in all; nine in ten chances that it is from needed_least_kg to needed_most_kg.
    advised: whether the readings bear out that it is the charge. limited_by: why the step is smaller than what is
    needed; else empty.
    """

    step_kg: float
    needed_kg: float
    needed_least_kg: float
    needed_most_kg: float
    phase: Literal["liquid", "vapour", ""]
    advised: bool
    limited_by: str


class Advice(msgspec.Struct, frozen=True):
    """What to do now, in one sentence, with what speaks for it and what to beware of.

    steadiness: by figure, superheat and subcooling. doubts: what the readings contradict each other in. alarms: what
    to stop for. judgement: None while the figure that shows the charge is unknown. explanations, the likeliest first,
    and next_step: only of a unit that runs and has settled.
    """

    time_s: float
    sentence: Wording
    details: Sequence[Wording]
    cautions: Sequence[str]
    steadiness: Mapping[str, Steadiness]
    doubts: Sequence[Doubt] = ()
    alarms: Sequence[Alarm] = ()
    judgement: Judgement | None = None
    explanations: Sequence[Explanation] = ()
    next_step: NextStep | None = None


class Ask(msgspec.Struct, frozen=True, omit_defaults=True):
    """A request to the daemon. The id makes a repeated request harmless.

    mass_kg and phase: for added and recovered. of: for acknowledge, the id of the note. check, channel: for check;
    with other, for one_pipe, the channel to compare with; with value and value_accuracy, for reference, what a better
    instrument says and its ± limit, in the house's unit. checks: for correct, the ids of one check, or of two at
    different values.
    """

    id: str
    by: str
    role: Role
    text: str = ""
    mass_kg: float | None = None
    phase: Literal["liquid", "vapour", ""] = ""
    of: str = ""
    check: CheckKind | None = None
    channel: str = ""
    other: str = ""
    value: float | None = None
    value_accuracy: float | None = None
    checks: Sequence[str] = ()


class Answer(msgspec.Struct, frozen=True):
    """What the daemon did with a request: the mark it recorded, or why not."""

    id: str
    ok: bool
    reason: str = ""
    mark: Mark | None = None


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
