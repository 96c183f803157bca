"""What hands do at the panel of the bench's unit: lugs, capacitors, supply, and where meter and clamp are held."""

import math
from collections.abc import Mapping
from types import MappingProxyType

from ingest.wire.bench_acts import (
    Act,
    BlockMotor,
    CloseJaw,
    Discharge,
    FitCapacitor,
    MeterFunction,
    PlaceLeads,
    SetLug,
    SetSupply,
    SwapLeads,
    TurnDial,
)
from simulators.errors import SimulatorError
from simulators.unit.electric.capacitor import Section
from simulators.unit.electric.meter import Function
from simulators.unit.electric.panel import TIGHT_OHM
from simulators.unit.electric.supply import Leg
from simulators.unit.model import Unit

MOST_TURNS = 20

_FUNCTIONS: Mapping[MeterFunction, Function] = MappingProxyType(
    {
        "ac_voltage": "volts ac",
        "dc_voltage": "volts dc",
        "resistance": "ohms",
        "capacitance": "farads",
        "insulation": "insulation",
    }
)
_LEGS: Mapping[str, Leg] = MappingProxyType({"a": "a", "b": "b", "c": "c"})


class PanelHands:
    """Where meter and clamp are held at one panel."""

    def __init__(self, unit: Unit) -> None:
        self._unit = unit
        self.leads = ("", "")
        self.dial: MeterFunction = "ac_voltage"
        self.jaw, self.turns = "", 1

    def readings(self) -> dict[str, float]:
        """Tell what the multimeter shows, infinite where it can show nothing, and what is in the jaw by its turns."""
        shown = {f"multimeter_{name}": math.nan for name in _FUNCTIONS if name != "insulation"}
        if self.dial == "insulation":
            shown |= self._insulation()
        elif all(self.leads):
            found = self._unit.electric.between(*self.leads, _FUNCTIONS[self.dial])
            shown[f"multimeter_{self.dial}"] = math.inf if found is None else found
        elif self.dial == "resistance":
            shown["multimeter_resistance"] = math.inf
        else:
            shown[f"multimeter_{self.dial}"] = 0.0
        if self.jaw:
            shown["compressor_current"] = self.turns * self._unit.electric.current_in(self.jaw)
        return shown

    @property
    def warning(self) -> str:
        """Why a tester of insulation does not test."""
        volts = self._refused_v()
        return "" if volts is None else f"the tester finds {volts:.0f} V on its leads and does not test"

    def _refused_v(self) -> float | None:
        tests = self.dial == "insulation" and all(self.leads)
        return self._unit.electric.refused_v(*self.leads) if tests else None

    def _insulation(self) -> dict[str, float]:
        """Tell the megohms, in the place of ohms; on a live part the volts instead."""
        volts = self._refused_v()
        if volts is not None:
            return {"multimeter_ac_voltage": volts}
        found = self._unit.electric.between(*self.leads, "insulation") if all(self.leads) else None
        return {"multimeter_resistance": math.inf if found is None else found}

    def do(self, act: Act) -> None:
        """Do one act.

        Raises:
            SimulatorError: there is no such thing there, or nothing at a panel does it.

        """
        electric = self._unit.electric
        match act:
            case PlaceLeads():
                self._place(act)
            case TurnDial():
                self.dial = act.function
            case CloseJaw():
                self._close(act)
            case SetLug():
                loose_ohm = TIGHT_OHM if act.resistance_ohm is None else act.resistance_ohm
                electric.set_joint(act.lug, math.inf if act.off else loose_ohm)
            case FitCapacitor():
                electric.exchange_capacitor(act.can, {name: Section(it) for name, it in act.sections_f.items()})
            case Discharge():
                electric.discharge(act.section, act.resistance_ohm, act.duration_s)
            case SetSupply():
                electric.lose_leg(*map(_leg, act.lost))
                electric.sag(act.sag_ratio)
            case SwapLeads():
                electric.swap_leads(_leg(act.one), _leg(act.other))
            case BlockMotor():
                electric.block(act.motor, blocked=act.blocked)
            case _:
                raise SimulatorError(f"nothing at a panel does {act}")

    def _place(self, act: PlaceLeads) -> None:
        points = self._unit.electric.points()
        for point in (act.red, act.black):
            if point and point not in points:
                raise SimulatorError(f"there is no point {point!r}; there are {', '.join(points)}")
        self.leads = (act.red, act.black)

    def _close(self, act: CloseJaw) -> None:
        if not 1 <= act.turns <= MOST_TURNS:
            raise SimulatorError(f"a lead goes 1 to {MOST_TURNS} times through a jaw, not {act.turns}")
        if act.lead:
            self._unit.electric.current_in(act.lead)  # which refuses a lug that is not there
        self.jaw, self.turns = act.lead, act.turns


def _leg(name: str) -> Leg:
    if name not in _LEGS:
        raise SimulatorError(f"there is no leg {name!r}; there are a, b and c")
    return _LEGS[name]
