"""The command `invite`: a one-time link to the page, and the end of logins."""

import argparse
import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from commands.ending import SETUP_IS_WRONG
from commands.pages import data_directory, page_options

if TYPE_CHECKING:
    from dashboard.settings import PagePlace


def add(parser: argparse.ArgumentParser) -> None:
    """Add its options, and what runs it."""
    parser.add_argument("--role", choices=["technician", "lead", "instructor", "viewer"], default="lead")
    ending = parser.add_mutually_exclusive_group()
    ending.add_argument("--revoke", metavar="NAME", help="end the logins that a person of this name holds, at once")
    ending.add_argument("--revoke-all", action="store_true", help="end every login, and every link not used yet")
    page_options(parser)
    parser.set_defaults(command=run)


def run(options: argparse.Namespace) -> int:
    """Run it; returns the exit code."""
    from dashboard.auth import make_invitation
    from dashboard.errors import InvitationError
    from dashboard.invitations import Doorkeeper
    from dashboard.settings import SettingsError

    try:
        place = _page_to_enter(options)
        if options.revoke_all:
            Doorkeeper(place.data_directory).end_everything()
            print("Every login and every link given until now is ended.")
        elif options.revoke is not None:
            if not options.revoke.strip():
                print("dewline invite: --revoke needs the name of a person; --revoke-all ends all", file=sys.stderr)
                return SETUP_IS_WRONG
            if not Doorkeeper(place.data_directory).end_logins(options.revoke):
                print(f"dewline invite: nobody called {options.revoke!r} has come in at this page", file=sys.stderr)
                return 1
            print(
                f"Every login as {options.revoke!r} given until now is ended. Unused links stay; --revoke-all ends all."
            )
        else:
            print(make_invitation(place, options.role))
    except (SettingsError, InvitationError, OSError) as error:
        print(f"dewline invite: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    return 0


def _asked_for(options: argparse.Namespace) -> list[str]:
    """Write out what an invitation was asked for, so that a command to type asks for the same."""
    if options.revoke_all:
        return ["--revoke-all"]
    if options.revoke is not None:
        return [f"--revoke {shlex.quote(options.revoke)}"]
    return [f"--role {options.role}"]


def _page_to_enter(options: argparse.Namespace) -> "PagePlace":
    """Give the page that the options describe; without any, the one that is served on this machine.

    Raises:
        SettingsError: none is, or several; says what to type.

    """
    from dashboard.served import command_for, served_places
    from dashboard.settings import PagePlace, SettingsError

    described = PagePlace(
        data_directory=options.data_directory or Path(),
        host=options.host,
        port=options.port,
        certificate=options.certificate,
        public_name=options.public_name,
        relays=frozenset(options.relay),
    )
    if described != PagePlace(data_directory=Path()):
        return msgspec.structs.replace(described, data_directory=data_directory(options))
    asked = _asked_for(options)
    served = served_places()
    if len(served) == 1:
        return served[0]
    if served:
        ways = "".join(f"\n  {command_for(place, *asked)}" for place in served)
        raise SettingsError(f"{len(served)} pages are served on this machine; type one of{ways}")
    usual = msgspec.structs.replace(described, data_directory=data_directory(options))
    raise SettingsError(f"no page is served on this machine; start it first, or type\n  {command_for(usual, *asked)}")
