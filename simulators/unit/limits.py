"""Refusing what cannot be simulated, by name, value and limits."""

from collections.abc import Mapping

from simulators.errors import SimulatorError


def check_limits(item: object, limits: Mapping[str, tuple[float, float]]) -> None:
    """Compare the named attributes with their limits; not-a-number is outside them.

    Raises:
        SimulatorError: one is outside.

    """
    for name, (low, high) in limits.items():
        size = getattr(item, name)
        if not low <= size <= high:
            raise SimulatorError(f"{name} is {size:g}; the unit is simulated with {low:g} to {high:g}")
