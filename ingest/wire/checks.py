"""What a field check of a channel found, and the calibration that may follow from it."""

from collections.abc import Sequence
from typing import Literal

import msgspec

CheckKind = Literal["open_to_air", "ice_point", "one_pipe", "closed_jaw", "reference"]


class CheckFound(msgspec.Struct, frozen=True, omit_defaults=True):
    """What a field check of a channel found, in the house's unit; a gauge pressure counts from the air.

    sent: what the instrument sent, averaged, in its own unit. reading: what was made of it. reference: what it should
    have been. offset: how much too high it reads. standard_uncertainty: of a reading before;
    corrected_standard_uncertainty: with the offset taken off, None where that would not help. other, value,
    value_accuracy: what it was compared with, as in the ask. instrument: which one was checked; a check from before
    this field has none.
    """

    kind: CheckKind
    channel: str
    sent: float
    reading: float
    reference: float
    offset: float
    offset_standard_uncertainty: float
    standard_uncertainty: float
    verdict: Literal["within", "out", "cannot_tell"]
    corrected_standard_uncertainty: float | None = None
    other: str = ""
    value: float | None = None
    value_accuracy: float | None = None
    instrument: str = ""


class Line(msgspec.Struct, frozen=True):
    """How a channel is read: value = slope x sent + offset, in the instrument's own unit.

    standard_uncertainty: of one reading, in the house's unit.
    """

    slope: float
    offset: float
    standard_uncertainty: float


class Calibration(msgspec.Struct, frozen=True, omit_defaults=True):
    """How a channel was read before and is from now on. checks: the marks that it rests on, one or two.

    instrument: of which it holds, and of no other in its place; a mark from before this field has none.
    """

    channel: str
    before: Line
    after: Line
    checks: Sequence[str]
    instrument: str = ""
