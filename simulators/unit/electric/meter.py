"""What a multimeter finds between any two points of a panel.

Leads stand on two named points. Alternating volts come from the network as it runs; direct volts, ohms and farads from
the same chains as a dead network, in which a motor is its windings' resistance and a charged capacitor a source.
"""

import math
from collections.abc import Mapping
from typing import Literal

from simulators.errors import SimulatorError
from simulators.unit.electric.contactor import NO_LOAD_OHM
from simulators.unit.electric.motion import LIVE_V, Motion
from simulators.unit.electric.network import Block, Chain, Network, inner_voltages
from simulators.unit.electric.panel import EARTH, Panel

Function = Literal["volts ac", "volts dc", "ohms", "farads", "insulation"]
"""Millivolts are volts; insulation is ohms again, but told up to what a tester for it can."""

TEST_HZ = 100.0
GREATEST_OHM = {"ohms": 50e6, "insulation": 20e9}
SECONDARY = ("secondary_r", "secondary_c", "coil_1", "coil_2")
TESTER_REFUSES_V = 30.0
"""A tester of insulation that finds more on its leads shows it and does not test (common practice, no source)."""
EMPTY_V = 5.0
"""With less a capacitor counts as discharged; on more a meter tells no ohms or farads (common practice, no source)."""

_CHARGED_OHM = 1.0
_DEAD_LEAK_S = 1e-10
"""From every point to earth, where windings are left out: what they have is told by their insulation."""


def points(motion: Motion) -> tuple[str, ...]:
    """Name every point on which a lead can stand."""
    found = {link.to for chain in motion.chains for link in chain.links} | {EARTH, *SECONDARY}
    return tuple(sorted(found))


def voltage(motion: Motion, point: str) -> complex:
    """Find the voltage of a point against earth [V].

    Raises:
        SimulatorError: there is no such point.

    """
    if point in SECONDARY:
        return _secondary_voltages(motion)[point]
    if point in motion.voltages:
        return motion.voltages[point]
    if point in motion.around:
        return inner_voltages(motion.around[point], motion.voltages)[point]
    raise SimulatorError(f"there is no point {point!r}; there are {', '.join(points(motion))}")


def between(motion: Motion, one: str, other: str, function: Function) -> float | None:
    """Find what a meter shows between two points: V RMS, V, ohm or F. None: nothing it could show.

    That is: ohms or farads on a live or charged part, more ohms than it can tell, or farads beside a winding.

    Raises:
        SimulatorError: there is no such point.

    """
    if function == "volts ac":
        return abs(voltage(motion, one) - voltage(motion, other))
    if {one, other} & set(SECONDARY):
        return _on_the_secondary(motion, one, other, function)
    if function == "volts dc":
        return dc_volts(motion.panel, one, other)
    if on_leads_v(motion, one, other) > EMPTY_V:
        return None
    if function == "farads":
        return farads(motion.panel, one, other)
    found = resistance_ohm(motion.panel, one, other)
    return found if found <= GREATEST_OHM[function] else None


def refused_v(motion: Motion, one: str, other: str) -> float | None:
    """Find the volts for which a tester of insulation refuses to test, and which it shows; None where it tests [V]."""
    found_v = on_leads_v(motion, one, other)
    return found_v if found_v > TESTER_REFUSES_V else None


def on_leads_v(motion: Motion, one: str, other: str) -> float:
    """Find the most that is on two points: between them, of either against earth, or the charge of a capacitor [V]."""
    to_earth_v = [abs(voltage(motion, point)) for point in (one, other)]
    return max(abs(voltage(motion, one) - voltage(motion, other)), *to_earth_v, abs(_charge_v(motion, one, other)))


def _charge_v(motion: Motion, one: str, other: str) -> float:
    return 0.0 if {one, other} & set(SECONDARY) else dc_volts(motion.panel, one, other)


def resistance_ohm(panel: Panel, one: str, other: str) -> float:
    """Find the resistance between two points of the dead network [ohm]."""
    return 0.0 if one == other else _transfer(panel, one, other, {}, 0.0).real


