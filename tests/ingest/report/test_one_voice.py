"""No two sentences of a report contradict each other: of leaks, of what was moved, of how the unit was left."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from ingest.report.compose import compose
from tests.ingest.report import hard
from tests.ingest.report.claims import contradictions
from tests.ingest.report.generated import TAG, visits
from tests.ingest.report.journal import BURNS, ONE, UNIT, Journal
from tests.ingest.report.reading import section, words
from tests.ingest.report.recorded import Shelf, names, read

COULD_NOT = "What we could not tell, or did not check"


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_no_two_sentences_contradict_each_other(data: st.DataObject) -> None:
    country = data.draw(st.sampled_from(["", "US", "DE", "CH"]))
    sheet = replace(data.draw(st.sampled_from([ONE, UNIT, BURNS])), tag=TAG, country=country)
    about = ("leaks", "leaks", "opened", "handover", "as_it_was", "look_first", "looked_for")
    earlier = data.draw(visits(sheet, name="v0", began_s=1.7e9, likely=about))
    shelf = Shelf.of("v0", TAG, earlier, sheet)
    shelf.put("v1", TAG, data.draw(visits(sheet, likely=about)))
    for system in ("us", "si"):
        assert not list(contradictions(compose(shelf, "v1", system=system, zone="UTC")))  # type: ignore[arg-type]


@pytest.mark.parametrize("name", names())
def test_nor_do_those_of_visits_that_were_played(name: str) -> None:
    visit = read(name)
    assert not list(contradictions(compose(Shelf(visit), visit.id, system="us", zone="UTC")))


def test_where_one_of_two_circuits_was_looked_at_the_other_is_named() -> None:
    told = section(compose(hard.shelf(), hard.ID, system="us", zone="UTC"), COULD_NOT)
    assert "We do not know whether circuit 1 leaks: nobody looked for a leak there." in told
    assert "whether it leaks" not in told


def test_a_leak_that_was_repaired_is_told_as_one_that_was() -> None:
    it = Journal()
    it.found("leaks", "not_met", choices={"by": "bubbles", "joints": "leak", "places": "the flare nut"})
    it.found("opened", choices={"gas": "nitrogen", "vacuum_course": "holds"})
    told = it.report()
    assert "Refrigerant leaked at the flare nut (bubbles showed it)." in section(told, "What we found")
    assert "“the flare nut”; it was repaired and tested since." in section(told, "Refrigerant")


def test_what_is_known_to_leak_needs_no_later_reading_to_know_it() -> None:
    it = Journal()
    it.added(4.0)
    it.found("leaks", "not_met", choices={"by": "bubbles", "joints": "leak"})
    it.found("readings_after", values={"subcooling": 5.4})
    it.handed_over(next_reading="2026-08-28")
    told = words(it.report())
    assert "have the refrigerant level read again; until its leak is repaired it loses more." in told
    assert "whether it leaks" not in told


def test_a_look_that_was_made_anew_and_put_aside_is_still_a_look() -> None:
    it = Journal()
    it.found("leaks", choices={"by": "bubbles", "joints": "tight"})
    it.found("leaks", "skipped", reason="weather")
    assert "A leak was looked for at joints by bubbles: none found." in section(it.report(), "Refrigerant")


def test_the_back_has_it_as_the_front_how_the_unit_was_left() -> None:
    for choices, line in (({"power": "left_off"}, "Left off and locked"), ({"runs": "no"}, "It does not run")):
        it = Journal()
        it.found("as_it_was", "not_met", choices=choices)
        it.handed_over()
        assert section(it.report(), "Start here").startswith(line)


def test_what_was_put_right_is_not_told_as_nothing_done() -> None:
    it = Journal()
    it.found("look_first", "not_met", choices={"found": "explains", "repaired": "yes"})
    told = it.report()
    assert "Put right what we saw" in section(told, "What we did")
    assert "what was put right stands on the front" in section(told, "What the law asks to be recorded")
    assert not list(contradictions(told))
