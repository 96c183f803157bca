"""Two circuits whose coils lie in the same fins and the same air, run by a thermostat with two stages.

The tubes of both are woven through the same fins. Where one runs alone it has all the air, and the fins of the other
to spread its heat in; where both run, each has half. Fans and blower run for both with the first stage.
"""

from collections.abc import Mapping, Sequence

from simulators.errors import SimulatorError
from simulators.unit.heat_books import HeatFlows
from simulators.unit.model import Unit
from simulators.unit.parameters import UnitParameters

SHARED_STEP_S = 1.0
"""How often the circuits notice of each other whether they run."""

SUPPLY_AIR = ("supply_air_temperature", "supply_air_humidity")


class TwoCircuitUnit:
    """Two circuits, the first of which runs with the first stage. Both have the same conditions.

    parameters: of each circuit with both running, half of the coils and of the air being its own. stages: how many
    have run for long at first; the others have been off for a while.

    Raises:
        SimulatorError: the circuits stand in different conditions, or there are no such stages.

    """

    def __init__(self, parameters: Sequence[UnitParameters], *, stages: int = 2) -> None:
        first, second = parameters
        if first.conditions != second.conditions:
            raise SimulatorError("two circuits of one unit stand in the same air; give both the same conditions")
        _check_stages(stages)
        share = 2.0 if stages == 1 else 1.0
        self._return_air_k = first.conditions.return_air_k
        self.circuits = (
            Unit(first, at_rest=stages < 1, air_share=share),
            Unit(second, at_rest=stages < 2),
        )
        self._share()

    def call(self, *, stages: int) -> None:
        """Let the thermostat call for no, one or two stages of cooling."""
        _check_stages(stages)
        for index, circuit in enumerate(self.circuits):
            circuit.call(cooling=index < stages)

    def step(self, duration_s: float) -> None:
        """Let both go on for this long."""
        remaining_s = duration_s
        while remaining_s > 0.0:
            step_s = min(SHARED_STEP_S, remaining_s)
            self._share()
            for circuit in self.circuits:
                circuit.step(step_s)
            remaining_s -= step_s

    def true_state(self, circuit: int) -> Mapping[str, float]:
        """Tell what perfect instruments at this circuit would read; the supply air is that of both together."""
        states = [item.true_state() for item in self.circuits]
        running = [state for item, state in zip(self.circuits, states, strict=True) if item.is_running] or states
        mixed = {name: sum(state[name] for state in running) / len(running) for name in SUPPLY_AIR}
        return {**states[circuit], **mixed}

    def heat_flows(self) -> HeatFlows:
        """Tell the four flows of energy of both together."""
        first, second = (circuit.heat_flows() for circuit in self.circuits)
        return HeatFlows(*(one + other for one, other in zip(first, second, strict=True)))

    def _share(self) -> None:
        """Give a circuit that runs alone all the air, and one that rests beside it the half-cooled fins."""
        first, second = self.circuits
        for circuit, other in ((first, second), (second, first)):
            beside_k = other.supply_air_k if other.is_running else self._return_air_k
            circuit.share_air(
                1.0 if other.is_running else 2.0,
                around_evaporator_k=0.5 * (self._return_air_k + beside_k),
            )


def _check_stages(stages: int) -> None:
    if stages not in (0, 1, 2):
        raise SimulatorError(f"a unit of two circuits has no {stages} stages; give 0, 1 or 2")
