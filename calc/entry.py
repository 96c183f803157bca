"""An entry of the catalogue, made from the signature of the function that works it out.

The signature tells an argument's name, its unit and so its kind, whether several are taken, and what stands in for one
that is left out. Only what it cannot tell is said beside it, as `Given`.
"""

import inspect
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, get_origin

from calc.arguments import YES_NO, Accuracy, Argument, Difference, ListOf, Measure
from calc.calculation import Assumption, Calculation, Parameter, Values, has_unit, kind_of, unit_of
from calc.quantities import Quantity
from calc.units import Kind

_SITE = "barometric_pressure_pa"


@dataclass(frozen=True, slots=True)
class Given:
    """What a signature does not tell of an argument.

    Attributes:
        example: a value, as people write it.
        kind: what it is, if the unit in its name does not tell.
        low: the least that will do; None for that of its kind [SI].
        high: the greatest, likewise [SI].
        otherwise: the sentence that says what its default stands for; None if people must give it all the same.
        says: what it is, where its name leaves that open.
        name: as people write it, if that is not the function's without the unit.
        also: other names by which it may be given.
        called: what deeper functions call it in an error.

    """

    example: str
    kind: Argument | Kind | None = None
    low: float | None = None
    high: float | None = None
    otherwise: str | None = None
    says: str = ""
    name: str = ""
    also: tuple[str, ...] = ()
    called: tuple[str, ...] = ()


def entry(
    function: Callable[..., Any],
    answers: str,
    *,
    given: Mapping[str, Given],
    source: str,
    test: str,
    tolerance: str = "exact",
    result: str | Callable[[Any], Values] | None = None,
    example: tuple[tuple[str, str], ...] = (),
) -> Calculation:
    """Make an entry; what is not named here, `Calculation` tells.

    Args:
        function: works it out from SI values. If it takes barometric_pressure_pa, the site is asked for.
        answers: the question.
        given: its arguments by keyword, and perhaps those of other entries; one with a default may be kept from people.
        source: in print.
        tolerance: how far from its source.
        test: that holds it.
        result: the name of the one value that the function gives, or what lays out what it gives; None if it gives
            values by name itself.
        example: further arguments to show it with.

    Raises:
        TypeError: nothing is said of an argument that must be given, or a default is missing.

    """
    taken = inspect.signature(function).parameters
    for name, it in taken.items():
        if name not in given and name != _SITE and it.default is it.empty:
            raise TypeError(f"{answers}: nothing is said of the argument {name}")

    def compute(**values: Any) -> Values:
        found = function(**values)
        if isinstance(result, str):
            return {result: found}
        laid_out: Values = result(found) if result else found
        return laid_out

    parameters = tuple(_parameter(it, given[name]) for name, it in taken.items() if name in given)
    return Calculation(answers, parameters, compute, source, tolerance, test, _SITE in taken, example)


def _parameter(taken: inspect.Parameter, given: Given) -> Parameter:
    keyword = taken.name
    name = given.name or (keyword.removesuffix(f"_{unit_of(keyword)}") if has_unit(keyword) else keyword)
    if given.otherwise is not None and taken.default is taken.empty:
        raise TypeError(f"{keyword} has no default for {given.otherwise!r} to speak of")
    otherwise = None if given.otherwise is None else Assumption(taken.default, given.otherwise)
    kind = _kind(name, keyword, taken.annotation, given)
    return Parameter(name, keyword, kind, given.example, otherwise, given.says, given.also, given.called)


def _kind(name: str, keyword: str, annotation: Any, given: Given) -> Argument:
    """Give the kind: the one stated; a yes or no for a bool; else by the unit, and several for a sequence."""
    if given.kind is not None and not isinstance(given.kind, Quantity | str):
        return given.kind
    if annotation is bool:
        return YES_NO
    kind = given.kind or kind_of(keyword)
    if name.endswith("accuracy"):
        return Accuracy(_scale(kind), given.high)
    if kind is Quantity.TEMPERATURE_DIFFERENCE:
        return Difference(_scale(kind), given.low, given.high)
    measure = Measure(kind, given.low, given.high)
    return ListOf(measure) if get_origin(annotation) in (tuple, Sequence) else measure


def _scale(kind: Kind) -> Kind:
    """Give the kind of value that a difference is of: people write it in the units of a thermometer."""
    return Quantity.TEMPERATURE if kind is Quantity.TEMPERATURE_DIFFERENCE else kind
