"""What hands do at a bench, one act a message: the topic bench/act carries them, and a script of a visit too.

Quantities are SI, as everywhere on the wire; a share lies between 0 and 1.
"""

from collections.abc import Mapping
from functools import reduce
from operator import or_
from types import MappingProxyType
from typing import Literal, NamedTuple

import msgspec

from calc.cautions import Step

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


class MoveProbes(Act, frozen=True, kw_only=True, tag="probes"):
    """Take the probes and clamps, and the jaw on the compressor's lead, to a circuit of the unit."""

    circuit: str


class ScrewProbes(Act, frozen=True, kw_only=True, tag="pressure_probes"):
    """Screw the pressure probes on the service ports, or off: off, they read the air; clamps stay where they are."""

    on: bool


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
    """Put the panel over the live parts on, or take it off. While it is on, nothing behind it is reached."""

    on: bool


class PlaceLeads(Act, frozen=True, kw_only=True, tag="leads"):
    """Put the multimeter's leads on two points of the panel, by their names in bench/state; empty: off."""

    red: str = ""
    black: str = ""


class TurnDial(Act, frozen=True, kw_only=True, tag="dial"):
    """Turn the multimeter's dial."""

    function: MeterFunction


class PressHold(Act, frozen=True, kw_only=True, tag="hold"):
    """Press the multimeter's HOLD key: its display stands, or goes on."""


class CloseJaw(Act, frozen=True, kw_only=True, tag="clamp"):
    """Close the clamp around the lead at a lug, so many times; empty: around the compressor's again."""

    lead: str = ""
    turns: int = 1


class SetLug(Act, frozen=True, kw_only=True, tag="lug"):
    """Loosen a lug to a resistance [ohm], take its lead off, or tighten it: by hand, the last two where it is dead."""

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
    """Let legs of the supply die, and a part of its voltage be missing; neither: it is sound again.

    swapped: two legs of three are swapped at the source, so that what has three phases turns the other way.
    """

    lost: tuple[str, ...] = ()
    sag_ratio: float = 0.0
    swapped: bool = False


class SwapLeads(Act, frozen=True, kw_only=True, tag="swap_leads"):
    """Swap two of the compressor's leads at the contactor."""

    one: str
    other: str


class BlockMotor(Act, frozen=True, kw_only=True, tag="block"):
    """Hold a motor fast, or let it go."""

    motor: str
    blocked: bool


class Place(NamedTuple):
    """Where hands act: the acts that are done there, and the steps whose cautions hold for them."""

    acts: tuple[type[Act], ...]
    beware: tuple[Step, ...] = ()


PLACES: Mapping[str, Place] = MappingProxyType(
    {
        "power": Place((ThrowDisconnect, SetThermostat, ResetCutOuts), (Step.SWITCH_OFF, Step.LOOK, Step.START)),
        "panel": Place((Panel, SetLug, SwapLeads), (Step.LOOK, Step.MEASURE)),
        "meter": Place((PlaceLeads, TurnDial, PressHold), (Step.MEASURE, Step.LOOK)),
        "clamp": Place((CloseJaw,), (Step.MEASURE,)),
        "capacitor": Place((Discharge, FitCapacitor), (Step.LOOK,)),
        "probes": Place((ScrewProbes, MoveProbes), (Step.CONNECT, Step.DISCONNECT)),
        "hoses": Place((Hose,), (Step.CONNECT, Step.DISCONNECT)),
        "cylinder": Place((OpenCylinder,), (Step.CHARGE,)),
        "recovery": Place((Recover,), (Step.RECOVER,)),
        "vacuum": Place((Evacuate,), (Step.EVACUATE,)),
        "nitrogen": Place((Nitrogen,), (Step.PRESSURE_TEST,)),
        "air": Place((BlockCondenser, ChangeFilter), (Step.TOUCH,)),
        "arranged": Place((SetSupply, BlockMotor, SenseLeak)),
    }
)
"""All acts, each once. What is arranged is an instructor's to do: a blind exercise neither tells nor offers it."""

ACTS = tuple(act for place in PLACES.values() for act in place.acts)
ANY_ACT = reduce(or_, ACTS)
"""All of them as one type, for msgspec."""


def is_arranged(act: Act) -> bool:
    """Tell whether an act puts something wrong, which a trainee is to find."""
    return isinstance(act, PLACES["arranged"].acts) or (isinstance(act, SetLug) and act.resistance_ohm is not None)


class CapacitorSection(msgspec.Struct, frozen=True, kw_only=True):
    """A section as anybody reads it there: the can it is in, its label [F], and the lugs of its lead and its common."""

    name: str
    can: str
    label_f: float
    lug: str
    common: str


class BenchState(msgspec.Struct, frozen=True, kw_only=True):
    """What the retained topic bench/state carries: how things stood after the last act, never what is wrong with them.

    held: the multimeter's display. circuits: of the unit; probes_at: the one that probes, clamps and hoses are at.
    probes_on: whether the pressure probes are on its service ports.
    hoses: the ports with one on. points: where leads can stand; leads: the red and the black one. jaw: the lead in the
    clamp, turns: how many times. legs: of the supply. lugs_off: those whose lead a hand took off. supply, blocked: as
    hands left them; the shares of its air that each coil has, likewise. sound: what is heard of the compressor.
    refused: why the last act was not done, or nothing; refused_act: its name. done: how many acts were. last: the
    newest of them first. In a blind exercise supply, blocked and last leave out what was arranged.
    """

    disconnect_closed: bool
    thermostat_calls: bool
    panel_on: bool
    hoses: tuple[ServicePort, ...]
    cylinder_open_ratio: float
    cylinder_phase: Literal["liquid", "vapour"]
    recovery_runs: bool
    vacuum_pump_runs: bool
    points: tuple[str, ...]
    leads: tuple[str, str]
    dial: MeterFunction
    jaw: str
    turns: int
    legs: tuple[str, ...]
    lugs: tuple[str, ...]
    lugs_off: tuple[str, ...]
    sections: tuple[CapacitorSection, ...]
    motors: tuple[str, ...]
    supply: SetSupply
    blocked: tuple[str, ...]
    condenser_air_ratio: float
    evaporator_air_ratio: float
    sound: str
    refused: str
    refused_act: str
    done: int
    held: bool = False
    circuits: tuple[str, ...] = ("1",)
    probes_at: str = "1"
    probes_on: bool = True
    last: tuple[ANY_ACT, ...]  # type: ignore[valid-type]  # made of the table above, so that none is forgotten
