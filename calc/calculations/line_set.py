"""Line sets: what both lines hold beyond the maker's length, what a rise costs, how fast gas goes up a riser."""

from collections.abc import Mapping
from functools import partial

from calc import line_set as lines
from calc import tubes
from calc.arguments import REFRIGERANT, Choice, Measure
from calc.calculation import Calculation, Values
from calc.calculations.saturation import EQUATIONS
from calc.cautions import Step, cautions
from calc.entry import Given, entry
from calc.estimate import Estimate
from calc.instruments import (
    COMMON,
    LIQUID_GAUGE,
    LIQUID_LIMIT_PA,
    SUCTION_GAUGE,
    SUCTION_LIMIT_PA,
    thermometer,
)
from calc.saturation import dew_pressure
from calc.tubes import Temper, acr_bore_m
from calc.units import parse_difference

_LOSS_PA = parse_difference("5 psi", "pressure_difference")
MAKER_FIRST = "The maker's figure for its lines comes first, and its limits for long lines and rises."


def _line_set(
    refrigerant: str,
    liquid_tube_m: float,
    vapour_tube_m: float,
    length_m: float,
    included_length_m: float,
    temper: Temper = Temper.SOFT,
    liquid_temperature_k: float = 310.928,
    evaporating_k: float = 280.372,
    superheat_dk: float = 10 / 1.8,
    length_accuracy_m: float = 0.3,
) -> Values:
    bores_m = [acr_bore_m(tube_m, temper) for tube_m in (liquid_tube_m, vapour_tube_m)]
    found = lines.line_set_charge(
        refrigerant,
        Estimate(length_m, length_accuracy_m / 2),
        included_length_m=included_length_m,
        liquid_bore_m=bores_m[0],
        vapour_bore_m=bores_m[1],
        liquid_temperature_k=liquid_temperature_k,
        suction_pressure_pa=dew_pressure(refrigerant, evaporating_k),
        suction_temperature_k=evaporating_k + superheat_dk,
    )
    return {
        "for_the_difference_kg": _size(found.total),
        "says": _WHICH_WAY[found.beyond_m >= 0],
        "of_that_liquid_kg": _size(found.liquid),
        "of_that_vapour_kg": _size(found.vapour),
        "vapour_share_ratio": found.vapour_share_ratio,
        "liquid_bore_m": bores_m[0],
        "vapour_bore_m": bores_m[1],
        "maker": MAKER_FIRST,
        "cautions": cautions(refrigerant, Step.WEIGH_IN),
    }


def _size(mass_kg: Estimate) -> Estimate:
    return Estimate(abs(mass_kg.value), mass_kg.standard_uncertainty)


_WHICH_WAY = {
    True: "more than the nameplate's charge, in cooling",
    False: "less than the nameplate's charge: the lines are shorter than the maker's, who says what to do then",
}


def _liquid_riser(
    refrigerant: str,
    liquid_pressure_pa: float,
    liquid_line_temperature_k: float,
    rise_m: float,
    barometric_pressure_pa: float,
    other_loss_dpa: float = _LOSS_PA,
    pressure_accuracy_pa: float = LIQUID_LIMIT_PA,
    temperature_accuracy_dk: float = 0.5,
    loss_accuracy_ratio: float = 0.5,
) -> Values:
    found = lines.liquid_riser(
        refrigerant,
        Estimate(liquid_pressure_pa, pressure_accuracy_pa / 2),
        liquid_temperature=Estimate(liquid_line_temperature_k, temperature_accuracy_dk / 2),
        rise=Estimate(rise_m, 0.0),
        other_loss=Estimate(other_loss_dpa, other_loss_dpa * loss_accuracy_ratio / 2),
    )
    return {
        "riser_head_swing_dpa": found.head.value,
        "subcooling_below_dk": found.subcooling_below,
        "subcooling_left_dk": found.subcooling_above,
        "finding": found.finding,
        "barometric_pressure_pa": barometric_pressure_pa,
        "maker": MAKER_FIRST,
    }


def _suction_riser(
    refrigerant: str,
    capacity_w: float,
    tube_m: float,
    suction_pressure_pa: float,
    suction_line_temperature_k: float,
    liquid_line_temperature_k: float,
    barometric_pressure_pa: float,
    temper: Temper = Temper.SOFT,
    capacity_accuracy_ratio: float = 0.15,
    pressure_accuracy_pa: float = SUCTION_LIMIT_PA,
    temperature_accuracy_dk: float = 0.5,
) -> Values:
    found = lines.riser_velocity(
        refrigerant,
        Estimate(capacity_w, capacity_w * capacity_accuracy_ratio / 2),
        bore_m=acr_bore_m(tube_m, temper),
        suction_pressure=Estimate(suction_pressure_pa, pressure_accuracy_pa / 2),
        suction_temperature=Estimate(suction_line_temperature_k, temperature_accuracy_dk / 2),
        liquid_temperature_k=liquid_line_temperature_k,
    )
    return {
        "velocity_m_per_s": found.velocity,
        "mass_flow_kg_per_s": found.mass_flow_kg_per_s,
        "finding": found.finding,
        "barometric_pressure_pa": barometric_pressure_pa,
        "maker": MAKER_FIRST,
    }


