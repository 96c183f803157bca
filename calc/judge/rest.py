"""What a unit at rest shows: the pressure to wait for at the outdoor air, and whether it is higher, as air makes it."""

import math
from dataclasses import dataclass
from enum import StrEnum

from calc.errors import CalcRangeError
from calc.estimate import Estimate
from calc.judge.running import BEFORE_START_S, RESTED_S
from calc.saturation import bubble_point, bubble_pressure
from calc.situation import Situation

_OUTDOOR_SPREAD_DK = 2.0 * 5 / 9
"""How far a condenser at rest is from the air around it, for sun and wind (k = 1): common practice, no source."""

READ_AFTER_S = RESTED_S + BEFORE_START_S + 5.0
"""By then a reading that stood for a while is there, if any is."""

_SURE = 2.0  # standard uncertainties


class Found(StrEnum):
    """What came of it."""

    NO_AIR = "no air"
    HIGHER = "higher"
    LOWER = "lower"
    NOT_ONE = "not one"


@dataclass(frozen=True, slots=True)
class Rest:
    """The check at rest.

    Attributes:
        seconds_left: until it may be read [s].
        outdoor_k: of the air around the condenser [K].
        expected_pa: saturation of the refrigerant on the plate at that temperature, absolute [Pa].
        found: what came of it; None while it is waited for.
        measured_pa: at rest, absolute [Pa]; None where the two sides have not become one.
        over_dk: saturation at that pressure less the outdoor temperature [K]; likewise.

    """

    seconds_left: float
    outdoor_k: Estimate
    expected_pa: Estimate
    found: Found | None = None
    measured_pa: Estimate | None = None
    over_dk: Estimate | None = None


def check_at_rest(now: Situation) -> Rest | None:
    """Tell how far the check at rest is, and what it shows; None where its instruments are not there.

    Raises:
        UnknownNameError: an unknown refrigerant.

    >>> seen = {"liquid_pressure": Estimate(1.5e6, 5e3), "outdoor_air_temperature": Estimate(293.15, 0.2)}
    >>> check_at_rest(Situation(refrigerant="R-410A", measured=seen, rested_s=60.0)).seconds_left
    575.0

    """
    outdoor_k = now.measured.get("outdoor_air_temperature")
    has_pressure = "liquid_pressure" in now.measured or "suction_pressure" in now.measured
    if now.rested_s is None or outdoor_k is None or not has_pressure:
        return None
    try:
        waited = Rest(max(READ_AFTER_S - now.rested_s, 0.0), outdoor_k, _expected_pa(now.refrigerant, outdoor_k))
        return waited if waited.seconds_left else _found(now, waited)
    except CalcRangeError:  # a reading beyond all physics is a doubt, and told as such
        return None


def _expected_pa(refrigerant: str, outdoor_k: Estimate) -> Estimate:
    spread_dk = math.hypot(outdoor_k.standard_uncertainty, _OUTDOOR_SPREAD_DK)
    low, middle, high = (bubble_pressure(refrigerant, outdoor_k.value + by * spread_dk) for by in (-1.0, 0.0, 1.0))
    return Estimate(middle, (high - low) / 2)


def _found(now: Situation, waited: Rest) -> Rest:
    measured_pa = now.at_rest.get("liquid_pressure", now.at_rest.get("suction_pressure"))
    outdoor_k = now.at_rest.get("outdoor_air_temperature", waited.outdoor_k)
    if measured_pa is None:
        return Rest(0.0, outdoor_k, waited.expected_pa, Found.NOT_ONE)
    expected_pa = _expected_pa(now.refrigerant, outdoor_k)
    low, middle, high = (
        bubble_point(now.refrigerant, measured_pa.value + by * measured_pa.standard_uncertainty)
        for by in (-1.0, 0.0, 1.0)
    )
    spread_dk = math.hypot((high - low) / 2, outdoor_k.standard_uncertainty, _OUTDOOR_SPREAD_DK)
    over_dk = Estimate(middle - outdoor_k.value, spread_dk)
    found = Found.NO_AIR
    if abs(over_dk.value) > _SURE * spread_dk:
        found = Found.HIGHER if over_dk.value > 0 else Found.LOWER
    return Rest(0.0, outdoor_k, expected_pa, found, measured_pa, over_dk)
