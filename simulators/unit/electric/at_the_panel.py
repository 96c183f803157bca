"""What eyes, ears, a meter and a clamp find at a unit's panel, and all that a hand can do there."""

import math
from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise
from typing import Literal

from simulators.errors import SimulatorError
from simulators.unit.electric import meter
from simulators.unit.electric.capacitor import Can, Section
from simulators.unit.electric.channels import compressor_currents
from simulators.unit.electric.contactor import Contactor
from simulators.unit.electric.electrics import Electrics
from simulators.unit.electric.interval import OverInterval
from simulators.unit.electric.panel import TIGHT_OHM
from simulators.unit.electric.split_capacitor import SplitCapacitorMachine
from simulators.unit.electric.supply import Leg, Supply

LUG_RISE_K_PER_W = 3.0
"""How much warmer a lug gets for each watt of heat in it (common practice, no source)."""

BROKEN_OHM = 1e9
LEAST_RESISTOR_OHM = 100.0
"""With less, a resistor across a charged capacitor is as good as a screwdriver (common practice, no source)."""
LARGEST_CAPACITOR_F = 2e-3
"""More than any capacitor of a motor: those for starting end near 1300 microfarad (common practice, no source)."""
_HUMS_FROM = 0.1

Sound = Literal["", "runs", "hums", "chatters", "rattles"]
"""Of a compressor: it hums where it has power and stands, and rattles where it turns backwards."""


