"""What a unit at rest shows: the pressure to wait for, and whether it is higher, as air in it makes it.

It is that of saturation in the colder coil, to which all liquid goes. Where that is indoors it comes down to it from
the outdoor air's, and passes whatever lies between: before it stands, nothing higher than that tells of air.
"""

import math
from dataclasses import dataclass, replace
from enum import StrEnum

from calc.errors import CalcRangeError
from calc.estimate import Estimate
from calc.judge.running import BEFORE_START_S, RESTED_S
from calc.resting_air import coldest_air
from calc.saturation import bubble_point, bubble_pressure
from calc.situation import Situation

_COIL_SPREAD_DK = 2.0 * 5 / 9
"""How far a coil at rest is from the air around it, for sun and wind (k = 1): common practice, no source."""

READ_AFTER_S = RESTED_S + BEFORE_START_S + 5.0
"""By then a reading that stood for a while is there, if any is."""

INDOORS_S = 1800.0
"""By then the liquid has gone to a colder coil indoors: computed with the simulated units, which take 20 min to come
within 1 °F of it."""

_SURE = 2.0  # standard uncertainties


class Found(StrEnum):
    """What came of it."""

    NO_AIR = "no air"
    A_LITTLE = "a little"
    HIGHER = "higher"
    LOWER = "lower"
    NOT_ONE = "not one"


@dataclass(frozen=True, slots=True)
class Rest:
    """The check at rest.

    Attributes:
        seconds_left: until it may be read [s].
        beside: the air that the refrigerant goes to: outdoor_air or return_air.
        air_k: the temperature of that air [K].
        expected_pa: saturation of the refrigerant on the plate at that temperature, absolute [Pa].
        found: what came of it; None while it is waited for.
        measured_pa: at rest, absolute [Pa]; None where the two sides have not become one.
        over_dk: saturation at that pressure less the temperature of that air [K]; likewise.
        indoors_known: whether the return air is measured: where it is not, the coil there may be colder.

    """

    seconds_left: float
    beside: str
    air_k: Estimate
    expected_pa: Estimate
    found: Found | None = None
    measured_pa: Estimate | None = None
    over_dk: Estimate | None = None
    indoors_known: bool = False

    @property
    def of_seconds(self) -> float:
        """How long it is waited for in all [s]."""
        return INDOORS_S if self.beside == "return_air" else READ_AFTER_S


def check_at_rest(now: Situation) -> Rest | None:
    """Tell how far the check at rest is, and what it shows; None where its instruments are not there.

    Raises:
        UnknownNameError: an unknown refrigerant.

    >>> seen = {"liquid_pressure": Estimate(1.5e6, 5e3), "outdoor_air_temperature": Estimate(293.15, 0.2)}
    >>> check_at_rest(Situation(refrigerant="R-410A", measured=seen, rested_s=60.0)).seconds_left
    575.0

    """
    beside = coldest_air(now.measured)
    has_pressure = "liquid_pressure" in now.measured or "suction_pressure" in now.measured
    if now.rested_s is None or beside is None or not has_pressure:
        return None
    try:
        waited = Rest(
            0.0,
            *beside,
            expected_pa=_expected_pa(now.refrigerant, beside[1]),
            indoors_known="return_air_temperature" in now.measured,
        )
        left_s = max(waited.of_seconds - now.rested_s, 0.0)
        found = waited if now.rested_s < READ_AFTER_S else _found(now, waited)
        return replace(waited, seconds_left=left_s) if left_s and not _is_final(found, now) else found
    except CalcRangeError:  # a reading beyond all physics is a doubt, and told as such
        return None


def shows_no_air(now: Situation) -> bool:
    """Tell whether no air is seen in the pressure at rest; not where none was read, or it tells nothing."""
    beside = coldest_air(now.at_rest)
    if beside is None or not {"liquid_pressure", "suction_pressure"} & now.at_rest.keys():
        return False
    try:
        return _found(now, Rest(0.0, *beside, expected_pa=beside[1])).found is Found.NO_AIR
    except CalcRangeError:
        return False


def _is_final(rest: Rest, now: Situation) -> bool:
    """Tell whether no waiting changes it: what still comes down to a colder coil is higher, or not one, only as yet."""
    outdoor_k = now.measured["outdoor_air_temperature"]
    if rest.found is Found.HIGHER and rest.over_dk is not None:
        return rest.air_k.value + rest.over_dk.value > outdoor_k.value + _SURE * rest.over_dk.standard_uncertainty
    return rest.found in (Found.NO_AIR, Found.LOWER)


def _expected_pa(refrigerant: str, air_k: Estimate) -> Estimate:
    spread_dk = math.hypot(air_k.standard_uncertainty, _COIL_SPREAD_DK)
    low, middle, high = (bubble_pressure(refrigerant, air_k.value + by * spread_dk) for by in (-1.0, 0.0, 1.0))
    return Estimate(middle, (high - low) / 2)


def _found(now: Situation, waited: Rest) -> Rest:
    measured_pa = now.at_rest.get("liquid_pressure", now.at_rest.get("suction_pressure"))
    beside, air_k = coldest_air(now.at_rest) or (waited.beside, waited.air_k)
    if measured_pa is None:
        return replace(waited, found=Found.NOT_ONE)
    low, middle, high = (
        bubble_point(now.refrigerant, measured_pa.value + by * measured_pa.standard_uncertainty)
        for by in (-1.0, 0.0, 1.0)
    )
    spread_dk = math.hypot((high - low) / 2, air_k.standard_uncertainty, _COIL_SPREAD_DK)
    over_dk = Estimate(middle - air_k.value, spread_dk)
    found = Found.NO_AIR if over_dk.value <= spread_dk else Found.A_LITTLE
    if abs(over_dk.value) > _SURE * spread_dk:
        found = Found.HIGHER if over_dk.value > 0 else Found.LOWER
    expected_pa = _expected_pa(now.refrigerant, air_k)
    return Rest(0.0, beside, air_k, expected_pa, found, measured_pa, over_dk, waited.indoors_known)
