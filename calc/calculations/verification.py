"""May the charge be judged, and is it right: by a protocol, and as far as the instruments allow."""

from collections.abc import Mapping

from calc.arguments import REFRIGERANT, Accuracy, Choice, Difference, Measure
from calc.calculation import Assumption, Calculation, Parameter, Unknown, Values
from calc.calculations.targets import PROTOCOL
from calc.comparing import CannotTell, Comparison, NotMet, acceptance_interval, compare
from calc.estimate import Estimate
from calc.governing import Figure, governing_figure
from calc.judge.verification import Condition, verify
from calc.protocols import tolerances
from calc.quantities import Quantity
from calc.situation import Situation
from calc.superheat import subcooling_budget, superheat_budget
from calc.targets import NoTarget, Target, find_target_superheat, target_subcooling
from calc.uncertainty import Budget
from calc.units import parse_difference


def _charge_figures(
    refrigerant: str,
    suction_pa: float,
    suction_line_k: float,
    liquid_pa: float,
    liquid_line_k: float,
    suction_accuracy_pa: float,
    liquid_accuracy_pa: float,
    temperature_accuracy_dk: float,
    barometric_accuracy_pa: float,
    barometric_pressure_pa: float,
) -> Values:
    site = Estimate(barometric_pressure_pa, barometric_accuracy_pa / 2)
    line_u_k = temperature_accuracy_dk / 2
    over = superheat_budget(
        refrigerant,
        Estimate(suction_pa - site.value, suction_accuracy_pa / 2),
        suction_line_temperature_k=Estimate(suction_line_k, line_u_k),
        barometric_pressure_pa=site,
    )
    under = subcooling_budget(
        refrigerant,
        Estimate(liquid_pa - site.value, liquid_accuracy_pa / 2),
        liquid_line_temperature_k=Estimate(liquid_line_k, line_u_k),
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
    figure: Figure, measured_dk: float, target_dk: float, accuracy_dk: float, target_accuracy_dk: float, protocol: str
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
    return_wet_bulb_k: float | None,
    outdoor_k: float | None,
    nameplate_subcooling_dk: float | None,
    valve_superheat_dk: float | None,
    running_s: float | None,
    undisturbed_s: float | None,
    air_split_dk: float | None,
    target_air_split_dk: float | None,
    pressure_accuracy_pa: float | None,
    temperature_accuracy_dk: float,
    protocol: str,
) -> Values:
    figure = governing_figure(metering_device)
    line_u_k = temperature_accuracy_dk / 2

    def reading(value: float | None, standard_uncertainty: float) -> Estimate | None:
        return None if value is None else Estimate(value, standard_uncertainty)

    outdoor = reading(outdoor_k, line_u_k)
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
        target = target_subcooling(nameplate_subcooling_dk)
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


def _optional(name: str, keyword: str, kind: Difference | Measure | str, example: str, says: str) -> Parameter:
    return Parameter(name, keyword, kind, example, otherwise=Assumption(None, says))


def _pressure_accuracy(side: str, limit: str) -> Parameter:
    says = f"the {side} pressure within ±{limit}, the instrument limit of California Title 24, RA3.2"
    limit_pa = parse_difference(limit, Quantity.PRESSURE)
    name = f"{side}_pressure_accuracy"
    return Parameter(name, f"{side}_accuracy_pa", Accuracy(Quantity.PRESSURE), "1psi", Assumption(limit_pa, says))


_AIR = Measure(Quantity.TEMPERATURE, 233.15, 333.15)
_LINE = Measure(Quantity.TEMPERATURE, 173.15, 473.15)
_DIFFERENCE = Difference(Quantity.TEMPERATURE)
_TEMPERATURE_ACCURACY = Parameter(
    "temperature_accuracy",
    "temperature_accuracy_dk",
    Accuracy(Quantity.TEMPERATURE),
    "0.5degC",
    otherwise=Assumption(0.5, "temperatures within ±0.5 °C (common practice, no source)"),
)
_METERING_WORDS = (
    *((word, "fixed_orifice") for word in ("piston", "orifice", "fixed", "cap_tube", "capillary_tube", "capillary")),
    *((word, "txv") for word in ("tev", "tx_valve", "thermostatic_expansion_valve")),
    *((word, "eev") for word in ("exv", "electronic_expansion_valve")),
)
_RULE = "JCGM 106 (conformity), with 90 % confidence (common practice, no source)"

