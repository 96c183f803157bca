"""Which amps a compressor may be expected to draw at some conditions, with an honest ±.

The compressor maker's chart by evaporating and condensing temperature comes first: it knows, this does not. The rated
load amps on the plate are no limit and no expectation: they are the greatest continuous current over 1.56, or 1.44.
"""

import math
from dataclasses import dataclass

from calc.elementwise import takes_arrays, within
from calc.estimate import Estimate
from calc.normalised import POWER_STANDARD_UNCERTAINTY_RATIO, RATED_OUTDOOR_K, RATED_WET_BULB_K, cooling_ratios
from calc.uncertainty import propagate

RATED_SHARE = Estimate(0.70, 0.08)
"""Of the rated load amps, at 67 °F entering wet bulb and 95 °F outdoors: 0.6 to 0.8, from memory."""
_EXPONENT = Estimate(0.85, 0.18)
"""How amps follow the fits' total power: 0.54 for a maker's table of compressor power, 1.15 for a compressor measured
in a laboratory, anywhere between as likely. That amps go with the compressor's power is from memory."""
_VOLTS_EXPONENT = Estimate(-1.0, 0.3)
"""The same power takes amps the other way round as volts; motors depart from that: common practice, no source."""
NO_LIMIT = (
    "RLA is no limit: above it look at volts, head and air. The compressor maker's chart comes first. Stop where the "
    "overload trips, and before 1.4 times RLA (from memory)."
)
_ABOVE = (
    "above the rated amps: see volts, head pressure and outdoor air, whatever was expected. RLA of a compressor is no "
    "limit, FLA of a fan is one"
)
STOP_RATIO = 1.4
"""Of the rated load amps, which makers take from the trip by 1.4 or 1.56: from memory."""
NO_GAUGE_OF_CHARGE = (
    "amps tell no charge: 20 % less of it moves the power by 1 to 5 % (NIST TN 1848 and another study), within this ±"
)
_CURRENT_A = (0.5, 1000.0)


@dataclass(frozen=True, slots=True)
class Conditions:
    """What a compressor works against: entering wet bulb and outdoor dry bulb [K], and its supply [V]."""

    return_wet_bulb_k: float
    outdoor_k: float
    voltage_v: float


@takes_arrays
def current_by_nameplate(rated_load_a: float, *, now: Conditions, nameplate_v: float) -> Estimate:
    """Expect amps from the plate's rated load amps: a wide guess, some ± 25 %.

    Args:
        rated_load_a: RLA of the compressor, 0.5 to 1000 [A].
        now: the conditions, within those of `calc.normalised` and within 15 % of the plate's volts.
        nameplate_v: [V].

    Raises:
        CalcRangeError: beyond these limits.

    >>> now = Conditions(292.594, 308.15, 230.0)
    >>> found = current_by_nameplate(20.0, now=now, nameplate_v=230.0)  # rated conditions: 0.70 of it, known to 0.08
    >>> round(found.value, 1), round(found.expanded(), 1)
    (14.0, 3.2)

    """
    within("rated_load_a", rated_load_a, *_CURRENT_A, "A")
    base = Estimate(RATED_SHARE.value * rated_load_a, RATED_SHARE.standard_uncertainty * rated_load_a)
    return _scaled(base, Conditions(RATED_WET_BULB_K, RATED_OUTDOOR_K, nameplate_v), now)


@takes_arrays
def current_by_reading(current: Estimate, *, then: Conditions, now: Conditions) -> Estimate:
    """Expect amps from a reading of the same compressor, when it was known to be sound.

    Args:
        current: read then, 0.5 to 1000 [A].
        then: the conditions of that reading, within those of `calc.normalised`.
        now: the conditions to expect for, likewise, and within 15 % of its volts.

    Raises:
        CalcRangeError: beyond these limits.

    >>> then = Conditions(292.594, 308.15, 230.0)
    >>> found = current_by_reading(Estimate(14.0, 0.2), then=then, now=Conditions(292.594, 313.15, 230.0))
    >>> round(found.value, 1), round(found.expanded(), 1)
    (15.3, 1.0)

    """
    within("current", current.value, *_CURRENT_A, "A")
    return _scaled(current, then, now)


def _scaled(current: Estimate, then: Conditions, now: Conditions) -> Estimate:
    within("voltage_v", then.voltage_v, 50.0, 1000.0, "V")
    low_v, high_v = 0.85 * then.voltage_v, 1.15 * then.voltage_v
    within("voltage_v", now.voltage_v, low_v, high_v, "V", "so far off nothing is expected of a motor")
    power_before, power_now = (cooling_ratios(it.return_wet_bulb_k, it.outdoor_k).power_ratio for it in (then, now))
    power, volts = power_now / power_before, now.voltage_v / then.voltage_v

    def model(*, amps: float, exponent: float, volts_exponent: float, relation: float) -> float:
        moved: float = relation * amps * power**exponent * volts**volts_exponent
        return moved

    inputs = {"amps": current, "exponent": _EXPONENT, "volts_exponent": _VOLTS_EXPONENT}
    inputs |= {"relation": Estimate(1.0, POWER_STANDARD_UNCERTAINTY_RATIO)}
    return propagate(model, inputs).estimate


def against_rated_load(measured_a: float, rated_load_a: float) -> str:
    """Say what measured amps ask for by the plate's rated amps alone; nothing up to these.

    >>> against_rated_load(26.0, 18.0)
    'STOP: 1.44 times the rated amps, and 1.4 is the most. Switch off; see volts, head pressure and capacitor first'
    """
    ratio = round(measured_a / rated_load_a, 6)
    if ratio >= STOP_RATIO:
        return (
            f"STOP: {ratio:.2f} times the rated amps, and {STOP_RATIO:g} is the most. Switch off; see volts, head "
            "pressure and capacitor first"
        )
    return _ABOVE if ratio > 1 else ""


def judge_current(measured: Estimate, expected: Estimate) -> str:
    """Say how measured amps stand to those expected, both within their ±: unlike, or not to be told apart.

    >>> judge_current(Estimate(14.5, 0.2), Estimate(14.0, 1.6)).split(":")[0]
    'as expected within the ±'
    """
    off = Estimate(
        measured.value - expected.value, math.hypot(measured.standard_uncertainty, expected.standard_uncertainty)
    )
    if abs(off.value) <= off.expanded():
        return "as expected within the ±: amps say how hard it works, not how well"
    if off.value > 0:
        return "more than expected: see volts, head pressure, outdoor air and the motor's capacitor"
    return "less than expected: light load, low charge, leaking valves, or a three-phase scroll that turns backwards"
