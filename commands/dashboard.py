"""The command `dashboard`: serves the live page."""

import argparse
import asyncio
import os
import signal
import sys
from pathlib import Path
from types import FrameType

from commands.pages import data_directory, page_options
from commands.reports import report_maker
from ingest.password import PasswordError, read_password
from ingest.ports import PortTakenError, check_free
from ingest.wire.messages import BrokerAddress, MessageError


def add(parser: argparse.ArgumentParser) -> None:
    """Add its options, and what runs it."""
    parser.add_argument("--broker", required=True, help="mqtt://host:port, or mqtts://user@host:port")
    parser.add_argument("--password-file", type=Path, help="the broker password; or set DEWLINE_BROKER_PASSWORD")
    parser.add_argument("--authority-file", default="", help="the certificate authority that signed the broker's")
    parser.add_argument("--rig", type=_rig_name, help="the rig to show; else the first one heard, and leads watch all")
    parser.add_argument("--record", type=Path, help="the rig's record, where it is on this machine")
    parser.add_argument(
        "--role",
        choices=["technician", "lead", "none"],
        default="technician",
        help="who someone at this machine is, without an invitation; none behind a relay that does not show itself",
    )
    parser.add_argument("--name", default="", help="the name that stands beside what they do")
    page_options(parser)
    parser.set_defaults(command=run, ends_by_itself=False)


def _rig_name(text: str) -> str:
    from ingest.checking.check import WIRE_NAME_RULE
    from ingest.wire.texts import shown
    from ingest.wire.topics import WIRE_NAME

    if not WIRE_NAME.fullmatch(text):
        raise argparse.ArgumentTypeError(f"'{shown(text)}' is no name of a rig; {WIRE_NAME_RULE}")
    return text


def _broker_password(options: argparse.Namespace) -> str:
    if options.password_file:
        return read_password(options.password_file)
    return os.environ.get("DEWLINE_BROKER_PASSWORD", "")


def _end(_: int, __: FrameType | None) -> None:
    """Leave as asked, through whatever has to be tidied up."""
    raise SystemExit(0)


def run(options: argparse.Namespace) -> int:
    """Run it; returns the exit code."""
    from dashboard.app import serve
    from dashboard.served import leaving_a_note
    from dashboard.settings import Settings, SettingsError

    try:
        broker = BrokerAddress.parse(
            options.broker, password=_broker_password(options), authority_file=options.authority_file
        )
        settings = Settings(
            broker=broker,
            rig=options.rig,
            host=options.host,
            port=options.port,
            record=options.record,
            data_directory=data_directory(options),
            certificate=options.certificate,
            key=options.key,
            public_name=options.public_name,
            relays=frozenset(options.relay),
            open_loopback_role=None if options.role == "none" else options.role,
            technician=options.name or ("technician" if options.role == "none" else options.role),
        )
        check_free(settings.host, settings.port, of="the page", option="--port")
        signal.signal(signal.SIGTERM, _end)  # the server raises it again once it has stopped
        with leaving_a_note(settings):
            asyncio.run(serve(settings, report_maker(settings.record) if settings.record else None))
    except (MessageError, SettingsError, PasswordError, PortTakenError, OSError) as error:
        print(f"dewline dashboard: {error}", file=sys.stderr)
        return 2
    return 0
