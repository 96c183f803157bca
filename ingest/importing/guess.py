"""A map proposed for a log, from its first lines: what they show is filled in, what they cannot show is a question.

Whoever reviews the map decides. A unit that the header states is taken; one that it does not is never concluded from
the size of the numbers, nor is gauge or absolute, nor the order of day and month where both could be.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

from calc.errors import CalcError
from calc.quantities import CHANNELS, Quantity
from calc.units import conversion
from ingest.importing.errors import CellError, LogError
from ingest.importing.lines import check_is_file, places
from ingest.importing.log_map import MISSING, OF_ITS_NAME, OPEN, OVERLOAD, UNLIKE_OTHERS, TimeMap
from ingest.importing.naming import channel_of
from ingest.importing.seen import NUMBER, Seen, look
from ingest.importing.seen_stamps import FoundStamp, find_stamp
from ingest.importing.stamps import date_of
from ingest.importing.stated import kinds, parted
from ingest.record.headers import OF_A_PACK, heads

_AS_GOOD_AS_A_SAMPLE_S = 5.0
"""An average over less is dated within half of that, which no judgement here looks at."""
_LONGEST_WORD = 12


@dataclass(frozen=True, slots=True)
class Proposal:
    """A map proposed for a log. text: as TOML, to be reviewed.

    choices: by key of a question the words that answer it, each with what is written for it. taken: what was concluded
    of the columns; left: the columns that are not read.
    """

    text: str
    choices: Mapping[str, Mapping[str, str]]
    taken: Sequence[str]
    left: Sequence[str]


@dataclass(frozen=True, slots=True)
class _Column:
    """A column that is a channel; an open one is asked for. accuracy: where the log itself says it."""

    index: int
    channel: str
    unit: str
    accuracy: str = ""

    @property
    def quantity(self) -> Quantity | None:
        """What it is of, where that is known."""
        return CHANNELS.get(self.channel)

    @property
    def is_as_usual(self) -> bool:
        """Whether its accuracy is that of others of its quantity."""
        return not self.accuracy and self.channel not in UNLIKE_OTHERS

    @property
    def counts_from(self) -> str:
        """What a pressure counts from, as far as its unit says it."""
        return _reference(self.unit)


def guess(log: Path) -> Proposal:
    """Propose a map for a log.

    Raises:
        LogError: it cannot be read, or no table is found in it.

    """
    check_is_file(log)
    try:
        seen = look(log)
    except OSError as error:
        raise LogError(log, 0, f"cannot be read: {error.strerror}") from error
    stamp = find_stamp(seen)
    columns, left = _exported(seen) if tuple(seen.header[: len(OF_A_PACK)]) == OF_A_PACK else _columns(seen, stamp)
    choices = _orders(stamp)
    lines = [*_head(log, seen, stamp, choices), *_usual(columns), *_channels(seen, columns), *_left(left)]
    taken = [f"{seen.header[it.index]!r} is {it.channel}, {it.unit} {it.counts_from}" for it in columns if it.quantity]
    taken += [f"{word!r} is no value" for word in _words_for_nothing(seen, stamp)]
    return Proposal(
        "\n".join(lines) + "\n",
        {"time.format": choices} if len(choices) > 1 else {},
        [it.rstrip() for it in taken],
        left,
    )


# --- what is concluded


_DEGREES = {"F": "degF", "C": "degC"}
"""What a letter at the end of a name means where nothing else makes a channel of it: nobody logs whole farads."""


def _columns(seen: Seen, stamp: FoundStamp) -> tuple[list[_Column], list[str]]:
    """Find the columns that are channels, and name those of numbers that are none; where none is, all are asked for."""
    found, others, taken = list[_Column](), list[_Column](), set[str]()
    for index in range(len(seen.header)):
        if index in stamp.columns or not any(NUMBER.fullmatch(row[index]) for row in seen.rows if index < len(row)):
            continue
        name, unit = _parted(seen, index)
        channel = channel_of(name, unit, taken)
        if not channel and (degrees := _DEGREES.get(seen.header[index].rstrip(" )]")[-2:].strip(" _([,"))):
            channel, unit = channel_of(name, degrees, taken), degrees
        taken.add(channel)
        (found if channel else others).append(_Column(index, channel or OPEN, unit))
    return (found, [seen.header[it.index] for it in others]) if found else (others, [])


def _exported(seen: Seen) -> tuple[list[_Column], list[str]]:
    """Find the channels in what our own export wrote, with their uncertainty beside them: half of the ± limit."""
    found = []
    for name, quantity in CHANNELS.items():
        head = heads(name)
        if head.value not in seen.header or head.standard_uncertainty not in seen.header:
            continue
        at = seen.header.index(head.standard_uncertainty)
        spreads = [float(row[at]) for row in seen.rows if at < len(row) and NUMBER.fullmatch(row[at])]
        unit = parted(head.value)[1]
        of = {Quantity.TEMPERATURE: "K", Quantity.PRESSURE: "Pa"}.get(quantity, unit)
        accuracy = f"{2 * median(spreads):.4g} {of}" if spreads else OPEN
        found.append(_Column(seen.header.index(head.value), name, unit, accuracy))
    return found, []


def _orders(stamp: FoundStamp) -> dict[str, str]:
    """Give the words for the orders of day, month and year that fit, where several do."""
    words = {"%d": "day-first", "%m": "month-first", "%y": "year-first", "%Y": "year-first"}
    found: dict[str, str] = {}
    for written in stamp.formats:
        found.setdefault(words.get(written[:2], written), written)
    return found


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


def _parted(seen: Seen, index: int) -> tuple[str, str]:
    """Part a column's name into what it is and its unit: "Suction pressure [psig]", or as ours end, "..._psig"."""
    name = seen.header[index]
    if index < len(seen.units) and seen.units[index]:
        return name, seen.units[index].strip("[]()")
    return parted(name)


