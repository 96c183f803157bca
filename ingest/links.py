"""Every kind of instrument: its link and its decoder.

The one registry. A library for a link is imported only when an instrument uses it, so that a rig without
Bluetooth does not wait for, or need, a Bluetooth stack.
"""

from calc.units import parse
from ingest.config_structs import BluetoothConfig, InstrumentConfig, ScpiConfig, SerialLinesConfig
from ingest.decode_gatt import decode_gatt
from ingest.decode_lines import LineDecoder
from ingest.decode_scpi import decode_scpi
from ingest.frames import Decode, Link


def build(instrument: InstrumentConfig) -> tuple[Link, Decode]:
    """Make the link and the decoder of an instrument whose configuration was checked. Nothing is opened yet."""
    match instrument.link:
        case SerialLinesConfig() as lines:
            from ingest.link_serial import SerialLines

            return SerialLines(lines.port, lines.baud), LineDecoder()
        case ScpiConfig() as meter:
            from ingest.link_scpi import ScpiMeter

            poll_s = parse(meter.poll, "time")
            return ScpiMeter(meter.port, meter.baud, meter.queries, meter.setup, poll_s), decode_scpi
        case BluetoothConfig() as bluetooth:
            from ingest.link_ble import BluetoothInstrument

            return BluetoothInstrument(bluetooth.address, bluetooth.device_name), decode_gatt
