"""Make the curves of a refrigerant that is not shipped, from CoolProp, and check them before anybody uses them.

Nothing is approximated silently: where a flash finds no equilibrium, where no series follows the curve, where a curve
is off by more than a millikelvin between its nodes or from a flash of another start, there is no refrigerant. The
same where CoolProp lacks a pair of components.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import CoolProp
import numpy as np
from CoolProp.CoolProp import PQ_INPUTS, AbstractState, get_fluid_param_string, iDmass, iP_triple
from numpy.polynomial import chebyshev
from numpy.typing import NDArray

from calc.data import build_caloric, build_liquid_density
from calc.data.build_saturation import BuildError, curves, equilibrium_temperatures, nodes_between, pressure_range_pa
from calc.data.equations import state_of
from calc.data.wanted import Wanted
from calc.refrigerants import is_milder, mildest
from calc.shelf import Table, known, put_beside

MADE_WITH = f"CoolProp {CoolProp.__version__}"
_BETWEEN = 81
_TOLERANCE_K = 1e-3
_WHOLE = 1e-6
_ABOVE_TRIPLE_POINT = 1.005
_CLOSE_BY = 1.03
_GLIDE_OF_AZEOTROPE_DK = 0.6
_AS_WIDE_AS_MAKERS_K, _OF_A_PURE_FLUID_K = 0.5, 0.1
_REPORTS = ("AR4", "AR5", "AR6")


@dataclass(frozen=True, slots=True)
class Made:
    """What goes on the shelf, and how it was checked.

    worst_k: the greatest difference between the nodes, bubble and dew [K]. flashes: how many flashes from nothing
    agree, of how many that were tried; the others found none, as they do for mixtures. of_unknown_class: components
    of which no safety class is known here, so that nothing holds the one that was given.
    """

    tables: dict[Table, dict[str, Any]]
    worst_k: float
    flashes: tuple[int, int]
    of_unknown_class: tuple[str, ...] = ()


def make(wanted: Wanted) -> Made:
    """Make and check the curves of a refrigerant, and put it on the shelf of this program.

    Raises:
        BuildError: what is asked for cannot be made, or is not asked for whole; says why.
        AlreadyKnownError: there is one of this name, made up otherwise.

    """
    of_unknown_class = _check_class(wanted)
    components = _components(wanted)
    equation = _equation(wanted.composition, components)
    critical_k, critical_pa = _critical_point(equation)
    low_pa, high_pa = pressure_range_pa(wanted.designation, critical_pa)
    low_pa = max(low_pa, _ABOVE_TRIPLE_POINT * _triple_point_pa(equation))
    shipped = curves(wanted.designation, equation, critical_k, (low_pa, high_pa))
    worst_k, flashes = _checked(wanted.designation, shipped, equation, critical_k)
    facts = {
        "kind": _kind(wanted.composition, shipped),
        "composition": dict(wanted.composition),
        "safety_class": wanted.safety_class,
        "equation_of_state": equation,
        "critical_temperature_k": critical_k,
        "critical_pressure_pa": critical_pa,
        **_uncertainty(wanted),
        "lower_flammable_limits": [{"kg_per_m3": limit, "basis": basis} for limit, basis in wanted.limits],
    }
    bases = {str(facts["model_basis"]), *(basis for _, basis in wanted.limits)}
    tables: dict[Table, dict[str, Any]] = {
        "sources": {basis: basis for basis in sorted(bases)},
        "components": components,
        "refrigerants": {wanted.designation: facts},
        "saturation": {wanted.designation: shipped},
    }
    put_beside(tables)
    tables["liquid_density"] = {wanted.designation: build_liquid_density.fit(wanted.designation, low_pa, high_pa)}
    tables["caloric"] = {wanted.designation: build_caloric.fit(wanted.designation, low_pa)}
    put_beside(tables)
    return Made(tables, worst_k, flashes, of_unknown_class)


def recheck(designation: str) -> tuple[float, tuple[int, int]]:
    """Check the curves of a refrigerant on the shelf against CoolProp anew: as `Made.worst_k` and `Made.flashes`.

    Raises:
        BuildError: they are off, or CoolProp cannot tell.

    """
    facts = known("refrigerants")[designation]
    on_shelf = known("saturation")[designation]
    return _checked(designation, on_shelf, facts["equation_of_state"], facts["critical_temperature_k"])


def _check_class(wanted: Wanted) -> tuple[str, ...]:
    """Refuse a safety class milder than that of the mildest component; returns those of which none is known.

    A mixture burns no less than all that it is made of: its lower flammable limit lies between theirs (the mixing rule
    of Le Chatelier, from memory). One that does not burn may hold what burns beside what does not.
    """
    known_classes = {
        name: known("refrigerants")[name]["safety_class"] if name in known("refrigerants") else ""
        for name in wanted.composition
    }
    unknown = tuple(name for name, safety_class in known_classes.items() if not safety_class)
    least = mildest(known_classes.values())
    if not unknown and is_milder(wanted.safety_class, least):
        told = ", ".join(f"{name} is {safety_class}" for name, safety_class in known_classes.items())
        raise BuildError(f"{wanted.designation} cannot be of class {wanted.safety_class}: {told}. Give its own class")
    return unknown


def _components(wanted: Wanted) -> dict[str, Any]:
    """Give what is known of each component, from the shelf or, new to it, from CoolProp and what was asked."""
    if abs(sum(wanted.composition.values()) - 1) > _WHOLE:
        total = 100 * sum(wanted.composition.values())
        raise BuildError(f"the components of {wanted.designation} make {total:.4g} % and not 100: correct the shares")
    if wanted.safety_class != "A1" and not wanted.limits:
        raise BuildError(
            f"{wanted.designation} is of class {wanted.safety_class}: give its lower flammable limit and the document "
            "it stands in"
        )
    return {
        name: known("components").get(name) or _new_component(name, wanted.warming or {}) for name in wanted.composition
    }


def _new_component(name: str, warming: Mapping[str, Mapping[str, float]]) -> dict[str, Any]:
    told = warming.get(name, {})
    if missing := [report for report in _REPORTS if report not in told]:
        raise BuildError(f"nothing is known here of how {name} warms the climate: give {', '.join(missing)} of it")
    try:
        state = state_of(_coolprop(name))
        formula = get_fluid_param_string(_coolprop(name), "formula")
    except ValueError as error:
        raise BuildError(f"CoolProp has no {name}: {error}") from error
    facts: dict[str, Any] = {report: told[report] for report in _REPORTS}
    facts["kg_per_mol"] = round(state.molar_mass(), 6)
    if _depletes_ozone(name, formula):
        facts["depletes_ozone"] = True
    return facts


def _depletes_ozone(name: str, formula: str) -> bool:
    """Whether it is a CFC, HCFC or halon: class I or II of 40 CFR 82, subpart A (from memory).

    Those of the 1000 series have a double bond, and are in neither list.
    """
    number = int("".join(re.findall(r"\d+", name)[:1]) or 0)
    halogens = set(re.findall(r"Cl|Br|F", formula))
    return number < 1000 and "F" in halogens and bool(halogens & {"Cl", "Br"})


def _coolprop(component: str) -> str:
    return component.replace("-", "", 1)


def _equation(composition: Mapping[str, float], components: Mapping[str, Mapping[str, Any]]) -> str:
    if len(composition) == 1:
        return _coolprop(next(iter(composition)))
    moles = {name: share / components[name]["kg_per_mol"] for name, share in composition.items()}
    return "&".join(f"{_coolprop(name)}[{count / sum(moles.values()):.12g}]" for name, count in moles.items())


def _critical_point(equation: str) -> tuple[float, float]:
    """Give the critical temperature [K] and pressure [Pa]: of a mixture those of its stable critical point.

    Of some close to each other that of least pressure, since the curves end below it.
    """
    try:
        state = state_of(equation)
        if len(state.fluid_names()) == 1:
            return round(state.T_critical(), 3), round(state.p_critical())
        points = [point for point in state.all_critical_points() if point.stable and point.p > 0]
    except ValueError as error:
        raise BuildError(f"CoolProp cannot reckon {equation}: {error}") from error
    lowest = min(points, key=lambda point: point.p, default=None)
    if lowest is None or any(point.p > _CLOSE_BY * lowest.p for point in points):
        raise BuildError(f"{equation} has {len(points)} stable critical points by CoolProp, where one is needed")
    return round(lowest.T, 3), round(lowest.p)


def _triple_point_pa(equation: str) -> float:
    """Give the triple point's pressure of a pure fluid [Pa]; 0 of a mixture, of which none is known."""
    state = state_of(equation)
    return 0.0 if len(state.fluid_names()) > 1 else float(state.keyed_output(iP_triple))


