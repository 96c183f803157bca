"""What a heat pump's controls do beside those of every unit: the reversing valve, defrost and auxiliary heat.

No chance in it: what is called for and what was felt go in, and out comes where the valve stands and what runs.
"""

from simulators.errors import SimulatorError
from simulators.unit import defrost
from simulators.unit.faults import Faults
from simulators.unit.heat_pump import HeatPump
from simulators.unit.parameters import UnitParameters
from simulators.unit.reversing_valve import Mode, Slide

ANY_DIFFERENCE_PA = 1e9


class HeatPumpControls:
    """Their state. asks: the mode that was last called for. auxiliary_called: a second stage of heating."""

    def __init__(self, heat_pump: HeatPump, faults: Faults, *, asks: Mode, outdoor_air_k: float) -> None:
        self._heat_pump, self._leak_m2 = heat_pump, faults.reversing_valve_leak_m2
        self.asks, self.auxiliary_called = asks, False
        self._defrost = defrost.DefrostState(outdoor_air_k)
        self._slide = Slide(heat_pump.valve, reaches=faults.reversing_valve_reach)
        self._slide.follow(energised=self._energised, difference_pa=ANY_DIFFERENCE_PA)

    @property
    def mode(self) -> Mode:
        """Which way the valve leads, whatever was asked."""
        return self._slide.mode

    @property
    def joins_m2(self) -> float:
        """The effective area that the valve leaves open from discharge to suction."""
        return self._slide.joins_m2 + self._leak_m2

    @property
    def defrosts(self) -> bool:
        """Whether it defrosts: the valve asked to cool, with the outdoor fan off and auxiliary heat on."""
        return self.asks == "heating" and self._defrost.is_active

    @property
    def auxiliary_w(self) -> float:
        """Electric heat in the supply air, on while it defrosts or a second stage calls."""
        called = self.defrosts or (self.asks == "heating" and self.auxiliary_called)
        return self._heat_pump.auxiliary_heat_w if called else 0.0

    def go_on(
        self,
        step_s: float,
        *,
        is_connected: bool,
        is_running: bool,
        difference_pa: float,
        coil_k: float,
        outdoor_k: float,
    ) -> None:
        """Look at the outdoor coil, and let the valve follow. difference: of the pressures that move its slide."""
        if is_running and self.asks == "heating":
            control, limits = self._heat_pump.defrost, self._heat_pump.defrost_limits
            self._defrost = defrost.after(
                self._defrost, control, limits, coil_k=coil_k, outdoor_k=outdoor_k, step_s=step_s
            )
        self._slide.follow(energised=is_connected and self._energised, difference_pa=difference_pa)

    @property
    def _energised(self) -> bool:
        return self._heat_pump.valve.energised_in == ("cooling" if self.defrosts else self.asks)


def heat_pump_controls(parameters: UnitParameters, *, heating: bool) -> HeatPumpControls | None:
    """Make the controls of a heat pump that was called for in this mode; none for a unit that only cools.

    Raises:
        SimulatorError: such a unit is to heat.

    """
    if parameters.heat_pump is None:
        if heating:
            raise SimulatorError("a unit without a reversing valve cannot heat; give it a heat pump's parts")
        return None
    return HeatPumpControls(
        parameters.heat_pump,
        parameters.faults,
        asks="heating" if heating else "cooling",
        outdoor_air_k=parameters.conditions.outdoor_air_k,
    )
