"""The command `people`: who may come in at the page by a password."""

import argparse
import getpass
import secrets
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from commands.ending import SETUP_IS_WRONG
from commands.pages import data_directory

if TYPE_CHECKING:
    from dashboard.people.accounts import Accounts

ROLES = ("technician", "lead", "instructor", "viewer")
_GROUPS = 5
_GROUP_LETTERS = 5
_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"
"""Without those that are taken for one another. Five groups of five are 123 bits."""


def add(parser: argparse.ArgumentParser) -> None:
    """Add its options, and what runs it."""
    parser.add_argument("--data-directory", type=Path, help="where the page keeps its secret")
    doing = parser.add_subparsers(dest="doing", metavar="WHAT")
    doing.add_parser("list", help="tell who has an account, and who came in")
    adding = doing.add_parser("add", help="give somebody an account, or a new role and password")
    adding.add_argument("name", metavar="NAME")
    adding.add_argument("--role", choices=ROLES, default="lead")
    adding.add_argument("--own-password", action="store_true", help="ask for a password; without it, one is made")
    removing = doing.add_parser("remove", help="take an account away: its logins end at once")
    removing.add_argument("name", metavar="NAME")
    parser.set_defaults(command=run)


def run(options: argparse.Namespace) -> int:
    """Run it; returns the exit code."""
    from dashboard.errors import DashboardError
    from dashboard.invitations import Doorkeeper, person
    from dashboard.settings import SettingsError

    try:
        doorkeeper = Doorkeeper(_directory(options))
        if options.doing == "add":
            name = person(options.name)
            if not name:
                raise SettingsError("a person has a name that can be read")
            return _add(doorkeeper.accounts, name, options)
        if options.doing == "remove":
            had = doorkeeper.accounts.remove(options.name)
            doorkeeper.end_logins(options.name)
            said = "may come in by a password no more, and is out" if had else "has no account"
            print(f"{options.name} {said}", file=sys.stdout if had else sys.stderr)
            return 0 if had else 1
        for account in doorkeeper.accounts.all():
            print(f"{account.name}\t{account.role}\tby a password")
        for it in doorkeeper.entered():
            print(f"{it.name}\t{it.role}\tin, by a {it.by}")
    except (DashboardError, OSError) as error:
        print(f"dewline people: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    return 0


def _add(accounts: "Accounts", name: str, options: argparse.Namespace) -> int:
    password = getpass.getpass(f"Password for {name}: ") if options.own_password else _made()
    if options.own_password and getpass.getpass("Once more: ") != password:
        print("dewline people: the two differ; nothing is changed", file=sys.stderr)
        return 1
    accounts.give(name, options.role, password)
    print(f"{name} comes in as {options.role} at the page's /enter")
    if not options.own_password:
        print(f"by the password {password}\nIt is shown this once.")
    return 0


def _made() -> str:
    """Make a password that is read off a screen and typed without a doubt."""
    return "-".join("".join(secrets.choice(_LETTERS) for _ in range(_GROUP_LETTERS)) for _ in range(_GROUPS))


def _directory(options: argparse.Namespace) -> Path:
    """Give the folder of the page's secret: as given, that of the one page that is served here, or the usual one.

    Raises:
        SettingsError: several pages are served on this machine; says their folders.

    """
    from dashboard.served import served_places
    from dashboard.settings import SettingsError

    if options.data_directory is not None:
        return data_directory(options)
    served = {place.data_directory for place in served_places()}
    if len(served) > 1:
        folders = "".join(f"\n  --data-directory {folder}" for folder in sorted(served))
        raise SettingsError(f"{len(served)} pages are served on this machine; give one of{folders}")
    return served.pop() if served else data_directory(options)
