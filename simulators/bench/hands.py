"""What hands do at the bench's unit: at disconnect, thermostat and panels, at its coils, and at its service ports."""

from collections import deque

import msgspec

from calc.refrigerants import get
from ingest.wire.bench_acts import (
    PLACES,
    Act,
    BenchState,
    BlockCondenser,
    ChangeFilter,
    Evacuate,
    Hose,
    MoveProbes,
    OpenCylinder,
    Recover,
    ResetCutOuts,
    ScrewProbes,
    SenseLeak,
    SetSupply,
    SetThermostat,
    ThrowDisconnect,
    is_arranged,
)
from simulators.bench.correlated import AnyUnit
from simulators.bench.panel_hands import MOTORS, PanelHands
from simulators.bench.port_tools import PORT_ACTS, PortTools
from simulators.errors import SimulatorError

STATIC_PA, SHUT_OFF_PA = 125.0, 300.0
"""The blower's external static at its usual air flow, 0.5 in of water, and with no air (common practice, no source)."""

LEAKING = 2e-3
"""What a detector finds in the air beside a leak, 2000 ppm (common practice, no source)."""


ARRANGED = tuple(str(act.__struct_config__.tag) for act in PLACES["arranged"].acts)
"""The names of the acts that put something wrong."""

LAST_ACTS = 8
"""How many are told."""


