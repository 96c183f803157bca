"""What hands do at the panel of the bench's unit: lugs, capacitors, supply, and where meter and clamp are held."""

import math
from collections.abc import Mapping
from types import MappingProxyType

from ingest.wire.bench_acts import (
    Act,
    BlockMotor,
    CapacitorSection,
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
from simulators.unit.electric.panel import TIGHT_OHM, joint_names
from simulators.unit.electric.supply import LEGS, Leg, Supply
from simulators.unit.model import Unit

MOST_TURNS = 20
CANS = ("outdoor", "blower")
MOTORS = ("compressor", "fan", "blower")

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
        points = unit.electric.points()
        self.legs = tuple(leg for leg in LEGS if f"line_{leg}" in points)
        self.lugs = joint_names(Supply(phases=3 if len(self.legs) == len(LEGS) else 1))
        self.lugs_off: tuple[str, ...] = ()
        self.supply = SetSupply()
        self.blocked: tuple[str, ...] = ()

    @property
    def sections(self) -> tuple[CapacitorSection, ...]:
        """Tell of each section what is printed on its can, and where it is wired."""
        cans = {can: self._unit.electric.capacitor(can) for can in CANS}
        return tuple(
            CapacitorSection(
                name=name,
                can=can,
                label_f=section.rated_f,
                lug=f"capacitor_{name}",
                common="capacitor_common" if can == "outdoor" else f"capacitor_{can}_common",
            )
            for can, it in cans.items()
            for name, section in it.sections.items()
        )

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
                self.lugs_off = _with(self.lugs_off, act.lug, there=act.off)
            case FitCapacitor():
                electric.exchange_capacitor(act.can, {name: Section(it) for name, it in act.sections_f.items()})
            case Discharge():
                electric.discharge(act.section, act.resistance_ohm, act.duration_s)
            case SetSupply():
                self._feed(act)
            case SwapLeads():
                electric.swap_leads(_leg(act.one), _leg(act.other))
            case BlockMotor():
                electric.block(act.motor, blocked=act.blocked)
                self.blocked = _with(self.blocked, act.motor, there=act.blocked)
            case _:
                raise SimulatorError(f"nothing at a panel does {act}")

    def _feed(self, act: SetSupply) -> None:
        if act.swapped and len(self.legs) < len(LEGS):
            raise SimulatorError("a supply of one phase turns no way: only legs of three can be swapped")
        lost = tuple(map(_leg, act.lost))
        self._unit.electric.lose_leg(*lost)
        self._unit.electric.sag(act.sag_ratio)
        if act.swapped != self.supply.swapped:
            self._unit.electric.swap_supply("a", "b")
        self.supply = act

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


def _with(names: tuple[str, ...], name: str, *, there: bool) -> tuple[str, ...]:
    others = tuple(other for other in names if other != name)
    return (*others, name) if there else others
