"""What is said in the dialog before refrigerant is moved. It unlocks nothing; it must only never be missing."""

import pytest

from calc.cautions import Step, cautions
from dashboard import ids
from dashboard.charge.layout.amounts import Suggestion, amount_form
from ingest.wire.messages import UnitAbout
from tests.wire_rig import unit


@pytest.mark.parametrize("known", [None, unit(), unit(refrigerant="R-454B", safety_class="A2L")])
@pytest.mark.parametrize(("own", "step"), [(ids.ADDED, Step.CHARGE), (ids.RECOVERED, Step.RECOVER)])
def test_every_caution_of_the_step_stands_in_its_dialog(own: ids.Amount, step: Step, known: UnitAbout | None) -> None:
    said = str(amount_form(own, known, "us", Suggestion(), []))
    for caution in cautions(known and known.refrigerant, step):
        assert caution in said.replace("\\'", "'")
