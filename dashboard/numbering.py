"""Up to which pack the page has everything that the record has, told from the numbers of the packs alone.

The record numbers its packs without a gap, and a pack is in the record before it is published. So whatever is missing
below a number that was heard is in the record, or nowhere.
"""


class Numbering:
    """The numbers heard. whole_until: every pack up to this one is here; None before the record was first read."""

    def __init__(self) -> None:
        self.whole_until: int | None = None
        self._ahead: set[int] = set()

    @property
    def heard_until(self) -> int:
        """The highest number heard, 0 before the first."""
        return max(self._ahead, default=self.whole_until or 0)

    def hear(self, sequence: int) -> bool:
        """Note a pack; tells whether others before it are missing."""
        if self.whole_until is None or sequence > self.whole_until:
            self._ahead.add(sequence)
            self._close_up()
        return bool(self._ahead)

    def recalled(self, until: int) -> None:
        """Note that the record was read up to this number: what is still missing before it is nowhere."""
        self.whole_until = max(until, self.whole_until or 0)
        self._ahead = {sequence for sequence in self._ahead if sequence > self.whole_until}
        self._close_up()

    def _close_up(self) -> None:
        while self.whole_until is not None and self.whole_until + 1 in self._ahead:
            self.whole_until += 1
            self._ahead.remove(self.whole_until)
