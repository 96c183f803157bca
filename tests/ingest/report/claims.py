"""What the sentences of a report claim, and which claims contradict each other: read from the words alone."""

import re
from collections.abc import Iterator

from ingest.report.document import Report
from tests.ingest.report.reading import front, section, words

_NOTHING_MOVED = ("None added, none removed.", "none added, none removed", "nothing moved")


def contradictions(report: Report) -> Iterator[str]:
    """Name each pair of claims of a report that cannot both be so."""
    yield from _how_it_was_left(report)
    done, fields = section(report, "What we did"), section(report, "What the law asks to be recorded")
    if done.startswith("Put ") and "nothing replaced, nothing moved" in fields:
        yield "something was put right, and nothing was done"
    for name, told in _by_circuit(report).items():
        yield from (f"{name}: {it}" for it in _of_leaks(name, told, report))
        yield from (f"{name}: {it}" for it in _of_moves(told))


def _by_circuit(report: Report) -> dict[str, str]:
    """Give what the refrigerant's section says of each circuit; of the only one without its name."""
    told = section(report, "Refrigerant")
    parts = re.split(r"^Circuit (\S+) holds ", told, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True)) if len(parts) > 1 else {"": told}


def _of_leaks(name: str, told: str, report: Report) -> Iterator[str]:
    every = words(report)
    whom = f"circuit {name}" if name else "it"
    looked, nobody = "A leak was looked for" in told, "Nobody looked for a leak." in told
    if looked and nobody:
        yield "looked for, and nobody looked"
    if looked and f"We do not know whether {whom} leaks: nobody looked" in every:
        yield "looked for, and not known as nobody looked"
    found = ", and found:" in told and "repaired and tested since" not in told
    is_open = found or "no repair is recorded since" in told
    if is_open and f"whether {whom} leaks" in every and (not name or f"We do not know whether {whom}" in every):
        yield "it leaks, and not known whether"
    if is_open and "have the leak repaired" not in every and "More" not in every and not _crowded(report):
        yield "it leaks, and no repair is asked for"
    if is_open and "efrigerant leaked" in every and not name:
        yield "it leaks, and leaked"
    if (
        not is_open
        and not name
        and (re.search(r"(?<!whether r)efrigerant leaks", every) or "have the leak repaired" in every)
    ):
        yield "no leak is told, and one is to be repaired"
    if nobody and not name and re.search(r"by (?:detector|bubbles): (?:found|none)", every):
        yield "nobody looked, and the law's field has a look"


def _crowded(report: Report) -> bool:
    """Tell whether tasks may have been left out, as more had to be told first."""
    return len(section(report, "What to do, and by when").splitlines()) > 3


def _of_moves(told: str) -> Iterator[str]:
    nothing = any(it in told for it in _NOTHING_MOVED)
    if nothing and re.search(r"\d (?:oz|g|kg|lb) (?:added|recovered) \(", told):
        yield "moved, and nothing moved"


def _how_it_was_left(report: Report) -> Iterator[str]:
    line, start = front(report)[0].text, section(report, "Start here")
    is_off = line.startswith("It is off and locked")
    runs, stands = line.startswith("It runs"), line.startswith("It does not run")
    said_off, said_on = "eft off and locked" in start, "eft running" in start
    if (is_off or stands) and said_on:
        yield "off or not running, and left running"
    if (runs or stands) and said_off:
        yield "not off, and left off and locked"
    if runs and "It does not run" in start:
        yield "it runs, and does not run"
    if is_off and "How it was left is not recorded" in start:
        yield "off, and not recorded how it was left"
