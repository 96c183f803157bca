"""What the page objects to before anything is sent, in the reader's units alone."""

from time import time

import pytest

from dashboard import ids
from dashboard.charge.callbacks.amount import refuse_impossible
from dashboard.errors import AskError
from dashboard.hub import Hub
from dashboard.shared.outcome import failure
from ingest.wire.messages import Added, Recovered, encode, topic
from tests import wire_rig

NAMEPLATE_KG = 3.4019428  # 7.5 lb; NIST SP 811, B.8: 1 lb = 4.535 924 E-01 kg


def hub() -> Hub:
    known = Hub(wire_rig.RIG)
    marks = [Added("m1", time(), mass_kg=0.1), Recovered("m2", time(), mass_kg=0.1)]
    unit = wire_rig.unit(nameplate_charge_kg=NAMEPLATE_KG)
    known.receive(topic(wire_rig.RIG, "about"), encode(wire_rig.about(started_s=time(), unit=unit, marks=marks)))
    return known


@pytest.mark.parametrize(
    ("own", "draft", "us"),
    [
        (ids.ADDED, {}, "31 lb 4 oz added: the nameplate's charge is 7 lb 8 oz"),
        (ids.RECOVERED, {}, "31 lb 4 oz recovered: the nameplate's charge is 7 lb 8 oz"),
        (ids.CORRECTION, {"of": "m1"}, "31 lb 4 oz added"),
        (ids.CORRECTION, {"of": "m2"}, "31 lb 4 oz recovered"),
    ],
)
def test_what_no_unit_of_this_size_takes_is_objected_to_at_the_review(
    own: ids.Amount, draft: dict[str, str], us: str
) -> None:
    with pytest.raises(AskError) as refused:
        refuse_impossible(hub(), own, draft | {"mass": "500 oz"})
    said = {system: str(failure(refused.value, system)) for system in ("us", "si")}  # type: ignore[arg-type]
    assert us in said["us"]
    assert "kg" not in said["us"]
    assert "14.17 kg" in said["si"]
    assert " oz" not in said["si"]


@pytest.mark.parametrize("mass", ["6 oz", "7 lb 8 oz", ""])
def test_what_may_be_is_left_to_the_rig_to_ask_about(mass: str) -> None:
    refuse_impossible(hub(), ids.ADDED, {"mass": mass})
