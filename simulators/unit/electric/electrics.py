"""The unit's electrical side over time: what the controls ask, the loads, the overloads and the capacitors' warmth."""

import math
from collections.abc import Mapping

from simulators.unit.electric import meter
from simulators.unit.electric.as_made import blower, wire
from simulators.unit.electric.capacitor import WARMER_DK
from simulators.unit.electric.loads import CompressorLoad, FanLoad
from simulators.unit.electric.motion import LIVE_V, Motion
from simulators.unit.electric.protectors import COMPRESSOR_PROTECTOR, FAN_PROTECTOR, Protector
from simulators.unit.electric.sized import USUAL_LOAD, compressor_motor, fan_motor
from simulators.unit.electric.turning import Turning
from simulators.unit.parameters import UnitParameters

TURNS = 0.5
"""Of the field's speed: a compressor that turns as fast pumps."""

NEAR_SPEED = 0.95
"""Of a blower's rated speed: from there on it is taken to move all its air."""

PROTECTORS: Mapping[str, Protector] = {
    "compressor": COMPRESSOR_PROTECTOR,
    "fan": FAN_PROTECTOR,
    "blower": FAN_PROTECTOR,
}
BLOWER_SHARE = 0.67
"""Of a blower's torque, that goes with the air it moves (common practice, no source)."""

FAN_SHUT_OFF = 0.3
"""Of its torque, that a condenser's fan needs more when no air passes: a propeller takes most power at closed discharge
(textbooks of building services; the size is common practice, no source)."""

_LOAD_CHANGE = 2e-5
_FROST_CHANGE = 2e-3
_LITTLE, _IDLE = 0.02, 1e-3
_COMES_UP_S = 10.0


