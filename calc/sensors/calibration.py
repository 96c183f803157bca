"""Two-point calibration: a straight line through two points, with the uncertainty that both leave behind."""

import math
from dataclasses import dataclass

from calc.elementwise import within
from calc.errors import ArgumentError
from calc.estimate import Estimate


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

    @property
    def gain(self) -> float:
        """How many units of the truth one unit of the reading stands for."""
        run = self.high.reading.value - self.low.reading.value
        return (self.high.reference.value - self.low.reference.value) / run

    def correct(self, reading: Estimate) -> Estimate:
        """Correct a reading.

        The uncertainties add in quadrature (JCGM 100, 5.1.2): each point's with the weight that it has at this
        reading, which beyond the points grows, and the reading's own. What the two points have in common, such as one
        reference instrument, is taken as independent.

        >>> ice = CalibrationPoint(Estimate(0.4, 0.0), Estimate(0.0, 0.1))
        >>> warm = CalibrationPoint(Estimate(50.4, 0.0), Estimate(50.0, 0.1))
        >>> corrected = two_point(ice, warm).correct(Estimate(25.4, 0.0))
        >>> round(corrected.value, 3), round(corrected.standard_uncertainty, 4)  # 0.1 / sqrt(2) in the middle
        (25.0, 0.0707)
        """
        low, high = self.low, self.high
        weight = (reading.value - low.reading.value) / (high.reading.value - low.reading.value)
        return Estimate(
            low.reference.value + weight * (high.reference.value - low.reference.value),
            math.hypot(
                (1 - weight) * self._point_uncertainty(low),
                weight * self._point_uncertainty(high),
                self.gain * reading.standard_uncertainty,
            ),
        )

    def _point_uncertainty(self, point: CalibrationPoint) -> float:
        return math.hypot(point.reference.standard_uncertainty, self.gain * point.reading.standard_uncertainty)


def two_point(low: CalibrationPoint, high: CalibrationPoint) -> TwoPointCalibration:
    """Make the calibration of an instrument from two points; see `TwoPointCalibration.correct`.

    Raises:
        ArgumentError: both points have the same reading.
        CalcRangeError: its gain is not from 0.5 to 2: the points are not of one instrument, or not in one unit.

    """
    if low.reading.value == high.reading.value:
        raise ArgumentError("a two-point calibration needs two different readings")
    calibration = TwoPointCalibration(low, high)
    within("gain", calibration.gain, 0.5, 2.0, "", "a sound instrument reads nearly true: check points and units")
    return calibration
