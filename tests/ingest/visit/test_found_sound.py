"""What a unit showed whenever it was sound, from the marks of its visits. Figures are invented."""

from typing import Literal

import pytest
from msgspec.structs import replace

from calc.estimate import Estimate
from ingest.visit.deciding import Facts, Head, RefusedError
from ingest.visit.found_sound import baselines, departures_of, found_sound
from ingest.visit.standing import Standing
from ingest.visit.withdrawing import withdraw
from ingest.wire.checks import Line
from ingest.wire.messages import (
    Added,
    Baseline,
    BaselineWithdrawn,
    Calibration,
    Checked,
    CheckFound,
    Circuit,
    Corrected,
    Correction,
    Described,
    Finding,
    FoundSound,
    Mark,
    Sheet,
    VisitOpened,
    WithdrawBaselineAsk,
)
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
    return departures_of(found, replace(UNIT, circuit=circuit), now_s=1.0)


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


def test_what_was_kept_long_ago_tells_less_and_tells_alike_all_day() -> None:
    day_s = 86400.0
    found = found_sound([("1", [sound("s1", 1.0)])])
    spreads = [
        departures_of(found, UNIT, 1.0 + days * day_s)["condensing_over_outdoor"].standard_uncertainty
        for days in (-400.0, 0.0, 0.9, 1.0, 365.0, 1095.0)
    ]
    assert spreads[0] == spreads[1] == spreads[2] == 0.5
    assert spreads[2] < spreads[3] < spreads[4] < spreads[5]


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
    assert known([sound("s1", 4.0, "1")], [mended], circuit="1", unnamed="1") == {}  # of which circuit nobody said
    in_the_other = known([sound("s1", 4.0, "2")], [mended], circuit="2", unnamed="1")
    assert in_the_other["condensing_over_outdoor"].value == 4.0


def ended(*visits: list[Mark], since: tuple[Mark, ...] = ()) -> list[tuple[str, str]]:
    named = [(str(number), marks) for number, marks in enumerate(visits)]
    return [(it.mark.id, it.ended) for it in baselines([*named, ("now", since)])]


def test_a_baseline_is_withdrawn_by_hand_at_any_later_visit_and_the_history_says_by_whom_and_why() -> None:
    withdrawn = BaselineWithdrawn("w1", 9.0, "Robin", "lead", "The coil was fouled.", of="s1")
    visits = ([sound("s1", 4.0)], [sound("s2", 1.0)])
    assert known(*visits, [withdrawn])["condensing_over_outdoor"].value == 1.0
    told = [it.told() for it in baselines([("v1", visits[0]), ("v2", visits[1]), ("v3", [withdrawn])])]
    assert told == [
        Baseline("s1", "v1", 1.0, ended="withdrawn", by="Robin", ended_s=9.0, text="The coil was fouled."),
        Baseline("s2", "v2", 1.0),
    ]
    again = replace(withdrawn, id="w2", by="Kim")
    assert [it.told().by for it in baselines([("v1", visits[0]), ("v2", [withdrawn, again])])] == ["Robin"]


def test_an_instrument_found_off_at_that_visit_ends_what_was_kept_before_and_a_sound_one_does_not() -> None:
    def checked(verdict: Literal["within", "out", "cannot_tell"]) -> Mark:
        found = CheckFound("open_to_air", "suction_pressure", 0.0, 0.0, 0.0, 0.0, 0.1, 0.1, verdict, 0.1)
        return Checked("c1", 2.0, check=found)

    line = Line(1.0, 0.0, 0.1)
    corrected = Corrected("k1", 2.0, calibration=Calibration("suction_pressure", line, line, ("c1",)))
    assert ended([sound("s1", 1.0), checked("out")]) == ended([sound("s1", 1.0), corrected]) == [("s1", "instruments")]
    assert ended([sound("s1", 1.0), checked("within"), checked("cannot_tell")]) == [("s1", "")]
    assert ended([checked("out"), sound("s1", 1.0)]) == [("s1", "")]  # it passed since, or is in doubt by itself
    assert ended([sound("s1", 1.0)], [checked("out")]) == [("s1", "")]  # another day, another instrument


def test_a_move_that_a_correction_puts_into_another_circuit_ends_the_baseline_of_that_one_alone() -> None:
    """Noted of 1, and it was 2 all along: what was found of 1 is as it was, and what was found of 2 is no more."""
    both = [sound("s1", 1.0, "1"), sound("s2", 5.0, "2"), added("m1", "1")]
    assert ended(both) == [("s1", "moved"), ("s2", "")]
    assert ended([*both, Correction("c1", 3.0, of="m1", mass_kg=0.1, circuit="2")]) == [("s1", ""), ("s2", "moved")]
    assert ended([*both, Correction("c1", 3.0, of="m1", mass_kg=None)]) == [("s1", ""), ("s2", "")]
    later = [added("m1", "1"), sound("s1", 1.0, "1"), sound("s2", 5.0, "2")]
    assert ended([*later, Correction("c1", 3.0, of="m1", mass_kg=0.1, circuit="2")]) == [("s1", ""), ("s2", "")]


