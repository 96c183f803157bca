"""The fields that the law asks to be recorded: each is filled in, or told as not recorded."""

import pytest
from msgspec.structs import replace

from calc.units import System
from ingest.report.compose import compose
from ingest.wire.messages import Recovered
from tests.cases import case
from tests.ingest.report.journal import ONE, OUNCE_KG, UNIT, Journal, circuit
from tests.ingest.report.reading import fields, run, section, words
from tests.printed import published

TITLE = "What the law asks to be recorded"
SYSTEMS: tuple[System, ...] = ("us", "si")


def serviced() -> Journal:
    """A service of which everything that the record has a place for was said."""
    it = Journal(
        replace(ONE, circuits=[circuit(charge_kg=30.0, is_light_commercial=False, appliance="comfort_cooling")])
    )
    it.added(64.0)
    it.found("leaks", "not_met", choices={"by": "bubbles", "joints": "leak", "places": "flare nut"})
    it.found("opened", choices={"gas": "nitrogen", "vacuum_course": "holds"})
    it.found("replacement", choices={"old_part": "kept"}, part="run capacitor")
    it.signed(company="Field and Daughter", certificate="12345, universal", owner="Jo Field, 2 Mill Street")
    return it


SAID = {
    "appliance identity, location": ["RTU-M2D-1", "Harbour Street library, roof, south row"],
    "owner/operator": ["Jo Field, 2 Mill Street"],
    "date of service": ["30 May 2026"],
    "part(s) serviced / type of service": [
        "run capacitor: replaced",
        "circuit: leak repaired, opened; its tests: passed",
    ],
    "amount and type of refrigerant added or (if removed) for each part": [
        "R-410A: 4 lb added and none removed (by a scale)"
    ],
    "technician name (and certification)": ["Sam", "12345, universal"],
    "full charge and how determined": ["66 lb 2 oz of R-410A: nameplate"],
    "leak rate and method used, one method per facility": [
        "6.0 % a year, annualizing method; 6.0 % a year, rolling method"
    ],
    "leak inspection date/method/locations; initial and follow-up verification test results": [
        "30 May 2026, by bubbles: found: flare nut",
        "30 May 2026: test by nitrogen and vacuum passed; follow-up test: not recorded",
    ],
}
"""By the field as it is published: what the report of `serviced` says there. 64 oz are 4 lb; of 30 kg, 66 lb 2 oz by
NIST SP 811, they are 6.0 %: 1.814 / 30."""
ON_THE_FRONT = {
    "appliance identity, location": "identity and location",
    "owner/operator": "owner or operator",
    "date of service": "date of the service",
    "technician name (and certification)": "certification of who did it",
}
"""What stands on the front, and how the section of law says so."""
OF_THE_OWNER = {
    "retention 3 years": "how long the owner keeps the page",
    "chronic leaker: >=125 % of full charge lost in a calendar year -> report by 1 March": "the owner's own report",
    "service person must give owner the documentation at end of service": "handing over this page",
}
"""Of those that are published: what no page says, since it is what is done with the page."""


def test_every_published_field_of_the_united_states_is_filled() -> None:
    fields = [row["field"] for row in published("epa_record_fields.csv")]
    assert set(fields) == SAID.keys() | OF_THE_OWNER.keys()
    report = serviced().report()
    told, front = section(report, TITLE), section(report, "Who")
    as_on_the_front = run(report, TITLE, "As on the front")
    for field, said in SAID.items():
        for words_of_it in said:
            with case(field):
                assert words_of_it in told or (words_of_it in front and ON_THE_FRONT[field] in as_on_the_front)


def test_what_asks_for_a_field_stands_behind_it_by_its_paragraph() -> None:
    """40 CFR 84.106(l)(2): from memory, as tests/published/epa_record_fields.csv has it.

    R-410A depletes no ozone, R-22 does: part 82 covers the one alone from 50 lb, part 84 the other from 15 lb.
    """
    for refrigerant, asks, asks_not in (("R-410A", "84.106(l)(2)", "82."), ("R-22", "82.157(b)", "84.")):
        it = serviced()
        it.sheet = replace(it.sheet, circuits=[replace(it.sheet.circuits[0], refrigerant=refrigerant)])
        told = section(it.report(zone="America/Chicago"), TITLE)
        names = "identity and location, date of the service, name of who did it"
        assert any(line.startswith((names, "owner or operator")) and f"({asks}" in line for line in told.splitlines())
        assert asks_not not in told
        assert "In brackets what asks: 40 CFR. Whose law" in told


