"""What is asked for where a refrigerant is to be added."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Wanted:
    """A refrigerant as somebody asks for it.

    designation: as ASHRAE 34 writes it, or a name of one's own. composition: mass fraction of each component, by
    designation; one for a pure fluid. safety_class: of ASHRAE 34. limits: lower flammable limits [kg/m³] with the
    document each stands in; needed where it burns. warming: of components that are not known here, by AR4, AR5 and AR6.
    model_uncertainty_k, model_basis: one standard deviation [K] and where it comes from; else that of makers' tables.
    """

    designation: str
    composition: Mapping[str, float]
    safety_class: str
    limits: Sequence[tuple[float, str]] = ()
    warming: Mapping[str, Mapping[str, float]] | None = None
    model_uncertainty_k: float | None = None
    model_basis: str = ""
