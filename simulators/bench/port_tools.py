"""What hangs on the service ports of the bench's unit: hoses, cylinder on its scale, recovery machine, pump, nitrogen.

Each act is refused where it could not be done, or where it would let refrigerant out; what was begun works on while the
unit goes on.
"""

from calc.quantities import Quantity
from calc.units import to_display
from ingest.wire.bench_acts import Act, Evacuate, Hose, Nitrogen, OpenCylinder, Recover, ServicePort
from simulators.bench.correlated import AnyUnit, CorrelatedAtTheBench
from simulators.errors import SimulatorError
from simulators.unit import properties, service_tools
from simulators.unit.ports import PORTS
from simulators.unit.service_tools import STANDARD_PA, Cylinder, RecoveryMachine, VacuumPump
from simulators.unit.transfers import RATE_KG_S

TARE_KG = 5.4
CONTENTS_KG = 4.5
"""The cylinder on the scale: its steel, and 10 lb of refrigerant (common practice, no source)."""

PUMPED_FROM_PA = 1.05 * STANDARD_PA
"""With more inside, a vacuum pump would blow refrigerant into the open."""

MOST_VENTED_KG = 0.15
"""Of refrigerant beside nitrogen: what vapour recovery leaves. More is recovered, not vented."""

LOWEST_NITROGEN_PA = 5e4
"""No place has less air pressure that a rig can be told."""
HIGHEST_NITROGEN_PA = 4.2e6
"""600 psig; the low side of few units is made for more (common practice, no source). The nameplate decides."""


PORT_ACTS = (Hose, OpenCylinder, Recover, Evacuate, Nitrogen)


