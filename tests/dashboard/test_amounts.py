"""What the page objects to before anything is sent, in the reader's units alone."""

from time import time

import msgspec
import pytest

from dashboard import ids
from dashboard.asks import MADE_FROM, AskBody
from dashboard.charge.callbacks.amount import _where, suggested, weigh
from dashboard.errors import AskError
from dashboard.hub import Hub
from dashboard.shared.outcome import failure
from ingest.wire.messages import Added, AddedAsk, Recovered, Visit, encode, topic
from tests import wire_rig

NAMEPLATE_KG = 3.4019428  # 7.5 lb; NIST SP 811, B.8: 1 lb = 4.535 924 E-01 kg


def hub() -> Hub:
    known = Hub(wire_rig.RIG)
    marks = [Added("m1", time(), mass_kg=0.1), Recovered("m2", time(), mass_kg=0.1)]
    unit = wire_rig.unit(nameplate_charge_kg=NAMEPLATE_KG)
    known.receive(topic(wire_rig.RIG, "about"), encode(wire_rig.about(started_s=time(), unit=unit, marks=marks)))
    known.receive(topic(wire_rig.RIG, "visit"), encode(Visit("v1", 0.1, 0.1, moves=2)))
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
        weigh(hub(), own, draft | {"mass": "500 oz"})
    said = {system: str(failure(refused.value, system)) for system in ("us", "si")}  # type: ignore[arg-type]
    assert us in said["us"]
    assert "kg" not in said["us"]
    assert "14.17 kg" in said["si"]
    assert " oz" not in said["si"]


@pytest.mark.parametrize(
    ("own", "draft", "mass", "says"),
    [
        (ids.ADDED, {}, "40 oz", "2 lb 8 oz added in one go, and the nameplate's charge is 7 lb 8 oz."),
        (ids.ADDED, {}, "7 lb 8 oz", "7 lb 8 oz added in one go"),  # 0.1 kg was added before, and as much recovered
        (ids.ADDED, {}, "7 lb 9 oz", "this visit comes to 7 lb 9 oz, and the nameplate's charge is 7 lb 8 oz."),
        (ids.RECOVERED, {}, "7 lb 6 oz", "this visit comes to 7 lb 10 oz out"),  # with 0.1 kg, or 3.53 oz, before
        (ids.RECOVERED, {}, "7 lb", None),
        (ids.CORRECTION, {"of": "m1"}, "40 oz", "2 lb 8 oz added in one go"),
        (ids.CORRECTION, {"of": "m2"}, "7 lb 8 oz", None),  # it takes the place of the 0.1 kg
        (ids.CORRECTION, {"of": "m2"}, "7 lb 9 oz", "this visit comes to 7 lb 9 oz out"),
        (ids.ADDED, {}, "6 oz", None),
        (ids.CORRECTION, {"of": "m1"}, "", None),
    ],
)
def test_what_is_unlikely_is_said_at_the_review_already(
    own: ids.Amount, draft: dict[str, str], mass: str, says: str | None
) -> None:
    doubt = weigh(hub(), own, draft | {"mass": mass})
    if says is None:
        assert doubt is None
    else:
        assert says in str(doubt)


@pytest.mark.parametrize("circuit", ["", "2"])
def test_an_amount_says_of_which_circuit_it_is_where_one_is_in_view(circuit: str) -> None:
    draft = {"id": "a1", **_where(wire_rig.unit(circuit=circuit)), "mass": "6 oz", "phase": "liquid"}
    ask = MADE_FROM["added"](("a1", "Sam"), msgspec.convert(draft, AskBody))
    assert isinstance(ask, AddedAsk)
    assert (ask.circuit, ask.phase) == (circuit, "liquid")
    assert ask.mass_kg == pytest.approx(0.17009714)  # NIST SP 811, B.8: 1 oz = 2.834 952 E-02 kg


@pytest.mark.parametrize(
    ("refrigerant", "as_liquid", "own", "phase"),
    [
        ("R-22", False, ids.ADDED, "vapour"),
        ("R-410A", True, ids.ADDED, "liquid"),
        ("R-22", False, ids.RECOVERED, "liquid"),
    ],
)
def test_liquid_is_filled_in_beforehand_only_where_a_blend_needs_it(
    refrigerant: str, as_liquid: bool, own: ids.Amount, phase: str
) -> None:
    """A blend leaves its cylinder as liquid (makers' manuals); one substance goes in as vapour on the low side."""
    known = Hub(wire_rig.RIG)
    unit = wire_rig.unit(refrigerant=refrigerant, charge_as_liquid=as_liquid)
    known.receive(topic(wire_rig.RIG, "about"), encode(wire_rig.about(started_s=time(), unit=unit)))
    assert suggested(known, own, "us").phase == phase
