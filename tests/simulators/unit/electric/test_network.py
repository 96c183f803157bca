"""The network of a panel against independent solutions: numpy's, and the closed formulas of textbooks."""

import cmath
import math
import random

import numpy as np
import pytest

from simulators.unit.electric.network import LEAK_S, OPEN, Block, Chain, Link, Network, current, inner_voltages
from simulators.unit.electric.supply import TURN

EARTH = {"earth": 0j}


def one(start: str, end: str, ohm: complex) -> Chain:
    return Chain(start, (Link(f"{start}-{end}", ohm, end),))


@pytest.mark.parametrize("seed", range(8))
def test_it_is_solved_as_numpy_solves_it(seed: int) -> None:
    """Nodal analysis with numpy.linalg.solve, assembled here by itself from incidences."""
    chance = random.Random(seed)
    points = [f"p{index}" for index in range(9)]
    held = {"earth": 0j, "source": cmath.rect(230.0, chance.uniform(0.0, 6.0))}
    names = [*points, *held]
    chains = [
        one(point, chance.choice(names[index + 1 :]), complex(chance.uniform(1e-4, 50.0), chance.uniform(-80.0, 80.0)))
        for index, point in enumerate(points)
    ]
    chains += [one(*chance.sample(names, 2), complex(chance.uniform(0.1, 9.0), 3.0)) for _ in range(6)]
    machine = tuple(tuple(complex(chance.uniform(-0.1, 0.1), chance.uniform(-0.1, 0.1)) for _ in "abc") for _ in "abc")
    incidence = np.array([[(name == it.start) - (name == it.end) for name in names] for it in chains], complex)
    nodal = incidence.T @ np.diag([1.0 / it.impedance_ohm for it in chains]) @ incidence + LEAK_S * np.eye(len(names))
    nodal[:3, :3] += np.array(machine)
    right = -nodal[:9, 9:] @ np.array(list(held.values()))
    expected = np.linalg.solve(nodal[:9, :9], right)
    solved = Network(points, held, chains).solve([Block(("p0", "p1", "p2"), machine)])
    assert [solved[point] for point in points] == pytest.approx(list(expected), rel=1e-9, abs=1e-9)


def test_one_network_takes_machine_after_machine_wherever_they_are_nothing_or_something() -> None:
    """What one machine leaves empty the next may fill: each is solved as a new network solves it, and as numpy does."""
    chains = [one("earth", "p0", 2 + 1j), one("p0", "p1", 3 - 1j), one("p1", "p2", 1 + 4j), one("p2", "source", 5 + 0j)]
    lasting = Network(["p0", "p1", "p2"], {"earth": 0j, "source": 230 + 0j}, chains)
    y01, y12, y20, y2s, ye0 = (1.0 / ohm for ohm in (3 - 1j, 1 + 4j, math.inf, 5 + 0j, 2 + 1j))
    alone = np.array([[ye0 + y01, -y01, -y20], [-y01, y01 + y12, -y12], [-y20, -y12, y12 + y2s]]) + LEAK_S * np.eye(3)
    for machine in (((0.1 + 0j, 0j), (0j, 0.2 + 0j)), ((0.1 + 0j, 0.3j), (0j, 0.2 + 0j)), ((0j, 0j), (0.4 - 1j, 0j))):
        for points in (("p0", "p2"), ("p2", "p1")):
            blocks = [Block(points, machine)]
            nodal = alone.copy()
            nodal[np.ix_([int(point[1]) for point in points], [int(point[1]) for point in points])] += np.array(machine)
            expected = np.linalg.solve(nodal, [0.0, 0.0, 230.0 * y2s])
            solved = lasting.solve(blocks)
            assert [solved[f"p{i}"] for i in range(3)] == pytest.approx(list(expected), rel=1e-9)


