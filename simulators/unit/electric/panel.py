"""What is wired to what: switches, joints, contactor, capacitors and protectors of one unit, as chains of a network.

Single phase: leg a feeds the compressor's run terminal and the capacitors' common, leg b its common terminal. Three
phases: the condenser fan lies between b and c, the blower between c and a, the control transformer between a and b.
The fans' own switches lie in the lead to their common terminal. Every lug has a point before and behind it.
"""

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Literal, NamedTuple

from simulators.errors import SimulatorError
from simulators.unit.electric.capacitor import Can
from simulators.unit.electric.contactor import Contactor, ControlTransformer
from simulators.unit.electric.insulation import Insulation
from simulators.unit.electric.network import OPEN, Chain, Link
from simulators.unit.electric.sized import Machine
from simulators.unit.electric.supply import Leg, Supply

TIGHT_OHM = 2e-4
"""Of a sound lug (common practice, no source)."""

BLADE_OHM = 2e-4
WIRE_OHM = 3e-3
IDLE_TRANSFORMER_VA = 5.0
PRIMARY_WINDING_OHM = 25.0
EARTH = "earth"


class CapacitorPlace(NamedTuple):
    """Where a section is: its can, its name there, its two terminals, and the lug of its lead."""

    can: str
    section: str
    common: str
    terminal: str


class Motor(NamedTuple):
    """A motor's place: the points behind its terminals (single phase: run, common, start), and its lugs."""

    terminals: tuple[str, ...]
    lugs: tuple[str, ...]


