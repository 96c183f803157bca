"""One motor in time: its speed between the torque of its field and that of its load.

Far from balance its inertia is followed in short steps; near it, where it would settle within hundredths of a second,
it is put where the torques are equal.
"""

from dataclasses import dataclass

from simulators.unit.electric.loads import Load
from simulators.unit.electric.network import Block
from simulators.unit.electric.sized import SizedMotor

NEAR = 0.004
"""Of the field's speed: a motor that much from its balance is put there."""

MOST_CHANGE, RUNNING_DOWN = 0.04, 0.1
LONGEST_S = 0.03
_STANDS, _NUDGE = 1e-6, 1e-3


@dataclass(slots=True)
class Turning:
    """speed: over that of its field. is_settled: at its balance, or stuck at rest."""

    motor: SizedMotor
    load: Load
    speed: float = 0.0
    is_settled: bool = True

    def block(self, terminals: tuple[str, ...]) -> Block:
        """Give what it is to the network now."""
        return self.motor.machine.block(terminals, self.speed)

    def torque(self, voltages: tuple[complex, complex, complex], speed: float) -> float:
        """Find the torque that its field gives at a speed [synchronous W]."""
        return self.motor.machine.torque(speed, voltages)

    def spare(self, torque_w: float, speed: float) -> float:
        """Find what is left to change its speed; nothing while it sticks."""
        if abs(speed) < _STANDS:
            held_w = self.load.torque(0.0)
            return 0.0 if abs(torque_w) <= held_w else torque_w - (held_w if torque_w > 0.0 else -held_w)
        against_w = self.load.torque(speed)
        return torque_w - (against_w if speed > 0.0 else -against_w)

    def off_balance(self, voltages: tuple[complex, complex, complex]) -> float | None:
        """Find how far its balance is from its speed, by the slope of both torques; None if it has none near here."""
        speed = self.speed
        here_w = self.spare(self.torque(voltages, speed), speed)
        if abs(speed) < _STANDS:
            return 0.0 if here_w == 0.0 else None
        nudge = _NUDGE if speed > 0.0 else -_NUDGE
        slope = (self.spare(self.torque(voltages, speed + nudge), speed + nudge) - here_w) / nudge
        return None if slope >= 0.0 else -here_w / slope

    def longest_s(self, spare_w: float, *, driven: bool) -> float:
        """Find how long a step may be; one that only runs down is followed less closely."""
        motor = self.motor
        if not driven:
            return RUNNING_DOWN * motor.inertia_j / max(abs(spare_w), 1.0)
        settling_s = motor.inertia_j * (1.0 - motor.rated_speed) / motor.rated_torque_w
        stiff_s = settling_s if abs(self.speed) > 0.8 else LONGEST_S
        return min(MOST_CHANGE * motor.inertia_j / max(abs(spare_w), 1.0), stiff_s, LONGEST_S)

    def move(self, spare_w: float, step_s: float) -> None:
        """Change its speed; one that comes to rest stays there until its torque is enough to move it again."""
        before = self.speed
        self.speed += spare_w / self.motor.inertia_j * step_s
        if before * self.speed < 0.0:
            self.speed = 0.0
