"""A pattern of the fan and the unit that is chosen by it or by hand: what is asked and kept, and the check of it."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from calc.pattern import fan_pattern
from ingest.visit.deciding import DoubtfulError, Facts, Head, RefusedError
from ingest.visit.pattern import CHECK, choose, pattern
from ingest.visit.proposing import keep
from ingest.visit.standing import Standing
from ingest.wire.marks import decode_mark
from ingest.wire.messages import (
    ChooseAsk,
    Chosen,
    KeepAsk,
    PatternAsk,
    PatternBegun,
    Proposed,
    ProposedUnit,
    Reading,
    encode,
)
from tests import wire_rig
from tests.ingest.visit.checks import taken

HELD_S = 120.0  # each state for 2 min or longer: common practice, no source
SURE = 0.95  # ingest/visit/checks/a_before.toml: common practice, no source
TIME_S = 1_700_000_003.2
HEAD: Head = ("a1", TIME_S, "Sam", "technician")
UNIT = wire_rig.about(started_s=TIME_S).unit
FACTS = Facts(UNIT, {"blower_current": Reading(4.0, TIME_S)}, frozenset(), frozenset())


def begun(ask_id: str = "a1", states: int = 6) -> PatternBegun:
    return pattern(PatternAsk(ask_id, "Sam", states=states), HEAD, Standing("v1"), FACTS)


def proposed(tag: str, probability: float) -> Proposed:
    what = ProposedUnit(tag, probability)
    return Proposed("p1", TIME_S, what=what, from_s=TIME_S, to_s=TIME_S, says=wire_rig.same("Keep?"))


def kept(standing: Standing) -> Chosen:
    mark = keep(KeepAsk("k1", "Sam", of="p1"), ("k1", TIME_S, "Sam", "technician"), standing, FACTS)
    assert isinstance(mark, Chosen)
    standing.take(mark)
    return mark


def found(standing: Standing) -> list[tuple[str, str, str]]:
    return [(it.check, it.outcome, it.grade) for it in standing.message().findings]


@given(st.text("abcdef0123456789", min_size=1, max_size=32), st.sampled_from([4, 6, 8, 10, 12]))
def test_every_list_is_one_that_the_arithmetic_takes(ask_id: str, states: int) -> None:
    """Each state for 2 min or longer, of different lengths: calc.pattern.CAUTION, common practice, no source."""
    times_s = begun(ask_id, states).times_s
    lengths_s = [later - earlier for earlier, later in pairwise(times_s)]
    assert len(times_s) == states
    assert min(lengths_s) >= HELD_S
    assert len(set(lengths_s)) == states - 1
    assert 120 <= times_s[0] - TIME_S < 130
    assert all(each % 10 == 0 for each in times_s)
    ends_s = times_s[-1] + HELD_S
    switched_s = [each - times_s[0] for each in times_s]
    fan_pattern(switched_s, [0.0, ends_s - times_s[0]], [[0.0, 0.0]], running_a=[4.0], noise_a=0.1)


def test_the_same_ask_gives_the_same_list_and_another_one_another() -> None:
    assert begun("a1") == begun("a1")
    assert len({tuple(begun(f"a{number}").times_s) for number in range(20)}) == 20


@pytest.mark.parametrize("states", [-2, 0, 2, 5, 7, 13, 14])
def test_a_pattern_ends_in_auto_and_is_neither_too_short_nor_too_long(states: int) -> None:
    with pytest.raises(RefusedError, match=f"states is {states}; an even number from 4 to 12"):
        begun(states=states)


def test_without_a_clamp_on_the_blower_there_is_no_pattern() -> None:
    with pytest.raises(RefusedError, match=r"blower's amps.*read the tag"):
        pattern(PatternAsk("a1", "Sam"), HEAD, Standing("v1"), Facts(UNIT, {}, frozenset(), frozenset()))


def test_a_pattern_that_runs_is_replaced_only_where_somebody_says_so() -> None:
    """Its last state counts as well: each is held for 2 min or longer (common practice, no source)."""
    first = begun()
    standing = Standing("v1", [first])
    over_s = first.times_s[-1] + HELD_S

    def another(at_s: float, **said: bool) -> PatternBegun:
        return pattern(PatternAsk("a2", "Sam", **said), ("a2", at_s, "Sam", "technician"), standing, FACTS)

    with pytest.raises(DoubtfulError) as doubt:
        another(over_s - 9 * 60)
    assert doubt.value.question.kind == "pattern.runs"
    assert "is running and over in 9 min" in doubt.value.question.us
    with pytest.raises(DoubtfulError):
        another(over_s - 1)
    assert another(TIME_S + 1, confirmed=True).id == "a2"
    assert another(over_s).id == "a2"
    standing.take(proposed(UNIT.tag, 0.98))
    kept(standing)
    assert another(TIME_S + 1).id == "a2"


def test_the_visit_tells_the_newest_pattern_until_something_is_kept_of_it() -> None:
    first, second = begun("a1"), replace(begun("a2"), id="a2")
    standing = Standing("v1", [first, second])
    stands = standing.message().pattern
    assert stands is not None
    assert (stands.id, list(stands.times_s), stands.outcome) == ("a2", list(second.times_s), "")
    standing.take(proposed(UNIT.tag, 0.98))
    assert standing.message().chosen is None
    kept(standing)
    stands = standing.message().pattern
    assert stands is not None
    assert (stands.outcome, stands.probability) == ("met", 0.98)


def test_the_unit_that_follows_is_chosen_and_its_check_is_met() -> None:
    standing = Standing("v1", [begun(), proposed(UNIT.tag, 0.98)])
    mark = kept(standing)
    assert (mark.tag, mark.grade, mark.probability, mark.proposal) == (UNIT.tag, "measured", 0.98, "p1")
    chosen = standing.message().chosen
    assert chosen is not None
    assert (chosen.tag, chosen.outcome) == (UNIT.tag, "met")
    assert found(standing) == [(CHECK, "met", "measured")]
    assert CHECK not in standing.findings.next()
    assert standing.message().proposals == []
    assert decode_mark(encode(mark)) == mark
    with pytest.raises(RefusedError, match="kept already"):
        keep(KeepAsk("k2", "Sam", of="p1"), HEAD, standing, FACTS)


@pytest.mark.parametrize(("probability", "outcome"), [(SURE, "not_met"), (SURE - 1e-6, "cannot_tell")])
def test_none_of_these_is_an_answer_and_chooses_nothing(probability: float, outcome: str) -> None:
    standing = Standing("v1", [begun(), proposed(UNIT.tag, 0.98)])
    kept(standing)
    standing.take(replace(proposed("", probability), id="p2"))
    mark = keep(KeepAsk("k2", "Sam", of="p2"), ("k2", TIME_S, "Sam", "technician"), standing, FACTS)
    standing.take(mark)
    assert standing.message().chosen is None
    assert found(standing) == [(CHECK, outcome, "measured")]
    stands = standing.message().pattern
    assert stands is not None
    assert (stands.outcome, stands.probability) == (outcome, probability)


def test_a_unit_too_little_probable_does_not_meet_the_check() -> None:
    """95 %: common practice, no source, as in ingest/visit/checks/a_before.toml."""
    standing = Standing("v1", [begun(), proposed(UNIT.tag, SURE - 1e-6)])
    assert kept(standing).outcome == "cannot_tell"
    assert found(standing) == [(CHECK, "cannot_tell", "measured")]


def test_by_its_tag_seen_in_a_photograph_it_is_chosen() -> None:
    standing = Standing("v1", [taken("f1")])
    ask = ChooseAsk("a1", "Sam", tag=f" {UNIT.tag} ", grade="seen", photographs=["f1", "f1"])
    mark = choose(ask, HEAD, standing, FACTS)
    assert (mark.tag, mark.outcome, mark.photographs) == (UNIT.tag, "met", ("f1",))
    standing.take(mark)
    assert found(standing) == [(CHECK, "met", "seen")]
    assert standing.findings.newest(CHECK).choices == {"told_by": "tag", "tag": UNIT.tag}  # type: ignore[union-attr]
    with pytest.raises(RefusedError, match="seen is by a photograph"):
        choose(replace(ask, photographs=[]), HEAD, standing, FACTS)
    with pytest.raises(RefusedError, match="no photograph 'f2' in this visit"):
        choose(replace(ask, photographs=["f1", "f2"]), HEAD, standing, FACTS)


def test_by_somebodys_word_it_is_chosen_and_the_check_is_not_met() -> None:
    standing = Standing("v1")
    standing.take(choose(ChooseAsk("a1", "Sam", tag=UNIT.tag, grade="said"), HEAD, standing, FACTS))
    chosen = standing.message().chosen
    assert chosen is not None
    assert (chosen.tag, chosen.outcome) == (UNIT.tag, "cannot_tell")
    assert found(standing) == [(CHECK, "cannot_tell", "said")]


@pytest.mark.parametrize("tag", ["RTU-9", ""])
def test_another_unit_than_the_one_at_hand_is_gone_to_by_opening_a_visit_there(tag: str) -> None:
    with pytest.raises(RefusedError, match=f"the visit is at {UNIT.tag}: open a visit at"):
        choose(ChooseAsk("a1", "Sam", tag=tag, grade="said"), HEAD, Standing("v1"), FACTS)
    with pytest.raises(RefusedError, match=f"the visit is at {UNIT.tag}: open a visit at RTU-9"):
        kept(Standing("v1", [proposed("RTU-9", 0.98)]))


@pytest.mark.parametrize("grade", ["measured", "typed"])
def test_by_hand_nothing_is_measured(grade: str) -> None:
    with pytest.raises(RefusedError, match=f"grade is {grade}; seen or said"):
        choose(ChooseAsk("a1", "Sam", tag=UNIT.tag, grade=grade), HEAD, Standing("v1"), FACTS)  # type: ignore[arg-type]


def test_a_kept_pattern_leaves_the_next_one_open() -> None:
    standing = Standing("v1", [begun(), proposed("", 0.97)])
    kept(standing)
    standing.take(replace(begun("a2"), id="a2"))
    stands = standing.message().pattern
    assert stands is not None
    assert (stands.id, stands.outcome) == ("a2", "")
