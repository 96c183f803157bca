"""What the page says of causes, alarms and conditions."""

import re
from xml.etree import ElementTree as ET

import msgspec
import pytest

from calc.sentences import Sentence, say, term
from calc.sentences import chance as chance_of
from calc.wording import percent
from dashboard.app import HERE
from dashboard.errors import AskError
from dashboard.opinion import opinion
from dashboard.shared.outcome import failure, success
from ingest.wire.messages import (
    AlarmMessage,
    CauseMessage,
    ConditionMessage,
    EvidenceMessage,
    NextStepMessage,
    VerificationMessage,
    Wording,
)
from tests.wire_rig import advice, said

MOST_CAUSES = 4
"""More is a list, and no opinion."""

NOTHING = Wording("", "")
SHARED = HERE / "shared" / "browser"
EXPECTED = Wording("4.4 °F, expected 10.0 ± 2.4 °F", "2.4 K, expected 5.6 ± 1.3 K")


def cause(fault: str, probability: float, held_back: str = "") -> CauseMessage:
    evidence = [EvidenceMessage("subcooling", 2.3, EXPECTED, "nameplate")]
    waits = said(held_back) if held_back else None
    return CauseMessage(fault, probability, [], evidence, [], said("Look for oil."), waits)


def condition(name: str, state: str, says: str = "Met.") -> ConditionMessage:
    word = Wording(says, says, "condition.met" if state == "met" else "condition.not_known")
    given = {"name": name, "state": state, "says": word, "measured": NOTHING, "source": "s"}
    return msgspec.convert(given, ConditionMessage)


@pytest.mark.parametrize(
    "kind",
    [
        "headline.vacuum",
        "headline.vacuum_live",
        "headline.refrigerant_in_air",
        "headline.empty",
        "headline.falling",
        "headline.rising",
    ],
)
def test_what_nobody_starts_it_in_leads_in_the_words_of_the_advice_whether_it_heads_that_or_stands_beside_an_alarm(
    kind: str,
) -> None:
    leads = Wording("In a vacuum: 1 psi.", "In a vacuum: 7 kPa.", kind)
    other = Wording("Wait.", "Wait.", "headline.still_settling")
    heads = msgspec.structs.replace(advice(time_s=0.0), sentence=leads, details=[other])
    assert (opinion(heads, "us")["leads"], opinion(heads, "si")["leads"]) == ([leads.us], [leads.si])
    beside = msgspec.structs.replace(
        heads, sentence=Wording("Stop.", "Stop.", "headline.alarm"), details=[other, leads]
    )
    assert opinion(beside, "us")["leads"] == [leads.us]
    assert opinion(msgspec.structs.replace(heads, sentence=other), "us")["leads"] == []


def test_causes_come_with_their_chance_and_evidence_in_the_pages_units() -> None:
    causes = [cause("undercharge", 0.5, "First rule out low airflow."), cause("liquid-line restriction", 0.4)]
    given = msgspec.structs.replace(advice(time_s=0.0), causes=causes)
    first, second = opinion(given, "si")["explanations"]
    assert (first["fault"], first["chance"]) == ("Undercharge", "50 %")
    assert first["for"] == ["Subcooling 2.4 K, expected 5.6 ± 1.3 K"]
    assert first["held_back"] == "First rule out low airflow."
    assert (second["fault"], second["held_back"]) == ("Liquid-line restriction", "")
    assert opinion(given, "us")["explanations"][0]["for"] == ["Subcooling 4.4 °F, expected 10.0 ± 2.4 °F"]


@pytest.mark.parametrize(
    ("state", "mood", "icon"),
    [("met", "good", "check"), ("not met", "bad", "cross"), ("cannot tell", "care", "unknown")],
)
def test_a_condition_has_the_sign_of_its_state(state: str, mood: str, icon: str) -> None:
    verified = VerificationMessage("subcooling", "x", None, None, None, [condition("settled", state)], said(""))
    given = msgspec.structs.replace(advice(time_s=0.0), verification=verified)
    (told,) = opinion(given, "us")["judgement"]["conditions"]
    assert (told["mood"], told["icon"], told["state"]) == (mood, icon, state)


def test_what_came_of_a_request_has_the_sign_of_it() -> None:
    good, bad = str(success("Recorded.")), str(failure(AskError(409, "Full.")))
    assert "icon-check" in good
    assert "icon-warning" in bad


def test_every_icon_is_drawn_by_the_file_of_its_name() -> None:
    style = (SHARED / "page.css").read_text(encoding="utf-8")
    drawn = dict(re.findall(r"\.icon-(\w+) \{\s*--picture: url\(\"icons/(\w+)\.svg\"\)", style))
    assert drawn == {name: name for name in drawn}
    assert {"check", "cross", "warning", "unknown"} <= set(drawn)
    for name in drawn:
        ET.parse(SHARED / "icons" / f"{name}.svg")


def test_the_check_rises_and_the_cross_crosses() -> None:
    """The one that means good is a tick of three points; the one that means bad is two strokes that cross."""
    check, cross = ((SHARED / "icons" / f"{name}.svg").read_text(encoding="utf-8") for name in ("check", "cross"))
    assert len(re.findall("M", check)) == 1
    assert len(re.findall("M", cross)) == 2


