"""What is said in the dialog before refrigerant is moved. It unlocks nothing; it must only never be missing."""

import pytest

from calc.cautions import Step, cautions
from dashboard import ids
from dashboard.charge.layout.amounts import Suggestion, amount_form
from dashboard.charge.layout.checks import check_form
from ingest.wire.messages import UnitAbout
from tests.wire_rig import about, unit


@pytest.mark.parametrize("known", [None, unit(), unit(refrigerant="R-454B", safety_class="A2L")])
@pytest.mark.parametrize(("own", "step"), [(ids.ADDED, Step.CHARGE), (ids.RECOVERED, Step.RECOVER)])
def test_every_caution_of_the_step_stands_in_its_dialog(own: ids.Amount, step: Step, known: UnitAbout | None) -> None:
    said = str(amount_form(own, known, "us", Suggestion(), []))
    for caution in cautions(known and known.refrigerant, step):
        assert caution in said.replace("\\'", "'")


@pytest.mark.parametrize(("found", "says"), [("A3", "What is in it burns (A3)"), ("not_known", "Not known: treat it")])
def test_what_the_visit_found_in_the_unit_is_warned_of_in_every_dialog(found: str, says: str) -> None:
    amount = str(amount_form(ids.ADDED, unit(), "us", Suggestion(), [], found=found))
    assert says in amount
    assert "Evacuate the hose; purge nothing that burns." in amount
    assert says in str(check_form("open_to_air", about(started_s=1.7e9), found))
    assert says not in str(check_form("open_to_air", about(started_s=1.7e9)))