def test_a_field_that_no_rule_asks_for_stands_without_one() -> None:
    """7 lb 8 oz of R-410A: 40 CFR 84.106 begins at 15 lb, 82.157 is of what depletes ozone."""
    told = section(Journal().report(zone="America/Chicago"), TITLE)
    assert "82." not in told
    assert "84." not in told
    assert "No federal rule of the United States asks for these fields of this unit." in told


OF_THE_UNION = {
    "(a)": "30.00 kg of R-410A: nameplate",
    "(b)": "R-410A: 1.81 kg added and none removed (by a scale)",
    "(d)": "R-410A: 1.81 kg added and none removed (by a scale)",
    "(e)": "company: Field and Daughter; certificate: 12345, universal",
    "(f)": "30 May 2026, by bubbles: found: flare nut",
    "(g)": "no",
}
"""(EU) 2024/573, Article 7(1): the list read in print for Article 6(1) of (EU) 517/2014; that it is the same, from
memory."""


def test_every_field_of_the_european_union_is_filled() -> None:
    said = [told for _, told in fields(serviced().report("si"), TITLE)]
    for letter, words_of_it in OF_THE_UNION.items():
        with case(letter):
            assert any(told.startswith(f"{words_of_it} (") and f"EU {letter}" in told for told in said)
    missing = run(serviced().report("si"), TITLE, "Not recorded")
    assert "put in: recycled or reclaimed, by whom (EU (c))" in missing


def test_what_was_never_said_is_not_recorded_and_no_field_is_empty() -> None:
    assert all(all(told) for told in fields(Journal(UNIT).report(), TITLE))
    missing = run(Journal(UNIT).report(), TITLE, "Not recorded")
    for field in ("owner or operator", "certification of who did it", "name of who did it", "leak inspections"):
        assert field in missing


def test_a_circuit_that_no_rule_covers_is_told_why() -> None:
    told = section(Journal().report(), "Refrigerant")  # 7 lb 8 oz of R-410A
    assert "No federal leak rule covers this circuit" in told
    assert "6.7 t" not in told
    assert "7.1 t of CO2 equivalent" in told  # 3.40 kg x 2088, AR4: (EU) 2024/573, Annex I


def test_the_next_check_for_leaks_has_a_day_where_one_is_asked_for() -> None:
    it = Journal()  # 7.1 t: every 12 months, (EU) 2024/573, Article 5
    assert "Its last check for leaks by detector or bubbles is not recorded." in section(it.report("si"), TITLE)
    it.found("leaks", choices={"by": "detector", "joints": "tight"})
    assert (
        "Its next check for leaks: by 30 May 2027, by the rule of (EU) 2024/573, Article 5, from the figures here."
        in section(it.report("si"), TITLE)
    )


def test_a_rule_that_covers_it_is_told_with_its_rate_on_the_front() -> None:
    it = Journal(
        replace(ONE, circuits=[circuit(charge_kg=30.0, is_light_commercial=False, appliance="comfort_cooling")])
    )
    it.added(128.0)  # 8 lb of 66 lb 2 oz: 12.1 %, and 10 % is the limit: 40 CFR 84.106(c)(2)
    told = section(it.report(), "Refrigerant")
    assert "40 CFR 84.106 covers this circuit" in told
    assert (
        "12.1 % of its charge a year, the limit is 10 %; it must be repaired in the time that 40 CFR 84.106 sets"
        in told
    )


def test_from_a_unit_that_is_scrapped_more_is_asked() -> None:
    it = Journal()
    it.add(Recovered, mass_kg=50 * OUNCE_KG, how="scale", purpose="scrap")
    told = words(it.report())
    other = Journal()
    other.add(Recovered, mass_kg=50 * OUNCE_KG, how="scale", purpose="open")
    assert "82.156(a)(3)" in told
    assert "82.156(a)(3)" not in words(other.report())
    assert "Where the recovered refrigerant goes (kept, returned, sent to reclaim) is not recorded." in told


def test_where_nobody_knows_the_charge_the_front_says_so_in_either_system() -> None:
    it = Journal(replace(ONE, circuits=[circuit(charge_kg=None, charge_known_by="")]))
    told = {section(it.report(system), "Refrigerant").rpartition("None added, none removed.")[2] for system in SYSTEMS}
    (law,) = told
    assert "charge" in law


def test_a_look_by_eye_alone_is_no_check_for_leaks() -> None:
    """By a detector or by bubbles: (EC) 1516/2007, Article 6, its direct methods; from memory."""
    it = Journal()
    it.found("leaks", choices={"by": "seen", "joints": "tight"})
    told = section(it.report("si"), TITLE)
    assert "Its last check for leaks by detector or bubbles is not recorded." in told
    assert "leak inspections" in run(it.report("si"), TITLE, "Not recorded")


