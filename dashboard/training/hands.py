"""The controls at a simulated unit: what anybody standing there could do, by the place where it is done.

A control has keys, each with the act that it stands for; what is chosen in its fields is put into that act. How things
stand is what bench/state says, and nothing else.
"""

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Literal, get_args

import msgspec

from calc import refrigerants
from calc.cautions import Step, beware_at_steps
from calc.quantities import STANDARD_PRESSURE_PA, Quantity
from calc.units import System, to_display
from dashboard import words
from dashboard.display import Json
from dashboard.sentences import say
from dashboard.training.told import microfarad, supply, told, valve
from ingest.wire import bench_acts as acts
from ingest.wire.bench_acts import Act, BenchState

NITROGEN_PA = 1.136e6
"""150 psig at sea level, for the test of tightness; a real unit's nameplate says what it bears."""

LOOSE_OHM = (0.05, 0.2)
SHEET_RATIO, FULL_FILTER_RATIO, NO_FILTER_RATIO = 0.6, 0.6, 1.1
TURNS = (1, 2, 5, 10)
SAG_RATIO = 0.1
DISCHARGE_OHM, DISCHARGE_S = 20e3, 8.0
LABELS_F = tuple(value / 1e6 for value in (5, 7.5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 70, 80))
"""What capacitors come with (common practice, no source); that of the old label is among the choices too."""

TEST_OF_INSULATION = "insulation"
"""A place of the dial that reads ohms, and on a live part the volts in their stead."""

_PRESSURES = ("suction_pressure", "liquid_pressure")

Option = tuple[str, Json]
"""What it says, and what it puts into an act."""
Groups = tuple[tuple[str, tuple[Option, ...]], ...]


@dataclass(frozen=True, slots=True)
class Field:
    """A choice before a key is touched. chosen: what it says at first."""

    label: str
    groups: Groups
    chosen: str = ""


@dataclass(frozen=True, slots=True)
class Control:
    """What it is, how it stands, and its keys. act: its name on the wire, by which a refusal finds it.

    refuses: what the bench does not do, and why; or what a real unit asks for besides. reads: channels whose figures
    tell what it comes to.
    bare: keys that take nothing of the fields.
    """

    name: str
    act: str
    keys: tuple[tuple[str, Act], ...]
    stands: str = ""
    fields: tuple[Field, ...] = ()
    refuses: str = ""
    reads: tuple[str, ...] = ()
    bare: tuple[str, ...] = ()


def controls(
    state: BenchState,
    *,
    refrigerant: str | None,
    channels: Collection[str],
    found: str = "",
    blind: bool = False,
    system: System = "us",
) -> Json:
    """Lay the controls out by place, with what was done last, and what was not done and why.

    channels: that the rig has. found: the safety class that the visit found in the unit. blind: an exercise, in which
    nothing is offered that would put something wrong.
    """
    did = [_sentence_case(told(act)) for act in state.last]
    return {
        "refused": say("hands.not_done", why=_in_words(state.refused, state)) if state.refused else "",
        "refused_act": state.refused_act,
        "last": say("hands.last") + did[0] if did else say("hands.nothing_done"),
        "before": did[1:],
        "places": [
            _place(name, state, refrigerant, channels, system, safety_class=found)
            for name in acts.PLACES
            if not (blind and name == "arranged")
        ],
    }


def _in_words(why: str, state: BenchState) -> str:
    """Put points and lugs, which the bench tells by their names on the wire, as the lists here have them."""
    names = {*state.points, *state.lugs}
    return re.sub(r"\w+_\w+", lambda it: words.point_in_full(it[0]) if it[0] in names else it[0], why)


