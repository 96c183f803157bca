"""What is known of the unit at one moment, from its readings, its nameplate and the instruments."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from calc.charging import refrigerant_in_cylinder, safe_fill_mass
from calc.charging_chart import ChartPoint
from calc.doubts.observed import LIKELY, Doubt
from calc.estimate import Estimate
from calc.quantities import derived_from
from calc.situation import Reference, Repetition, Situation
from ingest.rig import ChannelSetup, RecoveryCylinder, Rig
from ingest.wire.messages import Reading, UnitAbout

_TRUSTED = ("ok", "uncalibrated")
_FILLED_AT_K = 298.15  # 77 °F, at which AHRI Guideline K has the 80 %


def known_of(rig: Rig, barometric_pressure_pa: float, repetitions: Mapping[str, Repetition]) -> Situation:
    """Give what is known beside the readings."""
    return replace(of_rig(rig), barometric_pressure_pa=barometric_pressure_pa, repetitions=dict(repetitions))


def of_rig(rig: Rig) -> Situation:
    """Give what is known of a rig, whatever its instruments read."""
    return replace(
        nameplate(rig.unit),
        accuracies={channel.name: channel.about().accuracy for channel in rig.channels},
        references={channel.name: found for channel in rig.channels if (found := _reference(channel))},
        cylinder_safe_fill_kg=_safe_fill_kg(rig.unit.refrigerant, rig.recovery_cylinder),
    )


def nameplate(unit: UnitAbout) -> Situation:
    """Give what the nameplate says."""
    return Situation(
        refrigerant=unit.refrigerant,
        metering_device=unit.metering_device,
        target_subcooling_dk=unit.target_subcooling_dk,
        target_superheat_dk=unit.target_superheat_dk,
        superheat_chart=tuple(ChartPoint(*point) for point in unit.superheat_chart_k),
        nameplate_charge_kg=unit.nameplate_charge_kg,
        design_pressure_pa=unit.high_side_design_pressure_pa,
        compressor_rla_a=unit.compressor_rla_a,
        condenser_fan_fla_a=unit.condenser_fan_fla_a,
    )


def situate(
    known: Situation,
    readings: Mapping[str, Reading],
    doubts: Sequence[Doubt] = (),
    cylinder: RecoveryCylinder | None = None,
) -> Situation:
    """Add the readings of one tick, with what of them is late, and what is not to be relied on."""
    measured = {name: found for name, reading in readings.items() if (found := estimate(reading))}
    late = frozenset(name for name in measured if readings[name].quality == "stale")
    poor = {name for name in measured if readings[name].quality not in _TRUSTED}
    gross = None if "cylinder_mass" in late else measured.get("cylinder_mass")
    return replace(
        known,
        measured=measured,
        late=late,
        unreliable=doubted(doubts) | derived_from(doubted(doubts)) | poor,
        repetitions={name: run for name, run in known.repetitions.items() if name in measured},
        cylinder_refrigerant_kg=refrigerant_in_cylinder(gross, tare_kg=cylinder.tare_kg)
        if gross and cylinder
        else None,
    )


def doubted(doubts: Sequence[Doubt]) -> frozenset[str]:
    """Name the channels that are in likely doubt."""
    return frozenset(name for doubt in doubts if doubt.confidence >= LIKELY for name in doubt.channels)


def estimate(reading: Reading | None) -> Estimate | None:
    """Give a reading with its uncertainty; None where it is unknown, or not of the circuit in view."""
    if reading is None or reading.value is None or reading.quality == "elsewhere":
        return None
    return Estimate(reading.value, reading.standard_uncertainty or 0.0)


def _reference(setup: ChannelSetup) -> Reference | None:
    """Say what a pressure of the refrigerant is configured to count from."""
    return setup.reference if setup.reference and setup.name.split("_")[0] in ("suction", "liquid") else None


def _safe_fill_kg(refrigerant: str, cylinder: RecoveryCylinder | None) -> float | None:
    if cylinder is None:
        return None
    water_kg = cylinder.water_capacity_kg
    return safe_fill_mass(refrigerant, water_capacity_kg=water_kg, liquid_temperature_k=_FILLED_AT_K)
