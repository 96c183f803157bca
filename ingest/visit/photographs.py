"""The photographs of a visit, and what a mark tells of one. Their bytes are no part of it: `ingest.developing`."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ingest.visit.checklist import guided
from ingest.visit.deciding import Facts, Head, RefusedError
from ingest.visit.fitting import fitting
from ingest.wire.asks import ID
from ingest.wire.messages import Mark, Photograph, PhotographAsk
from ingest.wire.photographs import LARGEST_PHOTOGRAPH_BYTES, MOST_PARTS, PhotographsStand, PhotographStands
from ingest.wire.texts import shown

if TYPE_CHECKING:
    from ingest.visit.standing import Standing

PHOTOGRAPHS_BYTES = 4 * 1024
"""How much of `visit` they may be; the record has them all."""

WHICH_UNIT = "which_unit"

_DIGEST = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class Picture:
    """A photograph as it is kept. digest: of the JPEG. width, height: [pixels]."""

    jpeg: bytes
    digest: str
    width: int
    height: int


class Photographs:
    """The photographs of a visit."""

    def __init__(self) -> None:
        self._all: dict[str, PhotographStands] = {}

    def has(self, photograph: str) -> bool:
        """Whether there is such a photograph in this visit."""
        return photograph in self._all

    def of_check(self, photographs: Iterable[str], check: str) -> int:
        """Count those that were taken for a check; one that was taken for another one shows something else.

        A tag may be photographed before anybody opens the check that asks for it, as a unit is chosen.
        """
        of = (check, "") if check == WHICH_UNIT else (check,)
        return sum(1 for name in photographs if name in self._all and self._all[name].check in of)

    def newest(self, photographs: Iterable[str], check: str) -> str:
        """Name the newest of those that were taken for a check; empty without any."""
        named = set(photographs)
        return next((it.id for it in reversed(self._all.values()) if it.id in named and it.check == check), "")

    def taken(self, photograph: str) -> PhotographStands | None:
        """Give one of this visit; None where there is none of this id."""
        return self._all.get(photograph)

    def same_as(self, taken: PhotographStands) -> str:
        """Name the earlier photograph of this visit that is the same picture, to the last bit; empty without one."""
        first = next(it.id for it in self._all.values() if it.digest == taken.digest)
        return "" if first == taken.id else first

    def check(self, photographs: Iterable[str]) -> None:
        """See that every photograph that something names is of this visit.

        Raises:
            RefusedError: one is not: nobody who opens the record later would find it.

        """
        if unknown := next((name for name in photographs if name not in self._all), ""):
            raise RefusedError(
                f"photographs: there is no photograph {shown(unknown)!r} in this visit; take it, wait until the rig "
                "has it, and name it then"
            )

    def take(self, mark: Mark) -> None:
        """Take the next mark."""
        if isinstance(mark, Photograph):
            self._all[mark.id] = PhotographStands(
                id=mark.id,
                by=mark.by,
                time_s=mark.time_s,
                digest=mark.digest,
                width=mark.width,
                height=mark.height,
                text=mark.text,
                check=mark.check,
                part=mark.part,
                circuit=mark.circuit,
                unit=mark.unit,
                want=mark.want,
                shot=mark.shot,
            )

    def message(self, share: float = 1.0) -> PhotographsStand:
        """Say it for the wire, in a share of the room for it."""
        return PhotographsStand(len(self._all), fitting(reversed(self._all.values()), share * PHOTOGRAPHS_BYTES))


def check_part(ask: PhotographAsk, standing: "Standing", facts: Facts) -> None:
    """See that a part can be one of a photograph of this visit.

    Raises:
        RefusedError: it cannot.

    """
    if not ID.fullmatch(ask.photograph):
        raise RefusedError("photograph is no id: 1 to 64 letters, digits, - and _ were expected")
    if not _DIGEST.fullmatch(ask.digest):
        raise RefusedError("digest is not the SHA-256 of the file: 64 figures from 0 to 9 and a to f were expected")
    if not 1 <= ask.part_number <= ask.part_count <= MOST_PARTS:
        raise RefusedError(
            f"part {ask.part_number} of {ask.part_count}: parts count from 1, and at most {MOST_PARTS} make one"
        )
    if not ask.data:
        raise RefusedError("the part is empty: the photograph has 0 bytes. Take it again")
    _check_of(ask, facts)
    standing.talk.wants.check(ask.want, "photograph")


def _check_of(ask: PhotographAsk, facts: Facts) -> None:
    """Refuse a photograph of what is not of this visit: nobody who looks for it later would find it there."""
    if ask.check and ask.check not in guided():
        raise RefusedError(f"check: there is no check {shown(ask.check)!r} that a photograph could be of")
    if ask.shot and (not ask.check or ask.shot not in {it.word for it in guided()[ask.check].check.shots}):
        raise RefusedError(f"shot: {shown(ask.check)} asks for no photograph {shown(ask.shot)!r} that answers")
    for of, named, there in (("part", ask.part, facts.parts), ("circuit", ask.circuit, facts.circuits)):
        if named and there and named not in there:
            raise RefusedError(f"{of}: this unit has no {shown(named)!r}; it has {', '.join(there)}")
    if ask.unit and ask.unit != facts.unit.tag:
        raise RefusedError(
            f"unit: the photograph is of {shown(ask.unit)!r}, and the rig is at {shown(facts.unit.tag)}: open that "
            "unit, and send it again"
        )


def too_large() -> str:
    """Say that a file is too large."""
    return f"the photograph has more than {LARGEST_PHOTOGRAPH_BYTES // 1_000_000} MB: let the camera take a smaller one"


def of_another_visit() -> str:
    """Say that the rig went to another unit while a photograph was on its way."""
    return (
        "the rig went on to another visit before all of the photograph was here: it would stand in the wrong one. "
        "Open the unit that it is of, and send it again"
    )


def photograph(ask: PhotographAsk, head: Head, picture: Picture) -> Photograph:
    """Tell of a photograph that is whole. head: that of its mark, which has the photograph's id."""
    return Photograph(
        *head,
        text=ask.text.strip(),
        digest=picture.digest,
        sent_digest=ask.digest,
        width=picture.width,
        height=picture.height,
        check=ask.check,
        part=ask.part,
        circuit=ask.circuit,
        unit=ask.unit,
        want=ask.want,
        shot=ask.shot,
    )