def farads(panel: Panel, one: str, other: str) -> float | None:
    """Find the capacitance between two points [F]; None where a winding or nothing at all lies between them."""
    capacitances = {name: panel.cans[place.can].cold_f(place.section) for name, place in panel.capacitors.items()}
    impedance_ohm = _transfer(panel, one, other, capacitances, TEST_HZ)
    if not impedance_ohm:
        return None
    admittance = 1.0 / impedance_ohm
    if abs(admittance.real) > admittance.imag:
        return 0.0 if abs(admittance) < 1e-7 else None
    return admittance.imag / (2.0 * math.pi * TEST_HZ)


def dc_volts(panel: Panel, one: str, other: str) -> float:
    """Find the charge of the capacitors as it shows between two points [V DC]."""
    chains = panel.chains({}, frequency_hz=0.0)
    injected: dict[str, complex] = {}
    extra = []
    for name, place in panel.capacitors.items():
        charge_v = panel.cans[place.can].residual_v(place.section)
        if charge_v:
            extra += [(place.terminal, place.common, charge_v, name)]
    network, terminals = _dead(panel, chains, {one, other, *(p for end in extra for p in end[:2])})
    blocks = _windings(panel)
    for terminal, common, charge_v, _ in extra:
        conductance = complex(1.0 / _CHARGED_OHM)
        blocks.append(Block((terminal, common), ((conductance, -conductance), (-conductance, conductance))))
        injected[terminal] = injected.get(terminal, 0j) + charge_v * conductance
        injected[common] = injected.get(common, 0j) - charge_v * conductance
    volts = network.solve(_known(blocks, terminals), injected)
    return (volts[one] - volts[other]).real


def _transfer(panel: Panel, one: str, other: str, capacitances_f: Mapping[str, float], frequency_hz: float) -> complex:
    """Send one ampere in at one point and out at the other, and find the voltage between [ohm]."""
    chains = panel.chains(capacitances_f, frequency_hz=frequency_hz) + panel.insulation_chains()
    network, known = _dead(panel, chains, {one, other})
    injected = {point: amps for point, amps in ((one, 1.0 + 0j), (other, -1.0 + 0j)) if point != EARTH}
    volts = network.solve(_known(_windings(panel), known), injected)
    return volts[one] - volts[other]


def _dead(panel: Panel, chains: list[Chain], ends: set[str]) -> tuple[Network, set[str]]:
    """Make a network without its supply, cut at the points that are looked at."""
    for point in sorted(ends):
        chains = [part for chain in chains for part in chain.split(point)]
    held = {EARTH: 0j}
    unknown = {end for chain in chains for end in (chain.start, chain.end)} | set(panel.points()) | (ends - {EARTH})
    unknown -= {EARTH}
    return Network(sorted(unknown), held, chains, leak_s=_DEAD_LEAK_S), unknown | {EARTH}


def _windings(panel: Panel) -> list[Block]:
    blocks = []
    for name, motor in panel.motors.items():
        if name in panel.open_protectors and name == "compressor" and not panel.is_single_phase:
            continue
        blocks.append(Block(motor.terminals, panel.machines[name].resistances()))
    return blocks


def _known(blocks: list[Block], points: set[str]) -> list[Block]:
    return [block for block in blocks if set(block.points) <= points]


def _secondary_voltages(motion: Motion) -> dict[str, complex]:
    """Find them [V]: the common is earthed, and the coil's first terminal is live on a call alone."""
    panel = motion.panel
    primary = motion.voltages["contactor_line_a"] - motion.voltages["contactor_line_b"]
    coil = panel.contactor.coil_ohm
    joints = [panel.joints["coil_1"], panel.joints["coil_2"]]
    passes = panel.coil_is_on
    load = coil + sum(joints) if passes else NO_LOAD_OHM
    hot = panel.transformer.secondary(primary, load)
    flowing = hot / load if passes else 0j
    first = hot - flowing * joints[0] if panel.called and not math.isinf(joints[0]) else 0j
    second = flowing * joints[1] if passes else (first if math.isinf(joints[1]) else 0j)
    return {"secondary_r": hot, "secondary_c": 0j, "coil_1": first, "coil_2": second}


def _on_the_secondary(motion: Motion, one: str, other: str, function: Function) -> float | None:
    """Measure the coil, dead, which is all that can be measured there."""
    if function == "volts dc":
        return 0.0
    is_dead = abs(voltage(motion, one)) < LIVE_V and abs(voltage(motion, other)) < LIVE_V
    if function == "ohms" and {one, other} == {"coil_1", "coil_2"} and is_dead:
        return motion.panel.contactor.coil.winding_ohm
    return None
