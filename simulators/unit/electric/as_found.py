"""What is wrong at a unit's panel when somebody comes to it, besides the faults that have a size in every unit."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from simulators.unit.electric.contactor import Coil
from simulators.unit.electric.supply import LEGS, SERVICE_IMPEDANCE_OHM, Leg


@dataclass(frozen=True, slots=True)
class SectionAsFound:
    """A capacitor's section: fails_under_load and bleeder as in Section, residual is its charge [V DC]."""

    fails_under_load: float = 0.0
    bleeder_ohm: float | None = None
    residual_v: float = 0.0


@dataclass(frozen=True, slots=True)
class AsFound:
    """A panel as it is found; the defaults are those of a sound one. Names are those of Panel.

    two_of_three, lost, order, service_impedance: of the supply. transformer_tap: what its primary is wired for [V],
    None for the unit's own voltage. sections, bulged: of capacitors. joints: lugs that are not tight, infinite with
    the lead off [ohm]. poles, welded, straps, coil: of the contactor. blocked: motors that something holds.
    open_overloads: those that have opened just now. insulation: of motors whose is not sound, dry, clean and at 40 °C
    [ohm]. acid: of the compressor's oil [mg KOH/g].
    """

    two_of_three: bool = False
    lost: frozenset[Leg] = frozenset()
    order: tuple[Leg, ...] = LEGS
    service_impedance_ohm: complex = SERVICE_IMPEDANCE_OHM
    transformer_tap_v: float | None = None
    sections: Mapping[str, SectionAsFound] = field(default_factory=dict, hash=False)
    bulged: frozenset[str] = frozenset()
    joints_ohm: Mapping[str, float] = field(default_factory=dict, hash=False)
    poles_ohm: Mapping[Leg, float] = field(default_factory=dict, hash=False)
    welded: frozenset[Leg] = frozenset()
    straps: frozenset[Leg] = frozenset()
    coil: Coil = field(default_factory=Coil)
    blocked: frozenset[str] = frozenset()
    open_overloads: frozenset[str] = frozenset()
    insulation_ohm: Mapping[str, float] = field(default_factory=dict, hash=False)
    acid: float = 0.0
