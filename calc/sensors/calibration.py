"""Two-point calibration: a straight line through two points, with the uncertainty that both leave behind."""

from dataclasses import dataclass

from calc.elementwise import within
from calc.errors import ArgumentError
from calc.estimate import Estimate
from calc.uncertainty import Budget


@dataclass(frozen=True, slots=True)
class CalibrationPoint:
    """What the instrument read, and what was true, in the same unit: an ice slurry, a reference instrument."""

    reading: Estimate
    reference: Estimate


@dataclass(frozen=True, slots=True)
class TwoPointCalibration:
    """The line through two points; `correct` applies it."""

    low: CalibrationPoint
    high: CalibrationPoint
    reference_correlation: float = 0.0

    @property
    def gain(self) -> float:
        """How many units of the truth one unit of the reading stands for."""
        run = self.high.reading.value - self.low.reading.value
        return (self.high.reference.value - self.low.reference.value) / run

    def correct(self, reading: Estimate) -> Estimate:
        """Correct a reading.

        The uncertainties add in quadrature (JCGM 100, 5.1.2): each point's with the weight that it has at this
        reading, which beyond the points grows, and the reading's own. The errors of the two references go together as
        far as `reference_correlation` says (5.2.2): those of one instrument in both points wholly, and then they do not
        shrink between the points.

        >>> ice = CalibrationPoint(Estimate(0.4, 0.0), Estimate(0.0, 0.1))
        >>> warm = CalibrationPoint(Estimate(50.4, 0.0), Estimate(50.0, 0.1))
        >>> corrected = two_point(ice, warm).correct(Estimate(25.4, 0.0))
        >>> round(corrected.value, 3), round(corrected.standard_uncertainty, 4)  # 0.1 / sqrt(2) in the middle
        (25.0, 0.0707)
        """
        low, high = self.low, self.high
        weight = (reading.value - low.reading.value) / (high.reading.value - low.reading.value)
        contributions = {
            "low_reference": (1 - weight) * low.reference.standard_uncertainty,
            "high_reference": weight * high.reference.standard_uncertainty,
            "low_reading": (1 - weight) * self.gain * low.reading.standard_uncertainty,
            "high_reading": weight * self.gain * high.reading.standard_uncertainty,
            "reading": self.gain * reading.standard_uncertainty,
        }
        corrected = low.reference.value + weight * (high.reference.value - low.reference.value)
        shared = {("low_reference", "high_reference"): self.reference_correlation}
        return Budget(corrected, contributions, shared).estimate


def two_point(
    low: CalibrationPoint, high: CalibrationPoint, *, reference_correlation: float = 0.0
) -> TwoPointCalibration:
    """Make the calibration of an instrument from two points; see `TwoPointCalibration.correct`.

    Args:
        low: one point.
        high: the other.
        reference_correlation: of the references' errors: 1 of one instrument in both points, 0 of an ice slurry and an
            instrument.

    Raises:
        ArgumentError: both points have the same reading.
        CalcRangeError: its gain is not from 0.5 to 2: the points are not of one instrument, or not in one unit.

    """
    if low.reading.value == high.reading.value:
        raise ArgumentError("a two-point calibration needs two different readings")
    calibration = TwoPointCalibration(low, high, within("reference_correlation", reference_correlation, -1.0, 1.0, ""))
    within("gain", calibration.gain, 0.5, 2.0, "", "a sound instrument reads nearly true: check points and units")
    return calibration
