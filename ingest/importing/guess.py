"""A map proposed for a log, from its first lines: what they show is filled in, what they cannot show is a question.

Whoever reviews the map decides. A unit that the header states is taken; one that it does not is never concluded from
the size of the numbers, nor is gauge or absolute, nor the order of day and month where both could be.
"""

import csv
import json
import re
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from itertools import islice, pairwise
from pathlib import Path
from statistics import median

from calc.errors import CalcError
from calc.quantities import CHANNELS, Quantity
from calc.units import conversion
from ingest.importing.errors import LogError
from ingest.importing.lines import LONGEST_LINE, check_is_file, marked_as, places
from ingest.importing.log_map import OPEN
from ingest.importing.stated import kinds, parted

_MOST = 0.95
"""Of all stamps that many fit, and the first of them: the others may be broken."""
_LOOKED_AT = 5000
"""Lines: enough to see a day that is no month in most logs of more than an hour."""
_SEPARATORS = ("\t", ";", ",", "|")
_NUMBER = re.compile(r"[-+]?\d+([.,]\d+)?([eE][-+]?\d+)?")
_DATES = (
    "%Y-%m-%d",
    "%Y/%m/%d",
    *(f"{form}{year}" for year in ("%Y", "%y") for form in ("%d/%m/", "%m/%d/", "%d.%m.", "%d-%m-", "%m-%d-")),
    "%y/%m/%d",
    "%y-%m-%d",
    "%y.%m.%d",
)
_TIMES = ("%H:%M:%S.%f", "%H:%M:%S", "%H:%M", "%I:%M:%S %p", "%I:%M %p")
_FORMATS = ("iso", *(f"{date} {time}" for date in _DATES for time in _TIMES))
_STAMP = re.compile(r"\b(time|date|timestamp|datetime|clock)\b", re.IGNORECASE)

_WORDS: Sequence[tuple[str, Sequence[str]]] = (
    ("suction_pressure", ("suction|low side|low", "pressure|press|p")),
    ("discharge_pressure", ("discharge", "pressure|press|p")),
    ("liquid_pressure", ("liquid|high side|high", "pressure|press|p")),
    ("barometric_pressure", ("barometric|barometer|atmospheric", "")),
    ("suction_line_temperature", ("suction|vapor|vapour", "temperature|temp|t")),
    ("discharge_line_temperature", ("discharge|hot gas", "temperature|temp|t")),
    ("liquid_line_temperature", ("liquid", "temperature|temp|t")),
    ("return_air_wet_bulb", ("return|entering|indoor", "wet bulb|wb")),
    ("return_air_humidity", ("return|entering|indoor", "humidity|rh")),
    ("supply_air_humidity", ("supply|leaving", "humidity|rh")),
    ("return_air_temperature", ("return|entering|indoor", "temperature|temp|t|air|dry bulb")),
    ("supply_air_temperature", ("supply|leaving", "temperature|temp|t|air|dry bulb")),
    ("outdoor_air_temperature", ("outdoor|outside|ambient", "temperature|temp|t|air|dry bulb")),
    ("compressor_current", ("compressor|comp", "current|amps|a")),
    ("condenser_fan_current", ("condenser fan|outdoor fan|fan", "current|amps|a")),
    ("blower_current", ("blower|indoor fan", "current|amps|a")),
    ("line_voltage_ab", ("line|supply|mains", "voltage|volts|v")),
    ("cylinder_mass", ("cylinder|scale", "mass|weight")),
)
"""Words of a header by which a channel is known, all of them, the first that fits: the trade's own."""


@dataclass(slots=True)
class _Seen:
    """What the first lines show. separator and decimal: as in the map; rows: those after the header."""

    encoding: str
    separator: str = ","
    decimal: str = "."
    header_line: int = 1
    skip: int = 0
    header: list[str] = field(default_factory=list)
    units: list[str] = field(default_factory=list)
    rows: list[list[str]] = field(default_factory=list)


