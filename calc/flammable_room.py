"""Charge of a mildly flammable refrigerant and area of a room: arithmetic with its basis, never an approval.

After IEC 60335-2-40, annex GG, as installation manuals print it. Editions differ, and so do units with a leak detector
and a blower that stirs, whose makers print other tables: the plate, the maker's manual and the local code decide.
"""

from dataclasses import dataclass

from calc.elementwise import takes_arrays, within
from calc.errors import ArgumentError
from calc.refrigerants import LowerFlammableLimit, get

NO_APPROVAL = (
    "Arithmetic, no approval: the plate, the maker's manual and local codes say what a room may hold. Other editions, "
    "leak detectors and circulation fans have other rules."
)
TOO_SMALL = (
    "By this arithmetic the room is TOO SMALL for this charge: it has less than the least area. Do not charge it so; "
    "ask the maker and the local code what it may hold"
)
BASIS = (
    "IEC 60335-2-40, annex GG, as manuals print it: charge = 2.5 x LFL^1.25 x release height x area^0.5, and no more "
    "than 0.75 x LFL x release height x area"
)
STEPS = "m1, m2, m3 are 6 (older: 4), 26 and 130 m³ x LFL: the charges at which the annex goes over to other rules"
_FACTOR, _POWER, _SAFETY = 2.5, 1.25, 0.75
RELEASE_HEIGHTS_M = {"floor": 0.6, "window": 1.0, "wall": 1.8, "ceiling": 2.2}
"""By where the indoor unit is mounted: the same annex."""
_UNRESTRICTED_M3, _OLDER_UNRESTRICTED_M3, _MIDDLE_M3, _GREATEST_M3 = 6.0, 4.0, 26.0, 130.0
_AREA_M2 = (1.0, 1e4)
_HEIGHT_M = (0.6, 2.2)


@dataclass(frozen=True, slots=True)
class RoomCharge:
    """What a room comes to by the formula [kg], by its cap [kg], and by the smaller of the two [kg]; and its basis."""

    by_formula_kg: float
    by_cap_kg: float
    charge_kg: float
    limit: LowerFlammableLimit


@dataclass(frozen=True, slots=True)
class Thresholds:
    """Charges at which the annex changes its rules [kg]: m1 of 4 and of 6 m³, m2 of 26, m3 of 130; and the basis."""

    older_m1_kg: float
    m1_kg: float
    m2_kg: float
    m3_kg: float
    limit: LowerFlammableLimit


def lowest_flammable_limit(refrigerant: str) -> LowerFlammableLimit:
    """Give the lowest of the lower flammable limits known of a mildly flammable refrigerant, which asks the most room.

    Raises:
        ArgumentError: it is not of class A2L.
        UnknownNameError: an unknown refrigerant.

    >>> lowest_flammable_limit("R-454B").limit_kg_per_m3
    0.296

    """
    facts = get(refrigerant)
    if facts.safety_class != "A2L":
        raise ArgumentError(f"{facts.designation} is of class {facts.safety_class}: this arithmetic is of A2L only")
    return min(facts.lower_flammable_limits, key=lambda limit: limit.limit_kg_per_m3)


def thresholds(refrigerant: str) -> Thresholds:
    """Give the charges at which the annex changes its rules: so many cubic metres times the lower flammable limit.

    Up to m1 it asks for no least area; manuals print 4 m³, and 6 m³ for class A2L since 2018.

    Raises:
        ArgumentError: it is not of class A2L.
        UnknownNameError: an unknown refrigerant.

    >>> round(thresholds("R-32").m1_kg, 2)  # 1.84 kg in manuals, with an LFL of 0.307
    1.84

    """
    limit = lowest_flammable_limit(refrigerant)
    per_m3 = limit.limit_kg_per_m3
    return Thresholds(
        older_m1_kg=_OLDER_UNRESTRICTED_M3 * per_m3,
        m1_kg=_UNRESTRICTED_M3 * per_m3,
        m2_kg=_MIDDLE_M3 * per_m3,
        m3_kg=_GREATEST_M3 * per_m3,
        limit=limit,
    )


