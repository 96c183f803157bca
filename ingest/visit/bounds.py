"""Figures that no check finds: refused with what bounds them, since a slip of the finger is no finding.

What cannot be below nothing may still be read so by a meter near it: by as much as its usual ± limit. The upper bounds
are beyond whatever stands on a roof (common practice, no source).
"""

from collections.abc import Mapping

from calc.quantities import Quantity
from calc.sentences import Sentence, reading, text
from ingest.visit.answers import find_figure, label_of
from ingest.visit.deciding import RefusedError
from ingest.wire.checklist import Check, Figure
from ingest.wire.plausible import PLAUSIBLE
from ingest.wire.wording import worded

_YEAR_S = 365.25 * 86_400.0
_AWG = (-3.0, 40.0)

_OF_KINDS: Mapping[str, tuple[float, float]] = {
    **{quantity.name.lower(): bounds for quantity, bounds in PLAUSIBLE.items()},
    "capacitance": (0.0, 5e-3),
    "current": (0.0, 2e3),
    "frequency": (0.0, 1e3),
    "humidity": (0.0, 100.0),
    "insulation_resistance": (0.0, 1e12),
    "length": (0.0, 1e3),
    "mass": (0.0, 1e3),
    "ratio": (0.0, 1.0),
    Quantity.TEMPERATURE_DIFFERENCE.name.lower(): (-100.0, 150.0),
    "time": (0.0, 10 * _YEAR_S),
    "waiting_time": (0.0, 10 * _YEAR_S),
    "torque": (0.0, 1e3),
    "vacuum_pressure": (0.0, 110e3),
    "voltage": (-5e3, 5e3),
    "": (0.0, 1e3),
}
"""By its kind, where a figure lies [SI]; a plain number is a count. Volts are read with either sign, and the test volts
of a winding go beyond those of the unit."""

_OF_FIGURES: Mapping[str, tuple[float, float]] = {
    "circuits": (1.0, 1e2),
    "gauge": _AWG,
    "range": _AWG,
    "replaced": _AWG,
    "turns": (1.0, 1e2),
}
"""Of these by their names; of gauges 0 is 1/0 and -3 is 4/0."""


def check_values(check: Check, values: Mapping[str, float]) -> None:
    """See that each figure can be one of its kind.

    Raises:
        RefusedError: one cannot; it says what bounds it.
        AnswerError: the check has no such figure.

    """
    for name, value in values.items():
        figure, of = find_figure(check, name)
        if wrong := _wrong(figure, of, value):
            said = worded(wrong)
            raise RefusedError(f"values: {name}: {said.us}", said)


def _wrong(figure: Figure, of: str, value: float) -> Sentence | None:
    low, high = _bounds(figure)
    kind = figure.quantity
    parts = (text("what", label_of(figure, of)), reading("found", value, None, kind))
    least = low - figure.accuracy if low == 0.0 else low
    if value < least:
        return Sentence("finding.too_little", (*parts, reading("low", low, None, kind)))
    if value > high:
        return Sentence("finding.too_much", (*parts, reading("high", high, None, kind)))
    return Sentence("finding.not_whole", parts) if not kind and value != int(value) else None


def _bounds(figure: Figure) -> tuple[float, float]:
    return _OF_FIGURES.get(figure.name) or _OF_KINDS[figure.quantity]
