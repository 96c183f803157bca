"""A unit's sheet: what its nameplates and those of its parts say, and where it stands. A register is many of them.

All in SI; None or an empty text where the plate is silent, or nobody has read it. A photograph is named by its id.
"""

import hashlib
from collections.abc import Sequence
from typing import Literal

import msgspec

from ingest.wire.encoding import encode
from ingest.wire.events import Confirmable, MarkBase

LARGEST_SHEET_BYTES = 16 * 1024
"""As JSON: a sheet travels in messages beside much else, and in the marks of its visit."""

MeteringDevice = Literal["fixed_orifice", "txv", "eev"]
Port = Literal["suction", "liquid", "discharge"]

Chart = Sequence[tuple[float, float, float]]
"""A maker's charging chart: wet bulb of the return air, outdoor air, superheat [K], one of each pair of airs."""


class Circuit(msgspec.Struct, frozen=True, omit_defaults=True):
    """One refrigerant circuit: an appliance of its own in law. name: as marked on the unit, such as "1" or "A".

    superheat_chart_k: of a fixed orifice, which takes the place of the general table; empty: there is none.
    charge_known_by: how its full charge was determined. included_line_m: for how long a line set the plate's charge is;
    line_m, liquid_line_m: how long this one is, and the outer diameter of its liquid line. appliance,
    is_light_commercial: which kind it is for the rules on leaks, and that it is residential or light commercial comfort
    cooling, as the owner says; empty or None where they have not. is_sealed: hermetically, and labelled so;
    has_leak_detection: a system that warns of a leak.
    """

    name: str
    refrigerant: str
    metering_device: MeteringDevice
    charge_kg: float | None = None
    charge_known_by: Literal["nameplate", "weighed_in", "calculated", ""] = ""
    target_superheat_dk: float | None = None
    target_subcooling_dk: float | None = None
    superheat_chart_k: Chart = ()
    high_side_design_pressure_pa: float | None = None
    low_side_design_pressure_pa: float | None = None
    included_line_m: float | None = None
    line_m: float | None = None
    liquid_line_m: float | None = None
    ports: Sequence[Port] = ("suction", "liquid")
    appliance: Literal["comfort_cooling", "commercial_refrigeration", "industrial_process_refrigeration", ""] = ""
    is_light_commercial: bool | None = None
    is_sealed: bool = False
    has_leak_detection: bool = False


class PartBase(msgspec.Struct, frozen=True, omit_defaults=True, tag_field="kind"):
    """What every part has. name: unique in the unit, such as "compressor" or "run capacitor"."""

    name: str
    photographs: Sequence[str] = ()

    @property
    def kind(self) -> str:
        """The tag of its JSON."""
        return str(self.__struct_config__.tag)


class Motor(PartBase, frozen=True, omit_defaults=True, tag="motor"):
    """A motor. drives: what its amps are called among the channels. circuit: of a compressor, whose it is."""

    drives: Literal["compressor", "condenser_fan", "blower", "other"] = "other"
    circuit: str = ""
    rated_current_a: float | None = None
    locked_rotor_a: float | None = None
    volts: float | None = None
    phases: Literal[1, 3] = 1


class Capacitor(PartBase, frozen=True, omit_defaults=True, tag="capacitor"):
    """A run capacitor; a dual one has both sections. tolerance_share: as the label has it; None where it is silent."""

    herm_f: float | None = None
    fan_f: float | None = None
    tolerance_share: float | None = None
    volts: float | None = None
    hertz: float | None = None
    date_code: str = ""


class Contactor(PartBase, frozen=True, omit_defaults=True, tag="contactor"):
    """A contactor. coil_volts: what its coil is rated for."""

    coil_volts: float | None = None
    poles: int | None = None


Part = Motor | Capacitor | Contactor


Spot = tuple[float, float]
"""A place on the drawing of a roof: how far from its left edge, and from its upper one, as shares of it, 0 to 1."""


class Roof(msgspec.Struct, frozen=True, omit_defaults=True):
    """The roof that a unit stands on, drawn as a plain rectangle, whose frame is its edge.

    name: units whose roofs are called the same stand on one drawing; empty: those of the same place do. north_deg:
    which way north is on the drawing, clockwise from its upper edge. hatch: where one comes up. width_m, depth_m: from
    left to right and from the upper edge to the lower one. Each None where nobody said.
    """

    name: str = ""
    north_deg: float | None = None
    hatch: Spot | None = None
    width_m: float | None = None
    depth_m: float | None = None


class Sheet(msgspec.Struct, frozen=True, omit_defaults=True):
    """A unit. tag: what is engraved on it. at: where on the drawing of its roof.

    country: its code of two letters (ISO 3166-1), which tells whose law on leaks holds; empty where nobody said.
    access: how to get there. first circuit: the one in view when a visit opens. sketch: a photograph of one on paper.
    """

    tag: str
    circuits: Sequence[Circuit]
    place: str = ""
    access: str = ""
    at: Spot | None = None
    roof: Roof | None = None
    sketch: str = ""
    mode: Literal["cooling", "heat_pump"] = "cooling"
    model: str = ""
    serial: str = ""
    volts: float | None = None
    phases: Literal[1, 3] | None = None
    hertz: float | None = None
    mca_a: float | None = None
    mocp_a: float | None = None
    parts: Sequence[Part] = ()
    photographs: Sequence[str] = ()
    country: str = ""


def revision(sheet: Sheet) -> str:
    """Name a sheet by what it says: the SHA-256 of its JSON, as the topic of its unit has it."""
    return hashlib.sha256(encode(sheet)).hexdigest()


class DescribeAsk(Confirmable, frozen=True, omit_defaults=True, tag="describe", kw_only=True):
    """Keep a sheet in the register, whole: in the place of what was known of the unit by its tag.

    builds_on: the revision of the sheet that this one was made from (`revision`). circuits_were: of its circuits, in
    order, how they were named in that one: one that has another name now was renamed, and stays what it is. Empty:
    none was, and one whose name is gone is gone.
    """

    sheet: Sheet
    builds_on: str = ""
    circuits_were: Sequence[str] = ()


class Described(MarkBase, frozen=True, omit_defaults=True, tag="described", kw_only=True):
    """A unit's sheet as it is from now on. Earlier ones stay in the record. circuits_were: as it was asked."""

    sheet: Sheet
    circuits_were: Sequence[str] = ()


class UnitBrief(msgspec.Struct, frozen=True, omit_defaults=True):
    """One line of the register. visited_s: when its last visit began [s since 1970]; None before the first."""

    tag: str
    place: str
    refrigerants: Sequence[str]
    visited_s: float | None = None


class Units(msgspec.Struct, frozen=True, omit_defaults=True):
    """The register in brief: who was visited or described last comes first. more: how many were left out."""

    units: Sequence[UnitBrief]
    more: int = 0