def test_the_next_check_for_leaks_counts_from_the_last() -> None:
    it = Journal()  # every 12 months, as above
    it.found("leaks", choices={"by": "detector", "joints": "tight"})
    it.now_s += 86_400.0
    it.found("leaks", choices={"by": "bubbles", "joints": "tight"}, circuit="1")  # the first named none: both stand
    assert "Its next check for leaks: by 31 May 2027, by the rule of" in section(it.report("si"), TITLE)


def test_what_was_done_at_one_circuit_is_not_told_of_another() -> None:
    """Each is an appliance of its own: 40 CFR 84.102."""
    it = Journal(UNIT)
    it.found("leaks", choices={"by": "detector", "joints": "tight"}, circuit="1")
    it.found("opened", choices={"gas": "nitrogen", "vacuum_course": "holds"}, circuit="1")
    told = dict(fields(it.report(), TITLE))
    parts, repairs, sought = (told[name] for name in ("parts, type of service", "repairs, verification tests",
                                                      "leak inspections"))  # fmt: skip
    nothing = "nothing replaced, nothing moved: looked at and measured"
    assert parts.startswith(f"circuit 1: circuit: opened; its tests: passed, circuit 2: {nothing}")
    assert repairs.startswith("circuit 1: 30 May 2026: test by nitrogen")
    assert "circuit 2: no repair of the circuit was made" in repairs
    assert sought.startswith("circuit 1: 30 May 2026, by detector: none found, circuit 2: not recorded (")


def test_where_what_was_recovered_goes_is_told_of_its_circuit() -> None:
    """Kept, returned or sent to reclaim: common practice, no source."""
    for destination, says in (
        ("kept", "is kept"),
        ("reclaim", "is sent to reclaim"),
        ("returned", "goes back into equipment of this owner"),
    ):
        it = Journal(UNIT)
        it.add(Recovered, mass_kg=50 * OUNCE_KG, how="scale", circuit="2")
        it.found("moving", circuit="2", choices={"destination": destination})
        assert f"What was recovered of circuit 2 {says}." in section(it.report(), "Cylinders")
        assert "is not recorded" not in section(it.report(), "Cylinders").partition("What was recovered")[2]


def test_no_country_is_recorded_so_what_either_place_asks_for_stands_on_the_front() -> None:
    """7.1 t is more than the 5 t of (EU) 2024/573, Article 5; 7 lb 8 oz is less than the 15 lb of 40 CFR 84.106."""
    for system in ("us", "si"):
        told = section(Journal().report(system), "Refrigerant")  # type: ignore[arg-type]
        (line,) = (it for it in told.splitlines() if "Regulation (EU) 2024/573" in it)
        assert line.startswith("If it stands in the United States: No federal leak rule covers this circuit")
        assert " If it stands in the European Union: " in line
    large = circuit(charge_kg=30.0, is_light_commercial=False, appliance="comfort_cooling")
    told = section(Journal(replace(ONE, circuits=[large])).report("si"), "Refrigerant")
    assert "40 CFR 84.106 covers this circuit" in told
    assert "Regulation (EU) 2024/573" in told


def test_where_the_times_are_of_america_nothing_of_the_union_stands_on_either_side() -> None:
    """Whichever units are read: they tell of a reader, a zone of a place. So of a federal rule that covers nothing."""
    for system in SYSTEMS:
        at_home = words(Journal().report(system, "America/Chicago"))
        assert "No federal leak rule" in at_home
        for of_the_union in ("2024/573", "EU", "Article 5"):
            assert of_the_union not in at_home
        abroad = words(Journal().report(system, "Europe/Vienna"))
        assert "2024/573" in abroad


@pytest.mark.parametrize(
    ("zone", "union", "states", "is_hedged"),
    [
        ("America/Toronto", False, False, False),  # CA, BS
        ("Asia/Tokyo", False, False, False),  # JP, AU
        ("America/Chicago", False, True, False),  # US
        ("US/Central", False, True, False),  # the older name of it
        ("America/Phoenix", False, True, True),  # US, CA
        ("Europe/Vienna", True, False, False),  # AT
        ("Europe/Amsterdam", True, False, False),  # NL, by zone.tab
        ("Europe/Zurich", True, False, True),  # CH, DE, LI
        ("UTC", True, True, True),
    ],
)
@pytest.mark.parametrize("system", SYSTEMS)
def test_without_a_country_the_countries_of_the_zone_tell_whose_law_holds(
    system: System, zone: str, *, union: bool, states: bool, is_hedged: bool
) -> None:
    """The countries of each: zone1970.tab and zone.tab of the IANA time zone database, 2026."""
    large = circuit(charge_kg=30.0, is_light_commercial=False, appliance="comfort_cooling")
    report = Journal(replace(ONE, circuits=[large])).report(system, zone)
    told, both = section(report, "Refrigerant"), words(report)
    assert ("2024/573" in both) is union
    assert ("CFR" in both) is states
    assert ("is not told here: ask there" in told) is not (union or states)
    assert ("If it stands in the " in told and "Anywhere else: ask there." in told) is is_hedged
    assert "no country is recorded" in both.lower()