def test_what_is_unlikely_is_not_told() -> None:
    faults = ["undercharge", "overcharge", "non-condensables", "low evaporator airflow", "compressor valve leakage"]
    causes = [cause(fault, chance) for fault, chance in zip(faults, (0.5, 0.2, 0.1, 0.08, 0.06), strict=True)]
    told = opinion(msgspec.structs.replace(advice(time_s=0.0), causes=causes), "us")["explanations"]
    assert [it["fault"].lower() for it in told] == faults[:MOST_CAUSES]
    rare = [cause("undercharge", 0.9), cause("overcharge", 0.03)]
    assert len(opinion(msgspec.structs.replace(advice(time_s=0.0), causes=rare), "us")["explanations"]) == 1


def test_several_at_once_are_named() -> None:
    several = msgspec.structs.replace(cause("several at once", 0.6), together=["undercharge", "non-condensables"])
    (told,) = opinion(msgspec.structs.replace(advice(time_s=0.0), causes=[several]), "us")["explanations"]
    assert told["fault"] == "Several causes at once: undercharge and non-condensables"


def test_what_was_not_judged_is_named() -> None:
    given = msgspec.structs.replace(advice(time_s=0.0), not_judged=["capacitors", "line_voltage"])
    assert opinion(given, "us")["not_judged"] == ["Capacitors", "Supply voltage"]


def test_an_alarm_says_why_and_where_its_limit_stands() -> None:
    says = said("It condenses far above the outdoor air.")
    alarm = AlarmMessage("head pressure", says, Wording("50 °F", "28 K"), "common practice")
    (told,) = opinion(msgspec.structs.replace(advice(time_s=0.0), alarms=[alarm]), "si")["alarms"]
    assert told == {
        "stop": "Add nothing: head pressure.",
        "says": "It condenses far above the outdoor air.",
        "measured": "28 K",
        "source": "common practice",
    }


@pytest.mark.parametrize(
    ("state", "says", "mood", "told"),
    [
        ("not met", "Too cold outdoors: come back.", "bad", "Too cold outdoors: come back."),
        ("cannot tell", "Not known.", "care", "Not known."),
        ("met", "Met.", "good", ""),
    ],
)
def test_a_condition_has_a_state_in_words_and_says_what_to_do(state: str, says: str, mood: str, told: str) -> None:
    conditions = [condition("outdoor_air_temperature", state, says)]
    verdict = said("Not yet: 1 of 1 conditions open.")
    given = VerificationMessage("subcooling", "may not be judged", None, -3.1, 0.6, conditions, verdict)
    laid_out = opinion(msgspec.structs.replace(advice(time_s=0.0), verification=given), "us")["judgement"]
    assert laid_out["verdict"] == "Not yet: 1 of 1 conditions open."
    (it,) = laid_out["conditions"]
    assert (it["name"], it["state"], it["mood"]) == ("Outdoor air temperature", state, mood)
    assert it["says"] == told


@pytest.mark.parametrize(
    ("probability", "told"),
    [
        (0.049, "under 5 %"),
        (0.05, "5 %"),
        (0.5, "50 %"),
        (0.92, "90 %"),
        (0.93, "95 %"),
        (0.95, "95 %"),
        (0.951, "over 95 %"),
        (1.0, "over 95 %"),  # never certain
    ],
)
def test_a_chance_is_told_in_twentieths_and_nothing_is_certain(probability: float, told: str) -> None:
    assert percent(probability) == told


def test_the_share_of_a_bar_is_drawn_in_hundredths() -> None:
    """A bar of a hundred steps stands still while readings flicker, and shows which is longer."""
    given = msgspec.structs.replace(advice(time_s=0.0), causes=[cause("undercharge", 0.7234)])
    assert [it["share"] for it in opinion(given, "us")["explanations"]] == [0.72]


def test_a_cause_of_one_in_twenty_is_told() -> None:
    given = msgspec.structs.replace(advice(time_s=0.0), causes=[cause("undercharge", 0.05)])
    assert [it["chance"] for it in opinion(given, "us")["explanations"]] == ["5 %"]


@pytest.mark.parametrize(("step_kg", "key"), [(0.1, "added"), (-0.1, "recovered"), (None, "")])
def test_the_key_that_is_asked_for_is_the_one_of_the_step(step_kg: float | None, key: str) -> None:
    step = None if step_kg is None else NextStepMessage(step_kg, step_kg, step_kg, step_kg, "liquid", "")
    given = msgspec.structs.replace(advice(time_s=0.0), next_step=step)
    assert opinion(given, "us")["to_move"] == key


def test_headline_and_panel_tell_one_chance() -> None:
    """The one said 98 %, the other over 95 %."""
    said_of_it = say(Sentence("headline.another_cause", (term("fault", "overcharge"), chance_of("chance", 0.98))), "us")
    causes = [cause("overcharge", 0.98)]
    (shown,) = opinion(msgspec.structs.replace(advice(time_s=0.0), causes=causes), "us")["explanations"]
    assert shown["chance"] in said_of_it


def test_what_may_be_there_beside_another_is_told_with_how_likely_it_is_alone() -> None:
    """By the sum of both, in steps of 5 %: 1 % alone and 9 % beside another are 10 %."""
    leads, beside, alone = cause("undercharge", 0.8), cause("overcharge", 0.01), cause("low evaporator airflow", 0.06)
    causes = [leads, msgspec.structs.replace(beside, beside=0.09), alone]
    told = opinion(msgspec.structs.replace(advice(time_s=0.0), causes=causes), "us")["explanations"]
    assert [it["chance"] for it in told] == ["80 %", "10 % (under 5 % alone)", "5 %"]
    assert told[1]["share"] == 0.1
