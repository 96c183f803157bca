"""What a scenario says of the unit's panel: supply, contactor, capacitors, lugs, overloads."""

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Literal, cast

import msgspec

from calc.quantities import Quantity
from simulators.bench.scenario_reading import Reader
from simulators.unit.electric.as_found import AsFound, SectionAsFound
from simulators.unit.electric.contactor import SOUND_POLE_OHM, Coil
from simulators.unit.electric.panel import TIGHT_OHM, joint_names
from simulators.unit.electric.supply import LEGS, SERVICE_IMPEDANCE_OHM, Leg, Supply

LOOSEST = "100 ohm"
MOST_ACID = 5.0
MOTORS = ("compressor", "fan", "blower")
CANS = ("outdoor", "blower")


class SupplySection(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[supply]`: of what the unit hangs on. Sag and unbalance are faults, the line voltage a condition.

    two_of_three: its single phase is two legs of three, as 208 V is. lost: dead legs. rotation: of three phases.
    resistance: of each leg up to the disconnect.
    """

    two_of_three: bool = False
    lost: tuple[str, ...] = ()
    rotation: Literal["right", "reversed"] = "right"
    resistance: str | None = None


class ContactorSection(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[contactor]`: poles: resistance of those that are worn, by leg. welded: legs whose contacts stay closed.

    strapped: legs that it has no contact in, as one with a single pole. pulls_in, lets_go: of its coil. tap: what the
    control transformer's primary is wired for, as 240 V on a supply of 208.
    """

    poles: dict[str, str] = {}
    welded: tuple[str, ...] = ()
    strapped: tuple[str, ...] = ()
    pulls_in: str = "18 V"
    lets_go: str = "12 V"
    tap: str | None = None


class CapacitorSection(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[capacitors.SECTION]`: what a section loses hot and under load, its bleeder, and the charge that is left in it.

    What it has lost cold is a fault. A charge stays only where a lead is off or a winding open.
    """

    fails_under_load: str = "0 %"
    bleeder: str | None = None
    residual: str = "0 V"


class PanelSections(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """`[panel]`: domed capacitors, motors that something holds, overloads that have opened just now.

    insulation: by motor what its windings have to ground, dry, clean and at 40 °C. acid: in the compressor's oil
    [mg KOH/g].
    """

    bulged: tuple[str, ...] = ()
    blocked: tuple[str, ...] = ()
    open_overloads: tuple[str, ...] = ()
    insulation: dict[str, str] = {}
    acid: float = 0.0


@dataclass(frozen=True, slots=True)
class OfPanel:
    """All sections of a scenario that tell of its panel. lugs: "0.05 ohm", or "off"."""

    supply: SupplySection
    contactor: ContactorSection
    capacitors: Mapping[str, CapacitorSection]
    lugs: Mapping[str, str]
    panel: PanelSections


def as_found(read: Reader, of: OfPanel, phases: Literal[1, 3]) -> AsFound:
    """Read them, for a unit of so many phases.

    Raises:
        ScenarioError: one names what such a unit has not, or a value that it is not simulated with.

    """
    supply, contactor = of.supply, of.contactor
    if supply.two_of_three and phases == 3:
        raise read.error("supply.two_of_three", "true", "that is of a single-phase unit; this one has three phases")
    if supply.rotation == "reversed" and phases == 1:
        raise read.error("supply.rotation", "reversed", "a single-phase supply has none; this unit has one phase")
    legs = LEGS[: 2 if phases == 1 else 3]
    sections = ("herm", "fan", "blower") if phases == 1 else ("fan", "blower")
    read.known("capacitors", tuple(of.capacitors), sections, "section")
    read.known("lugs", tuple(of.lugs), joint_names(Supply(phases=phases)), "lug")
    read.known("panel.bulged", of.panel.bulged, CANS, "capacitor")
    read.known("panel.blocked", of.panel.blocked, MOTORS, "motor")
    read.known("panel.open_overloads", of.panel.open_overloads, MOTORS, "motor")
    read.known("panel.insulation", tuple(of.panel.insulation), MOTORS, "motor")
    if not 0.0 <= of.panel.acid <= MOST_ACID:
        raise read.error("panel.acid", f"{of.panel.acid:g}", f"it is simulated with 0 to {MOST_ACID:g} mg KOH/g")
    coil = Coil(
        pulls_in_v=read.within("contactor.pulls_in", contactor.pulls_in, Quantity.VOLTAGE, "5 V", "30 V"),
        lets_go_v=read.within("contactor.lets_go", contactor.lets_go, Quantity.VOLTAGE, "1 V", "30 V"),
    )
    poles_ohm = {
        leg: _resistance(read, f"contactor.poles.{leg}", contactor.poles[leg], SOUND_POLE_OHM)
        for leg in _legs(read, "contactor.poles", tuple(contactor.poles), legs)
    }
    service_ohm = SERVICE_IMPEDANCE_OHM
    if supply.resistance is not None:
        service_ohm = complex(
            read.within("supply.resistance", supply.resistance, Quantity.RESISTANCE, "0 ohm", "10 ohm"),
            SERVICE_IMPEDANCE_OHM.imag,
        )
    return AsFound(
        two_of_three=supply.two_of_three,
        lost=frozenset(_legs(read, "supply.lost", supply.lost, legs)),
        order=("b", "a", "c") if supply.rotation == "reversed" else LEGS,
        service_impedance_ohm=service_ohm,
        transformer_tap_v=None
        if contactor.tap is None
        else read.within("contactor.tap", contactor.tap, Quantity.VOLTAGE, "100 V", "600 V"),
        sections={name: _section(read, name, it) for name, it in of.capacitors.items()},
        bulged=frozenset(of.panel.bulged),
        joints_ohm={
            lug: math.inf if text == "off" else _resistance(read, f"lugs.{lug}", text, TIGHT_OHM)
            for lug, text in of.lugs.items()
        },
        poles_ohm=poles_ohm,
        welded=frozenset(_legs(read, "contactor.welded", contactor.welded, legs)),
        straps=frozenset(_legs(read, "contactor.strapped", contactor.strapped, legs)),
        coil=coil,
        blocked=frozenset(of.panel.blocked),
        open_overloads=frozenset(of.panel.open_overloads),
        insulation_ohm={
            name: read.within(f"panel.insulation.{name}", text, Quantity.RESISTANCE, "1 ohm", "2000 Mohm")
            for name, text in of.panel.insulation.items()
        },
        acid=of.panel.acid,
    )


def _legs(read: Reader, key: str, names: tuple[str, ...], there: Collection[Leg]) -> tuple[Leg, ...]:
    read.known(key, names, there, "leg")
    return cast("tuple[Leg, ...]", names)


def _resistance(read: Reader, key: str, text: str, least_ohm: float) -> float:
    return read.within(key, text, Quantity.RESISTANCE, f"{least_ohm:g} ohm", LOOSEST)


def _section(read: Reader, name: str, it: CapacitorSection) -> SectionAsFound:
    key = f"capacitors.{name}"
    bleeder_ohm = None
    if it.bleeder is not None:
        bleeder_ohm = read.within(f"{key}.bleeder", it.bleeder, Quantity.RESISTANCE, "1 kohm", "10 Mohm")
    return SectionAsFound(
        read.within(f"{key}.fails_under_load", it.fails_under_load, Quantity.RATIO, "0 %", "90 %"),
        bleeder_ohm,
        read.within(f"{key}.residual", it.residual, Quantity.VOLTAGE, "0 V", "700 V"),
    )
