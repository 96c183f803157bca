"""How the stamps of a log that nobody has described are written: what fits all of them, and what would fit as well."""

import re
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import pairwise
from statistics import median

from ingest.importing.seen import NUMBER, Seen
from ingest.importing.stated import parted

_MOST = 0.95
"""Of all stamps that many fit, and the first of them: the others may be broken."""
_DATES = (
    "%Y-%m-%d",
    "%Y/%m/%d",
    *(f"{form}{year}" for year in ("%Y", "%y") for form in ("%d/%m/", "%m/%d/", "%d.%m.", "%d-%m-", "%m-%d-")),
    *(f"{form}{year}" for year in ("%Y", "%y") for form in ("%d-%b-", "%d %b ")),
    "%y/%m/%d",
    "%y-%m-%d",
    "%y.%m.%d",
)
TIMES = ("%H:%M:%S.%f", "%H:%M:%S,%f", "%H:%M:%S", "%H:%M", "%I:%M:%S %p", "%I:%M %p")
_FORMATS = ("iso", *(f"{date} {time}" for date in _DATES for time in TIMES))
_ELAPSED = "elapsed_s"
_COUNTS = re.compile(r"\b(time|elapsed|seconds?|runtime)\b", re.IGNORECASE)
_SECONDS = frozenset({"s", "sec", "secs", "second", "seconds"})
_A_MOMENT = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d(\.\d+)?)?( ?(Z|[+-]\d\d:?\d\d))?")
_STAMP = re.compile(r"\b(time|date|timestamp|datetime|clock)\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class FoundStamp:
    """What was found of the stamps. formats: all that fit. columns: one, or date and time of day.

    interval_s: from one to the next, mostly. start: when what counts seconds began, where the log says it.
    """

    columns: tuple[int, ...]
    formats: tuple[str, ...]
    states_zone: bool
    interval_s: float | None
    start: str = ""

    @property
    def is_elapsed(self) -> bool:
        """Whether they count seconds since the log began."""
        return self.formats == (_ELAPSED,)

    @property
    def is_of_a_day(self) -> bool:
        """Whether they are times of day, without a date."""
        return bool(self.formats) and self.formats[0] in TIMES


def find_stamp(seen: Seen) -> FoundStamp:
    """Find which columns hold the stamps, and all ways in which they may be written."""
    named = [index for index, name in enumerate(seen.header) if _STAMP.search(name)]
    singly, together = [(index,) for index in named] + [(0,)], [*pairwise(named), (0, 1)]
    tried = [(columns, ("unix_s", "unix_ms", *_FORMATS)) for columns in singly + together]
    tried += [(columns, TIMES) for columns in singly]  # where no column beside it has the date
    for columns, possible in tried:
        if max(columns) >= len(seen.header):
            continue
        texts = [" ".join(row[index] for index in columns) for row in seen.rows if len(row) > max(columns)]
        formats = [written for written in possible if _fits(texts, written)]
        if formats:
            if formats[0].startswith("unix") or "iso" in formats:
                formats = ["iso"] if formats[0] == "iso" else formats[:1]
            times_s = _times_s(texts, formats[0])
            steps_s = [later - earlier for earlier, later in pairwise(times_s) if later > earlier]
            stated = formats[0] == "iso" and datetime.fromisoformat(texts[0]).tzinfo is not None
            return FoundStamp(columns, tuple(formats), stated, median(steps_s) if steps_s else None)
    return _elapsed(seen) or FoundStamp((named[0] if named else 0,), (), states_zone=False, interval_s=None)


def _elapsed(seen: Seen) -> FoundStamp | None:
    """Find a column that counts seconds, as its header states; and when it began, where one moment stands above."""
    for index, name in enumerate(seen.header):
        words, unit = parted(name)
        stated = (
            seen.units[index] if index < len(seen.units) and seen.units[index] else unit or (name.split() or [""])[-1]
        )
        if not _COUNTS.search(words.replace("_", " ")) or stated.strip("[]() ").lower() not in _SECONDS:
            continue
        cells = [row[index] for row in seen.rows if index < len(row)]
        counts_s = [float(cell.replace(",", ".")) for cell in cells if NUMBER.fullmatch(cell)]
        steps_s = [later - earlier for earlier, later in pairwise(counts_s)]
        if steps_s and len(counts_s) >= _MOST * len(cells) and min(steps_s) > 0.0:
            moments = {found[0] for cell in seen.above for found in _A_MOMENT.finditer(cell)}
            start = moments.pop() if len(moments) == 1 else ""
            states_zone = False
            try:
                states_zone = bool(start) and datetime.fromisoformat(start).tzinfo is not None
            except ValueError:  # it looks like a moment, and is none: it is asked for
                start = ""
            return FoundStamp((index,), (_ELAPSED,), states_zone, median(steps_s), start)
    return None


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