def guess(log: Path) -> str:
    """Propose a map for a log, as TOML to be reviewed.

    Raises:
        LogError: it cannot be read, or no table is found in it.

    """
    check_is_file(log)
    try:
        seen = _look(log)
    except OSError as error:
        raise LogError(log, 0, f"cannot be read: {error.strerror}") from error
    stamp = _stamp(seen)
    return "\n".join([*_head(log, seen, stamp), *_channels(seen, stamp)]) + "\n"


# --- the table


def _look(log: Path) -> _Seen:
    encoding, lines = _decoded(log)
    if not any(line.strip() for line in lines):
        raise LogError(log, 0, "is empty")
    separator = max(_SEPARATORS, key=lambda sign: _agreement(lines, sign))
    parted = csv.reader(lines, delimiter=separator, skipinitialspace=True)
    try:
        rows = [[cell.strip() for cell in row] for row in parted]
    except csv.Error as error:
        raise LogError(log, parted.line_num, f"cannot be parted into cells: {error}") from error
    first = next((index for index, row in enumerate(rows) if _is_reading(row, rows)), 0)
    names = [index for index in range(first) if any(rows[index]) and 0 <= len(rows[first]) - len(rows[index]) <= 1]
    if not names:
        raise LogError(log, 0, "no line of names above lines of numbers was found; write the map by hand")
    header, units = names[-1], list[str]()
    if len(names) > 1 and _is_units(rows[header]):
        units, header = rows[header], names[-2]
    seen = _Seen(encoding, separator, ".", header + 1, first - header - 1, rows[header], units, rows[first:])
    if separator != "," and any("," in cell and _NUMBER.fullmatch(cell) for row in seen.rows[:50] for cell in row):
        seen.decimal = ","
    return seen


def _decoded(log: Path) -> tuple[str, list[str]]:
    """Read the first lines; what is no UTF-8 is taken for the eight bits of Western Europe, to be looked at."""
    marked = marked_as(log)
    for encoding in [marked] if marked else ["utf-8", "cp1252"]:
        try:
            with log.open(encoding=encoding, newline="") as file:
                return encoding, [line for line in islice(iter(lambda: file.readline(LONGEST_LINE), ""), _LOOKED_AT)]  # noqa: C416
        except UnicodeError:
            continue
    raise LogError(log, 0, f"is not {marked or 'UTF-8, nor of one byte a letter'}; write the map by hand")


def _agreement(lines: Sequence[str], separator: str) -> tuple[int, int]:
    """Say how many lines part into as many cells as most do, and into how many."""
    counts = [line.count(separator) for line in lines if line.strip()]
    usual = max(set(counts), key=counts.count)
    return (counts.count(usual) if usual else 0), usual


def _is_reading(row: Sequence[str], rows: Sequence[Sequence[str]]) -> bool:
    usual = max((len(each) for each in rows[-50:]), default=0)
    return len(row) > 1 and abs(len(row) - usual) <= 1 and any(_NUMBER.fullmatch(cell) for cell in row)


def _is_units(row: Sequence[str]) -> bool:
    """Tell whether a line below the names says units: some of ours, and nothing that is long."""
    known = [cell for cell in row if cell and kinds(cell.strip("[]()"))]
    return bool(known) and all(len(cell) <= 12 for cell in row)


# --- the stamps


@dataclass(frozen=True, slots=True)
class _Stamp:
    """What was found of the stamps. formats: all that fit. columns: one, or date and time of day."""

    columns: tuple[int, ...]
    formats: tuple[str, ...]
    states_zone: bool
    interval_s: float | None


