"""The command line of Dewline, and the only file that brings all its rooms together.

Each command imports only the room it needs: arithmetic at the shell must not wait for a web framework.
"""

import argparse
import asyncio
import json
import logging
import os
import secrets
import shlex
import signal
import sys
import time
from collections.abc import AsyncIterator, Iterable, Sequence
from contextlib import asynccontextmanager
from datetime import date, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from ingest.logs import FewAlike, OneLine
from ingest.parent import end_with_parent
from ingest.password import PasswordError, read_password
from ingest.ports import PortTakenError, check_free
from ingest.wire.messages import BrokerAddress, MessageError

if TYPE_CHECKING:
    from calc.units import System
    from dashboard.reports import Form, Paper, ReportMaker
    from dashboard.settings import PagePlace
    from ingest.record.reading import History
    from ingest.report.making import Asked

logger = logging.getLogger("dewline")

LOG_LEVEL = "DEWLINE_LOG_LEVEL"
"""By which a bench tells its children what to log."""
ONE_THREAD = "OPENBLAS_NUM_THREADS"
"""The matrices of a judgement are small: more threads than one wait for each other on every core, and do no more."""
REFRIGERANTS = "DEWLINE_REFRIGERANTS"
"""The folder of the refrigerants that were added, where it is not within the user's data."""
RECORD = "visit.sqlite"
"""What a record is called in a folder of its own."""
REPLAYED_RIG = "replay"
"""The name of a rig on the wire that plays a record again: it must not pass for the one that is at work."""
STOPPED = 130
"""The exit code of a command that Ctrl-C stopped: 128 and the number of the signal, as shells have it."""
SETUP_IS_WRONG = 2
"""The exit code of a command whose options or configuration cannot work: starting it again would not help."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    os.environ.setdefault(ONE_THREAD, "1")  # before numpy is loaded, which no import above does
    options = _options(arguments)
    log = logging.StreamHandler()
    log.setFormatter(OneLine())
    log.addFilter(FewAlike())
    log.setLevel(_log_level(options))
    logging.basicConfig(level=_log_level(options), handlers=[log])
    if not logging.root.isEnabledFor(logging.DEBUG):  # it warns that it takes BlueZ for a new one; nothing to be done
        logging.getLogger("bleak.backends.bluezdbus.version").setLevel(logging.ERROR)
    if options.with_parent:
        end_with_parent()
    sees_to_them = options.command in (_refrigerant_list, _refrigerant_check, _refrigerant_remove)
    return _run(options) if sees_to_them or _with_added_refrigerants() else SETUP_IS_WRONG


def _run(options: argparse.Namespace) -> int:
    """Run a command; one that ends by itself is stopped, or loses who reads it, without a traceback."""
    if options.command in (_daemon, _replay, _dashboard, _bench):
        return int(options.command(options))
    try:
        code = int(options.command(options))
        sys.stdout.flush()
    except BrokenPipeError:  # the reader, such as `head`, has seen enough
        _drop_output()
        return 0
    except KeyboardInterrupt:
        print("dewline: stopped", file=sys.stderr)
        return STOPPED
    return code


def _drop_output() -> None:
    """Let the interpreter flush to nowhere as it ends: what takes the output refused it."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _with_added_refrigerants() -> bool:
    place = _refrigerants_folder()
    if not place.is_dir():
        return True
    from ingest.added_refrigerants import AddedFileError, put_on_shelf

    try:
        put_on_shelf(place)
    except AddedFileError as error:
        print(f"dewline: {error}", file=sys.stderr)
        return False
    return True


def _refrigerants_folder() -> Path:
    from platformdirs import user_data_path

    told = os.environ.get(REFRIGERANTS)
    return Path(told) if told else user_data_path("dewline") / "refrigerants"


def _options(arguments: Sequence[str] | None) -> argparse.Namespace:
    """Read the command line. Words of a list may stand on both sides of an option, which argparse takes for no words.

    `parse_intermixed_args` would take them, but refuses a parser that has commands. Only `calc` takes a list.
    """
    parser = _parser()
    options, further = parser.parse_known_args(arguments)
    wrong = further if "values" not in options else [word for word in further if word.startswith("-")]
    if wrong:
        parser.error(f"unrecognized arguments: {' '.join(wrong)}")
    if further:
        options.values += further
    return options


def _log_level(options: argparse.Namespace) -> str:
    """Give what is logged: on a bench only what is wrong, since it prints by itself what a technician needs."""
    asked: str = options.log_level or os.environ.get(LOG_LEVEL, "")
    return (asked or ("warning" if options.command is _bench else "info")).upper()


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="dewline", description="A live charging bench for technicians.")
    parser.add_argument("--with-parent", action="store_true", help="stop when standard input closes")
    parser.add_argument("--log-level", choices=["debug", "info", "warning", "error"], help="what is logged, and worse")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    calc = commands.add_parser("calc", help="run one calculation, with units in the values", add_help=False)
    _calc_command(calc)
    _instruments_command(commands.add_parser("instruments", help="look for instruments, and propose how to read them"))
    _check_command(commands.add_parser("check", help="try a configuration: reach its instruments, read each channel"))
    _daemon_command(commands.add_parser("daemon", help="read the instruments, record, publish over MQTT"))
    _rerun_command(commands.add_parser("rerun", help="work the advices of a record out again, from its readings"))
    _backup_command(commands.add_parser("backup", help="copy a record to keep, while it is written to"))
    _restore_command(commands.add_parser("restore", help="put such a copy in the place of a record"))
    _erase_command(commands.add_parser("erase", help="erase visits from a record, but for what the law wants kept"))
    _refrigerant_command(commands.add_parser("refrigerant", help="refrigerants: list them, add one, check the added"))
    _replay_command(commands.add_parser("replay", help="play a recorded visit again, through the judge and the page"))
    _export_command(commands.add_parser("export", help="write a record as CSV, Parquet, SenML or JSON"))
    _import_command(commands.add_parser("import", help="bring a log of any logger into a record, by a map of columns"))
    _units_command(commands.add_parser("units", help="the register of units: list, import, export, tags and labels"))
    _report_command(commands.add_parser("report", help="make the report of a visit, as PDF, HTML or JSON"))
    _verify_command(commands.add_parser("verify", help="try the file of a report: unchanged, and as recorded?"))
    _dashboard_command(commands.add_parser("dashboard", help="serve the live page"))
    _invite_command(commands.add_parser("invite", help="make a one-time link to the page"))
    _bench_command(commands.add_parser("bench", help="a simulated unit on real transports, and the live page"))
    return parser