def _place(
    name: str,
    state: BenchState,
    refrigerant: str | None,
    channels: Collection[str],
    system: System,
    *,
    safety_class: str = "",
) -> Json:
    found = tuple(_nitrogen(system) if name == "nitrogen" else _CONTROLS[name](state))
    missing = _missing(name, channels)
    beware = beware_at_steps(refrigerant, _steps(name, state), found=safety_class)
    return {
        "name": name,
        "title": words.PLACES[name],
        "stands": ", ".join(_summary(name, state)),
        "says": [text for text in (*_stands_in_the_way(name, state, refrigerant, safety_class), missing) if text],
        "cautions": [str(each) for each in beware.now],
        "once": say("dialogs.whole_visit", count=len(beware.once)),
        "cautions_once": [str(each) for each in beware.once],
        "controls": [] if missing and name == "meter" else [_laid_out(it, channels) for it in found],
    }


def _laid_out(it: Control, channels: Collection[str]) -> Json:
    return {
        "name": it.name,
        "act": it.act,
        "stands": it.stands,
        "refuses": it.refuses,
        "fields": [
            {"label": each.label, "chosen": each.chosen, "groups": [list(group) for group in each.groups]}
            for each in it.fields
        ],
        "keys": [[says, msgspec.to_builtins(act)] for says, act in it.keys],
        "bare": list(it.bare),
        "reads": [channel for channel in it.reads if channel in channels],
    }


def _steps(name: str, state: BenchState) -> tuple[Step, ...]:
    """Give the steps whose cautions stand at a place; at the disconnect those of what its keys do now."""
    steps = acts.PLACES[name].beware
    if name == "power" and state.disconnect_closed:
        return (Step.SWITCH_OFF, Step.LOOK) if state.thermostat_calls else steps
    if name == "power":
        return (Step.START,)
    return (Step.MEGOHMS, *steps) if name == "meter" else steps


def _stands_in_the_way(name: str, state: BenchState, refrigerant: str | None, safety_class: str) -> Iterator[str]:
    """Say what of the unit's present state hurts whoever goes on here."""
    is_said_to_burn = refrigerant is not None and refrigerants.get(refrigerant).is_flammable
    burns = is_said_to_burn or refrigerants.propagates_flame(safety_class)
    if name in ("panel", "meter", "clamp", "capacitor"):
        yield say("hands.live" if state.disconnect_closed else "hands.open_is_not_dead")
    if not state.panel_on and (name == "power" or (burns and name in ("hoses", "cylinder", "recovery", "vacuum"))):
        yield say("hands.panel_is_off")
    if name == "power" and state.lugs_off:
        yield say("hands.wires_off", lugs=", ".join(map(words.point_in_full, state.lugs_off)))
    if name == "power" and state.vacuum_pump_runs:
        yield say("hands.in_a_vacuum")


def _missing(name: str, channels: Collection[str]) -> str:
    if name == "meter" and "multimeter_ac_voltage" not in channels:
        return say("hands.no_multimeter")
    if name == "cylinder" and "cylinder_mass" not in channels:
        return say("hands.no_scale")
    if name == "vacuum" and "vacuum_pressure" not in channels:
        return say("hands.no_vacuum_gauge")
    return ""


def _summary(name: str, state: BenchState) -> Iterator[str]:
    """Say in a few words how it stands at a place, for its closed section."""
    match name:
        case "panel" | "meter" | "clamp" | "arranged":
            yield from _at_the_panel(name, state)
        case "power":
            yield "disconnect closed" if state.disconnect_closed else "disconnect open"
            yield "calls" if state.thermostat_calls else "no call"
            if state.sound:
                yield f"it {state.sound}"
        case "probes":
            yield from [say("hands.circuit", name=state.probes_at).lower()] if len(state.circuits) > 1 else []
            yield _on_or_off(state)
        case "hoses":
            yield ", ".join(f"on the {port} port" for port in state.hoses) or "none on"
        case "cylinder":
            yield valve(state.cylinder_open_ratio)
        case "recovery" | "vacuum":
            yield "runs" if (state.recovery_runs if name == "recovery" else state.vacuum_pump_runs) else "off"


