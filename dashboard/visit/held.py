"""What of a check the rig has already, in words: nobody is asked for it again, and it is not sent again.

Invariant: nothing is held here that the rig does not put beside an answer by itself: what the answer that goes on held,
and what stands on a label, as the unit's sheet or its history has it.
"""

from collections.abc import Mapping
from typing import get_args

from calc import wording
from calc.quantities import STANDARD_PRESSURE_PA
from calc.units import System
from ingest.wire.checklist import Check, Figure
from ingest.wire.messages import Finding, UnitHistory
from ingest.wire.sheet import Capacitor, Sheet

Held = Mapping[str, list[str]]
"""By the name of a value: its words, in US and in SI units."""

_ON_THE_CAN: Mapping[str, Mapping[str, str]] = {
    "capacitor_measured": {"herm": "label.herm", "fan": "label.fan", "tolerance": "tolerance"},
    "replacement": {"herm": "old_label.herm", "fan": "old_label.fan", "volts": "rated_volts.old", "hertz": "hertz.old"},
}
"""By the check: what it calls that which stands on a capacitor's label."""


def held(check: Check, goes_on: Finding | None, on_label: Mapping[str, float]) -> Held:
    """Give it of one row. goes_on: the answer that what comes next adds to. on_label: as `on_label` gives it [SI]."""
    before = {**goes_on.recalled, **goes_on.plated, **goes_on.values} if goes_on else {}
    spreads = goes_on.standard_uncertainties if goes_on else {}
    figures, systems = _figures(check), get_args(System)
    return {
        name: [_worded(value, spreads.get(name, 0.0), figures[name][0], system) for system in systems]
        for name, value in (dict(on_label) | before).items()
        if name in figures
    }


def named(check: Check, name: str) -> str:
    """Name a value of a check for people."""
    figure, place = _figures(check)[name]
    return f"{figure.label}: {figure.per[place]}" if place else figure.label


def _figures(check: Check) -> dict[str, tuple[Figure, str]]:
    """Give of every value of a check its figure, and at which place it is taken."""
    return {
        f"{figure.name}.{place}" if place else figure.name: (figure, place)
        for figure in check.figures
        for place in figure.per or ("",)
    }


def on_label(
    check: str, part: str, sheet: Sheet | None, history: UnitHistory | None, began_s: float
) -> dict[str, float]:
    """Give what a check asks for of a capacitor's label and is known, by its names there [SI].

    part: which; without one the only one. began_s: of the visit: what was taken out since then is the old part of a
    replacement. The sheet's word goes first, as the rig has it.
    """
    names = _ON_THE_CAN.get(check, {})
    cans = [it for it in (sheet.parts if sheet else ()) if isinstance(it, Capacitor)]
    meant = [it for it in cans if it.name == part] if part else cans
    if len(meant) > 1 or not names:
        return {}
    known = {}
    called = {part, meant[0].name} if meant else {part}
    for it in history.parts if history else ():
        is_old = check == "replacement" and it.until_s is not None and it.until_s >= began_s
        if it.kind == "capacitor" and it.part in called and (it.until_s is None or is_old):
            known = dict(it.label)
            if is_old:
                break
    for can in meant:
        said = {"herm": can.herm_f, "fan": can.fan_f, "tolerance": can.tolerance_share}
        said |= {"volts": can.volts, "hertz": can.hertz}
        known |= {name: value for name, value in said.items() if value is not None}
    return {names[name]: value for name, value in known.items() if name in names}


def _worded(value: float, spread: float, figure: Figure, system: System) -> str:
    is_share = figure.quantity == "ratio"
    shown, kind = (100.0 * value, "percentage") if is_share else (value, figure.quantity)
    expanded = (200.0 if is_share else 2.0) * spread
    return wording.as_fine_as_known(shown, expanded, kind, system, STANDARD_PRESSURE_PA)
