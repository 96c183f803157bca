"""What a page must know to make sense of the readings: the unit, the channels, the instruments and the newest marks."""

from collections.abc import Sequence
from typing import Literal

import msgspec

from ingest.wire.marks import Mark


class ChannelAbout(msgspec.Struct, frozen=True):
    """How a channel is measured. accuracy: the maker's ± limit, in the house's unit of the quantity."""

    name: str
    instrument: str
    unit: str
    accuracy: float
    reference: Literal["absolute", "gauge", ""] = ""
    calibrated: str = ""


class InstrumentAbout(msgspec.Struct, frozen=True):
    """An instrument and how its link stands. state: a value of `ingest.supervise.LinkState`."""

    name: str
    link: str
    state: str
    since_s: float
    reason: str = ""
    frames: int = 0
    rejected_frames: int = 0


class UnitAbout(msgspec.Struct, frozen=True):
    """The unit under service, as its nameplate says. All in SI; None where the nameplate is silent.

    circuit: which one of it is in view, by its name; empty where nobody named it.
    """

    tag: str
    place: str
    refrigerant: str
    safety_class: str
    metering_device: Literal["fixed_orifice", "txv", "eev"]
    charge_as_liquid: bool
    target_superheat_dk: float | None = None
    target_subcooling_dk: float | None = None
    nameplate_charge_kg: float | None = None
    compressor_rla_a: float | None = None
    condenser_fan_fla_a: float | None = None
    blower_fla_a: float | None = None
    high_side_design_pressure_pa: float | None = None
    circuit: str = ""
    superheat_chart_k: tuple[tuple[float, float, float], ...] = ()


class About(msgspec.Struct, frozen=True):
    """Everything a page needs to make sense of the readings; retained, and renewed when any of it changes.

    played: it is a recorded visit that is played again; nothing of it is live.
    """

    rig: str
    boot: str
    session: int
    started_s: float
    visit: str
    visit_started_s: float
    unit: UnitAbout
    barometric_pressure_pa: float
    channels: Sequence[ChannelAbout]
    instruments: Sequence[InstrumentAbout]
    marks: Sequence[Mark] = ()
    simulated: bool = False
    speed: float = 1.0
    played: bool = False