def _at_the_panel(name: str, state: BenchState) -> Iterator[str]:
    match name:
        case "panel":
            yield "panel on" if state.panel_on else "panel off"
            if state.lugs_off:
                yield say("hands.leads_off", lugs=", ".join(map(words.point_in_full, state.lugs_off)))
        case "meter":
            yield words.DIAL[state.dial]
            if all(state.leads):
                yield _pair(*state.leads)
        case "clamp":
            yield _jaw(state)
        case "arranged":
            if fed := _fed(state):
                yield fed
            if state.blocked:
                yield say("hands.held", motors=", ".join(state.blocked))


def _jaw(state: BenchState) -> str:
    if not state.jaw:
        return say("hands.on_the_compressor")
    return say("hands.around", lead=words.point_in_full(state.jaw), turns=state.turns)


def _pair(one: str, other: str) -> str:
    (part, end), (other_part, other_end) = words.point(one), words.point(other)
    told_other = other_end if part == other_part and other_end else words.point_in_full(other)
    return say("hands.pair", one=f"{part} {end}".strip(), other=told_other)


# --- each place


def _power(state: BenchState) -> Iterator[Control]:
    closed, calls = state.disconnect_closed, state.thermostat_calls
    throw, call = acts.ThrowDisconnect(closed=not closed), acts.SetThermostat(calls=not calls)
    yield Control("Disconnect", "disconnect", (("Open" if closed else "Close", throw),), "closed" if closed else "open")
    yield Control("Thermostat", "thermostat", (("Stop" if calls else "Call", call),), "calls" if calls else "no call")
    yield Control("Pressure cut-outs", "reset_cut_outs", (("Reset", acts.ResetCutOuts()),))


def _panel(state: BenchState) -> Iterator[Control]:
    on = state.panel_on
    yield Control("Panel", "panel", (("Take off" if on else "Put on", acts.Panel(on=not on)),), "on" if on else "off")
    off = ", ".join(map(words.point_in_full, state.lugs_off))
    yield Control(
        "Lug",
        "lug",
        (("Tighten", acts.SetLug(lug="")), (say("hands.take_lead_off"), acts.SetLug(lug="", off=True))),
        say("hands.leads_off", lugs=off) if off else "",
        (_by_part("At", state.lugs, "lug"),),
        say("hands.refuses.bare_hands"),
    )
    if len(state.legs) > 2:
        swaps = tuple(
            (say("hands.swap", one=one.upper(), other=other.upper()), acts.SwapLeads(one=one, other=other))
            for one, other in combinations(state.legs, 2)
        )
        yield Control(say("hands.swap_leads"), "swap_leads", swaps, refuses=say("hands.refuses.bare_hands"))


def _meter(state: BenchState) -> Iterator[Control]:
    dial = tuple((words.DIAL[function], acts.TurnDial(function=function)) for function in get_args(acts.MeterFunction))
    tests = state.dial == TEST_OF_INSULATION
    reads = ("multimeter_resistance", "multimeter_ac_voltage") if tests else (f"multimeter_{state.dial}",)
    yield Control("Dial", "dial", dial, words.DIAL[state.dial], reads=reads)
    hold = (say("hands.let_go" if state.held else "hands.hold"), acts.PressHold())
    yield Control("HOLD", "hold", (hold,), say("hands.display_held") if state.held else "", reads=reads)
    place = ("Place", acts.PlaceLeads())
    yield Control(
        say("hands.both_leads"), "leads", (place, (say("hands.take_leads_off"), acts.PlaceLeads())),
        _pair(*state.leads) if all(state.leads) else "off",
        (Field(say("hands.where"), tuple(_usual_pairs(state))),),
        say("hands.refuses.leads"),
        reads,
        bare=(say("hands.take_leads_off"),),
    )  # fmt: skip
    red, black = (
        _by_part(says, state.points, says.lower(), point)
        for says, point in zip(("Red", "Black"), state.leads, strict=True)
    )
    yield Control(say("hands.any_points"), "leads", (place,), fields=(red, black), reads=reads)


