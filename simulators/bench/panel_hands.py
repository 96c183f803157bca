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
    Panel,
    PlaceLeads,
    PressHold,
    SetLug,
    SetSupply,
    SwapLeads,
    TurnDial,
    is_arranged,
)
from simulators.errors import SimulatorError
from simulators.unit.electric.at_the_panel import AtThePanel
from simulators.unit.electric.capacitor import Section
from simulators.unit.electric.meter import EMPTY_V, Function
from simulators.unit.electric.panel import EARTH, TIGHT_OHM, joint_names, not_there
from simulators.unit.electric.supply import LEGS, Leg, Supply

MOST_TURNS = 20
CANS = ("outdoor", "blower")
MOTORS = ("compressor", "fan", "blower")

BARE_HANDS_V = 50.0
"""What has as much is not touched: 29 CFR 1910.333(a)(1) as remembered; a charged capacitor too (common practice, no
source)."""

_AT_THE_DISCONNECT = ("line_", "disconnect_")
_DEAD_ONLY: Mapping[MeterFunction, str] = MappingProxyType({"resistance": "ohms", "capacitance": "farads"})

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
    """Where meter and clamp are held at one panel. is_on: its cover."""

    def __init__(self, electric: AtThePanel) -> None:
        self._electric = electric
        self.is_on = True
        self.leads = ("", "")
        self.dial: MeterFunction = "ac_voltage"
        self.is_held = False
        self.jaw, self.turns = "", 1
        points = electric.points()
        self.legs = tuple(leg for leg in LEGS if f"line_{leg}" in points)
        self.lugs = joint_names(Supply(phases=3 if len(self.legs) == len(LEGS) else 1))
        self.lugs_off: tuple[str, ...] = ()
        self.supply = SetSupply()
        self.blocked: tuple[str, ...] = ()

    @property
    def sections(self) -> tuple[CapacitorSection, ...]:
        """Tell of each section what is printed on its can, and where it is wired."""
        cans = {can: self._electric.capacitor(can) for can in CANS}
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
            found = self._electric.between(*self.leads, _FUNCTIONS[self.dial])
            shown[f"multimeter_{self.dial}"] = math.inf if found is None else found
        elif self.dial == "resistance":
            shown["multimeter_resistance"] = math.inf
        else:
            shown[f"multimeter_{self.dial}"] = 0.0
        if self.jaw:
            shown["compressor_current"] = self.turns * self._electric.current_in(self.jaw)
        return shown

    @property
    def warning(self) -> str:
        """Why a tester of insulation does not test, or why ohms and farads tell nothing there."""
        refused_v = self._refused_v()
        if refused_v is not None:
            return f"the tester finds {refused_v:.0f} V on its leads and does not test"
        wants_dead = self.dial in _DEAD_ONLY and all(self.leads)
        volts = self._electric.on_leads_v(*self.leads) if wants_dead else 0.0
        if volts <= EMPTY_V:
            return ""
        return (
            f"no {_DEAD_ONLY[self.dial]} can be read with {volts:.0f} V on the leads, which can destroy the meter: "
            "take them off, make dead, prove it, discharge"
        )

    def _refused_v(self) -> float | None:
        tests = self.dial == "insulation" and all(self.leads)
        return self._electric.refused_v(*self.leads) if tests else None

    def _insulation(self) -> dict[str, float]:
        """Tell the megohms, in the place of ohms; on a live part the volts instead."""
        volts = self._refused_v()
        if volts is not None:
            return {"multimeter_ac_voltage": volts}
        found = self._electric.between(*self.leads, "insulation") if all(self.leads) else None
        return {"multimeter_resistance": math.inf if found is None else found}

    def do(self, act: Act) -> None:
        """Do one act.

        Raises:
            SimulatorError: there is no such thing there, nothing at a panel does it, the panel is over it, or it is
                live or charged.

        """
        if not is_arranged(act):
            self._check_dead(act)
        self.rehearse(act)

    def rehearse(self, act: Act) -> None:
        """Do one act, live or not: what a script asks for is tried so before it is played.

        Raises:
            SimulatorError: as of an act that is done.

        """
        if isinstance(act, Panel):
            self.is_on = act.on
            return
        if isinstance(act, PressHold):
            self.is_held = not self.is_held
            return
        if not is_arranged(act):
            self._check_reach(act)
        self._apply(act)

    def _apply(self, act: Act) -> None:
        electric = self._electric
        match act:
            case PlaceLeads():
                self._place(act)
            case TurnDial():
                self.dial, self.is_held = act.function, False  # as meters do
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
        self._electric.lose_leg(*lost)
        self._electric.sag(act.sag_ratio)
        if act.swapped != self.supply.swapped:
            self._electric.swap_supply("a", "b")
        self.supply = act

    @property
    def lies_open(self) -> bool:
        """Whether the panel is off and live parts are behind it."""
        line = [lug for lug in self.lugs if lug.startswith("contactor_line_")]
        return not self.is_on and max(map(self._electric.at_lug_v, line)) >= BARE_HANDS_V

    def _check_reach(self, act: Act) -> None:
        """Refuse what lies behind a panel that is on; leads and jaw that were put there before go on through it."""
        match act:
            case PlaceLeads():
                asked = {act.red, act.black} & set(self._electric.points()) - {EARTH, *self.leads}
            case CloseJaw():
                asked = {act.lead} & set(self.lugs) - {self.jaw}
            case SetLug():
                asked = {act.lug} & set(self.lugs)
            case _:
                asked = {"capacitor"} if isinstance(act, FitCapacitor | Discharge | SwapLeads) else set()
        if self.is_on and not all(name.startswith(_AT_THE_DISCONNECT) for name in asked):
            raise SimulatorError("the panel is on: take it off first")

    def _check_dead(self, act: Act) -> None:
        """Refuse to let bare hands into a panel that is live, or at what is live or charged."""
        sections = {section.name: section for section in self.sections}
        match act:
            case SetLug():
                lugs = {act.lug}
            case SwapLeads():
                lugs = {f"contactor_load_{act.one}", f"contactor_load_{act.other}"}
            case Discharge() if act.section in sections:
                lugs = {sections[act.section].lug, sections[act.section].common}
            case FitCapacitor():
                lugs = {lug for it in sections.values() if it.can == act.can for lug in (it.lug, it.common)}
            case _:
                return
        if not all(lug.startswith(_AT_THE_DISCONNECT) for lug in lugs):
            lugs |= {f"contactor_line_{leg}" for leg in self.legs}
        for lug in sorted(lugs & set(self.lugs)):
            volts = self._electric.at_lug_v(lug)
            if volts >= BARE_HANDS_V:
                raise SimulatorError(f"{lug} is live, {volts:.0f} V to earth: open and lock the disconnect, prove dead")
        charged = [] if isinstance(act, Discharge) else [it for it in sections.values() if {it.lug, it.common} & lugs]
        for section in charged:
            volts = abs(self._electric.charge_v(section.name))
            if volts >= BARE_HANDS_V:
                raise SimulatorError(f"{volts:.0f} V are left in the {section.name} section: discharge it first")

    def _place(self, act: PlaceLeads) -> None:
        points = self._electric.points()
        for point in (act.red, act.black):
            if point and point not in points:
                raise SimulatorError(not_there("point", point, points))
        self.leads = (act.red, act.black)

    def _close(self, act: CloseJaw) -> None:
        if not 1 <= act.turns <= MOST_TURNS:
            raise SimulatorError(f"a lead goes 1 to {MOST_TURNS} times through a jaw, not {act.turns}")
        if act.lead:
            self._electric.current_in(act.lead)  # which refuses a lug that is not there
        self.jaw, self.turns = act.lead, act.turns


def _leg(name: str) -> Leg:
    if name not in _LEGS:
        raise SimulatorError(f"there is no leg {name!r}; there are a, b and c")
    return _LEGS[name]


def _with(names: tuple[str, ...], name: str, *, there: bool) -> tuple[str, ...]:
    others = tuple(other for other in names if other != name)
    return (*others, name) if there else others