@dataclass(slots=True)
class Panel:
    """All that can be switched, loosened, exchanged or worn in a unit's panel.

    joints: resistance of each lug by name [ohm], infinite with its lead off. blades: of the disconnect, closed or not.
    compressor_leads: which leg goes to the compressor's first, second and third terminal. earth_faults: from a
    motor's terminal to earth [ohm]. insulation: of each motor, windings: how warm they are [K], water_share: in the
    compressor's oil. called: whether the controls ask for the contactor. blocked: fans that something
    holds. fan_slowed: what a speed control leaves of the condenser fan's speed; it draws with the square of that.
    """

    supply: Supply
    transformer: ControlTransformer
    contactor: Contactor
    cans: dict[str, Can]
    joints: dict[str, float]
    blades: dict[Leg, bool]
    compressor_leads: tuple[Leg, ...]
    earth_faults: dict[str, float] = field(default_factory=dict)
    insulation: dict[str, Insulation] = field(default_factory=dict)
    windings_k: dict[str, float] = field(default_factory=dict)
    water_share: float = 0.0
    machines: dict[str, Machine] = field(default_factory=dict)
    open_protectors: set[str] = field(default_factory=set)
    called: bool = False
    blocked: set[str] = field(default_factory=set)
    fan_slowed: float = 1.0
    fan_switch: bool = True
    blower_relay: bool = False

    @property
    def is_single_phase(self) -> bool:
        """Whether the compressor is."""
        return self.supply.phases == 1

    @property
    def control_joints_ohm(self) -> float:
        """What lies in the control circuit besides transformer and coil."""
        return self.joints["coil_1"] + self.joints["coil_2"]

    @property
    def coil_is_on(self) -> bool:
        """Whether the coil's circuit is closed."""
        return self.called and math.isfinite(self.control_joints_ohm)

    @property
    def motors(self) -> Mapping[str, Motor]:
        """Where each motor is wired."""
        return _MOTORS[self.supply.phases]

    @property
    def capacitors(self) -> Mapping[str, CapacitorPlace]:
        """Where each section is wired."""
        return _CAPACITORS[self.supply.phases]

    def slowed_in(self, lead: str) -> float:
        """Give what a speed control leaves of the current in a lead [1]."""
        return self.fan_slowed**2 if lead in self.motors["fan"].lugs else 1.0

    def points(self) -> tuple[str, ...]:
        """Name the points that a network solves for, those far from the supply first."""
        legs = self.supply.legs
        fans = tuple(f"{name}_{end}" for name in ("fan", "blower") for end in ("start", "run", "windings"))
        compressor = self.motors["compressor"].terminals
        contactor = tuple(f"contactor_{side}_{leg}" for side in ("load", "line") for leg in legs)
        return (*fans, *compressor, "capacitor_common", *contactor)

    def held(self) -> dict[str, complex]:
        """Give the voltages that nothing of the unit moves."""
        return {EARTH: 0j} | {f"source_{leg}": volts for leg, volts in self.supply.leg_voltages().items()}

    def chains(self, capacitances_f: Mapping[str, float], *, frequency_hz: float) -> list[Chain]:
        """Lay out all chains. capacitances: of each section that is to be in it; at 0 Hz nothing passes them."""
        chains = [self._supply_chain(leg) for leg in self.supply.legs]
        chains += [
            Chain(f"contactor_line_{leg}", (Link(f"pole_{leg}", self._pole_ohm(leg), f"contactor_load_{leg}"),))
            for leg in self.supply.legs
        ]
        chains += self._compressor_chains()
        run, common = ("a", "b") if self.is_single_phase else ("b", "c")
        chains.append(Chain(f"contactor_load_{run}", (self._lug("capacitor_common"),)))
        chains += self._fan_chains("fan", f"contactor_load_{run}", f"contactor_load_{common}", closed=self.fan_switch)
        run, common = ("a", "b") if self.is_single_phase else ("c", "a")
        chains += self._fan_chains(
            "blower", f"contactor_line_{run}", f"contactor_line_{common}", closed=self.blower_relay
        )
        for name, place in self.capacitors.items():
            chains.append(
                self._capacitor_chain(name, place, capacitances_f.get(name, 0.0), frequency_hz, f"contactor_line_{run}")
            )
        chains.append(self._transformer_chain(dead=frequency_hz == 0.0))
        chains += [
            Chain(point, (Link("earth_fault", complex(ohm), EARTH),)) for point, ohm in self.earth_faults.items()
        ]
        return chains

    def insulation_chains(self) -> list[Chain]:
        """Lay out what lets a tester's direct current from the windings to ground: as much at each terminal."""
        chains = []
        for name, insulation in self.insulation.items():
            water = self.water_share if name == "compressor" else 0.0
            terminals = self.motors[name].terminals
            ohm = complex(len(terminals) * insulation.resistance_ohm(self.windings_k[name], water))
            chains += [Chain(point, (Link("insulation", ohm, EARTH),)) for point in terminals]
        return chains

    def check(self, kind: Literal["lug", "leg", "capacitor", "section", "motor"], *names: str) -> None:
        """Refuse what is not there.

        Raises:
            SimulatorError: it is not.

        """
        there: Mapping[str, Collection[str]] = {
            "lug": self.joints,
            "leg": self.supply.legs,
            "capacitor": self.cans,
            "section": self.capacitors,
            "motor": self.motors,
        }
        for name in names:
            if name not in there[kind]:
                raise SimulatorError(not_there(kind, name, there[kind]))

    def _lug(self, name: str, to: str = "") -> Link:
        ohm = self.joints[name]
        return Link(name, OPEN if math.isinf(ohm) else complex(ohm), to or name)

    def _supply_chain(self, leg: Leg) -> Chain:
        supply = self.supply
        is_lost = supply.order[supply.legs.index(leg)] in supply.lost
        return Chain(
            f"source_{leg}",
            (
                Link(f"supply_{leg}", OPEN if is_lost else supply.impedance_ohm, f"line_{leg}"),
                Link(f"blade_{leg}", complex(BLADE_OHM) if self.blades[leg] else OPEN, f"disconnect_{leg}"),
                self._lug(f"disconnect_{leg}", f"disconnect_{leg}_wire"),
                Link("wire", complex(WIRE_OHM), f"contactor_line_{leg}_wire"),
                self._lug(f"contactor_line_{leg}"),
            ),
        )

    def _pole_ohm(self, leg: Leg) -> complex:
        contactor = self.contactor
        if leg in contactor.straps:
            return complex(TIGHT_OHM)
        return complex(contactor.pole_ohm[leg]) if contactor.is_closed(leg) else OPEN

    def _compressor_chains(self) -> list[Chain]:
        chains = []
        names = ("run", "common") if self.is_single_phase else ("a", "b", "c")
        for leg, name in zip(self.compressor_leads, names, strict=True):
            links = [
                self._lug(f"contactor_load_{leg}", f"contactor_load_{leg}_wire"),
                Link("wire", complex(WIRE_OHM), f"compressor_{name}_wire"),
                self._lug(f"compressor_{name}"),
            ]
            if name == "common":
                links.append(self._protector("compressor"))
            chains.append(Chain(f"contactor_load_{leg}", tuple(links)))
        return chains

    def _fan_chains(self, name: str, run_from: str, common_from: str, *, closed: bool) -> list[Chain]:
        switch = Link(f"{name}_switch", complex(TIGHT_OHM) if closed else OPEN, f"{name}_switch")
        return [
            Chain(run_from, (self._lug(f"{name}_run"),)),
            Chain(common_from, (switch, self._lug(f"{name}_common"), self._protector(name))),
        ]

    def _protector(self, motor: str) -> Link:
        ohm = OPEN if motor in self.open_protectors else complex(TIGHT_OHM)
        return Link(f"{motor}_protector", ohm, f"{motor}_windings")

    def _capacitor_chain(
        self, name: str, place: CapacitorPlace, capacitance_f: float, frequency_hz: float, blower_from: str
    ) -> Chain:
        passes = capacitance_f > 0.0 and frequency_hz > 0.0
        ohm = 1.0 / complex(0.0, 2.0 * math.pi * frequency_hz * capacitance_f) if passes else OPEN
        motor = "compressor" if name == "herm" else name
        section = Link(f"section_{name}", ohm, place.terminal)
        lead = self._lug(place.terminal, f"{motor}_start")
        if name == "blower":
            return Chain(blower_from, (self._lug("capacitor_blower_common"), section, lead))
        return Chain("capacitor_common", (section, lead))

    def _transformer_chain(self, *, dead: bool) -> Chain:
        transformer = self.transformer
        ratio = transformer.nominal_v / transformer.secondary_v
        idle = 1.0 / complex(transformer.nominal_v**2 / IDLE_TRANSFORMER_VA)
        load = transformer.impedance_ohm + self.contactor.coil_ohm + complex(self.control_joints_ohm)
        loaded = 1.0 / (ratio**2 * load) if self.coil_is_on else 0.0
        ohm = complex(PRIMARY_WINDING_OHM) if dead else 1.0 / (idle + loaded)
        return Chain(
            "contactor_line_a",
            (
                self._lug("transformer_1"),
                Link("primary", ohm, "transformer_2"),
                self._lug("transformer_2", "contactor_line_b"),
            ),
        )