def _usual_pairs(state: BenchState) -> Iterator[tuple[str, tuple[Option, ...]]]:
    def pairs(*ends: tuple[str, str]) -> tuple[Option, ...]:
        there = [(one, other) for one, other in ends if one in state.points and other in state.points]
        return tuple((_pair(one, other), {"red": one, "black": other}) for one, other in there)

    yield say("hands.known_live"), pairs(*combinations([f"line_{leg}" for leg in state.legs], 2))
    lines = [f"contactor_line_{leg}" for leg in state.legs]
    yield say("hands.prove_dead"), pairs(*combinations(lines, 2), *((line, "earth") for line in lines))
    both = combinations(state.sections, 2)
    yield (
        "Capacitor",
        pairs(
            *((section.lug, section.common) for section in state.sections),
            *((one.lug, other.lug) for one, other in both if one.can == other.can),
        ),
    )
    yield "Control", pairs(("coil_1", "coil_2"), ("secondary_r", "secondary_c"))
    poles = [(f"contactor_line_{leg}", f"contactor_load_{leg}") for leg in state.legs]
    yield say("hands.over_a_pole"), pairs(*poles)
    yield say("hands.over_a_lug"), pairs(*((f"{lug}_wire", lug) for lug in state.lugs))
    loads = [f"contactor_load_{leg}" for leg in state.legs]
    yield "Load side", pairs(*combinations(loads, 2))
    yield "Windings", pairs(
        ("compressor_run", "compressor_common"), ("compressor_start", "compressor_common"),
        ("compressor_start", "compressor_run"),
        *combinations([f"compressor_{leg}" for leg in state.legs], 2),
    )  # fmt: skip
    ends = [f"compressor_{end}" for end in ("common", *state.legs)]
    yield say("hands.to_ground"), pairs(*((end, "earth") for end in ends))


def _clamp(state: BenchState) -> Iterator[Control]:
    turns = tuple((f"{count} ×", {"turns": count}) for count in TURNS)
    yield Control(
        "Jaw",
        "clamp",
        (("Close", acts.CloseJaw()), (say("hands.back_on_compressor"), acts.CloseJaw())),
        _jaw(state),
        (_by_part("Around", state.lugs, "lead", state.jaw), Field("Turns", (("", turns),), f"{state.turns} ×")),
        say("hands.refuses.clamp"),
        ("compressor_current",),
        bare=(say("hands.back_on_compressor"),),
    )


def _capacitor(state: BenchState) -> Iterator[Control]:
    for section in state.sections:
        off = section.lug in state.lugs_off
        lead = acts.SetLug(lug=section.lug, off=not off)
        resistor = acts.Discharge(section=section.name, resistance_ohm=DISCHARGE_OHM, duration_s=DISCHARGE_S)
        yield Control(
            f"Section {section.name}",
            "discharge",
            (
                (say("hands.through_a_resistor"), resistor),
                (say("hands.put_lead_on" if off else "hands.take_lead_off"), lead),
            ),
            f"{microfarad(section.label_f)}, {'lead off' if off else 'lead on'}",
            refuses=say("hands.refuses.bare_hands"),
        )
    cans = dict.fromkeys(section.can for section in state.sections)
    for can in cans:
        old = {section.name: section.label_f for section in state.sections if section.can == can}
        yield Control(
            say("hands.exchange", can=can),
            "capacitor",
            (("Exchange", acts.FitCapacitor(can=can, sections_f=old)),),
            fields=tuple(_label(name, label_f) for name, label_f in old.items()),
            refuses=say("hands.a_real_capacitor"),
        )


