"""The record as it was with so many marks of a visit: a report of then comes out the same whenever it is made."""

from collections.abc import Iterator, Sequence
from typing import Any, cast

from ingest.record.reading import AdviceOfVisit, History, RegisteredSheet
from ingest.wire.messages import Mark


def as_it_was(history: History, visit: str, marks: int | None = None) -> History:
    """Give a record up to a mark of a visit: nothing in it was given or described after that one.

    marks: how many the visit had; None for all that it has.
    """
    return cast("History", _AsItWas(history, visit, marks))


class _AsItWas:
    """Answers as the record does, but for what came later."""

    def __init__(self, history: History, visit: str, marks: int | None) -> None:
        self._history = history
        self._visit = visit
        self._marks = history.marks_of([visit])[visit][:marks] if history.has_visit(visit) else []
        self._until_s = self._marks[-1].time_s if self._marks else 0.0

    def __getattr__(self, name: str) -> Any:
        return getattr(self._history, name)

    def marks_of(self, visits: Sequence[str]) -> dict[str, list[Mark]]:
        """See History."""
        return {**self._history.marks_of(visits), **({self._visit: self._marks} if self._visit in visits else {})}

    def advices_of(self, visit: str) -> Iterator[AdviceOfVisit]:
        """See History."""
        return (each for each in self._history.advices_of(visit) if each.advice.time_s <= self._until_s)

    def sheets_of(self, tag: str) -> list[RegisteredSheet]:
        """See History."""
        return [each for each in self._history.sheets_of(tag) if each.since_s <= self._until_s]
