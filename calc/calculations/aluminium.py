"""Aluminium conductors, beside copper."""

from collections.abc import Mapping
from functools import partial
from typing import Any

from calc import wiring
from calc.arguments import TEXT
from calc.calculation import Calculation, Unknown, Value, Values
from calc.calculations.wiring import CONDUCTOR, TABLE_AMBIENT_K
from calc.entry import Given, entry
from calc.errors import CalcRangeError
from calc.wiring import Metal, conductor

_AL, _CU = Metal.ALUMINIUM, Metal.COPPER


def _ampacity(
    gauge: str, column: str, ambient_temperature_k: float = TABLE_AMBIENT_K, current_carrying: int = 3
) -> Values:
    around: dict[str, Any] = {"ambient_temperature_k": ambient_temperature_k, "current_carrying": current_carrying}
    aluminium_a = wiring.ampacity(gauge, int(column), metal=_AL, **around)
    limit = wiring.overcurrent_limit(gauge, int(column), metal=_AL, **around)
    return {
        "aluminium_a": aluminium_a,
        "copper_a": wiring.ampacity(gauge, int(column), metal=_CU, **around),
        "greatest_fuse_of_aluminium_a": limit.current_a,
        "says": limit.source,
        "caution": conductor.ALUMINIUM_CAUTION,
    }


def _conductor(
    current_a: float, column: str, ambient_temperature_k: float = TABLE_AMBIENT_K, current_carrying: int = 3
) -> Values:
    around: dict[str, Any] = {"ambient_temperature_k": ambient_temperature_k, "current_carrying": current_carrying}
    copper = wiring.smallest_conductor(current_a, int(column), metal=_CU, **around)
    shown: dict[str, Value] = {
        "copper_gauge": f"{copper} AWG",
        "copper_a": wiring.ampacity(copper, int(column), metal=_CU, **around),
        "caution": conductor.ALUMINIUM_CAUTION,
    }
    try:
        gauge = wiring.smallest_conductor(current_a, int(column), metal=_AL, **around)
    except CalcRangeError:
        return {
            "aluminium_gauge": Unknown("one of up to 4/0 AWG does not carry it: the tables here end there"),
            **shown,
        }
    return {
        "aluminium_gauge": f"{gauge} AWG",
        "aluminium_a": wiring.ampacity(gauge, int(column), metal=_AL, **around),
        **shown,
    }


def _drop(gauge: str, length_m: float, current_a: float, circuit_v: float, phases: int) -> Values:
    load: dict[str, Any] = {"current_a": current_a, "circuit_v": circuit_v, "phases": phases}
    aluminium = wiring.voltage_drop(gauge, length_m, metal=_AL, **load)
    copper = wiring.voltage_drop(gauge, length_m, metal=_CU, **load)
    return {
        "aluminium_drop_v": aluminium.drop_v,
        "aluminium_drop_percent": 100 * aluminium.ratio,
        "copper_drop_v": copper.drop_v,
        "copper_drop_percent": 100 * copper.ratio,
        "caution": conductor.ALUMINIUM_CAUTION,
    }


_GIVEN = CONDUCTOR | {"gauge": Given("8AWG", TEXT, also=("awg",)), "current_a": Given("31A")}
_aluminium = partial(entry, given=_GIVEN, test="tests/calc/wiring/test_aluminium.py")

CALCULATIONS: Mapping[str, Calculation] = {
    "aluminium_ampacity": _aluminium(
        _ampacity,
        "the current that an aluminium conductor may carry, beside a copper one",
        source="NEC table 310.16 (2023), 310.15(B) and (C), 240.4(B) and (D)",
        tolerance="exact; with the ambient's formula, half a percent of its table",
    ),
    "aluminium_conductor": _aluminium(
        _conductor,
        "the thinnest aluminium conductor for a current, beside the copper one",
        source="NEC table 310.16 (2023); 310.15(B) and (C)",
    ),
    "aluminium_voltage_drop": _aluminium(
        _drop,
        "the voltage that stranded aluminium conductors lose on the way, beside copper ones",
        source="NEC chapter 9, table 8; power factor 1",
    ),
}
