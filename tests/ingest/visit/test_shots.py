"""A photograph answers what was asked of it alone: of its check, of now, and nothing that no picture shows.

What no picture shows (common practice, no source): that the ground is continuous, that a hose was evacuated, who took a
lock off, that every other feed was looked for, that nothing spans a safety.
"""

import pytest
from msgspec.structs import replace

from ingest.visit.checklist import ChecklistError, checklists, guided, read
from ingest.visit.deciding import RefusedError
from ingest.visit.finding import finding
from ingest.visit.leading import Now
from ingest.visit.photographs import check_part
from ingest.visit.repeated import is_repeated
from ingest.visit.standing import Standing
from ingest.wire.messages import Finding, FindingAsk, PhotographAsk, PowerRead
from tests.ingest.visit.checks import HEAD, TIME_S, course, facts, taken
from tests.ingest.visit.test_rules import WHAT

BURNS = facts(refrigerant="R-454B", safety_class="A2L")
LIFE = ("detector", "air", "around", "extinguisher", "tools")
SHOWN = {
    "detector": "area_checked", "air": "ventilated", "around": "no_ignition", "extinguisher": "extinguisher",
    "tools": "rated_tools",
}  # fmt: skip
CONDITIONS = {**WHAT, "safety_class": "A2L", **dict.fromkeys(SHOWN.values(), "yes")}


def photographed(check: str, **shots: str) -> Standing:
    """A visit in which these photographs were taken for a check, each for one of its shots."""
    return course(*(taken(name, check=check, shot=shot) for name, shot in shots.items()))


def asked(check: str, shown: dict[str, str], choices: dict[str, str], **more: object) -> FindingAsk:
    names = tuple(dict.fromkeys(shown.values()))
    return FindingAsk(
        "f1", "Sam", check=check, grade="seen", choices=choices, by_photograph=shown, photographs=names, **more,  # type: ignore[arg-type]
    )  # fmt: skip


def test_what_burns_is_met_and_seen_where_each_condition_has_its_own_photograph() -> None:
    standing = photographed("what_is_in_it", **{f"p_{it}": it for it in LIFE})
    shown = {SHOWN[it]: f"p_{it}" for it in LIFE}
    found = finding(asked("what_is_in_it", shown, CONDITIONS), HEAD, standing, BURNS)
    assert (found.outcome, found.grade, found.by_photograph) == ("met", "seen", shown)


@pytest.mark.parametrize("missing", LIFE)
def test_one_condition_by_word_makes_it_no_better_than_said(missing: str) -> None:
    rest = [it for it in LIFE if it != missing]
    standing = photographed("what_is_in_it", **{f"p_{it}": it for it in rest})
    found = finding(asked("what_is_in_it", {SHOWN[it]: f"p_{it}" for it in rest}, CONDITIONS), HEAD, standing, BURNS)
    assert (found.outcome, found.grade) == ("met", "said")


@pytest.mark.parametrize(
    ("check", "shot", "said"),
    [
        ("close_panel", "cover", "is of close_panel, cover, and does not answer extinguisher"),
        ("what_is_in_it", "air", "is of what_is_in_it, air, and does not answer extinguisher"),
        ("what_is_in_it", "", "is of what_is_in_it, and does not answer extinguisher"),
    ],
)
def test_a_photograph_of_something_else_answers_nothing(check: str, shot: str, said: str) -> None:
    standing = course(taken("p1", check=check, shot=shot))
    with pytest.raises(RefusedError, match=said):
        finding(asked("what_is_in_it", {"extinguisher": "p1"}, CONDITIONS), HEAD, standing, BURNS)


def test_a_photograph_answers_nothing_otherwise_than_it_was_read() -> None:
    standing = photographed("close_panel", p1="cover")
    ask = asked("close_panel", {"cover": "p1"}, {"cover": "off", "inside": "nothing", "screws_back": "all"})
    with pytest.raises(RefusedError, match="shows cover to be on, and off is said"):
        finding(ask, HEAD, standing, facts())


def test_a_photograph_that_is_not_there_answers_nothing() -> None:
    ask = asked("close_panel", {"cover": "p1"}, {"cover": "on"})
    with pytest.raises(RefusedError, match="there is no photograph 'p1'"):
        finding(ask, HEAD, Standing("v1"), facts())
    standing = photographed("close_panel", p1="cover")
    with pytest.raises(RefusedError, match="is none of its photographs"):
        finding(replace(ask, photographs=()), HEAD, standing, facts())