def _checked(
    designation: str, shipped: Mapping[str, Any], equation: str, critical_k: float
) -> tuple[float, tuple[int, int]]:
    """Compare curves with equilibria between their nodes, and with flashes from nothing."""
    x, pressures_pa = nodes_between(shipped["low_pa"], shipped["high_pa"], _BETWEEN)
    worst_k, agreeing, tried = 0.0, 0, 0
    for end, quality in (("bubble", 0.0), ("dew", 1.0)):
        on_curve = 1 / chebyshev.chebval(x, shipped[end])
        from_below = equilibrium_temperatures(equation, quality, pressures_pa, critical_k)
        from_nothing = _flashes(equation, quality, pressures_pa, critical_k)
        found = ~np.isnan(from_nothing)
        off_k = max(np.abs(on_curve - from_below).max(), np.abs(on_curve - from_nothing)[found].max(initial=0.0))
        if not off_k <= _TOLERANCE_K:
            raise BuildError(
                f"the {end} curve of {designation} is off by {off_k:.2g} K: CoolProp finds other equilibria"
            )
        worst_k, agreeing, tried = max(worst_k, float(off_k)), agreeing + int(found.sum()), tried + len(found)
    return worst_k, (agreeing, tried)


def _flashes(
    equation: str, quality: float, pressures_pa: NDArray[np.float64], critical_k: float
) -> NDArray[np.float64]:
    """Flash each pressure from nothing [K]; NaN where that finds none, or one that cannot be."""
    return np.array([_flash(state_of(equation), quality, float(each), critical_k) for each in pressures_pa])


