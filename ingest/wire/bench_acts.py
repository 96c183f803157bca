"""What hands do at a bench, one act a message: the topic bench/act carries them, and a script of a visit too.

Quantities are SI, as everywhere on the wire; a share lies between 0 and 1.
"""

from collections.abc import Mapping
from functools import reduce
from operator import or_
from typing import Literal

import msgspec

ServicePort = Literal["suction", "liquid"]
MeterFunction = Literal["ac_voltage", "dc_voltage", "resistance", "capacitance", "insulation"]


class Act(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True, forbid_unknown_fields=True, tag_field="act"):
    """What every act has: its name."""


class ThrowDisconnect(Act, frozen=True, kw_only=True, tag="disconnect"):
    """Open or close the unit's disconnect."""

    closed: bool


class SetThermostat(Act, frozen=True, kw_only=True, tag="thermostat"):
    """Let the thermostat call for cooling, or no longer."""

    calls: bool


class ResetCutOuts(Act, frozen=True, kw_only=True, tag="reset_cut_outs"):
    """Press the reset of both pressure cut-outs."""


class SenseLeak(Act, frozen=True, kw_only=True, tag="leak_detector"):
    """Let the unit's own leak detector sense refrigerant, or no longer."""

    senses: bool


class Hose(Act, frozen=True, kw_only=True, tag="hose"):
    """Screw a hose on a service port, or off. purged: without the air that it came with."""

    port: ServicePort
    on: bool
    purged: bool = True


class OpenCylinder(Act, frozen=True, kw_only=True, tag="cylinder"):
    """Open the valve of the cylinder on the scale so far, 0 to close it. phase: how it stands, for what leaves it."""

    open_ratio: float
    phase: Literal["liquid", "vapour"] = "liquid"


class Recover(Act, frozen=True, kw_only=True, tag="recovery"):
    """Start or stop the recovery machine."""

    runs: bool


class Evacuate(Act, frozen=True, kw_only=True, tag="vacuum_pump"):
    """Start or stop the vacuum pump; stopped, its valve isolates the circuit."""

    runs: bool


class Nitrogen(Act, frozen=True, kw_only=True, tag="nitrogen"):
    """Let dry nitrogen in through the regulator up to this pressure [Pa absolute], or let it out."""

    pressure_pa: float | None


class BlockCondenser(Act, frozen=True, kw_only=True, tag="condenser"):
    """Leave the condenser this share of the air that it has when clean."""

    air_ratio: float


class ChangeFilter(Act, frozen=True, kw_only=True, tag="filter"):
    """Leave the evaporator this share of the air that it has with a clean filter; more with none at all."""

    air_ratio: float


class Panel(Act, frozen=True, kw_only=True, tag="panel"):
    """Put the panel over the live parts on, or take it off."""

    on: bool


class PlaceLeads(Act, frozen=True, kw_only=True, tag="leads"):
    """Put the multimeter's leads on two points of the panel, by their names in bench/state; empty: off."""

    red: str = ""
    black: str = ""


class TurnDial(Act, frozen=True, kw_only=True, tag="dial"):
    """Turn the multimeter's dial."""

    function: MeterFunction


class CloseJaw(Act, frozen=True, kw_only=True, tag="clamp"):
    """Close the clamp around the lead at a lug, so many times; empty: around the compressor's again."""

    lead: str = ""
    turns: int = 1


class SetLug(Act, frozen=True, kw_only=True, tag="lug"):
    """Loosen a lug to a resistance [ohm], take its lead off, or tighten it."""

    lug: str
    resistance_ohm: float | None = None
    off: bool = False


class FitCapacitor(Act, frozen=True, kw_only=True, tag="capacitor"):
    """Put a new capacitor in a place, with what its label says of each section [F]."""

    can: str
    sections_f: Mapping[str, float]


class Discharge(Act, frozen=True, kw_only=True, tag="discharge"):
    """Hold a resistor across a section of a capacitor for a while."""

    section: str
    resistance_ohm: float
    duration_s: float


class SetSupply(Act, frozen=True, kw_only=True, tag="supply"):
    """Let legs of the supply die, and a part of its voltage be missing; neither: it is sound again."""

    lost: tuple[str, ...] = ()
    sag_ratio: float = 0.0


class SwapLeads(Act, frozen=True, kw_only=True, tag="swap_leads"):
    """Swap two of the compressor's leads at the contactor."""

    one: str
    other: str


class BlockMotor(Act, frozen=True, kw_only=True, tag="block"):
    """Hold a motor fast, or let it go."""

    motor: str
    blocked: bool


ACTS: tuple[type[Act], ...] = (
    ThrowDisconnect, SetThermostat, ResetCutOuts, SenseLeak, Hose, OpenCylinder, Recover, Evacuate, Nitrogen,
    BlockCondenser, ChangeFilter, Panel, PlaceLeads, TurnDial, CloseJaw, SetLug, FitCapacitor, Discharge, SetSupply,
    SwapLeads, BlockMotor,
)  # fmt: skip
ANY_ACT = reduce(or_, ACTS)
"""All of them as one type, for msgspec."""


class BenchState(msgspec.Struct, frozen=True, kw_only=True):
    """What the retained topic bench/state carries: how things stood after the last act, never what is wrong with them.

    hoses: the ports with one on. points: where leads can stand; leads: the red and the black one. jaw: the lead in the
    clamp, turns: how many times. sound: what is heard of the compressor. refused: why the last act was not done, or
    nothing. done: how many acts were.
    """

    disconnect_closed: bool
    thermostat_calls: bool
    panel_on: bool
    hoses: tuple[ServicePort, ...]
    cylinder_open_ratio: float
    recovery_runs: bool
    vacuum_pump_runs: bool
    points: tuple[str, ...]
    leads: tuple[str, str]
    dial: MeterFunction
    jaw: str
    turns: int
    sound: str
    refused: str
    done: int
