"""How long a vacuum pump takes at least."""

from collections.abc import Mapping

from calc import pull_down as pumps
from calc.arguments import REFRIGERANT
from calc.calculation import Calculation, Unknown, Values
from calc.cautions import Step, cautions
from calc.entry import Given, entry


def _pull_down(
    volume_m3: float,
    pump_m3_per_s: float,
    end_pressure_pa: float = 500 * 0.1333224,
    ultimate_pressure_pa: float = 50 * 0.1333224,
    start_pressure_pa: float = 101325.0,
    bore_m: float | None = None,
    length_m: float = 1.5,
    refrigerant: str | None = None,
) -> Values:
    found = pumps.pull_down(
        volume_m3,
        pump_m3_per_s,
        end_pressure_pa=end_pressure_pa,
        ultimate_pressure_pa=ultimate_pressure_pa,
        start_pressure_pa=start_pressure_pa,
        bore_m=bore_m,
        length_m=length_m,
    )
    return {
        "least_time_s": found.time_s,
        "pump_alone_s": found.pump_alone_s,
        "hose_conductance_m3_per_s": (
            Unknown("no hose was given") if bore_m is None else found.end_conductance_m3_per_s
        ),
        "says": "of air in a dry and tight circuit; water takes longer, so the gauge and the rise test decide",
        "caution": cautions(refrigerant, Step.EVACUATE),
    }


_VACUUM = "vacuum_pressure"
_GIVEN = {
    "refrigerant": Given(
        "R-454B",
        REFRIGERANT,
        otherwise="a circuit that held nothing that burns: the cautions are those for any refrigerant",
    ),
    "volume_m3": Given("12L", low=1e-6, high=100.0, says="of the circuit"),
    "pump_m3_per_s": Given("5cfm", low=1e-6, high=1.0, name="pump_speed"),
    "end_pressure_pa": Given("500micron", _VACUUM, otherwise="down to 500 micron (installation manuals)"),
    "ultimate_pressure_pa": Given(
        "50micron", _VACUUM, otherwise="a pump that ends at 50 micron by itself (common practice, no source)"
    ),
    "start_pressure_pa": Given("101kPa", _VACUUM, low=1e-3, otherwise="from the standard atmosphere, 101.325 kPa"),
    "bore_m": Given("1/4in", low=1e-3, high=0.1, otherwise="the pump sits right at the circuit, without a hose"),
    "length_m": Given("5ft", low=0.05, high=100.0, otherwise="a hose, if there is one, of 1.5 m"),
}

CALCULATIONS: Mapping[str, Calculation] = {
    "pull_down": entry(
        _pull_down,
        "how long a vacuum pump takes at least, through its hose",
        given=_GIVEN,
        source="t = V / S ln((p1 - pu) / (p2 - pu)), and the conductance of a long tube: vacuum handbooks",
        tolerance="1e-6 of the differential equation solved by a library",
        test="tests/calc/test_pull_down.py",
        example=(("bore", "1/4in"),),
    ),
}