CALCULATIONS: Mapping[str, Calculation] = {
    "charge_figures": Calculation(
        "superheat and subcooling from two gauge pressures that count from one barometric pressure, and how far their "
        "errors go together; of instruments that read absolute pressure, barometric_accuracy is 0 Pa",
        (
            Parameter("refrigerant", "refrigerant", REFRIGERANT, "R-410A"),
            Parameter("suction_pressure", "suction_pa", Quantity.PRESSURE, "118psig"),
            Parameter("suction_line_temperature", "suction_line_k", _LINE, "50degF"),
            Parameter("liquid_pressure", "liquid_pa", Quantity.PRESSURE, "350psig"),
            Parameter("liquid_line_temperature", "liquid_line_k", _LINE, "97degF"),
            _pressure_accuracy("suction", "3.5 psi"),
            _pressure_accuracy("liquid", "7 psi"),
            _TEMPERATURE_ACCURACY,
            Parameter(
                "barometric_accuracy",
                "barometric_accuracy_pa",
                Accuracy(Quantity.PRESSURE),
                "2kPa",
                otherwise=Assumption(
                    2000.0, "the barometric pressure within ±2 kPa, as weather moves it (common practice, no source)"
                ),
            ),
        ),
        _charge_figures,
        source="the equations of state of CoolProp 8.0.0; JCGM 100, 5.2 and F.1.2.3",
        tolerance="1 mK; uncertainties 1 %",
        test="tests/calc/test_uncertainty.py::test_superheat_and_subcooling_agree_with_monte_carlo",
        needs_site=True,
    ),
    "within_tolerance": Calculation(
        "whether superheat or subcooling is near enough to its target, or whether the instruments cannot tell",
        (
            Parameter("figure", "figure", Choice("figure", ("superheat", "subcooling")), "subcooling"),
            Parameter("measured", "measured_dk", _DIFFERENCE, "12degF"),
            Parameter("target", "target_dk", _DIFFERENCE, "10degF"),
            Parameter("accuracy", "accuracy_dk", Accuracy(Quantity.TEMPERATURE), "1.7degF"),
            Parameter(
                "target_accuracy",
                "target_accuracy_dk",
                Accuracy(Quantity.TEMPERATURE),
                "0.6degF",
                otherwise=Assumption(0.0, "the target is exact, as on a nameplate"),
            ),
            PROTOCOL,
        ),
        _within_tolerance,
        source=f"{_RULE}; limits by the protocol",
        tolerance="exact",
        test="tests/calc/test_comparing.py::test_superheat_within_five_degrees_read_with_two_at_k_2",
    ),
    "charge_verification": Calculation(
        "whether the charge may be judged now, condition by condition, and the verdict",
        (
            Parameter(
                "metering_device",
                "metering_device",
                Choice("metering device", ("fixed_orifice", "txv", "eev"), _METERING_WORDS),
                "txv",
            ),
            Parameter("figure", "figure_dk", _DIFFERENCE, "10degF"),
            Parameter("figure_accuracy", "figure_accuracy_dk", Accuracy(Quantity.TEMPERATURE), "1.7degF"),
            _optional("return_wet_bulb", "return_wet_bulb_k", _AIR, "67degF", "no return wet bulb"),
            _optional("outdoor_temperature", "outdoor_k", _AIR, "95degF", "no outdoor temperature"),
            _optional(
                "target_subcooling",
                "nameplate_subcooling_dk",
                Difference(Quantity.TEMPERATURE, 0.0, 30.0),
                "10degF",
                "no target on the nameplate",
            ),
            _optional("valve_superheat", "valve_superheat_dk", _DIFFERENCE, "12degF", "no superheat of the valve"),
            _optional("running", "running_s", "time", "20min", "no running time"),
            _optional("undisturbed", "undisturbed_s", "time", "20min", "no time since the charge was changed"),
            _optional("air_split", "air_split_dk", _DIFFERENCE, "20degF", "no air split"),
            _optional("target_air_split", "target_air_split_dk", _DIFFERENCE, "20degF", "no target air split"),
            Parameter(
                "pressure_accuracy",
                "pressure_accuracy_pa",
                Accuracy(Quantity.PRESSURE),
                "1psi",
                otherwise=Assumption(None, "no accuracy of the pressure instrument"),
            ),
            _TEMPERATURE_ACCURACY,
            PROTOCOL,
        ),
        _charge_verification,
        source=f"California Title 24, RA3.2; {_RULE}",
        tolerance="exact",
        test="tests/calc/judge/test_verification.py::test_each_condition",
    ),
}
