"""The unit's electrical side over time, and all that a hand can do in its panel."""

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Literal

from simulators.errors import SimulatorError
from simulators.unit.electric import meter
from simulators.unit.electric.capacitor import WARMER_DK, Can, Section
from simulators.unit.electric.contactor import Contactor, ControlTransformer
from simulators.unit.electric.interval import OverInterval
from simulators.unit.electric.loads import CompressorLoad, FanLoad
from simulators.unit.electric.motion import Motion
from simulators.unit.electric.nameplates import FanMotor, run_capacitor_f
from simulators.unit.electric.panel import TIGHT_OHM, Panel, joint_names
from simulators.unit.electric.protectors import COMPRESSOR_PROTECTOR, FAN_PROTECTOR, Protector
from simulators.unit.electric.sized import USUAL_LOAD, SizedMotor, compressor_motor, fan_motor
from simulators.unit.electric.split_capacitor import SplitCapacitorMachine
from simulators.unit.electric.supply import Leg, Supply
from simulators.unit.electric.turning import Turning
from simulators.unit.parameters import UnitParameters

LUG_RISE_K_PER_W = 3.0
"""How much warmer a lug gets for each watt of heat in it (common practice, no source)."""

TURNS = 0.5
"""Of the field's speed: a compressor that turns as fast pumps."""

CHARGED_V = 5.0
_LOAD_CHANGE = 2e-5
_COMES_UP_S = 10.0
_LITTLE, _IDLE = 0.02, 1e-3
BROKEN_OHM = 1e9
BLOWER_SHARE = 0.67
BLOWER_START_S = 2.0

Sound = Literal["", "runs", "hums", "chatters", "rattles"]
"""Of a compressor: it hums where it has power and stands, and rattles where it turns backwards."""


