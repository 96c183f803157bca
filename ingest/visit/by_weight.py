"""A charge by weight, step by step: recover, evacuate, weigh in. What is due at each, for the page; it unlocks nothing.

What is weighed in is the nameplate's charge, and what the liquid line holds beyond the length that the plate is for;
the vapour line, some 2 % of that, is left out. What the hose held as the scale was set to zero is taken off, for it
goes in as well once the hose is emptied into the circuit. The maker's figure comes first.
"""

from datetime import date

from msgspec.structs import replace

from calc.charging import line_set_charge_per_length
from calc.errors import CalcRangeError
from calc.quantities import Quantity
from calc.recovery import RecoveryLevel, pressure_class, recovery_level
from calc.sentences import Sentence, amount, text, weighed
from calc.tubes import acr_bore_m
from ingest.visit.tally import Entry, summed
from ingest.wire.findings import Finding
from ingest.wire.messages import ByWeight, CylinderStands
from ingest.wire.sheet import Circuit
from ingest.wire.wording import worded

LIQUID_LINE_K = 310.928
"""100 °F, at which the trade's figure of 0.6 oz per foot of 3/8 in line is that of R-22."""
CYLINDER_K = 298.15
"""77 °F: the liquid in a hose is about as warm as its cylinder (common practice, no source)."""
SCALE_KG = 0.01
"""What is still to go below it no charging scale is read for: common practice, no source."""
_MACHINE_MADE = date(1993, 11, 15)
"""Machines from this day on have to reach more; an older one is hardly in use (common practice, no source)."""
_MET, _NOT_MET = "met", "not_met"


def by_weight(
    circuit: Circuit, entries: list[Entry], opened: Finding | None, cylinder: CylinderStands | None
) -> ByWeight | None:
    """Say where a charge by weight is; None where nobody has begun one.

    entries: what was moved of the circuit at this visit. opened: the newest finding of the check of an opened circuit.
    cylinder: that it is weighed in from, if that is known.
    """
    of_it = [entry for entry in entries if entry.purpose in ("weigh_in", "open")]
    if not of_it:
        return None
    level = _level(circuit)
    reached, held = _answers(opened)
    recovered_kg = summed(entries).recovered_kg
    weighed_in_kg = summed(entry for entry in of_it if entry.sign > 0).added_kg
    beyond_kg, hose_kg = lines_kg(circuit), _hose_kg(circuit, cylinder)
    mass_kg = None if circuit.charge_kg is None else max(circuit.charge_kg + (beyond_kg or 0.0) - (hose_kg or 0.0), 0.0)
    left_kg = None if mass_kg is None else max(mass_kg - weighed_in_kg, 0.0)
    now = ByWeight(
        circuit=circuit.name,
        step="recover",
        says=worded(_level_said(level)),
        recovered_kg=round(recovered_kg, 6),
        level_pa=round(level.pressure_pa, 1),
        level_row=level.row,
        level_reached=reached,
        vacuum_held=held,
        nameplate_kg=circuit.charge_kg,
        lines_kg=_rounded(beyond_kg),
        hose_kg=_rounded(hose_kg),
        mass_kg=_rounded(mass_kg),
        weighed_in_kg=round(weighed_in_kg, 6),
        left_kg=_rounded(left_kg),
    )
    return _at_its_step(now)


def _at_its_step(now: ByWeight) -> ByWeight:
    """Tell the step, and what to do there: what was weighed in already needs no level and no vacuum any more."""
    if not now.weighed_in_kg and now.level_reached != _MET:
        return now
    if not now.weighed_in_kg and now.vacuum_held != _MET:
        return replace(now, step="evacuate", says=worded(Sentence("by_weight.evacuate")))
    if now.mass_kg is None or now.left_kg is None:
        return replace(now, step="weigh_in", says=worded(Sentence("by_weight.weigh_in_unknown")))
    mass = weighed("mass", now.mass_kg)
    if now.left_kg <= SCALE_KG:
        return replace(now, step="done", says=worded(Sentence("by_weight.done", (mass,))))
    return replace(
        now, step="weigh_in", says=worded(Sentence("by_weight.weigh_in", (weighed("left", now.left_kg), mass)))
    )


def _answers(opened: Finding | None) -> tuple[str, str]:
    """Give what the check of an opened circuit says of the level and of the vacuum; empty where it is silent."""
    choices = {} if opened is None else opened.choices
    level = {"yes": _MET, "no": _NOT_MET}.get(choices.get("level_verified", ""), "")
    vacuum = {"holds": _MET, "levels_off": _NOT_MET, "climbs": _NOT_MET}.get(choices.get("vacuum_course", ""), "")
    return level, vacuum


def _level(circuit: Circuit) -> RecoveryLevel:
    kind = pressure_class(circuit.refrigerant)
    return recovery_level(kind, circuit.charge_kg or 1.0, machine_made=_MACHINE_MADE)


def _level_said(level: RecoveryLevel) -> Sentence:
    return Sentence(
        "by_weight.recover", (amount("level", level.pressure_pa, Quantity.PRESSURE), text("row", level.row))
    )


def lines_kg(circuit: Circuit) -> float | None:
    """Compute what the liquid line holds beyond the plate's, below 0 where it is shorter; None where not known."""
    if circuit.line_m is None or circuit.included_line_m is None or circuit.liquid_line_m is None:
        return None
    try:
        per_m = line_set_charge_per_length(
            circuit.refrigerant, bore_m=acr_bore_m(circuit.liquid_line_m), liquid_temperature_k=LIQUID_LINE_K
        )
    except CalcRangeError:
        return None
    return float(per_m) * (circuit.line_m - circuit.included_line_m)


def _hose_kg(circuit: Circuit, cylinder: CylinderStands | None) -> float | None:
    if cylinder is None or cylinder.hose_m is None or cylinder.hose_bore_m is None:
        return None
    try:
        per_m = line_set_charge_per_length(
            circuit.refrigerant, bore_m=cylinder.hose_bore_m, liquid_temperature_k=CYLINDER_K
        )
    except CalcRangeError:
        return None
    return float(per_m) * cylinder.hose_m


def _rounded(mass_kg: float | None) -> float | None:
    return None if mass_kg is None else round(mass_kg, 6)