class Hands:
    """All that a technician has set and connected at one unit.

    heats: the thermostat calls for heating. tools: what hangs on its ports. panel: what is held at its panel, which is
    that of the first circuit. beside: the second circuit, where there is one; disconnect, thermostat and air are of
    both.
    """

    def __init__(
        self,
        unit: AnyUnit,
        *,
        refrigerant: str,
        outdoor_air_k: float,
        thermostat_calls: bool = True,
        heats: bool = False,
        beside: AnyUnit | None = None,
    ) -> None:
        self._unit, self._heats = unit, heats
        self._circuits: dict[str, AnyUnit] = {"1": unit} if beside is None else {"1": unit, "2": beside}
        self.probes_at = "1"
        self.probes_on = True
        self._burns = get(refrigerant).is_flammable
        self.tools = PortTools(unit, refrigerant=refrigerant, outdoor_air_k=outdoor_air_k)
        self.panel = PanelHands(unit.electric)
        self._disconnect_closed = True
        self._thermostat_calls = thermostat_calls
        self._senses_leak = False
        self._condenser_air_ratio = self._evaporator_air_ratio = 1.0
        self._refused, self._refused_act, self._done = "", "", 0
        self._last: deque[Act] = deque(maxlen=LAST_ACTS)

    @property
    def state(self) -> BenchState:
        """What anybody standing there sees."""
        tools = self.tools
        return BenchState(
            disconnect_closed=self._disconnect_closed,
            thermostat_calls=self._thermostat_calls,
            panel_on=self.panel.is_on,
            hoses=tools.hoses,
            cylinder_open_ratio=tools.opened.open_ratio,
            cylinder_phase=tools.opened.phase,
            recovery_runs=tools.recovers,
            vacuum_pump_runs=tools.evacuates,
            points=self._unit.electric.points(),
            leads=self.panel.leads,
            dial=self.panel.dial,
            held=self.panel.is_held,
            jaw=self.panel.jaw,
            turns=self.panel.turns,
            legs=self.panel.legs,
            lugs=self.panel.lugs,
            lugs_off=self.panel.lugs_off,
            sections=self.panel.sections,
            motors=MOTORS,
            supply=self.panel.supply,
            blocked=self.panel.blocked,
            condenser_air_ratio=self._condenser_air_ratio,
            evaporator_air_ratio=self._evaporator_air_ratio,
            sound=self.sound,
            refused=self._refused or self.panel.warning,
            refused_act=self._refused_act or ("dial" if self.panel.warning else ""),
            done=self._done,
            circuits=tuple(self._circuits),
            probes_at=self.probes_at,
            probes_on=self.probes_on,
            last=tuple(self._last),
        )

    @property
    def sound(self) -> str:
        """What is heard of the compressor now."""
        return self._unit.electric.sound

    @property
    def probed(self) -> AnyUnit:
        """The circuit that probes, clamps and hoses are at."""
        return self._circuits[self.probes_at]

    @property
    def pour(self) -> bool:
        """Whether a cylinder has been opened: then what goes in is what its valve lets, not what is written down."""
        return self.tools.poured_kg > 0.0 or self.tools.opened.open_ratio > 0.0

    def readings(self) -> dict[str, float]:
        """Tell what instruments would read that are held somewhere or stand beside the unit."""
        flow, usual = self._unit.supply_air_flow_m3_s, self._unit.usual_air_flow_m3_s
        static_pa = SHUT_OFF_PA - (SHUT_OFF_PA - STATIC_PA) * (flow / usual) ** 2  # as a blower's curve falls
        return {
            "cylinder_mass": self.tools.cylinder_mass_kg,
            "vacuum_pressure": self.probed.ports.pressure_pa("suction"),
            "supply_air_flow": flow,
            "external_static_pressure": static_pa if flow else 0.0,
            "refrigerant_in_air": LEAKING if self._senses_leak else 0.0,
            **self.panel.readings(),
        }

    def do(self, act: Act) -> None:
        """Do one act.

        Raises:
            SimulatorError: it cannot be done, or must not; why is in the state too.

        """
        try:
            self._do(act)
        except SimulatorError as error:
            self.refuse(str(error), name_of(act))
            raise
        self._refused = self._refused_act = ""
        self._done += 1
        self._last.appendleft(act)

    def refuse(self, why: str, act: str = "") -> None:
        """Say in the state why something was not done, or does not go on. act: its name on the wire."""
        self._refused, self._refused_act = why, act

    def work(self, duration_s: float) -> bool:
        """Let what was begun at the ports go on for this long; whether something stopped by itself.

        A unit that can take no more is as good as a shut valve.
        """
        before = self.tools.at_work
        try:
            self.tools.work(duration_s)
        except SimulatorError as error:
            self.tools.opened = OpenCylinder(open_ratio=0.0)
            self.refuse(f"the cylinder was shut: {error}", "cylinder")
        if (machines := before[1:]) != self.tools.at_work[1:]:
            what, act = ("recovery machine", "recovery") if machines[0] else ("vacuum pump", "vacuum_pump")
            self.refuse(f"the {what} was stopped: the unit has started", act)
        return self.tools.at_work != before

    def _do(self, act: Act) -> None:
        match act:
            case ThrowDisconnect() | SetThermostat() | ResetCutOuts() | SenseLeak() | BlockCondenser() | ChangeFilter():
                for circuit in self._circuits.values():
                    self._do_to(circuit, act)
                self._remember(act)
            case MoveProbes():
                if act.circuit not in self._circuits:
                    raise SimulatorError(f"no circuit {act.circuit!r}; the unit has {', '.join(self._circuits)}")
                self.tools.move_to(self._circuits[act.circuit])
                self.probes_at = act.circuit
            case ScrewProbes():
                self.probes_on = act.on
            case Hose() | OpenCylinder() | Recover() | Evacuate() if (
                self._burns and self.panel.lies_open and _flows(act)
            ):
                raise SimulatorError("its refrigerant burns, and live parts lie open: put the panel on first")
            case _:
                (self.tools if isinstance(act, PORT_ACTS) else self.panel).do(act)

    def _do_to(self, circuit: AnyUnit, act: Act) -> None:
        """Do to a circuit what is done to the whole unit."""
        match act:
            case ThrowDisconnect():
                circuit.disconnect(closed=act.closed)
            case SetThermostat():
                circuit.call(cooling=act.calls and not self._heats, heating=act.calls and self._heats)
            case ResetCutOuts():
                circuit.reset_cut_outs()
            case SenseLeak():
                circuit.sense_leak(refrigerant=act.senses)
            case BlockCondenser():
                circuit.let_air_pass(condenser=act.air_ratio)
            case ChangeFilter():
                circuit.let_air_pass(evaporator=act.air_ratio)

    def _remember(self, act: Act) -> None:
        """Keep how the whole unit was left."""
        match act:
            case ThrowDisconnect():
                self._disconnect_closed = act.closed
            case SetThermostat():
                self._thermostat_calls = act.calls
            case SenseLeak():
                self._senses_leak = act.senses
            case BlockCondenser():
                self._condenser_air_ratio = act.air_ratio
            case ChangeFilter():
                self._evaporator_air_ratio = act.air_ratio


def _flows(act: Act) -> bool:
    """Tell whether refrigerant goes somewhere by it; what shuts or stops it is always done."""
    match act:
        case OpenCylinder():
            return act.open_ratio > 0.0
        case Recover() | Evacuate():
            return act.runs
    return True


def name_of(act: Act) -> str:
    """Give an act's name on the wire."""
    return str(type(act).__struct_config__.tag)


def without_arranged(state: BenchState) -> BenchState:
    """Leave out of the state what an instructor arranged: a trainee is to find it."""
    told = {"supply": SetSupply(), "blocked": (), "last": tuple(act for act in state.last if not is_arranged(act))}
    if state.refused_act in ARRANGED:
        told |= {"refused": "", "refused_act": ""}
    return msgspec.structs.replace(state, **told)
