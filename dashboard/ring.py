"""The recent past in memory: one bounded row of numbers per pack, one column per channel or figure.

Rows stay in order of arrival, which is nearly the order of time; whoever reads sorts. What the record knows beside
them is merged in order of time. A redelivered pack is recognised by its key columns. Values that are not to be trusted
are not kept: a line must break where the instrument was lost, not go on level.
"""

from collections.abc import Iterable, Mapping

import numpy as np
import numpy.typing as npt

from ingest.wire.messages import Pack

Column = npt.NDArray[np.float64]

FOUR_HOURS_OF_TICKS = 4 * 3600 * 4
PLOTTED_QUALITIES = frozenset({"ok", "uncalibrated"})
SMALLEST_GAP_S = 5.0
"""What is shorter shows no hole on a chart."""
_KEYS = ("session", "sequence", "time_s")
_NUMBERING = ("session", "sequence")
_UNSAVED = -1.0


class Ring:
    """The last `capacity` packs as columns of numbers, in the house's units; NaN where a value is unknown."""

    def __init__(self, capacity: int = FOUR_HOURS_OF_TICKS) -> None:
        self.capacity = capacity
        self._appended = 0
        self._columns: dict[str, Column] = {name: self._empty() for name in _KEYS}

    def __len__(self) -> int:
        return min(self._appended, self.capacity)

    def holds(self, pack: Pack) -> bool:
        """Whether this very pack is here already: brokers may deliver twice."""
        same = [self._columns[name] == number for name, number in zip(_KEYS, _key(pack), strict=True)]
        return bool(np.any(np.all(same, axis=0)))

    def append(self, pack: Pack) -> None:
        """Keep one pack in place of the oldest."""
        row = self._appended % self.capacity
        for column in self._columns.values():
            column[row] = np.nan
        for name, number in zip(_KEYS, _key(pack), strict=True):
            self._columns[name][row] = number
        for name, reading in pack.readings.items():
            if reading.value is not None and reading.quality in PLOTTED_QUALITIES:
                self._columns.setdefault(name, self._empty())[row] = reading.value
        self._appended += 1

    def merge(self, past: "Ring") -> None:
        """Take in another ring's rows but those that are here already, all in order of time; the oldest give way."""
        theirs, mine = past.rows(), self.rows()
        here = set(_keys(mine))
        fresh = [row for row, key in enumerate(_keys(theirs)) if key not in here]
        if not fresh:
            return
        time_s = np.concatenate([mine["time_s"], theirs["time_s"][fresh]])
        order = np.argsort(time_s, kind="stable")[-self.capacity :]
        for name in {**theirs, **mine}:
            joined = [mine.get(name, np.full(len(self), np.nan)), theirs.get(name, np.full(len(past), np.nan))[fresh]]
            column = self._empty()
            column[: len(order)] = np.concatenate(joined)[order]
            self._columns[name] = column
        self._appended = len(order)

    def rows(self) -> Mapping[str, Column]:
        """Every column, oldest first."""
        order = np.arange(self._appended - len(self), self._appended) % self.capacity
        return {name: column[order] for name, column in self._columns.items()}

    def since(self, start_s: float, end_s: float) -> Mapping[str, Column]:
        """Every column of the packs stamped from `start_s` to `end_s` [s since 1970], in order of time."""
        rows = self.rows()
        time_s = rows["time_s"]
        chosen = np.flatnonzero((time_s >= start_s) & (time_s <= end_s))
        chosen = chosen[np.argsort(time_s[chosen], kind="stable")]
        return {name: column[chosen] for name, column in rows.items() if name not in _NUMBERING}

    def missing(self, start_s: float, end_s: float) -> list[tuple[float, float]]:
        """List the stretches of which the record has packs that are not here, told by their numbers [s since 1970].

        Where the rig itself was silent the numbers run on. Packs that could not be saved have none.
        """
        rows = self.rows()
        numbered = rows["sequence"] >= 0
        sequence, time_s = rows["sequence"][numbered], rows["time_s"][numbered]
        order = np.argsort(sequence, kind="stable")  # by their numbers: a clock that was set back sorts packs otherwise
        sequence, time_s = sequence[order], time_s[order]
        before_s, after_s = time_s[:-1], time_s[1:]
        is_missing = (np.diff(sequence) > 1) & (after_s - before_s > SMALLEST_GAP_S)
        found = np.flatnonzero(is_missing & (before_s >= start_s) & (after_s <= end_s))
        return [(float(before_s[row]), float(after_s[row])) for row in found]

    def _empty(self) -> Column:
        return np.full(self.capacity, np.nan)


def _key(pack: Pack) -> tuple[float, float, float]:
    """Tell packs apart. The time does so where a pack could not be saved, or a new record counts from one again."""
    return pack.session, _UNSAVED if pack.sequence is None else pack.sequence, pack.time_s


def _keys(rows: Mapping[str, Column]) -> Iterable[tuple[float, ...]]:
    return zip(*(rows[name].tolist() for name in _KEYS), strict=True)