# --- what is written


def _head(log: Path, seen: Seen, stamp: FoundStamp, orders: Mapping[str, str]) -> list[str]:
    interval = OPEN if stamp.interval_s is None else f"{stamp.interval_s:g} s"
    written = next(iter(orders.values())) if len(orders) == 1 else OPEN
    zone = "UTC" if written.startswith("unix") else "stated" if stamp.states_zone else OPEN
    second = [f"and_column = {_quoted(_name(seen, stamp.columns[1]))}"] if len(stamp.columns) > 1 else []
    is_short = stamp.interval_s is not None and stamp.interval_s <= _AS_GOOD_AS_A_SAMPLE_S
    value = "sample" if is_short else OPEN
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
        *_missing(_words_for_nothing(seen, stamp)),
        "",
        "[time]",
        f"column = {_quoted(_name(seen, stamp.columns[0]))}",
        *second,
        f"format = {_quoted(written)}{_format_said(orders)}",
        *([f"date = {_quoted(_date(log))}  # of the times of day"] if stamp.is_of_a_day else []),
        *([f"start = {_quoted(stamp.start or OPEN)}  # when it began to count"] if stamp.is_elapsed else []),
        f"zone = {_quoted(zone)}{_zone_said(zone)}",
        f"value = {_quoted(value)}  # {_VALUE_SAID[is_short]}",
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


_VALUE_SAID = {
    True: "of that moment; even if it is an average, it is one of so short a time that nothing shows",
    False: '"sample" of that moment, or "average_before" or "average_after" the stamp',
}


def _date(log: Path) -> str:
    """Say of which day a log of times of day is: by its name, if that has a date."""
    try:
        date_of(TimeMap(column="", format="", zone="", value="sample", date=OF_ITS_NAME), log.name)
    except CellError:
        return OPEN
    return OF_ITS_NAME


