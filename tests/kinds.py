"""The link and the decoder of an instrument, as a rig makes them."""

from calc.units import parse
from ingest.config.structs import InstrumentConfig
from ingest.frames import Decode, Link
from ingest.kinds.kind import Around
from ingest.kinds.table import kind_of
from ingest.link.bluetooth_scan import SharedScan
from ingest.wire.messages import BrokerAddress


def build(
    config: InstrumentConfig, scan: SharedScan | None = None, broker: BrokerAddress | None = None
) -> tuple[Link, Decode]:
    """Make them. scan, broker: what the rig shares."""
    around = Around(scan or SharedScan(), broker)
    return kind_of(config.link).build(config.link, parse(config.interval, "time"), around)
