"""How far refrigerant is recovered before a circuit is opened, by 40 CFR 82.156, and how long that takes.

The level is verified before the circuit is opened: it goes into the record. Local rules may ask for more.
"""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from calc.elementwise import takes_arrays, within
from calc.estimate import Estimate
from calc.quantities import STANDARD_PRESSURE_PA
from calc.refrigerants import get
from calc.saturation import bubble_pressure
from calc.uncertainty import propagate

SINCE = date(1993, 11, 15)
"""A recovery machine made on or after this day has to reach more."""
SMALL_CHARGE_KG = 5 * 0.45359237
LARGE_CHARGE_KG = 200 * 0.45359237
_INCH_OF_MERCURY_PA = 3386.389
_SMALL_INCHES = 4.0
"""40 CFR 82.156(b), as examination guides print it; that 80 % will do with a machine of before `SINCE`: from memory."""
_LOW_PRESSURE_LEVEL_PA = 25 * 133.3224
_PSI_PA = 6894.757
_AT_K = 313.15
_ROUNDING = 1e-9
_GREATEST_KG = 1e5
_GREATEST_KG_PER_S = 100.0


class PressureClass(StrEnum):
    """The kinds of appliance that 40 CFR 82.152 tells apart, by the pressure of its refrigerant's liquid at 104 °F."""

    LOW = "low"
    MEDIUM = "medium"
    HIGH = "high"
    VERY_HIGH = "very_high"


class Opening(StrEnum):
    """What the circuit is opened for.

    A major repair takes out a compressor, condenser, evaporator or auxiliary heat exchanger (82.152, from memory).
    """

    MAJOR = "major"
    NOT_MAJOR = "not_major"
    LEAKING = "leaking"


_UPPER_PSIA = ((45.0, PressureClass.LOW), (170.0, PressureClass.MEDIUM), (355.0, PressureClass.HIGH))
_INCHES = {
    (PressureClass.MEDIUM, False): (4.0, 10.0),
    (PressureClass.MEDIUM, True): (4.0, 15.0),
    (PressureClass.HIGH, False): (0.0, 0.0),
    (PressureClass.HIGH, True): (4.0, 10.0),
    (PressureClass.VERY_HIGH, False): (0.0, 0.0),
    (PressureClass.VERY_HIGH, True): (0.0, 0.0),
}
"""40 CFR 82.156, table 1 [inches of mercury below 29.9]: with a machine of before, and since, `SINCE`."""


@dataclass(frozen=True, slots=True)
class RecoveryLevel:
    """How far down, and why.

    Attributes:
        pressure_pa: at most, absolute [Pa].
        row: of the table, or the paragraph.
        why: it is this one.

    """

    pressure_pa: float
    row: str
    why: str


@takes_arrays
def class_of_pressure(liquid_pressure_pa: float) -> PressureClass:
    """Give the class by the pressure of the liquid at 104 °F: below 45, 170 or 355 psia, or above (40 CFR 82.152).

    Args:
        liquid_pressure_pa: absolute, 0 to 20 MPa [Pa].

    Raises:
        CalcRangeError: beyond these limits.

    >>> class_of_pressure(100 * 6894.757).value
    'medium'

    """
    psia = within("liquid_pressure_pa", liquid_pressure_pa, 0.0, 20e6, "Pa") / _PSI_PA
    return next((kind for upper_psia, kind in _UPPER_PSIA if psia < upper_psia), PressureClass.VERY_HIGH)


def pressure_class(refrigerant: str) -> PressureClass:
    """Give the class of an appliance by its refrigerant; very high where it has no liquid at 104 °F.

    Raises:
        UnknownNameError: an unknown refrigerant.

    >>> pressure_class("R-410A").value, pressure_class("R-134a").value  # 352 and 147 psia
    ('high', 'medium')

    """
    facts = get(refrigerant)
    if facts.critical_temperature_k < _AT_K:
        return PressureClass.VERY_HIGH
    return class_of_pressure(bubble_pressure(facts.designation, _AT_K))


@takes_arrays
def recovery_level(
    kind: PressureClass,
    full_charge_kg: float,
    *,
    machine_made: date,
    opening: Opening = Opening.MAJOR,
    is_small_appliance: bool = False,
    barometric_pressure_pa: float = STANDARD_PRESSURE_PA,
) -> RecoveryLevel:
    """Give the pressure down to which refrigerant is recovered before a circuit is opened (40 CFR 82.156(a)).

    The table's vacuum counts from 29.9 inches of mercury wherever one is; 0 psig from the air of the place. Where
    both would do, the lower. Air conditioners of vehicles have rules of their own.

    Args:
        kind: of `pressure_class`; low where the refrigerant is one of chillers, such as R-123.
        full_charge_kg: of the circuit, or of the part that can be isolated, above 0 to 1e5 [kg].
        machine_made: when the recovery machine was made.
        opening: not major, only where it is not evacuated to the air afterwards; leaking, where leaks make the table's
            level unattainable or would spoil what is recovered.
        is_small_appliance: filled and sealed in a factory with 5 lb or less: 82.156(b) holds, for whatever opening.
        barometric_pressure_pa: of the place, 40 to 180 kPa [Pa].

    Raises:
        CalcRangeError: beyond these limits, or no small appliance holds so much.

    >>> level = recovery_level(PressureClass.HIGH, 100.0, machine_made=date(2020, 1, 1))
    >>> round((101325 - level.pressure_pa) / 3386.389)  # the table: 10 inches of mercury for 200 lb and more
    10

    """
    within("full_charge_kg", full_charge_kg, 1e-3, _GREATEST_KG, "kg")
    within("barometric_pressure_pa", barometric_pressure_pa, 40e3, 180e3, "Pa")
    if is_small_appliance:
        return _of_small_appliances(full_charge_kg, machine_made)
    if opening is Opening.NOT_MAJOR:
        return RecoveryLevel(
            barometric_pressure_pa,
            "82.156(a)(1): 0 psig at most",
            "the repair is not major, and the circuit is not evacuated to the air after it",
        )
    if opening is Opening.LEAKING:
        return RecoveryLevel(
            barometric_pressure_pa,
            "82.156(a)(2): as low as can be without spoiling what is recovered, and 0 psig at most",
            "it leaks: isolate what does not leak and recover that to the level of the table",
        )
    if kind is PressureClass.LOW:
        return RecoveryLevel(_LOW_PRESSURE_LEVEL_PA, "table 1: low pressure, 25 mmHg absolute", "of any size and date")
    return _of_the_table(kind, full_charge_kg, machine_made, barometric_pressure_pa)


