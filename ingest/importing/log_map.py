"""The map of a log: what its lines, its stamps and its columns are. Written in TOML, checked as a whole."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Literal

import msgspec

from calc.quantities import CHANNELS, Quantity
from ingest.checking.check import Check
from ingest.checking.structure import Problem, find_problems
from ingest.config.load import ConfigError, in_small_letters, read_toml
from ingest.config.resolve import resolve_barometric_pressure, resolve_channel, resolve_unit
from ingest.config.structs import ChannelConfig, UnitConfig
from ingest.importing.zones import ZONE_RULE, zone_of
from ingest.kinds.kind import read_time
from ingest.rig import ChannelSetup, InstrumentSetup, Rig
from ingest.visit import tags
from ingest.wire.texts import LONGEST_NAME, is_empty

OPEN = "?"
"""What stands in a proposed map where only a person can know."""

MISSING = ("", "NaN", "nan", "null", "-", "--", "---")
OVERLOAD = ("OL",)
OF_ITS_NAME = "name"
"""What stands as the date where the name of the log says it."""

UNLIKE_OTHERS = ("barometric_pressure", "vacuum_pressure")
"""Pressures whose instruments are as fine as no gauge is: nothing that is usual holds for them."""
STAMP_WORDS = ("iso", "unix_s", "unix_ms", "elapsed_s", "spreadsheet")
Faulty = Literal["refuse", "leave_out"]


class LinesMap(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[log]`: the lines of the file.

    logger: its name, as the record has it. interval: from one reading to the next. header_line: which line names the
    columns, from 1. skip: so many lines after that are no readings. missing, overload: what stands in a cell for no
    value, and for one beyond the range. broken_lines: what to do with a line that cannot be read.
    """

    interval: str
    logger: str = "logger"
    encoding: str = "utf-8"
    separator: str = ","
    decimal: Literal[".", ","] = "."
    header_line: int = 1
    skip: int = 0
    missing: list[str] = msgspec.field(default_factory=lambda: list(MISSING))
    overload: list[str] = msgspec.field(default_factory=lambda: list(OVERLOAD))
    broken_lines: Faulty = "refuse"