CLOSED = {"cover": "on", "inside": "nothing", "screws_back": "all"}
CLOSED_BY = {"cover": "p1", "screws_back": "p1", "inside": "p2"}


def test_what_was_photographed_once_closes_no_panel_a_second_time() -> None:
    standing = photographed("close_panel", p1="cover", p2="inside")
    ask = replace(asked("close_panel", CLOSED_BY, CLOSED), confirmed=True)
    once = finding(ask, HEAD, standing, facts())
    assert (once.outcome, once.by_photograph) == ("met", CLOSED_BY)
    standing.take(once)
    with pytest.raises(RefusedError, match="answered Close the electrical side before"):
        finding(replace(ask, id="f2"), ("f2", TIME_S + 60, "Sam", "technician"), standing, facts())


def test_a_photograph_of_another_part_answers_nothing() -> None:
    standing = course(taken("p1", check="capacitor_by_eye", shot="can", part="C1"))
    shown = dict.fromkeys(("top", "can", "terminals", "strap"), "p1")
    sound = {"top": "flat", "can": "dry", "terminals": "sound", "strap": "strapped"}
    ask = asked("capacitor_by_eye", shown, sound, part="C2", confirmed=True)
    with pytest.raises(RefusedError, match="of another part or circuit"):
        finding(ask, HEAD, standing, facts())
    assert finding(replace(ask, part="C1"), HEAD, standing, facts()).by_photograph == shown


def test_a_photograph_that_answered_of_one_part_is_free_for_no_other_though_another_took_its_place() -> None:
    """It is of no part itself: a clamp's photograph is taken before anybody says of which."""
    standing = course(*(taken(name, check="capacitor_by_eye", shot="can") for name in ("p1", "p2")))
    sound = {"top": "flat", "can": "dry", "terminals": "sound", "strap": "strapped"}

    def of(part: str, name: str, at: int) -> Finding:
        shows = dict.fromkeys(sound, name)
        ask = replace(asked("capacitor_by_eye", shows, sound, part=part, confirmed=True), id=f"f{at}")
        return finding(ask, (f"f{at}", TIME_S + at, "Sam", "technician"), standing, facts())

    standing.take(of("C1", "p1", 1))
    standing.take(of("C1", "p2", 2))
    for part in ("C2", "C1"):
        with pytest.raises(RefusedError, match=r"answered .* before"):
            of(part, "p1", 3)


def test_the_same_picture_under_another_name_answers_nothing() -> None:
    """A file that is chosen once more, in place of a look: no camera takes two pictures alike to the last bit."""
    standing = course(
        taken("p1", check="what_is_in_it", shot="air", digest="a" * 64),
        taken("p2", check="what_is_in_it", shot="tools", digest="a" * 64),
    )
    with pytest.raises(RefusedError, match="'p2' is the same picture as 'p1'"):
        finding(asked("what_is_in_it", {"rated_tools": "p2"}, CONDITIONS), HEAD, standing, BURNS)


def test_a_lock_that_was_photographed_before_there_was_power_is_no_lock_now() -> None:
    standing = photographed("isolate", p1="lock")
    standing.take(PowerRead("r1", TIME_S, channel="line_voltage_ab", value=238.0))
    locked = {"disconnect_state": "locked_by_me", "tried": "nothing", "locked_by": "Sam", "other_feeds": "none"}
    with pytest.raises(RefusedError, match="before there was power"):
        finding(asked("isolate", {"disconnect_state": "p1"}, locked), HEAD, standing, facts())


def test_what_goes_on_keeps_what_was_shown_and_not_what_is_answered_otherwise_since() -> None:
    standing = photographed("what_is_in_it", p_air="air", p_tools="tools")
    half = {name: said for name, said in CONDITIONS.items() if name not in ("extinguisher", "no_ignition")}
    first = finding(
        asked("what_is_in_it", {"ventilated": "p_air", "rated_tools": "p_tools"}, half), HEAD, standing, BURNS
    )
    standing.take(first)
    second = FindingAsk(
        "f2", "Sam", check="what_is_in_it", grade="said", builds_on="f1", circuit=first.circuit,
        choices={"ventilated": "no", "extinguisher": "yes", "no_ignition": "yes"},
    )  # fmt: skip
    found = finding(second, ("f2", TIME_S + 9, "Sam", "technician"), standing, BURNS)
    assert found.by_photograph == {"rated_tools": "p_tools"}
    assert found.outcome == "not_met"


