"""What may be said of a cylinder, and what it then holds."""

import pytest

from ingest.visit.cylinders import as_designated
from ingest.visit.deciding import RefusedError
from ingest.wire.messages import Photograph
from tests.ingest.visit.moves import Visit


def test_a_cylinder_holds_what_was_weighed_less_what_left_it() -> None:
    visit = Visit()
    visit.brings("7", tare_kg=3.0, gross_kg=14.3)
    visit.adds(0.3, cylinder="7")
    visit.adds(0.2)  # of another
    (stands,) = visit.standing.message().cylinders
    assert (stands.name, stands.holds_kg, stands.taken_kg, stands.given_kg) == ("7", pytest.approx(11.0), 0.3, 0.0)


def test_an_empty_recovery_cylinder_takes_the_first_refrigerant_that_comes() -> None:
    visit = Visit()
    visit.brings("9", use="recovery", refrigerant="", tare_kg=12.0, water_capacity_kg=21.6, gross_kg=12.0)
    assert visit.standing.message().cylinders[0].most_kg is None
    visit.recovers(0.3, cylinder="9")
    (stands,) = visit.standing.message().cylinders
    assert (stands.refrigerant, stands.holds_kg, stands.given_kg) == ("R-410A", pytest.approx(0.3), 0.3)
    assert stands.most_kg == pytest.approx(18.3, abs=0.3)  # 80 % of 21.6 l at 1.06 kg/l (REFPROP, from memory)


def test_nothing_is_known_of_what_nobody_weighed() -> None:
    visit = Visit()
    visit.brings("7")
    (stands,) = visit.standing.message().cylinders
    assert (stands.holds_kg, stands.most_kg) == (None, None)


@pytest.mark.parametrize(
    ("fields", "reason"),
    [
        ({"name": " "}, "name is empty"),
        ({"refrigerant": ""}, "refrigerant is empty: what the label of the cylinder says was expected"),
        ({"refrigerant": "R-999"}, "refrigerant: "),
        ({"tare_kg": 0.0}, "tare_kg is 0; 0.1 to 1000 kg are of cylinders"),
        ({"gross_kg": float("nan")}, "gross_kg is nan"),
        ({"tare_kg": 12.0, "gross_kg": 11.0}, "gross_kg is less than tare_kg: look at the scale"),
        ({"hose_m": 31.0}, "hose_m is 31"),
        ({"hose_bore_m": 0.1}, "hose_bore_m is 0.1"),
        ({"photographs": ["p1"]}, "there is no photograph 'p1' in this visit"),
    ],
)
def test_what_no_cylinder_has_is_refused_with_what_to_do(fields: dict[str, object], reason: str) -> None:
    with pytest.raises(RefusedError) as refused:
        Visit().brings(**{"name": "7", "use": "virgin", "refrigerant": "R-410A"} | fields)
    assert reason in str(refused.value)


@pytest.mark.parametrize(
    ("figure", "least", "most"),
    [
        ("tare_kg", 0.1, 1000.0),
        ("water_capacity_kg", 0.1, 1000.0),
        ("gross_kg", 0.1, 1000.0),
        ("hose_m", 0.0, 30.0),
        ("hose_bore_m", 0.001, 0.025),
    ],
)
def test_what_a_cylinder_or_a_hose_may_have_ends_where_it_is_said_to(figure: str, least: float, most: float) -> None:
    """Common practice, no source: what is beyond was typed in another unit."""
    of = {"use": "virgin", "refrigerant": "R-410A"}
    for value in (least, most):
        Visit().brings(**{"name": "7", figure: value} | of)
    for value in (least - 0.5 * (least or 1.0), 1.01 * most):
        with pytest.raises(RefusedError, match=f"{figure} is .*; {least:g} to {most:g} k?g?m? ?are of"):
            Visit().brings(**{"name": "7", figure: value} | of)


def test_a_cylinder_that_is_as_heavy_as_its_tare_is_empty_and_never_holds_less_than_nothing() -> None:
    visit = Visit()
    visit.brings("7", tare_kg=3.0, gross_kg=3.0)
    visit.adds(0.3, cylinder="7")
    assert visit.standing.message().cylinders[0].holds_kg == 0.0
    for known in ({"tare_kg": 3.0}, {"gross_kg": 14.3}):
        half = Visit()
        half.brings("7", **known)
        assert half.standing.message().cylinders[0].holds_kg is None


def test_twenty_photographs_of_a_cylinder_are_kept_and_no_more() -> None:
    visit = Visit()
    names = [f"p{number}" for number in range(21)]
    for name in names:
        visit.take(Photograph(name, 1.0, "Sam", "technician", digest="0", sent_digest="0", width=640, height=480))
    visit.brings("7", photographs=names[:20])
    with pytest.raises(RefusedError, match="photographs names 21; at most 20 are kept"):
        visit.brings("8", photographs=names)


def test_a_refrigerant_is_written_as_its_standard_does_and_what_is_none_stays_as_it_stands() -> None:
    """ASHRAE 34 writes R-410A."""
    assert [as_designated(said) for said in (" r410a ", "R-999", " ")] == ["R-410A", "R-999", ""]


def test_one_that_becomes_another_is_asked_about() -> None:
    """Refrigerants are not mixed in a cylinder: common practice, no source. So its name does not pass to another."""
    visit = Visit()
    visit.brings("9", "recovery", "", tare_kg=10.0, gross_kg=10.0)
    visit.recovers(0.5, cylinder="9")
    visit.brings("9", "recovery", "R-410A", tare_kg=10.0, gross_kg=10.5)
    visit.brings("9", "recovery", "", tare_kg=10.0, gross_kg=10.5)
    assert visit.told == []
    visit.brings("9", "recovery", "R-22", tare_kg=10.0, gross_kg=10.5)
    assert visit.told[-1].us == (
        "9 was a recovery cylinder of R-410A, and would be a recovery cylinder of R-22. "
        "Another cylinder has a name of its own: is it this one all the same?"
    )
    visit.brings("9", "virgin", "R-22", tare_kg=10.0, gross_kg=10.5)
    assert "would be one to charge with, of R-22." in visit.told[-1].us
    assert len(visit.told) == 2


@pytest.mark.parametrize("where", [{"cylinder": "9"}, {"circuit": "1"}])
def test_a_correction_of_where_says_how_much_too(where: dict[str, str]) -> None:
    """Without it nothing would be left of the amount, though only its cylinder was meant."""
    visit = Visit()
    visit.brings("9", "recovery", "R-410A", tare_kg=10.0, gross_kg=10.0)
    moved = visit.recovers(0.5, cylinder="9")
    with pytest.raises(RefusedError, match="where it really was goes with how much it was; 0 takes it back"):
        visit.corrects(moved.id, None, **where)
    assert visit.standing.message().cylinders[0].given_kg == 0.5
    visit.corrects(moved.id, 0.4, **where)
    assert visit.standing.message().cylinders[0].given_kg == 0.4
    visit.corrects(moved.id, None)
    assert visit.standing.message().cylinders[0].given_kg == 0.0
