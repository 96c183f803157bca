"""What the page says of causes, alarms and conditions."""

import re
from xml.etree import ElementTree as ET

import msgspec
import pytest

from dashboard.app import ASSETS
from dashboard.callbacks.outcome import failure, success
from dashboard.errors import AskError
from dashboard.opinion import MOST_EXPLANATIONS, opinion, verdict
from ingest.wire.messages import Alarm, Condition, Evidence, Explanation, Judgement, Wording
from tests.wire_rig import advice

NOTHING = Wording("", "")
EXPECTED = Wording("4.4 °F, expected 10.0 ± 2.4 °F", "2.4 K, expected 5.6 ± 1.3 K")


def explanation(fault: str, probability: float, held_back: str = "") -> Explanation:
    evidence = [Evidence("subcooling", 2.3, EXPECTED, "nameplate")]
    return Explanation(fault, probability, [], evidence, [], "Look for oil.", held_back)


def condition(name: str, state: str, says: str = "met") -> Condition:
    return msgspec.convert({"name": name, "state": state, "says": says, "measured": NOTHING, "source": "s"}, Condition)


def judgement(state: str, probability: float | None, *conditions: Condition) -> Judgement:
    return Judgement("subcooling", state, probability, -3.1, 0.6, conditions)


def test_causes_come_with_their_chance_and_evidence_in_the_pages_units() -> None:
    causes = [
        explanation("undercharge", 0.5, "first rule out low airflow"),
        explanation("liquid-line restriction", 0.4),
    ]
    given = msgspec.structs.replace(advice(time_s=0.0), explanations=causes)
    first, second = opinion(given, "si")["explanations"]
    assert (first["fault"], first["chance"]) == ("Undercharge", "50 %")
    assert first["for"] == ["Subcooling 2.4 K, expected 5.6 ± 1.3 K"]
    assert first["held_back"] == "First rule out low airflow"
    assert second["fault"] == "Liquid-line restriction"
    assert opinion(given, "us")["explanations"][0]["for"] == ["Subcooling 4.4 °F, expected 10.0 ± 2.4 °F"]


@pytest.mark.parametrize(
    ("state", "mood", "icon"), [("met", "good", "check"), ("not met", "bad", "cross"), ("unknown", "care", "unknown")]
)
def test_a_condition_has_the_sign_of_its_state(state: str, mood: str, icon: str) -> None:
    given = msgspec.structs.replace(advice(time_s=0.0), judgement=judgement("x", None, condition("settled", state)))
    (told,) = opinion(given, "us")["judgement"]["conditions"]
    assert (told["mood"], told["icon"], told["state"]) == (mood, icon, state)


def test_what_came_of_a_request_has_the_sign_of_it() -> None:
    good, bad = str(success("Recorded.")), str(failure(AskError(409, "Full.")))
    assert "icon-check" in good
    assert "icon-warning" in bad


def test_every_icon_is_drawn_by_the_file_of_its_name() -> None:
    style = (ASSETS / "page.css").read_text(encoding="utf-8")
    drawn = dict(re.findall(r"\.icon-(\w+) \{\s*--picture: url\(\"icons/(\w+)\.svg\"\)", style))
    assert drawn == {name: name for name in drawn}
    assert {"check", "cross", "warning", "unknown"} <= set(drawn)
    for name in drawn:
        ET.parse(ASSETS / "icons" / f"{name}.svg")


def test_the_check_rises_and_the_cross_crosses() -> None:
    """The one that means good is a tick of three points; the one that means bad is two strokes that cross."""
    check, cross = ((ASSETS / "icons" / f"{name}.svg").read_text(encoding="utf-8") for name in ("check", "cross"))
    assert len(re.findall("M", check)) == 1
    assert len(re.findall("M", cross)) == 2


def test_what_is_unlikely_is_not_told() -> None:
    causes = [explanation(f"cause {number}", chance) for number, chance in enumerate((0.5, 0.2, 0.1, 0.08, 0.06, 0.03))]
    told = opinion(msgspec.structs.replace(advice(time_s=0.0), explanations=causes), "us")["explanations"]
    assert [it["fault"] for it in told] == [f"Cause {number}" for number in range(MOST_EXPLANATIONS)]


def test_several_at_once_are_named() -> None:
    several = msgspec.structs.replace(explanation("several at once", 0.6), together=["undercharge", "non-condensables"])
    (told,) = opinion(msgspec.structs.replace(advice(time_s=0.0), explanations=[several]), "us")["explanations"]
    assert told["fault"] == "Several at once: undercharge and non-condensables"


def test_an_alarm_says_why_and_where_its_limit_stands() -> None:
    alarm = Alarm(
        "head pressure", "it condenses far above the outdoor air", Wording("50 °F", "28 K"), "common practice"
    )
    (told,) = opinion(msgspec.structs.replace(advice(time_s=0.0), alarms=[alarm]), "si")["alarms"]
    assert told == {
        "kind": "head pressure",
        "says": "It condenses far above the outdoor air",
        "measured": "28 K",
        "source": "common practice",
    }


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (
            judgement(
                "may not be judged", None, condition("settled", "met"), condition("air_split", "unknown", "not known")
            ),
            "Not yet: 1 of 2 conditions open.",
        ),
        (judgement("right", 0.98), "Yes: the charge is right (over 95 %)."),
        (judgement("too little", 0.93), "Yes: the charge is too little (95 %)."),
        (judgement("cannot tell", 0.6), "Yes, but these instruments cannot tell."),
    ],
)
def test_the_verdict_in_one_line(given: Judgement, said: str) -> None:
    assert verdict(given) == said


def test_a_condition_has_a_state_in_words_and_says_what_to_do() -> None:
    given = judgement(
        "may not be judged", None, condition("outdoor_air_temperature", "not met", "too cold outdoors: come back")
    )
    (told,) = opinion(msgspec.structs.replace(advice(time_s=0.0), judgement=given), "us")["judgement"]["conditions"]
    assert (told["name"], told["state"], told["mood"]) == ("Outdoor air", "not met", "bad")
    assert told["says"] == "Too cold outdoors: come back"
