"""Describing a unit: what is refused with its reasons, what is asked first, and what is kept whole."""

import hashlib
from collections.abc import Mapping, Sequence

import pytest
from msgspec.structs import replace

from calc.sentences import Sentence, say
from ingest.visit.deciding import DoubtfulError, Facts, Head, RefusedError
from ingest.visit.describing import describe
from ingest.visit.standing import Standing
from ingest.wire.messages import DescribeAsk, Described, Sheet, VisitOpened, encode
from tests.units import CORRECT
from tests.wire_rig import unit

HEAD: Head = ("a1", 1_700_000_000.0, "Sam", "technician")
KNOWN = {CORRECT.tag: CORRECT, "KX7-7PM": replace(CORRECT, tag="KX7-7PM")}


def tell(
    sheet: Sheet,
    known: Mapping[str, Sheet] = KNOWN,
    *,
    confirmed: bool = False,
    builds_on: str = "",
    after: Sequence[Described] = (),
) -> Described:
    ask = DescribeAsk("a1", "Sam", sheet=sheet, confirmed=confirmed, builds_on=builds_on)
    facts = Facts(unit(), {}, frozenset(), frozenset(), sheets=known)
    return describe(ask, HEAD, Standing("v1", after), facts)


def asked(sheet: Sheet, known: Mapping[str, Sheet] = KNOWN) -> tuple[str, str]:
    """The question in both systems. Once it is confirmed, the sheet is kept."""
    with pytest.raises(DoubtfulError) as doubt:
        tell(sheet, known)
    assert tell(sheet, known, confirmed=True).sheet is sheet
    question = doubt.value.question
    assert question.us.startswith(say(Sentence(question.kind, question.parts), "us"))
    return question.us, question.si


def with_first(**changes: object) -> Sheet:
    return replace(CORRECT, circuits=[replace(CORRECT.circuits[0], **changes), CORRECT.circuits[1]])


def test_a_sheet_is_kept_whole() -> None:
    for sheet in (CORRECT, replace(CORRECT, tag="AHU-9"), replace(CORRECT, tag="KX7-79H")):
        assert tell(sheet) == Described(*HEAD, sheet=sheet)


def test_another_place_is_not_asked_about() -> None:
    assert tell(replace(CORRECT, place="moved to the yard")).sheet.place == "moved to the yard"


def test_what_is_wrong_is_told_all_at_once_and_confirming_does_not_help() -> None:
    bad = replace(with_first(refrigerant="R-999", charge_kg=2000.0), hertz=5.0)
    for confirmed in (False, True):
        with pytest.raises(RefusedError) as refused:
            tell(bad, confirmed=confirmed)
        said = str(refused.value)
        assert said.startswith("the sheet cannot be kept: hertz = 5.0: 45 to 65 was expected; circuits[0].refrigerant")
        assert "circuits[0].charge_kg = 2000.0: more than 0, at most 1000 was expected" in said


def test_of_very_much_that_is_wrong_the_first_is_told_and_how_much_more_there_is() -> None:
    # 60 names are empty, and 59 of them not the first
    with pytest.raises(RefusedError, match=r"; and 99 more$"):
        tell(replace(CORRECT, parts=[replace(CORRECT.parts[0], name="")] * 60, circuits=CORRECT.circuits[:1]))


def test_another_refrigerant_or_charge_of_a_known_circuit_is_asked_about() -> None:
    us, si = asked(with_first(refrigerant="R-32"))
    assert us.startswith("RTU-M2D-1, circuit 1: it was 7 lb 8 oz of R-410A, and would be 7 lb 8 oz of R-32.")
    assert "3.40 kg of R-410A, and would be 3.40 kg of R-32." in si
    us, _ = asked(with_first(charge_kg=None, charge_known_by=""))
    assert "and would be R-410A, how much is not known." in us
    us, _ = asked(replace(CORRECT, circuits=CORRECT.circuits[1:], parts=CORRECT.parts[1:]))
    assert "and would be gone. Has the unit no such circuit?" in us


def test_a_sheet_that_would_undo_what_somebody_read_since_is_asked_about() -> None:
    """Sam and Robin begin with the same sheet; Robin keeps a serial number and a compressor's amps first."""
    motor, *others = CORRECT.parts
    robins = replace(CORRECT, serial="S-77", parts=[replace(motor, rated_current_a=13.5), *others])
    known = {CORRECT.tag: robins}
    begun_with = hashlib.sha256(encode(CORRECT)).hexdigest()  # as any program makes it of the payload of unit/{tag}
    sams = replace(CORRECT, place="moved to the yard")
    with pytest.raises(DoubtfulError) as doubt:
        tell(sams, known, builds_on=begun_with)
    assert "would undo or change: place, serial, part compressor 1: rated_current_a. Keep it" in doubt.value.question.us
    assert tell(sams, known, builds_on=begun_with, confirmed=True).sheet is sams
    assert tell(robins, known, builds_on=begun_with).sheet is robins  # the same was found: nothing is undone
    on_it = replace(robins, place="moved to the yard")
    assert tell(on_it, known, builds_on=hashlib.sha256(encode(robins)).hexdigest()).sheet is on_it


