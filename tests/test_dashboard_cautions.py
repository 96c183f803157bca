"""What is said before refrigerant is moved. Nothing here unlocks anything; it must only never be missing."""

import pytest

from dashboard.components.cautions import cautions
from tests.wire_rig import unit


@pytest.mark.parametrize("kind", ["added", "recovered"])
def test_the_usual_cautions_defer_to_nameplate_codes_and_certified_persons(kind: str) -> None:
    said = " ".join(cautions(kind, None))
    for needed in ("Gloves and eye protection", "flame", "nameplate", "local codes", "40 CFR 82.161"):
        assert needed in said


def test_a_recovery_cylinder_is_filled_to_80_percent_at_most() -> None:
    """Common practice, no source."""
    assert any("80 %" in caution for caution in cautions("recovered", unit()))


@pytest.mark.parametrize(
    ("safety_class", "burns", "toxic"),
    # The classes of ANSI/ASHRAE 34: A or B by toxicity, 1, 2L, 2, 3 by flammability.
    [("A1", False, False), ("A2L", True, False), ("A2", True, False), ("A3", True, False), ("B1", False, True),
     ("B2L", True, True)],
)  # fmt: skip
def test_what_burns_or_is_toxic_is_said_first(safety_class: str, burns: bool, toxic: bool) -> None:
    said = cautions("added", unit(safety_class=safety_class))
    assert any("25 % of LFL" in caution for caution in said[:2]) is burns
    assert any("toxic" in caution for caution in said[:2]) is toxic