def _label(section: str, old_f: float) -> Field:
    values = {microfarad(label_f): label_f for label_f in sorted({*LABELS_F, old_f})}
    options = tuple((says, {"sections_f": {section: label_f}}) for says, label_f in values.items())
    return Field(section.capitalize(), (("", options),), microfarad(old_f))


def _probes(state: BenchState) -> Iterator[Control]:
    off, on = acts.ScrewProbes(on=False), acts.ScrewProbes(on=True)
    key = (say("hands.screw_off"), off) if state.probes_on else (say("hands.screw_on"), on)
    yield Control(say("hands.pressure_probes"), "pressure_probes", (key,), _on_or_off(state), reads=_PRESSURES)
    for name in state.circuits if len(state.circuits) > 1 else ():
        is_there = name == state.probes_at
        keys = () if is_there else ((say("hands.probes_to", name=name), acts.MoveProbes(circuit=name)),)
        stands = say("hands.probes_there") if is_there else ""
        yield Control(say("hands.circuit", name=name), "probes", keys, stands, refuses=say("hands.refuses.probes"))


def _on_or_off(state: BenchState) -> str:
    return "on" if state.probes_on else "off"


def _hoses(state: BenchState) -> Iterator[Control]:
    for port in get_args(acts.ServicePort):
        off, on = acts.Hose(port=port, on=False), acts.Hose(port=port, on=True)
        unpurged = acts.Hose(port=port, on=True, purged=False)
        is_on = port in state.hoses
        keys = ((say("hands.put_on_purged"), on), (say("hands.put_on_unpurged"), unpurged))
        yield Control(
            f"Hose, {port} port", "hose", (("Take off", off),) if is_on else keys, "on" if is_on else "off",
            refuses=say("hands.refuses.hose"), reads=(f"{port}_pressure",),
        )  # fmt: skip


def _cylinder(state: BenchState) -> Iterator[Control]:
    keys = {"Shut": 0.0, "Half": 0.5, "Open": 1.0}
    phases: tuple[Literal["liquid", "vapour"], ...] = ("liquid", "vapour")
    yield Control(
        "Valve",
        "cylinder",
        tuple((says, acts.OpenCylinder(open_ratio=ratio)) for says, ratio in keys.items()),
        f"{valve(state.cylinder_open_ratio)}, {state.cylinder_phase}",
        (
            Field(
                "Cylinder gives",
                (("", tuple((phase.capitalize(), {"phase": phase}) for phase in phases)),),
                state.cylinder_phase.capitalize(),
            ),
        ),
        say("hands.refuses.cylinder"),
        ("cylinder_mass",),
    )


def _recovery(state: BenchState) -> Iterator[Control]:
    yield _machine("Recovery machine", "recovery", acts.Recover(runs=not state.recovery_runs),
                   say("hands.refuses.recovery"), runs=state.recovery_runs, reads="suction_pressure")  # fmt: skip


def _vacuum(state: BenchState) -> Iterator[Control]:
    yield _machine("Vacuum pump", "vacuum_pump", acts.Evacuate(runs=not state.vacuum_pump_runs),
                   say("hands.refuses.vacuum_pump"), runs=state.vacuum_pump_runs, reads="vacuum_pressure")  # fmt: skip


def _machine(name: str, act: str, switched: Act, refuses: str, *, runs: bool, reads: str) -> Control:
    keys = (("Stop" if runs else "Start", switched),)
    return Control(name, act, keys, "runs" if runs else "off", refuses=refuses, reads=(reads,))


def _nitrogen(system: System) -> Iterator[Control]:
    number, unit = to_display(NITROGEN_PA, Quantity.PRESSURE, system, barometric_pressure_pa=STANDARD_PRESSURE_PA)
    keys = (
        (say("hands.nitrogen_to", pressure=f"{number:.0f} {unit}"), acts.Nitrogen(pressure_pa=NITROGEN_PA)),
        ("Let out", acts.Nitrogen(pressure_pa=None)),
    )
    yield Control("Regulator", "nitrogen", keys, refuses=say("hands.refuses.nitrogen"), reads=("suction_pressure",))