def test_an_unsymmetrical_star_shifts_its_middle_as_millman_says() -> None:
    """Millman's theorem: the middle stands at sum(V Y) / sum(Y); the currents of the three add up to nothing."""
    held = {"a": 230.0 + 0j, "b": 230.0 * TURN.conjugate(), "c": 230.0 * TURN, **EARTH}
    ohms = {"a": 10.0 + 4j, "b": 22.0 - 3j, "c": 5.0 + 0j}
    chains = [one(leg, "middle", ohm) for leg, ohm in ohms.items()]
    solved = Network(["middle"], held, chains).solve([])
    expected = sum(held[leg] / ohm for leg, ohm in ohms.items()) / sum(1.0 / ohm for ohm in ohms.values())
    assert solved["middle"] == pytest.approx(expected, rel=1e-7)
    assert abs(sum(current(chain, solved) for chain in chains)) < 1e-6


def test_a_delta_draws_what_its_equivalent_star_draws() -> None:
    """Kennelly: Z_a = Z_ab Z_ca / (Z_ab + Z_bc + Z_ca), and so on round."""
    held = {"a": 230.0 + 0j, "b": 200.0 * TURN.conjugate(), "c": 240.0 * TURN, **EARTH}
    ab, bc, ca = 12.0 + 5j, 30.0 + 0j, 9.0 - 7j
    feeders = [one(leg, f"end_{leg}", 0.5 + 0j) for leg in "abc"]
    delta = [one("end_a", "end_b", ab), one("end_b", "end_c", bc), one("end_c", "end_a", ca)]
    total = ab + bc + ca
    arms = {"a": ab * ca / total, "b": ab * bc / total, "c": bc * ca / total}
    star = [one(f"end_{leg}", "middle", ohm) for leg, ohm in arms.items()]
    ends = ["end_a", "end_b", "end_c"]
    in_delta, in_star = (
        Network(points, held, feeders + load).solve([]) for points, load in ((ends, delta), ([*ends, "middle"], star))
    )
    for feeder in feeders:
        assert current(feeder, in_delta) == pytest.approx(current(feeder, in_star), rel=1e-6)


def test_points_within_a_chain_share_its_drop_and_an_open_part_has_all_of_it() -> None:
    """Kirchhoff: 230 V, from 330 to 100 V, over 1 + 2 + 20 ohm drive 10 A."""
    links = (Link("lug", 1.0 + 0j, "lug"), Link("pole", 2.0 + 0j, "pole"), Link("load", 20.0 + 0j, "far"))
    chain = Chain("source", links)
    solved = Network([], {"source": 330.0 + 0j, "far": 100.0 + 0j, **EARTH}, [chain]).solve([])
    assert current(chain, solved) == pytest.approx(10.0)
    assert inner_voltages(chain, solved) == {"lug": pytest.approx(320.0), "pole": pytest.approx(300.0)}
    opened = Chain("source", (links[0], links[1]._replace(impedance_ohm=OPEN), links[2]))
    assert inner_voltages(opened, solved) == {"lug": 330.0, "pole": 100.0}
    between = Chain("source", tuple(link._replace(impedance_ohm=OPEN) for link in links[:2]) + links[2:])
    assert inner_voltages(between, solved) == {"lug": 0.0, "pole": 100.0}


def test_capacitors_in_series_and_beside_each_other() -> None:
    """C1 C2 / (C1 + C2), and C1 + C2."""

    def ohm(farads: float) -> complex:
        return 1.0 / complex(0.0, 2.0 * math.pi * 60.0 * farads)

    series = Chain("a", (Link("one", ohm(45e-6), "m"), Link("two", ohm(5e-6), "earth")))
    assert 1.0 / (2.0 * math.pi * 60.0 * abs(series.impedance_ohm)) == pytest.approx(4.5e-6)
    beside = Network(["a"], EARTH, [one("a", "earth", ohm(45e-6)), one("a", "earth", ohm(5e-6))])
    assert 1.0 / (2.0 * math.pi * 60.0 * abs(beside.solve([], {"a": 1.0 + 0j})["a"])) == pytest.approx(50e-6, rel=1e-5)
