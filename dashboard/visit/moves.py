"""Refrigerant: the account of each circuit, the cylinders, and what is moved, as cards."""

from collections.abc import Iterator, Sequence

from calc import wording
from calc.cautions import Step
from calc.countries import countries, is_in_states, is_in_union
from calc.leak_duty import elsewhere
from calc.quantities import Quantity
from calc.units import System
from dashboard import words
from dashboard.sentences import say
from dashboard.visit.cards import Card, Field, Form, Key, unit_of
from ingest.wire.messages import ByWeight, CircuitAccount, CylinderStands, UnitAbout, Visit, Wording
from ingest.wire.wording import worded


def form(visit: Visit, unit: UnitAbout, system: System, country: str = "") -> Form:
    """Make the form of refrigerant. country: where the unit stands, by its code; empty where nobody said."""
    by_weight = [_by_weight(visit.by_weight, system)] if visit.by_weight else []
    return Form(
        "moves",
        say("moves.title"),
        (
            *(_account(it, system, country) for it in visit.circuits),
            *by_weight,
            _move(visit, unit, system),
            *(_cylinder(it, system) for it in visit.cylinders),
            _new_cylinder(unit, system),
        ),
    )


def _account(it: CircuitAccount, system: System, country: str) -> Card:
    return Card(
        f"circuit-{it.circuit}",
        say("visit.circuit", name=it.circuit) if it.circuit else say("moves.circuit"),
        tuple(_told(it, system, country)),
    )


def _told(it: CircuitAccount, system: System, country: str) -> Iterator[str]:
    """Say what the rig tells of a circuit's account."""
    added, recovered = (wording.mass(mass_kg, system) for mass_kg in (it.added_kg, it.recovered_kg))
    yield say("moves.account", added=added, recovered=recovered)
    for said in (*_law(it, country), it.recheck_says):
        if said is not None:
            yield getattr(said, system)


def _law(it: CircuitAccount, country: str) -> Sequence[Wording | None]:
    """Give what the law asks of a circuit, as a report has it: whose law that is, its country settles."""
    if country not in countries():  # nobody said, or a code that is of none
        return it.says, it.checks_say if it.co2_equivalent_t is not None else None
    if is_in_union(country):
        return (it.checks_say,)
    return (it.says if is_in_states(country) else worded(elsewhere(country)),)


def _by_weight(it: ByWeight, system: System) -> Card:
    return Card("by-weight", say("moves.by_weight"), (getattr(it.says, system),), sign=("note", "note"))


def _move(visit: Visit, unit: UnitAbout, system: System) -> Card:
    """Ask for an amount; the rig says what speaks against it before it is noted."""
    cylinders = tuple((it.name, it.name) for it in visit.cylinders)
    of = [Field("cylinder", say("moves.which_cylinder"), "choice", options=cylinders)] if cylinders else []
    phases = tuple((phase, said.capitalize()) for phase, said in words.PHASES.items())
    first = "liquid" if unit.charge_as_liquid else ""
    return Card(
        "move",
        say("moves.move"),
        steps=(Step.CHARGE, Step.RECOVER),
        fields=(
            Field("mass", say("moves.mass"), "number", "", unit=unit_of(Quantity.MASS, system), needed=True),
            Field("phase", say("moves.as_what"), "choice", "", phases, needed=True, value=first),
            *of,
            Field("purpose", say("moves.purpose"), "choice", options=tuple(words.PURPOSES.items())),
        ),
        keys=(
            Key(say("moves.recovered"), "recovered", {"fields": {"how": "typed"}}),
            Key(say("moves.added"), "added", {"fields": {"how": "typed"}}, main=True),
        ),
    )


def _cylinder(it: CylinderStands, system: System) -> Card:
    if it.holds_kg is None or it.most_kg is None:
        holds = say("moves.holds_unknown")
    else:
        holds = say("moves.holds", mass=wording.mass(it.holds_kg, system), most=wording.mass(it.most_kg, system))
    what = " · ".join(filter(None, [it.refrigerant, words.CYLINDER_USES[it.use]]))
    return Card(f"cylinder-{it.name}", say("moves.cylinder", name=it.name), (what, holds))


def _new_cylinder(unit: UnitAbout, system: System) -> Card:
    """Ask what is written on a cylinder."""
    ounces_or_grams = unit_of(Quantity.MASS, system)
    masses = (
        ("tare_kg", say("moves.tare")),
        ("water_capacity_kg", say("moves.water_capacity")),
        ("gross_kg", say("moves.gross")),
    )
    return Card(
        "cylinder",
        say("moves.new_cylinder"),
        fields=(
            Field("name", say("moves.written_on_it"), needed=True),
            Field("use", say("moves.use"), "choice", options=tuple(words.CYLINDER_USES.items()), needed=True),
            Field("refrigerant", say("units.refrigerant"), value=unit.refrigerant),
            *(Field(name, label, "number", unit=ounces_or_grams, quantity="mass") for name, label in masses),
        ),
        keys=(Key(say("moves.keep_cylinder"), "cylinder", main=True),),
    )
