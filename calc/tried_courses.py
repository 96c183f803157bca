"""The courses that are tried on readings: what a change of the charge may do to a figure, before anything is seen.

Each is a level and up to three parts, of which only the sizes are fitted; everything else is on a grid.

- One lag, exp(-t / slow constant): metal, oil, and the places where refrigerant lies.
- With a quick lag beside it (the lines and their sensors); or behind it, after a dead time, in which nothing is seen
  yet: refrigerant has to come through.
- A damped oscillation, as of a valve and its bulb after a step. How it decays is its slow constant.
- A ramp, alone or after a lag: weather or load moves the figure, and there is no end to it.
- Nothing: it is at rest.

Their shares, constants and spreads are this project's, set on trials of its own (tests/judge/settling.py): no source.
"""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp]

PARTS = 3
RAMP_K_PER_S = 0.2 * 5 / 9 / 60
"""One standard deviation of a ramp before anything is seen: 0.2 °F per minute."""

MEMORIES_S = np.array([0.0, 3.0, 8.0, 20.0, 50.0])
"""How long the noise may remember itself."""

_LEAST_RATIO = 2.0  # of the slow constant to the quick one: nearer, they cannot be told apart
_MIDDLE_S, _SPREAD = 180.0, 0.6  # of the slow constant before anything is seen, log-normal
_ENDS = ((15.0, 1800.0), (4.0, 48.0), (6.0, 40.0), (0.4, 2.2))  # a ratio of 0.4 to 2.2 is a damping of 0.93 to 0.41
_FROM_REST = 0.2  # of what a part may come to: so far its second one may be from what sets off from rest
_LEVEL_ROW, _RAMP_ROW, _FIRST_ROW = 0, 1, 2
_ABSENT = -1


class Axes(NamedTuple):
    """What is tried of each constant, in even steps of its logarithm; or of several courses, the constants of each.

    Attributes:
        slow_s: the slow constant, or that of the decay of an oscillation [s].
        quick_s: the quick constant [s].
        dead_s: the dead time [s].
        ratio: of the frequency [rad/s] to the decay [1/s] of an oscillation.

    """

    slow_s: Array
    quick_s: Array
    dead_s: Array
    ratio: Array

    @classmethod
    def of(cls, slow: int, quick: int = 0, dead: int = 0, ratio: int = 0) -> "Axes":
        """Divide the whole of each into so many."""
        return cls(*(np.geomspace(*ends, count) for ends, count in zip(_ENDS, (slow, quick, dead, ratio), strict=True)))

    def around(self, likely: "Axes", counts: tuple[int, ...]) -> "Axes":
        """Divide anew what is likely of each constant, and a step on either side, into so many."""
        return Axes(*(_around(*each) for each in zip(self, likely, counts, _ENDS, strict=True)))


def _around(axis: Array, likely: Array, count: int, ends: tuple[float, float]) -> Array:
    values = likely[~np.isnan(likely)]
    if not axis.size or not values.size:
        return axis
    step = axis[1] / axis[0]
    return np.geomspace(max(values.min() / step, ends[0]), min(values.max() * step, ends[1]), count)


class _Kind(NamedTuple):
    """What a course of one kind has of each constant, whether it has a ramp, and how likely it is beforehand.

    from_rest: whether it sets off slowly, as what answers a step by more than one lag; only about, for steps are not
    quite steps.
    """

    share: float
    has: tuple[bool, bool, bool, bool]
    ramp: bool = False
    from_rest: bool = False


_LAGS, _LATE, _RINGING = "lags", "late", "ringing"
_KINDS = {
    _LAGS: (
        _Kind(0.05, (False, False, False, False)),
        _Kind(0.30, (True, False, False, False)),
        _Kind(0.28, (True, True, False, False)),
        _Kind(0.12, (False, False, False, False), ramp=True),
        _Kind(0.02, (True, False, False, False), ramp=True),
    ),
    _LATE: (_Kind(0.16, (True, True, True, False), from_rest=True),),
    _RINGING: (_Kind(0.07, (True, False, False, True), from_rest=True),),
}
WIDE = {_LAGS: Axes.of(16, 8), _LATE: Axes.of(12, 6, 3), _RINGING: Axes.of(14, ratio=4)}
"""What is tried at first, of each group of courses."""
CLOSE = {_LAGS: (20, 10, 0, 0), _LATE: (13, 5, 3, 0), _RINGING: (12, 0, 0, 4)}
CLOSE_ALONE = {_LAGS: (26, 14, 0, 0), _LATE: (16, 8, 4, 0), _RINGING: (22, 0, 0, 8)}
"""Into how many each constant is divided once it is narrowed down; and where no other group of courses is likely."""


