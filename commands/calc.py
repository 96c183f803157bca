"""The command `calc`: one calculation, with units in the values."""

import argparse
import json
import sys
from collections.abc import Sequence


def add(parser: argparse.ArgumentParser) -> None:
    """Add its options, and what runs it."""
    parser.add_argument("name", nargs="?", help="the calculation, or words to look for; leave it out to list them all")
    parser.add_argument("values", nargs="*", metavar="key=value", help="such as suction_pressure=118psig")
    parser.add_argument("--json", action="store_true", help="print SI values, and errors, as JSON")
    parser.add_argument("--list", action="store_true", help="list every calculation")
    parser.add_argument("-h", "--help", action="store_true", help="show this, or what the calculation takes and gives")
    parser.set_defaults(command=run, print_help=parser.print_help)


def run(options: argparse.Namespace) -> int:
    """Run it; returns the exit code."""
    from calc import catalogue
    from calc.errors import ArgumentError, CalcError, UnknownNameError

    if options.help and options.name is None:
        options.print_help()
        return 0
    if options.list or options.name is None:
        _print_calculations(catalogue.names())
        return 0
    try:
        catalogue.question(options.name)
        if options.help:
            print(catalogue.help_on(options.name))
            return 0
        result = catalogue.run(options.name, _pairs(options.values))
    except CalcError as error:
        found = catalogue.search(" ".join([options.name, *options.values]))
        if isinstance(error, UnknownNameError) and error.what == "calculation" and found and not options.json:
            _print_calculations(found)
            return 0
        if options.json:
            print(json.dumps({"error": error.as_fields()}, indent=2, ensure_ascii=False))
            return 2
        said = str(error)
        if isinstance(error, UnknownNameError) and error.what == "calculation":
            said = f"{error.briefly()}; `dewline calc --list` shows all there are"
        print(f"dewline calc: {said}", file=sys.stderr)
        if isinstance(error, ArgumentError):
            print(catalogue.describe(options.name), file=sys.stderr)
        return 2
    print(result.as_json() if options.json else result.as_text())
    return 0


def _print_calculations(names: Sequence[str]) -> None:
    from calc import catalogue

    width = max(len(name) for name in names)
    print("\n".join(f"{name:{width}}  {catalogue.question(name)}" for name in names))


def _pairs(values: Sequence[str]) -> dict[str, str]:
    """Part each key=value; a key that comes twice would leave open which counts."""
    from calc.errors import UnitError

    pairs: dict[str, str] = {}
    for value in values:
        key, equals, text = value.partition("=")
        if not equals:
            raise UnitError(f"{value!r} is not of the form key=value")
        if key in pairs:
            raise UnitError(f"{key} is given twice, as {pairs[key]!r} and {text!r}: give it once")
        pairs[key] = text
    return pairs
