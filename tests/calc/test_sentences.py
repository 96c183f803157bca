"""Every sentence stands in one table, and another language is another table: no line of logic reads a word."""

import ast
import re
from pathlib import Path

import pytest

import calc
import ingest
from calc.cautions import Step, beware
from calc.diagnosis import Fault, next_check
from calc.judge.alarms import AlarmKind
from calc.judge.state import Reason
from calc.quantities import CHANNELS
from calc.refrigerants import CLASS_NOT_KNOWN
from calc.sentences import (
    ENGLISH,
    Language,
    Part,
    Sentence,
    ahead,
    chance,
    mass,
    masses,
    minutes,
    reading,
    say,
    seconds,
    term,
    text,
    weighed,
    within,
)
from calc.settling import NotSteady, Why

ROOMS = [Path(calc.__file__).parent, Path(ingest.__file__).parent / "advice"]
FILES = sorted(path for room in ROOMS for path in room.rglob("*.py") if "sentences" not in path.parts)


def kinds_in_code() -> set[str]:
    """Every kind that is spelt out where a sentence is made."""
    found = set()
    for path in FILES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and node.args and isinstance(node.args[0], ast.Constant):
                name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
                if name in ("Sentence", "say", "restart") and isinstance(node.args[0].value, str):
                    found.add(node.args[0].value)
    return found


def test_every_kind_that_is_said_has_its_sentence() -> None:
    spelt_out = kinds_in_code()
    assert len(spelt_out) > 60
    assert spelt_out <= ENGLISH.sentences.keys()
    assert {next_check(fault).kind for fault in Fault} <= ENGLISH.sentences.keys()
    assert {NotSteady(why).sentence.kind for why in Why} <= ENGLISH.sentences.keys()
    headlines = {
        reason.name.lower() for reason in Reason if reason.name not in ("NO_FIGURE", "UNDERCHARGED", "OVERCHARGED")
    }
    assert {f"headline.{name}" for name in headlines} <= ENGLISH.sentences.keys()


def test_what_to_beware_of_has_its_sentence_at_every_step() -> None:
    kinds = {
        it.kind
        for name in (None, "R-22", "R-410A", "R-290", "R-454B")
        for found in ("", "A3", CLASS_NOT_KNOWN)
        for step in Step
        for it in beware(name, step, found=found)
    }
    assert len(kinds) > 25
    assert kinds == {kind for kind in ENGLISH.sentences if kind.startswith("caution.")}


def test_no_sentence_of_judging_is_spelt_out_beside_the_table() -> None:
    """Why there is no target and what to beware of are kinds, so that another language can say them."""
    spelt_out = [
        f"{name}: {it}"
        for name in ("targets.py", "return_air.py", "cautions.py")
        for it in texts_shown(Path(calc.__file__).parent / name)
        if it.count(" ") > 3 and not any(word in it for word in ("Title 24", "in °F", "CFR"))
    ]
    assert spelt_out == []


def test_every_term_has_its_word() -> None:
    assert {fault.value for fault in Fault} | {kind.value for kind in AlarmKind} <= ENGLISH.terms.keys()
    assert CHANNELS.keys() <= ENGLISH.terms.keys()  # any of them may be in doubt


def test_another_language_is_another_table() -> None:
    other = Language(
        {kind: f"<{kind}>" for kind in ENGLISH.sentences}, {key: f"<{key}>" for key in ENGLISH.terms}, " & "
    )
    assert say(Sentence("headline.doubt", (term("channels", "superheat"),)), "us", other) == "<headline.doubt>"
    words = Language({"both": "{things}!"}, {"superheat": "sh", "subcooling": "sc"}, " & ")
    assert say(Sentence("both", (term("things", "superheat", "subcooling"),)), "si", words) == "Sh & sc!"


def test_a_kind_that_a_language_lacks_is_an_error() -> None:
    with pytest.raises(KeyError):
        say(Sentence("no such kind"), "us")


def test_nothing_reads_what_was_said() -> None:
    """No part of a worded sentence is compared, searched or cut: whatever decides looks at its kind or its figures."""
    words = {"us", "si", "reason", "says", "fix"}
    readers = []
    for path in FILES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
                inner = node.func.value
                cut = node.func.attr in ("startswith", "endswith", "split", "partition", "rpartition", "removesuffix")
                if cut and isinstance(inner, ast.Attribute) and inner.attr in words:
                    readers.append(f"{path.name}:{node.lineno}")
            if isinstance(node, ast.Compare) and any(isinstance(op, ast.In | ast.NotIn) for op in node.ops):
                into = node.comparators[0]
                if isinstance(into, ast.Attribute) and into.attr in words:
                    readers.append(f"{path.name}:{node.lineno}")
    assert readers == []


