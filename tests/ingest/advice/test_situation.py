"""What is known of the unit at one moment: which readings are trusted, and what the configuration adds."""

from dataclasses import replace
from pathlib import Path

import pytest
from CoolProp.CoolProp import PropsSI

from calc.doubts.observed import Doubt
from calc.estimate import Estimate
from calc.sentences import Sentence
from calc.situation import Situation
from ingest.advice.situation import estimate, known_of, situate
from ingest.rig import RecoveryCylinder
from ingest.wire.messages import Reading
from tests.rigs import make_rig, with_unit

CYLINDER = RecoveryCylinder(water_capacity_kg=20.0, tare_kg=10.0)


def reading(value: float | None, quality: str = "ok", standard_uncertainty: float | None = 0.1) -> Reading:
    return Reading(value, 0.0, quality, "", standard_uncertainty)


def doubt(channel: str, confidence: float) -> Doubt:
    return Doubt((channel,), Sentence("x"), Sentence("x"), confidence)


@pytest.mark.parametrize(
    ("quality", "late", "unreliable"),
    [
        ("ok", False, False),
        ("uncalibrated", False, False),
        ("stale", True, True),
        ("out_of_range", False, True),
        ("overload", False, True),
        ("sensor_fault", False, True),
    ],
)
def test_what_is_of_bad_quality_is_not_relied_on(quality: str, late: bool, unreliable: bool) -> None:
    now = situate(Situation(), {"superheat": reading(5.0, quality), "subcooling": reading(6.0)})
    assert now.late == (frozenset({"superheat"}) if late else frozenset())
    assert now.unreliable == (frozenset({"superheat"}) if unreliable else frozenset())


@pytest.mark.parametrize(("confidence", "unreliable"), [(0.79, False), (0.8, True), (0.95, True)])
def test_nor_is_what_is_in_likely_doubt(confidence: float, unreliable: bool) -> None:
    """Four chances in five: common practice, no source."""
    now = situate(
        Situation(),
        {"suction_pressure": reading(9e5), "liquid_pressure": reading(2e6, "out_of_range")},
        [doubt("suction_pressure", confidence)],
    )
    doubted = {"suction_pressure", "suction_dew_point", "superheat"}
    assert now.unreliable == {"liquid_pressure", *(doubted if unreliable else [])}


def test_a_reading_carries_its_uncertainty_and_what_is_unknown_is_none() -> None:
    assert estimate(reading(5.0, standard_uncertainty=0.2)) == Estimate(5.0, 0.2)
    assert estimate(reading(5.0, standard_uncertainty=None)) == Estimate(5.0, 0.0)
    assert estimate(reading(None)) is None
    assert estimate(None) is None
    assert situate(Situation(), {"superheat": reading(None, "sensor_fault")}).measured == {}


def test_a_cylinder_is_known_by_its_scale_and_its_tare_and_not_by_an_old_reading() -> None:
    fresh, late = {"cylinder_mass": reading(16.0)}, {"cylinder_mass": reading(16.0, "stale")}
    assert situate(Situation(), fresh, cylinder=CYLINDER).cylinder_refrigerant_kg == Estimate(6.0, 0.1)
    assert situate(Situation(), late, cylinder=CYLINDER).cylinder_refrigerant_kg is None
    assert situate(Situation(), fresh).cylinder_refrigerant_kg is None
    assert situate(Situation(), {}, cylinder=CYLINDER).cylinder_refrigerant_kg is None


def test_a_cylinder_holds_four_fifths_of_liquid_at_77_degf(tmp_path: Path) -> None:
    """AHRI Guideline K; water at 60 °F has 999 kg/m³ (from memory), and liquid R-22 what CoolProp says."""
    rig = replace(with_unit(make_rig(tmp_path), refrigerant="R-22"), recovery_cylinder=CYLINDER)
    expected_kg = 0.8 * 20.0 / 999.0 * PropsSI("D", "T", 298.15, "Q", 0, "R22")
    assert known_of(rig, 101_325.0, {}).cylinder_safe_fill_kg == pytest.approx(expected_kg, rel=5e-4)
    assert known_of(replace(rig, recovery_cylinder=None), 101_325.0, {}).cylinder_safe_fill_kg is None


def test_only_the_pressures_of_the_refrigerant_count_from_gauge_or_vacuum(tmp_path: Path) -> None:
    rig = make_rig(tmp_path)
    low, *others = rig.instruments
    barometer = replace(low.channels[0], name="barometric_pressure", reference="absolute")
    rig = replace(rig, instruments=(replace(low, channels=(*low.channels, barometer)), *others))
    assert known_of(rig, 101_325.0, {}).references == {"suction_pressure": "gauge", "liquid_pressure": "gauge"}