class AtThePanel:
    """The panel of one unit. Nothing here lets time pass: what is done shows with the unit's next step.

    What is asked for by a name that is not there is refused with a SimulatorError that lists those that are.
    """

    def __init__(self, electrics: Electrics) -> None:
        self._electrics = electrics
        self._panel, self._motion = electrics.panel, electrics.motion

    @property
    def fan_speed(self) -> float:
        """Of the condenser's fan, over its rated one [1]."""
        return self._electrics.fan_speed

    @property
    def sound(self) -> Sound:
        """What is heard of the compressor."""
        compressor, contactor = self._motion.turning["compressor"], self._panel.contactor
        if not contactor.is_quiet(self._motion.coil_v):
            return "chatters"
        if compressor.speed < 0.0:
            return "rattles"
        if compressor.speed > 0.0:
            return "runs"
        return "hums" if max(compressor_currents(self._motion)) > _HUMS_FROM * compressor.motor.rated_a else ""

    def joint_rise_dk(self, joint: str) -> float:
        """How much warmer than the air a lug is [K]."""
        self._panel.check("lug", joint)
        ohm = self._panel.joints[joint]
        return 0.0 if math.isinf(ohm) else LUG_RISE_K_PER_W * abs(self._motion.current_in(joint)) ** 2 * ohm

    def over_interval(self) -> dict[str, OverInterval]:
        """Tell what clamps found since the interval began, by the lug whose lead they are on; slower than a moment."""
        return {
            lead: OverInterval(*(amps * self._panel.slowed_in(lead) for amps in seen))
            for lead, seen in self._motion.interval.seen().items()
        }

    # --- what a meter finds

    def points(self) -> tuple[str, ...]:
        """Name every point on which a meter's lead can stand."""
        return meter.points(self._motion)

    def between(self, one: str, other: str, function: meter.Function) -> float | None:
        """Find what a meter shows between two points: V RMS, V, ohm or F; see simulators.unit.electric.meter.

        Raises:
            SimulatorError: there is no such point.

        """
        return meter.between(self._motion, one, other, function)

    def on_leads_v(self, one: str, other: str) -> float:
        """Find the most that is on two points: between them, of either against earth, or of a charge [V].

        Raises:
            SimulatorError: there is no such point.

        """
        return meter.on_leads_v(self._motion, one, other)

    def at_lug_v(self, lug: str) -> float:
        """Find the most against earth on either side of a lug [V RMS].

        Raises:
            SimulatorError: there is no such lug.

        """
        self._panel.check("lug", lug)
        for chain in self._motion.chains:
            sides = (chain.start, *(link.to for link in chain.links))
            for link, (before, after) in zip(chain.links, pairwise(sides), strict=True):
                if link.part == lug:
                    return max(abs(meter.voltage(self._motion, side)) for side in (before, after))
        return abs(meter.voltage(self._motion, lug))  # of the coil, which is in no chain

    def charge_v(self, section: str) -> float:
        """Find what is left in a section of a capacitor [V DC].

        Raises:
            SimulatorError: there is no such section.

        """
        self._panel.check("section", section)
        place = self._panel.capacitors[section]
        return self._panel.cans[place.can].residual_v(place.section)

    def refused_v(self, one: str, other: str) -> float | None:
        """Find the volts for which a tester of insulation refuses to test; None where it tests [V].

        Raises:
            SimulatorError: there is no such point.

        """
        return meter.refused_v(self._motion, one, other)

    def current_in(self, lead: str) -> float:
        """Find what a clamp shows on a lead, by the lug at its end [A RMS].

        Raises:
            SimulatorError: there is no such lug.

        """
        self._panel.check("lug", lead)
        return abs(self._motion.current_in(lead)) * self._panel.slowed_in(lead)

    # --- what a hand does

    def disconnect(self, *, closed: bool, legs: tuple[Leg, ...] | None = None) -> None:
        """Throw the disconnect, or open one leg of it, as a blown fuse does."""
        self._panel.check("leg", *(legs or ()))
        for leg in legs or self._panel.supply.legs:
            self._panel.blades[leg] = closed
        self._electrics.rewire()

    def set_joint(self, joint: str, resistance_ohm: float = TIGHT_OHM) -> None:
        """Tighten a lug, or loosen it to a resistance; infinite: its lead is off [ohm].

        Raises:
            SimulatorError: there is no such lug, or the resistance is below that of a sound one.

        """
        self._panel.check("lug", joint)
        if not resistance_ohm >= TIGHT_OHM:
            raise SimulatorError(f"{joint}: {resistance_ohm:g} ohm is less than a sound lug has, {TIGHT_OHM:g} ohm")
        self._panel.joints[joint] = resistance_ohm
        self._electrics.rewire()

    def wear_pole(self, leg: Leg, resistance_ohm: float) -> None:
        """Give a pole of the contactor this resistance when closed [ohm]."""
        self._panel.check("leg", leg)
        self._panel.contactor.pole_ohm[leg] = resistance_ohm
        self._electrics.rewire()

    def weld(self, *legs: Leg) -> None:
        """Weld these poles of the contactor, and no others."""
        self._panel.check("leg", *legs)
        self._panel.contactor.welded = set(legs)
        self._electrics.rewire()

    def exchange_capacitor(self, can: str, sections: Mapping[str, Section]) -> None:
        """Put a new capacitor in: discharged, as warm as the old one, and with the sections of the old one.

        Raises:
            SimulatorError: there is no such can, it has other sections, or no motor has a capacitor of that size.

        """
        old = self._panel.cans.get(can)
        if old is None or set(old.sections) != set(sections):
            have = "; ".join(f"{name}: {', '.join(it.sections)}" for name, it in self._panel.cans.items())
            raise SimulatorError(f"no capacitor {can!r} with sections {', '.join(sections)}; there are {have}")
        for name, section in sections.items():
            if not 0.0 < section.rated_f <= LARGEST_CAPACITOR_F:
                raise SimulatorError(
                    f"{name}: {section.rated_f * 1e6:g} uF is no capacitor of a motor; "
                    f"more than 0, at most {LARGEST_CAPACITOR_F * 1e6:g} uF, was expected"
                )
        self._panel.cans[can] = Can(dict(sections), temperature_k=old.temperature_k)
        self._electrics.rewire()

    def bulge(self, can: str) -> None:
        """Let a capacitor dome, and so part its own connections."""
        self._panel.check("capacitor", can)
        self._panel.cans[can].is_bulged = True
        self._electrics.rewire()

    def capacitor(self, can: str) -> Can:
        """Show a capacitor."""
        self._panel.check("capacitor", can)
        return self._panel.cans[can]

    def discharge(self, section: str, resistance_ohm: float, duration_s: float) -> None:
        """Hold a resistor across a section for this long.

        Raises:
            SimulatorError: there is no such section, it is no resistor, or no time.

        """
        self._panel.check("section", section)
        if not LEAST_RESISTOR_OHM <= resistance_ohm < math.inf:
            raise SimulatorError(
                f"{resistance_ohm:g} ohm across a charged capacitor is a short circuit: it flashes, and may burst; "
                "make the unit dead, then hold a resistor across it, such as 15 to 20 kilohm"
                if resistance_ohm < LEAST_RESISTOR_OHM
                else f"{resistance_ohm:g} ohm is no resistor"
            )
        if not 0.0 <= duration_s < math.inf:
            raise SimulatorError(f"nothing is held for {duration_s:g} s")
        place = self._panel.capacitors[section]
        self._panel.cans[place.can].leak_off(place.section, duration_s, resistance_ohm)

    def open_winding(self, motor: str, winding: Literal["run", "start"]) -> None:
        """Break a winding of a single-phase motor.

        Raises:
            SimulatorError: it has three phases.

        """
        self._panel.check("motor", motor)
        turning = self._motion.turning[motor]
        machine = turning.motor.machine
        if not isinstance(machine, SplitCapacitorMachine):
            raise SimulatorError(f"the {motor} has no {winding} winding: it has three phases; take a lead off instead")
        broken = complex(BROKEN_OHM)
        machine = replace(machine, main_ohm=broken) if winding == "run" else replace(machine, auxiliary_ohm=broken)
        turning.motor = replace(turning.motor, machine=machine)
        self._panel.machines[motor] = machine
        self._electrics.rewire()

    def connect_supply(self, supply: Supply) -> None:
        """Feed it from another supply, of as many phases.

        Raises:
            SimulatorError: it has not as many.

        """
        if supply.phases != self._panel.supply.phases:
            raise SimulatorError(f"a unit of {self._panel.supply.phases} phases cannot run on {supply.phases}")
        self._set_supply(supply)

    def fit_contactor(self, contactor: Contactor) -> None:
        """Put another contactor in, with its own coil, poles and straps."""
        self._panel.contactor = contactor
        self._electrics.rewire()

    def lose_leg(self, *legs: Leg) -> None:
        """Let legs of the source die; none: all are back."""
        self._panel.check("leg", *legs)
        self._set_supply(replace(self._panel.supply, lost=frozenset(legs)))

    def swap_supply(self, one: Leg, other: Leg) -> None:
        """Swap two legs at the source, as after work on the supply."""
        self._panel.check("leg", one, other)
        supply = self._panel.supply
        self._set_supply(replace(supply, order=_swapped(supply.order, one, other)))

    def swap_leads(self, one: Leg, other: Leg) -> None:
        """Swap two leads of the compressor at the contactor."""
        self._panel.check("leg", one, other)
        self._panel.compressor_leads = _swapped(self._panel.compressor_leads, one, other)
        self._electrics.rewire()

    def sag(self, part: float) -> None:
        """Let this part of the line voltage be missing.

        Raises:
            SimulatorError: it is less than nothing, or more than all.

        """
        if not 0.0 <= part <= 1.0:
            raise SimulatorError(f"from 0 to 1 of the line voltage can be missing, not {part:g}")
        self._set_supply(replace(self._panel.supply, sag=part))

    def block(self, motor: str, *, blocked: bool) -> None:
        """Hold a motor fast, as something in a fan or a seized compressor does, or let it go."""
        self._panel.check("motor", motor)
        (self._panel.blocked.add if blocked else self._panel.blocked.discard)(motor)
        self._electrics.rewire()

    def leak_to_earth(self, point: str, resistance_ohm: float) -> None:
        """Give a motor's terminal this resistance to earth [ohm].

        Raises:
            SimulatorError: it is no motor's terminal.

        """
        terminals = [point for motor in self._panel.motors.values() for point in motor.terminals]
        if point not in terminals:
            raise SimulatorError(f"{point!r} is no motor's terminal; there are {', '.join(sorted(terminals))}")
        self._panel.earth_faults[point] = resistance_ohm
        self._electrics.rewire()

    def _set_supply(self, supply: Supply) -> None:
        self._panel.supply = supply
        self._electrics.rewire()


def _swapped(order: tuple[Leg, ...], one: Leg, other: Leg) -> tuple[Leg, ...]:
    return tuple(other if leg == one else one if leg == other else leg for leg in order)
