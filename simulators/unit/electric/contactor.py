"""The contactor, and the control transformer that feeds its coil.

Figures from memory: a 24 V coil pulls in near 18 V and lets go near 12; it draws 1.2 A before it has pulled in and
0.35 A after; a transformer of 40 VA gives some 27 V with nothing on it. Each takes a few hundredths of a second.
"""

from dataclasses import dataclass, field

from simulators.unit.electric.supply import Leg

TRAVEL_S = 0.02
SOUND_POLE_OHM = 1e-3
NO_LOAD_OHM = complex(1e9)


@dataclass(frozen=True, slots=True)
class ControlTransformer:
    """nominal: of its primary [V]. impedance: of both windings, seen from the secondary [ohm]."""

    nominal_v: float = 230.0
    secondary_v: float = 27.0
    impedance_ohm: complex = complex(1.2, 0.4)

    def secondary(self, primary_v: complex, coil_ohm: complex) -> complex:
        """Find the secondary voltage with this coil on it [V]."""
        open_v = primary_v * self.secondary_v / self.nominal_v
        return open_v * coil_ohm / (coil_ohm + self.impedance_ohm)


@dataclass(frozen=True, slots=True)
class Coil:
    """A coil of 24 V, in ohms before and after its armature has come in."""

    pulls_in_v: float = 18.0
    lets_go_v: float = 12.0
    open_ohm: complex = complex(12.0, 16.0)
    closed_ohm: complex = complex(20.0, 65.0)
    winding_ohm: float = 11.0


@dataclass(slots=True)
class Contactor:
    """Its state. travel: of the armature, 0 out and 1 in. pole: resistance of each when closed [ohm].

    welded: poles that stay closed. straps: legs that it does not open at all, as the one of a single-pole contactor.
    """

    coil: Coil = field(default_factory=Coil)
    is_in: bool = False
    travel: float = 0.0
    operations: int = 0
    pole_ohm: dict[Leg, float] = field(default_factory=lambda: dict.fromkeys(("a", "b", "c"), SOUND_POLE_OHM))
    welded: set[Leg] = field(default_factory=set)
    straps: frozenset[Leg] = frozenset()

    @property
    def coil_ohm(self) -> complex:
        """What its coil is to the transformer now."""
        return self.coil.closed_ohm if self.is_in else self.coil.open_ohm

    def is_closed(self, leg: Leg) -> bool:
        """Tell whether current can pass in a leg."""
        return self.is_in or leg in self.welded or leg in self.straps

    def is_quiet(self, coil_v: float) -> bool:
        """Tell whether its armature stays where it is at this voltage."""
        return self.travel == self._towards(coil_v) and self.is_in == (self.travel == 1.0)

    def feel(self, coil_v: float, step_s: float) -> bool:
        """Let the armature follow its coil for this long, and tell whether the contacts changed."""
        towards, part = self._towards(coil_v), step_s / TRAVEL_S
        self.travel = min(self.travel + part, towards) if towards > self.travel else max(self.travel - part, towards)
        was_in = self.is_in
        self.is_in = self.travel > 0.0 if was_in else self.travel == 1.0
        self.operations += self.is_in != was_in
        return self.is_in != was_in

    def _towards(self, coil_v: float) -> float:
        return float(coil_v > self.coil.lets_go_v if self.is_in else coil_v >= self.coil.pulls_in_v)