def _tube(example: str, otherwise: str | None = None) -> Given:
    kind = Measure("length", *tubes.OUTER_DIAMETERS_M)
    return Given(example, kind, otherwise=otherwise, says="the outer diameter", called=("outer_diameter_m",))


_TEMPERATURE = thermometer("the line temperature")
_GIVEN = {
    "refrigerant": Given("R-410A", REFRIGERANT),
    "liquid_tube_m": _tube("3/8in"),
    "vapour_tube_m": _tube("7/8in"),
    "length_m": Given("80ft", high=300.0, says="of each line, as it runs", called=("length",)),
    "included_length_m": Given("15ft", high=300.0, says="that the maker filled for: nameplate or manual"),
    "temper": Given("hard", Choice("temper", tuple(Temper)), otherwise="soft tube, as line sets are"),
    "liquid_temperature_k": Given(
        "100degF", low=233.15, high=353.15, otherwise=f"liquid at 100 °F (37.8 °C) {COMMON}", called=("temperature_k",)
    ),
    "evaporating_k": Given(
        "45degF",
        low=223.15,
        high=303.15,
        otherwise=f"suction gas with a dew point of 45 °F (7.2 °C) {COMMON}",
        called=("temperature_k", "pressure_pa"),
        says="dew point of the suction gas",
    ),
    "superheat_dk": Given("10degF", low=0.0, high=39.0, otherwise=f"10 °F (5.6 K) of superheat {COMMON}"),
    "length_accuracy_m": Given("1ft", high=10.0, otherwise=f"the length within ±0.3 m {COMMON}"),
}
_RISER = {
    "refrigerant": _GIVEN["refrigerant"],
    "liquid_pressure_pa": Given("350psig", called=("pressure_pa",)),
    "liquid_line_temperature_k": Given("97degF", low=173.15, high=473.15, called=("temperature_k",)),
    "rise_m": Given("30ft", low=-60.0, high=60.0, called=("rise",), says="up to the valve; below zero where it falls"),
    "other_loss_dpa": Given(
        "5psi",
        "pressure_swing",
        low=0.0,
        high=500e3,
        otherwise=f"5 psi (34 kPa) for friction, bends, drier and valves {COMMON}",
        called=("other_loss",),
    ),
    "loss_accuracy_ratio": Given("30%", high=2.0, otherwise=f"that loss within ±50 % {COMMON}"),
    "pressure_accuracy_pa": LIQUID_GAUGE,
    "temperature_accuracy_dk": _TEMPERATURE,
}
_SUCTION = {
    "refrigerant": _GIVEN["refrigerant"],
    "capacity_w": Given("3ton", low=100.0, high=1e6, says="the least at which it runs"),
    "tube_m": _tube("7/8in"),
    "temper": _GIVEN["temper"],
    "suction_pressure_pa": Given("118psig", called=("pressure_pa",)),
    "suction_line_temperature_k": Given("50degF", low=173.15, high=473.15, called=("temperature_k",)),
    "liquid_line_temperature_k": Given("97degF", low=173.15, high=473.15, called=("temperature_k",)),
    "capacity_accuracy_ratio": Given("10%", high=0.5, otherwise=f"the capacity within ±15 % {COMMON}"),
    "pressure_accuracy_pa": SUCTION_GAUGE,
    "temperature_accuracy_dk": _TEMPERATURE,
}
_TUBES = "bores by ASTM B280 and walls by ASTM B251, as references quote them"
_of_lines = partial(entry, given=_GIVEN)

CALCULATIONS: Mapping[str, Calculation] = {
    "line_set": _of_lines(
        _line_set,
        "what a line set takes beyond the length that the maker filled for, its suction line counted in",
        source=f"{EQUATIONS}; {_TUBES}; JCGM 100, section 5",
        tolerance="1 %",
        test="tests/calc/test_line_set.py::test_what_both_lines_hold_by_the_equation_of_state",
    ),
    "liquid_riser": _of_lines(
        _liquid_riser,
        "what a rise takes off the liquid's pressure, and the subcooling that it leaves before gas boils off",
        given=_RISER,
        source=f"{EQUATIONS}; JCGM 100, section 5; JCGM 106",
        tolerance="1 % of a manual's table of pressures, 0.4 °F of its temperatures",
        test="tests/calc/test_line_set.py::test_risers_in_a_manual",
    ),
    "suction_riser": _of_lines(
        _suction_riser,
        "how fast suction gas goes up a riser, and whether that carries its oil",
        given=_SUCTION,
        source=f"{EQUATIONS}; {_TUBES}; 1,000 and 4,000 ft/min: the trade press; JCGM 106",
        tolerance="1 % of the equation of state",
        test="tests/calc/test_line_set.py::test_velocity_by_the_equation_of_state",
    ),
}
