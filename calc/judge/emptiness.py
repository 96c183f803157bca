"""Whether a circuit at rest is in a vacuum, or holds next to nothing: nobody starts it then.

A compressor in a vacuum arcs at its terminals and burns out. Where any liquid is left at rest, both sides come to its
saturation in the coldest coil. While a machine draws on it, liquid that boils stands far colder than the air: only a
pressure that stands tells of emptiness (40 CFR 82.156 in spirit: drawn down, and seen to hold; from memory). The limits
are common practice, no source.
"""

from dataclasses import dataclass
from enum import StrEnum

from calc.errors import CalcRangeError
from calc.estimate import Estimate
from calc.judge.running import draws_current, has_power, is_running
from calc.resting_air import coldest_air
from calc.saturation import bubble_pressure
from calc.situation import Situation

_BESIDE_AIR_PA = 7e3
"""1 psi: weather, or a barometer that is not there, moves 0 psig by less (common practice, no source)."""

_OF_SATURATION = 0.25
"""So low a share of saturation in the coldest air leaves no liquid, by a wide margin (common practice, no source)."""

_STANDS_PA = 10e3
"""1.5 psi: what lies no farther from its mean over the last minute stands; a recovery machine moves it by more, and no
probe's noise does (common practice, no source)."""

_PRESSURES = ("suction_pressure", "liquid_pressure")


class Emptiness(StrEnum):
    """How little there is."""

    VACUUM = "vacuum"
    VACUUM_LIVE = "vacuum with power on"
    OPEN_OR_EMPTY = "open or empty"
    EMPTY = "empty"
    FALLING = "falling"
    RISING = "rising"


@dataclass(frozen=True, slots=True)
class Empty:
    """How little there is in a circuit at rest.

    Attributes:
        kind: in a vacuum; in one while a pair of its supply reads live, so that a timer, a call or a protector may
            start it; at the air's own pressure, as open probes read, too; far below what liquid would have; or as
            far below, and the pressure still falls, or rises.
        found_pa: the higher of the two sides, absolute [Pa].
        expected_pa: saturation in the coldest air, absolute [Pa]; None where no air is measured.
        air_k: the temperature of that air [K]; likewise.
        beside: which air: outdoor_air or return_air.

    """

    kind: Emptiness
    found_pa: Estimate
    expected_pa: float | None = None
    air_k: Estimate | None = None
    beside: str = ""


def emptiness(now: Situation, lately: Situation | None = None) -> Empty | None:
    """Tell how little there is in a circuit at rest; None where it runs by its amps, or holds more, or nothing tells.

    lately: with the means over the last minute; where nobody has them, or of a pressure not among them, it stands.

    A vacuum is told whatever else is in doubt, and by one side where one alone is read. That a circuit is empty is told
    by a liquid pressure beyond doubt: a valve may part the suction from all the liquid there is.

    Raises:
        UnknownNameError: an unknown refrigerant.

    >>> both = {name: Estimate(3e3, 1e3) for name in ("suction_pressure", "liquid_pressure")}
    >>> emptiness(Situation(refrigerant="R-410A", measured=both)).kind.value
    'vacuum'

    """
    fresh = now.fresh()
    pressures = [found for name in _PRESSURES if (found := fresh.measured.get(name))]
    if not pressures or draws_current(fresh):
        return None
    found_pa = max(pressures, key=lambda found: found.value)
    beside_air_pa = found_pa.value - now.site_pressure_pa
    cold = _in_the_cold(fresh)
    is_far_below = cold is not None and found_pa.value + found_pa.expanded() < _OF_SATURATION * cold[0]
    liquid_is_below_air = cold is not None and cold[0] < now.site_pressure_pa and not is_far_below
    parts = (found_pa, *(cold or ()))
    if beside_air_pa < -max(found_pa.expanded(), _BESIDE_AIR_PA) and not liquid_is_below_air:
        return Empty(Emptiness.VACUUM_LIVE if has_power(fresh) else Emptiness.VACUUM, *parts)
    at_rest = now.running_s == 0.0 and is_running(fresh) is not True
    is_sure = "liquid_pressure" in fresh.measured and now.unreliable.isdisjoint(_PRESSURES)
    if not (is_far_below and at_rest and is_sure):
        return None
    if (moving := _moving(fresh, lately)) is not None:
        return Empty(moving, *parts)
    is_open = beside_air_pa < max(found_pa.expanded(), _BESIDE_AIR_PA)
    return Empty(Emptiness.OPEN_OR_EMPTY if is_open else Emptiness.EMPTY, *parts)


def _moving(now: Situation, lately: Situation | None) -> Emptiness | None:
    """Tell which way the pressures still move, the one that moves most; None where they stand."""
    means = {} if lately is None else lately.measured
    moved_pa = (now.measured[name].value - means[name].value for name in now.measured.keys() & means & {*_PRESSURES})
    most_pa = max(moved_pa, key=abs, default=0.0)
    if abs(most_pa) <= _STANDS_PA:
        return None
    return Emptiness.RISING if most_pa > 0 else Emptiness.FALLING


def _in_the_cold(now: Situation) -> tuple[float, Estimate, str] | None:
    """Give saturation in the coldest air [Pa], that air's temperature [K], and which it is; None where none is known.

    One that is not to be relied on does not count.
    """
    air = coldest_air(now.relied_on().measured)
    if air is None:
        return None
    beside, air_k = air
    try:
        return bubble_pressure(now.refrigerant, air_k.value), air_k, beside
    except CalcRangeError:  # a reading beyond all physics is a doubt, and told as such
        return None
