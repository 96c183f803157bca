"""Courses of packs for recognisers: of the bench's simulated unit with its instruments' noise, or written by hand."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from calc.quantities import CHANNELS
from calc.units import parse_accuracy
from ingest.derive import derive
from ingest.noticing.noticer import Noticer
from ingest.noticing.sight import Known
from ingest.wire.messages import Pack, Proposed, Reading, UnitAbout
from ingest.wire.sheet import Capacitor, Circuit, Motor, Sheet
from simulators.bench.bench import SimulatedRig
from simulators.bench.scenario import load_scenario
from simulators.bench.script import Script
from tests import wire_rig

T0_S = 1_700_000_000.0
TICK_S = 0.25
AIR_PA = 101_325.0
PSI_PA = 6894.757293168  # NIST SP 811, B.8
UNIT = replace(wire_rig.about(started_s=T0_S).unit, compressor_rla_a=12.0, condenser_fan_fla_a=2.0, blower_fla_a=5.0)
SHEET = Sheet(
    tag="RTU-K7Q-4",
    circuits=[Circuit("1", "R-410A", "txv"), Circuit("2", "R-410A", "txv")],
    volts=240.0,
    phases=1,
    hertz=60.0,
    parts=[
        Motor("compressor", drives="compressor", rated_current_a=12.0, locked_rotor_a=70.0),
        Motor("fan", drives="condenser_fan", rated_current_a=2.0),
        Capacitor("run capacitor", herm_f=45e-6, fan_f=5e-6, tolerance_share=0.06),
    ],
)
KNOWN = Known(UNIT, AIR_PA, SHEET, circuit="1")


def known(**changes: Any) -> Known:
    fields = {name: getattr(KNOWN, name) for name in KNOWN.__dataclass_fields__} | changes
    return Known(**fields)


class Course:
    """Packs by hand: what stands is told at every tick, until it is told otherwise."""

    def __init__(
        self,
        noticer: Noticer | None = None,
        *,
        of: Known = KNOWN,
        spreads: Mapping[str, float] = {},
        tick_s: float = TICK_S,
        quality: str = "ok",
    ) -> None:
        self.tick_s = tick_s
        self._quality = quality
        self.noticer = noticer or Noticer("v1")
        self.of = of
        self.ticks = 0
        self.packs: list[Pack] = []
        self.proposed: list[Proposed] = []
        self._stands: dict[str, float | None] = {}
        self.held: set[str] = set()
        self._spreads = spreads

    @property
    def time_s(self) -> float:
        return T0_S + self.ticks * self.tick_s

    def go(self, seconds: float, **channels: float | Callable[[float], float] | None) -> list[Proposed]:
        """Go on for so long, with these channels; None: it is stale. A function is asked at each time of this part."""
        came = []
        for number in range(round(seconds / self.tick_s)):
            for name, value in channels.items():
                self._stands[name] = value(number * self.tick_s) if callable(value) else value
            came += self.follow(self._pack())
        return came

    def hold(self, seconds: float, channel: str) -> list[Proposed]:
        """Press HOLD on what stands, go on so for a while, and let it go."""
        self.held.add(channel)
        came = self.go(seconds)
        self.held.discard(channel)
        return came

    def follow(self, pack: Pack) -> list[Proposed]:
        self.packs.append(pack)
        came = list(self.noticer.follow(pack, self.of))
        self.proposed += came
        return came

    def _pack(self) -> Pack:
        self.ticks += 1
        readings = {
            name: Reading(value, self.time_s, "stale" if value is None else self._quality, "", self._spreads.get(name))
            for name, value in self._stands.items()
        } | {name: Reading(None, self.time_s, "held") for name in self.held}
        return pack(self.ticks, readings, self.tick_s)


def pack(ticks: int, readings: Mapping[str, Reading], tick_s: float = TICK_S) -> Pack:
    return Pack("bench", ticks, 1, 0, ticks * tick_s, T0_S + ticks * tick_s, readings)


class Bench:
    """The bench's unit and instruments, without their wires: what each sends at its pace becomes packs."""

    def __init__(self, scenario: str, directory: Path, script: Script | None = None, tick_s: float = TICK_S) -> None:
        self._scenario = load_scenario(scenario)
        self.rig = SimulatedRig(self._scenario, directory=directory, script=script)
        self.tick_s = tick_s
        self.ticks = 0
        self.of_instruments_alone = False
        self._readings: dict[str, Reading] = {}
        file = self._scenario.file
        self.unit: UnitAbout = replace(
            UNIT,
            refrigerant=file.unit.refrigerant,
            compressor_rla_a=_amps(file.nameplate.compressor_rla),
            condenser_fan_fla_a=_amps(file.nameplate.condenser_fan_fla),
            blower_fla_a=_amps(file.nameplate.blower_fla),
        )

    @property
    def air_pa(self) -> float:
        return self._scenario.parameters.conditions.barometric_pressure_pa

    def packs(self, seconds: float, *, figures: bool = False) -> Iterator[Pack]:
        """Run on for so long."""
        for _ in range(round(seconds / self.tick_s)):
            if self.of_instruments_alone:
                self.rig._feel(self.tick_s)
            else:
                self.rig.advance(self.tick_s)
            self.ticks += 1
            time_s = T0_S + self.ticks * self.tick_s
            for instrument in self._scenario.instruments:
                if self.ticks % max(round(instrument.interval_s / self.tick_s), 1) == 0:
                    for output in instrument.outputs:
                        self._sample(output.channel, self.rig._readings[output], output.accuracy_text, time_s)
            more = derive(self._readings, self.unit) if figures else {}
            yield pack(self.ticks, {**self._readings, **more}, self.tick_s)

    def _sample(self, channel: str, value: float, accuracy: str, time_s: float) -> None:
        spread = parse_accuracy(accuracy, CHANNELS[channel]) / 2
        if math.isnan(value):
            self._readings[channel] = Reading(None, time_s, "stale", "its dial stands elsewhere")
        elif math.isinf(value):
            self._readings[channel] = Reading(None, time_s, "overload", "the instrument shows overload")
        else:
            self._readings[channel] = Reading(value, time_s, "ok", "", spread)

    def follow(self, seconds: float, noticer: Noticer, of: Known | None = None) -> list[Proposed]:
        """Let a noticer follow for so long."""
        told = of or Known(self.unit, self.air_pa)
        return [it for each in self.packs(seconds) for it in noticer.follow(each, told)]


def _amps(text: str | None) -> float | None:
    return None if text is None else float(text.removesuffix(" A"))


def kinds(proposed: Sequence[Proposed]) -> list[str]:
    return [it.says.kind for it in proposed]
