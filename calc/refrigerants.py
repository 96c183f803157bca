"""What is known of each refrigerant beside its curves: make-up, safety class, limits, model uncertainty."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Literal

from calc.saturation import bubble_point, designation, dew_point, names
from calc.shelf import known

__all__ = ["AssessmentReport", "LowerFlammableLimit", "Refrigerant", "get", "names"]

AssessmentReport = Literal["AR4", "AR5", "AR6"]
"""The report of the IPCC that a global warming potential is taken from: they differ, and a rule names its own."""

_IN_PRESSURE = ("pure", "pseudo_pure", "hfc_mixture")


@dataclass(frozen=True, slots=True)
class LowerFlammableLimit:
    """A lower flammable limit in air [kg/m³], with the document it stands in: documents differ."""

    limit_kg_per_m3: float
    basis: str


CLASS_NOT_KNOWN = "not_known"
"""Stands for the safety class of what nobody knows: it may burn."""
_AS_IT_BURNS = {
    each: rank for rank, each in enumerate(("A1", "B1", "A2L", "B2L", "A2", "B2", CLASS_NOT_KNOWN, "A3", "B3"))
}  # after ASHRAE 34; that what is not known counts as burning well: common practice, no source


def propagates_flame(safety_class: str) -> bool:
    """Whether what is of a safety class burns: all but class 1 propagate a flame (ASHRAE 34); not known is taken so.

    >>> [propagates_flame(each) for each in ("A1", "B1", "A2L", "not_known", "C1", "")]
    [False, False, True, True, True, False]
    """
    return bool(safety_class) and safety_class not in ("A1", "B1")


def as_known(safety_class: str) -> str:
    """Give a safety class, or that it is not known, where it is none that there is; empty stays empty.

    >>> as_known("A2L"), as_known("C1"), as_known("")
    ('A2L', 'not_known', '')
    """
    return safety_class if not safety_class or safety_class in _AS_IT_BURNS else CLASS_NOT_KNOWN


def burns_worst(safety_classes: Iterable[str]) -> str:
    """Give the one of some safety classes that burns worst, the first of two alike; empty of none.

    >>> burns_worst(["A1", "A3", "A2L"]), burns_worst(["A2L", "not_known"]), burns_worst([])
    ('A3', 'not_known', '')
    """
    return max(filter(None, safety_classes), key=lambda each: _AS_IT_BURNS[each], default="")


def mildest(safety_classes: Iterable[str]) -> str:
    """Give the one of some safety classes that burns least, the first of two alike; empty of none.

    >>> mildest(["A3", "A2L"]), mildest([])
    ('A2L', '')
    """
    return min(filter(None, safety_classes), key=lambda each: _AS_IT_BURNS[each], default="")


def is_milder(safety_class: str, other: str) -> bool:
    """Whether what is of the first safety class burns less than what is of the other.

    >>> is_milder("A1", "A2L"), is_milder("A3", "A2L"), is_milder("A2L", "A2L")
    (True, False, False)
    """
    return _AS_IT_BURNS[safety_class] < _AS_IT_BURNS[other]


@dataclass(frozen=True, slots=True)
class Refrigerant:
    """One refrigerant.

    Attributes:
        designation: as ASHRAE 34 writes it.
        kind: a zeotrope boils over a range of temperature, an azeotrope hardly, a pure fluid not at all.
        composition: mass fraction of each component, by designation.
        safety_class: of ASHRAE 34: A1, A2L, A3.
        equation_of_state: CoolProp's name of the fluid that the curves were fitted to.
        critical_temperature_k: of that equation of state [K].
        critical_pressure_pa: of that equation of state [Pa].
        model_standard_uncertainty_k: one standard deviation of its dew and bubble points [K].
        model_basis: where that figure comes from.
        lower_flammable_limits: every limit known, each with its basis; empty for class 1.

    """

    designation: str
    kind: Literal["pure", "azeotrope", "zeotrope"]
    composition: Mapping[str, float]
    safety_class: str
    equation_of_state: str
    critical_temperature_k: float
    critical_pressure_pa: float
    model_standard_uncertainty_k: float
    model_basis: str
    lower_flammable_limits: tuple[LowerFlammableLimit, ...]

    @property
    def is_ozone_depleting(self) -> bool:
        """Whether it holds a class I or II substance of 40 CFR 82, which deplete the ozone layer."""
        return any(known("components")[component].get("depletes_ozone", False) for component in self.composition)

    @property
    def is_flammable(self) -> bool:
        """Whether its safety class is other than 1, which stands for no flame propagation (ASHRAE 34)."""
        return propagates_flame(self.safety_class)

    def global_warming_potential(self, report: AssessmentReport) -> float:
        """Give the warming over 100 years, as a multiple of that of the same mass of CO2 [1].

        A blend's is the mean of its components by mass.

        >>> round(get("R-410A").global_warming_potential("AR4"), 1)  # 40 CFR 84, from memory: 2087.5
        2087.5
        """
        components: dict[str, dict[str, float]] = known("components")
        return sum(share * components[component][report] for component, share in self.composition.items())

    @property
    def model_errs_in_pressure(self) -> bool:
        """Whether the model's uncertainty stems from one in pressure, as that of pure fluids and HFC mixtures does."""
        return self.model_basis in (known("sources")[basis] for basis in _IN_PRESSURE)

    @property
    def charge_as_liquid(self) -> bool:
        """Whether it must leave the cylinder as liquid, because its vapour has another composition."""
        return self.kind == "zeotrope"

    def glide_dk(self, pressure_pa: float) -> float:
        """Give the temperature glide: dew point less bubble point at an absolute pressure [Pa] [K].

        >>> round(get("R-404A").glide_dk(100e3), 1)  # 0.76: REFPROP, quoted in CoolProp issue 683
        0.8
        """
        if self.kind == "pure":
            return 0.0
        return dew_point(self.designation, pressure_pa) - bubble_point(self.designation, pressure_pa)


@cache
def get(refrigerant: str) -> Refrigerant:
    """Look a refrigerant up by its designation, or a way to write it that `saturation.designation` reads.

    Raises:
        UnknownNameError: it is none of `names()`.

    >>> r454b = get("R-454B")
    >>> r454b.composition["R-32"], r454b.safety_class, r454b.charge_as_liquid  # ASHRAE 34
    (0.689, 'A2L', True)

    """
    name = designation(refrigerant)
    facts, sources = known("refrigerants")[name], known("sources")
    limits = tuple(
        LowerFlammableLimit(limit["kg_per_m3"], sources[limit["basis"]]) for limit in facts["lower_flammable_limits"]
    )
    return Refrigerant(
        designation=name,
        **{
            **facts,
            "composition": MappingProxyType(facts["composition"]),
            "model_basis": sources[facts["model_basis"]],
            "lower_flammable_limits": limits,
        },
    )
