"""May the charge be judged, and is it right: by a protocol, and as far as the instruments allow."""

from collections.abc import Mapping

from calc.arguments import REFRIGERANT, Choice
from calc.calculation import Calculation, Unknown, Values
from calc.calculations.targets import PROTOCOL, USUAL_PROTOCOL
from calc.comparing import CannotTell, Comparison, NotMet, acceptance_interval, compare
from calc.entry import Given, entry
from calc.estimate import Estimate
from calc.governing import Figure, governing_figure
from calc.instruments import (
    COMMON,
    LIQUID_GAUGE,
    LIQUID_LIMIT_PA,
    SUCTION_GAUGE,
    SUCTION_LIMIT_PA,
    thermometer,
)
from calc.judge.verification import Condition, verify
from calc.protocols import tolerances
from calc.situation import Situation
from calc.superheat import subcooling_budget, superheat_budget
from calc.targets import NoTarget, Target, find_target_superheat, target_subcooling
from calc.uncertainty import Budget


def _charge_figures(
    refrigerant: str,
    suction_pressure_pa: float,
    suction_line_temperature_k: float,
    liquid_pressure_pa: float,
    liquid_line_temperature_k: float,
    barometric_pressure_pa: float,
    suction_pressure_accuracy_pa: float = SUCTION_LIMIT_PA,
    liquid_pressure_accuracy_pa: float = LIQUID_LIMIT_PA,
    temperature_accuracy_dk: float = 0.5,
    barometric_accuracy_pa: float = 2000.0,
) -> Values:
    site = Estimate(barometric_pressure_pa, barometric_accuracy_pa / 2)
    line_u_k = temperature_accuracy_dk / 2
    over = superheat_budget(
        refrigerant,
        Estimate(suction_pressure_pa - site.value, suction_pressure_accuracy_pa / 2),
        suction_line_temperature_k=Estimate(suction_line_temperature_k, line_u_k),
        barometric_pressure_pa=site,
    )
    under = subcooling_budget(
        refrigerant,
        Estimate(liquid_pressure_pa - site.value, liquid_pressure_accuracy_pa / 2),
        liquid_line_temperature_k=Estimate(liquid_line_temperature_k, line_u_k),
        barometric_pressure_pa=site,
    )
    return {
        "superheat_dk": over.estimate,
        "subcooling_dk": under.estimate,
        "correlation_ratio": over.correlation(under),
        "superheat_is_least_sure_of": _input(over),
        "subcooling_is_least_sure_of": _input(under),
        "barometric_pressure_pa": barometric_pressure_pa,
    }


def _input(budget: Budget) -> str:
    return (budget.leading_input or "nothing").replace("_", " ")


def _within_tolerance(
    figure: Figure,
    measured_dk: float,
    target_dk: float,
    accuracy_dk: float,
    target_accuracy_dk: float = 0.0,
    protocol: str = USUAL_PROTOCOL,
) -> Values:
    low_dk, high_dk, source = tolerances(protocol).limits[figure]
    measured = Budget(measured_dk, {"measured": accuracy_dk / 2})
    deviation_dk = (measured - Budget(target_dk, {"target": target_accuracy_dk / 2})).estimate
    verdict = compare(deviation_dk, low_dk, high_dk)
    accepted = acceptance_interval(low_dk, high_dk, deviation_dk.standard_uncertainty)
    too_poor = Unknown("these instruments could not confirm even a reading on target")
    return {
        "verdict": _sentence(verdict),
        "probability_within_probability": deviation_dk.probability_within(low_dk, high_dk),
        f"{figure}_less_target_dk": deviation_dk,
        "lowest_reading_that_counts_dk": target_dk + accepted[0] if accepted else too_poor,
        "highest_reading_that_counts_dk": target_dk + accepted[1] if accepted else too_poor,
        "limits_from": source,
    }


def _charge_verification(
    metering_device: str,
    figure_dk: float,
    figure_accuracy_dk: float,
    return_wet_bulb_k: float | None = None,
    outdoor_temperature_k: float | None = None,
    target_subcooling_dk: float | None = None,
    valve_superheat_dk: float | None = None,
    running_s: float | None = None,
    undisturbed_s: float | None = None,
    air_split_dk: float | None = None,
    target_air_split_dk: float | None = None,
    pressure_accuracy_pa: float | None = None,
    temperature_accuracy_dk: float = 0.5,
    protocol: str = USUAL_PROTOCOL,
) -> Values:
    figure = governing_figure(metering_device)
    line_u_k = temperature_accuracy_dk / 2

    def reading(value: float | None, standard_uncertainty: float) -> Estimate | None:
        return None if value is None else Estimate(value, standard_uncertainty)

    outdoor = reading(outdoor_temperature_k, line_u_k)
    side = "suction" if figure == "superheat" else "liquid"
    measured = {
        "outdoor_air_temperature": outdoor,
        "superheat": reading(valve_superheat_dk, figure_accuracy_dk / 2),
        "air_split": reading(air_split_dk, line_u_k * 2**0.5),
    }
    accuracies = {f"{side}_pressure": pressure_accuracy_pa, f"{side}_line_temperature": temperature_accuracy_dk}
    situation = Situation(
        metering_device=metering_device,
        running_s=running_s,
        undisturbed_s=undisturbed_s,
        measured={name: found for name, found in measured.items() if found is not None},
        target_air_split_dk=reading(target_air_split_dk, 0.0),
        accuracies={name: found for name, found in accuracies.items() if found is not None},
    )
    target: Target | NoTarget | None
    if figure == "subcooling":
        target = target_subcooling(target_subcooling_dk)
    else:
        wet_bulb = reading(return_wet_bulb_k, line_u_k)
        target = find_target_superheat(wet_bulb, outdoor) if wet_bulb and outdoor else None
    found = verify(figure, Estimate(figure_dk, figure_accuracy_dk / 2), target, situation, protocol=protocol)
    no_verdict = "none yet: " + ", ".join(condition.name.replace("_", " ") for condition in found.unmet)
    return {
        "judged_by": figure,
        "verdict": _sentence(found.verdict) if found.verdict else no_verdict,
        "less_target_dk": found.deviation_dk or Unknown("there is no target to compare with"),
        "conditions": tuple(_condition(condition) for condition in found.conditions),
    }