class PortTools:
    """What is connected, and how it stands. The cylinder holds the unit's own refrigerant, as warm as the outdoor air.

    poured: all that left the cylinder [kg].
    """

    def __init__(self, unit: AnyUnit, *, refrigerant: str, outdoor_air_k: float) -> None:
        self._unit = unit
        self._outdoor_air_k = outdoor_air_k
        self._cylinder = Cylinder(properties.load(refrigerant), outdoor_air_k)
        self._machine, self._pump, self._hose = RecoveryMachine(), VacuumPump(), service_tools.Hose()
        self.hoses: tuple[ServicePort, ...] = ()
        self.opened = OpenCylinder(open_ratio=0.0)
        self.recovers = self.evacuates = False
        self.poured_kg = 0.0

    @property
    def cylinder_mass_kg(self) -> float:
        """What the scale under the cylinder carries."""
        return TARE_KG + CONTENTS_KG - self.poured_kg

    @property
    def at_work(self) -> tuple[bool, bool, bool]:
        """Whether the cylinder is open, and whether the recovery machine and the vacuum pump run."""
        return self.opened.open_ratio > 0.0, self.recovers, self.evacuates

    def do(self, act: Act) -> None:
        """Do one act.

        Raises:
            SimulatorError: it cannot be done, or must not.

        """
        match act:
            case Hose():
                self._screw(act)
            case OpenCylinder():
                self._open(act)
            case Recover():
                self._check_ready("a recovery machine", starts=act.runs, beside=self.evacuates)
                self.recovers = act.runs
            case Evacuate():
                self._check_ready("a vacuum pump", starts=act.runs, beside=self.recovers)
                if act.runs and max(map(self._unit.ports.pressure_pa, PORTS)) > PUMPED_FROM_PA:
                    raise SimulatorError(
                        "pressure is in the circuit: recover, or let nitrogen out, first; a pump would vent it"
                    )
                self.evacuates = act.runs
            case Nitrogen():
                self._press(act.pressure_pa)
            case _:
                raise SimulatorError(f"nothing at the ports does {act}")

    def move_to(self, unit: AnyUnit) -> None:
        """Take hoses, cylinder and machines to another circuit.

        Raises:
            SimulatorError: a hose is on a port still.

        """
        if self.hoses:
            raise SimulatorError(f"take the hose off the {' and the '.join(self.hoses)} port first")
        self._unit = unit

    def work(self, duration_s: float) -> None:
        """Let what was begun go on for this long. A machine on a unit that starts is stopped.

        Raises:
            SimulatorError: an open cylinder would put more into the unit than it can hold.

        """
        if self._unit.is_running:
            self.recovers = self.evacuates = False
        if self.recovers:
            self._machine.work(self._unit.ports, duration_s)
        if self.evacuates:
            self._pump.work(self._unit.ports, duration_s)
        if self.opened.open_ratio > 0.0:
            self.poured_kg += self._pour(duration_s * self.opened.open_ratio, CONTENTS_KG - self.poured_kg)

    def _screw(self, act: Hose) -> None:
        if act.on == (act.port in self.hoses):
            return  # touched twice: it is so
        if act.on:
            self.hoses = (*self.hoses, act.port)
            if not act.purged:
                self._hose.connect_unpurged(self._unit.ports, act.port, self._outdoor_air_k)
            return
        if len(self.hoses) == 1 and (self.recovers or self.evacuates or self.opened.open_ratio > 0.0):
            raise SimulatorError("shut the cylinder and stop the machines before the last hose comes off")
        self.hoses = tuple(port for port in self.hoses if port != act.port)
        self._hose.take_off(self._unit.ports, act.port)

    def _open(self, act: OpenCylinder) -> None:
        if not 0.0 <= act.open_ratio <= 1.0:
            raise SimulatorError(f"a valve opens from 0 to 1, not {act.open_ratio:g}")
        if act.open_ratio > 0.0 and not self.hoses:
            raise SimulatorError("no hose leads from the cylinder to a port: put one on first")
        if act.open_ratio > 0.0 and (self.recovers or self.evacuates):
            raise SimulatorError("stop the recovery machine and the vacuum pump first")
        self.opened = act

    def _pour(self, full_open_s: float, left_kg: float) -> float:
        """Let refrigerant in, metered at the suction of a running unit, else as its pressure drives it; how much."""
        if not self._unit.is_running:
            before_kg = self._cylinder.given_kg
            self._cylinder.weigh_in(self._unit.ports, full_open_s, most_kg=before_kg + left_kg)
            return self._cylinder.given_kg - before_kg
        cylinder_pa = self._cylinder.refrigerant.bubble_pressure(self._cylinder.temperature_k)
        if "suction" not in self.hoses or cylinder_pa <= self._unit.ports.pressure_pa("suction"):
            return 0.0
        mass_kg = min(RATE_KG_S * full_open_s, left_kg)
        self._unit.add(mass_kg, self.opened.phase)
        return mass_kg

    def _press(self, pressure_pa: float | None) -> None:
        self._check_ready("nitrogen", starts=True, beside=self.recovers or self.evacuates)
        if pressure_pa is not None and pressure_pa < LOWEST_NITROGEN_PA:
            raise SimulatorError(f"{pressure_pa:g} Pa absolute is less than the air has: a regulator only adds to it")
        if pressure_pa is not None and pressure_pa > HIGHEST_NITROGEN_PA:
            us, si = (
                to_display(pressure_pa, Quantity.PRESSURE, system, barometric_pressure_pa=STANDARD_PA)
                for system in ("us", "si")
            )
            raise SimulatorError(
                f"{us[0]:.0f} {us[1]} ({si[0]:.0f} {si[1]}) is too much: the nameplate says what the circuit bears"
            )
        held = self._unit.held_kg()
        if held["high side"] + held["low side"] > MOST_VENTED_KG:
            raise SimulatorError("there is refrigerant in the circuit: recover it first")
        if pressure_pa is None:
            service_tools.let_gas_out(self._unit.ports)
        else:
            service_tools.put_nitrogen(self._unit.ports, pressure_pa)

    def _check_ready(self, what: str, *, starts: bool, beside: bool) -> None:
        """Refuse what starts on a running unit, without a hose, or beside another machine that runs."""
        if starts and isinstance(self._unit, CorrelatedAtTheBench):
            raise SimulatorError(
                f"there is no {what} for this unit: one of correlations is never emptied; add and recover by weight"
            )
        if starts and self._unit.is_running:
            raise SimulatorError(f"stop the unit first: {what} is for a unit at rest")
        if starts and not self.hoses:
            raise SimulatorError(f"no hose leads to a port for {what}: put one on first")
        if starts and self.opened.open_ratio > 0.0:
            raise SimulatorError("shut the cylinder first")
        if starts and beside:
            raise SimulatorError("stop the recovery machine and the vacuum pump first")
