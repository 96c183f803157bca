"""The form of a check: what cannot be done on a simulated unit is not asked for as if it could."""

import json

import pytest
from plotly.utils import PlotlyJSONEncoder

from dashboard.charge.layout.checks import GUIDES, check_form
from ingest.wire.messages import CheckKind
from tests import wire_rig


@pytest.mark.parametrize("kind", GUIDES)
@pytest.mark.parametrize("simulated", [True, False])
def test_a_simulated_unit_says_that_its_probes_sit_where_they_are(kind: CheckKind, simulated: bool) -> None:
    about = wire_rig.about(started_s=1.7e9, simulated=simulated)
    form = json.dumps(check_form(kind, about), cls=PlotlyJSONEncoder)
    assert ("its probes sit where they are" in form) is simulated
