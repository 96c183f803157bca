"""The standing pressure test with nitrogen, and what leaks by the change of a pressure."""

from collections.abc import Mapping
from functools import partial

from calc import leak_flow as leaks
from calc import nitrogen
from calc.arguments import REFRIGERANT
from calc.calculation import Calculation, Unknown, Values
from calc.entry import Given, entry
from calc.estimate import Estimate
from calc.instruments import COMMON
from calc.sentences import Sentence

_MICRON_PA = 0.1333224


def _pressure(
    start_pressure_pa: float, start_temperature_k: float, end_temperature_k: float, barometric_pressure_pa: float
) -> Values:
    expected_pa = nitrogen.nitrogen_pressure(
        start_pressure_pa, start_temperature_k, end_temperature_k=end_temperature_k
    )
    return {
        "expected_pressure_pa": expected_pa,
        "swing_dpa": expected_pa - start_pressure_pa,
        "barometric_pressure_pa": barometric_pressure_pa,
        "caution": _CAUTION,
    }


def _test(
    start_pressure_pa: float,
    end_pressure_pa: float,
    start_temperature_k: float,
    end_temperature_k: float,
    barometric_pressure_pa: float,
    pressure_accuracy_pa: float = 6894.757,
    temperature_accuracy_k: float = 1.0,
    noticeable_loss_dpa: float = nitrogen.NOTICEABLE_LOSS_PA,
) -> Values:
    found = nitrogen.nitrogen_test(
        start_pressure_pa,
        end_pressure_pa,
        start_temperature_k=start_temperature_k,
        end_temperature_k=end_temperature_k,
        pressure_standard_uncertainty_pa=pressure_accuracy_pa / 2,
        temperature_standard_uncertainty_k=temperature_accuracy_k / 2,
        noticeable_loss_pa=noticeable_loss_dpa,
    )
    return {
        "finding": found.finding,
        "reason": found.reason,
        "lost_dpa": found.loss,
        "expected_pressure_pa": found.expected,
        "end_pressure_pa": end_pressure_pa,
        "barometric_pressure_pa": barometric_pressure_pa,
        "caution": _CAUTION,
    }


def _leak(
    start_pressure_pa: float,
    end_pressure_pa: float,
    volume_m3: float,
    duration_s: float,
    start_temperature_k: float,
    end_temperature_k: float,
    refrigerant: str,
    barometric_pressure_pa: float,
    pressure_accuracy_pa: float | None = None,
    temperature_accuracy_k: float = 1.0,
    volume_accuracy_ratio: float = 0.2,
) -> Values:
    highest_pa = max(start_pressure_pa, end_pressure_pa)
    if pressure_accuracy_pa is None:
        pressure_accuracy_pa = _gauge_accuracy_pa(highest_pa)
    flow = leaks.leak_flow(
        start_pressure_pa,
        end_pressure_pa,
        volume_m3=volume_m3,
        duration_s=duration_s,
        start_temperature_k=start_temperature_k,
        end_temperature_k=end_temperature_k,
        volume_standard_uncertainty_m3=volume_accuracy_ratio * volume_m3 / 2,
        pressure_standard_uncertainty_pa=pressure_accuracy_pa / 2,
        temperature_standard_uncertainty_k=temperature_accuracy_k / 2,
    )
    amount = Estimate(abs(flow.value), flow.standard_uncertainty)
    as_refrigerant = leaks.leak_mass_flow(amount, refrigerant, temperature_k=end_temperature_k)
    is_vacuum = highest_pa < barometric_pressure_pa
    return {
        "leak_flow_pa_m3_per_s": amount,
        "refrigerant_leak_kg_per_s": _AIR if is_vacuum else as_refrigerant,
        "direction": _direction(flow),
        "barometric_pressure_pa": barometric_pressure_pa,
        "caution": f"{_NO_START if is_vacuum else _CAUTION} {leaks.CAUTION}",
    }