def test_it_is_answered_alike_when_it_is_asked_again() -> None:
    standing = photographed("close_panel", p1="cover", p2="inside")
    ask = replace(asked("close_panel", CLOSED_BY, CLOSED), confirmed=True)
    once = finding(ask, HEAD, standing, facts())
    assert is_repeated(ask, "technician", once)
    assert not is_repeated(replace(ask, by_photograph={}), "technician", once)


@pytest.mark.parametrize(("check", "shot"), [("close_panel", "extinguisher"), ("", "cover"), ("supply", "cover")])
def test_no_photograph_is_taken_for_what_its_check_does_not_ask(check: str, shot: str) -> None:
    part = PhotographAsk(
        "a1", "Sam", photograph="p1", digest="0" * 64, part_number=1, part_count=1, data=b"x", check=check, shot=shot
    )
    with pytest.raises(RefusedError, match="asks for no photograph"):
        check_part(part, Standing("v1"), facts())


@pytest.mark.parametrize(
    ("check", "name"),
    [
        ("close_panel", "earthed"), ("moving", "hose"), ("as_it_was", "power"), ("isolate", "other_feeds"),
        ("look_first", "bypassed"), ("discharge", "no_spark"), ("contactor", "travel"),
        ("prove_dead", "at_place_of_work"),
    ],
)  # fmt: skip
def test_what_no_picture_shows_is_answered_by_none(check: str, name: str) -> None:
    one = guided()[check].check
    assert name in {it.name for it in one.choices}
    assert name not in {answered for shot in one.shots for answered in shot.answers}


def test_each_condition_of_what_burns_has_a_photograph_of_its_own() -> None:
    shots = {shot.word: shot for shot in guided()["what_is_in_it"].check.shots}
    assert {word: tuple(shots[word].answers) for word in LIFE} == {word: (name,) for word, name in SHOWN.items()}
    assert {shots[word].only for word in LIFE} == {"flammable"}


@pytest.mark.parametrize(
    ("line", "wrong"),
    [
        ('answers = { taken = "maybe" }', "which is no option of it"),
        ('answers = { colour = "red" }', "which is no option of it"),
        ("answers = {}", "answers nothing"),
    ],
)
def test_a_shot_that_answers_what_is_not_asked_is_refused(line: str, wrong: str) -> None:
    text = """
group = "C"
title = "x"
[[checks]]
word = "one"
place = "C1"
title = "x"
met = "x"
apprentice = "x"
photographs = ["x"]
sources = [{ text = "x", known = "common practice" }]
[[checks.choices]]
name = "taken"
label = "x"
options = { yes = "Yes" }
[[checks.shots]]
word = "a"
label = "x"
LINE
[[rules.one]]
kind = "chosen"
choice = "taken"
met = ["yes"]
"""
    read(text.replace("LINE", 'answers = { taken = "yes" }').encode(), "c")
    with pytest.raises(ChecklistError, match=wrong):
        read(text.replace("LINE", line).encode(), "c")


def power_back(lock_removed_by: str, **more: str) -> Finding:
    said = {"lock_removed_by": lock_removed_by} if lock_removed_by else {}
    return Finding(
        "f9", TIME_S, "Sam", "technician", check="power_back", grade="said", outcome="met", choices=said | more
    )


@pytest.mark.parametrize(
    ("marks", "runs", "is_off"),
    [
        (("isolate", "Sam"), True, True),
        (("isolate", "Sam"), False, False),  # nothing shows that it was left on
        (("isolate", "Kim"), True, False),  # whose lock still stands
        (("isolate", ""), True, False),  # nobody has said that it is off
        (("", "Sam"), True, False),
    ],
)
def test_how_a_disconnect_is_left_is_known_only_by_who_took_each_lock_off(
    marks: tuple[str, str], runs: bool, is_off: bool
) -> None:
    """29 CFR 1910.147(e)(3), from memory: each lock is taken off by who put it on."""
    check, by = marks
    standing = Standing("v1")
    if check:
        locked = {"disconnect_state": "locked_by_me", "tried": "nothing", "locked_by": "Sam", "other_feeds": "none"}
        standing.take(
            Finding("f1", TIME_S, "Sam", "technician", check=check, grade="seen", outcome="met", choices=locked)
        )
    standing.take(power_back(by))
    standing.judged("", TIME_S, now=Now(runs=runs))
    assert ("lock_taken_off" in standing.message().facts) is is_off