def _words_for_nothing(seen: Seen, stamp: FoundStamp) -> list[str]:
    """Find what stands in columns of numbers in place of one, where a map would not know it."""
    known = {*MISSING, *OVERLOAD, *seen.header}  # names that stand there again say nothing of a value
    found: dict[str, None] = {}
    for index in set(range(len(seen.header))) - set(stamp.columns):
        cells = [row[index] for row in seen.rows if index < len(row)]
        words = {cell for cell in cells if not NUMBER.fullmatch(cell) and len(cell) <= _LONGEST_WORD} - known
        if any(NUMBER.fullmatch(cell) for cell in cells):
            found |= dict.fromkeys(sorted(words))
    return list(found)


def _missing(words: Sequence[str]) -> list[str]:
    listed = json.dumps([*MISSING, *words], ensure_ascii=False)
    return [f"missing = {listed}  # is each of the last no value?"] if words else []


def _encoding_said(encoding: str) -> str:
    return "  # it is not UTF-8: do the names of the columns look right below?" if encoding == "cp1252" else ""


def _format_said(orders: Mapping[str, str]) -> str:
    if not orders:
        return "  # none that is known fits: docs/import.md has how to write one"
    may_be = " or ".join(f"{_quoted(written)} ({word})" for word, written in orders.items())
    return f"  # may be {may_be}: no line shows which is the day" if len(orders) > 1 else ""


def _zone_said(zone: str) -> str:
    return (
        '  # of the logger\'s clock: "UTC", "+02:00", or a name of the tz database (Area/City)' if zone == OPEN else ""
    )


def _usual(columns: Sequence[_Column]) -> list[str]:
    """Ask once of each quantity what the log does not say of its columns."""
    lines: list[str] = []
    for quantity in dict.fromkeys(it.quantity for it in columns if it.quantity and it.is_as_usual):
        lines += ["", f"[usual.{quantity.name.lower()}]  # of each such column that does not say otherwise below"]
        if quantity is Quantity.PRESSURE and any(_is_unsaid(it) for it in columns):
            lines.append(f'reference = "{OPEN}"  # "gauge" or "absolute"')
        lines.append(f'accuracy = "{OPEN}"  # the ± limit of the maker, with its unit')
    return lines


def _is_unsaid(column: _Column) -> bool:
    """Tell whether nobody knows what a pressure counts from."""
    is_pressure = column.quantity is Quantity.PRESSURE and column.channel not in UNLIKE_OTHERS
    return is_pressure and not column.counts_from


def _channels(seen: Seen, columns: Sequence[_Column]) -> list[str]:
    lines: list[str] = []
    for column in columns:
        lines += ["", "[[channel]]", f"column = {_quoted(_name(seen, column.index))}", *_of_channel(column)]
    return lines


def _of_channel(column: _Column) -> list[str]:
    unit, quantity = column.unit, column.quantity
    said = unit if unit and (quantity is None or quantity in kinds(unit)) else OPEN
    told = (
        f"  # the header says {unit!r}" if said == OPEN and unit else "  # the log does not say it" if not unit else ""
    )
    lines = [
        f"channel = {_quoted(column.channel)}" + ("  # which, or take this table out" if quantity is None else ""),
        f"unit = {_quoted(said)}{told}",
    ]
    if quantity is Quantity.PRESSURE and column.counts_from and column.channel not in UNLIKE_OTHERS:
        lines.append(f"reference = {_quoted(column.counts_from)}")
    if column.accuracy:
        lines.append(f"accuracy = {_quoted(column.accuracy)}  # twice the standard uncertainty beside it")
    elif quantity is None or not column.is_as_usual:
        lines.append(f'accuracy = "{OPEN}"  # the ± limit of the maker, with its unit')
    return lines


def _left(left: Sequence[str]) -> list[str]:
    if not left:
        return []
    return ["", "# Not read, since no channel is known by such a name; a [[channel]] for one reads it:"] + [
        f"#   {_quoted(name)}" for name in left
    ]


def _name(seen: Seen, index: int) -> str:
    """Name a column so that the map finds it and no other: by its place where its name does not; else it is asked."""
    names = filter(None, (seen.header[index], f"#{index + 1}"))
    return next((name for name in names if places(seen.header, name) == [index]), OPEN)


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)
