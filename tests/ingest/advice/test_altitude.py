"""One wet bulb for all rooms, at the site's barometric pressure: from the calculation by name to the advice.

Against CoolProp's humid air (ASHRAE RP-1485), which knows that air is no ideal gas; 1,600 m is 83.52 kPa by ASHRAE's
standard atmosphere.
"""

import re
from dataclasses import replace

import pytest
from CoolProp.CoolProp import HAPropsSI

from calc import catalogue
from calc.estimate import Estimate
from calc.return_air import return_wet_bulb
from calc.symptoms import departures
from calc.targets import target_superheat
from ingest.advice.situation import nameplate
from ingest.wire.messages import Reading
from tests.ingest.advice.test_sentence import ORIFICE, advise, situation, watch

SITES = [("0 m", 101_325.0), ("1600 m", 83_520.0)]
RETURN_K, HUMIDITY, OUTDOOR_K = (80 + 459.67) / 1.8, 32.0, (75 + 459.67) / 1.8


def wet_bulb_k(pressure_pa: float) -> float:
    found: float = HAPropsSI("B", "T", RETURN_K, "P", pressure_pa, "R", HUMIDITY / 100)
    return found


def test_the_altitude_matters_here() -> None:
    assert wet_bulb_k(101_325.0) - wet_bulb_k(83_520.0) > 0.5


@pytest.mark.parametrize(("elevation", "pressure_pa"), SITES)
def test_every_room_takes_the_wet_bulb_of_the_site(elevation: str, pressure_pa: float) -> None:
    by_name = catalogue.run("wet_bulb", {"dry_bulb": "80degF", "humidity": "32%", "elevation": elevation})
    air = {
        "return_air_temperature": Estimate(RETURN_K, 0.1),
        "return_air_humidity": Estimate(HUMIDITY, 1.0),
        "outdoor_air_temperature": Estimate(OUTDOOR_K, 0.3),
        "suction_pressure": Estimate(914_906.0, 5e3),
        "suction_line_temperature": Estimate(283.0, 0.2),
    }
    now = replace(nameplate(ORIFICE), measured=air, barometric_pressure_pa=pressure_pa)
    judged = return_wet_bulb(now)
    assert judged is not None
    for found in (by_name.values["wet_bulb_k"], judged):
        assert isinstance(found, Estimate)
        assert found.value == pytest.approx(wet_bulb_k(pressure_pa), abs=0.05)
    target_dk = target_superheat(wet_bulb_k(pressure_pa), OUTDOOR_K)
    superheat = next(it for it in departures(now).found if it.name == "superheat")
    assert superheat.expected.value == pytest.approx(target_dk, abs=0.15)


@pytest.mark.parametrize(("elevation", "pressure_pa"), SITES)
def test_the_advice_takes_its_target_at_the_site(elevation: str, pressure_pa: float) -> None:
    history, now = watch(1000, 10.0)
    air = {
        "outdoor_air_temperature": Reading(OUTDOOR_K, 0.0, "ok", "", 0.3),
        "return_air_temperature": Reading(RETURN_K, 0.0, "ok", "", 0.1),
        "return_air_humidity": Reading(HUMIDITY, 0.0, "ok", "", 1.0),
    }
    advice = advise(situation({**now, **air}, 1000.0, ORIFICE, barometric_pressure_pa=pressure_pa), history)
    words = " ".join([advice.sentence.us, *(detail.us for detail in advice.details)])
    shown = re.search(r"against ([\d.]+) °F by the table", words)
    assert shown, words
    target_dk = target_superheat(wet_bulb_k(pressure_pa), OUTDOOR_K)
    assert target_dk is not None
    assert float(shown[1]) == pytest.approx(target_dk * 1.8, abs=0.3), elevation
