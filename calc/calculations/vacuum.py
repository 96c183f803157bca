"""The rise test after evacuation."""

from collections.abc import Mapping

from calc import vacuum
from calc.calculation import Calculation, Unknown, Values
from calc.entry import Given, entry


def _rise_test(
    times_s: tuple[float, ...],
    pressures_pa: tuple[float, ...],
    limit_pa: float = vacuum.LIMIT_PA,
    hold_s: float = vacuum.HOLD_S,
) -> Values:
    test = vacuum.rise_test(times_s, pressures_pa, limit_pa=limit_pa, hold_s=hold_s)
    return {
        "finding": test.finding,
        "reason": test.reason,
        "slowing_factor": Unknown("it did not rise at first") if test.slowing_factor is None else test.slowing_factor,
        "last_vacuum_pressure_pa": pressures_pa[-1],
        "caution": vacuum.CAUTIONS[test.finding],
    }


_GIVEN = {
    "times_s": Given(
        "0min,5min,10min,15min,20min", says="five or more, from when the pump was isolated; two in each outer third"
    ),
    "pressures_pa": Given(
        "300micron,320micron,330micron,335micron,340micron", "vacuum_pressure", says="one for each time"
    ),
    "limit_pa": Given(
        "500micron", "vacuum_pressure", low=1.0, high=3000.0, otherwise="a limit of 500 micron (installation manuals)"
    ),
    "hold_s": Given("20min", low=60.0, high=86400.0, otherwise="held for 20 min (installation manuals)"),
}

CALCULATIONS: Mapping[str, Calculation] = {
    "rise_test": entry(
        _rise_test,
        "whether a rise after evacuation is moisture, a leak, or neither",
        given=_GIVEN,
        source="installation manuals: 500 micron held for 20 min; levelling off is moisture, a steady climb a leak; "
        "how much either is: common practice, no source",
        test="tests/calc/test_vacuum.py::test_evaporating_moisture_levels_off_and_a_leak_climbs",
    )
}
