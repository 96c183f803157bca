"""A network of impedances between named points, solved for the phasor at each of them.

Parts in series make one chain: only its two ends are unknowns of the solution, and what lies between follows from the
current through it. An open part has an infinite impedance.
"""

import cmath
import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import NamedTuple

OPEN = complex(math.inf)
LEAK_S = 1e-9
"""From every point to earth: clean insulation lets that much through, so that no point floats."""

Rows = Sequence[Sequence[complex]]


class Link(NamedTuple):
    """One part of a chain: its name, its impedance [ohm], and the point behind it."""

    part: str
    impedance_ohm: complex
    to: str


class Chain(NamedTuple):
    """Parts in series, from one point on."""

    start: str
    links: tuple[Link, ...]

    @property
    def end(self) -> str:
        """Where it ends."""
        return self.links[-1].to

    @property
    def impedance_ohm(self) -> complex:
        """Of all of it; open if one part is."""
        parts = [link.impedance_ohm for link in self.links]
        return OPEN if any(map(is_open, parts)) else sum(parts, 0j)

    def split(self, point: str) -> "tuple[Chain, ...]":
        """Cut it in two at a point within, so that this point is an end of both."""
        for index, link in enumerate(self.links[:-1], start=1):
            if link.to == point:
                return Chain(self.start, self.links[:index]), Chain(point, self.links[index:])
        return (self,)


def is_open(impedance_ohm: complex) -> bool:
    """Tell whether nothing passes."""
    return cmath.isinf(impedance_ohm)


class Block(NamedTuple):
    """What a machine is to the network at this moment: its terminals, and its admittances between them [S]."""

    points: tuple[str, ...]
    admittances: Rows


class Network:
    """Chains between points, some of which are held at a voltage.

    points: all unknown ones. The solution is quickest where those far from the supply come first. leak: from each
    point to earth [S].
    """

    def __init__(
        self, points: Sequence[str], held: Mapping[str, complex], chains: Iterable[Chain], *, leak_s: float = LEAK_S
    ) -> None:
        self._index = {point: index for index, point in enumerate(points)}
        self._held = dict(held)
        self.chains = tuple(chains)
        self._rows = [[0j] * len(points) for _ in points]
        self._injected = [0j] * len(points)
        self._joined: list[set[int]] = [set() for _ in points]
        self._later: dict[tuple[tuple[str, ...], ...], tuple[tuple[int, ...], ...]] = {}
        for index in range(len(points)):
            self._rows[index][index] = complex(leak_s)
        for chain in self.chains:
            self._join(chain)

    def solve(self, blocks: Iterable[Block], injected: Mapping[str, complex] | None = None) -> dict[str, complex]:
        """Find the voltage at every end of a chain [V]. injected: currents that are forced into points [A]."""
        rows = [row.copy() for row in self._rows]
        currents = self._injected.copy()
        index = self._index
        machines = []
        for points, admittances in blocks:
            machines.append(points)
            places = [index[point] for point in points]
            for place, admittance_row in zip(places, admittances, strict=True):
                row = rows[place]
                for column, admittance in zip(places, admittance_row, strict=True):
                    row[column] += admittance
        for point, current in (injected or {}).items():
            currents[index[point]] += current
        solved = eliminate(rows, currents, self._filled(tuple(machines)))
        return {**self._held, **{point: solved[place] for point, place in index.items()}}

    def _filled(self, machines: tuple[tuple[str, ...], ...]) -> tuple[tuple[int, ...], ...]:
        """Find it once for these machines, whatever they are to the network then."""
        if machines not in self._later:
            joined = [set(others) for others in self._joined]
            for points in machines:
                places = [self._index[point] for point in points]
                for place in places:
                    joined[place].update(places)
            self._later[machines] = filled(joined)
        return self._later[machines]

    def _join(self, chain: Chain) -> None:
        impedance = chain.impedance_ohm
        if is_open(impedance):
            return
        admittance = 1.0 / impedance
        for one, other in ((chain.start, chain.end), (chain.end, chain.start)):
            place = self._index.get(one)
            if place is None:
                continue
            self._rows[place][place] += admittance
            if other in self._held:
                self._injected[place] += admittance * self._held[other]
            else:
                self._rows[place][self._index[other]] -= admittance
                self._joined[place].add(self._index[other])


def filled(joined: Sequence[Collection[int]]) -> tuple[tuple[int, ...], ...]:
    """Tell for each unknown in which later equations it stands when its turn comes, and they in its own.

    joined: for each, with which others an equation has it in common.

    >>> filled([{1, 2}, {0}, {0}])
    ((1, 2), (2,), ())
    """
    others = [set(each) for each in joined]
    later: list[tuple[int, ...]] = []
    for step, each in enumerate(others):
        left = tuple(sorted(other for other in each if other > step))
        later.append(left)
        for other in left:
            others[other].update(left)
    return tuple(later)


def eliminate(rows: list[list[complex]], right: list[complex], later: Sequence[Sequence[int]]) -> list[complex]:
    """Solve linear equations by Gauss, in their order; both are used up. later: where there is something, see filled.

    >>> eliminate([[2 + 0j, 1 + 0j], [1 + 0j, 3 + 0j]], [5 + 0j, 10 + 0j], [[1], []])
    [(1+0j), (3+0j)]
    """
    for step, (pivot_row, below) in enumerate(zip(rows, later, strict=True)):
        pivot, known = pivot_row[step], right[step]
        for lower in below:
            row = rows[lower]
            factor = row[step] / pivot
            for column in below:
                row[column] -= factor * pivot_row[column]
            right[lower] -= factor * known
    for step in range(len(rows) - 1, -1, -1):
        row, known = rows[step], right[step]
        for column in later[step]:
            known -= row[column] * right[column]
        right[step] = known / row[step]
    return right


def current(chain: Chain, voltages: Mapping[str, complex]) -> complex:
    """Find the current through a chain, from its start on [A]."""
    impedance = chain.impedance_ohm
    return 0j if is_open(impedance) else (voltages[chain.start] - voltages[chain.end]) / impedance


def inner_voltages(chain: Chain, voltages: Mapping[str, complex]) -> dict[str, complex]:
    """Find the voltage at the points within a chain; one that hangs between two open parts has none."""
    flowing, volts = current(chain, voltages), voltages[chain.start]
    open_parts = [index for index, link in enumerate(chain.links) if is_open(link.impedance_ohm)]
    found = {}
    for index, link in enumerate(chain.links[:-1]):
        if not open_parts or index < open_parts[0]:
            volts -= flowing * link.impedance_ohm
        else:
            volts = voltages[chain.end] if index >= open_parts[-1] else 0j
        found[link.to] = volts
    return found
