"""Every kind of instrument: its link and its decoder.

The one registry. A library for a link is imported only when an instrument uses it, so that a rig without
Bluetooth does not wait for, or need, a Bluetooth stack.
"""

import re

from ingest.config import BluetoothConfig, InstrumentConfig, ScpiConfig, SerialLinesConfig
from ingest.decode_gatt import decode_gatt
from ingest.decode_lines import LineDecoder
from ingest.decode_scpi import decode_scpi
from ingest.frames import Decode, Link, LinkSetupError


def build(instrument: InstrumentConfig) -> tuple[Link, Decode]:
    """Make the link and the decoder of an instrument. Nothing is opened yet.

    Raises:
        LinkSetupError: the configuration cannot work.

    """
    match instrument.link:
        case SerialLinesConfig() as lines:
            from ingest.link_serial import SerialLines

            return SerialLines(lines.port, lines.baud), LineDecoder()
        case ScpiConfig() as meter:
            from ingest.link_scpi import ScpiMeter

            poll_s = _seconds(meter.poll, f"poll of {instrument.name!r}")
            return ScpiMeter(meter.port, meter.baud, meter.queries, meter.setup, poll_s), decode_scpi
        case BluetoothConfig() as bluetooth:
            from ingest.link_ble import BluetoothInstrument

            return BluetoothInstrument(bluetooth.address, bluetooth.device_name), decode_gatt


def _seconds(text: str, where: str) -> float:
    """Read a time such as `0.5 s` or `500 ms`, in seconds.

    >>> _seconds("500 ms", "poll")
    0.5
    """
    found = re.fullmatch(r"(\d+\.?\d*)\s*(ms|s)", text.strip())
    if not found or float(found[1]) == 0:
        raise LinkSetupError(f"{where} is {text!r}; give a time such as '0.5 s' or '500 ms'")
    return float(found[1]) / (1000 if found[2] == "ms" else 1)