_VACUUM_GAUGE_PA = 25_000 * _MICRON_PA
_OF_READING, _AT_LEAST_PA = 0.1, 10 * _MICRON_PA
"""How far vacuum gauges read, and how well: common practice, no source."""
_PSI_PA = 6894.757
_CAUTION = " ".join(str(Sentence(f"caution.{kind}")) for kind in ("regulator", "caps_and_gauges", "let_off"))
_NO_START = str(Sentence("caution.vacuum"))
_AIR = Unknown("what flows into a vacuum is air, and water that boils rises too: no refrigerant is lost by it")


def _gauge_accuracy_pa(highest_pa: float) -> float:
    """Take a vacuum for read by a vacuum gauge, anything above for read by one of ±1 psi."""
    return _OF_READING * highest_pa + _AT_LEAST_PA if highest_pa <= _VACUUM_GAUGE_PA else _PSI_PA


def _direction(flow: Estimate) -> str:
    if abs(flow.value) <= flow.expanded():
        return "cannot tell: it is within its ±"
    return "out of the circuit" if flow.value > 0 else "into the circuit"


_GIVEN = {
    "start_pressure_pa": Given("150psig", low=100e3, high=5e6),
    "end_pressure_pa": Given("147psig", high=10e6),
    "start_temperature_k": Given("80degF", low=233.15, high=353.15, says="of the pipes"),
    "end_temperature_k": Given("70degF", low=233.15, high=353.15, says="of the pipes"),
    "pressure_accuracy_pa": Given("1psi", otherwise=f"the pressures within ±1 psi {COMMON}"),
    "temperature_accuracy_k": Given("1degC", high=30.0, otherwise=f"the temperatures within ±1 °C {COMMON}"),
    "noticeable_loss_dpa": Given(
        "1psi", "pressure_swing", low=1.0, high=5e6, otherwise=f"a loss of 1 psi matters {COMMON}"
    ),
    "volume_m3": Given("12L", low=1e-9, high=100.0, says="of the closed part"),
    "duration_s": Given("24h", low=1.0, high=366 * 86400.0),
    "refrigerant": Given("R-410A", REFRIGERANT),
    "volume_accuracy_ratio": Given("20%", high=0.5, otherwise=f"the volume within ±20 % {COMMON}"),
}
_BY_GAUGE = f"the pressures within ±1 psi, or up to 25,000 micron within ±10 % and 10 micron {COMMON}"
_nitrogen = partial(entry, given=_GIVEN)

CALCULATIONS: Mapping[str, Calculation] = {
    "nitrogen_pressure": _nitrogen(
        _pressure,
        "what nitrogen in a closed circuit presses with at another temperature of its pipes",
        source="the law of Gay-Lussac, as manuals print it for this test; van der Waals' a of nitrogen from memory",
        tolerance="0.1 psi of p1 T2 / T1 in print; 0.3 % of the swing and MPa, 250 to 330 K (CoolProp)",
        test="tests/calc/test_nitrogen.py::test_the_swing_as_of_real_nitrogen",
    ),
    "nitrogen_test": _nitrogen(
        _test,
        "whether a standing pressure test with nitrogen lost more than the temperature explains",
        source="the law of Gay-Lussac; JCGM 100, 5.1; JCGM 106",
        test="tests/calc/test_nitrogen.py",
    ),
    "leak_flow": _nitrogen(
        _leak,
        "what leaks, by how fast the pressure in a closed volume falls or rises",
        given=_GIVEN
        | {
            "start_pressure_pa": Given("150psig", high=10e6),
            "start_temperature_k": Given("80degF", low=200.0, high=400.0, says="of the pipes"),
            "end_temperature_k": Given("70degF", low=200.0, high=400.0, says="of the pipes"),
            "pressure_accuracy_pa": Given("1psi", otherwise=_BY_GAUGE),
        },
        source="Q = V dp / t, and m = Q M / (R T): vacuum engineering handbooks; JCGM 100, 5.1",
        tolerance="2 % of worked examples, the rounding of their print",
        test="tests/calc/test_leak_flow.py",
    ),
}