def test_a_baseline_that_the_disk_took_behind_a_move_that_it_did_not_know_of_counts_no_more() -> None:
    before, move = Finding("f1", 1.0, check="complaint", grade="said", outcome="met"), added("m1")
    assert ended([before, move, replace(sound("s1", 1.0), after="f1")]) == [("s1", "moved")]
    assert ended([before, move, replace(sound("s1", 1.0), after="m1")]) == [("s1", "")]
    assert ended([before, move, sound("s1", 1.0)]) == [("s1", "")]  # of an older record


def test_of_one_visit_the_newer_takes_the_place_of_the_older() -> None:
    assert ended([sound("s1", 1.0, "1"), sound("s2", 5.0, "2"), sound("s3", 2.0, "1")]) == [
        ("s1", "newer"), ("s2", ""), ("s3", ""),
    ]  # fmt: skip


def test_at_the_visit_under_way_what_ends_baselines_counts_at_once_and_its_own_are_none_for_it() -> None:
    before = [("v1", [sound("s1", 4.0)])]
    choices = {"cause": "rejection", "seen": "mended"}
    mended = Finding("f1", 2.0, check="looked_for", grade="said", outcome="met", choices=choices)
    assert departures_of(found_sound(before, since=[mended, sound("s2", 1.0)]), UNIT, 1.0) == {}
    assert (
        departures_of(found_sound(before, since=[sound("s2", 1.0)]), UNIT, 1.0)["condensing_over_outdoor"].value == 4.0
    )


KEPT = (Baseline("s1", "v1", 1.0), Baseline("s2", "v1", 2.0, ended="moved"))
NOW = Facts(UNIT, {}, frozenset(), frozenset(), baselines=KEPT)
HEAD: Head = ("w1", 9.0, "Sam", "technician")


@pytest.mark.parametrize(
    ("of", "text", "refusal"),
    [
        ("s1", " ", "text is empty: why the baseline does not count was expected"),
        ("s2", "x", "counts no more already: moved"),
        ("s3", "x", "there is no baseline 's3'"),
    ],
)
def test_what_is_withdrawn_counts_and_has_a_reason(of: str, text: str, refusal: str) -> None:
    with pytest.raises(RefusedError, match=refusal):
        withdraw(WithdrawBaselineAsk("w1", "Sam", of=of, text=text), HEAD, Standing("v2"), NOW)
    kept = withdraw(WithdrawBaselineAsk("w1", "Sam", of="s1", text=" Fouled. "), HEAD, Standing("v2"), NOW)
    assert kept == BaselineWithdrawn(*HEAD, text="Fouled.", of="s1")


@pytest.mark.parametrize("departure", [(0.0, -1.0), (1e300, 1e300), (float("nan"), 0.5), (0.0, 0.0), (1e308, 1.0)])
def test_what_no_unit_shows_is_left_out(departure: tuple[float, float]) -> None:
    mark = replace(sound("s1", 4.0), departures={"superheat": departure, "air_split": (1.0, 0.5)})
    assert known([mark]) == {"air_split": Estimate(1.0, 0.5)}


@pytest.mark.parametrize(("departure", "is_known"), [
    ((49.9, 0.5), True), ((-49.9, 0.5), True), ((50.0, 0.5), False), ((-50.0, 0.5), False), ((50.5, 0.5), False),
    ((1.0, 49.9), True), ((1.0, 50.0), False), ((1.0, 50.5), False),
])  # fmt: skip
def test_what_lies_fifty_kelvins_away_is_no_figure_of_a_sound_unit(
    departure: tuple[float, float], is_known: bool
) -> None:
    """Common practice, no source: no evaporator and no condenser differ so much from others."""
    assert bool(known([replace(sound("s1", 4.0), departures={"superheat": departure})])) is is_known


def test_what_was_put_right_at_one_circuit_says_nothing_of_another() -> None:
    choices = {"cause": "rejection", "seen": "mended"}
    mended = Finding("f1", 2.0, check="looked_for", grade="said", outcome="met", choices=choices, circuit="2")
    visits = ([sound("s1", 4.0, "1"), sound("s2", 5.0, "2")], [mended])
    assert known(*visits, circuit="1", unnamed="1")["condensing_over_outdoor"].value == 4.0
    assert known(*visits, circuit="2", unnamed="1") == {}