class TimeMap(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[time]`: the stamps.

    column: where they are; and_column: where the time of day is, if it has a column of its own. format: one of
    STAMP_WORDS, or as strptime has it. zone: as `zones.zone_of` reads it. start: of `elapsed_s`, as ISO 8601. date: of
    times of day that have none, as ISO 8601, or OF_ITS_NAME. value: what a stamp stands for. not_later: what to do with
    a line whose stamp is not after the one before.
    """

    column: str
    format: str
    zone: str
    value: Literal["sample", "average_before", "average_after"]
    and_column: str = ""
    start: str = ""
    date: str = ""
    not_later: Faulty = "refuse"


class SiteMap(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[site]`: the air there, from which gauge pressures count, and with which the judge reckons; one of the two."""

    elevation: str | None = None
    barometric_pressure: str | None = None


class UsualMap(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[usual.QUANTITY]`: what holds for each column of a quantity that does not say otherwise."""

    accuracy: str = ""
    reference: Literal["gauge", "absolute"] | None = None


class ColumnMap(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[[channel]]`: one column that is read. The other keys are those of a rig's `[[instrument.channel]]`."""

    column: str
    channel: str
    unit: str
    accuracy: str = ""
    reference: Literal["gauge", "absolute"] | None = None
    interval: str = ""
    offset: str | None = None
    slope: float = 1.0
    calibrated: str = ""


class LogMap(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A whole map."""

    log: LinesMap
    time: TimeMap
    site: SiteMap
    unit: UnitConfig
    usual: dict[str, UsualMap] = msgspec.field(default_factory=dict)
    channels: list[ColumnMap] = msgspec.field(name="channel")


@dataclass(frozen=True, slots=True)
class ReadMap:
    """A map whose every text was read. interval_s: of the log; rig: what would have measured this live."""

    written: LogMap
    rig: Rig
    interval_s: float


def read_map(path: Path, record: Path) -> ReadMap:
    """Read and check a map. record: where the log is to go.

    Raises:
        ConfigError: with everything that is wrong with it, each with its line.

    """
    data = in_small_letters(read_toml(path))
    problems = list(_open_questions(data, ""))
    asked = {problem.key for problem in problems}
    problems += [it for it in find_problems(data, LogMap) if it.key not in asked and not _is_tab(it)]
    read = None if problems else _resolve(_with_usual(msgspec.convert(data, LogMap)), record, problems)
    if read is None or problems:
        text = path.read_text(encoding="utf-8")
        raise ConfigError(path, [_with_line(problem, text) for problem in problems])
    return read


_QUESTIONS: Mapping[str, str] = {
    "format": 'how stamps are written, such as "%d/%m/%Y %H:%M:%S" (day first) or "%m/%d/%Y %H:%M:%S" (month first)',
    "decimal": '"." or ",": its numbers have both, and one of them may part thousands: take that out of the log',
    "start": 'when the log began, by the logger\'s clock, such as "2026-03-31T14:05:00"',
    "zone": ZONE_RULE,
    "value": 'whether it is a "sample" of that moment, or an "average_before" or "average_after" the stamp',
    "unit": 'the unit that the logger wrote, such as "psi" or "degF": its papers or its settings say it',
    "reference": '"gauge" or "absolute": the transducer\'s plate says it; sealed ones read zero in a vacuum',
    "accuracy": 'the ± limit of the maker with its unit, such as "0.5 degC": without it no figure has a ±',
    "elevation": 'how high the site lies, such as "120 m": gauge pressures count from the air there',
    "refrigerant": "the one on the nameplate",
    "metering_device": '"fixed_orifice", "txv" or "eev"',
    "date": 'of which day the times are, such as "2026-03-31", or "name" where the name of the log has it',
    "tag": "what is engraved on the unit, or a name for it",
    "channel": "which of the channels it is (docs/configuration.md names them), or take the table out",
    "column": "no name or place means it alone: rename the columns in a copy of the log",
    "interval": 'from one reading to the next, such as "1 s"',
}


def question_of(key: str) -> str:
    """Say what is asked by a key that a proposed map left open."""
    return _QUESTIONS.get(key.rpartition(".")[2], "what it is")


def _is_tab(problem: Problem) -> bool:
    """Whether it is only that a tab is a control character, which may part cells."""
    return (problem.key, problem.value) == ("log.separator", "\t")


def _open_questions(value: object, key: str) -> list[Problem]:
    """Find what a proposed map left open."""
    if isinstance(value, Mapping):
        return [it for name, each in value.items() for it in _open_questions(each, f"{key}.{name}" if key else name)]
    if isinstance(value, list):
        return [it for index, each in enumerate(value) for it in _open_questions(each, f"{key}[{index}]")]
    if value != OPEN:
        return []
    asked = question_of(key)
    return [Problem(key, value, f"only a person can know; {asked}")]


def _resolve(written: LogMap, record: Path, problems: list[Problem]) -> ReadMap | None:
    check = Check(problems)
    _check_lines(check, written.log)
    _check_time(check, written.time)
    interval_s = read_time(check, "log.interval", written.log.interval)
    site = written.site
    pressure_pa, uncertainty_pa = resolve_barometric_pressure(check, "site", site.elevation, site.barometric_pressure)
    unit = resolve_unit(check, written.unit)
    if unit and (wrong := tags.fault(unit.tag)):
        check.wrong("unit.tag", unit.tag, wrong)
    channels = _channels(check, written, interval_s)
    if unit is None or problems:
        return None
    logger = InstrumentSetup(written.log.logger, "log", interval_s, channels)
    rig = Rig("imported", record, pressure_pa, uncertainty_pa, unit, (logger,))
    return ReadMap(written, rig, interval_s)


def _with_usual(written: LogMap) -> LogMap:
    """Give each column what is usual for its quantity, where it says nothing else."""

    def filled(column: ColumnMap) -> ColumnMap:
        quantity = CHANNELS.get(column.channel)
        usual = written.usual.get(quantity.name.lower()) if quantity else None
        if usual is None or column.channel in UNLIKE_OTHERS:
            return column
        reference = column.reference or (usual.reference if quantity is Quantity.PRESSURE else None)
        return msgspec.structs.replace(column, accuracy=column.accuracy or usual.accuracy, reference=reference)

    return msgspec.structs.replace(written, channels=[filled(column) for column in written.channels])


def _channels(check: Check, written: LogMap, interval_s: float) -> tuple[ChannelSetup, ...]:
    if not written.channels:
        check.wrong("channel", None, "is empty; at least one [[channel]] was expected")
    seen: dict[str, str] = {}
    found = []
    for name in set(written.usual) - {quantity.name.lower() for quantity in CHANNELS.values()}:
        check.wrong(f"usual.{name}", name, "a quantity was expected, such as pressure, temperature or current")
    for index, column in enumerate(written.channels):
        key = f"channel[{index}]"
        if not column.accuracy:
            check.wrong(f"{key}.accuracy", None, f"is missing, here and under [usual]; {_QUESTIONS['accuracy']}")
            continue
        check.first(seen, f"{key}.channel", column.channel)
        every_s = read_time(check, f"{key}.interval", column.interval) if column.interval else interval_s
        config = ChannelConfig(
            channel=column.channel,
            field=column.column,
            unit=column.unit,
            accuracy=column.accuracy,
            reference=column.reference,
            offset=column.offset,
            slope=column.slope,
            calibrated=column.calibrated,
        )
        found.append(resolve_channel(check, key, config, written.log.logger, every_s))
    return tuple(setup for setup in found if setup)


def _check_lines(check: Check, log: LinesMap) -> None:
    if is_empty(log.logger):
        check.wrong("log.logger", log.logger, "a name was expected")
    check.seen("log.logger", log.logger, LONGEST_NAME)
    try:
        "".encode(log.encoding)
    except (LookupError, ValueError):
        check.wrong(
            "log.encoding", log.encoding, '"utf-8", "utf-16", "cp1252" or another that Python knows was expected'
        )
    if len(log.separator) != 1 or log.separator in '"\r\n' or log.separator.isalnum():
        check.wrong("log.separator", log.separator, 'one sign was expected, such as "," or ";" or "\\t"')
    elif log.separator == log.decimal:
        check.wrong("log.decimal", log.decimal, "the separator is the same sign; it cannot be both")
    if log.header_line < 1:
        check.wrong("log.header_line", log.header_line, "lines count from 1")
    if log.skip < 0:
        check.wrong("log.skip", log.skip, "0 or more was expected")


def _check_time(check: Check, time: TimeMap) -> None:
    if time.format not in STAMP_WORDS and "%" not in time.format:
        expected = f'one of {", ".join(STAMP_WORDS)}, or signs of strptime such as "%Y-%m-%d %H:%M:%S", was expected'
        check.wrong("time.format", time.format, expected)
    if "%I" in time.format and "%p" not in time.format:
        check.wrong("time.format", time.format, "%I is an hour of twelve: %p (AM or PM) was expected too, or %H")
    if time.format.startswith("unix") and time.zone != "UTC":
        check.wrong("time.zone", time.zone, '"UTC" was expected: seconds since 1970 count from there')
    try:
        zone_of(time.zone)
    except ValueError as error:
        check.wrong("time.zone", time.zone, str(error))
    if "%" in time.format and not any(sign in time.format for sign in ("%d", "%j", "%x", "%c")):
        _check_date(check, time)
    elif time.date:
        check.wrong("time.date", time.date, "the stamps have a date of their own; leave it out")
    if time.format == "elapsed_s":
        try:
            datetime.fromisoformat(time.start)
        except ValueError:
            check.wrong("time.start", time.start, 'when the log began was expected, such as "2026-03-31T14:05:00"')


def _check_date(check: Check, time: TimeMap) -> None:
    try:
        if time.date != OF_ITS_NAME:
            date.fromisoformat(time.date)
    except ValueError:
        expected = (
            'the day of these times was expected, such as "2026-03-31", or "name" where the name of the log has it'
        )
        check.wrong("time.date", time.date or None, expected)


def _with_line(problem: Problem, text: str) -> Problem:
    """Say in which line of the map a key stands, or its table where the key is missing."""
    line = _line_of(problem.key, text)
    return Problem(f"line {line}: {problem.key}" if line else problem.key, problem.value, problem.expected)


_TABLE = re.compile(r"\s*\[+\s*([\w.]+)\s*\]+")
_KEY = re.compile(r"\s*([\w.]+)\s*=")


def _line_of(key: str, text: str) -> int:
    """Find the line of a key such as `channel[2].unit`; 0 where its table is not there."""
    table, begun = "", 0
    counts: dict[str, int] = {}
    wanted, _, last = key.rpartition(".")
    for number, line in enumerate(text.splitlines(), 1):
        if found := _TABLE.match(line):
            name = found[1]
            counts[name] = counts.get(name, -1) + 1
            table = f"{name}[{counts[name]}]" if line.lstrip().startswith("[[") else name
            begun = number if table == wanted else begun
        elif (found := _KEY.match(line)) and table == wanted and found[1] == last:
            return number
    return begun
