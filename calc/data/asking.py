"""A refrigerant to be added, from how a person writes it at the shell."""

import re
from collections.abc import Sequence

from calc.data.wanted import Wanted
from calc.errors import CalcError
from calc.units import parse

_NAME = re.compile(r"R-[0-9A-Z][0-9A-Za-z()]{0,15}")
_COMPONENT = re.compile(r"\s*(R-[0-9A-Za-z()]+)\s*[ =]\s*([0-9.]+)\s*%?\s*")
_FACTOR = re.compile(r"\s*(AR[456])\s*[ =]\s*([0-9.]+)\s*")


class AskedWronglyError(CalcError):
    """What was asked for is not written as it must be: says what and how."""


def as_wanted(
    name: str, of: str, safety_class: str, *, limits: Sequence[str], warming: Sequence[str], uncertainty: str | None
) -> Wanted:
    """Read what is asked for.

    Raises:
        AskedWronglyError: a part of it is not as it must be.
        CalcError: a unit is not known.

    >>> as_wanted("R-452A", "R-32 11, R-125 59, R-1234yf 30", "A1", limits=[], warming=[], uncertainty=None).composition
    {'R-32': 0.11, 'R-125': 0.59, 'R-1234yf': 0.3}

    """
    if not _NAME.fullmatch(name):
        raise AskedWronglyError(f"{name!r} is no name of a refrigerant: write it as ASHRAE 34 does, such as R-452A")
    model_k, model_basis = (None, "") if uncertainty is None else _with_source(uncertainty, "--uncertainty")
    return Wanted(
        designation=name,
        composition=_composition(of),
        safety_class=safety_class,
        limits=[_limit(each) for each in limits],
        warming=dict(_warming(each) for each in warming),
        model_uncertainty_k=None if model_k is None else _difference_k(model_k),
        model_basis=model_basis,
    )


def _composition(of: str) -> dict[str, float]:
    if re.fullmatch(r"R-[0-9A-Za-z()]+", of.strip()):
        return {of.strip(): 1.0}
    shares: dict[str, float] = {}
    for part in of.split(","):
        found = _COMPONENT.fullmatch(part)
        if not found or found[1] in shares:
            raise AskedWronglyError(
                f'--of {of!r}: {part.strip()!r} is no component once and with its share by mass, such as "R-32 11"'
            )
        shares[found[1]] = round(float(found[2]) / 100, 9)
    return shares


def _limit(text: str) -> tuple[float, str]:
    figure, basis = _with_source(text, "--limit")
    found = re.fullmatch(r"([0-9.]+)\s*kg/m3", figure)
    if not found:
        raise AskedWronglyError(f'--limit {text!r}: {figure!r} is no limit in kg/m3, such as "0.307 kg/m3, ASHRAE 34"')
    return float(found[1]), basis


def _warming(text: str) -> tuple[str, dict[str, float]]:
    name, _, factors = text.strip().partition(" ")
    found = [_FACTOR.fullmatch(each) for each in factors.split(",")]
    if not all(found):
        raise AskedWronglyError(f'--warming {text!r}: write "R-13I1 AR4 0.4, AR5 1, AR6 0"')
    return name, {each[1]: float(each[2]) for each in found if each}


def _with_source(text: str, option: str) -> tuple[str, str]:
    figure, _, source = text.partition(",")
    if not source.strip():
        raise AskedWronglyError(f"{option} {text!r}: say behind a comma where it stands")
    return figure.strip(), source.strip()


def _difference_k(text: str) -> float:
    found = parse(text, "temperature_difference")
    if not 0 < found <= 5:
        raise AskedWronglyError(f"--uncertainty {text!r}: between 0 and 5 K")
    return found
