"""Reading the values of a scenario: each with its unit, and an error that names file, key and value."""

from collections.abc import Callable, Collection, Sequence

from calc import units
from calc.errors import CalcError
from calc.quantities import Quantity
from simulators.errors import SimulatorError


class ScenarioError(SimulatorError):
    """A scenario that cannot be used: which file, which key, what was there and what would do."""


class Reader:
    """Reads values with units, and names file and key when one cannot be read."""

    def __init__(self, source: str) -> None:
        self._source = source

    def __call__(self, key: str, text: str, kind: units.Kind) -> float:
        """Read a value with its unit [SI]."""
        return self._try(key, text, lambda: units.parse(text, kind))

    def difference(self, key: str, text: str, quantity: Quantity) -> float:
        """Read a difference [SI]."""
        return self._try(key, text, lambda: units.parse_difference(text, quantity))

    def error(self, key: str, text: str, expected: str) -> ScenarioError:
        """Say which value cannot be used, and what would do."""
        return ScenarioError(f"{self._source}: {key} = {text!r}: {expected}")

    def within(self, key: str, text: str, kind: units.Kind, low: str, high: str) -> float:
        """Read a value that lies between two others, which are written as it is."""
        value = self(key, text, kind)
        if not units.parse(low, kind) <= value <= units.parse(high, kind):
            raise self.error(key, text, f"it is simulated with {low} to {high}")
        return value

    def known(self, key: str, names: Sequence[str], there: Collection[str], what: str) -> None:
        """Refuse names of what is not there."""
        for name in names:
            if name not in there:
                raise self.error(key, name, f"there is no such {what}; there are {', '.join(sorted(there))}")

    def _try(self, key: str, text: str, parse: Callable[[], float]) -> float:
        try:
            return parse()
        except CalcError as error:
            raise self.error(key, text, str(error)) from error