def test_a_sheet_of_which_nobody_says_what_it_was_made_from_is_asked_about_where_another_described_it_last() -> None:
    robins = replace(CORRECT, access="Behind the hatch.")
    sams = replace(CORRECT, place="Roof, east row")
    known = {robins.tag: robins}
    described = Described("d1", 1.7e9, "Robin", "technician", sheet=robins)
    with pytest.raises(DoubtfulError, match="access"):
        tell(sams, known, after=[described])
    assert tell(sams, known, after=[described], confirmed=True).sheet is sams
    assert tell(sams, known, after=[replace(described, by=" sam ")]).sheet is sams  # their own
    assert tell(sams, known).sheet is sams  # nobody described it at this visit


def test_what_a_unit_is_judged_by_is_asked_about() -> None:
    us, si = asked(with_first(metering_device="fixed_orifice"))
    assert "circuit 1: it had a TXV, and would have a fixed orifice; which figure shows its charge" in us
    us, si = asked(with_first(target_subcooling_dk=8.0))  # 5.5 K = 9.9 °F and 8 K = 14.4 °F
    assert "its target subcooling was 9.9 °F, and would be 14.4 °F." in us
    assert "its target subcooling was 5.5 K, and would be 8 K." in si
    assert "its target subcooling was 5.5 K, and would be unknown." in asked(with_first(target_subcooling_dk=None))[1]
    known = {CORRECT.tag: with_first(target_subcooling_dk=None)}
    assert tell(CORRECT, known).sheet is CORRECT  # what nobody knew is no change


def test_another_charging_chart_is_asked_about_and_a_first_one_is_not() -> None:
    chart = [(290.0, 303.0, 8.0), (293.0, 303.0, 11.0), (290.0, 309.0, 4.0), (293.0, 309.0, 7.0)]
    orifice, charted, other = map(with_chart, ([], chart, [*chart[:3], (293.0, 309.0, 6.0)]))
    for sheet in (orifice, other):
        us, _ = asked(sheet, {CORRECT.tag: charted})
        assert "circuit 1: its maker's charging chart was entered otherwise before" in us
    assert tell(charted, {CORRECT.tag: orifice}).sheet is charted
    assert tell(charted, {CORRECT.tag: charted}).sheet is charted
    typed = with_first(metering_device="fixed_orifice", target_superheat_dk=6.0)
    assert (
        "its target superheat was 10.8 °F, and its charging chart would take the place"
        in asked(charted, {CORRECT.tag: typed})[0]
    )
    more = with_chart([(291.5, 303.0, 9.0), *chart])
    assert tell(more, {CORRECT.tag: charted}).sheet is more


def test_a_chart_that_no_published_table_is_like_is_asked_about_once() -> None:
    """In the table of California Title 24, RA3.2, superheat rises with the wet bulb, and falls as it gets hotter."""
    slip = with_chart([(290.0, 303.0, 80 / 9), (293.0, 303.0, 70 / 9)])
    us, si = asked(slip, {CORRECT.tag: with_chart([])})
    assert "its charging chart has 16 °F at 62.3 °F wet bulb and 85.7 °F outdoors, and 14 °F at 67.7 °F and" in us
    assert "8.9 K at 16.9 °C" in si
    assert "Is this what is printed?" in asked(slip, {})[0]
    assert tell(slip, {CORRECT.tag: with_chart([])}, confirmed=True).sheet is slip
    assert tell(slip, {CORRECT.tag: slip}).sheet is slip


def with_chart(points: list[tuple[float, float, float]]) -> Sheet:
    orifice = with_first(metering_device="fixed_orifice", target_superheat_dk=None)
    return replace(orifice, circuits=[replace(orifice.circuits[0], superheat_chart_k=points), orifice.circuits[1]])


def test_a_unit_that_would_lose_all_its_parts_is_asked_about() -> None:
    us, _ = asked(replace(CORRECT, parts=[]))
    assert "its sheet has compressor 1, compressor 2, condenser fan, run capacitor, contactor, and would not have" in us
    us, _ = asked(replace(CORRECT, parts=CORRECT.parts[1:]))
    assert "its sheet has compressor 1, and would not have them any more" in us