class Electrics:
    """Motors and panel. At first all motors are as after a long run, as far as they can run.

    can_start: whether the compressor comes up as the panel is at first.
    """

    def __init__(self, parameters: UnitParameters) -> None:
        self._parameters = parameters
        plates = parameters.condenser_fan, blower(parameters)
        self._motors = {"compressor": compressor_motor(parameters.compressor_motor)} | {
            name: fan_motor(plate) for name, plate in zip(("fan", "blower"), plates, strict=True)
        }
        self._heat = dict.fromkeys(self._motors, 0.0)
        self._compressor_w = 0.0
        self._across_ohm: dict[tuple[str, bool, int], float] = {}
        self._air = {"fan": parameters.faults.condenser_airflow, "blower": parameters.faults.evaporator_airflow}
        self._free, self._frost_has_changed = {"fan": 1.0, "blower": 1.0}, False
        self.panel = wire(parameters, self._motors)
        self._line_lugs: dict[str, tuple[str, ...]] = {name: (f"{name}_common",) for name in self._motors}
        if not self.panel.is_single_phase:
            self._line_lugs["compressor"] = self.panel.motors["compressor"].lugs
        compressor = self._motors["compressor"]
        self._work_speed, self._work_w = compressor.rated_speed, USUAL_LOAD * compressor.rated_torque_w
        at_rest = CompressorLoad(compressor.sticks_w, compressor.rated_torque_w, 0.0, self._work_w)
        self.motion = Motion(
            self.panel,
            {
                "compressor": Turning(compressor, at_rest),
                "fan": Turning(self._motors["fan"], self._fan_load("fan")),
                "blower": Turning(self._motors["blower"], self._fan_load("blower")),
            },
        )
        self.can_start = self._try_to_start()
        self._bring_up()

    @property
    def fan_speed(self) -> float:
        """Of the condenser's fan, over its rated one [1]."""
        fan = self.motion.turning["fan"]
        return max(fan.speed, 0.0) / fan.motor.rated_speed * self.panel.fan_slowed

    @property
    def blower_part(self) -> float:
        """Of its air, that the blower moves: all of it until it has settled, and while it is near its speed [1]."""
        blower = self.motion.turning["blower"]
        if not blower.is_settled:
            return 1.0
        return min(max(blower.speed, 0.0) / (NEAR_SPEED * blower.motor.rated_speed), 1.0)

    @property
    def compressor_turns(self) -> bool:
        """Whether the compressor turns, and the right way."""
        return self.motion.turning["compressor"].speed > TURNS

    @property
    def motor_losses(self) -> float:
        """Power taken by the compressor over what it would take from a sound supply for the same work [1]."""
        compressor, taken_w = self.motion.turning["compressor"], self.motion.powers_w.get("compressor", 0.0)
        little_w = _LITTLE * compressor.motor.rated_torque_w
        if not (compressor.is_settled and self.compressor_turns) or self._compressor_w < little_w:
            return 1.0
        return taken_w / self._compressor_w

    def has_run(self, compressor_w: float, *, fan_request: float = 1.0) -> None:
        """Take the compressor for one that has run for long, with this power on a sound supply [W]."""
        self._slow_fan(fan_request)
        self._ask(compressor_w, difference_pa=0.0)
        self.motion.go_on(_COMES_UP_S, has_changed=True)
        self._heat["compressor"] = (self._load_ratio("compressor") / COMPRESSOR_PROTECTOR.carries) ** 2

    def has_cooled(self) -> None:
        """Take all motors for cold."""
        self._heat = dict.fromkeys(self._motors, 0.0)
        self.panel.open_protectors.clear()
        self.rewire()

    def be_found(self) -> None:
        """Open the overloads and charge the capacitors as they are when somebody comes."""
        found, panel = self._parameters.as_found, self.panel
        for name, it in found.sections.items():
            place = panel.capacitors[name]
            panel.cans[place.can].keep(place.section, it.residual_v)
        panel.open_protectors |= found.open_overloads
        self._heat |= dict.fromkeys(found.open_overloads, 1.0)
        self.rewire()

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
        panel = self.panel
        switches = (called, fan_request > 0.0, blower_runs)
        if switches != (panel.called, panel.fan_switch, panel.blower_relay):
            panel.called, panel.fan_switch, panel.blower_relay = switches
            self.rewire()
        self._slow_fan(fan_request)
        has_changed = self._ask(compressor_w, difference_pa=difference_pa) or self._frost_has_changed
        self._frost_has_changed = False
        self.motion.go_on(step_s, has_changed=has_changed)
        self._protect(step_s)
        self._age_capacitors(step_s)

    def load_fans(self, *, outdoor_air: float | None = None, indoor_air: float | None = None) -> None:
        """Give the fans this part of their usual air to move.

        Behind a full filter the blower has less to do, before a blocked coil the condenser's fan has more.
        """
        faults = self._parameters.faults
        if outdoor_air is not None:
            self._air["fan"] = outdoor_air * faults.condenser_airflow
        if indoor_air is not None:
            self._air["blower"] = indoor_air * faults.evaporator_airflow
        self.rewire()

    def frost_over(self, *, outdoor_free: float, indoor_free: float) -> None:
        """Let frost leave the fans this part of their air: it loads them as anything else does that stops the air."""
        for name, free in (("fan", outdoor_free), ("blower", indoor_free)):
            if abs(free - self._free[name]) > _FROST_CHANGE:
                self._free[name] = free
                self.motion.turning[name].load = self._fan_load(name)
                self._frost_has_changed = True

    def rewire(self) -> None:
        """Take what has changed in the panel."""
        for name in ("fan", "blower"):
            self.motion.turning[name].load = self._fan_load(name)
        self._across_ohm.clear()
        self.motion.rewire()
        self.motion.solve()

    def _slow_fan(self, request: float) -> None:
        self.panel.fan_slowed = request if request > 0.0 else 1.0

    def _ask(self, compressor_w: float, *, difference_pa: float) -> bool:
        """Lay the loads on the motors, and tell whether the compressor's has changed by more than a little."""
        turning = self.motion.turning
        motor = self._motors["compressor"]
        has_changed = abs(compressor_w - self._compressor_w) > _LOAD_CHANGE * motor.rated_torque_w
        if has_changed:
            self._compressor_w = compressor_w
            self._work_speed = motor.speed_at(compressor_w, self._work_speed)
            self._work_w = motor.running(self._work_speed).torque_w if compressor_w > 0.0 else 0.0
        turning["compressor"].load = CompressorLoad(
            motor.sticks_w, motor.rated_torque_w, difference_pa, self._work_w, "compressor" in self.panel.blocked
        )
        return has_changed

    def _fan_load(self, name: str) -> FanLoad:
        motor, missing = self._motors[name], 1.0 - self._air[name] * self._free[name]
        share = 1.0 - BLOWER_SHARE * missing if name == "blower" else 1.0 + FAN_SHUT_OFF * missing
        return FanLoad(motor.sticks_w, motor.rated_torque_w, motor.rated_speed, share, name in self.panel.blocked)

    def _load_ratio(self, name: str) -> float:
        amps = max(map(self.motion.step_interval.rms_a, self._line_lugs[name]))
        return amps / self._motors[name].rated_a * self.panel.slowed_in(f"{name}_common")

    def _protect(self, step_s: float) -> None:
        open_ones = self.panel.open_protectors
        before = set(open_ones)
        for name, protector in PROTECTORS.items():
            ratio = self._load_ratio(name)
            heat = self._heat[name] = protector.heat_after(self._heat[name], ratio if ratio > _IDLE else 0.0, step_s)
            is_open = protector.is_open_after(heat, was_open=name in open_ones)
            (open_ones.add if is_open else open_ones.discard)(name)
        if open_ones != before:
            self.rewire()

    def _age_capacitors(self, step_s: float) -> None:
        """Warm the cans, and let what is left in them leak off through bleeder and windings."""
        panel, live = self.panel, self.motion.section_v
        for name, place in panel.capacitors.items():
            can = panel.cans[place.can]
            if can.residual_v(place.section):
                across_ohm = self._find_across_ohm(name)
                bleeder_ohm = can.sections[place.section].bleeder_ohm or math.inf
                can.leak_off(place.section, step_s, 1.0 / (1.0 / across_ohm + 1.0 / bleeder_ohm))
        for name, can in panel.cans.items():
            is_live = any(live.get(section, 0.0) > LIVE_V for section in can.sections)
            air = self._parameters.conditions
            can.warm(step_s, air_k=air.return_air_k if name == "blower" else air.outdoor_air_k, under_load=is_live)

    def _find_across_ohm(self, section: str) -> float:
        """Find what lies across a section: once, until something is changed, switches, or warms by a kelvin."""
        panel = self.panel
        stands = section, panel.contactor.is_in, round(panel.windings_k["compressor"])
        if stands not in self._across_ohm:
            place = panel.capacitors[section]
            self._across_ohm[stands] = meter.resistance_ohm(panel, place.terminal, place.common)
        return self._across_ohm[stands]

    def _try_to_start(self) -> bool:
        """Tell whether the contactor pulls in and holds, and the compressor has the torque to start forwards."""
        panel, motion = self.panel, self.motion
        coil, contactor = panel.contactor.coil, panel.contactor
        panel.called = panel.blower_relay = True
        self.rewire()
        pulls_in = motion.coil_v >= coil.pulls_in_v
        contactor.is_in, contactor.travel = True, 1.0
        self.rewire()
        compressor = motion.turning["compressor"]
        starts = compressor.spare(compressor.torque(motion.terminals("compressor"), 0.0), 0.0) > 0.0
        return pulls_in and starts and motion.coil_v > coil.lets_go_v

    def _bring_up(self) -> None:
        """Set every motor that can start to its speed."""
        motion, contactor = self.motion, self.panel.contactor
        for name, item in motion.turning.items():
            if item.spare(item.torque(motion.terminals(name), 0.0), 0.0) > 0.0:
                item.speed = item.motor.rated_speed
        if self.can_start:
            for can in self.panel.cans.values():
                can.temperature_k += WARMER_DK
            motion.go_on(_COMES_UP_S, has_changed=True)
            return
        self.panel.called = contactor.is_in = False
        contactor.travel = 0.0
        self.rewire()
