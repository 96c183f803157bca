"""Conductors, voltage drop and terminals."""

from collections.abc import Mapping

from calc import wiring
from calc.arguments import TEXT, Accuracy, Choice, Count, Measure
from calc.calculation import Assumption, Calculation, Parameter, Values
from calc.quantities import Quantity
from calc.wiring import conductor, terminal
from calc.wiring import drop as voltage_drop


def _wire_size(gauge: str) -> Values:
    return {"diameter_m": wiring.awg_diameter_m(gauge), "area_m2": wiring.awg_area_m2(gauge)}


def _ampacity(gauge: str, column: str, ambient_temperature_k: float, current_carrying: int) -> Values:
    found_a = wiring.ampacity(
        gauge, int(column), ambient_temperature_k=ambient_temperature_k, current_carrying=current_carrying
    )
    return {"ampacity_a": found_a, "caution": conductor.CAUTION}


def _smallest_conductor(current_a: float, column: str, ambient_temperature_k: float, current_carrying: int) -> Values:
    gauge = wiring.smallest_conductor(
        current_a, int(column), ambient_temperature_k=ambient_temperature_k, current_carrying=current_carrying
    )
    return {"gauge": f"{gauge} AWG", **_ampacity(gauge, column, ambient_temperature_k, current_carrying)}


def _overcurrent_limit(
    gauge: str, column: str, mocp_a: float | None, ambient_temperature_k: float, current_carrying: int
) -> Values:
    limit = wiring.overcurrent_limit(
        gauge,
        int(column),
        article_440_mocp_a=mocp_a,
        ambient_temperature_k=ambient_temperature_k,
        current_carrying=current_carrying,
    )
    return {"limit_a": limit.current_a, "says": limit.source, "caution": conductor.CAUTION}


def _voltage_drop(gauge: str, length_m: float, current_a: float, circuit_v: float, phases: int) -> Values:
    lost = wiring.voltage_drop(gauge, length_m, current_a=current_a, circuit_v=circuit_v, phases=phases)
    return {
        "drop_v": lost.drop_v,
        "drop_percent": 100 * lost.ratio,
        "within_advice": lost.ratio <= voltage_drop.BRANCH_CIRCUIT_LIMIT_RATIO,
    }


def _terminal_fit(gauge: str, thinnest: str, thickest: str, conductors: int, marked_for: int) -> Values:
    fit = wiring.terminal_fit(gauge, thinnest=thinnest, thickest=thickest, conductors=conductors, marked_for=marked_for)
    return {"fit": fit, "caution": terminal.TORQUE_CAUTION}


def _torque(gauge: str, slot: str, maker_n_m: float | None) -> Values:
    tight = wiring.torque(gauge, wiring.Slot(slot), maker_n_m=maker_n_m)
    return {"torque_n_m": tight.torque_n_m, "says": tight.source, "caution": terminal.TORQUE_CAUTION}


def _joint(drop_v: float, current_a: float, drop_accuracy_v: float, current_accuracy_a: float) -> Values:
    found = wiring.joint(
        drop_v,
        current_a,
        drop_standard_uncertainty_v=drop_accuracy_v / 2,
        current_standard_uncertainty_a=current_accuracy_a / 2,
    )
    return {
        "resistance_ohm": found.resistance,
        "heat_electric_w": found.heat,
        "suspect": found.is_suspect,
        "caution": terminal.JOINT_CAUTION,
    }


_GAUGE = Parameter("gauge", "gauge", TEXT, "10AWG")
_COLUMNS = Choice(
    "column [°C]",
    tuple(map(str, conductor.COLUMNS_C)),
    tuple(
        (f"{column}{unit}", str(column)) for column in conductor.COLUMNS_C for unit in ("c", "°c", "degc", "_c", "_°c")
    ),
)
_COLUMN = Parameter("column", "column", _COLUMNS, "75", says="the lower of insulation and terminals")
_AMBIENT = Parameter(
    "ambient_temperature",
    "ambient_temperature_k",
    Measure(Quantity.TEMPERATURE, 233.15, 358.15),
    "40degC",
    otherwise=Assumption(303.15, "an ambient temperature of 30 °C (86 °F), the table's"),
    says="around the raceway; on a roof in the sun more than the air's",
)
_CARRYING = Parameter(
    "current_carrying",
    "current_carrying",
    Count(1, 40),
    "3",
    otherwise=Assumption(3, "at most three current-carrying conductors in the raceway"),
)
_CURRENT = Parameter("current", "current_a", Quantity.CURRENT, "16A")
_ONE = Assumption(1, "one conductor, in a terminal marked for one")
_CONDUCTOR_TEST = "tests/calc/wiring/test_wiring.py"