def _flash(state: AbstractState, quality: float, pressure_pa: float, critical_k: float) -> float:
    try:
        state.update(PQ_INPUTS, pressure_pa, quality)
        liquid, vapour = state.saturated_liquid_keyed_output(iDmass), state.saturated_vapor_keyed_output(iDmass)
    except ValueError:  # mixtures near the critical point: it says so, and finds nothing
        return float("nan")
    sound = state.T() < 1.02 * critical_k and liquid > 1.05 * vapour
    return float(state.T()) if sound else float("nan")


def _kind(composition: Mapping[str, float], shipped: Mapping[str, Any]) -> str:
    """Tell its kind: a mixture that boils over less than 0.6 K amid its curves is taken for an azeotrope (estimate)."""
    if len(composition) == 1:
        return "pure"
    bubble_k, dew_k = (float(1 / chebyshev.chebval(0.0, shipped[end])) for end in ("bubble", "dew"))
    return "azeotrope" if dew_k - bubble_k < _GLIDE_OF_AZEOTROPE_DK else "zeotrope"


def _uncertainty(wanted: Wanted) -> dict[str, Any]:
    if wanted.model_uncertainty_k is not None:
        return {
            "model_standard_uncertainty_k": wanted.model_uncertainty_k,
            "model_basis": wanted.model_basis or "as it was given when it was added",
        }
    pure = len(wanted.composition) == 1
    return {
        "model_standard_uncertainty_k": _OF_A_PURE_FLUID_K if pure else _AS_WIDE_AS_MAKERS_K,
        "model_basis": "handbooks of pure fluids agree within 0.1 K (estimate)"
        if pure
        else "the width of makers' tables of mixtures (estimate)",
    }
