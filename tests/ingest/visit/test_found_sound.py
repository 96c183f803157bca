"""What a unit showed whenever it was sound, from the marks of its visits. Figures are invented."""

import pytest
from msgspec.structs import replace

from calc.estimate import Estimate
from ingest.visit.found_sound import departures_of, found_sound
from ingest.wire.messages import Added, Circuit, Correction, Described, Finding, FoundSound, Mark, Sheet, VisitOpened
from tests.wire_rig import unit

UNIT = unit()

OF = {"refrigerant": UNIT.refrigerant, "metering_device": UNIT.metering_device}


def sound(mark_id: str, head_dk: float, circuit: str = "", spread_dk: float = 0.5, **of: str) -> FoundSound:
    departures = {"condensing_over_outdoor": (head_dk, spread_dk)}
    return FoundSound(mark_id, 1.0, circuit=circuit, departures=departures, **(OF | of))


def added(mark_id: str, circuit: str = "") -> Mark:
    return Added(mark_id, 2.0, mass_kg=0.1, phase="liquid", circuit=circuit)


def known(*visits: list[Mark], circuit: str = "", unnamed: str = "") -> dict[str, Estimate]:
    found = found_sound([(str(number), marks) for number, marks in enumerate(visits)], unnamed)
    return departures_of(found, replace(UNIT, circuit=circuit))


def test_nothing_is_known_of_a_unit_before_it_was_found_sound() -> None:
    assert known() == known([]) == known([added("m1")]) == {}


def test_all_visits_count_alike_so_that_what_fouls_slowly_does_not_become_what_is_expected() -> None:
    visits = [[sound(f"s{year}", 1.0 * year)] for year in range(3)]
    assert known(*visits) == {"condensing_over_outdoor": Estimate(1.0, 0.5)}


def test_what_one_of_them_may_be_off_by_all_may_for_one_instrument_may_have_read_all() -> None:
    assert known([sound("s1", 2.0, spread_dk=0.3)], [sound("s2", 4.0, spread_dk=0.4)]) == {
        "condensing_over_outdoor": Estimate(3.0, (0.125) ** 0.5)
    }


def test_of_one_visit_the_newest_counts_and_none_after_a_move() -> None:
    assert known([sound("s1", 1.0), added("m1"), sound("s2", 3.0)])["condensing_over_outdoor"].value == 3.0
    assert known([sound("s1", 1.0), added("m1")]) == {}
    corrected = Correction("c1", 3.0, of="m0", mass_kg=0.2)
    assert known([added("m0"), sound("s1", 1.0), corrected])["condensing_over_outdoor"].value == 1.0


def test_a_move_of_another_circuit_leaves_this_one_as_it_was() -> None:
    visit = [sound("s1", 1.0, "1"), sound("s2", 5.0, "2"), added("m1", "2")]
    assert known(visit, circuit="1")["condensing_over_outdoor"].value == 1.0
    assert known(visit, circuit="2") == {}
    in_view = [
        sound("s1", 1.0, "1"),
        sound("s2", 5.0, "2"),
        VisitOpened("v1", 0.5, unit=UNIT.tag, circuit="2"),
        added("m1"),
    ]
    assert known(in_view, circuit="2") == {}
    assert known(in_view, circuit="1")["condensing_over_outdoor"].value == 1.0


def test_with_another_refrigerant_or_another_valve_it_is_another_unit() -> None:
    assert known([sound("s1", 1.0, refrigerant="R-22")]) == {}
    assert known([sound("s1", 1.0, metering_device="fixed_orifice")]) == {}


def test_a_circuit_that_was_renamed_stays_what_it_is() -> None:
    sheet = Sheet(UNIT.tag, circuits=[Circuit("north", UNIT.refrigerant, UNIT.metering_device)])
    renamed = Described("d1", 2.0, sheet=sheet, circuits_were=["1"])
    assert known([sound("s1", 1.0, "1")], [renamed], circuit="north")["condensing_over_outdoor"].value == 1.0


def test_a_circuit_that_nobody_named_yet_is_the_one_that_the_sheet_names_later() -> None:
    visits = ([sound("s1", 1.0)], [sound("s2", 3.0, "1"), sound("s3", 9.0, "2")])
    assert known(*visits, circuit="1", unnamed="1")["condensing_over_outdoor"].value == 2.0
    assert known(*visits, circuit="", unnamed="1")["condensing_over_outdoor"].value == 2.0
    assert known([sound("s1", 1.0), added("m1", "1")], circuit="1", unnamed="1") == {}


def test_what_was_put_right_since_makes_it_another_unit() -> None:
    choices = {"cause": "rejection", "seen": "mended"}
    mended = Finding("f1", 2.0, check="looked_for", grade="said", outcome="met", choices=choices)
    assert known([sound("s1", 4.0)], [mended]) == {}
    assert known([sound("s1", 4.0)], [mended, sound("s2", 1.0)])["condensing_over_outdoor"].value == 1.0
    looked = replace(mended, choices={**choices, "seen": "nothing"})
    assert known([sound("s1", 4.0)], [looked])["condensing_over_outdoor"].value == 4.0


@pytest.mark.parametrize("departure", [(0.0, -1.0), (1e300, 1e300), (float("nan"), 0.5), (0.0, 0.0), (1e308, 1.0)])
def test_what_no_unit_shows_is_left_out(departure: tuple[float, float]) -> None:
    mark = replace(sound("s1", 4.0), departures={"superheat": departure, "air_split": (1.0, 0.5)})
    assert known([mark]) == {"air_split": Estimate(1.0, 0.5)}