@pytest.mark.parametrize("zone", ["America/Chicago", "Europe/Vienna", "UTC"])
@pytest.mark.parametrize("system", SYSTEMS)
def test_the_country_on_the_sheet_settles_whose_law_is_told(system: System, zone: str) -> None:
    """Whatever units are read, and in whatever zone: a traveller's rig keeps the zone of home."""
    in_union, in_states, in_neither = (
        words(Journal(replace(ONE, country=code)).report(system, zone)) for code in ("DE", "US", "CA")
    )
    assert "Regulation (EU) 2024/573 asks for a check for leaks every 12 months" in in_union
    assert "Now, as no such check is recorded: have the circuit checked for leaks, every 12 months." in in_union
    for of_the_states in ("federal", "CFR", "82.157"):
        assert of_the_states not in in_union
    assert "No federal leak rule covers this circuit" in in_states
    for of_the_union in ("2024/573", "EU", "Article 5"):
        assert of_the_union not in in_states + in_neither
    assert "What the law of Canada asks for about leaks is not told here: ask there." in in_neither
    assert "federal" not in in_neither
    assert all("no country is recorded" not in it for it in (in_union, in_states, in_neither))


def test_where_no_country_is_recorded_the_zone_tells_and_that_is_said() -> None:
    told = section(Journal().report("us", "America/Chicago"), TITLE)
    by_zone = "Whose law holds is told by the zone of the times, America/Chicago: no country is recorded."
    assert by_zone in told


def test_what_the_union_asks_of_a_charge_that_nobody_knows_is_not_known() -> None:
    it = Journal(replace(ONE, country="DE", circuits=[circuit(charge_kg=None, charge_known_by="")]))
    told = section(it.report(), "Refrigerant")
    assert "What Regulation (EU) 2024/573 asks for is not known: the full charge of this circuit" in told


def test_of_what_depletes_ozone_its_charge_is_not_said_to_be_unknown() -> None:
    """(EU) 2024/573 is of fluorinated gases; what depletes ozone is of (EU) 2024/590: from memory."""
    it = Journal(replace(ONE, country="DE", circuits=[circuit(refrigerant="R-22", charge_kg=3.0)]))
    told = section(it.report(), "Refrigerant")
    assert "R-22 depletes ozone: what Regulation (EU) 2024/590 asks for is not told here." in told
    assert "2024/573 asks" not in told


def test_a_check_that_the_union_asks_for_is_to_be_done_with_its_day() -> None:
    title = "What to do, and by when"
    it = Journal()
    asked = "checked for leaks, every 12 months where the law of the EU holds."
    assert f"Now, as no such check is recorded: have the circuit {asked}" in section(it.report("si"), title)
    assert "EU" not in section(it.report("us"), title)
    it.found("leaks", choices={"by": "detector", "joints": "tight"})
    assert f"By 30 May 2027: have the circuit {asked}" in section(it.report("si"), title)


def test_a_check_at_the_visit_before_counts_for_the_next() -> None:
    before, now = Journal(), Journal()
    before.found("leaks", choices={"by": "bubbles", "joints": "tight"})
    before.marks = [replace(mark, id=f"b{mark.id}") for mark in before.marks]
    shelf = before.shelf()
    shelf.put(
        "v2", ONE.tag, [replace(mark, id=f"n{mark.id}", time_s=mark.time_s + 40 * 86_400.0) for mark in now.marks]
    )
    told = section(compose(shelf, "v2", system="si", zone="UTC"), TITLE)
    assert "Its next check for leaks: by 30 May 2027, by the rule of" in told


def test_places_that_a_look_for_leaks_left_out_are_named() -> None:
    """Cores under the probes are looked at as those come off, or never: common practice, no source."""
    left_out = "none found, not looked at: caps and ports, which were left for when the probes come off"
    it = Journal()
    it.found("leaks", choices={"by": "detector", "joints": "tight", "caps_and_cores": "as_they_come_off"})
    assert left_out in section(it.report(), TITLE)
    it.found("probes_off", "cannot_tell", choices={"cores": "not_checked"})
    assert left_out in section(it.report(), TITLE)
    it.found("probes_off", choices={"cores": "bubbles"})
    assert "not looked at" not in section(it.report(), TITLE)
    it.found("leaks", choices={"by": "detector", "joints": "tight", "coil_ends": "not_looked"})
    assert "none found, not looked at: the ends of the coils" in section(it.report(), TITLE)
