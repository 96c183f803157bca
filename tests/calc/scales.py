"""A charging scale in the open, for trials: what its cell, the weather, the wind and people's hands make of a load.

Where from: the cell's creep and what warmth does to it by OIML R 60, for a cell of 100 kg of class C3 under 15 kg.
R 60-3, 2.1.5 has at most 0.7 of the maximum permissible error within 30 min, and 0.15 from the 20th to the 30th; R 60,
C.2.4, at most one least interval in 5 °C, here of 10 g. What it resolves, its noise, gusts, touches and swings: common
practice, no source.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from calc.weighed_moves import Weighed, WeighedMoves

Array = NDArray[np.float64]

OZ = 0.028349523125
"""NIST SP 811, B.8: 1 oz = 0.028 349 523 125 kg."""
CREEP_KG = 0.7 * 0.35 * 0.0333
"""0.7 of 0.35 of an interval of 33.3 g: the maximum permissible error of class C3 up to 500 intervals, p = 0.7."""
WARMTH_KG_PER_K = 0.010 / 5


@dataclass
class Flow:
    """Refrigerant that leaves the cylinder (above 0) from a moment on, evenly or by spurts."""

    begins_s: float
    lasts_s: float
    mass_kg: float
    spurts: int = 1

    def left_kg(self, times_s: Array) -> Array:
        share = np.clip((times_s - self.begins_s) / self.lasts_s, 0.0, 1.0)
        if self.spurts > 1:  # open half of each part
            whole, part = np.divmod(share * self.spurts, 1.0)
            share = np.where(share >= 1.0, 1.0, (whole + np.minimum(2 * part, 1.0)) / self.spurts)
        return self.mass_kg * share


@dataclass
class Scale:
    """One scale on one day, by its seed: all that is not said is drawn."""

    seed: int
    hours: float
    flows: list[Flow] = field(default_factory=list)
    load_kg: float = 15.0
    wind: float | None = None
    touches_per_h: float = 3.0

    def __post_init__(self) -> None:
        self.random = np.random.default_rng(self.seed)
        self.interval_s = float(self.random.choice([0.25, 0.5, 0.5, 1.0, 2.0]))
        self.resolution_kg = float(self.random.choice([0.001, 0.002, 0.005]))
        self.missing = float(self.random.choice([0.0, 0.02, 0.1]))
        if self.wind is None:
            self.wind = float(self.random.choice([0.0, 0.3, 1.0]))

    def times_s(self) -> Array:
        count = int(3600 * self.hours / self.interval_s)
        regular = self.interval_s * np.arange(count)
        jittered = regular + self.random.uniform(0.0, 0.4 * self.interval_s, count)
        return jittered[self.random.random(count) >= self.missing]

    def readings(self) -> tuple[Array, Array]:
        times = self.times_s()
        masses = np.full(times.size, self.load_kg)
        for flow in self.flows:
            masses -= flow.left_kg(times)
        masses += self._weather(times) + self._gusts(times) + self._hands(times)
        masses += self.random.uniform(0.0, CREEP_KG) * (1 - np.exp(-times / 600))
        masses += self.random.normal(0.0, self.random.uniform(0.02, 0.08) * OZ, times.size)
        return times, self.resolution_kg * np.round(masses / self.resolution_kg)

    def _weather(self, times: Array) -> Array:
        """The day's course of 14 K, clouds of 2 K, all through a body that follows in ten minutes."""
        began_h = self.random.uniform(6.0, 10.0)
        day_k = 7.0 * np.sin(2 * np.pi * (times / 3600 + began_h - 9.0) / 24)
        clouds_k = _lagged(_wandering(self.random, times, 1200.0), times, 600.0)
        return self.random.choice([-1.0, 1.0]) * WARMTH_KG_PER_K * (day_k - day_k[0] + 2.0 * clouds_k)

    def _gusts(self, times: Array) -> Array:
        """Up to 0.3 oz, of seconds, in squalls of a minute or so."""
        assert self.wind is not None
        squalls = np.clip(0.5 + _wandering(self.random, times, 60.0), 0.0, 1.0)
        return self.wind * 0.3 * OZ * squalls * _wandering(self.random, times, self.random.uniform(1.0, 4.0))

    def _hands(self, times: Array) -> Array:
        """Hands on the hose that go away again, and a hose that swings."""
        moved = np.zeros(times.size)
        for _ in range(self.random.poisson(self.touches_per_h * self.hours)):
            begins_s, lasts_s = self.random.uniform(0.0, times[-1]), self.random.uniform(2.0, 40.0)
            size_kg = self.random.choice([-1, 1]) * self.random.uniform(0.5, 8.0) * OZ
            moved += size_kg * ((times >= begins_s) & (times < begins_s + lasts_s))
            since_s = np.clip(times - begins_s - lasts_s, 0.0, None)
            swing = np.exp(-since_s / self.random.uniform(3.0, 10.0)) * np.sin(2 * np.pi * 0.9 * since_s)
            moved += self.random.uniform(0.3, 2.0) * OZ * swing
        return moved


def _wandering(random: np.random.Generator, times: Array, memory_s: float) -> Array:
    """An Ornstein-Uhlenbeck process of one standard deviation."""
    kept = np.exp(-np.diff(times, prepend=times[0]) / memory_s)
    fresh = np.sqrt(1 - kept**2) * random.normal(size=times.size)
    walk, value = np.empty(times.size), random.normal()
    for index in range(times.size):
        value = kept[index] * value + fresh[index]
        walk[index] = value
    return walk


def _lagged(series: Array, times: Array, constant_s: float) -> Array:
    shares = 1 - np.exp(-np.diff(times, prepend=times[0]) / constant_s)
    lagged, value = np.empty(times.size), float(series[0])
    for index in range(times.size):
        value += shares[index] * (series[index] - value)
        lagged[index] = value
    return lagged


def moves_of(readings: tuple[Array, Array]) -> list[Weighed]:
    return list(_told(*readings))


def _told(times: Array, masses: Array) -> Iterator[Weighed]:
    moves = WeighedMoves()
    for time_s, mass_kg in zip(times.tolist(), masses.tolist(), strict=True):
        told = moves.take(time_s, mass_kg)
        if told is not None:
            yield told
