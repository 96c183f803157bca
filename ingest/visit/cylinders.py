"""The cylinders of a visit: what may be said of one, and what each holds by the scale and by what was moved since."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from calc.charging import FILL_TEMPERATURE_K, safe_fill_mass
from calc.errors import CalcRangeError, UnknownNameError
from calc.refrigerants import get
from calc.sentences import Sentence, text
from ingest.visit.deciding import DoubtfulError, Facts, Head, RefusedError, to_ask
from ingest.visit.ledgers import CylinderSums
from ingest.wire.events import MarkBase
from ingest.wire.messages import CylinderAsk, CylinderDescribed, CylinderStands
from ingest.wire.texts import is_empty
from ingest.wire.wording import worded

if TYPE_CHECKING:
    from ingest.visit.standing import Standing

HEAVIEST_KG = 1000.0
"""Of a cylinder with what it holds, and of the water in it: common practice, no source."""
MOST_PHOTOGRAPHS = 20
"""Of one cylinder: common practice, no source."""
_LIGHTEST_KG = 0.1
_LONGEST_HOSE_M = 30.0
_BORES_M = (1e-3, 25e-3)
_ROUNDING_KG = 1e-6


class Cylinders:
    """The cylinders of a visit, by their names, each as it was last described."""

    def __init__(self) -> None:
        self._known: dict[str, CylinderDescribed] = {}

    def take(self, mark: MarkBase) -> None:
        """Take the next mark."""
        if isinstance(mark, CylinderDescribed):
            self._known[mark.name] = mark

    def __contains__(self, name: str) -> bool:
        """Whether there is a cylinder of this name."""
        return name in self._known

    def names(self) -> list[str]:
        """Give the names, in the order in which they were first described."""
        return list(self._known)

    def stands(self, name: str, moved: CylinderSums, refrigerants: Mapping[str, str]) -> CylinderStands:
        """Say how a cylinder stands. refrigerants: of each circuit, by its name; KeyError for an unknown cylinder."""
        told = self._known[name]
        holds_kg = None
        if told.gross_kg is not None and told.tare_kg is not None:
            holds_kg = round(max(told.gross_kg - told.tare_kg - moved.net_since_kg, 0.0), 6)
        first = moved.first_out
        inside = told.refrigerant or ("" if first is None else refrigerants.get(first.circuit, ""))
        return CylinderStands(
            name=name,
            use=told.use,
            refrigerant=inside,
            holds_kg=holds_kg,
            most_kg=_most_kg(inside, told.water_capacity_kg),
            taken_kg=round(moved.taken_kg, 6),
            given_kg=round(moved.given_kg, 6),
            hose_m=told.hose_m,
            hose_bore_m=told.hose_bore_m,
        )


def _most_kg(refrigerant: str, water_capacity_kg: float | None) -> float | None:
    """Give what a cylinder may hold; None where that is not known, or nothing stays liquid in it as it warms."""
    if not refrigerant or water_capacity_kg is None:
        return None
    try:
        most_kg = safe_fill_mass(
            refrigerant, water_capacity_kg=water_capacity_kg, liquid_temperature_k=FILL_TEMPERATURE_K
        )
    except CalcRangeError:
        return None
    return round(float(most_kg), 6)


def describe(ask: CylinderAsk, head: Head, standing: "Standing", _: Facts) -> CylinderDescribed:
    """Keep what is written on a cylinder."""
    name = ask.name.strip()
    if is_empty(name):
        raise RefusedError(
            "name is empty: what the cylinder is told from the others by was expected, such as its number"
        )
    _check_weights(ask)
    if len(ask.photographs) > MOST_PHOTOGRAPHS:
        raise RefusedError(f"photographs names {len(ask.photographs)}; at most {MOST_PHOTOGRAPHS} are kept")
    standing.photographs.check(ask.photographs)
    if not ask.confirmed and (another := _another(ask, name, standing)):
        raise DoubtfulError(to_ask(worded(another)))
    return CylinderDescribed(
        *head,
        name=name,
        use=ask.use,
        refrigerant=_designation(ask),
        tare_kg=ask.tare_kg,
        water_capacity_kg=ask.water_capacity_kg,
        gross_kg=ask.gross_kg,
        hose_m=ask.hose_m,
        hose_bore_m=ask.hose_bore_m,
        photographs=tuple(ask.photographs),
    )


def _another(ask: CylinderAsk, name: str, standing: "Standing") -> Sentence | None:
    """Ask about one that is described as another than it was: what it holds would be told of the wrong one."""
    known = next((it for it in standing.moved.cylinders_stand() if it.name == name), None)
    if known is None:
        return None
    after = _designation(ask) or known.refrigerant
    if (known.use, known.refrigerant or after) == (ask.use, after):
        return None
    uses = text("use_before", _USES[known.use]), text("use_after", _USES[ask.use])
    inside = text("before", known.refrigerant or "?"), text("after", after or "?")
    return Sentence("cylinder.another", (text("name", name), *uses, *inside))


_USES = {"virgin": "one to charge with,", "recovery": "a recovery cylinder"}


def as_designated(refrigerant: str) -> str:
    """Write a refrigerant as ASHRAE 34 does; as it stands where there is none of that name, or none at all."""
    try:
        return get(refrigerant.strip()).designation if refrigerant.strip() else ""
    except UnknownNameError:
        return refrigerant


def _designation(ask: CylinderAsk) -> str:
    if not ask.refrigerant.strip():
        if ask.use == "recovery":
            return ""
        raise RefusedError("refrigerant is empty: what the label of the cylinder says was expected, such as R-410A")
    try:
        return get(ask.refrigerant.strip()).designation
    except UnknownNameError as error:
        raise RefusedError(f"refrigerant: {error}") from error


def _check_weights(ask: CylinderAsk) -> None:
    for name, value in (
        ("tare_kg", ask.tare_kg),
        ("water_capacity_kg", ask.water_capacity_kg),
        ("gross_kg", ask.gross_kg),
    ):
        if value is not None and not _LIGHTEST_KG <= value <= HEAVIEST_KG:
            raise RefusedError(f"{name} is {value:g}; {_LIGHTEST_KG:g} to {HEAVIEST_KG:g} kg are of cylinders")
    if ask.tare_kg is not None and ask.gross_kg is not None and ask.gross_kg < ask.tare_kg - _ROUNDING_KG:
        raise RefusedError("gross_kg is less than tare_kg: look at the scale, and at the tare stamped on the cylinder")
    if ask.hose_m is not None and not 0.0 <= ask.hose_m <= _LONGEST_HOSE_M:
        raise RefusedError(f"hose_m is {ask.hose_m:g}; 0 to {_LONGEST_HOSE_M:g} m are of hoses")
    if ask.hose_bore_m is not None and not _BORES_M[0] <= ask.hose_bore_m <= _BORES_M[1]:
        raise RefusedError(f"hose_bore_m is {ask.hose_bore_m:g}; {_BORES_M[0]:g} to {_BORES_M[1]:g} m are of hoses")
