"""What hands did at a simulated unit, in words."""

from collections.abc import Mapping

from dashboard import words
from dashboard.sentences import say
from ingest.wire import bench_acts as acts


def told(act: acts.Act) -> str:
    """Say what an act did."""
    match act:
        case acts.PlaceLeads() | acts.TurnDial() | acts.PressHold() | acts.CloseJaw():
            return _measuring(act)
        case acts.SetLug() | acts.FitCapacitor() | acts.Discharge() | acts.SwapLeads():
            return _at_the_panel(act)
        case acts.SetSupply() | acts.BlockMotor() | acts.SenseLeak():
            return _arranged(act)
        case acts.ThrowDisconnect():
            return say("hands.did.disconnect_closed" if act.closed else "hands.did.disconnect_opened")
        case acts.SetThermostat():
            return say("hands.did.calls" if act.calls else "hands.did.calls_no_more")
        case acts.Panel():
            return say("hands.did.panel_on" if act.on else "hands.did.panel_off")
        case acts.ResetCutOuts():
            return say("hands.did.cut_outs")
        case _:
            return _at_the_circuit(act)


def _at_the_circuit(act: acts.Act) -> str:
    match act:
        case acts.ScrewProbes() | acts.MoveProbes():
            return _probes(act)
        case acts.Hose():
            return _hose(act)
        case acts.OpenCylinder():
            return say("hands.did.cylinder", stands=valve(act.open_ratio), phase=act.phase)
        case acts.Recover():
            return _machine("recovery machine", runs=act.runs)
        case acts.Evacuate():
            return _machine("vacuum pump", runs=act.runs)
        case acts.Nitrogen():
            return say("hands.did.nitrogen_out" if act.pressure_pa is None else "hands.did.nitrogen_in")
        case acts.BlockCondenser():
            return say("hands.did.condenser", part=f"{100 * act.air_ratio:.0f}")
        case acts.ChangeFilter() if act.air_ratio > 1.0:
            return say("hands.did.filter_out")
        case acts.ChangeFilter():
            return say("hands.did.filter", part=f"{100 * act.air_ratio:.0f}")
        case _:
            raise ValueError(act)


def _probes(act: acts.ScrewProbes | acts.MoveProbes) -> str:
    if isinstance(act, acts.MoveProbes):
        return say("hands.did.probes", name=act.circuit)
    return say("hands.did.probes_on" if act.on else "hands.did.probes_off")


def _hose(act: acts.Hose) -> str:
    if not act.on:
        return say("hands.did.hose_off", port=act.port)
    return say("hands.did.hose_on" if act.purged else "hands.did.hose_on_with_air", port=act.port)


def _measuring(act: acts.PlaceLeads | acts.TurnDial | acts.PressHold | acts.CloseJaw) -> str:
    match act:
        case acts.PlaceLeads(red="", black=""):
            return say("hands.did.leads_off")
        case acts.PlaceLeads():
            one, other = (words.point_in_full(point) if point else "–" for point in (act.red, act.black))
            return say("hands.did.leads", one=one, other=other)
        case acts.TurnDial():
            return say("hands.did.dial", function=words.DIAL[act.function])
        case acts.PressHold():
            return say("hands.did.hold")
        case acts.CloseJaw():
            return say("hands.did.clamp", lead=words.point_in_full(act.lead or "compressor"), turns=act.turns)


def _at_the_panel(act: acts.SetLug | acts.FitCapacitor | acts.Discharge | acts.SwapLeads) -> str:
    match act:
        case acts.SetLug(off=True):
            return say("hands.did.lug_off", lug=words.point_in_full(act.lug))
        case acts.SetLug(resistance_ohm=None):
            return say("hands.did.lug_tight", lug=words.point_in_full(act.lug))
        case acts.SetLug():
            return say("hands.did.lug_loose", lug=words.point_in_full(act.lug))
        case acts.FitCapacitor():
            return say("hands.did.capacitor", can=act.can, sections=sections(act.sections_f))
        case acts.Discharge():
            return say("hands.did.discharge", section=act.section, seconds=f"{act.duration_s:g}")
        case acts.SwapLeads():
            return say("hands.did.swap", one=act.one.upper(), other=act.other.upper())


def _arranged(act: acts.SetSupply | acts.BlockMotor | acts.SenseLeak) -> str:
    match act:
        case acts.SetSupply():
            return say("hands.did.supply", stands=supply(act))
        case acts.BlockMotor():
            return say("hands.did.held" if act.blocked else "hands.did.let_go", motor=act.motor)
        case acts.SenseLeak():
            return say("hands.did.leak_sensed" if act.senses else "hands.did.leak_clear")


def _machine(machine: str, *, runs: bool) -> str:
    return say("hands.did.starts" if runs else "hands.did.stops", machine=machine)


def valve(open_ratio: float) -> str:
    """Say how far a valve is open.

    >>> valve(0.5), valve(0.0)
    ('open 50 %', 'shut')
    """
    return say("hands.open_part", part=f"{100 * open_ratio:.0f}") if open_ratio else "shut"


def microfarad(farads: float) -> str:
    """Write what a section's label says.

    >>> microfarad(7.5e-6)
    '7.5 µF'
    """
    return f"{farads * 1e6:g} µF"


def sections(labels_f: Mapping[str, float]) -> str:
    """Write the labels of a can's sections.

    >>> sections({"herm": 4e-5, "fan": 5e-6})
    'herm 40 µF, fan 5 µF'
    """
    return ", ".join(f"{name} {microfarad(label_f)}" for name, label_f in labels_f.items())


def supply(act: acts.SetSupply) -> str:
    """Say how the supply was left.

    >>> supply(acts.SetSupply(lost=("c",), sag_ratio=0.1)), supply(acts.SetSupply())
    ('L3 lost, 10 % missing', 'All legs, full voltage')
    """
    wrong = [say("hands.leg_lost", leg=words.LEGS[leg]) for leg in act.lost]
    wrong += [say("hands.sag", part=f"{100 * act.sag_ratio:.0f}")] if act.sag_ratio else []
    wrong += [say("hands.legs_swapped")] if act.swapped else []
    return ", ".join(wrong) or say("hands.all_legs")