def test_what_alarms_and_findings_go_by_is_not_read_otherwise_without_a_question() -> None:
    """A tenth of the rated amps by a point in the wrong place, the sections of a can exchanged, the wrong mode."""

    def with_part(index: int, **fields: object) -> Sheet:
        parts = list(CORRECT.parts)
        parts[index] = replace(parts[index], **fields)
        return replace(CORRECT, parts=parts)

    assert "compressor 1: another rated current was read before" in asked(with_part(0, rated_current_a=1.2))[0]
    us, _ = asked(with_part(3, herm_f=5e-6, fan_f=40e-6))
    assert ("capacitance of the Herm section" in us, "capacitance of the fan section" in us) == (True, True)
    assert "another tolerance" in asked(with_part(3, tolerance_share=0.1))[0]
    assert "the unit: another kind of unit was read before" in asked(replace(CORRECT, mode="heat_pump"))[0]
    first = replace(CORRECT.circuits[0], high_side_design_pressure_pa=3e6)
    known = {CORRECT.tag: replace(CORRECT, circuits=[first, CORRECT.circuits[1]])}
    higher = replace(CORRECT, circuits=[replace(first, high_side_design_pressure_pa=5e6), CORRECT.circuits[1]])
    assert "another high-side design pressure was read before" in asked(higher, known)[0]
    for new in (with_part(1, locked_rotor_a=60.0), with_part(4, coil_volts=120.0)):
        assert tell(new).sheet is new  # nothing is judged by that
    without = {CORRECT.tag: with_part(0, rated_current_a=None)}
    assert tell(CORRECT, without).sheet is CORRECT  # what nobody knew is no change


def test_several_changes_are_one_question() -> None:
    both = replace(CORRECT, circuits=[replace(circuit, charge_kg=4.0) for circuit in CORRECT.circuits])
    us, _ = asked(both)
    assert (us.count("Is that what its nameplate says?"), "circuit 1" in us, "circuit 2" in us) == (2, True, True)


@pytest.mark.parametrize(
    ("tag", "said"),
    [
        ("RTU-M2D-I", "RTU-M2D-I is not known, and RTU-M2D-1 is, which looks like it."),
        ("KX7-9PM", "KX7-9PM has a mistake in it: its check character does not fit. KX7-7PM is known."),
        ("HTC-933", "HTC-933 has a mistake in it: its check character does not fit. Is that what is engraved?"),
    ],
)
def test_a_new_tag_that_looks_like_a_mistake_is_asked_about(tag: str, said: str) -> None:
    assert asked(replace(CORRECT, tag=tag))[0].startswith(said)


def test_the_circuit_on_which_the_probes_are_stays_on_the_sheet_of_the_unit_in_view() -> None:
    """Whatever is confirmed: what is read would be of nothing."""
    here = replace(CORRECT, tag=unit().tag)
    facts = Facts(unit(), {}, frozenset(), frozenset(), sheets={here.tag: here})
    standing = Standing("v1", [VisitOpened("v", 1_700_000_000.0, unit=here.tag, circuit="2")])
    without = replace(here, circuits=here.circuits[:1], parts=[])
    with pytest.raises(RefusedError, match="the probes are on circuit 2, which this sheet has not"):
        describe(DescribeAsk("a1", "Sam", sheet=without, confirmed=True), HEAD, standing, facts)
    for other in (replace(without, tag="AHU-1"), replace(here, serial="S-1")):
        assert describe(DescribeAsk("a1", "Sam", sheet=other), HEAD, standing, facts).sheet is other
    assert (
        describe(DescribeAsk("a1", "Sam", sheet=without, confirmed=True), HEAD, Standing("v1"), facts).sheet is without
    )


@pytest.mark.parametrize("tag", ["a/#+", "=cmd|x", "-1", "RTU 4", "RTU_4", "../x", "RTU-"])
def test_a_new_tag_has_letters_digits_and_dashes_alone(tag: str) -> None:
    sheet = replace(CORRECT, tag=tag)
    with pytest.raises(RefusedError, match="letters and digits were expected, with dashes between them"):
        tell(sheet, confirmed=True)
    assert tell(sheet, {tag: sheet}).sheet is sheet  # a register of before has it, and it can be corrected


@pytest.mark.parametrize("tag", ["RTU-104", "9", "Dach-Süd-2"])
def test_a_tag_of_any_language_is_kept(tag: str) -> None:
    assert tell(replace(CORRECT, tag=tag), {}).sheet.tag == tag
