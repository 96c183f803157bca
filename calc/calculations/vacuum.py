"""The rise test after evacuation."""

from collections.abc import Mapping

from calc import vacuum
from calc.arguments import ListOf, Measure
from calc.calculation import Assumption, Calculation, Parameter, Unknown, Values


def _rise_test(times_s: tuple[float, ...], pressures_pa: tuple[float, ...], limit_pa: float, hold_s: float) -> Values:
    test = vacuum.rise_test(times_s, pressures_pa, limit_pa=limit_pa, hold_s=hold_s)
    return {
        "finding": test.finding,
        "reason": test.reason,
        "slowing_factor": Unknown("it did not rise at first") if test.slowing_factor is None else test.slowing_factor,
        "last_vacuum_pressure_pa": pressures_pa[-1],
    }


CALCULATIONS: Mapping[str, Calculation] = {
    "rise_test": Calculation(
        "whether a rise after evacuation is moisture, a leak, or neither",
        (
            Parameter("times", "times_s", ListOf("time"), "0min,5min,10min,15min,20min"),
            Parameter(
                "pressures",
                "pressures_pa",
                ListOf("vacuum_pressure"),
                "300micron,320micron,330micron,335micron,340micron",
            ),
            Parameter(
                "limit",
                "limit_pa",
                Measure("vacuum_pressure", 1.0, 3000.0),
                "500micron",
                otherwise=Assumption(vacuum.LIMIT_PA, "a limit of 500 micron (installation manuals)"),
            ),
            Parameter(
                "hold",
                "hold_s",
                Measure("time", 60.0, 86400.0),
                "20min",
                otherwise=Assumption(vacuum.HOLD_S, "held for 20 min (installation manuals)"),
            ),
        ),
        _rise_test,
        source="installation manuals: 500 micron held for 20 min; levelling off is moisture, a steady climb a leak; "
        "how much either is: common practice, no source",
        tolerance="exact",
        test="tests/calc/test_vacuum.py::test_evaporating_moisture_levels_off_and_a_leak_climbs",
    ),
}
