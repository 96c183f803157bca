"""Every kind of instrument: its link and its decoder.

The one registry. A library for a link is imported only when an instrument uses it, so that a rig without
Bluetooth does not wait for, or need, a Bluetooth stack.
"""

from collections.abc import Mapping
from types import MappingProxyType

from calc.units import parse
from ingest.config_structs import (
    BluetoothConfig,
    InstrumentConfig,
    ScpiConfig,
    SerialLinesConfig,
    SerialMeterConfig,
)
from ingest.decode_fs9721 import decode_fs9721, is_fs9721
from ingest.decode_fs9922 import decode_fs9922, is_fs9922
from ingest.decode_gatt import decode_gatt
from ingest.decode_lines import LineDecoder
from ingest.decode_scpi import decode_scpi
from ingest.frame_finder import IsFrame
from ingest.frames import Decode, Link

_CHIPS: Mapping[str, tuple[int, IsFrame, Decode]] = MappingProxyType(
    {"fs9721": (14, is_fs9721, decode_fs9721), "fs9922": (14, is_fs9922, decode_fs9922)}
)
"""Of each multimeter chip the length of its frames, what knows them, and their decoder."""


def build(instrument: InstrumentConfig) -> tuple[Link, Decode]:
    """Make the link and the decoder of an instrument whose configuration was checked. Nothing is opened yet."""
    match instrument.link:
        case SerialLinesConfig() as lines:
            from ingest.link_serial import SerialLines

            return SerialLines(lines.port, lines.baud), LineDecoder()
        case SerialMeterConfig() as meter:
            from ingest.link_serial_frames import SerialFrames

            length, is_frame, decode = _CHIPS[meter.chip]
            return SerialFrames(meter.port, meter.baud, length, is_frame), decode
        case ScpiConfig() as scpi:
            from ingest.link_scpi import ScpiMeter

            poll_s = parse(scpi.poll, "time")
            return ScpiMeter(scpi.port, scpi.baud, scpi.queries, scpi.setup, poll_s), decode_scpi
        case BluetoothConfig() as bluetooth:
            from ingest.link_ble import BluetoothInstrument

            return BluetoothInstrument(bluetooth.address, bluetooth.device_name), decode_gatt
