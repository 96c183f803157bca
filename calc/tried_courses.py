"""The courses that are tried on readings: what a change of the charge may do to a figure, before anything is seen.

Each is a level and up to two parts, of which only the sizes are fitted. Everything else is divided into cells, each of
which stands for all that have about the same constants, and is halved as long as it is likely (`calc.course`).

- One lag, exp(-t / slow constant): metal, oil, and the places where refrigerant lies.
- With a quick lag beside it (the lines and their sensors); or behind it, after a dead time, in which nothing is seen
  yet: refrigerant has to come through.
- A damped oscillation, as of a valve and its bulb after a step. How it decays is its slow constant.
- A ramp, alone or after a lag: weather or load moves the figure, and there is no end to it.
- Nothing: it is at rest.

Their shares, constants and spreads are this project's, set on trials of its own (tests/judge/settling.py): no source.
"""

import math
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp]

RAMP_K_PER_S = 0.2 * 5 / 9 / 60
"""One standard deviation of a ramp before anything is seen: 0.2 °F per minute."""

MEMORIES_S = np.array([0.0, 3.0, 8.0, 20.0, 50.0])
"""How long the noise may remember itself."""

SLOW, QUICK, DEAD, RATIO = range(4)
"""The constants, by their columns: the slow one, or that of the decay of an oscillation [s]; the quick one [s]; the
dead time [s]; the ratio of the frequency [rad/s] to the decay [1/s] of an oscillation."""

_ENDS = np.log([(15.0, 1800.0), (4.0, 48.0), (6.0, 40.0), (0.4, 2.2)])  # a ratio of 0.4 to 2.2: damping 0.93 to 0.41
_SLOW = ((1.0, 180.0, 0.6),)
"""The slow constant before anything is seen: log-normal distributions, of each its share, middle [s] and spread. Metal
and oil take 120 to 300 s after a change of the charge (from memory: laboratory traces)."""
_SLOW_OR_QUICK = ((0.6, 180.0, 0.6), (0.4, 45.0, 0.7))  # where a valve and its bulb hold the figure, that is all
_RINGS = ((1.0, 80.0, 0.7),)  # what rings is such a valve, not metal
_LEAST_RATIO = 2.0  # of the slow constant to the quick one: nearer, they cannot be told apart
_TELLS = np.array([2.0, 1.0, 1.0, 1.0])  # how much more the slow constant does to a course than the others
_FROM_REST = 0.2  # of what a part may come to: so far its second one may be from what sets off from rest
_NONE_ROW, _RAMP_ROW, _FIRST_ROW = 0, 1, 2


class _Kind(NamedTuple):
    """What a course of one kind has of each constant, whether it has a ramp, and how likely it is beforehand.

    into: how many cells each constant is divided into at first; 0 where it has none.
    from_rest: whether it sets off slowly, as what answers a step by more than one lag; only about, for steps are not
    quite steps.
    """

    share: float
    into: tuple[int, int, int, int]
    slow: tuple[tuple[float, float, float], ...] = _SLOW
    ramp: bool = False
    from_rest: bool = False


_KINDS = (
    _Kind(0.05, (0, 0, 0, 0)),
    _Kind(0.30, (16, 0, 0, 0), _SLOW_OR_QUICK),
    _Kind(0.28, (16, 8, 0, 0)),
    _Kind(0.12, (0, 0, 0, 0), ramp=True),
    _Kind(0.02, (16, 0, 0, 0), ramp=True),
    _Kind(0.16, (12, 6, 3, 0), from_rest=True),
    _Kind(0.07, (14, 0, 0, 4), _RINGS, from_rest=True),
)
_LOG_SHARES = np.log([kind.share for kind in _KINDS])
_HAS_RAMP = np.array([kind.ramp for kind in _KINDS])
_SETS_OFF = np.array([kind.from_rest for kind in _KINDS])


