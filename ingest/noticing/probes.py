"""Probes put on, from open air to pressure, and taken off, at once: what is let in or recovered takes its time."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from calc.estimate import Estimate
from calc.quantities import Quantity
from calc.sentences import Sentence, figure, term
from ingest.noticing.motors import runs
from ingest.noticing.plateau import Band, Plateau
from ingest.noticing.sight import Seen, Sight
from ingest.wire.messages import ProposedFinding

PROBES: Mapping[str, str] = {"suction_pressure": "suction", "liquid_pressure": "liquid"}
OPEN_PA = 15e3
"""So near the air an open probe reads: common practice, no source."""
UNDER_PRESSURE_PA = 150e3
"""Against the air, so much a circuit with refrigerant in it has: common practice, no source."""
WITHIN_S = 5.0
"""From open air to pressure, or back, as a hand screws."""
TOGETHER_S = 45.0
"""After the first, for the second probe to come."""
OPEN = Band(share=0.0, least=OPEN_PA, hold_s=3.0)
ON = Band(share=0.1, least=20e3, hold_s=3.0)


class _Probe:
    """One probe: whether it is open, on, or on its way."""

    def __init__(self) -> None:
        self.open, self.on = Plateau(OPEN), Plateau(ON)
        self.is_on: bool | None = None
        self.left_s = 0.0
        self.from_s = 0.0

    def take(self, gauge_pa: float, unit_s: float, time_s: float) -> bool | None:
        """Take the next pressure; tell where it has come to, if it came quickly: True on, False in open air."""
        at_open, at_on = abs(gauge_pa) < OPEN_PA, gauge_pa > UNDER_PRESSURE_PA
        if (at_open and self.is_on is False) or (at_on and self.is_on is True):
            self.left_s, self.from_s = unit_s, time_s
        is_open = self.open.take(gauge_pa if at_open else None, unit_s, time_s)
        is_on = self.on.take(gauge_pa if at_on else None, unit_s, time_s)
        if not (is_open or is_on):
            return None
        came = is_on
        if self.is_on is came:
            return None
        arrived_s = unit_s - (self.on if came else self.open).held_s
        was, self.is_on = self.is_on, came
        was_quick = arrived_s - self.left_s <= WITHIN_S
        from_s = self.from_s
        self.left_s, self.from_s = unit_s, time_s
        if was is None or not was_quick:
            return None
        self.from_s = from_s
        return came


@dataclass(frozen=True, slots=True)
class _Came:
    """A probe that came to where it is. pressure: what it read then; it may be silent or elsewhere when told."""

    from_s: float
    pressure: Estimate


class ProbesSeen:
    """Both probes, told together where they come together."""

    latency_s: ClassVar[float] = TOGETHER_S + 4.0

    def __init__(self) -> None:
        self._probes = {name: _Probe() for name in PROBES}
        self._came: dict[bool, dict[str, _Came]] = {True: {}, False: {}}
        self._first_s: dict[bool, float] = {}

    def take(self, sight: Sight) -> Sequence[Seen]:
        """Take the next sight. That a probe comes to a port tells where it is, whatever unit it was on before."""
        sight = sight.wherever(PROBES)
        for name, probe in self._probes.items():
            gauge_pa, pressure = sight.gauge_pa(name), sight.estimate(name)
            if gauge_pa is None or pressure is None:
                continue
            came = probe.take(gauge_pa, sight.unit_s, sight.time_s)
            if came is not None:
                self._came[not came].pop(name, None)
                self._came[came][name] = _Came(probe.from_s, pressure)
                self._first_s.setdefault(came, sight.unit_s)
        return [seen for came in (True, False) if (seen := self._told(sight, came=came))]

    def _told(self, sight: Sight, *, came: bool) -> Seen | None:
        probes = self._came[came]
        if not probes:
            self._first_s.pop(came, None)
            return None
        known = [name for name in PROBES if name in probes or sight.reading(name) is not None]
        if len(probes) < len(known) and sight.unit_s - self._first_s[came] < TOGETHER_S:
            return None
        self._came[came], _ = {}, self._first_s.pop(came, None)
        return _on(probes, sight) if came else _off(probes, sight)


def _on(probes: Mapping[str, _Came], sight: Sight) -> Seen:
    """Tell with what each probe read as it came: since then its channel may have gone, or what it is on may run."""
    pressures = {PROBES[name]: probes[name].pressure for name in PROBES if name in probes}
    values = {f"pressure.{place}": round(it.value, 1) for place, it in pressures.items()}
    spreads = {f"pressure.{place}": it.standard_uncertainty for place, it in pressures.items()}
    running = runs(sight)
    choices = {} if running is None else {"unit_is": "runs" if running else "at_rest"}
    what = ProposedFinding(
        "probes_on",
        values=values,
        standard_uncertainties={name: spread for name, spread in spreads.items() if spread},
        choices=choices,
        circuit=sight.known.circuit,
    )
    parts = [figure(place, it, Quantity.PRESSURE) for place, it in pressures.items()]
    kind = "noticed.probes_on" if len(parts) > 1 else f"noticed.{next(iter(pressures))}_probe_on"
    return Seen(what, _from_s(probes), sight.time_s, Sentence(kind, tuple(parts)))


def _off(probes: Mapping[str, _Came], sight: Sight) -> Seen:
    what = ProposedFinding("probes_off", circuit=sight.known.circuit)
    says = Sentence("noticed.probes_off", (term("which", *probes),))
    return Seen(what, _from_s(probes), sight.time_s, says)


def _from_s(probes: Mapping[str, _Came]) -> float:
    return min(it.from_s for it in probes.values())
