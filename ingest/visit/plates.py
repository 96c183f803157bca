"""What a circuit of the unit is, wherever that stands: in the unit's sheet, or in the rig's file."""

from collections.abc import Sequence

from ingest.visit.deciding import RefusedError
from ingest.wire.messages import UnitAbout
from ingest.wire.sheet import Circuit
from ingest.wire.texts import shown


def unnamed_is(unit: UnitAbout, known: Sequence[Circuit]) -> str:
    """Name the circuit that is meant as long as nobody names one: the first of the sheet, else the rig's."""
    return known[0].name if known else unit.circuit


def read_now(unit: UnitAbout, known: Sequence[Circuit], named: str) -> str:
    """Name the circuit that the instruments read; empty where the unit has only one, and nobody named it.

    What is seen of one circuit stays of that one, whichever is in view by the time it is kept.
    """
    return named or (unnamed_is(unit, known) if len(known) > 1 else "")


def circuits_of(unit: UnitAbout, known: Sequence[Circuit], named: str) -> list[Circuit]:
    """Give the circuits of a unit, the one in view first.

    known: those of its sheet, if there is one. named: the one in view, as the visit's marks have it; empty for none.
    """
    in_view = named or unnamed_is(unit, known)
    first = [circuit for circuit in known if circuit.name == in_view]
    others = [circuit for circuit in known if circuit.name != in_view]
    return [*(first or [of_the_rig(unit, in_view)]), *others]


def of_the_rig(unit: UnitAbout, name: str) -> Circuit:
    """Give the circuit in view as the rig's file has it."""
    return Circuit(
        name=name,
        refrigerant=unit.refrigerant,
        metering_device=unit.metering_device,
        charge_kg=unit.nameplate_charge_kg,
        charge_known_by="nameplate" if unit.nameplate_charge_kg is not None else "",
        target_superheat_dk=unit.target_superheat_dk,
        target_subcooling_dk=unit.target_subcooling_dk,
        high_side_design_pressure_pa=unit.high_side_design_pressure_pa,
        superheat_chart_k=unit.superheat_chart_k,
    )


def circuit_meant(name: str, circuits: Sequence[Circuit]) -> Circuit:
    """Give the circuit that an ask means. name: as it says; empty for the one in view, which is the first.

    Raises:
        RefusedError: the unit has none of this name.

    """
    for circuit in circuits:
        if circuit.name == (name or circuits[0].name):
            return circuit
    have = ", ".join(filter(None, (circuit.name for circuit in circuits))) or "only one, without a name"
    raise RefusedError(f"this unit has no circuit {shown(name)!r}; it has {have}")
