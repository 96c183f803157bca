"""The permanent-split-capacitor motor by the double revolving field theory.

Main and auxiliary winding stand at right angles, the auxiliary with a times the main's effective turns and the run
capacitor before it. Half of the main winding's field turns forwards (slip s), half backwards (2 - s):

    V_main = I_main (Z_main + Z_f + Z_b) - j a I_aux (Z_f - Z_b)
    V_aux  = I_aux (Z_aux + a² (Z_f + Z_b)) + j a I_main (Z_f - Z_b)

with Z_f, Z_b half of the rotor's impedance beside the magnetising one; the power through the air gap forwards is
|I_main - j a I_aux|² R_f, backwards |I_main + j a I_aux|² R_b (textbooks of fractional-horsepower motors).
Torque and speed as in simulators.unit.electric.induction.
"""

import math
from dataclasses import dataclass

from simulators.unit.electric.induction import Rotor
from simulators.unit.electric.network import Block, Rows


@dataclass(frozen=True, slots=True)
class SplitCapacitorMachine:
    """A motor with the terminals run, common and start. turns_ratio: auxiliary over main."""

    main_ohm: complex
    auxiliary_ohm: complex
    turns_ratio: float
    rotor: Rotor

    def impedances(self, speed: float) -> tuple[complex, complex, complex]:
        """Find those of main and auxiliary winding alone, and what the one induces in the other [ohm]."""
        return self._windings(*self._fields(speed))

    def currents(self, speed: float, main_v: complex, auxiliary_v: complex) -> tuple[complex, complex]:
        """Find the currents in main and auxiliary winding from the voltage across each [A]."""
        return _currents(self.impedances(speed), main_v, auxiliary_v)

    def block(self, points: tuple[str, ...], speed: float) -> Block:
        """Find the admittances between run, common and start."""
        main, auxiliary, induced = self.impedances(speed)
        determinant = main * auxiliary + induced**2
        return Block(points, _three_terminals(auxiliary / determinant, main / determinant, induced / determinant))

    def torque(self, speed: float, voltages: tuple[complex, complex, complex]) -> float:
        """Find the torque from the voltages at run, common and start [synchronous W]."""
        run, common, start = voltages
        fields = self._fields(speed)
        return self._air_gap(fields, *_currents(self._windings(*fields), run - common, start - common))

    def air_gap(self, speed: float, main_a: complex, auxiliary_a: complex) -> float:
        """Find the torque from the two currents: the power through the air gap forwards less backwards [W]."""
        return self._air_gap(self._fields(speed), main_a, auxiliary_a)

    def with_capacitor(
        self, speed: float, line_v: float, capacitance_f: float, frequency_hz: float = 60.0
    ) -> tuple[complex, complex]:
        """Find both currents on a stiff supply, with the capacitor before the auxiliary winding; 0 F: it is open [A].

        The capacitor adds its impedance to that of its winding, and line voltage is across both.
        """
        main, auxiliary, induced = self.impedances(speed)
        if capacitance_f == 0.0:
            return line_v / main, 0j
        auxiliary += 1.0 / complex(0.0, 2.0 * math.pi * frequency_hz * capacitance_f)
        determinant = main * auxiliary + induced**2
        return line_v * (auxiliary + induced) / determinant, line_v * (main - induced) / determinant

    def resistances(self) -> Rows:
        """Find the admittances that an ohmmeter meets between run, common and start [S]."""
        return _three_terminals(1.0 / self.main_ohm.real + 0j, 1.0 / self.auxiliary_ohm.real + 0j, 0j)

    def _fields(self, speed: float) -> tuple[complex, complex]:
        """Find what the half of the field that turns forwards meets, and the one that turns backwards [ohm]."""
        return 0.5 * self.rotor.impedance(1.0 - speed), 0.5 * self.rotor.impedance(1.0 + speed)

    def _windings(self, forward: complex, backward: complex) -> tuple[complex, complex, complex]:
        both, ratio = forward + backward, self.turns_ratio
        return self.main_ohm + both, self.auxiliary_ohm + ratio**2 * both, 1j * ratio * (forward - backward)

    def _air_gap(self, fields: tuple[complex, complex], main_a: complex, auxiliary_a: complex) -> float:
        forward, backward = fields
        turned = 1j * self.turns_ratio * auxiliary_a
        return abs(main_a - turned) ** 2 * forward.real - abs(main_a + turned) ** 2 * backward.real


def _currents(
    impedances: tuple[complex, complex, complex], main_v: complex, auxiliary_v: complex
) -> tuple[complex, complex]:
    main, auxiliary, induced = impedances
    determinant = main * auxiliary + induced**2
    return (
        (auxiliary * main_v + induced * auxiliary_v) / determinant,
        (main * auxiliary_v - induced * main_v) / determinant,
    )


def _three_terminals(main_s: complex, auxiliary_s: complex, mutual_s: complex) -> Rows:
    """Lay two windings between run and common, and start and common; what enters at both leaves at common."""
    return (
        (main_s, -main_s - mutual_s, mutual_s),
        (mutual_s - main_s, main_s + auxiliary_s, -mutual_s - auxiliary_s),
        (-mutual_s, mutual_s - auxiliary_s, auxiliary_s),
    )
