"""A charge by weight: what is due at each step, and how much goes in."""

import pytest

from tests.ingest.visit.moves import CHARGE_KG, OUNCE_KG, Visit, circuit

FOOT_M = 0.3048


def now(visit: Visit):
    found = visit.standing.message().by_weight
    assert found is not None
    return found


def test_step_by_step_from_what_is_left_to_the_plates_charge() -> None:
    visit = Visit()
    visit.rests()
    assert visit.standing.message().by_weight is None
    visit.recovers(0.3, purpose="weigh_in")
    visit.recovers(0.1, purpose="weigh_in")
    found = now(visit)
    assert (found.step, found.recovered_kg, found.level_reached) == ("recover", 0.4, "")
    assert found.level_pa == pytest.approx(101_325)  # 82.156, table 1: high pressure, under 200 lb: 0 inHg of vacuum
    assert "0 inHg of vacuum" in found.says.us
    visit.finds("opened", "cannot_tell", choices={"level_verified": "yes"})
    assert (now(visit).step, now(visit).level_reached, now(visit).vacuum_held) == ("evacuate", "met", "")
    visit.finds("opened", "not_met", choices={"level_verified": "yes", "vacuum_course": "climbs"})
    assert (now(visit).step, now(visit).vacuum_held) == ("evacuate", "not_met")
    visit.finds("opened", "met", choices={"level_verified": "yes", "vacuum_course": "holds"})
    found = now(visit)
    assert (found.step, found.mass_kg, found.left_kg) == (
        "weigh_in",
        pytest.approx(CHARGE_KG),
        pytest.approx(CHARGE_KG),
    )
    assert "weigh in 7 lb 8 oz more, 7 lb 8 oz in all. What no longer goes in at rest" in found.says.us
    visit.adds(3.0, port="liquid", purpose="weigh_in")
    assert now(visit).left_kg == pytest.approx(CHARGE_KG - 3.0)
    noted = visit.adds(CHARGE_KG - 3.0, port="liquid", purpose="weigh_in")
    assert (now(visit).step, now(visit).weighed_in_kg) == ("done", pytest.approx(CHARGE_KG))
    visit.corrects(noted.id, 0.2)
    assert now(visit).step == "weigh_in"


def test_lines_beyond_those_included_take_more_and_shorter_ones_less() -> None:
    """0.6 oz per foot of 3/8 in line is the trade's figure for R-22: 35 ft beyond 15 ft take 21 oz, within 3 %."""
    sizes = {"included_line_m": 15 * FOOT_M, "liquid_line_m": 0.375 * 0.0254}
    for feet, ounces in ((50, 21.0), (15, 0.0), (10, -3.0)):
        visit = Visit(circuit(refrigerant="R-22", line_m=feet * FOOT_M, **sizes))
        visit.recovers(0.3, purpose="weigh_in")
        assert now(visit).lines_kg == pytest.approx(ounces * OUNCE_KG, rel=0.03)
        assert now(visit).mass_kg == pytest.approx(CHARGE_KG + now(visit).lines_kg)


def test_what_the_hose_held_goes_in_as_well() -> None:
    """A hose of 1.5 m and 1/4 in bore of liquid R-410A: 47.5 ml of 1.06 kg/l (REFPROP, from memory) are 50 g."""
    visit = Visit()
    visit.brings("7", hose_m=1.5, hose_bore_m=0.25 * 0.0254)
    visit.recovers(0.3, purpose="weigh_in")
    assert now(visit).hose_kg == pytest.approx(0.050, abs=0.001)
    assert now(visit).mass_kg == pytest.approx(CHARGE_KG - now(visit).hose_kg)


def test_how_much_is_not_told_where_nobody_knows_the_charge() -> None:
    visit = Visit(circuit(charge_kg=None))
    visit.recovers(0.3, purpose="weigh_in")
    visit.finds("opened", "met", choices={"level_verified": "yes", "vacuum_course": "holds"})
    assert (now(visit).step, now(visit).mass_kg) == ("weigh_in", None)
    assert "no charge is known" in now(visit).says.us


def test_a_step_by_a_figure_is_no_charge_by_weight() -> None:
    visit = Visit()
    visit.recovers(0.1, purpose="adjust")
    visit.adds(0.1)
    assert visit.standing.message().by_weight is None


@pytest.mark.parametrize("missing", ["line_m", "included_line_m", "liquid_line_m"])
def test_lines_that_nobody_measured_take_nothing(missing: str) -> None:
    sizes = {"line_m": 15.0, "included_line_m": 4.6, "liquid_line_m": 0.375 * 0.0254, missing: None}
    visit = Visit(circuit(**sizes))
    visit.recovers(0.3, purpose="weigh_in")
    assert (now(visit).lines_kg, now(visit).mass_kg) == (None, pytest.approx(CHARGE_KG))


def test_more_than_was_due_leaves_nothing_to_go() -> None:
    visit = Visit()
    visit.recovers(0.3, purpose="weigh_in")
    visit.adds(CHARGE_KG + 0.05, port="liquid", purpose="weigh_in")
    assert (now(visit).step, now(visit).left_kg) == ("done", 0.0)
