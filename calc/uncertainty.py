"""How the uncertainties of inputs make that of a result: the law of propagation of JCGM 100 (the GUM), section 5.

A result keeps what each named input adds to it, so that two results that share an input know how far they move
together: superheat and subcooling hang on one barometric pressure, and the two ends of an air split on one instrument.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from calc.errors import ArgumentError, CalcRangeError
from calc.estimate import Estimate

Correlations = Mapping[tuple[str, str], float]
"""Correlation coefficients of pairs of inputs, in either order; pairs that are not named are independent."""

INDEPENDENT: Correlations = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Budget:
    """A value, and what each named input adds to its uncertainty.

    A name means one input, in whichever result it stands.

    Attributes:
        value: of the result.
        contributions: sensitivity times standard uncertainty of each input, with its sign [unit of the value].
        correlations: of the inputs among themselves.

    """

    value: float
    contributions: Mapping[str, float]
    correlations: Correlations = field(default_factory=lambda: INDEPENDENT)

    def __post_init__(self) -> None:
        for coefficient in self.correlations.values():
            if not -1 <= coefficient <= 1:
                raise CalcRangeError("correlation", coefficient, -1, 1, "")

    def __sub__(self, other: "Budget") -> "Budget":
        """Give the difference of two results; what both take from one input cancels as far as it should."""
        names = {**self.contributions, **other.contributions}
        moved = {name: self.contributions.get(name, 0.0) - other.contributions.get(name, 0.0) for name in names}
        return Budget(self.value - other.value, moved, _joined(self.correlations, other.correlations))

    @property
    def estimate(self) -> Estimate:
        """The value with its combined standard uncertainty (JCGM 100, 5.1.2 and 5.2.2).

        Raises:
            ArgumentError: no inputs can be correlated as stated.
            CalcRangeError: the uncertainty is beyond any number.

        """
        apart = Estimate(self.value, math.hypot(*self.contributions.values()))
        scale = apart.standard_uncertainty
        if not self.correlations or scale == 0:
            return apart
        part = _product(self.contributions, self.contributions, self.correlations, scale, scale)
        if part < -1e-12:
            raise ArgumentError("the correlations of the inputs contradict each other: the variance would be negative")
        return Estimate(self.value, scale * math.sqrt(max(part, 0.0)))

    @property
    def leading_input(self) -> str | None:
        """The input that adds most: a better instrument pays there first. None if nothing is uncertain."""
        adding = {name: abs(part) for name, part in self.contributions.items() if part}
        return max(adding, key=adding.__getitem__, default=None)

    def correlation(self, other: "Budget") -> float:
        """Give the correlation coefficient of two results through the inputs that they share; 0 if one is exact."""
        mine, theirs = self.estimate.standard_uncertainty, other.estimate.standard_uncertainty
        correlations = _joined(self.correlations, other.correlations)
        if mine == 0 or theirs == 0:
            return 0.0
        coefficient = _product(self.contributions, other.contributions, correlations, mine, theirs)
        return min(max(coefficient, -1.0), 1.0)  # rounding goes a little beyond

    def covariance(self, other: "Budget") -> float:
        """Give the covariance of two results, likewise (JCGM 100, F.1.2.3)."""
        scale = self.estimate.standard_uncertainty * other.estimate.standard_uncertainty
        return self.correlation(other) * scale


def rectangular(limit: float) -> float:
    """Give the standard uncertainty of what is known only to lie within ± a limit: limit / sqrt(3).

    Of a limit that is all that is known of an instrument each value within is as likely (JCGM 100, 4.3.7).

    >>> round(rectangular(1.0), 4)  # JCGM 100, 4.3.7: a² / 3
    0.5774
    """
    return limit / math.sqrt(3)


def propagate(
    model: Callable[..., float], inputs: Mapping[str, Estimate], correlations: Correlations = INDEPENDENT
) -> Budget:
    """Carry the uncertainties of inputs through a model.

    Each input is moved by its standard uncertainty both ways, and half the difference counts (JCGM 100, 5.1.4). Where
    the model ends in between, as at 100 % humidity, the way that remains counts whole.

    Args:
        model: takes every input as keyword argument, and gives the result.
        inputs: by the names of those arguments.
        correlations: of the inputs among themselves.

    Raises:
        CalcRangeError: the model has no answer there, or none to either side.
        ArgumentError: a correlation names what is no input.

    >>> inputs = {"v": Estimate(4.999, 0.0032), "i": Estimate(0.019661, 9.5e-6)}  # JCGM 100, H.2: |Z| = V / I
    >>> impedance_ohm = propagate(lambda v, i: v / i, inputs, {("v", "i"): -0.36}).estimate
    >>> round(impedance_ohm.value, 2), round(impedance_ohm.standard_uncertainty, 2)
    (254.26, 0.24)

    """
    for pair in correlations:
        if not set(pair) <= inputs.keys():
            raise ArgumentError(f"the correlation of {pair[0]} and {pair[1]} names what is no input")
    values = {name: given.value for name, given in inputs.items()}
    value = model(**values)

    def effect(name: str, given: Estimate) -> float:
        """Move one input by its standard uncertainty either way, and give half of what that makes."""
        sides: list[float] = []
        refused: CalcRangeError | None = None
        for step in (given.standard_uncertainty, -given.standard_uncertainty):
            try:
                moved = model(**{**values, name: given.value + step}) - value
                sides.append(math.copysign(1.0, step) * moved)
            except CalcRangeError as error:
                refused = error
        if refused and not sides:
            raise refused
        return sum(sides) / len(sides)

    uncertain = {name: given for name, given in inputs.items() if given.standard_uncertainty}
    return Budget(value, {name: effect(name, given) for name, given in uncertain.items()}, correlations)


def _joined(first: Correlations, second: Correlations) -> Correlations:
    if first == second:
        return first
    for (one, another), coefficient in second.items():
        if _coefficient(first, one, another) not in (0.0, coefficient):
            raise ArgumentError(f"the correlation of {one} and {another} is stated twice, and differs")
    return {**first, **second}


def _product(
    first: Mapping[str, float], second: Mapping[str, float], correlations: Correlations, unit: float, other_unit: float
) -> float:
    """Sum the products of contributions, each in a unit in which none overflows."""
    return sum(
        (part / unit) * (other_part / other_unit) * _coefficient(correlations, name, other)
        for name, part in first.items()
        for other, other_part in second.items()
    )


def _coefficient(correlations: Correlations, name: str, another: str) -> float:
    if name == another:
        return 1.0
    return correlations.get((name, another), correlations.get((another, name), 0.0))