def _condition(condition: Condition) -> str:
    why = "" if condition.says.kind == "condition.met" else f": {condition.says}".removesuffix(".")
    return f"{condition.name.replace('_', ' ')}: {condition.state}{why} ({condition.source})"


def _sentence(verdict: Comparison) -> str:
    if isinstance(verdict, CannotTell):
        return "these instruments cannot tell" + (", not even on target" if verdict.even_on_target else "")
    if isinstance(verdict, NotMet):
        return f"out of tolerance, too {verdict.side}"
    return "within tolerance"


_METERING_WORDS = (
    *((word, "fixed_orifice") for word in ("piston", "orifice", "fixed", "cap_tube", "capillary_tube", "capillary")),
    *((word, "txv") for word in ("tev", "tx_valve", "thermostatic_expansion_valve")),
    *((word, "eev") for word in ("exv", "electronic_expansion_valve")),
)
_TEMPERATURE_ACCURACY = thermometer("temperatures")
_FIGURES = {
    "refrigerant": Given("R-410A", REFRIGERANT),
    "suction_pressure_pa": Given("118psig"),
    "suction_line_temperature_k": Given("50degF", low=173.15, high=473.15),
    "liquid_pressure_pa": Given("350psig"),
    "liquid_line_temperature_k": Given("97degF", low=173.15, high=473.15),
    "suction_pressure_accuracy_pa": SUCTION_GAUGE,
    "liquid_pressure_accuracy_pa": LIQUID_GAUGE,
    "temperature_accuracy_dk": _TEMPERATURE_ACCURACY,
    "barometric_accuracy_pa": Given(
        "2kPa", otherwise=f"the barometric pressure within ±2 kPa, as weather moves it {COMMON}"
    ),
}
_TOLERANCE = {
    "figure": Given("subcooling", Choice("figure", ("superheat", "subcooling"))),
    "measured_dk": Given("12degF"),
    "target_dk": Given("10degF"),
    "accuracy_dk": Given("1.7degF"),
    "target_accuracy_dk": Given("0.6degF", otherwise="the target is exact, as on a nameplate"),
    "protocol": PROTOCOL,
}
_VERIFICATION = {
    "metering_device": Given("txv", Choice("metering device", ("fixed_orifice", "txv", "eev"), _METERING_WORDS)),
    "figure_dk": Given("10degF"),
    "figure_accuracy_dk": Given("1.7degF"),
    "return_wet_bulb_k": Given("67degF", low=233.15, high=333.15, otherwise="no return wet bulb"),
    "outdoor_temperature_k": Given("95degF", low=233.15, high=333.15, otherwise="no outdoor temperature"),
    "target_subcooling_dk": Given("10degF", low=0.0, high=30.0, otherwise="no target on the nameplate"),
    "valve_superheat_dk": Given("12degF", otherwise="no superheat of the valve"),
    "running_s": Given("20min", otherwise="no running time"),
    "undisturbed_s": Given("20min", otherwise="no time since the charge was changed"),
    "air_split_dk": Given("20degF", otherwise="no air split"),
    "target_air_split_dk": Given("20degF", otherwise="no target air split"),
    "pressure_accuracy_pa": Given("1psi", otherwise="no accuracy of the pressure instrument"),
    "temperature_accuracy_dk": _TEMPERATURE_ACCURACY,
    "protocol": PROTOCOL,
}
_RULE = f"JCGM 106 (conformity), with 90 % confidence {COMMON}"

CALCULATIONS: Mapping[str, Calculation] = {
    "charge_figures": entry(
        _charge_figures,
        "superheat and subcooling from two gauge pressures that count from one barometric pressure, and how far their "
        "errors go together; of instruments that read absolute pressure, barometric_accuracy is 0 Pa",
        given=_FIGURES,
        source="the equations of state of CoolProp 8.0.0; JCGM 100, 5.2 and F.1.2.3",
        tolerance="1 mK; uncertainties 1 %",
        test="tests/calc/test_uncertainty.py::test_superheat_and_subcooling_agree_with_monte_carlo",
    ),
    "within_tolerance": entry(
        _within_tolerance,
        "whether superheat or subcooling is near enough to its target, or whether the instruments cannot tell",
        given=_TOLERANCE,
        source=f"{_RULE}; limits by the protocol",
        test="tests/calc/test_comparing.py::test_superheat_within_five_degrees_read_with_two_at_k_2",
    ),
    "charge_verification": entry(
        _charge_verification,
        "whether the charge may be judged now, condition by condition, and the verdict",
        given=_VERIFICATION,
        source=f"California Title 24, RA3.2; {_RULE}",
        test="tests/calc/judge/test_verification.py::test_each_condition",
    ),
}
