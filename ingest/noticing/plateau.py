"""A value that stays where it is."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Band:
    """How far a steady value may move about: a share of itself, and never less than so much of its own unit."""

    share: float
    least: float
    hold_s: float


class Plateau:
    """Follows one value. It is steady once it has stayed within its band for as long as that asks."""

    __slots__ = ("_band", "_count", "_high", "_low", "_now_s", "_since_s", "_sum", "from_s", "to_s")

    def __init__(self, band: Band) -> None:
        self._band = band
        self.clear()

    def clear(self) -> None:
        """Forget it."""
        self._count = 0
        self._sum = self._low = self._high = 0.0
        self._since_s = self._now_s = 0.0
        self.from_s = self.to_s = 0.0

    def take(self, value: float | None, unit_s: float, time_s: float) -> bool:
        """Take the next value, None where there is none; tell whether it is steady now."""
        if value is None:
            self.clear()
            return False
        low, high = min(self._low, value), max(self._high, value)
        if not self._count or high - low > 2 * max(self._band.share * abs(value), self._band.least):
            self._count, self._sum = 0, 0.0
            low = high = value
            self._since_s, self.from_s = unit_s, time_s
        self._low, self._high = low, high
        self._count += 1
        self._sum += value
        self._now_s, self.to_s = unit_s, time_s
        return self.is_steady

    @property
    def is_steady(self) -> bool:
        """Whether it has stayed for long enough."""
        return self._count > 1 and self._now_s - self._since_s >= self._band.hold_s

    @property
    def held_s(self) -> float:
        """For how long it has stayed [s]."""
        return self._now_s - self._since_s

    @property
    def mean(self) -> float:
        """Of all values since it began to stay."""
        return self._sum / self._count if self._count else 0.0