@pytest.mark.parametrize("fault", [Fault.NON_CONDENSABLES, Fault.RESTRICTION])
def test_a_cause_of_several_is_not_said_as_of_one(fault: Fault) -> None:
    said = say(Sentence("headline.another_cause", (term("fault", fault.value), chance("chance", 0.9))), "us")
    assert said == f"Leave the charge alone: most likely {fault.value} (90 %)."


def test_a_source_in_degrees_fahrenheit_says_it_in_si_too() -> None:
    """Whole texts that are shown as they stand: those who read SI must find their own figure beside the other."""
    alone = [
        f"{path.name}: {text}"
        for path in (Path(calc.__file__).parent / name for name in ("symptoms.py", "judge/alarms.py"))
        for text in texts_shown(path)
        if text.count("°F") > len(re.findall(r"°F(?: \(| to)", text))
    ]
    assert alone == []


def texts_shown(path: Path) -> list[str]:
    """Every string of a file but its docstrings."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    docs = {id(it.value) for it in ast.walk(tree) if isinstance(it, ast.Expr)}
    return [
        it.value
        for it in ast.walk(tree)
        if isinstance(it, ast.Constant) and isinstance(it.value, str) and id(it) not in docs
    ]


def test_no_hand_is_sent_to_a_shell_that_burns() -> None:
    """A caution of this project's own: the compressor's shell burns."""
    floodback = [ENGLISH.sentences[f"alarm.{it}"] for it in ("floodback", "little_superheat", "below_dew_point")]
    assert all(
        "measure the bottom of the shell by probe or infrared, never by hand, terminal cover on" in it
        for it in floodback
    )
    assert not any(re.search(r"feel[^.]*shell", it, re.IGNORECASE) for it in ENGLISH.sentences.values())


def test_nobody_is_told_to_start_a_unit_at_which_somebody_may_be() -> None:
    """An alarm may have stopped it ten seconds ago."""
    said = str(Sentence("headline.at_rest"))
    assert "start it only when nobody is at it, every lock is taken off by whoever put it on, and panels" in said
    assert not re.search(r"start it[.]?$", str(Sentence("condition.at_rest")))


def test_zero_is_called_by_one_word() -> None:
    assert [kind for kind, pattern in ENGLISH.sentences.items() if re.search(r"\bnought\b", pattern)] == []


@pytest.mark.parametrize(
    ("part", "us", "si"),
    [
        (minutes("it", 14.9 * 60), "14", "14"),  # not all of them have passed
        (minutes("it", 15 * 60), "15", "15"),
        (seconds("it", 29.6), "30", "30"),
        (ahead("it", 225.0), "In 4 min", "In 4 min"),
        (ahead("it", 25.0), "In 30 s", "In 30 s"),
        (mass("it", 1.36077711), "3 lb", "1.36 kg"),  # NIST SP 811, B.8: 1 lb = 0.453 592 37 kg
        (mass("it", -0.1133981), "4 oz", "110 g"),
        (masses("it", 0.0, 0.0566990), "0 to 2 oz", "0 to 55 g"),
        (weighed("it", -0.1133981), "4 oz", "113 g"),
        (reading("it", 45.2e-6, 0.9e-6, "capacitance"), "45.2 ± 0.9 µF", "45.2 ± 0.9 µF"),
        (reading("it", 124.54445, None, "pressure_difference"), "0.5 inH2O", "124.5 Pa"),  # likewise; a limit has no ±
    ],
)
def test_a_part_is_worded_in_the_units_of_its_reader(part: Part, us: str, si: str) -> None:
    words = ENGLISH._replace(sentences={**ENGLISH.sentences, "alone": "{it}"})
    assert (say(Sentence("alone", (part,)), "us", words), say(Sentence("alone", (part,)), "si", words)) == (us, si)


def test_a_sentence_within_another_takes_its_parts() -> None:
    words = Language({"outer": "{why}, so stop", "inner": "it took {for}"}, {}, " & ")
    parts = (Part("why", "sentence", terms=("inner",)), seconds("for", 12.0))
    assert say(Sentence("outer", parts), "us", words) == "It took 12, so stop"


def test_sentences_behind_one_another_begin_with_a_capital_each() -> None:
    words = Language({"outer": "Stop. {why}", "hot": "it is {where}.", "wet": "so is the floor."}, {}, " & ")
    parts = (within("why", "hot", "wet"), text("where", "a roof"))
    assert say(Sentence("outer", parts), "us", words) == "Stop. It is a roof. So is the floor."
