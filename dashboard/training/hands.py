"""The controls at a simulated unit: what anybody standing there could do, each key with the act that it stands for."""

from collections.abc import Iterator

import msgspec

from dashboard.display import Json
from dashboard.sentences import say
from ingest.wire.bench_acts import (
    Act,
    BenchState,
    BlockCondenser,
    ChangeFilter,
    Evacuate,
    Hose,
    Nitrogen,
    OpenCylinder,
    Panel,
    Recover,
    ResetCutOuts,
    SenseLeak,
    ServicePort,
    SetThermostat,
    ThrowDisconnect,
)

NITROGEN_PA = 1.136e6
"""150 psig at sea level, for the test of tightness; a real unit's nameplate says what it bears."""

Control = tuple[str, str, tuple[tuple[str, Act], ...]]
"""What it is, how it stands, and its keys."""


def controls(state: BenchState) -> Json:
    """Lay the controls out: groups of them, and why the last act was not done."""
    groups = {say("hands.power_and_call"): _power(state), "Service ports": _ports(state), "Air": _air()}
    return {
        "refused": state.refused,
        "groups": [[title, [_laid_out(control) for control in group]] for title, group in groups.items()],
    }


def _laid_out(control: Control) -> Json:
    name, stands, keys = control
    return {"name": name, "stands": stands, "keys": [[says, msgspec.to_builtins(act)] for says, act in keys]}


def _power(state: BenchState) -> Iterator[Control]:
    closed, calls, on = state.disconnect_closed, state.thermostat_calls, state.panel_on
    opens, stops, takes_off = ThrowDisconnect(closed=not closed), SetThermostat(calls=not calls), Panel(on=not on)
    yield ("Disconnect", "closed", (("Open", opens),)) if closed else ("Disconnect", "open", (("Close", opens),))
    yield ("Thermostat", "calls", (("Stop", stops),)) if calls else ("Thermostat", "no call", (("Call", stops),))
    yield ("Panel", "on", (("Take off", takes_off),)) if on else ("Panel", "off", (("Put on", takes_off),))
    yield "Pressure cut-outs", "", (("Reset", ResetCutOuts()),)
    yield "Leak detector", "", (("Senses", SenseLeak(senses=True)), ("Clear", SenseLeak(senses=False)))


def _ports(state: BenchState) -> Iterator[Control]:
    ports: tuple[ServicePort, ...] = ("suction", "liquid")
    for port in ports:
        off, on, unpurged = Hose(port=port, on=False), Hose(port=port, on=True), Hose(port=port, on=True, purged=False)
        if port in state.hoses:
            yield f"Hose, {port} port", "on", (("Take off", off),)
        else:
            yield (
                f"Hose, {port} port",
                "off",
                ((say("hands.put_on_purged"), on), (say("hands.put_on_unpurged"), unpurged)),
            )
    opened, valve = state.cylinder_open_ratio, {"Shut": 0.0, "Half": 0.5, "Open": 1.0}
    stands = f"open {100 * opened:.0f} %" if opened else "shut"
    yield "Cylinder, liquid", stands, tuple((says, OpenCylinder(open_ratio=ratio)) for says, ratio in valve.items())
    yield "Recovery machine", *_machine(Recover(runs=not state.recovery_runs), runs=state.recovery_runs)
    yield "Vacuum pump", *_machine(Evacuate(runs=not state.vacuum_pump_runs), runs=state.vacuum_pump_runs)
    yield "Nitrogen", "", (("To 150 psig", Nitrogen(pressure_pa=NITROGEN_PA)), ("Let out", Nitrogen(pressure_pa=None)))


def _machine(switched: Act, *, runs: bool) -> tuple[str, tuple[tuple[str, Act], ...]]:
    return ("runs", (("Stop", switched),)) if runs else ("off", (("Start", switched),))


def _air() -> Iterator[Control]:
    yield "Condenser", "", (("Block 40 %", BlockCondenser(air_ratio=0.6)), ("Clear", BlockCondenser(air_ratio=1.0)))
    yield "Filter", "", (("Dirty", ChangeFilter(air_ratio=0.6)), ("Clean", ChangeFilter(air_ratio=1.0)))