class Electrics:
    """Motors, protectors and panel. At first both motors are as after a long run, as far as they can run."""

    def __init__(self, parameters: UnitParameters) -> None:
        self._parameters = parameters
        plates = parameters.condenser_fan, _blower(parameters)
        self._motors = {"compressor": compressor_motor(parameters.compressor_motor)} | {
            name: fan_motor(plate) for name, plate in zip(("fan", "blower"), plates, strict=True)
        }
        self._heat = dict.fromkeys(self._motors, 0.0)
        self._protectors: Mapping[str, Protector] = {
            "compressor": COMPRESSOR_PROTECTOR,
            "fan": FAN_PROTECTOR,
            "blower": FAN_PROTECTOR,
        }
        self._compressor_w, self._fan_request = 0.0, 1.0
        self._blocked: set[str] = set()
        self._panel = _panel(parameters, self._motors)
        compressor = self._motors["compressor"]
        self._work_speed, self._work_w = compressor.rated_speed, USUAL_LOAD * compressor.rated_torque_w
        self._motion = Motion(
            self._panel,
            {
                "compressor": Turning(
                    compressor, CompressorLoad(compressor.sticks_w, compressor.rated_torque_w, 0.0, self._work_w)
                ),
                "fan": Turning(self._motors["fan"], self._fan_load("fan")),
                "blower": Turning(self._motors["blower"], self._fan_load("blower")),
            },
        )
        self.can_start = self._try_to_start()
        self._bring_up()

    # --- what the rest of the unit asks

    @property
    def fan_speed(self) -> float:
        """Of the condenser's fan, over its rated one [1]."""
        fan = self._motion.turning["fan"]
        return max(fan.speed, 0.0) / fan.motor.rated_speed * self._slowed

    @property
    def compressor_turns(self) -> bool:
        """Whether the compressor turns, and the right way."""
        return self._motion.turning["compressor"].speed > TURNS

    @property
    def motor_losses(self) -> float:
        """Power taken by the compressor over what it would take from a sound supply for the same work [1]."""
        compressor, taken_w = self._motion.turning["compressor"], self._motion.powers_w.get("compressor", 0.0)
        little_w = _LITTLE * compressor.motor.rated_torque_w
        if not (compressor.is_settled and self.compressor_turns) or self._compressor_w < little_w:
            return 1.0
        return taken_w / self._compressor_w

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
        return "hums" if max(self._compressor_currents()) > 0.1 * compressor.motor.rated_a else ""

    @property
    def lug_rise_dk(self) -> float:
        """How much warmer than the air the compressor's first lug of a leg is [K]."""
        return self.joint_rise_dk("compressor_common" if self._panel.is_single_phase else "compressor_a")

    def joint_rise_dk(self, joint: str) -> float:
        """How much warmer than the air a lug is [K]."""
        self._panel.check_joint(joint)
        ohm = self._panel.joints[joint]
        return 0.0 if math.isinf(ohm) else LUG_RISE_K_PER_W * abs(self._motion.current_in(joint)) ** 2 * ohm

    def has_run(self, compressor_w: float, *, fan_request: float = 1.0) -> None:
        """Take the compressor for one that has run for long, with this power on a sound supply [W]."""
        self._fan_request = fan_request
        self._ask(compressor_w, difference_pa=0.0)
        self._motion.go_on(_COMES_UP_S, has_changed=True)
        self._heat["compressor"] = (self._load_ratio("compressor") / COMPRESSOR_PROTECTOR.carries) ** 2

    def has_cooled(self) -> None:
        """Take all motors for cold."""
        self._heat = dict.fromkeys(self._motors, 0.0)
        self._panel.open_protectors.clear()
        self._motion.rewire()

    def begin_interval(self) -> None:
        """Begin the time over which `over_interval` tells currents."""
        self._motion.interval.begin()

    def go_on(
        self,
        step_s: float,
        *,
        called: bool,
        compressor_w: float,
        difference_pa: float = 0.0,
        fan_request: float = 1.0,
        blower_runs: bool = True,
    ) -> None:
        """Let everything go on for this long.

        called: whether the controls close the coil's circuit. compressor: the power it takes at speed on a sound
        supply [W]. difference: of its pressures [Pa]. fan_request: what head control asks of the condenser's fan, over
        its rated speed.
        """
        panel = self._panel
        switches = (called, fan_request > 0.0, blower_runs)
        if switches != (panel.called, panel.fan_switch, panel.blower_relay):
            panel.called, panel.fan_switch, panel.blower_relay = switches
            self._rewire()
        self._fan_request = fan_request
        has_changed = self._ask(compressor_w, difference_pa=difference_pa)
        self._motion.go_on(step_s, has_changed=has_changed)
        self._protect(step_s)
        self._age_capacitors(step_s)

    def state(self) -> dict[str, float]:
        """Tell what perfect instruments would read."""
        panel, currents = self._panel, self._motion.currents
        three = self._compressor_currents()
        ab, bc, ca = self._line_voltages()
        return {
            "compressor_current": sum(three) / 3.0,
            "compressor_current_a": three[0],
            "compressor_current_b": three[1],
            "compressor_current_c": three[2],
            "line_voltage_ab": ab,
            "line_voltage_bc": bc,
            "line_voltage_ca": ca,
            "condenser_fan_current": currents["fan_common"] * self._slowed**2,
            "blower_current": currents["blower_common"],
            "capacitance_herm": panel.cans["outdoor"].cold_f("herm") if panel.is_single_phase else 0.0,
            "capacitance_fan": panel.cans["outdoor"].cold_f("fan"),
        }

    def over_interval(self) -> dict[str, OverInterval]:
        """Tell what clamps found since the interval began, by the lug whose lead they are on; slower than a moment."""
        return {
            lead: OverInterval(*(amps * self._slowed_in(lead) for amps in seen))
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

    def current_in(self, lead: str) -> float:
        """Find what a clamp shows on a lead, by the lug at its end [A RMS].

        Raises:
            SimulatorError: there is no such lug.

        """
        self._panel.check_joint(lead)
        return abs(self._motion.current_in(lead)) * self._slowed_in(lead)

    # --- what a hand does

    def disconnect(self, *, closed: bool, legs: tuple[Leg, ...] | None = None) -> None:
        """Throw the disconnect, or open one leg of it, as a blown fuse does."""
        for leg in legs or self._panel.supply.legs:
            self._panel.blades[leg] = closed
        self._rewire()

    def set_joint(self, joint: str, resistance_ohm: float = TIGHT_OHM) -> None:
        """Tighten a lug, or loosen it to a resistance; infinite: its lead is off [ohm].

        Raises:
            SimulatorError: there is no such lug, or the resistance is below that of a sound one.

        """
        self._panel.check_joint(joint)
        if not resistance_ohm >= TIGHT_OHM:
            raise SimulatorError(f"{joint}: {resistance_ohm:g} ohm is less than a sound lug has, {TIGHT_OHM:g} ohm")
        self._panel.joints[joint] = resistance_ohm
        self._rewire()

    def wear_pole(self, leg: Leg, resistance_ohm: float) -> None:
        """Give a pole of the contactor this resistance when closed [ohm]."""
        self._panel.contactor.pole_ohm[leg] = resistance_ohm
        self._rewire()

    def weld(self, *legs: Leg) -> None:
        """Weld poles of the contactor; none: a new contactor."""
        self._panel.contactor.welded = set(legs)
        self._rewire()

    def exchange_capacitor(self, can: str, sections: Mapping[str, Section]) -> None:
        """Put a new capacitor in: discharged, cold, and with the sections of the old one.

        Raises:
            SimulatorError: there is no such can, or it has other sections.

        """
        old = self._panel.cans.get(can)
        if old is None or set(old.sections) != set(sections):
            have = "; ".join(f"{name}: {', '.join(it.sections)}" for name, it in self._panel.cans.items())
            raise SimulatorError(f"no capacitor {can!r} with sections {', '.join(sections)}; there are {have}")
        self._panel.cans[can] = Can(dict(sections), temperature_k=self._parameters.conditions.outdoor_air_k)
        self._rewire()

    def bulge(self, can: str) -> None:
        """Let a capacitor dome, and so part its own connections."""
        self._panel.cans[can].is_bulged = True
        self._rewire()

    def capacitor(self, can: str) -> Can:
        """Show a capacitor."""
        return self._panel.cans[can]

    def discharge(self, section: str, resistance_ohm: float, duration_s: float) -> None:
        """Hold a resistor across a section for this long."""
        place = self._panel.capacitors[section]
        self._panel.cans[place.can].leak_off(place.section, duration_s, resistance_ohm)

    def open_winding(self, motor: str, winding: Literal["run", "start"]) -> None:
        """Break a winding of a single-phase motor.

        Raises:
            SimulatorError: it has three phases.

        """
        turning = self._motion.turning[motor]
        machine = turning.motor.machine
        if not isinstance(machine, SplitCapacitorMachine):
            raise SimulatorError(f"the {motor} has no {winding} winding: it has three phases; take a lead off instead")
        broken = complex(BROKEN_OHM)
        machine = replace(machine, main_ohm=broken) if winding == "run" else replace(machine, auxiliary_ohm=broken)
        turning.motor = replace(turning.motor, machine=machine)
        self._panel.machines[motor] = machine
        self._rewire()

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
        self._rewire()

    def lose_leg(self, *legs: Leg) -> None:
        """Let legs of the source die; none: all are back."""
        self._set_supply(replace(self._panel.supply, lost=frozenset(legs)))

    def swap_supply(self, one: Leg, other: Leg) -> None:
        """Swap two legs at the source, as after work on the supply."""
        supply = self._panel.supply
        self._set_supply(replace(supply, order=_swapped(supply.order, one, other)))

    def swap_leads(self, one: Leg, other: Leg) -> None:
        """Swap two leads of the compressor at the contactor."""
        self._panel.compressor_leads = _swapped(self._panel.compressor_leads, one, other)
        self._rewire()

    def sag(self, part: float) -> None:
        """Let this part of the line voltage be missing."""
        self._set_supply(replace(self._panel.supply, sag=part))

    def block(self, motor: str, *, blocked: bool) -> None:
        """Put something into a fan, or take it out."""
        (self._blocked.add if blocked else self._blocked.discard)(motor)
        self._motion.turning[motor].load = self._fan_load(motor)
        self._rewire()

    def leak_to_earth(self, point: str, resistance_ohm: float) -> None:
        """Give a motor's terminal this resistance to earth [ohm].

        Raises:
            SimulatorError: it is no motor's terminal.

        """
        terminals = [point for motor in self._panel.motors.values() for point in motor.terminals]
        if point not in terminals:
            raise SimulatorError(f"{point!r} is no motor's terminal; there are {', '.join(sorted(terminals))}")
        self._panel.earth_faults[point] = resistance_ohm
        self._rewire()

    # --- within

    @property
    def _slowed(self) -> float:
        """A fan behind a speed control turns with what it is asked, and draws with the square of that."""
        return self._fan_request if self._fan_request > 0.0 else 1.0

    def _slowed_in(self, lead: str) -> float:
        return self._slowed**2 if lead in self._panel.motors["fan"].lugs else 1.0

    def _set_supply(self, supply: Supply) -> None:
        self._panel.supply = supply
        self._rewire()

    def _rewire(self) -> None:
        self._motion.rewire()
        self._motion.solve()

    def _ask(self, compressor_w: float, *, difference_pa: float) -> bool:
        """Lay the loads on the motors, and tell whether the compressor's has changed by more than a little."""
        turning = self._motion.turning
        motor = self._motors["compressor"]
        has_changed = abs(compressor_w - self._compressor_w) > _LOAD_CHANGE * motor.rated_torque_w
        if has_changed:
            self._compressor_w = compressor_w
            self._work_speed = motor.speed_at(compressor_w, self._work_speed)
            self._work_w = motor.running(self._work_speed).torque_w if compressor_w > 0.0 else 0.0
        turning["compressor"].load = CompressorLoad(motor.sticks_w, motor.rated_torque_w, difference_pa, self._work_w)
        return has_changed

    def _fan_load(self, name: str) -> FanLoad:
        motor = self._motors[name]
        airflow = self._parameters.faults.evaporator_airflow if name == "blower" else 1.0
        share = 1.0 - BLOWER_SHARE + BLOWER_SHARE * airflow
        return FanLoad(motor.sticks_w, motor.rated_torque_w, motor.rated_speed, share, name in self._blocked)

    def _line_lugs(self, name: str) -> tuple[str, ...]:
        if name == "compressor" and not self._panel.is_single_phase:
            return self._panel.motors[name].lugs
        return (f"{name}_common",)

    def _load_ratio(self, name: str) -> float:
        currents = self._motion.step_interval.seen()
        amps = max(currents[lug].rms_a for lug in self._line_lugs(name))
        return amps / self._motors[name].rated_a * self._slowed_in(f"{name}_common")

    def _protect(self, step_s: float) -> None:
        open_ones = self._panel.open_protectors
        before = set(open_ones)
        for name, protector in self._protectors.items():
            ratio = self._load_ratio(name)
            heat = self._heat[name] = protector.heat_after(self._heat[name], ratio if ratio > _IDLE else 0.0, step_s)
            is_open = protector.is_open_after(heat, was_open=name in open_ones)
            (open_ones.add if is_open else open_ones.discard)(name)
        if open_ones != before:
            self._rewire()

    def _age_capacitors(self, step_s: float) -> None:
        """Warm the cans, and let what is left in them leak off through bleeder and windings."""
        panel, live = self._panel, self._motion.section_v
        for place in panel.capacitors.values():
            can = panel.cans[place.can]
            if can.residual_v(place.section):
                across_ohm = meter.resistance_ohm(panel, place.terminal, place.common)
                bleeder_ohm = can.sections[place.section].bleeder_ohm or math.inf
                can.leak_off(place.section, step_s, 1.0 / (1.0 / across_ohm + 1.0 / bleeder_ohm))
        for name, can in panel.cans.items():
            is_live = any(live.get(section, 0.0) > CHARGED_V for section in can.sections)
            air = self._parameters.conditions
            can.warm(step_s, air_k=air.return_air_k if name == "blower" else air.outdoor_air_k, under_load=is_live)

    def _try_to_start(self) -> bool:
        """Tell whether the contactor pulls in and holds, and the compressor has the torque to start forwards."""
        panel, motion = self._panel, self._motion
        coil, contactor = panel.contactor.coil, panel.contactor
        panel.called = panel.blower_relay = True
        self._rewire()
        pulls_in = motion.coil_v >= coil.pulls_in_v
        contactor.is_in, contactor.travel = True, 1.0
        self._rewire()
        compressor = motion.turning["compressor"]
        starts = compressor.spare(compressor.torque(motion.terminals("compressor"), 0.0), 0.0) > 0.0
        return pulls_in and starts and motion.coil_v > coil.lets_go_v

    def _bring_up(self) -> None:
        """Set every motor that can start to its speed."""
        motion, contactor = self._motion, self._panel.contactor
        for name, item in motion.turning.items():
            if item.spare(item.torque(motion.terminals(name), 0.0), 0.0) > 0.0:
                item.speed = item.motor.rated_speed
        if self.can_start:
            for can in self._panel.cans.values():
                can.temperature_k += WARMER_DK
            motion.go_on(_COMES_UP_S, has_changed=True)
            return
        self._panel.called = contactor.is_in = False
        contactor.travel = 0.0
        self._rewire()

    def _compressor_currents(self) -> tuple[float, float, float]:
        currents = self._motion.currents
        if self._panel.is_single_phase:
            return (currents["compressor_common"],) * 3
        a, b, c = (currents[lug] for lug in self._panel.motors["compressor"].lugs)
        return a, b, c

    def _line_voltages(self) -> tuple[float, float, float]:
        """Give those at the compressor while the contactor is in, and before the contactor otherwise."""
        panel, motion = self._panel, self._motion
        if not panel.contactor.is_in:
            names = [f"contactor_line_{leg}" for leg in panel.supply.legs]
        elif panel.is_single_phase:
            names = ["compressor_run", "compressor_common"]
        else:
            names = list(panel.motors["compressor"].terminals)
        at = [meter.voltage(motion, name) for name in names]
        return abs(at[0] - at[1]), abs(at[1] - at[-1 if len(at) == 3 else 0]), abs(at[-1] - at[0])


def _swapped(order: tuple[Leg, ...], one: Leg, other: Leg) -> tuple[Leg, ...]:
    return tuple(other if leg == one else one if leg == other else leg for leg in order)


def _blower(parameters: UnitParameters) -> FanMotor:
    plate = parameters.compressor_motor
    amps, volts = parameters.blower_current_a, plate.nominal_voltage_v
    return FanMotor(amps, run_capacitor_f(amps, volts), volts, start_s=BLOWER_START_S)


def _panel(parameters: UnitParameters, motors: Mapping[str, SizedMotor]) -> Panel:
    """Wire a unit as it left its maker, but for its faults."""
    plate, faults, conditions = parameters.compressor_motor, parameters.faults, parameters.conditions
    supply = Supply(
        phases=plate.phases,
        line_v=conditions.line_voltage_v,
        sag=faults.voltage_sag,
        unbalance=faults.voltage_unbalance if plate.phases == 3 else 0.0,
    )
    fan = Section(parameters.condenser_fan.capacitance_f, share=faults.fan_capacitor)
    herm = Section(plate.capacitance_f, share=faults.herm_capacitor)
    outdoor = {"herm": herm, "fan": fan} if plate.phases == 1 else {"fan": fan}
    joints = dict.fromkeys(joint_names(supply), TIGHT_OHM)
    joints["compressor_common" if plate.phases == 1 else "compressor_a"] += faults.lug_resistance_ohm
    return Panel(
        supply=supply,
        transformer=ControlTransformer(plate.nominal_voltage_v),
        contactor=Contactor(),
        cans={
            "outdoor": Can(outdoor, temperature_k=conditions.outdoor_air_k),
            "blower": Can({"blower": Section(motors["blower"].capacitance_f)}, temperature_k=conditions.return_air_k),
        },
        joints=joints,
        blades=dict.fromkeys(supply.legs, True),
        compressor_leads=supply.legs,
        machines={name: motor.machine for name, motor in motors.items()},
    )
