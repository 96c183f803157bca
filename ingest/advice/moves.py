"""What moving refrigerant did to the figure that shows the charge, at this visit."""

from collections.abc import Sequence

from calc.estimate import Estimate
from calc.judge.guidance import Move


class Moves:
    """Follows the visit: what the figure was when it had settled, what was moved then, and where it settled again."""

    def __init__(self, made: Sequence[Move] = ()) -> None:
        self.made = list(made)
        self._moved_kg = 0.0
        self._before_dk: Estimate | None = None

    def moved(self, mass_kg: float) -> None:
        """Note that refrigerant was added (above 0) or recovered (below 0) [kg]."""
        self._moved_kg += mass_kg

    def settled(self, figure_dk: Estimate) -> None:
        """Note where the figure that shows the charge has settled [K]."""
        if self._moved_kg and self._before_dk is not None:
            self.made.append(Move(self._moved_kg, self._before_dk, figure_dk))
        self._moved_kg = 0.0
        self._before_dk = figure_dk

    def forget(self) -> None:
        """Forget where the figure stood: something else measures it now, and the two would not compare."""
        self._moved_kg = 0.0
        self._before_dk = None
