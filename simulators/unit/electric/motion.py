"""All motors and the contactor on one network through time.

The network is solved only while something changes: in short steps while a motor comes up or the contactor moves,
otherwise once, when a load or a capacitor has changed by more than a little.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from simulators.unit.electric.contactor import NO_LOAD_OHM
from simulators.unit.electric.interval import Interval
from simulators.unit.electric.network import Chain, Network, current, is_open
from simulators.unit.electric.panel import Panel
from simulators.unit.electric.turning import NEAR, Turning

CONTACTOR_STEP_S = 0.02
_SHORTEST_S = 1e-9
_CREEPS = 0.01
_ROUNDS = 6
_BALANCED = 2e-5
_CAPACITOR_CHANGE = 2e-4
LIVE_V = 1.0
LEAST_A = 1e-5
"""Less passes the insulation, and is told as none."""


class _Across(NamedTuple):
    """A section of a capacitor: the ends of its chain, and its share of the voltage between them."""

    section: str
    start: str
    end: str
    share: float


class _Laid(NamedTuple):
    """The chains as a network, the sections in them, and of each point within one its chain."""

    network: Network
    sections: tuple[_Across, ...]
    around: dict[str, Chain]


@dataclass(slots=True)
class Motion:
    """Their state. voltages: at the ends of all chains [V]. currents: RMS in leads, by name [A].

    secondary, coil: what the control transformer gives, and what of it its coil has [V]. around: of each point within
    a chain that chain.
    """

    panel: Panel
    turning: dict[str, Turning]
    interval: Interval = field(default_factory=Interval)
    step_interval: Interval = field(default_factory=Interval)
    voltages: dict[str, complex] = field(default_factory=dict)
    currents: dict[str, float] = field(default_factory=dict)
    powers_w: dict[str, float] = field(default_factory=dict)
    section_v: dict[str, float] = field(default_factory=dict)
    secondary_v: float = 0.0
    coil_v: float = 0.0
    chains: list[Chain] = field(default_factory=list)
    around: dict[str, Chain] = field(default_factory=dict)
    _capacitances_f: dict[str, float] = field(default_factory=dict)
    _laid: dict[bool, _Laid] = field(default_factory=dict)
    _network: Network = field(init=False)
    _sections: tuple[_Across, ...] = ()

    def __post_init__(self) -> None:
        """Lay the chains."""
        self._lay()

    def rewire(self) -> None:
        """Lay the chains anew, after anything in the panel changed: no motor is then taken for settled."""
        self._laid.clear()
        self._switch()

    def go_on(self, step_s: float, *, has_changed: bool) -> None:
        """Let everything go on for this long. has_changed: whether a load has, by more than a little."""
        self.step_interval.begin()
        if self._capacitors_have_changed():
            self._laid.clear()
            self._lay()
            has_changed = True
        left_s = step_s
        while left_s > _SHORTEST_S:
            if not self._is_quiet():
                if self.panel.contactor.is_quiet(self.coil_v):
                    self._settle()
                else:
                    self.solve()
                has_changed = True
            if self._is_quiet() and (not has_changed or self._balance()):
                self._take(left_s)
                return
            left_s -= self._swing(left_s)
        self.solve()

    def terminals(self, name: str) -> tuple[complex, complex, complex]:
        """Give the voltages behind a motor's terminals [V]."""
        if name in self._cut_off:
            return 0j, 0j, 0j
        one, two, three = (self.voltages[point] for point in self.panel.motors[name].terminals)
        return one, two, three

    def solve(self) -> None:
        """Find all voltages and currents at the speeds of now."""
        panel = self.panel
        motors = panel.motors
        blocks = {
            name: item.block(motors[name].terminals) for name, item in self.turning.items() if name not in self._cut_off
        }
        volts = self.voltages = self._network.solve(blocks.values())
        currents = {lug: 0.0 for name in self.turning for lug in motors[name].lugs}
        powers = dict.fromkeys(self.turning, 0.0)
        for name, block in blocks.items():
            one, two, three = (volts[point] for point in block.points)
            power_w = 0.0
            for lug, volt, (own, ahead, behind) in zip(
                motors[name].lugs, (one, two, three), block.admittances, strict=True
            ):
                drawn = own * one + ahead * two + behind * three
                power_w += (volt * drawn.conjugate()).real
                amps = abs(drawn)
                currents[lug] = amps if amps > LEAST_A else 0.0
            powers[name] = power_w
        self.currents, self.powers_w = currents, powers
        self._keep_charges(self._across_sections())
        self._feel_coil()

    @property
    def _cut_off(self) -> frozenset[str]:
        """A motor of three phases whose protector parts its windings at their middle."""
        is_cut = "compressor" in self.panel.open_protectors and not self.panel.is_single_phase
        return frozenset({"compressor"} if is_cut else ())

    def current_in(self, lead: str) -> complex:
        """Find the current through any part of a chain [A]."""
        for chain in self.chains:
            if any(lead == link.part for link in chain.links):
                return current(chain, self.voltages)
        return 0j

    def _feel_coil(self) -> None:
        panel = self.panel
        primary = self.voltages["contactor_line_a"] - self.voltages["contactor_line_b"]
        coil, is_on = panel.contactor.coil_ohm, panel.coil_is_on
        load_ohm = coil + panel.control_joints_ohm if is_on else NO_LOAD_OHM
        self.secondary_v = abs(panel.transformer.secondary(primary, load_ohm))
        self.coil_v = self.secondary_v * abs(coil / load_ohm) if is_on else 0.0

    def _switch(self) -> None:
        self._lay()
        for item in self.turning.values():
            item.is_settled = False

    def _lay(self) -> None:
        """Lay the chains as the contactor stands: one that chatters finds those of both its ends laid already."""
        panel, is_in = self.panel, self.panel.contactor.is_in
        if is_in not in self._laid:
            if not self._laid:
                self._capacitances_f = self._capacitances_now()
            chains = panel.chains(self._capacitances_f, frequency_hz=panel.supply.frequency_hz)
            around = {link.to: chain for chain in reversed(chains) for link in chain.links[:-1]}
            self._laid[is_in] = _Laid(Network(panel.points(), panel.held(), chains), tuple(_sections(chains)), around)
        self._network, self._sections, self.around = self._laid[is_in]
        self.chains = list(self._network.chains)

    def _capacitances_now(self) -> dict[str, float]:
        panel = self.panel
        return {
            name: panel.cans[place.can].capacitance_f(place.section, self.section_v.get(name, 0.0))
            for name, place in panel.capacitors.items()
        }

    def _keep_charges(self, now_v: dict[str, float]) -> None:
        """Leave its peak in a section that has just been cut off; in a live one there is none."""
        for name, place in self.panel.capacitors.items():
            can, before_v = self.panel.cans[place.can], self.section_v.get(name, 0.0)
            if now_v[name] > LIVE_V:
                can.keep(place.section, 0.0)
            elif before_v > LIVE_V:
                can.keep(place.section, math.sqrt(2.0) * before_v)
        self.section_v = now_v

    def _capacitors_have_changed(self) -> bool:
        now, laid = self._capacitances_now(), self._capacitances_f
        return any(abs(farads - laid.get(name, 0.0)) > _CAPACITOR_CHANGE * farads for name, farads in now.items())

    def _across_sections(self) -> dict[str, float]:
        """Find the voltage across each section [V RMS]."""
        volts = self.voltages
        return {it.section: it.share * abs(volts[it.start] - volts[it.end]) for it in self._sections}

    def _is_quiet(self) -> bool:
        settled = all(item.is_settled for item in self.turning.values())
        return settled and bool(self.voltages) and self.panel.contactor.is_quiet(self.coil_v)

    def _balance(self) -> bool:
        """Put every motor where its torques are equal; tell if one has no balance near here, and has to be let go."""
        for _ in range(_ROUNDS):
            self.solve()
            furthest = 0.0
            for name, item in self.turning.items():
                off = item.off_balance(self.terminals(name))
                if off is None or abs(off) > 10.0 * NEAR:
                    item.is_settled = False
                    return False
                item.speed += off
                furthest = max(furthest, abs(off))
            if furthest < _BALANCED:
                break
        return True

    def _swing(self, longest_s: float) -> float:
        """Follow inertia and contactor for one short step, by the midpoint rule, and tell how long it was."""
        contactor = self.panel.contactor
        loose = {name: item for name, item in self.turning.items() if not item.is_settled}
        spares, step_s = {}, longest_s
        for name, item in loose.items():
            at = self.terminals(name)
            driven = _driven(at)
            spares[name] = item.spare(item.torque(at, item.speed) if driven else 0.0, item.speed)
            step_s = min(step_s, item.longest_s(spares[name], driven=driven))
        if not contactor.is_quiet(self.coil_v):
            step_s = min(step_s, CONTACTOR_STEP_S)
        self._take(step_s)
        if contactor.feel(self.coil_v, step_s):
            for name, item in loose.items():
                item.move(spares[name], step_s)
            self._switch()
            return step_s
        self._move(loose, spares, step_s)
        return step_s

    def _take(self, step_s: float) -> None:
        for interval in (self.interval, self.step_interval):
            interval.take(self.currents, step_s)

    def _move(self, loose: dict[str, Turning], spares: dict[str, float], step_s: float) -> None:
        before = {name: item.speed for name, item in loose.items()}
        for name, item in loose.items():
            item.move(spares[name], 0.5 * step_s)
        if any(abs(volt) > LIVE_V for name in loose for volt in self.terminals(name)):
            self.solve()
        for name, item in loose.items():
            spare_w = item.spare(item.torque(self.terminals(name), item.speed), item.speed)
            item.speed = before[name]
            item.move(spare_w, step_s)

    def _settle(self) -> None:
        """Take those for settled that are at their balance, or stuck."""
        self.solve()
        for name, item in self.turning.items():
            at = self.terminals(name)
            if self._stands_fast(item, at):
                item.speed = 0.0
                item.is_settled = True
                continue
            off = item.off_balance(at)
            if item.is_settled and off is not None and abs(off) < 10.0 * NEAR:
                item.speed += off
            else:
                item.is_settled = off is not None and abs(off) < NEAR and _driven(at)

    @staticmethod
    def _stands_fast(item: Turning, at: tuple[complex, complex, complex]) -> bool:
        """Tell whether a motor is held, or sticks at the voltages behind its terminals."""
        if math.isinf(item.load.torque(0.0)):
            return True
        return abs(item.speed) < _CREEPS and item.spare(item.torque(at, 0.0), 0.0) == 0.0


def _sections(chains: Iterable[Chain]) -> Iterator[_Across]:
    for chain in chains:
        for link in chain.links:
            if link.part.startswith("section_"):
                whole = chain.impedance_ohm
                share = 0.0 if is_open(whole) else abs(link.impedance_ohm / whole)
                yield _Across(link.part.removeprefix("section_"), chain.start, chain.end, share)


def _driven(voltages: tuple[complex, complex, complex]) -> bool:
    return any(abs(voltages[0] - other) > LIVE_V for other in voltages[1:])
