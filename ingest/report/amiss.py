"""Photographs of a visit that the record no longer has as they were taken: the mark of each holds its digest."""

import hashlib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from ingest.report.document import Items, Section
from ingest.report.said import said
from ingest.wire.messages import Mark, Photograph

Read = Callable[[str], bytes | None]
"""Reads the JPEG of a photograph by the id of its mark; None where the record has none."""


@dataclass(frozen=True, slots=True)
class Amiss:
    """A photograph by the id of its mark, and what is wrong with it."""

    mark: str
    how: Literal["missing", "changed"]

    @property
    def says(self) -> str:
        """Tell it as an end of "the photograph ..."."""
        return "is missing" if self.how == "missing" else "is not the one that was taken"


def photographs_amiss(marks: Iterable[Mark], read: Read) -> list[Amiss]:
    """Find them."""
    found = []
    for mark in marks:
        if isinstance(mark, Photograph):
            jpeg = read(mark.id)
            if jpeg is None:
                found.append(Amiss(mark.id, "missing"))
            elif hashlib.sha256(jpeg).hexdigest() != mark.digest:
                found.append(Amiss(mark.id, "changed"))
    return found


def as_taken(marks: Iterable[Mark], read: Read) -> Read:
    """Give what reads photographs and gives none that is not as it was taken."""
    digests = {mark.id: mark.digest for mark in marks if isinstance(mark, Photograph)}

    def checked(mark: str) -> bytes | None:
        jpeg = read(mark)
        return jpeg if jpeg is not None and hashlib.sha256(jpeg).hexdigest() == digests.get(mark) else None

    return checked


def section(amiss: Sequence[Amiss]) -> list[Section]:
    """Say it in a report; nothing where all are as they were taken."""
    if not amiss:
        return []
    told = [said(f"Photograph {it.mark} {it.says} in the record: its mark holds another digest.", it.mark)
            if it.how == "changed" else said(f"Photograph {it.mark} {it.says} in the record.", it.mark)
            for it in amiss]  # fmt: skip
    return [Section("Photographs", [Items(told)])]
