"""The simulated unit under faults, held to published directions and sizes of change.

Directions: a nine-scenario table of the trade, with superheats and subcoolings of a ground-source manual and, for
condenser fouling, measurements on a research rooftop unit. `0` is a change within 1 °F (0.1 A).
Sizes: the charge fault model of NIST TN 1848, from its published coefficients, air at 26.7 °C or 21.1 °C inside.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise

import pytest
from CoolProp.CoolProp import PropsSI

from simulators.unit.metering import FixedOrifice, ThermostaticValve
from simulators.unit.parameters import Conditions, Faults, UnitParameters
from tests.simulators.unit.settled import settled

NAMEPLATE_KG = 3.40
TXV, ORIFICE = ThermostaticValve(), FixedOrifice()
COLUMNS = ("suction", "superheat", "head", "subcooling", "discharge", "evaporator split", "condenser split", "amps")
SAME_A = 0.1
SAME_F = 1.0
FAN_W = 0.95 * 230.0 * 1.6


@dataclass(frozen=True)
class Case:
    """A row of the table: one sign per column; `?` where the model goes another way, and why."""

    name: str
    metering: FixedOrifice | ThermostaticValve
    signs: str
    charge: float = 1.0
    faults: Faults = field(default_factory=Faults)


CASES = [
    # ASHRAE 1173-RP summary: a TXV unit holds its own down to 80 % of its charge; so it is taken well below.
    Case("undercharge", TXV, "- + - - + - - -", charge=0.7),
    Case("undercharge", ORIFICE, "- + - - + - - -", charge=0.8),
    Case("overcharge", TXV, "0/+ 0/- + + 0/+ 0 + +", charge=1.2),
    Case("overcharge", ORIFICE, "+ - + + - 0/- + +", charge=1.2),
    Case("low evaporator airflow", TXV, "- - -/0 0/+ - + - 0/-", faults=Faults(evaporator_airflow=0.6)),
    Case("low evaporator airflow", ORIFICE, "- - -/0 0/+ - + - 0/-", faults=Faults(evaporator_airflow=0.7)),
    Case("condenser fouling", TXV, "+ 0 + 0/- + -/0 + +", faults=Faults(condenser_airflow=0.65)),
    Case("condenser fouling", ORIFICE, "+ - + 0/- + -/0 + +", faults=Faults(condenser_airflow=0.65)),
    # Superheat rises in the table, and on a TXV subcooling falls: liquid that flashes before the device, which this
    # model has only where vapour leaves the condenser.
    Case("severe outdoor airflow loss", TXV, "+ ? + ? + - + +", faults=Faults(condenser_airflow=0.3)),
    Case("severe outdoor airflow loss", ORIFICE, "+ ? + - + - + +", faults=Faults(condenser_airflow=0.3)),
    Case("restriction", TXV, "- + 0/- +/0 + - - -", faults=Faults(liquid_line_restriction=0.75)),
    Case("restriction", ORIFICE, "- + 0/- +/0 + - - -", faults=Faults(liquid_line_restriction=0.75)),
    Case("valve leakage", TXV, "+ - - +/0 + - - -", faults=Faults(compressor_leakage=0.15)),
    # The hotter discharge (from memory) needs superheat to stay: an orifice floods instead.
    Case("valve leakage", ORIFICE, "+ - - +/0 ? - - -", faults=Faults(compressor_leakage=0.085)),
    Case("non-condensables", TXV, "0 0 + + + 0/- + +", faults=Faults(non_condensables_pa=1.5e5)),
    # Through an orifice the higher head drives more: suction, superheat and discharge go as in an overcharge.
    Case("non-condensables", ORIFICE, "+ - + + - 0/- + +", faults=Faults(non_condensables_pa=0.8e5)),
]


def _figures(parameters: UnitParameters) -> Mapping[str, float]:
    """Everything that the table has a column for, in °F and A."""
    unit = settled(parameters)
    state = unit.true_state()
    conditions = parameters.conditions
    outdoor = parameters.condenser_as_it_is().in_air(conditions.outdoor_air_k, conditions.barometric_pressure_pa)
    dew_point = PropsSI("T", "P", state["suction_pressure"], "Q", 1, "R410A")
    bubble_point = PropsSI("T", "P", state["liquid_pressure"], "Q", 0, "R410A")
    return {
        "suction": 1.8 * dew_point,
        "superheat": 1.8 * (state["suction_line_temperature"] - dew_point),
        "head": 1.8 * bubble_point,
        "subcooling": 1.8 * (bubble_point - state["liquid_line_temperature"]),
        "discharge": 1.8 * state["discharge_line_temperature"],
        "evaporator split": 1.8 * (state["return_air_temperature"] - state["supply_air_temperature"]),
        "condenser split": 1.8 * unit.heat_flows().condenser_w / outdoor.capacity,
        "amps": state["compressor_current"],
    }


def _agrees(sign: str, column: str, change: float) -> bool:
    same = SAME_A if column == "amps" else SAME_F
    allowed = {"+": change > 0.0, "-": change < 0.0, "0": abs(change) <= same, "?": True}
    return any(allowed[part] for part in sign.split("/"))


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case.name}, {type(case.metering).__name__}")
def test_faults_change_the_figures_in_the_published_direction(case: Case) -> None:
    normal = _figures(UnitParameters(metering=case.metering))
    parameters = UnitParameters(case.charge * NAMEPLATE_KG, metering=case.metering, faults=case.faults)
    faulty = _figures(parameters)
    for column, sign in zip(COLUMNS, case.signs.split(), strict=True):
        change = faulty[column] - normal[column]
        assert _agrees(sign, column, change), f"{column} changes by {change:+.2f}, the table says {sign}"


@pytest.mark.parametrize("metering", [TXV, ORIFICE], ids=["txv", "orifice"])
def test_less_condenser_air_step_by_step(metering: FixedOrifice | ThermostaticValve) -> None:
    """Measured on a research rooftop unit at three condenser air flows, the sizes not in print: condensing over
    ambient and power up, subcooling hardly moves (here within 1.5 °F), superheat falls on an orifice and stays on a
    TXV. A view of the charge alone would call it overcharged.
    """
    steps = [
        _figures(UnitParameters(metering=metering, faults=Faults(condenser_airflow=flow))) for flow in (1.0, 0.75, 0.5)
    ]
    for more, less in pairwise(steps):
        assert less["head"] > more["head"] + 2.0
        assert less["amps"] > more["amps"]
        assert less["subcooling"] == pytest.approx(more["subcooling"], abs=1.5)
        if metering is ORIFICE:
            assert less["superheat"] < more["superheat"] - 1.0
        else:
            assert less["superheat"] == pytest.approx(more["superheat"], abs=1.0)


@pytest.mark.parametrize("metering", [TXV, ORIFICE], ids=["txv", "orifice"])
@pytest.mark.parametrize(
    ("deviation", "indoor_c", "outdoor_c", "capacity", "power", "within"),
    [
        (-0.30, 26.67, 35.0, 0.7982, 0.9635, 0.07),
        (-0.30, 21.1, 27.8, 0.8781, 0.9885, 0.07),
        (-0.25, 26.67, 35.0, 0.846, 0.971, 0.05),
        (-0.25, 26.67, 27.8, 0.8441, 0.9758, 0.05),
        (-0.20, 26.67, 35.0, 0.8885, 0.9780, 0.05),
        (-0.20, 21.1, 27.8, 0.9417, 0.9946, 0.05),
        (-0.10, 26.67, 27.8, 0.9549, 0.9921, 0.05),
        (-0.10, 26.67, 35.0, 0.956, 0.990, 0.05),
        (0.10, 26.67, 35.0, 1.0120, 1.0148, 0.05),
        (0.10, 21.1, 27.8, 1.0058, 1.0169, 0.05),
        (0.20, 26.67, 27.8, 1.0214, 1.0339, 0.05),
        (0.20, 26.67, 35.0, 1.021, 1.035, 0.05),
        (0.30, 26.67, 35.0, 1.0275, 1.0616, 0.05),
        (0.30, 21.1, 27.8, 1.0089, 1.0678, 0.05),
    ],
)
def test_wrong_charge_costs_about_what_was_published(
    metering: FixedOrifice | ThermostaticValve,
    deviation: float,
    indoor_c: float,
    outdoor_c: float,
    capacity: float,
    power: float,
    within: float,
) -> None:
    """NIST TN 1848, one model for units of several makes: ours need only be one of that kind.

    Power is that of the outdoor unit, its fan included (so in the report, from memory).
    """
    conditions = Conditions(outdoor_air_k=outdoor_c + 273.15, return_air_k=indoor_c + 273.15)
    right = settled(UnitParameters(NAMEPLATE_KG, conditions=conditions, metering=metering)).heat_flows()
    charge_kg = (1.0 + deviation) * NAMEPLATE_KG
    wrong = settled(UnitParameters(charge_kg, conditions=conditions, metering=metering)).heat_flows()
    assert wrong.evaporator_w / right.evaporator_w == pytest.approx(capacity, abs=within)
    assert (wrong.compressor_w + FAN_W) / (right.compressor_w + FAN_W) == pytest.approx(power, abs=within)