CALCULATIONS: Mapping[str, Calculation] = {
    "wire_size": Calculation(
        "the diameter and area of a conductor",
        (_GAUGE,),
        _wire_size,
        source="ASTM B258",
        tolerance="0.05 %, the rounding of its table",
        test=_CONDUCTOR_TEST,
    ),
    "ampacity": Calculation(
        "the current that a copper conductor in a raceway or cable may carry",
        (
            _GAUGE,
            _COLUMN,
            _AMBIENT,
            _CARRYING,
        ),
        _ampacity,
        source="NEC table 310.16; 310.15(B) and (C)",
        tolerance="exact; with the ambient's formula, half a percent of its table",
        test=_CONDUCTOR_TEST,
    ),
    "smallest_conductor": Calculation(
        "the thinnest copper conductor for a current such as the unit's minimum circuit ampacity",
        (_CURRENT, _COLUMN, _AMBIENT, _CARRYING),
        _smallest_conductor,
        source="NEC table 310.16; 310.15(B) and (C)",
        tolerance="exact",
        test=_CONDUCTOR_TEST,
    ),
    "overcurrent_limit": Calculation(
        "the greatest fuse or breaker that may protect a copper conductor",
        (
            _GAUGE,
            _COLUMN,
            Parameter(
                "mocp",
                "mocp_a",
                Quantity.CURRENT,
                "50A",
                otherwise=Assumption(None, "no circuit of a motor-compressor alone (NEC Article 440)"),
                called=("article_440_mocp_a",),
            ),
            _AMBIENT,
            _CARRYING,
        ),
        _overcurrent_limit,
        source="NEC 240.4(B), (D) and (G); 310.15(B) and (C)",
        tolerance="exact",
        test=_CONDUCTOR_TEST,
    ),
    "voltage_drop": Calculation(
        "the voltage that stranded copper conductors lose on the way",
        (
            _GAUGE,
            Parameter("length", "length_m", "length", "100ft", says="one way"),
            _CURRENT,
            Parameter("circuit_voltage", "circuit_v", Measure(Quantity.VOLTAGE, 1.0, 1e5), "240V"),
            Parameter("phases", "phases", Count(1, 3), "1"),
        ),
        _voltage_drop,
        source="NEC chapter 9, table 8; power factor 1; at most 3 % is advice (notes to NEC 210.19, from memory)",
        tolerance="exact",
        test=_CONDUCTOR_TEST,
    ),
    "terminal_fit": Calculation(
        "whether a conductor fits a terminal",
        (
            _GAUGE,
            Parameter("thinnest", "thinnest", TEXT, "14AWG"),
            Parameter("thickest", "thickest", TEXT, "4AWG"),
            Parameter("conductors", "conductors", Count(1, 100), "1", otherwise=_ONE),
            Parameter("marked_for", "marked_for", Count(1, 100), "1", otherwise=_ONE),
        ),
        _terminal_fit,
        source="the terminal's marking; NEC 110.14(A)",
        tolerance="exact",
        test="tests/calc/wiring/test_terminal.py",
    ),
    "terminal_torque": Calculation(
        "how tight a slotted screw of a terminal must be",
        (
            _GAUGE,
            Parameter("slot", "slot", Choice("slot", tuple(wiring.Slot)), "wide"),
            Parameter(
                "maker",
                "maker_n_m",
                Measure("torque", 0.01, 1000.0),
                "35lbf in",
                otherwise=Assumption(None, "the maker gives no torque: it would win"),
            ),
        ),
        _torque,
        source="the maker, else NEC informative annex I, table I.1",
        tolerance="exact",
        test="tests/calc/wiring/test_terminal.py",
    ),
    "joint": Calculation(
        "the resistance and heat of a joint from the voltage across it under load",
        (
            Parameter("drop", "drop_v", Measure(Quantity.VOLTAGE, 0.0, 50.0), "60mV"),
            _CURRENT,
            Parameter("drop_accuracy", "drop_accuracy_v", Accuracy(Quantity.VOLTAGE, 10.0), "1mV"),
            Parameter("current_accuracy", "current_accuracy_a", Accuracy(Quantity.CURRENT), "0.3A"),
        ),
        _joint,
        source="Ohm's law; JCGM 100, 5.1.2; what is suspect: a tutorial of the trade, no standard",
        tolerance="exact",
        test="tests/calc/wiring/test_terminal.py",
    ),
}
