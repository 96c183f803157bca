"""The insulation of a winding to the case: its megohms brought to 40 °C, and how many there should be.

Insulation conducts better the warmer it is, so only readings brought to one temperature can be held against a limit or
against an earlier reading. How much better depends on what it is made of.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from calc.comparing import Outcome, compare, outcome
from calc.elementwise import takes_arrays, within
from calc.estimate import Estimate

_REFERENCE_K = 313.15
_HALVING_K = 10.0
_THERMOSETTING_ABOVE_K, _THERMOSETTING_BELOW_K = 4230.0, 1245.0
"""IEEE 43-2013, equations for thermosetting insulation above and below 40 °C: from memory."""
_GREATEST_OHM = 1e12
_MOHM = 1e6


class Insulation(StrEnum):
    """What a winding is insulated with, as IEEE 43 parts it.

    Thermoplastic is asphalt, shellac and the like, mostly of windings from before about 1970 (from memory).
    Thermosetting is polyester and epoxy, of most since.
    """

    THERMOPLASTIC = "thermoplastic"
    THERMOSETTING = "thermosetting"


class Winding(StrEnum):
    """Which limit holds for a winding where its maker gives none."""

    HERMETIC = "hermetic"
    RANDOM_WOUND = "random_wound"
    FORM_WOUND = "form_wound"
    BEFORE_1970 = "before_1970"


_RANGES_K = {Insulation.THERMOPLASTIC: (273.15, 373.15), Insulation.THERMOSETTING: (283.15, 358.15)}
_LEAST_MOHM = {
    Winding.HERMETIC: (1.0, "1 Mohm: a rule of thumb for hermetic compressors (from memory; makers print 2 to 50)"),
    Winding.RANDOM_WOUND: (5.0, "5 Mohm: IEEE 43 for random-wound stators, and form-wound ones below 1 kV, as quoted"),
    Winding.FORM_WOUND: (100.0, "100 Mohm: IEEE 43 for form-wound windings made after about 1970, as quoted"),
    Winding.BEFORE_1970: (1.0, "1 Mohm and 1 more for each kV: IEEE 43 for windings made before about 1970, as quoted"),
}


@dataclass(frozen=True, slots=True)
class InsulationVerdict:
    """Whether insulation reaches its limit, the limit [ohm], and who says so."""

    outcome: Outcome
    least_ohm: float
    source: str


@takes_arrays
def insulation_at_40_degc(
    resistance_ohm: float,
    winding_temperature_k: float,
    *,
    insulation: Insulation,
    resistance_standard_uncertainty_ohm: float,
    temperature_standard_uncertainty_k: float,
) -> Estimate:
    """Bring the resistance of insulation to 40 °C, as IEEE 43 does for its class.

    Thermoplastic insulation halves with every 10 K (IEEE 43, as quoted in test guides). Thermosetting follows
    exp(-B (1/T - 1/313 K)), with B of 4230 K from 40 °C on and 1245 K below (IEEE 43-2013, from memory). Both are rules
    for many machines: a later reading at the same temperature tells more than any correction. Below the dew point of
    the air, water on the surface is measured, not insulation.

    Args:
        resistance_ohm: after one minute of test voltage, 0 to 1e12 [ohm].
        winding_temperature_k: of the winding, not of the air; thermoplastic 0 to 100 °C, thermosetting 10 to 85 °C [K].
        insulation: its class.
        resistance_standard_uncertainty_ohm: half of the instrument's ± limit [ohm].
        temperature_standard_uncertainty_k: likewise, 0 to 15 [K].

    Returns:
        The resistance at 40 °C [ohm].

    Raises:
        CalcRangeError: beyond these limits.

    >>> found = insulation_at_40_degc(  # a motor tester's guide in print: 500 Mohm at 25 °C are 177 Mohm at 40 °C
    ...     500e6, 298.15, insulation=Insulation.THERMOPLASTIC,
    ...     resistance_standard_uncertainty_ohm=0.0, temperature_standard_uncertainty_k=0.0)
    >>> round(found.value / 1e6)
    177

    """
    within("resistance_ohm", resistance_ohm, 0.0, _GREATEST_OHM, "ohm")
    low_k, high_k = _RANGES_K[insulation]
    because = f"the rule for {insulation} insulation covers no more"
    within("winding_temperature_k", winding_temperature_k, low_k, high_k, "K", because)
    within("resistance_standard_uncertainty_ohm", resistance_standard_uncertainty_ohm, 0.0, _GREATEST_OHM, "ohm")
    within("temperature_standard_uncertainty_k", temperature_standard_uncertainty_k, 0.0, 15.0, "K")
    share, per_k = _share_and_slope(winding_temperature_k, insulation)
    return Estimate(
        share * resistance_ohm,
        share
        * math.hypot(resistance_standard_uncertainty_ohm, per_k * temperature_standard_uncertainty_k * resistance_ohm),
    )


def _share_and_slope(temperature_k: float, insulation: Insulation) -> tuple[float, float]:
    """Give the factor to 40 °C, and by which share it changes with each kelvin."""
    if insulation is Insulation.THERMOPLASTIC:
        return 2 ** ((temperature_k - _REFERENCE_K) / _HALVING_K), math.log(2) / _HALVING_K
    b_k = _THERMOSETTING_ABOVE_K if temperature_k >= _REFERENCE_K else _THERMOSETTING_BELOW_K
    return math.exp(-b_k * (1 / temperature_k - 1 / _REFERENCE_K)), b_k / temperature_k**2


@takes_arrays
def insulation_verdict(
    at_40_degc: Estimate, winding: Winding, *, rated_voltage_v: float, maker_ohm: float | None = None
) -> InsulationVerdict:
    """Tell whether insulation reaches what its maker asks for, else what the rule for its kind of winding does.

    Refrigerant and oil in the shell conduct: a compressor that fails cold may pass after an hour of its crankcase
    heater (common practice, no source).

    Args:
        at_40_degc: of `insulation_at_40_degc` [ohm].
        winding: which rule holds where the maker gives no figure.
        rated_voltage_v: line to line, 1 to 1e5 [V].
        maker_ohm: the maker's least, above 0 to 1e12 [ohm].

    Raises:
        CalcRangeError: beyond these limits.

    >>> verdict = insulation_verdict(Estimate(8e6, 0.5e6), Winding.RANDOM_WOUND, rated_voltage_v=230.0)
    >>> verdict.outcome.value, verdict.least_ohm / 1e6  # 5 Mohm: IEEE 43, as quoted
    ('met', 5.0)

    """
    within("rated_voltage_v", rated_voltage_v, 1.0, 1e5, "V")
    if maker_ohm is not None:
        least_ohm, source = within("maker_ohm", maker_ohm, 1.0, _GREATEST_OHM, "ohm"), "the maker"
    else:
        least_mohm, source = _LEAST_MOHM[winding]
        least_ohm = _MOHM * least_mohm
    if maker_ohm is None and winding is Winding.BEFORE_1970:
        least_ohm += _MOHM * rated_voltage_v / 1000
    return InsulationVerdict(outcome(compare(at_40_degc, least_ohm, math.inf)), least_ohm, source)
