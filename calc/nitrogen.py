"""The standing pressure test with nitrogen: what the temperature of the pipes did, and what is lost beyond that.

Pressures are absolute: those of a gauge count from the air, which moves by itself by a kilopascal over a day of
changing weather. Cautions: `calc.cautions`.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from calc.comparing import Met, compare
from calc.elementwise import takes_arrays, within
from calc.estimate import Estimate
from calc.molar_mass import GAS_CONSTANT
from calc.uncertainty import propagate

_ATTRACTION = 0.137
"""Van der Waals' a of nitrogen, 1.37 bar L²/mol² in handbooks (from memory) [Pa m6/mol2]."""
_MODEL_PER_PA = 3e-9
"""By which share of the swing it errs per pascal, from 250 to 330 K: against CoolProp 8.0.0."""
_LOWEST_PA, _HIGHEST_PA = 100e3, 5e6
_COLDEST_K, _WARMEST_K = 233.15, 353.15
NOTICEABLE_LOSS_PA = 6894.757
"""1 psi, the loss that matters where nobody says another: common practice, no source."""


class Finding(StrEnum):
    """What a standing pressure test found."""

    HELD = "held"
    LEAK = "leak"
    CANNOT_TELL = "cannot tell"
    ROSE = "rose"


@dataclass(frozen=True, slots=True)
class NitrogenTest:
    """A finding and why, what the gauge should read at the last temperature [Pa], and what is lost beyond that [Pa]."""

    finding: Finding
    reason: str
    expected: Estimate
    loss: Estimate


def nitrogen_pressure(start_pressure_pa: float, start_temperature_k: float, *, end_temperature_k: float) -> float:
    """Compute what nitrogen in a closed circuit presses with at another temperature of its pipes.

    p2 = p1 + (p1 + a n²) (T2 / T1 - 1) with n = p1 / (R T1): the law of Gay-Lussac, with van der Waals' term for
    how far real nitrogen swings more, 3 % of the swing at 1.3 MPa. The pipes are taken as of one volume and
    one temperature.

    Args:
        start_pressure_pa: absolute, 100 kPa to 5 MPa [Pa].
        start_temperature_k: of the pipes, -40 to 80 °C [K].
        end_temperature_k: likewise [K].

    Returns:
        The pressure at the end temperature, absolute [Pa].

    Raises:
        CalcRangeError: beyond these limits.

    >>> psi = 6894.757
    >>> pressure_pa = nitrogen_pressure(150 * psi + 101325, 299.817, end_temperature_k=294.261)  # 80 and 70 °F
    >>> round((pressure_pa - 101325) / psi, 1)  # by p2 = p1 T2 / T1 as manuals print it: 146.9 psig
    146.9

    """
    within("start_pressure_pa", start_pressure_pa, _LOWEST_PA, _HIGHEST_PA, "Pa")
    within("start_temperature_k", start_temperature_k, _COLDEST_K, _WARMEST_K, "K")
    within("end_temperature_k", end_temperature_k, _COLDEST_K, _WARMEST_K, "K")
    per_m3 = start_pressure_pa / (GAS_CONSTANT * start_temperature_k)
    swings = end_temperature_k / start_temperature_k - 1
    return start_pressure_pa + (start_pressure_pa + _ATTRACTION * per_m3**2) * swings


@takes_arrays
def nitrogen_test(
    start_pressure_pa: float,
    end_pressure_pa: float,
    *,
    start_temperature_k: float,
    end_temperature_k: float,
    pressure_standard_uncertainty_pa: float,
    temperature_standard_uncertainty_k: float,
    noticeable_loss_pa: float = NOTICEABLE_LOSS_PA,
) -> NitrogenTest:
    """Judge a standing pressure test.

    A loss, or a rise, beyond its own ± (k = 2) is one. Within it the circuit held, if the loss that matters is
    ruled out (calc.comparing); else these instruments cannot tell. Each of the four readings counts with its whole
    uncertainty: what one gauge is off both times would cancel, which is not relied on.

    Args:
        start_pressure_pa: absolute, 100 kPa to 5 MPa [Pa].
        end_pressure_pa: likewise, from 0 [Pa].
        start_temperature_k: of the pipes, -40 to 80 °C [K].
        end_temperature_k: likewise [K].
        pressure_standard_uncertainty_pa: half of the gauge's ± limit [Pa].
        temperature_standard_uncertainty_k: half of the thermometer's [K].
        noticeable_loss_pa: the loss that matters [Pa].

    Raises:
        CalcRangeError: beyond these limits.

    >>> psi = 6894.757
    >>> found = nitrogen_test(
    ...     164.7 * psi, 161.6 * psi, start_temperature_k=299.817, end_temperature_k=294.261,
    ...     pressure_standard_uncertainty_pa=0.1 * psi, temperature_standard_uncertainty_k=0.1)
    >>> found.finding.value, round(found.loss.value / psi, 1)
    ('held', -0.0)

    """
    within("noticeable_loss_pa", noticeable_loss_pa, 1.0, _HIGHEST_PA, "Pa")

    def loss_pa(*, start_pressure_pa: float, start_k: float, end_pressure_pa: float, end_k: float) -> float:
        within("end_pressure_pa", end_pressure_pa, 0.0, 2 * _HIGHEST_PA, "Pa")
        return nitrogen_pressure(start_pressure_pa, start_k, end_temperature_k=end_k) - end_pressure_pa

    readings = {
        "start_pressure_pa": Estimate(start_pressure_pa, pressure_standard_uncertainty_pa),
        "start_k": Estimate(start_temperature_k, temperature_standard_uncertainty_k),
        "end_pressure_pa": Estimate(end_pressure_pa, pressure_standard_uncertainty_pa),
        "end_k": Estimate(end_temperature_k, temperature_standard_uncertainty_k),
    }
    budget = propagate(loss_pa, readings)
    swing_pa = budget.value + end_pressure_pa - start_pressure_pa
    model_pa = _MODEL_PER_PA * start_pressure_pa * abs(swing_pa)
    loss = Estimate(budget.value, math.hypot(model_pa, *budget.contributions.values()))
    before = [part for name, part in budget.contributions.items() if name != "end_pressure_pa"]
    expected = Estimate(budget.value + end_pressure_pa, math.hypot(model_pa, *before))
    return NitrogenTest(*_judge(loss, noticeable_loss_pa, budget.leading_input), expected, loss)


def _judge(loss: Estimate, noticeable_pa: float, leading_input: str | None) -> tuple[Finding, str]:
    if loss.value > loss.expanded():
        return Finding.LEAK, "more is lost than the temperature explains: find where, with bubbles or a detector"
    if loss.value < -loss.expanded():
        return Finding.ROSE, (
            "it rose by more than the temperature explains: see that the regulator is shut off and the clamp sits on "
            "the pipe, in the shade, then begin anew"
        )
    if isinstance(compare(loss, -float("inf"), noticeable_pa), Met):
        return (
            Finding.HELD,
            "nothing is lost that these instruments see, and the loss that matters is ruled out",
        )
    if leading_input in ("start_k", "end_k"):
        return Finding.CANNOT_TELL, (
            "what is lost is within the ±, most of it of the pipes' temperature: read it better, in the shade, or wait "
            "until it is what it was"
        )
    return (
        Finding.CANNOT_TELL,
        "what is lost is within the ±, most of it of the gauge: wait longer, or take a finer one",
    )
