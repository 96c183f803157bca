"""The command `instruments`: looks for instruments, and proposes how to read them."""

import argparse
import asyncio
import sys


def add(parser: argparse.ArgumentParser) -> None:
    """Add its options, and what runs it."""
    parser.description = (
        "Looks for instruments at serial ports and over Bluetooth, and prints a configuration to paste. Listens first; "
        "where a port is silent it sends *IDN?, which asks who is there and changes nothing."
    )
    parser.add_argument("--seconds", type=float, default=5.0, help="how long to listen")
    parser.add_argument("--port", action="append", help="look only at this serial port; may be given again")
    parser.add_argument("--baud", type=int, help="at which to listen first, and to ask")
    parser.add_argument("--listen-only", action="store_true", help="send nothing to serial ports")
    parser.add_argument("--no-bluetooth", action="store_true", help="look at ports only")
    parser.add_argument(
        "--connect", action="append", default=[], help="read from this Bluetooth device, by name or address"
    )
    parser.add_argument("--modbus", default="", help="a serial port, or HOST or HOST:PORT, with a Modbus device")
    parser.add_argument("--parity", choices=["even", "odd", "none"], default="even", help="of the Modbus line")
    parser.add_argument("--device", type=int, default=1, help="the address of the Modbus device")
    parser.add_argument("--registers", type=_span, default=(0, 19), help="the first and last to read, such as 0-19")
    parser.set_defaults(command=run)


def _span(text: str) -> tuple[int, int]:
    first, _, last = text.partition("-")
    return int(first), int(last)


def run(options: argparse.Namespace) -> int:
    """Run it; returns the exit code."""
    from ingest.discover.propose import as_configuration
    from ingest.discover.search import Search, find_instruments

    search = Search(
        seconds=options.seconds,
        ports=options.port,
        baud=options.baud,
        may_ask=not options.listen_only,
        bluetooth=not options.no_bluetooth,
        connect=options.connect,
        modbus=options.modbus,
        parity=options.parity,
        device=options.device,
        registers=options.registers,
    )
    found = asyncio.run(find_instruments(search, lambda line: print(line, file=sys.stderr, flush=True)))
    print(as_configuration(found) if found else "# no serial ports, and no Bluetooth devices in reach")
    return 0
