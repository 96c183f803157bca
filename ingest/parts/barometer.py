"""The barometric pressure as well as it is known."""

from collections.abc import Mapping

from calc.estimate import Estimate
from ingest.rig import Rig
from ingest.wire.messages import Reading


def barometer(rig: Rig, readings: Mapping[str, Reading]) -> Estimate:
    """Give the barometric pressure [Pa]: measured, or else as configured."""
    measured = readings.get("barometric_pressure")
    if measured is None or measured.value is None:
        return Estimate(rig.barometric_pressure_pa, rig.barometric_standard_uncertainty_pa)
    return Estimate(measured.value, measured.standard_uncertainty or 0.0)
