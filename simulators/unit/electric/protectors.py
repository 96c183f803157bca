"""The overload in a motor's winding: it opens on heat, and closes again when the winding has cooled."""

from dataclasses import dataclass

from simulators.unit.lag import lagged


@dataclass(frozen=True, slots=True)
class Protector:
    """What it bears. Figures are common practice, no source.

    carries: the current that it bears for ever, over the rated one. warming, cooling: time constants [s].
    """

    carries: float = 1.4
    warming_s: float = 100.0
    cooling_s: float = 400.0
    closes_at: float = 0.5

    def heat_after(self, heat: float, load_ratio: float, duration_s: float) -> float:
        """Find the heat, 1 where it opens, after this long with this current over the rated one."""
        towards = (load_ratio / self.carries) ** 2
        constant_s = self.warming_s if load_ratio > 0.0 else self.cooling_s
        return lagged(heat, towards, duration_s / constant_s)

    def is_open_after(self, heat: float, *, was_open: bool) -> bool:
        """Tell whether it is open at this heat."""
        return heat > (self.closes_at if was_open else 1.0)


COMPRESSOR_PROTECTOR = Protector()
FAN_PROTECTOR = Protector(carries=1.3, warming_s=60.0)