def not_there(kind: str, name: str, there: Collection[str]) -> str:
    """Say that there is no such thing, what there is, and what may have been meant.

    >>> not_there("lug", "coil1", ("coil_2", "coil_1"))
    "there is no lug 'coil1'; there are coil_1, coil_2; was 'coil_1' meant?"
    """
    close = get_close_matches(name, there, n=1)
    meant = f"; was {close[0]!r} meant?" if close else ""
    return f"there is no {kind} {name!r}; there are {', '.join(sorted(there))}{meant}"


def _fan_place(name: str) -> Motor:
    return Motor(
        (f"{name}_run", f"{name}_windings", f"{name}_start"),
        (f"{name}_run", f"{name}_common", f"capacitor_{name}"),
    )


_FANS = {"fan": _fan_place("fan"), "blower": _fan_place("blower")}
_SINGLE = Motor(
    ("compressor_run", "compressor_windings", "compressor_start"),
    ("compressor_run", "compressor_common", "capacitor_herm"),
)
_THREE = Motor(("compressor_a", "compressor_b", "compressor_c"), ("compressor_a", "compressor_b", "compressor_c"))
_MOTORS: Mapping[int, Mapping[str, Motor]] = {1: {"compressor": _SINGLE, **_FANS}, 3: {"compressor": _THREE, **_FANS}}
_FAN_SECTIONS = {
    "fan": CapacitorPlace("outdoor", "fan", "capacitor_common", "capacitor_fan"),
    "blower": CapacitorPlace("blower", "blower", "capacitor_blower_common", "capacitor_blower"),
}
_HERM = CapacitorPlace("outdoor", "herm", "capacitor_common", "capacitor_herm")
_CAPACITORS: Mapping[int, Mapping[str, CapacitorPlace]] = {1: {**_FAN_SECTIONS, "herm": _HERM}, 3: _FAN_SECTIONS}


def joint_names(supply: Supply) -> tuple[str, ...]:
    """Name every lug of a panel on this supply."""
    legs = supply.legs
    single = supply.phases == 1
    compressor = ("run", "common") if single else legs
    return (
        *(f"{place}_{leg}" for place in ("disconnect", "contactor_line", "contactor_load") for leg in legs),
        *(f"compressor_{name}" for name in compressor),
        *(f"{motor}_{lead}" for motor in ("fan", "blower") for lead in ("run", "common")),
        *(("capacitor_herm",) if single else ()),
        *("capacitor_common", "capacitor_fan", "capacitor_blower", "capacitor_blower_common"),
        *("transformer_1", "transformer_2", "coil_1", "coil_2"),
    )