def _of_small_appliances(full_charge_kg: float, machine_made: date) -> RecoveryLevel:
    most_kg = SMALL_CHARGE_KG * (1 + _ROUNDING)
    within("full_charge_kg", full_charge_kg, 0.0, most_kg, "kg", "a small appliance holds 5 lb at most")
    by_mass = "90 % of the charge with its compressor running, 80 % without" if machine_made >= SINCE else "80 % of it"
    return RecoveryLevel(
        STANDARD_PRESSURE_PA - _SMALL_INCHES * _INCH_OF_MERCURY_PA,
        f"82.156(b): {_SMALL_INCHES:g} inHg of vacuum, or {by_mass} by the scale",
        f"a small appliance, and the machine was made on {machine_made}",
    )


def _of_the_table(
    kind: PressureClass, full_charge_kg: float, machine_made: date, barometric_pressure_pa: float
) -> RecoveryLevel:
    is_large = full_charge_kg >= LARGE_CHARGE_KG * (1 - _ROUNDING)
    is_new = machine_made >= SINCE
    inches = _INCHES[kind, is_large][is_new]
    size = "200 lb and more" if is_large else "under 200 lb"
    made = "on or after" if is_new else "before"
    charge = f"{full_charge_kg:.1f} kg is {size}"
    return RecoveryLevel(
        min(STANDARD_PRESSURE_PA - inches * _INCH_OF_MERCURY_PA, barometric_pressure_pa),
        f"table 1: {kind.replace('_', ' ')} pressure, {size}, machine made {made} {SINCE}: {inches:g} inHg of vacuum",
        f"{charge}, and the machine was made on {machine_made}",
    )


@takes_arrays
def recovery_time(
    mass_kg: float,
    vapour_kg_per_s: float,
    *,
    liquid_mass_kg: float = 0.0,
    liquid_kg_per_s: float | None = None,
    mass_standard_uncertainty_kg: float,
    rate_standard_uncertainty_ratio: float,
) -> Estimate:
    """Compute how long a recovery takes: what leaves as liquid over its rate, and the rest as vapour over its own.

    By the rate of the machine's plate, or better by what the scale gained in the last minutes. The last vapour takes
    longer, for the rate falls with the pressure.

    Args:
        mass_kg: still to be recovered, 0 to 1e5 [kg].
        vapour_kg_per_s: rate as vapour, above 0 to 100 [kg/s].
        liquid_mass_kg: of that, what leaves as liquid, 0 to all of it [kg].
        liquid_kg_per_s: rate as liquid, above 0 to 100; None where none leaves as liquid [kg/s].
        mass_standard_uncertainty_kg: half of its ± [kg].
        rate_standard_uncertainty_ratio: half of the rates' ±, 0 to 0.4.

    Returns:
        The time [s].

    Raises:
        CalcRangeError: beyond these limits.

    >>> found = recovery_time(
    ...     10.0, 0.005, liquid_mass_kg=8.0, liquid_kg_per_s=0.05,
    ...     mass_standard_uncertainty_kg=0.0, rate_standard_uncertainty_ratio=0.0)
    >>> found.value  # by division: 160 s and 400 s
    560.0

    """
    as_liquid_kg_per_s = vapour_kg_per_s if liquid_kg_per_s is None else liquid_kg_per_s
    within("vapour_kg_per_s", vapour_kg_per_s, 1e-6, _GREATEST_KG_PER_S, "kg/s")
    within("liquid_kg_per_s", as_liquid_kg_per_s, 1e-6, _GREATEST_KG_PER_S, "kg/s")
    within("rate_standard_uncertainty_ratio", rate_standard_uncertainty_ratio, 0.0, 0.4, "")
    within("mass_kg", mass_kg, 0.0, _GREATEST_KG, "kg")
    within("liquid_mass_kg", liquid_mass_kg, 0.0, mass_kg, "kg", "no more leaves as liquid than there is")

    def time_s(*, mass_kg: float, rates: float) -> float:
        return (liquid_mass_kg / as_liquid_kg_per_s + (mass_kg - liquid_mass_kg) / vapour_kg_per_s) / rates

    return propagate(
        time_s,
        {
            "mass_kg": Estimate(mass_kg, mass_standard_uncertainty_kg),
            "rates": Estimate(1.0, rate_standard_uncertainty_ratio),
        },
    ).estimate