class Tried(NamedTuple):
    """Every combination; each of them stands once for every memory of the noise.

    Attributes:
        axes: what is tried of each constant, for each group of courses.
        memories_s: how long noise may remember itself [s].
        groups: to which each combination belongs.
        constants: those of each combination, not a number where it has none.
        rows: of `courses`, a row for each part of each combination.
        present: 1 where it has that part, else 0.
        is_ramp: whether that part is a ramp.
        prior: how likely each is before anything is seen, its logarithm.
        lean: how large its second part is beforehand, the other way, for each of its first.
        spread: how much it may differ from that, as a share of what any part may come to.

    """

    axes: dict[str, Axes]
    memories_s: Array
    groups: NDArray[np.str_]
    constants: Axes
    rows: Index
    present: Array
    is_ramp: NDArray[np.bool_]
    prior: Array
    lean: Array
    spread: Array

    @classmethod
    def of(cls, axes: dict[str, Axes], memories_s: Array) -> "Tried":
        """Combine what is tried of each constant, of the groups of courses that are named."""
        made, groups, first_row = [], [], _FIRST_ROW
        for group, of_group in axes.items():
            for kind in _KINDS[group]:
                made.append(_combinations(kind, of_group, first_row))
                groups.append(np.full(made[-1].prior.size, group))
            first_row += _rows_of(of_group, np.zeros(1)).shape[0]
        rows = np.concatenate([each.rows for each in made])
        return cls(
            axes,
            memories_s,
            np.concatenate(groups),
            Axes(*(np.concatenate(values) for values in zip(*(each.constants for each in made), strict=True))),
            np.maximum(rows, _LEVEL_ROW),
            (rows != _ABSENT).astype(np.float64),
            rows == _RAMP_ROW,
            np.concatenate([each.prior for each in made]),
            np.concatenate([each.lean for each in made]),
            np.concatenate([each.spread for each in made]),
        )

    def courses(self, times_s: Array) -> Array:
        """Give how each part goes, its times along the last axis: the level, a ramp, then group by group."""
        groups = [_rows_of(axes, times_s) for axes in self.axes.values()]
        return np.concatenate([[np.ones_like(times_s), RAMP_K_PER_S * times_s], *groups])


def _rows_of(axes: Axes, times_s: Array) -> Array:
    """Give a row for each slow constant and then each quick one, after each dead time; or answers, and then sines."""
    slow_s, quick_s, dead_s, ratio = axes
    if ratio.size:
        decays, ratios = np.exp(-times_s / slow_s[:, np.newaxis]), ratio[:, np.newaxis, np.newaxis]
        phases = ratios * times_s / slow_s[:, np.newaxis]
        sines = decays * np.sin(phases)
        return np.concatenate([decays * np.cos(phases) + sines / ratios, sines]).reshape(-1, times_s.size)
    constants_s = np.concatenate([slow_s, quick_s])[:, np.newaxis]
    since_s = np.maximum(times_s - dead_s[:, np.newaxis], 0.0) if dead_s.size else times_s[np.newaxis]
    lags: Array = np.exp(-since_s[:, np.newaxis] / constants_s)
    return lags.reshape(-1, times_s.size)


class _Combinations(NamedTuple):
    """All of one kind: their constants, the row of each part or `_ABSENT`, and their prior."""

    constants: list[Array]
    rows: Index
    prior: Array
    lean: Array
    spread: Array


def _combinations(kind: _Kind, axes: Axes, first_row: int) -> _Combinations:
    """Combine all constants of a kind: of all but the slow one each logarithm is as likely."""
    each = [np.arange(axis.size) if has else np.array([_ABSENT]) for axis, has in zip(axes, kind.has, strict=True)]
    at = np.stack([index.ravel() for index in np.meshgrid(*each, indexing="ij")])
    constants = [
        axis[index] if has else np.full(index.size, math.nan)
        for axis, index, has in zip(axes, at, kind.has, strict=True)
    ]
    distinct = ~(constants[0] < _LEAST_RATIO * constants[1])
    constants = [values[distinct] for values in constants]
    rows, prior = _rows_at(kind, axes, at[:, distinct], first_row), np.full(distinct.sum(), math.log(kind.share))
    for axis, has, (low, high) in list(zip(axes, kind.has, _ENDS, strict=True))[1:]:
        if has:
            prior += math.log(math.log(axis[-1] / axis[0]) / math.log(high / low) / axis.size)
    if kind.has[0]:
        step = math.log(axes.slow_s[1] / axes.slow_s[0]) / _SPREAD
        prior += math.log(step / math.sqrt(2 * math.pi)) - (np.log(constants[0] / _MIDDLE_S) / _SPREAD) ** 2 / 2
    slow_s, quick_s, *_ = constants
    lean = np.nan_to_num(quick_s / slow_s) if kind.from_rest else np.zeros_like(prior)
    return _Combinations(constants, rows, prior, lean, np.full_like(prior, _FROM_REST if kind.from_rest else 1.0))


def _rows_at(kind: _Kind, axes: Axes, at: Index, first_row: int) -> Index:
    """Tell in which row each part stands, from where its constants stand on their axes."""
    slow, quick, dead, ratio = at
    absent = np.full(slow.size, _ABSENT)
    _, has_quick, _, has_ratio = kind.has
    after_dead = first_row + np.maximum(dead, 0) * (axes.slow_s.size + axes.quick_s.size)
    first, second = after_dead + slow if kind.has[0] else absent, absent
    if has_quick:
        second = after_dead + axes.slow_s.size + quick
    if has_ratio:
        first = first_row + ratio * axes.slow_s.size + slow
        second = first + axes.ratio.size * axes.slow_s.size
    return np.stack([first, second, np.full(slow.size, _RAMP_ROW) if kind.ramp else absent], axis=-1)
