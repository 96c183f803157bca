"""What may be said of a cylinder, and what it then holds."""

import pytest

from ingest.visit.deciding import RefusedError
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