# --- calc


def _calc_command(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", nargs="?", help="the calculation, or words to look for; leave it out to list them all")
    parser.add_argument("values", nargs="*", metavar="key=value", help="such as suction_pressure=118psig")
    parser.add_argument("--json", action="store_true", help="print SI values, and errors, as JSON")
    parser.add_argument("--list", action="store_true", help="list every calculation")
    parser.add_argument("-h", "--help", action="store_true", help="show this, or what the calculation takes and gives")
    parser.set_defaults(command=_calc, print_help=parser.print_help)


def _calc(options: argparse.Namespace) -> int:
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


# --- instruments


def _instruments_command(parser: argparse.ArgumentParser) -> None:
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
    parser.set_defaults(command=_instruments)


def _span(text: str) -> tuple[int, int]:
    first, _, last = text.partition("-")
    return int(first), int(last)


def _instruments(options: argparse.Namespace) -> int:
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


# --- check


def _check_command(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, help="the configuration of the rig, in TOML")
    parser.add_argument("--within", default="20 s", help="how long the slowest instrument may take")
    parser.set_defaults(command=_check)


def _check(options: argparse.Namespace) -> int:
    from calc.errors import CalcError
    from calc.units import parse
    from ingest.checking.structure import Problem
    from ingest.config.load import ConfigError, load, resolve
    from ingest.discover import try_out as check

    try:
        within_s = parse(options.within, "time")
        config = load(options.file)
        rig = resolve(config, options.file)
    except (CalcError, ConfigError) as error:
        print(f"dewline check: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    if rig.record.is_dir():  # the daemon starts all the same, and says that nothing is saved
        wrong = Problem("rig.record", config.rig.record, "is a folder; the name of a file was expected")
        print(f"dewline check: {ConfigError(options.file, [wrong])}", file=sys.stderr)
        return SETUP_IS_WRONG
    trials = asyncio.run(check.try_out(config, rig, within_s=within_s))
    print(check.as_tree(rig.name, trials))
    return 0 if all(trial.is_good for trial in trials) else SETUP_IS_WRONG


# --- daemon


def _daemon_command(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--config", type=Path, required=True, help="the configuration of the rig, in TOML")
    parser.set_defaults(command=_daemon)


def _daemon(options: argparse.Namespace) -> int:
    from ingest import daemon
    from ingest.config.load import ConfigError, load

    try:
        config = load(options.config)
        asyncio.run(daemon.run(config, options.config))
    except (ConfigError, daemon.StartError) as error:
        print(f"dewline daemon: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    return 0


# --- rerun


def _rerun_command(parser: argparse.ArgumentParser) -> None:
    parser.description = (
        "Works every advice of a record out again from its readings, and says in words, visit by visit, what today's "
        "judge would say otherwise. Exit code 1 where it would."
    )
    parser.add_argument("record", type=Path, help="such as visit.sqlite")
    parser.set_defaults(command=_rerun)


def _rerun(options: argparse.Namespace) -> int:
    from ingest.advice.otherwise import as_lines, by_visit
    from ingest.advice.rerun import rerun
    from ingest.record.errors import RecordError
    from ingest.record.reading import RecordFile

    try:
        found = by_visit(rerun(options.record))
        visits = {visit.id: visit for visit in RecordFile(options.record).visits()}
    except RecordError as error:
        print(f"dewline rerun: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    for visit, come_out in found.items():
        print("\n".join(as_lines(visits.get(visit), visit, come_out)))
    same = sum(come_out.same for come_out in found.values())
    others = sum(come_out.others for come_out in found.values())
    print(f"{same} advices come out as they were given, {others} do not.")
    return 1 if others else 0


# --- backup, restore, erase


def _backup_command(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("record", type=Path, help="such as visit.sqlite; a daemon may be writing it")
    parser.add_argument("copy", type=Path, help="a file that is not there yet")
    parser.set_defaults(command=_backup)


def _backup(options: argparse.Namespace) -> int:
    from ingest.record.errors import RecordError
    from ingest.record.keeping import copy

    try:
        held = copy(options.record, options.copy)
    except (RecordError, OSError) as error:
        print(f"dewline backup: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    end = "it is whole." if not held.unreadable else "it is as the record is."
    print(f"{options.copy}: {held.visits} visits, {held.marks} marks, {held.photographs} photographs; {end}")
    return _told_unreadable("backup", held.unreadable)


def _restore_command(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("copy", type=Path, help="as dewline backup made it")
    parser.add_argument("record", type=Path, help="where a daemon is to find it; none may have it now")
    parser.set_defaults(command=_restore)


def _restore(options: argparse.Namespace) -> int:
    from ingest.record.errors import RecordError
    from ingest.record.keeping import restore

    try:
        held, aside = restore(options.copy, options.record, now_s=time.time())
    except (RecordError, OSError) as error:
        print(f"dewline restore: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    print(f"{options.record} is as it was copied." + (f" What was there is {aside}." if aside else ""))
    return _told_unreadable("restore", held.unreadable)


def _told_unreadable(command: str, unreadable: Sequence[str]) -> int:
    """Tell which rows of a copy cannot be read; returns the exit code."""
    for row in unreadable:
        print(f"dewline {command}: {row} cannot be read; an older copy may have it", file=sys.stderr)
    return int(bool(unreadable))


def _erase_command(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("record", type=Path, help="such as visit.sqlite; no daemon may have it")
    which = parser.add_mutually_exclusive_group(required=True)
    which.add_argument("--unit", default="", help="all visits at a unit by its tag, and where it stands")
    which.add_argument("--visit", default="", help="one visit, by its id")
    which.add_argument(
        "--before", type=date.fromisoformat, help="all visits that began before a day, such as 2024-01-31"
    )
    parser.add_argument("--because", type=_reason, required=True, help="why, for those who ask later; name nobody")
    parser.add_argument("--confirmed", action="store_true", help="erase it; without this it is only told what would go")
    parser.set_defaults(command=_erase)


def _reason(text: str) -> str:
    from ingest.wire.texts import LONGEST_TEXT, fault, is_empty

    wrong = "is empty" if is_empty(text) else fault(text, LONGEST_TEXT)
    if wrong:
        raise argparse.ArgumentTypeError(f"the reason {wrong}; one line of words was expected")
    return text


def _erase(options: argparse.Namespace) -> int:
    from ingest.record.erasing import erase, find, forget_place
    from ingest.record.errors import RecordError

    before_s = datetime.combine(options.before, datetime.min.time()).timestamp() if options.before else None
    try:
        found = find(options.record, unit=options.unit, visit=options.visit, before_s=before_s)
        for each in found:
            began = datetime.fromtimestamp(each.started_s).astimezone().isoformat(" ", "minutes")
            print(f"{began}, {each.unit}: {each.marks} marks, {each.photographs} photographs, {each.moves} moves")
        if not found:
            print("All of that was erased already; what is left of it in the record's log is cleared.")
        if not options.confirmed:
            print(
                "Nothing was erased: --confirmed erases it. Moves of refrigerant stay for five years, without a name."
            )
            return 0
        erase(options.record, [each.visit for each in found], because=options.because, now_s=time.time())
        if options.unit:
            forget_place(options.record, options.unit)
    except RecordError as error:
        print(f"dewline erase: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    print("Erased. What was published, printed or copied before is beyond reach: copies have to be erased one by one.")
    return 0


# --- refrigerants


def _refrigerant_command(parser: argparse.ArgumentParser) -> None:
    acts = parser.add_subparsers(required=True, metavar="ACT")
    listing = acts.add_parser("list", help="list those shipped and those added, with the \u00b1 of their curves")
    listing.set_defaults(command=_refrigerant_list)
    check = acts.add_parser("check", help="reckon the curves of those added anew with CoolProp, and compare")
    check.set_defaults(command=_refrigerant_check)
    remove = acts.add_parser("remove", help="remove one that was added on this machine, also if it cannot be used")
    remove.add_argument("name", help="as it was added")
    remove.set_defaults(command=_refrigerant_remove)
    add = acts.add_parser(
        "add",
        help="make the curves of a refrigerant or mixture, check them, and keep them on this machine",
        description="Makes the curves with CoolProp, of dewline[properties]. Programs that run must be started again.",
    )
    add.add_argument("name", help="as ASHRAE 34 writes it, such as R-452A")
    add.add_argument("--of", required=True, help='components by mass: "R-32 11, R-125 59, R-1234yf 30"; or one alone')
    add.add_argument(
        "--class",
        dest="safety_class",
        required=True,
        choices=["A1", "A2L", "A2", "A3", "B1", "B2L", "B2", "B3"],
        help="safety class of ASHRAE 34",
    )
    add.add_argument("--limit", action="append", default=[], metavar="LFL", help='"0.307 kg/m3, where it stands"')
    add.add_argument(
        "--warming", action="append", default=[], help='of a component not known here: "R-13I1 AR4 0.4, AR5 1, AR6 0"'
    )
    add.add_argument("--uncertainty", help='one standard deviation of its dew point: "0.3 K, where it stands"')
    add.set_defaults(command=_refrigerant_add)


def _refrigerant_list(_: argparse.Namespace) -> int:
    from calc.refrigerants import get, names
    from ingest.added_refrigerants import put_on_shelf_what_can

    sound, spoilt = put_on_shelf_what_can(_refrigerants_folder())
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


def _refrigerant_check(_: argparse.Namespace) -> int:
    from ingest.added_refrigerants import put_on_shelf_what_can

    sound, spoilt = put_on_shelf_what_can(_refrigerants_folder())
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


def _refrigerant_remove(options: argparse.Namespace) -> int:
    from ingest.added_refrigerants import AddedFileError, remove

    try:
        remove(_refrigerants_folder(), options.name)
    except AddedFileError as error:
        print(f"dewline refrigerant: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    print(f"{options.name} is removed. Start programs that run again; a rig that is configured with it then refuses.")
    return 0


def _refrigerant_add(options: argparse.Namespace) -> int:
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
    path = save(_refrigerants_folder(), file)
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
        "dewline refrigerant: CoolProp makes and checks curves, and is not here: pip install 'dewline[properties]'",
        file=sys.stderr,
    )
    return SETUP_IS_WRONG


# --- replay


def _replay_command(parser: argparse.ArgumentParser) -> None:
    parser.description = (
        "Plays a recorded visit again through record, judge, broker and page, and says at the end where today's judge "
        "says otherwise. The page then stays until Ctrl-C."
    )
    parser.add_argument("record", type=Path, help=f"such as {RECORD}")
    parser.add_argument("--visit", help="by its id; the newest otherwise")
    parser.add_argument("--speed", type=_replay_speed, default=1.0, help="how much faster than it was, 1 to 1000")
    parser.add_argument("--no-page", action="store_true", help="end once it is played, without a page")
    parser.add_argument("--name", default="", help="the name of who watches")
    _place_options(parser)
    parser.add_argument("--broker-port", type=int, default=18830)
    parser.add_argument("--broker-kind", choices=["auto", "mosquitto", "embedded"], default="auto")
    parser.add_argument("--directory", type=Path, help="where the new record goes; else replay-data/ and the time")
    parser.set_defaults(command=_replay)


def _replay_speed(text: str) -> float:
    try:
        speed = float(text)
    except ValueError:
        speed = 0.0
    if not 1.0 <= speed <= 1000.0:
        raise argparse.ArgumentTypeError(f"{text!r}: 1 to 1000 was expected")
    return speed


def _replay(options: argparse.Namespace) -> int:
    from ingest.broker.serve import BrokerSetupError
    from ingest.record.errors import RecordError
    from simulators.errors import SimulatorError

    directory: Path = options.directory or Path("replay-data") / datetime.now().strftime("%Y-%m-%d_%H%M%S")  # noqa: DTZ005
    try:
        check_free("127.0.0.1", options.broker_port, of="the broker", option="--broker-port")
        if not options.no_page:
            check_free(options.host, options.port, of="the page", option="--port")
        directory.mkdir(parents=True, exist_ok=True)
        return asyncio.run(_run_replay(options, directory.resolve()))
    except (PortTakenError, RecordError, BrokerSetupError, SimulatorError, OSError) as error:
        print(f"dewline replay: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    except (KeyboardInterrupt, asyncio.CancelledError):
        print(f"The replay is stopped; what was played stays in {directory}")
        return 0


async def _run_replay(options: argparse.Namespace, directory: Path) -> int:
    from ingest.advice.otherwise import as_lines
    from ingest.broker.serve import serve_broker
    from ingest.config.structs import BrokerConfig
    from ingest.record.reading import open_record
    from ingest.replay.play import play
    from simulators.bench.children import keep_running

    visit = open_record(options.record).visit_named(options.visit)
    into = directory / RECORD
    broker = BrokerConfig(kind=options.broker_kind, listen=f"127.0.0.1:{options.broker_port}")
    print(f"visit {visit.id} at {visit.unit.tag}, into {into}", flush=True)
    async with serve_broker(broker, REPLAYED_RIG, directory) as address:
        page = None
        if not options.no_page:
            arguments = [*_bench_page(options, directory, address), "--record", str(into), "--rig", REPLAYED_RIG]
            log_level = {LOG_LEVEL: _log_level(options).lower()}
            page = asyncio.create_task(keep_running(arguments, log_level, gives_up_at=SETUP_IS_WRONG))
        try:
            played = await play(
                options.record,
                visit,
                into,
                address,
                rig=REPLAYED_RIG,
                speed=options.speed,
                stay=None if page is None else asyncio.Event(),
                tell=partial(print, flush=True),
            )
        finally:
            if page is not None:
                page.cancel()
                await asyncio.wait({page})
    print("\n".join(as_lines(visit, visit.id, played.came_out)))
    return 1 if played.came_out.others else 0


# --- export


def _export_command(parser: argparse.ArgumentParser) -> None:
    parser.description = (
        "Writes a visit out of a record, also while a daemon records: csv has a row for each pack, with value, quality "
        "and standard uncertainty of each channel, the unit in the column's name; parquet the same; senml the packs as "
        "they were published, one a line; json the unit, the journal and the advices (docs/visit.schema.json)."
    )
    where = parser.add_mutually_exclusive_group(required=True)
    where.add_argument("--data", type=Path, help=f"the folder in which {RECORD} is")
    where.add_argument("--record", type=Path, help="the record itself")
    parser.add_argument("--visit", help="by its id; the newest otherwise")
    parser.add_argument("--to", required=True, choices=("csv", "parquet", "senml", "json"), help="the kind of file")
    parser.add_argument("-o", "--out", type=Path, required=True, help="the file, or - for standard output")
    parser.set_defaults(command=_export)


def _export(options: argparse.Namespace) -> int:
    from ingest.export.write import STANDARD_OUTPUT, write_visit
    from ingest.record.errors import RecordError

    record = options.record or options.data / RECORD
    try:
        visit = write_visit(record, options.visit, options.to, options.out)
    except RecordError as error:
        print(f"dewline export: {error}", file=sys.stderr)
        if options.out == STANDARD_OUTPUT:
            _drop_output()
        return SETUP_IS_WRONG
    print(f"visit {visit.id} at {visit.unit.tag} is in {options.out}", file=sys.stderr)
    return 0


# --- import


def _import_command(parser: argparse.ArgumentParser) -> None:
    parser.description = (
        "Brings a CSV log of any logger into a record, as a visit that was read live. A map in TOML says what its "
        "columns are: --guess proposes one from the log, to be reviewed; docs/import.md has its keys. A log comes in "
        "whole or not at all."
    )
    parser.add_argument("log", type=Path, help="the log, with the names of its columns in a line")
    parser.add_argument(
        "--guess", action="store_true", help="propose a map, with a question where it cannot know; --map FILE keeps it"
    )
    parser.add_argument("--map", type=Path, help="the map of its columns, in TOML")
    parser.add_argument("--data", type=Path, help="the folder of the record; not that of a rig")
    parser.add_argument("--no-advice", action="store_true", help="do not judge it: much faster, for a log of days")
    parser.set_defaults(command=_import)


def _import(options: argparse.Namespace) -> int:
    from ingest.config.load import ConfigError
    from ingest.importing.bring_in import bring_in
    from ingest.importing.errors import LogError
    from ingest.importing.guess import guess
    from ingest.importing.log_map import read_map
    from ingest.importing.told import as_lines, progress
    from ingest.record.errors import RecordError

    if not options.guess and not (options.map and options.data):
        print("dewline import: --map and --data are needed; --guess prints a map to begin with", file=sys.stderr)
        return SETUP_IS_WRONG
    try:
        if options.guess:
            return _propose_map(guess(options.log), options.map)
        read = read_map(options.map, options.data / RECORD)
        taken = bring_in(
            options.log,
            read,
            judged=not options.no_advice,
            tell=lambda so_far: print(progress(so_far), file=sys.stderr, flush=True),
        )
    except (ConfigError, LogError, RecordError) as error:
        print(f"dewline import: {error}\nNothing was imported.", file=sys.stderr)
        return SETUP_IS_WRONG
    except KeyboardInterrupt:
        print("Nothing was imported.", file=sys.stderr)
        return STOPPED
    print("\n".join(as_lines(taken, read.rig.record)))
    return 0


def _propose_map(text: str, path: Path | None) -> int:
    """Write a proposed map; one that is there may have been reviewed already, and stays."""
    from ingest.record.beside import written

    if path is None:
        print(text, end="")
        return 0
    if path.exists():
        print(f"dewline import: {path} is there already and may have been reviewed: name another", file=sys.stderr)
        return SETUP_IS_WRONG
    with written(path) as file:
        file.write(text.encode())
    questions = text.count('= "?"')
    print(f"{path} has a question in {questions} places: answer them, and look through the rest")
    return 0


# --- units


def _units_command(parser: argparse.ArgumentParser) -> None:
    record = argparse.ArgumentParser(add_help=False)
    record.add_argument("--record", type=Path, required=True, help="such as visit.sqlite, of a rig on this machine")
    acts = parser.add_subparsers(required=True, metavar="ACT")
    listing = acts.add_parser("list", parents=[record], help="list the units, the last visited first")
    listing.set_defaults(command=_units_list)
    history = acts.add_parser("history", parents=[record], help="tell the visits and the readings of parts of a unit")
    history.add_argument("tag", help="as it is engraved")
    history.add_argument("--units", choices=("us", "si"), default="us", help="of the figures")
    history.set_defaults(command=_units_history)
    issue = acts.add_parser("issue", parents=[record], help="make up tags that no unit has, to be engraved")
    issue.add_argument("--count", type=int, choices=range(1, 101), default=1, metavar="N", help="how many, up to 100")
    issue.set_defaults(command=_units_issue)
    label = acts.add_parser("label", help="draw a label: the tag as a QR code and in large print")
    label.add_argument("tag", help="as it is engraved")
    label.add_argument("--out", type=Path, help="an SVG file; else it is printed")
    label.set_defaults(command=_units_label)
    export = acts.add_parser("export", parents=[record], help="write all units into a file")
    export.add_argument("file", type=Path, help="its name ends in .csv or .json")
    export.set_defaults(command=_units_export)
    bring = acts.add_parser("import", parents=[record], help="take units from a file, all of them or none")
    bring.add_argument("file", type=Path, help="its name ends in .csv or .json; docs/units.md has its columns")
    bring.add_argument("--confirmed", action="store_true", help="what the import asked is so")
    bring.set_defaults(command=_units_import)


def _units_list(options: argparse.Namespace) -> int:
    from ingest.record.errors import RecordError
    from ingest.record.reading import RecordFile
    from ingest.register.listing import as_lines

    history = RecordFile(options.record)
    try:
        lines = as_lines(history.sheets(), history.visited())
    except RecordError as error:
        print(f"dewline units: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    print("\n".join(lines) if lines else f"there is no unit in {options.record} yet")
    return 0


def _units_history(options: argparse.Namespace) -> int:
    from ingest.record.errors import RecordError
    from ingest.record.reading import RecordFile
    from ingest.register.remembered import as_lines

    try:
        lines = as_lines(RecordFile(options.record), options.tag, options.units)
    except RecordError as error:
        print(f"dewline units: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    print("\n".join(lines) if lines else f"{options.record} knows of no visit to {options.tag}")
    return 0


def _units_issue(options: argparse.Namespace) -> int:
    from ingest.record.errors import RecordError
    from ingest.record.reading import RecordFile
    from ingest.visit.tags import issue

    try:
        taken = [kept.sheet.tag for kept in RecordFile(options.record).sheets()]
    except RecordError as error:
        print(f"dewline units: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    for _ in range(options.count):
        taken.append(issue(taken, secrets.choice))
        print(taken[-1])
    return 0


def _units_label(options: argparse.Namespace) -> int:
    from ingest.record.beside import written
    from ingest.record.errors import RecordError
    from ingest.register.label import as_svg
    from ingest.visit.tags import kind_of
    from ingest.wire.texts import LONGEST_NAME, fault, is_empty

    wrong = "is empty" if is_empty(options.tag) else fault(options.tag, LONGEST_NAME)
    if wrong:
        print(f"dewline units: the tag {wrong}", file=sys.stderr)
        return SETUP_IS_WRONG
    if kind_of(options.tag) == "mistyped":
        print("dewline units: is that tag right? Its check character does not fit.", file=sys.stderr)
    if options.out is None:
        print(as_svg(options.tag), end="")
        return 0
    try:
        with written(options.out) as file:
            file.write(as_svg(options.tag).encode())
    except RecordError as error:
        print(f"dewline units: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    return 0


def _units_export(options: argparse.Namespace) -> int:
    from ingest.record.errors import RecordError
    from ingest.record.reading import RecordFile
    from ingest.register.bringing_in import RegisterError, write_sheets

    try:
        sheets = [kept.sheet for kept in RecordFile(options.record).sheets()]
        write_sheets(options.file, sheets)
    except (RecordError, RegisterError) as error:
        print(f"dewline units: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    print(f"{len(sheets)} units are in {options.file}")
    return 0


def _units_import(options: argparse.Namespace) -> int:
    from ingest.record.errors import RecordError
    from ingest.register.bringing_in import RegisterError, bring_in, read_sheets
    from ingest.register.faults import UnitsFileError

    try:
        sheets = read_sheets(options.file)
        found = bring_in(options.record, sheets, time_s=round(time.time(), 3), confirmed=options.confirmed)
    except (RecordError, RegisterError, UnitsFileError) as error:
        print(f"dewline units: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    print(f"{found.new} units are new, {found.changed} changed, {found.same} were as they are")
    return 0


# --- report, verify


def _report_command(parser: argparse.ArgumentParser) -> None:
    parser.description = (
        "Makes the report of a visit from its record: the front for the owner, the back for the next technician. "
        "Until the visit is signed it is a draft, and says so on every page."
    )
    parser.add_argument("visit", nargs="?", help="its id; the newest visit of the record otherwise")
    _record_options(parser)
    parser.add_argument("--paper", choices=["a4", "letter"], help="of a PDF; letter with us units, else a4")
    parser.add_argument("--units", choices=["us", "si"], default="us", help="of the figures")
    parser.add_argument("--zone", help="in which times are told, such as America/Chicago; this machine's otherwise")
    parser.add_argument("-o", "--out", type=Path, help="the file; its name ends in .pdf, .html or .json")
    parser.set_defaults(command=_report)


def _verify_command(parser: argparse.ArgumentParser) -> None:
    parser.description = (
        "Tries the file of a report. Exit codes: 0 the record gives the same; 1 this program failed, and nothing was "
        "tried; 2 it cannot be tried; 3 as 0, but marks came later; 6 the file was changed; 7 it is not what the "
        "record says; 8 the record is not as it was signed. Not compared: 4 the record has no such visit; 5 it names "
        "another version; 9 the visit was erased; 10 an earlier visit was; 11 photographs are amiss."
    )
    parser.add_argument("file", type=Path, help="a report as it was made: PDF, HTML or JSON")
    _record_options(parser)
    parser.set_defaults(command=_verify)


def _record_options(parser: argparse.ArgumentParser) -> None:
    place = parser.add_mutually_exclusive_group(required=True)
    place.add_argument("--record", type=Path, help="such as visit.sqlite")
    place.add_argument("--data", type=Path, help="the folder of a bench, with its record in it")


VERIFIED = {
    "matches": 0,
    "later": 3,
    "no_visit": 4,
    "not_compared": 5,
    "changed": 6,
    "differs": 7,
    "seal_broken": 8,
    "erased": 9,
    "earlier_erased": 10,
    "photographs": 11,
}
"""The exit codes of `dewline verify`. None is 1: with that Python ends where the program itself failed."""
LARGEST_REPORT_BYTES = 64 * 1024 * 1024
"""Ours are of some megabytes: what is larger is not read into memory."""


def _report(options: argparse.Namespace) -> int:
    from ingest.record.beside import written
    from ingest.record.errors import RecordError
    from ingest.record.reading import RecordFile
    from ingest.report.errors import PaperError, ReportError
    from ingest.report.making import Asked, form_of_name, make

    started_s = time.monotonic()
    try:
        history = RecordFile(_record_file(options))
        visit = options.visit or _newest_visit(history)
        out: Path = options.out or Path(f"report-{visit}.pdf")
        asked = Asked(
            visit=visit,
            form=form_of_name(out.name),
            system=options.units,
            zone=options.zone or _zone_here(),
            paper=options.paper or ("letter" if options.units == "us" else "a4"),
        )
        made = make(history, asked, charts=_charts(), tell=lambda step: print(f"{step} …", file=sys.stderr, flush=True))
        with written(out, history.path) as file:
            file.write(made)
    except (RecordError, ReportError, PaperError) as error:
        print(f"dewline report: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    except OSError as error:
        print(f"dewline report: {error.filename} cannot be read: {error.strerror}", file=sys.stderr)
        return SETUP_IS_WRONG
    print(f"{out}: {len(made) / 1000:.0f} kB, in {time.monotonic() - started_s:.1f} s")
    print(_proven(history, asked))
    return 0


def _proven(history: "History", asked: "Asked") -> str:
    """Say what an independent library makes of the figures of a report."""
    from ingest.report.proof import is_there, prove_visit

    if not is_there():
        return "CoolProp would work its figures out again: pip install 'dewline[properties]'"
    proof = prove_visit(history, asked.visit, asked.zone)
    if not proof.figures:
        return f"{proof.library} had no superheat or subcooling to work out again."
    left = f"; at {proof.not_flashed} more pressures it found no equilibrium" if proof.not_flashed else ""
    return f"{proof.library} works out the same {proof.figures} figures within {1e3 * proof.worst_dk:.1f} mK{left}."


def _verify(options: argparse.Namespace) -> int:
    from ingest.record.errors import RecordError
    from ingest.record.reading import RecordFile
    from ingest.report.errors import PaperError, ReportError
    from ingest.report.verifying import verify

    try:
        if not options.file.is_file():
            print(f"dewline verify: {options.file} is no file that is there to be read", file=sys.stderr)
            return SETUP_IS_WRONG
        if options.file.stat().st_size > LARGEST_REPORT_BYTES:
            print(f"dewline verify: {options.file} has more than 64 MiB: it is no report", file=sys.stderr)
            return SETUP_IS_WRONG
        found = verify(options.file.read_bytes(), RecordFile(_record_file(options)), charts=_charts())
    except (RecordError, ReportError, PaperError) as error:
        print(f"dewline verify: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    except OSError as error:
        print(f"dewline verify: {error.filename} cannot be read: {error.strerror}", file=sys.stderr)
        return SETUP_IS_WRONG
    if found.made is not None:
        print(f"Visit {found.made.visit}, code {found.made.code}, journal {found.made.digest}")
    print(found.says)
    return VERIFIED[found.outcome]


def _newest_visit(history: "History") -> str:
    from ingest.report.errors import ReportError

    visit = history.newest_visit()
    if visit is None:
        raise ReportError("there is no visit in the record yet")
    return visit


def _record_file(options: argparse.Namespace) -> Path:
    """Give the record that the options name; of a folder the one in it.

    Raises:
        ReportError: there is none, or several.

    """
    from ingest.report.errors import ReportError

    if options.record is not None:
        path: Path = options.record
        if not path.is_file():
            raise ReportError(f"there is no record {path}")
        return path
    folder: Path = options.data
    found = sorted(folder.glob("*.sqlite"))
    if len(found) != 1:
        names = ", ".join(each.name for each in found) or "none"
        raise ReportError(f"{options.data} was to have one record in it, a file *.sqlite; found: {names}")
    return found[0]


def _charts() -> str:
    """Give the script of the charts that the page serves."""
    import dashboard

    folder = Path(dashboard.__file__).parent
    return (folder / "shared" / "browser" / "plotly-basic.min.js").read_text(encoding="utf-8")


def _zone_here() -> str:
    """Name the time zone of this machine, as the IANA has it; UTC where it does not say."""
    place = Path(os.environ.get("TZ", "").removeprefix(":") or "/etc/localtime")
    _, zoneinfo, name = str(place.resolve() if place.is_absolute() else place).rpartition("zoneinfo/")
    return name if zoneinfo or not place.is_absolute() else "UTC"


# --- dashboard


def _dashboard_command(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--broker", required=True, help="mqtt://host:port, or mqtts://user@host:port")
    parser.add_argument("--password-file", type=Path, help="the broker password; or set DEWLINE_BROKER_PASSWORD")
    parser.add_argument("--authority-file", default="", help="the certificate authority that signed the broker's")
    parser.add_argument("--rig", type=_rig_name, help="the rig to watch; else the first one heard")
    parser.add_argument("--record", type=Path, help="the rig's record, where it is on this machine")
    parser.add_argument(
        "--role",
        choices=["technician", "lead", "none"],
        default="technician",
        help="who someone at this machine is, without an invitation; none behind a relay that does not show itself",
    )
    parser.add_argument("--name", default="", help="the name that stands beside what they do")
    _page_options(parser)
    parser.set_defaults(command=_dashboard)


def _rig_name(text: str) -> str:
    from ingest.checking.check import WIRE_NAME, WIRE_NAME_RULE
    from ingest.wire.texts import shown

    if not WIRE_NAME.fullmatch(text):
        raise argparse.ArgumentTypeError(f"'{shown(text)}' is no name of a rig; {WIRE_NAME_RULE}")
    return text


def _page_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--data-directory", type=Path, help="where the page keeps its secret")
    relay = "an address from which a relay that ends TLS passes requests on; may be given again"
    parser.add_argument("--relay", action="append", default=[], help=relay)
    _place_options(parser)


def _place_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--host", default="127.0.0.1", help="the address to listen on")
    parser.add_argument("--port", type=int, default=8050, help="of the page")
    parser.add_argument("--certificate", type=Path, help="TLS certificate; needed beyond this machine")
    parser.add_argument("--key", type=Path, help="the certificate's key")
    parser.add_argument("--public-name", default="", help="the host name in links, where it is not this machine's")


def _data_directory(options: argparse.Namespace) -> Path:
    from platformdirs import user_data_path

    directory: Path = options.data_directory or user_data_path("dewline")
    directory.mkdir(parents=True, exist_ok=True)
    return directory


def _broker_password(options: argparse.Namespace) -> str:
    if options.password_file:
        return read_password(options.password_file)
    return os.environ.get("DEWLINE_BROKER_PASSWORD", "")


def _dashboard(options: argparse.Namespace) -> int:
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
            data_directory=_data_directory(options),
            certificate=options.certificate,
            key=options.key,
            public_name=options.public_name,
            relays=frozenset(options.relay),
            open_loopback_role=None if options.role == "none" else options.role,
            technician=options.name or ("technician" if options.role == "none" else options.role),
        )
        check_free(settings.host, settings.port, of="the page", option="--port")
        with leaving_a_note(settings):
            asyncio.run(serve(settings, report_maker(settings.record) if settings.record else None))
    except (MessageError, SettingsError, PasswordError, PortTakenError, OSError) as error:
        print(f"dewline dashboard: {error}", file=sys.stderr)
        return 2
    return 0


def report_maker(record: Path) -> "ReportMaker":
    """Give the page what makes reports from a record: it may not know itself how they are drawn.

    Each is made in a process of its own: what draws keeps hundreds of megabytes for the next one, which the page's
    server, that runs for weeks, has no use for.
    """
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool
    from multiprocessing import get_context

    from dashboard.errors import ReportRefusedError
    from dashboard.reports import MadeReport
    from ingest.record.errors import RecordError
    from ingest.record.reading import RecordFile
    from ingest.report.errors import ErasedVisitError, PaperError, ReportError, UnknownVisitError
    from ingest.report.making import Asked, make, policy_of

    charts = _charts()

    def made(visit: str, form: "Form", *, system: "System", zone: str, paper: "Paper") -> MadeReport:
        asked = Asked(visit=visit, form=form, system=system, zone=zone, paper=paper)
        try:
            with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as alone:
                data = alone.submit(make, RecordFile(record), asked, charts=charts).result()
        except (UnknownVisitError, ErasedVisitError) as error:
            raise ReportRefusedError(404, f"There is no report: {error}.") from error
        except ReportError as error:
            raise ReportRefusedError(400, f"There is no report: {error}.") from error
        except (RecordError, PaperError) as error:
            raise ReportRefusedError(503, f"The report could not be made: {error}.") from error
        except BrokenProcessPool as error:
            raise ReportRefusedError(503, "What makes the report ended before it was done. Try once more.") from error
        return MadeReport(data, policy_of(form, charts))

    return made


# --- invite


def _invite_command(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--role", choices=["technician", "lead"], default="lead")
    ending = parser.add_mutually_exclusive_group()
    ending.add_argument("--revoke", metavar="NAME", help="end the logins that a person of this name holds, at once")
    ending.add_argument("--revoke-all", action="store_true", help="end every login, and every link not used yet")
    _page_options(parser)
    parser.set_defaults(command=_invite)


def _invite(options: argparse.Namespace) -> int:
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
        return msgspec.structs.replace(described, data_directory=_data_directory(options))
    asked = _asked_for(options)
    served = served_places()
    if len(served) == 1:
        return served[0]
    if served:
        ways = "".join(f"\n  {command_for(place, *asked)}" for place in served)
        raise SettingsError(f"{len(served)} pages are served on this machine; type one of{ways}")
    usual = msgspec.structs.replace(described, data_directory=_data_directory(options))
    raise SettingsError(f"no page is served on this machine; start it first, or type\n  {command_for(usual, *asked)}")


# --- bench


def _bench_command(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--scenario", help="a name in simulators/scenarios, a file, or any; long_lines otherwise")
    parser.add_argument("--list", action="store_true", help="list the scenarios")
    parser.add_argument("--blind", action="store_true", help="hide what is wrong until the trainee's verdict")
    parser.add_argument("--script", type=Path, help="a visit to play, from a TOML file; it names its own scenario")
    parser.add_argument("--speed", type=float, default=1.0, help="how much faster than life the unit runs")
    parser.add_argument("--name", default="", help="who works at this machine, as their lock and signature have it")
    _place_options(parser)
    parser.add_argument("--broker-port", type=int, default=18830)
    parser.add_argument("--broker-kind", choices=["auto", "mosquitto", "embedded"], default="auto")
    parser.add_argument("--directory", type=Path, help="where the record goes; else bench-data/ and the time")
    parser.set_defaults(command=_bench)


def _bench(options: argparse.Namespace) -> int:
    from simulators.bench.alone import alone_in
    from simulators.bench.bench import check_speed
    from simulators.errors import SimulatorError

    if options.list:
        _list_scenarios()
        return 0
    try:
        check_speed(options.speed)
        check_free(options.host, options.port, of="the page", option="--port")
        check_free("127.0.0.1", options.broker_port, of="the broker", option="--broker-port")
    except (PortTakenError, SimulatorError) as error:
        print(f"dewline bench: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    directory: Path = options.directory or Path("bench-data") / datetime.now().strftime("%Y-%m-%d_%H%M%S")  # noqa: DTZ005
    try:
        with alone_in(directory.resolve()):
            asyncio.run(_run_bench(options, directory.resolve()))
    except SimulatorError as error:
        print(f"dewline bench: {error}", file=sys.stderr)
        return SETUP_IS_WRONG
    except (KeyboardInterrupt, asyncio.CancelledError):
        print(f"The bench is stopped; its record stays in {directory}")
    return 0


def _list_scenarios() -> None:
    from simulators.bench.scenario import file_of, names

    width = max(len(name) for name in names())
    for name in names():
        file = file_of(name)
        print(f"{name:{width}} {'*' if file.truth else ' '} {file.title}")
    print("* hides a fault, which --blind keeps from the trainee until the verdict")


async def _run_bench(options: argparse.Namespace, directory: Path) -> None:
    from simulators.bench.bench import STARTS_ANEW, SimulatedRig
    from simulators.bench.children import keep_running
    from simulators.bench.scenario import load_scenario, names
    from simulators.bench.script import load_script
    from simulators.errors import SimulatorError

    this_task = asyncio.current_task()
    assert this_task is not None  # noqa: S101 - we are inside it
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        asyncio.get_running_loop().add_signal_handler(number, this_task.cancel)
    broker = BrokerAddress(host="127.0.0.1", port=options.broker_port)
    script = None if options.script is None else load_script(options.script)
    if script is not None and options.scenario:
        raise SimulatorError(f"{options.script} names its own scenario; leave --scenario {options.scenario} out")
    if script is not None:
        scenario = script.scenario
    else:
        name = options.scenario or "long_lines"
        scenario = load_scenario(secrets.choice(names()) if name == "any" else name)
    page = _bench_page(options, directory, broker)
    log_level = {LOG_LEVEL: _log_level(options).lower()}
    bench = SimulatedRig(
        scenario,
        speed=options.speed,
        directory=directory,
        blind=options.blind,
        script=script,
        tell=partial(print, flush=True),
    )
    async with bench as rig:
        configuration = directory / "rig.toml"
        if rig.starts_anew:
            print(STARTS_ANEW)
        print(f"The record: {rig.record}", flush=True)
        configuration.write_text(rig.configuration(options.broker_port, options.broker_kind), encoding="utf-8")
        daemon = ["daemon", "--config", str(configuration)]
        async with _as_one_error(), asyncio.TaskGroup() as group:
            group.create_task(rig.lasts())
            group.create_task(rig.follow(broker))
            group.create_task(_end_with(rig.ended, this_task))
            group.create_task(keep_running(daemon, rig.environment() | log_level, gives_up_at=SETUP_IS_WRONG))
            page += ["--record", str(rig.record)]
            async with _as_one_error(), asyncio.TaskGroup() as first_to_end:  # before its broker, which it would miss
                first_to_end.create_task(keep_running(page, log_level, gives_up_at=SETUP_IS_WRONG))


async def _end_with(ended: asyncio.Event, bench: "asyncio.Task[None]") -> None:
    """Stop the bench when its script is over."""
    await ended.wait()
    bench.cancel()


@asynccontextmanager
async def _as_one_error() -> AsyncIterator[None]:
    """Give what ended the bench as it is, not as a group of one."""
    from simulators.errors import SimulatorError

    try:
        yield
    except* SimulatorError as errors:
        raise SimulatorError(str(errors.exceptions[0])) from errors


def _bench_page(options: argparse.Namespace, directory: Path, broker: BrokerAddress) -> list[str]:
    """Give the command that serves the page, and say where to open it: beyond this machine by the door only."""
    from dashboard.auth import make_invitation
    from dashboard.own_certificate import fingerprint, own_certificate
    from dashboard.settings import PagePlace, is_loopback

    page = ["dashboard", "--broker", f"mqtt://{broker.host}:{broker.port}", "--data-directory", str(directory)]
    page += ["--host", options.host, "--port", str(options.port), "--public-name", options.public_name]
    page += ["--name", options.name]
    if is_loopback(options.host):
        place = PagePlace(data_directory=directory, host=options.host, port=options.port)
        print(f"The page: http://{options.host}:{options.port} (stop with Ctrl-C)")
        print(f"A lead on this machine opens, once:\n  {make_invitation(place, 'lead')}", flush=True)
        return page
    certificate, key = options.certificate, options.key
    if certificate is None:
        certificate, key = own_certificate(directory.parent / "certificates", options.public_name or options.host)
        print(f"The page's certificate is its own: the browser warns once. Its SHA-256: {fingerprint(certificate)}")
    place = PagePlace(
        data_directory=directory,
        host=options.host,
        port=options.port,
        certificate=certificate,
        public_name=options.public_name,
    )
    print(f"Open this once on the tablet, within a day:\n  {make_invitation(place, 'technician')}")
    print(f"A lead opens, once:\n  {make_invitation(place, 'lead')}", flush=True)
    return [*page, "--certificate", str(certificate), "--key", str(key)]


if __name__ == "__main__":
    sys.exit(main())
