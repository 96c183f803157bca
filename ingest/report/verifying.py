"""Tries the file of a report: whether it is as it was made, and whether the record says the same.

The digest that a file carries of itself tells damage. Anybody can write a new one, and whatever the file says of
itself: so it is made anew from the record, as the visit was then, and compared byte by byte. Nothing of a file is shown
that the record does not say too, but what is named as the file's own words.
"""

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any, Literal

import msgspec

from ingest.record.erasing import Erasure
from ingest.record.reading import History
from ingest.report.amiss import photographs_amiss
from ingest.report.drawn.laid_out import in_words
from ingest.report.drawn.own_digest import ChangedError, Form, Made, opened
from ingest.report.making import Asked, make, program
from ingest.visit.seal import digest, is_broken
from ingest.wire.messages import Mark
from ingest.wire.texts import shown

Outcome = Literal[
    "matches",
    "later",
    "changed",
    "differs",
    "not_compared",
    "no_visit",
    "seal_broken",
    "erased",
    "earlier_erased",
    "photographs",
]

_ANYBODY = "The file has the digest that it carries, which anybody can write."
_SIGNATURE = (
    "The digest that the signature holds is of every mark before it. The signature itself is sealed by nothing: only a "
    "report or a copy made since tells whether its name or its strokes were changed."
)


class Verdict(msgspec.Struct, frozen=True):
    """What came of it, and in words. made: what the file rests on, where the record gave the same file."""

    outcome: Outcome
    says: str
    made: Made | None = None


def verify(data: bytes, history: History, *, charts: str) -> Verdict:
    """Try the file of a report with a record. charts: as for `make`.

    Raises:
        RecordError: the record cannot be read.
        ReportError, PaperError: the report cannot be made anew.

    """
    try:
        form, made = opened(data)
    except ChangedError as error:
        return Verdict("changed", f"CHANGED: {error}.")
    erased = next((each for each in history.erasures() if each.visit == made.visit), None)
    if erased is not None:
        return _of_erased(erased, made)
    if not history.has_visit(made.visit):
        return _not_compared("no_visit", f"the record has no visit {shown(made.visit)!r}, which the file names.")
    marks = history.marks_of([made.visit])[made.visit]
    if is_broken(marks):
        return Verdict(
            "seal_broken",
            "THE RECORD IS NOT AS IT WAS SIGNED: its marks before the signature no longer give the digest that the "
            "signature holds. One was changed, taken out or put in, or the signature was. Which one, and so whether "
            f"this file is right, the record cannot tell: compare copies. {_ANYBODY}",
        )
    if digest(marks[: made.marks]) != made.journal:
        return Verdict(
            "differs",
            "NOT OF THIS RECORD: the marks of the visit in the record, its signature among them, are not those that "
            f"the file says it was made of. {_ANYBODY}",
        )
    return _compared(data, _again(history, form, made, charts), made, _Then(history, form, marks))


class _Then(msgspec.Struct, frozen=True):
    """What a comparison rests on beside both files. marks: all that the visit has now."""

    history: History
    form: Form
    marks: list[Mark]


def _of_erased(erased: Erasure, made: Made) -> Verdict:
    """Say what is left to compare with of a visit that was erased: digests and the number of its marks."""
    when = in_words(datetime.fromtimestamp(erased.erased_s, UTC))
    was = f"was erased from the record on {when} ({erased.because})"
    if (erased.marks, erased.digest) == (made.marks, made.journal):
        named = f"The file names the digest of the very journal, which {was}."
    elif erased.marks > made.marks and erased.signed_digest and made.digest == erased.signed_digest:
        named = f"The file names the digest with which the very journal was signed, which {was}."
    elif erased.marks > made.marks:
        named = f"It {was}; the file says that it is of {made.marks} marks, and there were {erased.marks} in the end."
    else:
        return Verdict("differs", f"ANOTHER JOURNAL than the one that {was}: the file names other digests. {_ANYBODY}")
    return _not_compared("erased", f"the visit is no longer in the record. {named}")


def _not_compared(outcome: Outcome, why: str) -> Verdict:
    return Verdict(outcome, f"NOT COMPARED: {why} {_ANYBODY}")


def _again(history: History, form: Form, made: Made, charts: str) -> bytes:
    asked = Asked(visit=made.visit, form=form, system=made.system, zone=made.zone, paper=made.paper)
    return make(history, asked, charts=charts, marks=made.marks)