def stands(charge_kg: float, steps: Thresholds) -> str:
    """Say between which of its thresholds a charge stands; what other rules the annex has there is not known here.

    >>> stands(1.0, thresholds("R-32"))
    'at or below m1'
    """
    if charge_kg <= steps.m1_kg:
        return "at or below m1"
    if charge_kg <= steps.m2_kg:
        return "above m1, up to m2"
    if charge_kg <= steps.m3_kg:
        return "above m2, up to m3: the annex has other rules here, which are not reckoned; ask the maker"
    return "ABOVE m3: more than the annex covers (from memory); no area makes this right: ask the maker and local codes"


@takes_arrays
def room_charge(refrigerant: str, room_area_m2: float, *, release_height_m: float) -> RoomCharge:
    """Compute which charge a room's area comes to by the annex's arithmetic; no approval of any charge.

    Args:
        refrigerant: of class A2L.
        room_area_m2: of the floor, 1 to 10,000 [m²].
        release_height_m: from the floor to where a leak comes out, 0.6 to 2.2; `RELEASE_HEIGHTS_M` [m].

    Raises:
        ArgumentError: it is not of class A2L.
        CalcRangeError: beyond these limits.
        UnknownNameError: an unknown refrigerant.

    >>> round(room_charge("R-32", 10.0, release_height_m=1.8).by_formula_kg, 2)  # 3.24 kg: table GG.1 in manuals
    3.24

    """
    limit = lowest_flammable_limit(refrigerant)
    area_m2 = within("room_area_m2", room_area_m2, *_AREA_M2, "m²")
    height_m = within("release_height_m", release_height_m, *_HEIGHT_M, "m")
    by_formula = _FACTOR * limit.limit_kg_per_m3**_POWER * height_m * area_m2**0.5
    by_cap = _SAFETY * limit.limit_kg_per_m3 * height_m * area_m2
    return RoomCharge(by_formula, by_cap, min(by_formula, by_cap), limit)


@takes_arrays
def least_room_area_m2(refrigerant: str, charge_kg: float, *, release_height_m: float) -> float:
    """Compute the area at which `room_charge` comes to a charge [m²]; no approval of any room.

    Args:
        refrigerant: of class A2L.
        charge_kg: all that can escape into the room, lines included, 0.05 to 100 [kg].
        release_height_m: as `room_charge` [m].

    Raises:
        ArgumentError: it is not of class A2L.
        CalcRangeError: beyond these limits.
        UnknownNameError: an unknown refrigerant.

    >>> round(least_room_area_m2("R-32", 2.0, release_height_m=0.6), 1)  # 34.04 m² in a manual, with an LFL of 0.307
    34.3

    """
    limit = lowest_flammable_limit(refrigerant).limit_kg_per_m3
    within("charge_kg", charge_kg, 0.05, 100.0, "kg")
    height_m = within("release_height_m", release_height_m, *_HEIGHT_M, "m")
    by_formula: float = (charge_kg / (_FACTOR * limit**_POWER * height_m)) ** 2
    return max(by_formula, charge_kg / (_SAFETY * limit * height_m))


def share_of_flammable_limit(refrigerant: str, charge_kg: float, *, room_area_m2: float, ceiling_m: float) -> float:
    """Give which share of the lower flammable limit a room holds if all of a charge has spread in it evenly [1].

    It does not spread evenly: near a leak, and near the floor, it burns long before.

    Args:
        refrigerant: of class A2L.
        charge_kg: that escapes, 0 to 100 [kg].
        room_area_m2: of the floor, 1 to 10,000 [m²].
        ceiling_m: height of the room, 1.5 to 20 [m].

    Raises:
        ArgumentError: it is not of class A2L.
        CalcRangeError: beyond these limits.
        UnknownNameError: an unknown refrigerant.

    >>> share_of_flammable_limit("R-454B", 2.96, room_area_m2=16.0, ceiling_m=2.5)  # 2.96 kg in 40 m³ of LFL 0.296
    0.25

    """
    limit = lowest_flammable_limit(refrigerant).limit_kg_per_m3
    within("charge_kg", charge_kg, 0.0, 100.0, "kg")
    within("room_area_m2", room_area_m2, *_AREA_M2, "m²")
    within("ceiling_m", ceiling_m, 1.5, 20.0, "m")
    return charge_kg / (room_area_m2 * ceiling_m) / limit
