"""The command `refrigerant`: lists them, adds one, checks and removes the added."""

import argparse
import sys
from collections.abc import Iterable

from commands.added_refrigerants import folder
from commands.ending import SETUP_IS_WRONG


def add(parser: argparse.ArgumentParser) -> None:
    """Add its options, and what runs it."""
    acts = parser.add_subparsers(required=True, metavar="ACT")
    listing = acts.add_parser("list", help="list those shipped and those added, with the \u00b1 of their curves")
    listing.set_defaults(command=_list, works_with_added=False)
    check = acts.add_parser("check", help="reckon the curves of those added anew with CoolProp, and compare")
    check.set_defaults(command=_check, works_with_added=False)
    remove = acts.add_parser("remove", help="remove one that was added on this machine, also if it cannot be used")
    remove.add_argument("name", help="as it was added")
    remove.set_defaults(command=_remove, works_with_added=False)
    adding = acts.add_parser(
        "add",
        help="make the curves of a refrigerant or mixture, check them, and keep them on this machine",
        description="Makes the curves with CoolProp, of dewline[properties]. Programs that run must be started again.",
    )
    adding.add_argument("name", help="as ASHRAE 34 writes it, such as R-452A")
    adding.add_argument(
        "--of", required=True, help='components by mass: "R-32 11, R-125 59, R-1234yf 30"; or one alone'
    )
    adding.add_argument(
        "--class",
        dest="safety_class",
        required=True,
        choices=["A1", "A2L", "A2", "A3", "B1", "B2L", "B2", "B3"],
        help="safety class of ASHRAE 34",
    )
    adding.add_argument("--limit", action="append", default=[], metavar="LFL", help='"0.307 kg/m3, where it stands"')
    adding.add_argument(
        "--warming", action="append", default=[], help='of a component not known here: "R-13I1 AR4 0.4, AR5 1, AR6 0"'
    )
    adding.add_argument("--uncertainty", help='one standard deviation of its dew point: "0.3 K, where it stands"')
    adding.set_defaults(command=_add)


def _list(_: argparse.Namespace) -> int:
    from calc.refrigerants import get, names
    from ingest.added_refrigerants import put_on_shelf_what_can

    sound, spoilt = put_on_shelf_what_can(folder())
    added = {each.designation: each.made_with for each in sound}
    for name in names():
        if name in spoilt:
            continue
        facts = get(name)
        of = ", ".join(f"{component} {100 * share:.4g} %" for component, share in facts.composition.items())
        made = f"; added, made with {added[name]}" if name in added else ""
        print(f"{name:12} {facts.safety_class:4} \u00b1 {2 * facts.model_standard_uncertainty_k:.2g} K  {of}{made}")
    return _told_spoilt(spoilt.values())


def _told_spoilt(errors: Iterable[Exception]) -> int:
    """Tell which files of added refrigerants cannot be used; returns the exit code."""
    told = [f"dewline refrigerant: {error}" for error in errors]
    print("\n".join(told), end="\n" if told else "", file=sys.stderr)
    return int(bool(told))


def _check(_: argparse.Namespace) -> int:
    from ingest.added_refrigerants import put_on_shelf_what_can

    sound, spoilt = put_on_shelf_what_can(folder())
    if not sound and not spoilt:
        print("No refrigerant was added on this machine.")
        return 0
    try:
        from calc.data.build_saturation import BuildError
        from calc.data.making import MADE_WITH, recheck
    except ImportError:
        return _needs_coolprop()
    wrong: list[Exception] = list(spoilt.values())
    for each in sound:
        try:
            worst_k, (agree, tried) = recheck(each.designation)
            print(f"{each.designation}: within {1e3 * worst_k:.2f} mK of {MADE_WITH}; {agree} of {tried} flashes agree")
        except BuildError as error:
            wrong.append(error)
    return _told_spoilt(wrong)


def _remove(options: argparse.Namespace) -> int:
    from ingest.added_refrigerants import AddedFileError, remove

    try:
        remove(folder(), options.name)
    except AddedFileError as error:
        print(f"dewline refrigerant: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    print(f"{options.name} is removed. Start programs that run again; a rig that is configured with it then refuses.")
    return 0


def _add(options: argparse.Namespace) -> int:
    from calc.data.asking import as_wanted
    from calc.errors import CalcError
    from ingest.added_refrigerants import AddedFile, save

    try:
        from calc.data.build_saturation import BuildError
        from calc.data.making import MADE_WITH, make
    except ImportError:
        return _needs_coolprop()
    try:
        wanted = as_wanted(
            options.name,
            options.of,
            options.safety_class,
            limits=options.limit,
            warming=options.warming,
            uncertainty=options.uncertainty,
        )
        made = make(wanted)
    except (BuildError, CalcError) as error:
        print(f"dewline refrigerant: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    agree, tried = made.flashes
    file = AddedFile(wanted.designation, MADE_WITH, made.worst_k, made.flashes, made.tables)
    path = save(folder(), file)
    print(
        f"{wanted.designation}: within {1e3 * made.worst_k:.2f} mK of {MADE_WITH}; {agree} of {tried} flashes from "
        f"nothing agree, the others found none. Kept in {path}. Start programs that run again."
    )
    if made.of_unknown_class:
        told = ", ".join(made.of_unknown_class)
        print(f"Its class {wanted.safety_class} is as you gave it: none is known here of {told}. Hold it to its label.")
    return 0


def _needs_coolprop() -> int:
    print(
        "dewline refrigerant: CoolProp makes and checks curves, and is not here: in the folder of Dewline, "
        ".venv/bin/pip install '.[properties]'",
        file=sys.stderr,
    )
    return SETUP_IS_WRONG
