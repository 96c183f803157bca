"""Units that have settled, or rested. Each is settled once in a run; every test gets a copy of its own."""

from copy import deepcopy
from functools import cache

from simulators.unit.model import Unit
from simulators.unit.parameters import UnitParameters

USUAL = UnitParameters()


def settled(parameters: UnitParameters = USUAL) -> Unit:
    """A unit that has run for long."""
    return deepcopy(_unit(parameters, at_rest=False))


def rested(parameters: UnitParameters = USUAL) -> Unit:
    """A unit that has been off for a while."""
    return deepcopy(_unit(parameters, at_rest=True))


@cache
def _unit(parameters: UnitParameters, *, at_rest: bool) -> Unit:
    return Unit(parameters, at_rest=at_rest)