def _stamp(seen: _Seen) -> _Stamp:
    named = [index for index, name in enumerate(seen.header) if _STAMP.search(name)]
    tried: Iterable[tuple[int, ...]] = [*((index,) for index in named), *pairwise(named), (0,), (0, 1)]
    for columns in tried:
        if max(columns) >= len(seen.header):
            continue
        texts = [" ".join(row[index] for index in columns) for row in seen.rows if len(row) > max(columns)]
        formats = [written for written in ("unix_s", "unix_ms", *_FORMATS) if _fits(texts, written)]
        if formats:
            times_s = _times_s(texts, formats[0])
            steps_s = [later - earlier for earlier, later in pairwise(times_s) if later > earlier]
            stated = formats[0] == "iso" and datetime.fromisoformat(texts[0]).tzinfo is not None
            return _Stamp(columns, tuple(formats), stated, median(steps_s) if steps_s else None)
    return _Stamp((named[0] if named else 0,), (), states_zone=False, interval_s=None)


def _fits(texts: Sequence[str], written: str) -> bool:
    """Tell whether all stamps but a few, which may be broken, are written so, and none goes back for long."""
    if not texts or not _times_s(texts[:1], written):
        return False
    read = _times_s(texts, written)
    return len(read) >= _MOST * len(texts) and read[-1] >= read[0]


def _times_s(texts: Iterable[str], written: str) -> list[float]:
    """Place the stamps that are written so."""
    found = []
    for text in texts:
        with suppress(ValueError, OverflowError):
            found.append(_time_s(text, written))
    return found


def _time_s(text: str, written: str) -> float:
    """Place a stamp, whatever its zone; ValueError where it is not written so."""
    if written.startswith("unix"):
        value = float(text) / (1000.0 if written == "unix_ms" else 1.0)
        if not 6e8 < value < 4e9:  # 1989 to 2096
            raise ValueError(text)
        return value
    if written == "iso":
        if len(text) < len("2026-03-31T14"):
            raise ValueError(text)
        found = datetime.fromisoformat(text)
    else:
        found = datetime.strptime(text, written)  # noqa: DTZ007 - only differences count here
    return (found if found.tzinfo else found.replace(tzinfo=UTC)).timestamp()


# --- what is written


def _head(log: Path, seen: _Seen, stamp: _Stamp) -> list[str]:
    interval = OPEN if stamp.interval_s is None else f"{stamp.interval_s:g} s"
    formats = [it for it in stamp.formats if it != "iso"] if "iso" not in stamp.formats else ["iso"]
    written, may_be = (formats[0], "") if len(formats) == 1 else (OPEN, " or ".join(map(_quoted, formats)))
    zone = "UTC" if written.startswith("unix") else "stated" if stamp.states_zone else OPEN
    second = [f"and_column = {_quoted(_name(seen, stamp.columns[1]))}"] if len(stamp.columns) > 1 else []
    return [
        f"# A map for {log.name}, proposed from its first {len(seen.rows)} readings. Look through all of it.",
        '# Each "?" stands for what the log does not say, and only a person can. Nothing is imported before.',
        "",
        "[log]",
        'logger = "logger"  # its name, as the record will have it',
        f"interval = {_quoted(interval)}  # from one line to the next",
        f"encoding = {_quoted(seen.encoding)}{_encoding_said(seen.encoding)}",
        f"separator = {_quoted(seen.separator)}",
        f"decimal = {_quoted(seen.decimal)}",
        f"header_line = {seen.header_line}",
        *([f"skip = {seen.skip}  # lines below the names that are no readings"] if seen.skip else []),
        "",
        "[time]",
        f"column = {_quoted(_name(seen, stamp.columns[0]))}",
        *second,
        f"format = {_quoted(written)}{_format_said(may_be, stamp)}",
        f"zone = {_quoted(zone)}{_zone_said(zone)}",
        f'value = "{OPEN}"  # "sample" of that moment, or "average_before" or "average_after" the stamp',
        "",
        "[site]",
        f'elevation = "{OPEN}"  # such as "120 m"; or barometric_pressure = "29.8 inHg" in its place',
        "",
        "[unit]",
        f'tag = "{OPEN}"  # what is engraved on it, or a name for it',
        f'refrigerant = "{OPEN}"  # from the nameplate',
        f'metering_device = "{OPEN}"  # "fixed_orifice", "txv" or "eev"',
        "# [unit.nameplate] may say charge, target_superheat, target_subcooling and more: docs/configuration.md",
    ]