def test_a_lock_after_the_power_came_back_is_asked_about_again() -> None:
    locked = {"disconnect_state": "locked_by_me", "tried": "nothing", "locked_by": "Sam"}
    isolated = Finding("f1", TIME_S, "Sam", "technician", check="isolate", grade="seen", outcome="met", choices=locked)
    standing = course(isolated, power_back("Sam"))
    standing.judged("", TIME_S, now=Now(runs=True))
    assert "lock_taken_off" in standing.message().facts
    standing.take(replace(isolated, id="f10"))
    assert "lock_taken_off" not in standing.message().facts


def test_a_cover_is_known_to_be_closed_until_a_hand_is_in_the_panel_again() -> None:
    closed = Finding("f1", TIME_S, "Sam", "technician", check="close_panel", grade="seen", outcome="met")
    standing = course(closed)
    assert "cover_closed" in standing.message().facts
    standing.take(Finding("f2", TIME_S, "Sam", "technician", check="contactor", grade="seen", outcome="met"))
    assert "cover_closed" not in standing.message().facts
    assert "cover_closed" not in course(replace(closed, outcome="not_met")).message().facts


def test_every_shot_has_words_and_is_of_a_check_with_photographs() -> None:
    shots = [(check, shot) for group in checklists() for check in group.checks for shot in check.shots]
    assert shots
    assert all(shot.label and shot.answers and check.photographs for check, shot in shots)


def test_a_photograph_of_another_circuit_answers_nothing() -> None:
    standing = course(taken("p1", check="what_is_in_it", shot="air", circuit="1"))
    ask = asked("what_is_in_it", {"ventilated": "p1"}, CONDITIONS, circuit="2")
    with pytest.raises(RefusedError, match="of another part or circuit"):
        finding(ask, HEAD, standing, BURNS)
    assert finding(replace(ask, circuit="1"), HEAD, standing, BURNS).by_photograph == {"ventilated": "p1"}


def test_power_in_between_unmakes_no_photograph_of_what_does_not_make_dead() -> None:
    standing = photographed("wiring_photograph", p1="overall")
    standing.take(PowerRead("r1", TIME_S, channel="line_voltage_ab", value=238.0))
    ask = asked("wiring_photograph", {"taken": "p1"}, {"taken": "before"}, confirmed=True)
    assert finding(ask, HEAD, standing, facts()).by_photograph == {"taken": "p1"}


def test_a_photograph_for_another_check_answers_nothing_though_what_it_shows_has_the_same_name() -> None:
    standing = photographed("tag", p1="tag")
    with pytest.raises(RefusedError, match="is of tag, tag, and does not answer"):
        finding(asked("which_unit", {"told_by": "p1"}, {"told_by": "tag"}), HEAD, standing, facts())


def test_a_photograph_says_nothing_that_is_not_said_beside_it() -> None:
    standing = photographed("what_is_in_it", p1="air")
    unsaid = {name: answer for name, answer in CONDITIONS.items() if name != "ventilated"}
    with pytest.raises(RefusedError, match="by_photograph"):
        finding(asked("what_is_in_it", {"ventilated": "p1"}, unsaid), HEAD, standing, BURNS)


def test_what_goes_on_may_name_again_the_photograph_that_answered_it_before() -> None:
    standing = photographed("what_is_in_it", p1="tools")
    half = {name: said for name, said in CONDITIONS.items() if name != "extinguisher"}
    first = finding(asked("what_is_in_it", {"rated_tools": "p1"}, half), HEAD, standing, BURNS)
    standing.take(first)
    again = replace(
        asked("what_is_in_it", {"rated_tools": "p1"}, {"rated_tools": "yes", "extinguisher": "yes"}),
        id="f2", builds_on="f1", circuit=first.circuit,
    )  # fmt: skip
    found = finding(again, ("f2", TIME_S + 9, "Sam", "technician"), standing, BURNS)
    assert (found.outcome, found.by_photograph) == ("met", {"rated_tools": "p1"})
