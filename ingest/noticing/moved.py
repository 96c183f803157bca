"""A probe that reads another circuit all at once: it was open to the air in between, or its pressure jumped alone.

What reverses moves both pressures; a fan that cycles or refrigerant that is let in takes its time. A start or a stop
moves one before the other, so that nothing is asked until it is over.
"""

from collections.abc import Sequence
from typing import ClassVar

from calc.estimate import Estimate
from calc.quantities import Quantity
from calc.sentences import Sentence, figure, term
from ingest.noticing.motors import runs
from ingest.noticing.plateau import Band, Plateau
from ingest.noticing.probes import OPEN_PA, PROBES, UNDER_PRESSURE_PA
from ingest.noticing.sight import Known, Seen, Sight
from ingest.wire.messages import ProposedPlace

STEADY = Band(share=0.04, least=15e3, hold_s=15.0)
JUMP_S = 1.5
"""As quickly as a pressure jumps where it is another one's."""
LONGEST_AWAY_S = 300.0
TURN_S = 30.0
"""So long after a start or a stop a pressure moves by itself: common practice, no source."""
LEAST_SHARE = 0.2
LEAST_PA = 100e3
STAYS_SHARE = 0.05


class _Probe:
    """One probe. stood_pa: where it last stood steady, the compressor being as it is now."""

    def __init__(self) -> None:
        self.plateau = Plateau(STEADY)
        self.stood_pa: float | None = None
        self.left_s = 0.0
        self.from_s = 0.0
        self.was_open = False
        self.last_pa: float | None = None
        self.jumped = False
        self.others_pa: dict[str, float] = {}


class ProbeMoved:
    """Watches both probes for a jump that the compressor does not explain."""

    latency_s: ClassVar[float] = STEADY.hold_s + 1.0

    def __init__(self) -> None:
        self._probes = {name: _Probe() for name in PROBES}
        self._running: bool | None = None
        self._turned_s = 0.0

    def take(self, sight: Sight) -> Sequence[Seen]:
        """Take the next sight."""
        running = runs(sight)
        if running is None or running is not self._running:  # its amps are read later than what they do
            self._probes = {name: _Probe() for name in PROBES}
            self._running, self._turned_s = running, sight.unit_s
        if running is None or sight.unit_s - self._turned_s < TURN_S:
            return ()
        return [seen for name, probe in self._probes.items() if (seen := self._follow(name, probe, sight))]

    def _follow(self, name: str, probe: _Probe, sight: Sight) -> Seen | None:
        pressure_pa, gauge_pa = sight.value(name), sight.gauge_pa(name)
        if pressure_pa is None or gauge_pa is None:
            probe.last_pa = None
            probe.plateau.clear()
            return None
        if abs(gauge_pa) < OPEN_PA:
            probe.was_open = True
        self._watch_for_jump(probe, pressure_pa, sight)
        probe.last_pa = pressure_pa
        steady = probe.plateau.take(pressure_pa if gauge_pa > UNDER_PRESSURE_PA else None, sight.unit_s, sight.time_s)
        if not steady:
            return None
        moved = self._is_moved(probe, sight)
        was_pa, from_s = probe.stood_pa, probe.from_s
        probe.stood_pa = probe.plateau.mean
        probe.left_s, probe.from_s = sight.unit_s, sight.time_s
        probe.was_open = probe.jumped = False
        probe.others_pa = {
            other: it.plateau.mean
            for other, it in self._probes.items()
            if other != name and it.plateau.is_steady and it.stood_pa is not None
        }
        return _told(name, was_pa, from_s, sight) if moved and was_pa is not None else None

    def _watch_for_jump(self, probe: _Probe, pressure_pa: float, sight: Sight) -> None:
        """Note a jump between two sights while no other pressure moves."""
        if probe.last_pa is None or probe.stood_pa is None:
            return
        if sight.unit_s - probe.left_s > JUMP_S and not probe.jumped:
            return
        far = abs(pressure_pa - probe.stood_pa) > max(LEAST_PA, LEAST_SHARE * probe.stood_pa)
        if far and probe.others_pa and all(_stays(sight.value(other), pa) for other, pa in probe.others_pa.items()):
            probe.jumped = True

    def _is_moved(self, probe: _Probe, sight: Sight) -> bool:
        if probe.stood_pa is None or sight.unit_s - probe.left_s - STEADY.hold_s > LONGEST_AWAY_S:
            return False
        far = abs(probe.plateau.mean - probe.stood_pa) > max(LEAST_PA, LEAST_SHARE * probe.stood_pa)
        return far and (probe.was_open or probe.jumped)


def _stays(pressure_pa: float | None, stood_pa: float) -> bool:
    return pressure_pa is not None and abs(pressure_pa - stood_pa) <= STAYS_SHARE * stood_pa


def _told(name: str, was_pa: float, from_s: float, sight: Sight) -> Seen:
    spread = sight.spread(name)
    parts = (
        term("channel", name),
        figure("was", Estimate(was_pa, spread), Quantity.PRESSURE),
        figure("now", Estimate(sight.value(name) or 0.0, spread), Quantity.PRESSURE),
    )
    what = ProposedPlace([name], on=_other(sight.known))
    return Seen(what, from_s, sight.time_s, Sentence("noticed.probe_moved", parts))


def _other(known: Known) -> str:
    """Name the other circuit of a unit that has two, of which one is in view; else none."""
    circuits = [circuit.name for circuit in known.sheet.circuits] if known.sheet else []
    others = [name for name in circuits if name != known.circuit]
    return others[0] if len(circuits) == 2 and len(others) == 1 else ""
