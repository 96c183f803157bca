"""A multimeter that sends the frames of its chip over a serial port."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from types import MappingProxyType

import msgspec

from ingest.checking.check import Check
from ingest.decode.frame_finder import FrameFinder
from ingest.decode.meter_chips import CHIPS, ChipName
from ingest.decode.meter_display import FIELDS
from ingest.frames import Decode, Link
from ingest.kinds.kind import Around, Kind, Stream
from ingest.kinds.ports import check_port
from ingest.link.port_settings import PortSettings

UNITS: Mapping[str, str] = MappingProxyType(
    {
        "ac_current": "A",
        "dc_current": "A",
        "ac_voltage": "V",
        "dc_voltage": "V",
        "capacitance": "F",
        "temperature_degc": "degC",
        "temperature_degf": "degF",
    }
)
"""By function of the dial, for what a channel can have."""

_FEWEST_FRAMES = 2


class SerialMeterConfig(
    msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True, tag="serial_meter", tag_field="kind"
):
    """A multimeter that sends the frames of its chip over a serial port. baud: the chip's own where not given."""

    port: str
    chip: ChipName
    baud: int | None = None
    rts: bool = True
    dtr: bool = True


def _check(check: Check, key: str, link: SerialMeterConfig, _: Path) -> None:
    check_port(check, key, link.port, link.baud)


def _build(link: SerialMeterConfig, _interval_s: float, _around: Around) -> tuple[Link, Decode]:
    from ingest.link.serial_frames import SerialFrames

    chip = CHIPS[link.chip]
    settings = PortSettings(link.port, link.baud or chip.baud, rts=link.rts, dtr=link.dtr)
    return SerialFrames(settings, chip.frame_bytes, chip.is_frame), chip.decode


def _fields(_: SerialMeterConfig) -> Sequence[str]:
    return tuple(FIELDS)


def _streams() -> Sequence[Stream]:
    return [_stream(name) for name in CHIPS]


def _stream(name: ChipName) -> Stream:
    chip = CHIPS[name]

    def configure(port: str, baud: int) -> SerialMeterConfig:
        return SerialMeterConfig(port=port, chip=name, baud=None if baud == chip.baud else baud)

    finder = FrameFinder(chip.frame_bytes, chip.is_frame)
    return Stream(f"frames of the chip {name}", finder.feed, chip.decode, _FEWEST_FRAMES, configure, UNITS)


KIND = Kind(config=SerialMeterConfig, word="serial", check=_check, build=_build, fields=_fields, streams=_streams)
