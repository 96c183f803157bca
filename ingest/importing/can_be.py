"""Whether what stands beside a visit that went out can be so of a unit and its instruments: anybody may write it."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path

from calc import refrigerants
from calc.errors import CalcError
from calc.quantities import CHANNELS
from calc.units import conversion
from ingest.checking.check import LEAST
from ingest.checking.plate import (
    CHARGE_KG,
    COMPRESSOR_RATED_A,
    FAN_RATED_A,
    HIGH_SIDE_DESIGN_PA,
    TARGET_DK,
    Span,
)
from ingest.record.errors import RecordError
from ingest.record.exported import BRING_ANEW, Exported, not_of_an_export
from ingest.record.reading import RecordedChannel
from ingest.wire.messages import UnitAbout
from ingest.wire.texts import LONGEST_NAME, LONGEST_TEXT, fault, is_empty, shown

MOST_CHANNELS = 1000
"""Each is there again with each correction: beyond any visit; common practice, no source."""
STAMP_S = Span(0.0, 7_258_118_400.0)
"""Of the years 1970 to 2199, in the seconds of POSIX: no rig recorded before, and none of ours will after."""
_DATES = date(1970, 1, 1), date(2199, 12, 31)
_INTERVAL_S = Span(LEAST, 86_400.0)
_UNCERTAINTY = Span(0.0, 1e7)
"""As a configuration has it, and offsets likewise [SI]: 100 bar."""
_OFFSET = Span(-1e7, 1e7)
_SLOPE = Span(0.1, 10.0)
"""Wider than a configuration may have it: common practice, no source."""

_ON_THE_PLATE = {
    "target_superheat_dk": TARGET_DK,
    "target_subcooling_dk": TARGET_DK,
    "nameplate_charge_kg": CHARGE_KG,
    "compressor_rla_a": COMPRESSOR_RATED_A,
    "condenser_fan_fla_a": FAN_RATED_A,
    "blower_fla_a": FAN_RATED_A,
    "high_side_design_pressure_pa": HIGH_SIDE_DESIGN_PA,
}
_OF_A_CHANNEL = {
    "interval_s": _INTERVAL_S,
    "accuracy": _UNCERTAINTY,
    "standard_uncertainty": _UNCERTAINTY,
    "slope": _SLOPE,
    "offset": _OFFSET,
}


def check_can_be(exported: Exported, csv: Path) -> None:
    """See that a unit and its instruments can be as they are told.

    Raises:
        RecordError: they cannot, with the first thing that is wrong.

    """
    wrong = next(_wrong(exported), None)
    if wrong:
        raise RecordError(f"{not_of_an_export(csv)}: {wrong}. {BRING_ANEW}")


def _wrong(exported: Exported) -> Iterator[str]:
    yield from _wrong_text("visit", exported.visit, LONGEST_NAME)
    yield from _wrong_unit(exported.unit)
    if len(exported.channels) > MOST_CHANNELS:
        yield f"channels: {len(exported.channels)} are too many; at most {MOST_CHANNELS} are read"
    for number, channel in enumerate(exported.channels):
        yield from (f"channels[{number}].{wrong}" for wrong in _wrong_channel(channel))
    first_s, last_s = exported.first_s, exported.last_s
    for name, time_s in (("first_s", first_s), ("last_s", last_s)):
        yield from _outside(name, time_s, STAMP_S)
    if (first_s is None) != (last_s is None) or (first_s or 0.0) > (last_s or 0.0):
        yield f"first_s and last_s: from {first_s} to {last_s} no visit can have been"


def _wrong_unit(unit: UnitAbout) -> Iterator[str]:
    yield from _wrong_text("unit.tag", unit.tag, LONGEST_NAME)
    for name, text, longest in (("place", unit.place, LONGEST_TEXT), ("circuit", unit.circuit, LONGEST_NAME)):
        if found := fault(text, longest):
            yield f"unit.{name}: {found}"
    try:
        refrigerant = refrigerants.get(unit.refrigerant)
    except CalcError as error:
        yield f"unit.refrigerant: {error}"
        return
    for name in ("safety_class", "charge_as_liquid"):
        said, known = getattr(unit, name), getattr(refrigerant, name)
        if said != known:
            yield f"unit.{name}: {shown(str(said))} is not that of {refrigerant.designation}, {known}"
    for name, span in _ON_THE_PLATE.items():
        yield from _outside(f"unit.{name}", getattr(unit, name), span)


def _wrong_channel(channel: RecordedChannel) -> Iterator[str]:
    if channel.name not in CHANNELS:
        yield f"name: there is no channel {shown(channel.name)!r}"
        return
    yield from _wrong_text("instrument", channel.instrument, LONGEST_NAME)
    try:
        reference = channel.reference or None
        conversion(channel.unit, CHANNELS[channel.name], reference=reference, barometric_pressure_pa=0.0)
    except CalcError as error:
        yield f"unit: {error}"
    for name, span in _OF_A_CHANNEL.items():
        yield from _outside(name, getattr(channel, name), span)
    if channel.calibrated and not _is_date(channel.calibrated):
        yield f"calibrated: {shown(channel.calibrated)!r} is no date such as 2026-03-31"


def _wrong_text(name: str, text: str, longest: int) -> Iterator[str]:
    if found := "is empty" if is_empty(text) else fault(text, longest):
        yield f"{name}: {found}"


def _outside(name: str, value: float | None, span: Span) -> Iterator[str]:
    if value is not None and not span.least <= value <= span.most:
        yield f"{name}: {value:g} cannot be; {span.least:g} to {span.most:g} was expected"


def _is_date(text: str) -> bool:
    try:
        return _DATES[0] <= date.fromisoformat(text) <= _DATES[1]
    except ValueError:
        return False
