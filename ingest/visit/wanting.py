"""What a lead wants: a photograph, a reading or a check, until one names it or it is dismissed with a reason."""

from typing import TYPE_CHECKING

from ingest.visit.deciding import Facts, Head, RefusedError
from ingest.wire.messages import Dismissed, Finding, Mark, Photograph, ReadingTaken, Want, WantAsk
from ingest.wire.talk import WantStands, What
from ingest.wire.texts import is_empty

if TYPE_CHECKING:
    from ingest.visit.standing import Standing


class Wants:
    """The wants of a visit. closed: how many were met or dismissed."""

    def __init__(self) -> None:
        self._all: dict[str, What] = {}
        self._open: dict[str, WantStands] = {}
        self.closed = 0

    @property
    def open(self) -> list[WantStands]:
        """What is still wanted, oldest first."""
        return list(self._open.values())

    def has(self, want: str) -> bool:
        """Whether it is wanted still."""
        return want in self._open

    def check(self, want: str, what: What) -> None:
        """See that what names a want is what is wanted, now or before; naming none is always right.

        Raises:
            RefusedError: there is no such want in this visit, or it is of something else.

        """
        if want and self._all.get(want) != what:
            raise RefusedError(f"no lead wants a {what} under {want!r} in this visit; name what is wanted, or nothing")

    def take(self, mark: Mark) -> None:
        """Take the next mark."""
        match mark:
            case Want():
                self._all[mark.id] = mark.what
                self._open[mark.id] = WantStands(mark.id, mark.by, mark.time_s, mark.what, mark.text)
            case ReadingTaken() | Photograph() | Finding():
                self._close(mark.want)
            case Dismissed():
                self._close(mark.of)

    def _close(self, want: str) -> None:
        if self._open.pop(want, None):
            self.closed += 1


def want(ask: WantAsk, head: Head, _: "Standing", __: Facts) -> Want:
    """Ask the technician for it."""
    if is_empty(ask.text):
        raise RefusedError(f"a want needs a text: of what the {ask.what} is to be")
    return Want(*head, text=ask.text.strip(), what=ask.what)
