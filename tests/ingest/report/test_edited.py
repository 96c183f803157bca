"""What an edited record holds is told, not stumbled over."""

from typing import Any

import pytest
from msgspec.structs import replace

from calc.sentences import Sentence
from ingest.register.columns import CellError, header
from ingest.wire.messages import ChargeLeft
from ingest.wire.wording import worded
from tests.ingest.report.journal import ONE, Journal
from tests.ingest.report.reading import section


@pytest.mark.parametrize("zone", ["America/Chicago", "Europe/Berlin", "UTC"])
def test_a_country_of_no_list_is_named_and_the_law_goes_by_the_zone(zone: str) -> None:
    report = Journal(replace(ONE, country="XX")).report(zone=zone)  # ISO 3166-1 leaves XX to its users
    plain = section(Journal(replace(ONE, country="")).report(zone=zone), "Refrigerant")
    told = section(report, "Refrigerant")
    assert "Country XX is not known here" in told
    law = plain.partition("Nobody looked for a leak.")[2].strip()
    assert law
    assert told.endswith(law)


@pytest.mark.parametrize("advised_kg", [1e308, -1e308, 1e4])
def test_an_advice_beyond_all_bounds_is_told_as_one_that_cannot_be(advised_kg: float) -> None:
    it = Journal()
    said: Any = worded(Sentence("sign.judge_says"))
    it.add(ChargeLeft, reason="owner", advised=said, circuit=ONE.circuits[0].name, advised_kg=advised_kg)
    for system in ("us", "si"):
        assert "an amount that cannot be" in section(it.report(system), "Refrigerant")


def test_a_country_is_written_in_letters_whose_capitals_are_one() -> None:
    found = header("country")
    assert found is not None
    assert found.column.read("de") == "DE"
    with pytest.raises(CellError, match="letters of A to Z"):
        found.column.read("ß")


def test_a_mass_is_known_by_the_scale_where_the_check_of_the_moves_says_so() -> None:
    def told(**fields: Any) -> str:
        it = Journal()
        it.found("moving", choices={"mass_known_by": "scale"} if not fields else {})
        it.added(4.0, **{"how": "", **fields})
        return section(it.report(), "What we did")

    assert "(by the difference of the scale)" in told()
    assert "how it was weighed is not recorded" in told(cylinder="c1")