class Tried(NamedTuple):
    """Courses that are tried, each the middle of a cell.

    Attributes:
        kinds: of each, an index.
        logs: of each constant, a column each, the logarithm; not a number where it has none.
        widths: of the cell, in logarithms of each constant; 0 where it has none.
        prior: how likely each is before anything is seen, the logarithm.

    """

    kinds: Index
    logs: Array
    widths: Array
    prior: Array

    @classmethod
    def of(cls, kinds: Index, logs: Array, widths: Array) -> "Tried":
        """Give these cells, but for those whose slow constant is too near the quick one."""
        distinct = ~(logs[:, SLOW] < logs[:, QUICK] + math.log(_LEAST_RATIO))
        kinds, logs, widths = kinds[distinct], logs[distinct], widths[distinct]
        return cls(kinds, logs, widths, _prior(kinds, logs, widths))

    def only(self, which: Index) -> "Tried":
        """Keep some of them."""
        return Tried(self.kinds[which], self.logs[which], self.widths[which], self.prior[which])

    def joined(self, other: "Tried") -> "Tried":
        """Put others behind them."""
        kinds, logs, widths, prior = (np.concatenate(each) for each in zip(self, other, strict=True))
        return Tried(kinds, logs, widths, prior)

    def quartered(self) -> "Tried":
        """Halve each cell twice, each time by the constant that tells most; but for those that have no constant."""
        has = self.widths.any(axis=1)
        kinds, logs, widths = self.kinds[has], self.logs[has], self.widths[has]
        for _ in range(2):
            each, along = np.arange(kinds.size), np.argmax(widths * _TELLS, axis=1)
            widths = widths.copy()
            widths[each, along] /= 2
            lower, upper = logs.copy(), logs.copy()
            lower[each, along] -= widths[each, along] / 2
            upper[each, along] += widths[each, along] / 2
            kinds, logs, widths = np.tile(kinds, 2), np.concatenate([lower, upper]), np.tile(widths, (2, 1))
        return Tried.of(kinds, logs, widths)

    @property
    def slow_s(self) -> Array:
        """The slow constant of each; infinite where it has none."""
        return np.where(self.widths[:, SLOW] > 0, np.exp(self.logs[:, SLOW]), math.inf)

    @property
    def dead_s(self) -> Array:
        """The dead time of each; 0 where it has none."""
        return np.where(self.widths[:, DEAD] > 0, np.exp(self.logs[:, DEAD]), 0.0)

    @property
    def is_ramp(self) -> NDArray[np.bool_]:
        """Whether the second part of each is a ramp."""
        return _HAS_RAMP[self.kinds]

    @property
    def is_rest(self) -> NDArray[np.bool_]:
        """Whether each is at rest, without any part."""
        return ~self.is_ramp & ~self.widths.any(axis=1)

    @property
    def lean(self) -> Array:
        """How large the second part is beforehand, the other way, for each of the first."""
        lean = np.zeros(self.kinds.size)
        lags = np.flatnonzero((self.widths[:, QUICK] > 0) & _SETS_OFF[self.kinds])
        lean[lags] = np.exp(self.logs[lags, QUICK] - self.logs[lags, SLOW])
        return lean

    @property
    def spread(self) -> Array:
        """How much it may differ from that, as a share of what any part may come to."""
        return np.where(_SETS_OFF[self.kinds], _FROM_REST, 1.0)

    def courses(self, times_s: Array) -> tuple[Array, Index]:
        """Give how all parts go, a row each, its times along the last axis; and each course's two rows.

        The first row is that of a part which a course has not, the second that of a ramp.
        """
        at, constants = np.full((self.kinds.size, 2), _NONE_ROW), np.exp(self.logs)
        has = ~np.isnan(constants)
        in_lags = has[:, [SLOW, QUICK]] & ~has[:, RATIO, np.newaxis]
        lags = (constants[:, [SLOW, QUICK]] + 1j * self.dead_s[:, np.newaxis])[in_lags]  # a constant and a dead time
        alike, which = np.unique(lags, return_inverse=True)
        since_s = np.maximum(times_s - alike.imag[:, np.newaxis], 0.0)
        at[in_lags] = _FIRST_ROW + which
        at[self.is_ramp, 1] = _RAMP_ROW
        rings = np.flatnonzero(has[:, RATIO])
        at[rings] = _FIRST_ROW + alike.size + np.arange(rings.size)[:, np.newaxis] + [0, rings.size]
        slow_s, ratios = (constants[rings, each, np.newaxis] for each in (SLOW, RATIO))
        decays, phases = np.exp(-times_s / slow_s), ratios * times_s / slow_s
        sines = decays * np.sin(phases)
        rows = [
            [np.zeros_like(times_s), RAMP_K_PER_S * times_s],
            np.exp(-since_s / alike.real[:, np.newaxis]),
            decays * np.cos(phases) + sines / ratios,
            sines,
        ]
        return np.concatenate(rows), at


@cache
def at_first() -> Tried:
    """Divide the whole of each constant of every kind."""
    return Tried.of(*(np.concatenate(each) for each in zip(*map(_divided, range(len(_KINDS))), strict=True)))


def _divided(kind: int) -> tuple[Index, Array, Array]:
    """Divide what a kind has of each constant, evenly by its logarithm: kinds, logarithms and widths."""
    into, lows = _KINDS[kind].into, _ENDS[:, 0]
    widths = [(high - low) / count if count else 0.0 for count, (low, high) in zip(into, _ENDS, strict=True)]
    middles = [
        low + (np.arange(count) + 0.5) * width if count else np.array([math.nan])
        for count, low, width in zip(into, lows, widths, strict=True)
    ]
    logs = np.stack([axis.ravel() for axis in np.meshgrid(*middles, indexing="ij")], axis=1)
    return np.full(logs.shape[0], kind), logs, np.tile(widths, (logs.shape[0], 1))


def _prior(kinds: Index, logs: Array, widths: Array) -> Array:
    """Tell how likely each cell is beforehand: of all constants but the slow one each logarithm is as likely."""
    has = widths > 0
    shares = np.where(has, widths / (_ENDS[:, 1] - _ENDS[:, 0]), 1.0)
    for kind, its in enumerate(_KINDS):
        of = has[:, SLOW] & (kinds == kind)
        shares[of, SLOW] = widths[of, SLOW] * _density(logs[of, SLOW], its.slow)
    prior: Array = _LOG_SHARES[kinds] + np.log(shares.prod(axis=1))
    return prior


def _density(logs: Array, mixture: tuple[tuple[float, float, float], ...]) -> Array:
    """Give that of each logarithm among normal distributions."""
    shares, middles_s, spreads = np.transpose(mixture)
    about = (logs[:, np.newaxis] - np.log(middles_s)) / spreads
    density: Array = np.exp(-(about**2) / 2) @ (shares / spreads) / math.sqrt(2 * math.pi)
    return density
