"""Conductors, voltage drop and terminals."""

from collections.abc import Mapping
from functools import partial

from calc import wiring
from calc.arguments import TEXT, Choice, Count
from calc.calculation import Calculation, Values
from calc.entry import Given, entry
from calc.wiring import conductor, terminal
from calc.wiring import drop as voltage_drop

TABLE_AMBIENT_K = 303.15


def _wire_size(gauge: str) -> Values:
    return {"diameter_m": wiring.awg_diameter_m(gauge), "area_m2": wiring.awg_area_m2(gauge)}


def _ampacity(
    gauge: str, column: str, ambient_temperature_k: float = TABLE_AMBIENT_K, current_carrying: int = 3
) -> Values:
    found_a = wiring.ampacity(
        gauge, int(column), ambient_temperature_k=ambient_temperature_k, current_carrying=current_carrying
    )
    return {"ampacity_a": found_a, "caution": conductor.CAUTION}


def _smallest_conductor(
    current_a: float, column: str, ambient_temperature_k: float = TABLE_AMBIENT_K, current_carrying: int = 3
) -> Values:
    gauge = wiring.smallest_conductor(
        current_a, int(column), ambient_temperature_k=ambient_temperature_k, current_carrying=current_carrying
    )
    return {"gauge": f"{gauge} AWG", **_ampacity(gauge, column, ambient_temperature_k, current_carrying)}


def _overcurrent_limit(
    gauge: str,
    column: str,
    mocp_a: float | None = None,
    ambient_temperature_k: float = TABLE_AMBIENT_K,
    current_carrying: int = 3,
) -> Values:
    limit = wiring.overcurrent_limit(
        gauge,
        int(column),
        article_440_mocp_a=mocp_a,
        ambient_temperature_k=ambient_temperature_k,
        current_carrying=current_carrying,
    )
    return {
        "limit_a": limit.current_a,
        "says": limit.source,
        **({} if mocp_a is None else {"look_again": _MUST_CARRY}),
        "caution": conductor.CAUTION,
    }


_MUST_CARRY = "the conductor must carry the unit's minimum circuit ampacity (MCA) all the same: NEC 440.32"


def _drop(lost: wiring.VoltageDrop) -> Values:
    within_advice = lost.ratio <= voltage_drop.BRANCH_CIRCUIT_LIMIT_RATIO
    return {"drop_v": lost.drop_v, "drop_percent": 100 * lost.ratio, "within_advice": within_advice}


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


_COLUMNS = Choice(
    "column [°C]",
    tuple(map(str, conductor.COLUMNS_C)),
    tuple(
        (f"{column}{unit}", str(column)) for column in conductor.COLUMNS_C for unit in ("c", "°c", "degc", "_c", "_°c")
    ),
)
_GAUGE = {"gauge": Given("10AWG", TEXT, also=("awg",))}
CONDUCTOR = _GAUGE | {
    "column": Given("75", _COLUMNS, says="the lower of insulation and terminals"),
    "ambient_temperature_k": Given(
        "40degC",
        low=233.15,
        high=358.15,
        otherwise="an ambient temperature of 30 °C (86 °F), the table's",
        says="around the raceway; on a roof in the sun more than the air's",
    ),
    "current_carrying": Given("3", Count(1, 40), otherwise="at most three current-carrying conductors in the raceway"),
    "current_a": Given("16A"),
    "length_m": Given("100ft", says="one way"),
    "circuit_v": Given("240V", low=1.0, name="circuit_voltage"),
    "phases": Given("1", Count(1, 3)),
}
_COPPER = CONDUCTOR | {
    "mocp_a": Given(
        "50A",
        low=15.0,
        high=6000.0,
        otherwise="no circuit of a motor-compressor alone (NEC Article 440)",
        called=("article_440_mocp_a",),
    ),
}
_ONE = Given("1", Count(1, 100), otherwise="one conductor, in a terminal marked for one")
_TERMINAL = _GAUGE | {
    "thinnest": Given("14AWG", TEXT),
    "thickest": Given("4AWG", TEXT),
    "conductors": _ONE,
    "marked_for": _ONE,
    "slot": Given("wide", Choice("slot", tuple(wiring.Slot))),
    "maker_n_m": Given("35lbf in", low=0.01, high=1000.0, otherwise="the maker gives no torque: it would win"),
    "drop_v": Given("60mV", high=50.0),
    "current_a": Given("16A", low=0.1),
    "drop_accuracy_v": Given("1mV", high=10.0),
    "current_accuracy_a": Given("0.3A"),
}
_conductor = partial(entry, given=_COPPER, test="tests/calc/wiring/test_wiring.py")
_terminal = partial(entry, given=_TERMINAL, test="tests/calc/wiring/test_terminal.py")

CALCULATIONS: Mapping[str, Calculation] = {
    "wire_size": _conductor(
        _wire_size,
        "the diameter and area of a conductor",
        source="ASTM B258",
        tolerance="0.05 %, the rounding of its table",
    ),
    "ampacity": _conductor(
        _ampacity,
        "the current that a copper conductor in a raceway or cable may carry",
        source="NEC table 310.16; 310.15(B) and (C)",
        tolerance="exact; with the ambient's formula, half a percent of its table",
    ),
    "smallest_conductor": _conductor(
        _smallest_conductor,
        "the thinnest copper conductor for a current such as the unit's minimum circuit ampacity",
        source="NEC table 310.16; 310.15(B) and (C)",
    ),
    "overcurrent_limit": _conductor(
        _overcurrent_limit,
        "the greatest fuse or breaker that may protect a copper conductor",
        source="NEC 240.4(B), (D) and (G); 310.15(B) and (C)",
    ),
    "voltage_drop": _conductor(
        wiring.voltage_drop,
        "the voltage that stranded copper conductors lose on the way",
        result=_drop,
        source="NEC chapter 9, table 8; power factor 1; at most 3 % is advice (notes to NEC 210.19, from memory)",
    ),
    "terminal_fit": _terminal(
        wiring.terminal_fit,
        "whether a conductor fits a terminal",
        result=lambda fit: {"fit": fit, "caution": terminal.TORQUE_CAUTION},
        source="the terminal's marking; NEC 110.14(A)",
    ),
    "terminal_torque": _terminal(
        wiring.torque,
        "how tight a slotted screw of a terminal must be",
        result=lambda it: {"torque_n_m": it.torque_n_m, "says": it.source, "caution": terminal.TORQUE_CAUTION},
        source="the maker, else NEC informative annex I, table I.1",
    ),
    "joint": _terminal(
        _joint,
        "the resistance and heat of a joint from the voltage across it under load",
        source="Ohm's law; JCGM 100, 5.1.2; what is suspect: a tutorial of the trade, no standard",
    ),
}