def _air(state: BenchState) -> Iterator[Control]:
    sheet, none = acts.BlockCondenser(air_ratio=SHEET_RATIO), acts.BlockCondenser(air_ratio=1.0)
    yield Control(
        "Condenser", "condenser", ((say("hands.sheet_on"), sheet), (say("hands.sheet_off"), none)),
        _air_left(state.condenser_air_ratio),
        reads=("liquid_pressure",),
    )  # fmt: skip
    out, clean = acts.ChangeFilter(air_ratio=NO_FILTER_RATIO), acts.ChangeFilter(air_ratio=1.0)
    keys = ((say("hands.filter_out"), out), (say("hands.filter_in"), clean))
    yield Control("Filter", "filter", keys, _air_left(state.evaporator_air_ratio))


def _air_left(air_ratio: float) -> str:
    return "" if air_ratio == 1.0 else say("hands.air_left", part=f"{100 * air_ratio:.0f}")


def _arranged(state: BenchState) -> Iterator[Control]:
    lost = tuple((say("hands.leg_lost", leg=words.LEGS[leg]), acts.SetSupply(lost=(leg,))) for leg in state.legs)
    swapped = ((say("hands.legs_swapped"), acts.SetSupply(swapped=True)),) if len(state.legs) > 2 else ()
    sagging = (say("hands.sag", part=f"{100 * SAG_RATIO:.0f}"), acts.SetSupply(sag_ratio=SAG_RATIO))
    yield Control(
        "Supply", "supply", ((say("hands.all_legs"), acts.SetSupply()), *lost, sagging, *swapped),
        _fed(state),
    )  # fmt: skip
    loosen = tuple((say("hands.loosen", ohm=f"{ohm:g}"), acts.SetLug(lug="", resistance_ohm=ohm)) for ohm in LOOSE_OHM)
    yield Control(say("hands.a_loose_lug"), "lug", loosen, fields=(_by_part("At", state.lugs, "lug"),))
    for motor in state.motors:
        hold, let_go = (acts.BlockMotor(motor=motor, blocked=blocked) for blocked in (True, False))
        keys = ((say("hands.hold_fast"), hold), (say("hands.let_go"), let_go))
        yield Control(words.point_in_full(motor), "block", keys, "held fast" if motor in state.blocked else "")
    full = acts.ChangeFilter(air_ratio=FULL_FILTER_RATIO)
    yield Control(say("hands.filter_full"), "filter", ((say("hands.full_filter_in"), full),))
    senses = (("Senses", acts.SenseLeak(senses=True)), ("Clear", acts.SenseLeak(senses=False)))
    yield Control("Leak detector", "leak_detector", senses)


def _fed(state: BenchState) -> str:
    """Say what a hand did to the supply; how it was found is not told."""
    return "" if state.supply == acts.SetSupply() else supply(state.supply)


_CONTROLS = {
    "power": _power, "panel": _panel, "meter": _meter, "clamp": _clamp, "capacitor": _capacitor, "probes": _probes,
    "hoses": _hoses, "cylinder": _cylinder, "recovery": _recovery, "vacuum": _vacuum, "air": _air,
    "arranged": _arranged,
}  # fmt: skip


def _by_part(label: str, names: Collection[str], into: str, chosen: str = "") -> Field:
    """Offer points or lugs, by the part that they are of."""
    parts: dict[str, list[Option]] = {}
    for name in names:
        parts.setdefault(words.point(name)[0], []).append((words.point_in_full(name), {into: name}))
    groups = tuple((part, tuple(options)) for part, options in parts.items())
    return Field(label, groups, words.point_in_full(chosen) if chosen else "")


def _sentence_case(text: str) -> str:
    return text[:1].upper() + text[1:]