def _encoding_said(encoding: str) -> str:
    return "  # it is not UTF-8: do the names of the columns look right below?" if encoding == "cp1252" else ""


def _format_said(may_be: str, stamp: _Stamp) -> str:
    if may_be:
        return f"  # may be {may_be}: no line shows which is the day"
    return "" if stamp.formats else "  # none that is known fits: docs/import.md has how to write one"


def _zone_said(zone: str) -> str:
    return (
        '  # of the logger\'s clock: "UTC", "+02:00", or a name of the tz database (Area/City)' if zone == OPEN else ""
    )


def _channels(seen: _Seen, stamp: _Stamp) -> list[str]:
    taken: set[str] = set()
    lines: list[str] = []
    for index in range(len(seen.header)):
        if index in stamp.columns or not any(
            _NUMBER.fullmatch(row[index]) for row in seen.rows[:200] if index < len(row)
        ):
            continue
        name, unit = _parted(seen, index)
        channel = next((it for it, words in _WORDS if it not in taken and _is_named(name, words, unit, it)), OPEN)
        taken.add(channel)
        lines += ["", "[[channel]]", f"column = {_quoted(_name(seen, index))}", *_of_channel(channel, unit)]
    return lines


def _of_channel(channel: str, unit: str) -> list[str]:
    quantity = CHANNELS.get(channel)
    said = unit if unit and (quantity is None or quantity in kinds(unit)) else OPEN
    told = (
        f"  # the header says {unit!r}" if said == OPEN and unit else "  # the log does not say it" if not unit else ""
    )
    lines = [
        f"channel = {_quoted(channel)}" + ("  # which, or take this table out" if channel == OPEN else ""),
        f"unit = {_quoted(said)}{told}",
    ]
    if quantity is Quantity.PRESSURE and channel != "barometric_pressure":
        written = _reference(unit)
        lines.append(f"reference = {_quoted(written or OPEN)}" + ("" if written else '  # "gauge" or "absolute"'))
    return [*lines, f'accuracy = "{OPEN}"  # the ± limit of the maker, with its unit']


def _reference(unit: str) -> str:
    """Say what a pressure counts from where its unit does; else empty."""
    for reference, other in (("gauge", "absolute"), ("absolute", "gauge")):
        try:
            conversion(unit, Quantity.PRESSURE, reference=reference, barometric_pressure_pa=0.0)  # type: ignore[arg-type]
        except CalcError:
            continue
        try:
            conversion(unit, Quantity.PRESSURE, reference=other, barometric_pressure_pa=0.0)  # type: ignore[arg-type]
        except CalcError:
            return reference
    return ""


def _parted(seen: _Seen, index: int) -> tuple[str, str]:
    """Part a column's name into what it is and its unit: "Suction pressure [psig]", or as ours end, "..._psig"."""
    name = seen.header[index]
    if index < len(seen.units) and seen.units[index]:
        return name, seen.units[index].strip("[]()")
    return parted(name)


def _is_named(name: str, words: Sequence[str], unit: str, channel: str) -> bool:
    plain = " " + re.sub(r"[^a-z]+", " ", name.casefold()) + " "
    where, what = words
    if not any(f" {word} " in plain for word in where.split("|")):
        return False
    if any(f" {word} " in plain for word in what.split("|")) or not what:
        return not unit or not kinds(unit) or CHANNELS[channel] in kinds(unit)
    return bool(unit) and kinds(unit) == {CHANNELS[channel]}


def _name(seen: _Seen, index: int) -> str:
    """Name a column so that the map finds it and no other: by its place where its name does not; else it is asked."""
    names = filter(None, (seen.header[index], f"#{index + 1}"))
    return next((name for name in names if places(seen.header, name) == [index]), OPEN)


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)