def _compared(data: bytes, again: bytes, made: Made, then: _Then) -> Verdict:
    if data == again:
        return _same("The record gives the same file to the last byte", made, then)
    if made.program != program():
        if then.form != "json":
            return _not_compared("not_compared", f"{_another(made)} Make the report anew and compare the words.")
        if _body(data) == _body(again):
            same = "The record gives the same content to the last byte; the file says otherwise what made it"
            return _same(same, opened(again)[1], then)
        return _not_compared("not_compared", f"{_another(made)} {_first_other(data, again)}")
    gone = list(_gone_since(then.history, made))
    if gone:
        why = (
            f"a report tells of the unit's earlier visits too, and {'; '.join(gone)}. Made anew without that it is "
            "another one; whether it is as it was made cannot be told."
        )
        if then.form == "json":
            why += f" {_first_other(data, again)}"
        return _not_compared("earlier_erased", why)
    if amiss := _amiss(made, then):
        return _not_compared("photographs", f"{amiss} Without them the report is another one.")
    return Verdict(
        "differs",
        "ANOTHER REPORT: made anew from the record it is not this one. What the file says is not what the record says, "
        f"or what it rests on beside the visit's marks has changed. {_ANYBODY}",
    )


def _amiss(made: Made, then: _Then) -> str:
    """Tell which photographs of the visit are not in the record as they were taken; empty where all are."""
    told = [f"{it.mark} {it.says}" for it in photographs_amiss(then.marks[: made.marks], then.history.photograph)]
    return f"Photographs are not in the record as they were taken: {'; '.join(told)}." if told else ""


def _same(how: str, made: Made, then: _Then) -> Verdict:
    stands = "signed" if made.signed else "a draft"
    says = f"{how} ({stands})."
    later = len(then.marks) - made.marks
    if later:
        came = "1 mark" if later == 1 else f"{later} marks"
        says += f" The record has {came} of the visit that came later: they are not in it."
    else:
        says += " It matches the record."
    if amiss := _amiss(made, then):
        says += f" {amiss}"
    return Verdict("later" if later else "matches", f"{says} {_SIGNATURE}" if made.signed else says, made)


def _another(made: Made) -> str:
    return (
        f"the file says that {shown(made.program)!r} made it, which anybody can write; this is {program()}, and it "
        "makes another file of the same journal."
    )


def _gone_since(history: History, made: Made) -> Iterator[str]:
    """Tell which earlier visits to the unit were erased after the last mark that the file says it rests on."""
    until_s = history.marks_of([made.visit])[made.visit][: made.marks][-1:]
    newest_first = [it.id for it in history.visits_of(history.unit_of(made.visit) or "")]
    before = newest_first[newest_first.index(made.visit) + 1 :] if made.visit in newest_first else []
    for erased in history.erasures():
        if erased.visit in before and (not until_s or erased.erased_s > until_s[0].time_s):
            when = in_words(datetime.fromtimestamp(erased.erased_s, UTC))
            yield f"visit {erased.visit} was erased on {when} ({erased.because})"


def _body(data: bytes) -> bytes:
    """Give of a report as data all before what it says it was made of."""
    return data.rpartition(b'"made": "')[0]


def _first_other(data: bytes, again: bytes) -> str:
    """Tell of two reports as data where their contents part first."""
    try:
        ours, its = (list(_leaves(msgspec.json.decode(each)["report"], "report")) for each in (again, data))
    except (msgspec.DecodeError, KeyError, TypeError, RecursionError) as error:
        return f"Its content cannot be read: {shown(str(error))}."
    if ours == its:
        return "Its content is the same, and written otherwise."
    end = ("its end", "")
    at = next((place for place, (one, other) in enumerate(zip(ours, its, strict=False)) if one != other), None)
    at = min(len(ours), len(its)) if at is None else at
    (where, mine), (_, theirs) = ours[at] if at < len(ours) else end, its[at] if at < len(its) else end
    return f"Its content parts from ours at {shown(where)}: the file has {shown(theirs)!r}, the record {shown(mine)!r}."


def _leaves(of: Any, where: str) -> Iterator[tuple[str, str]]:
    """Give every value of a document that holds no other, with its place, in order."""
    if isinstance(of, dict):
        for name, each in of.items():
            yield from _leaves(each, f"{where}.{name}")
        yield f"{where}, members", str(len(of))
    elif isinstance(of, list):
        for number, each in enumerate(of):
            yield from _leaves(each, f"{where}[{number}]")
        yield f"{where}, length", str(len(of))
    else:
        yield where, msgspec.json.encode(of).decode()
