"""The guided checks as data: whole, in order, with cautions where hands may be hurt, and refused where they misfit."""

import json
import re
from importlib.resources import files

import pytest

from calc.cautions import Step, beware_at_steps
from calc.quantities import QUANTITIES
from calc.sentences import ENGLISH
from ingest.visit.checklist import GROUPS, ChecklistError, checklists, guided, read, reworded, words
from ingest.visit.circumstances import Course, Place, facts
from ingest.visit.rules import Chosen
from ingest.wire.checklist import Fact
from ingest.wire.messages import Checklist, decode, encode

PLACES = {
    "complaint": "A1", "which_unit": "A2", "look_first": "A3", "what_is_in_it": "A4",
    "isolate": "B1", "prove_dead": "B2", "discharge": "B3",
    "wiring_photograph": "C1", "capacitor_by_eye": "C2", "capacitor_measured": "C3", "replacement": "C4",
    "windings": "C5", "conductor": "C6", "connections": "C7", "contactor": "C8", "cause": "C9", "close_panel": "C10",
    "power_back": "D1", "start": "D2", "supply": "D3", "motor_amps": "D4", "capacitor_under_load": "D5",
    "joint_drop": "D6", "contactor_live": "D7",
    "probes_on": "E0", "air": "E1", "readings_before": "E2", "moving": "E3", "leaks": "E4", "opened": "E5",
    "readings_after": "E6",
    "looked_for": "E7",
    "probes_off": "F1", "as_it_was": "F2", "panels": "F3", "tag": "F4", "handover": "F5",
}  # fmt: skip

BULLETS: dict[str, tuple[str, ...]] = {
    "complaint": (
        "words of whoever called|what whoever called says", "since when", "at some hours", "done lately", "thermostat",
        "last visit", "readings, additions, open questions", "in one line", "outdoor_air_temperature",
        "you are done when that is gone",
    ),
    "which_unit": (
        "hazards of the place",
        "tag", "how many circuits", "charge of the circuit", "metering device", "each nameplate", "95 %",
        "40 CFR 84.102 and 82.152", "never the cooling call", "5 min between starts", "2 min or longer",
        "random lengths", "list of times", "none of them", "two visits",
    ),
    "look_first": (
        "filters: how many, their size", "belt: its size",
        "filter", "evaporator face", "condenser face", "fan blades", "belt", "ice", "oil stains", "rubbed pipe",
        "burnt wire", "bulged part", "open disconnect", "water", "outdoor damper", "screws that hold each panel",
        "bypassed by a wire", "repaired before the circuit is connected", "reported to the owner and never left",
        "with one key", "air comes before refrigerant", "with every panel on",
        "none seen from outside; panel not opened",
        "asked again",
    ),
    "what_is_in_it": (
        "nameplate", "later label", "safety class", "cylinder label", "never mix", "not at saturation",
        "weigh it in afresh", "before the work", "detector on during the work, ventilated throughout",
        "no ignition source",
        "dry powder or CO2", "machines, pumps and detectors rated",
        "leak detector in the unit",
        "stops compressor and heat and runs the blower", "never bypassed", "refrigerant_in_air",
        "IEC 60335-2-40", "outdoor air", "time and a spark",
    ),
    "isolate": (
        "which disconnect", "control circuit from another unit", "crankcase heater", "second feed", "solar",
        "backup generator", "placed by", "29 CFR 1910.147", "1910.333(b)", "from memory", "zero amps is no proof",
        "somebody closes", "lock and tag on the disconnect",
        "tried at its own controls after the lock: nothing starts; controls back off", "1910.333(b)(2)(iv)(A)",
    ),
    "prove_dead": (
        "tester", "known live source", "known source, before", "known source, after", "L1 to L2", "L2 to L3",
        "L3 to L1", "L1 to ground (earth)", "L2 to ground (earth)",
        "L3 to ground (earth)", "control circuit", "below 3 V", "tester's own",
        "place of work", "from 3 to 50 V", "find where it comes from", "50 V or more", "non-contact tester alone never",
        "NFPA 70E 120.5(7)", "DOE", "above 600 V", "1910.333(b)(2)(iv)", "any voltage", "multimeter_ac_voltage",
        "a dead tester and a dead wire look alike", "as an extra", "line side of the contactor",
        "at its load side before",
        "proves nothing of the line side",
    ),
    "discharge": (
        "without a spark",
        "resistor", "herm to common", "fan to common", "herm to fan", "below 5 V DC", "R C ln(V/5)", "4.2 s",
        "460.6", "460.1", "no bleeder", "behind an open winding", "20 kohm, 2 W", "never a screwdriver",
        "many are fused inside", "multimeter_dc_voltage", "falling curve", "only a resistor and a meter",
    ),
    "wiring_photograph": (
        "overall", "each part to be touched", "every terminal readable", "colour and terminal", "time stamp",
        "beside the camera", "an hour with the diagram", "before the first lead is off",
    ),
    "capacitor_by_eye": (
        "can and label", "tolerance", "volts", "hertz", "date code", "flat", "domed", "leaking", "rusted", "burnt",
        "strapped", "loose", "whatever it reads", "no measurement is asked for", "typed once", "opened its own inside",
    ),
    "capacitor_measured": (
        "herm to common", "fan to common", "label's tolerance", "±6 %", "too high", "open", "worse section decides",
        "5 % of the label lost", "it goes next", "±0.30", "±0.20", "first steady reading", "dual can has two answers",
        "multimeter_capacitance",
    ),
    "replacement": (
        "new label", "old and new side by side", "why it was replaced", "kept", "scrapped", "same capacitance",
        "volts not lower", "same hertz", "dual for dual", "strapped", "measured too", "marked terminal",
        "never to start", "measure it before you trust it",
    ),
    "windings": (
        "start to common", "run to common", "start to run", "to the case", "test volts", "never in a vacuum",
        "covers on", "face aside", "within 5 %", "1 megohm", "maker's figure", "let it cool for hours",
        "the start, the amps or a trip", "they do not tell you it is good", "alike",
    ),
    "conductor": (
        "printed on the wire", "stripper's holes", "bare copper", "temperature rating", "range", "insulated", "tab",
        "crimp tool and its nest", "pulled by hand", "never the outside of the insulation", "not thinner",
        "MCA", "310.16", "240.4(D)", "Article 440", "no strand", "70 and 10 AWG with 80 lbf", "blue or brown",
        "cut back to bright copper", "your eye knows the paint",
    ),
    "connections": (
        "which terminal", "torque as left", "tool, and its date", "heat marks", "110.14(D)", "annex I",
        "20 or 35 lbf in (2.3 or 4.0 N m)", "25 or 40 (2.8 or 4.5 N m)", "whole turn", "infrared",
        "three in four", "by an approved means",
    ),
    "contactor": (
        "face of the contacts", "insects", "travel", "sticks", "never push it in by hand", "with power back",
    ),
    "cause": (
        "loose joint", "over- or undervoltage", "wrong part", "age", "surge", "water", "animals", "motor drags",
        "unknown", "evidence", "what was done about it", "stays open for the next visit", "has a killer",
    ),
    "close_panel": (
        "photograph", "nothing left inside", "cover on", "screws back", "before the first hose", "clamps go in first",
        "own openings", "cover on before gas on", "was never off", "locked, proved dead and discharged",
        "1910.333(a)(1)",
    ),
    "power_back": (
        "lock removed by", "coil volts", "what held it", "timer", "cut-out", "thermostat", "detector",
        "above 10 % of RLA", "5 min since the last stop", "in this order: leak detector in alarm",
        "is there a call? delay timer",
        "amps of blower, fan and compressor", "asked it to run",
    ),
    "start": (
        "peak", "time to speed", "restarts", "sag", "without turning", "within 3 s", "near LRA", "switch off",
        "turns backwards", "lock, prove dead, discharge, exchange two of its leads", "as its maker has it",
        "where fans of three phases turn backwards too, leave its leads", "licensed for the supply",
        "any work on the supply", "4 Hz",
        "0.2 s", "holds its peak", "first ten seconds",
    ),
    "supply": (
        "load side of the contactor", "at rest", "running", "neutral", "±10 %", "2 %", "beyond 5 %", "do not run",
        "5 %", "a joint between them", "while it drinks", "line_voltage_bc",
    ),
    "motor_amps": (
        "amps", "outdoor air", "wet bulb", "within what the conditions let expect", "volts at that moment",
        "head at that moment", "below FLA by more than the ±",
        "RLA is not a limit", "1.56", "1.44", "look at volts, head and air", "1.4 RLA", "leaking valves", "backwards",
        "10 %", "locked out and proved dead, move the phases round by one", "±22 %", "±4 %", "turns",
        "how hard it works",
    ),
    "capacitor_under_load": (
        "amps in the lead", "hertz", "2652.6", "3183.1", "not behind a drive", "±3.6 %", "±16 %", "±3.4 %",
        "take leads off|taking leads off", "under volts and heat",
        "several hundred volts", "locked out, proved dead and discharged",
    ),
    "contactor_live": (
        "coil volts when called", "chatters", "85 to 110 %", "poles alike", "0.1 V", "tutorial",
        "never push it in by hand", "if the magnet was asked", "placed while it was dead",
    ),
    "joint_drop": ("each leg", "amps through it", "like joints alike", "0.1 V", "milliohms", "watts", "pay for twice"),
    "probes_on": (
        "which port and circuit", "length of each hose", "field checks of this day", "agree within their ±",
        "suction is below liquid", "hoses exchanged", "gauge taken for absolute", "never guessed silently",
        "know why before you screw on",
    ),
    "air": (
        "dampers", "stages", "return air", "supply air", "wet bulb", "washed", "dry", "airflow", "55 °F",
        "own chart or by weight", "supply against return", "defrost", "make it innocent first", "first look",
    ),
    "readings_before": ("settled", "superheat", "subcooling", "one before and one after", "conditions and ±"),
    "moving": (
        "cylinder label", "difference of the scale", "typed", "estimated", "phase", "port", "evacuated", "purged",
        "panel closed", "what it is for", "small steps from below", "weigh in the nameplate's charge", "unknown",
        "opened", "below the limit", "heats", "in doubt", "10 %", "very small", "never exceed the nameplate's charge",
        "stop", "stop and think", "is not of the circuit", "said to be silent", "shell temperature", "low side",
        "compressor off, by scale", "what was recovered goes", "to reclaim",
        "scale that falls proposes", "deducted", "you write as a guess",
    ),
    "leaks": (
        "oil", "caps and cores", "joints", "coil ends", "detector", "its own check", "bubbles", "none found",
        "later reading", "each place looked at", "only with the probes off",
        "only an unchanged figure later", "second addition", "no federal leak rule",
        "went somewhere, or was never there",
    ),
    "opened": (
        "in this order: recovered", "purged with nitrogen, and what burns evacuated and purged again",
        "brazed with nitrogen flowing", "after the last joint the pressure test that counts",
        "tested after the last joint",
        "recovered", "cylinder", "level reached", "82.156(a)", "regulator", "never oxygen",
        "nitrogen, as the gauge reads", "test pressure on the nameplate, as it is printed",
        "pipe temperature", "p2 = p1 T2/T1", "146.9 psig", "pump isolated", "500 micron (67 Pa)", "20 min",
        "levels off is moisture|levels off: moisture", "climbs: leak", "drier", "weighed in", "lines hold",
        "before heat", "blows off outdoors", "rings", "vacuum finds water",
    ),
    "readings_after": ("settled", "conditions", "difference", "5, 10 and 15 min", "15 for a verification", "title 24"),
    "looked_for": ("put it right", "before any refrigerant moves", "could not be seen", "eyes and hands"),
    "probes_off": (
        "shut and emptied", "bubbles or detector", "with its seal", "finger tight", "1/6 turn", "ports with their caps",
        "the cap is the valve",
    ),
    "as_it_was": (
        "jumpers", "cut-outs", "which cut-outs had opened", "leak detector", "thermostat and dampers",
        "disconnect and breaker", "lock removed by who placed it", "on its own call", "tools",
        "first line of the report",
        "first thing they will ask about",
    ),
    "panels": ("screws", "panels closed"),
    "tag": ("engraved", "durable", "where it can be seen", "readable in the photograph"),
    "handover": (
        "gone", "better", "not answered", "running with a concern", "left off|off and locked", "next person", "by when",
        "date of the next reading", "owner was told and decided", "changes words, not facts", "in the rain",
    ),
}  # fmt: skip
"""What each check captures, when it is met, what is read without typing and what an apprentice is told, by a few of its
words; of several in one, any. Every one of them was agreed on before the data was written."""


def text_of(word: str) -> str:
    return json.dumps(json.loads(encode(guided()[word].check)), ensure_ascii=False).lower()


@pytest.mark.parametrize("word", PLACES)
def test_every_point_of_a_check_is_in_its_data(word: str) -> None:
    said = text_of(word)
    lost = [each for each in BULLETS[word] if not any(part.lower() in said for part in each.split("|"))]
    assert lost == []


def test_no_hand_is_sent_to_a_lead_or_a_winding_that_nobody_proved_dead() -> None:
    """Lock out, prove dead: 29 CFR 1910.333(b), from memory. Who re-lands leads or winds turns reads it there."""
    told = [
        *ENGLISH.sentences.values(),
        *(text for one in guided().values() for text in (one.check.met, one.check.not_met)),
    ]
    hands_on = [
        said for said in told if re.search("exchange two|wound|round by one|a hand goes in|fuses, contactor", said)
    ]
    assert len(hands_on) >= 10
    assert [said for said in hands_on if not re.search("[Pp]rove(d)? dead", said)] == []


def test_every_check_is_there_in_its_place_and_no_other() -> None:
    assert {word: one.check.place for word, one in guided().items()} == PLACES
    assert list(guided()) == list(PLACES)
    assert PLACES.keys() == BULLETS.keys()


HARMLESS = {"complaint", "cause", "tag", "handover"}
"""Where nothing is touched but a pen."""
STEPS = {
    "prove_dead": "A non-contact tester proves nothing dead",
    "discharge": "never a screwdriver",
    "windings": "Megohms only dead",
    "power_back": "Each lock is taken off by whoever put it on",
    "probes_on": "Liquid refrigerant freezes skin",
    "probes_off": "Never loosen a hose under pressure",
    "moving": "Small steps",
    "opened": "through a regulator set below the lowest test pressure",
    "motor_amps": "A unit that runs has live parts",
    "wiring_photograph": "lock out and tag",
}


@pytest.mark.parametrize("word", PLACES)
def test_cautions_stand_above_every_check_at_which_hands_may_be_hurt(word: str) -> None:
    steps = [Step(step) for step in guided()[word].check.steps]
    assert bool(steps) != (word in HARMLESS)
    said = " ".join(map(str, [*beware_at_steps("R-454B", steps).now, *beware_at_steps("R-454B", steps).once]))
    assert STEPS.get(word, "") in said
    if word.startswith(("moving", "opened", "probes")):
        assert "R-454B burns (A2L)" in said


@pytest.mark.parametrize("word", PLACES)
def test_a_check_says_when_it_is_met_what_it_rests_on_and_what_an_apprentice_should_know(word: str) -> None:
    one = guided()[word]
    assert one.rules
    check = one.check
    assert all((check.title, check.met, check.apprentice, check.sources))
    assert check.automatic or word in ("panels", "tag")


def test_what_is_captured_is_named_once_and_what_is_read_is_a_channel() -> None:
    for one in guided().values():
        names = [f"{it.name}.{of}" for it in one.check.figures for of in it.per or ("",)]
        assert len(set(names)) == len(names)
        assert all(it in QUANTITIES for figure in one.check.figures for each in figure.channels.values() for it in each)


def test_every_fact_makes_a_check_be_asked_for_or_a_part_of_one_or_begins_one() -> None:
    used = {fact for one in guided().values() for fact in one.check.asked_when}
    parts = [it for one in guided().values() for it in (*one.check.figures, *one.check.choices, *one.check.shots)]
    used |= {it.only for it in parts if it.only}
    used |= {it.usual_when for one in guided().values() for it in one.check.choices if it.usual_when}
    used |= {fact for one in guided().values() for it in one.check.choices for fact in it.known_by}
    used |= {"heating"}  # the mode of the air begins with it
    used |= {"charge_asked"}  # nothing is closed meanwhile
    assert used == set(Fact.__args__)  # type: ignore[attr-defined]


def test_nothing_is_so_of_a_visit_that_has_just_begun_but_what_is_taken_until_somebody_says_otherwise() -> None:
    assert facts(Place(), Course({}, set(), 0, 0, {})) == {
        "panel", "circuit", "dead_first", "cover_needed", "single_phase", "phases_unknown",
    }  # fmt: skip


def test_a_group_travels_in_one_message_and_comes_back_as_it_was() -> None:
    for group in checklists():
        payload = encode(group)
        assert len(payload) < 32 * 1024  # half of what a message may have
        assert encode(decode(payload, Checklist)) == payload


WHOLE = """
group = "Z"
title = "Try"
[[checks]]
word = "try"
place = "Z1"
title = "Try"
met = "Tried."
apprentice = "Try."
sources = [{ text = "Nowhere", known = "common practice" }]
choices = [{ name = "look", label = "Look", options = { good = "Good", bad = "Bad" } }]
texts = [{ name = "words", label = "Words" }]
steps = ["look"]
[[checks.figures]]
name = "volts"
label = "Volts"
quantity = "voltage"
per = { a = "A" }
channels = { a = ["line_voltage_ab"] }
[[rules.try]]
kind = "below"
figure = "volts"
limit = 3.0
[[rules.try]]
kind = "chosen"
choice = "look"
met = ["good"]
"""


CHOSEN = 'kind = "chosen"\nchoice = "look"\nmet = ["good"]'


def test_a_file_that_is_whole_is_read() -> None:
    file = read(WHOLE.encode(), "try")
    assert [check.word for check in file.checks] == ["try"]
    assert len(file.rules["try"]) == 2


@pytest.mark.parametrize(
    ("written", "instead", "told"),
    [
        ('quantity = "voltage"', 'quantity = "volt"', "volts is a volt, which is no kind of unit"),
        ("line_voltage_ab", "line_voltage_xy", "names no channel line_voltage_xy"),
        ("channels = { a =", "channels = { b =", "has channels for b, of which it is not taken"),
        ('steps = ["look"]', 'steps = ["leap"]', "leap is no step of the cautions"),
        ('steps = ["look"]', 'steps = ["look"]\nsteps_at = { look = "touch" }', "touch is no step of try"),
        ('steps = ["look"]', 'steps = ["look"]\nsteps_at = { amps = "look" }', "cautions stand at amps"),
        ('figure = "volts"', 'figure = "amps"', "amps is no figure of it"),
        ('met = ["good"]', 'met = ["fine"]', "fine is no option of look"),
        ("[[rules.try]]\nkind = \"chosen\"", "[[rules.other]]\nkind = \"chosen\"", "rules are given for other"),
        ('kind = "below"', 'kind = "guess"', "try.toml"),
        ('place = "Z1"', 'place = "A1"', "stands at A1, in group Z"),
        ('met = "Tried."', 'met = "Tried."\nmeet = "x"', "try.checks[1].meet is no key"),
        ('label = "Look"', 'label = "Look"\nwidth = 3', "try.toml"),
        ('limit = 3.0', 'limit = 3.0\ntrick = "luck"', "luck is no trick that has words"),
        ('texts = [{ name = "words"', 'texts = [{ name = "look"', "look stands twice"),
        ('known = "common practice"', 'known = "rumour"', "try.toml"),
        (CHOSEN, 'kind = "called"\nfunction = "luck"', "luck is no function"),
        (CHOSEN, 'kind = "given"\nnames = ["look"]', "look is no text of it"),
        ('label = "Look",', 'label = "Look", glance = "fine",', "fine is no option of look"),
        ('per = { a', 'needed_with = { look = ["good"] }\nper = { a', "volts is always needed"),
        ('per = { a', 'optional = true\nneeded_with = { look = ["fine"] }\nper = { a', "needed with fine of look"),
        ('per = { a', 'optional = true\nneeded_with = { amps = [] }\nper = { a', "volts is needed with amps of amps"),
        ('per = { a', 'optional = true\none_at_least = true\nper = { a', "volts is needed of one at least"),
        ('label = "Look",', 'label = "Look", glance = "good", usual = "good",', "look is usual, and needs no glance"),
    ],
)  # fmt: skip
def test_a_file_that_does_not_fit_together_is_refused_with_what_is_wrong(written: str, instead: str, told: str) -> None:
    assert written in WHOLE
    with pytest.raises(ChecklistError) as error:
        read(WHOLE.replace(written, instead).encode(), "try")
    assert "try.toml: " in str(error.value)
    assert told in str(error.value)


def test_nothing_is_said_at_a_glance_where_a_life_hangs_on_it() -> None:
    glance = WHOLE.replace('label = "Look",', 'label = "Look", glance = "good",')
    assert [check.choices[0].glance for check in read(glance.encode(), "try").checks] == ["good"]
    apart = glance.replace('met = "Tried."', 'met = "Tried."\napart = "panel"')
    with pytest.raises(ChecklistError, match="look is said at a glance, and a life hangs on try"):
        read(apart.encode(), "try")


def test_a_check_without_a_rule_is_refused() -> None:
    without = WHOLE.partition("[[rules")[0] + "[rules]\n"
    with pytest.raises(ChecklistError, match="try has no rules"):
        read(without.encode(), "try")


def test_another_language_is_laid_over_the_words_and_nothing_else() -> None:
    """Made up: every word backwards."""
    for group in checklists():
        backwards = {key: text[::-1] for key, text in words(group).items()}
        other = reworded(group, backwards)
        assert words(other) == backwards
        assert reworded(other, words(group)) == group
        assert [(it.word, it.steps, [figure.name for figure in it.figures]) for it in other.checks] == [
            (it.word, it.steps, [figure.name for figure in it.figures]) for it in group.checks
        ]


def test_every_text_that_people_read_is_among_the_words() -> None:
    group = checklists()[1]
    said = words(group)
    assert said["B.prove_dead.choices.3.options.no"] == "Elsewhere"
    assert said["B.prove_dead.figures.2.per.a_b"] == "L1 to L2"
    assert said["B.isolate.photographs.1"] == "Lock and tag on the disconnect"
    assert said["B.isolate.sources.1.text"] == "29 CFR 1910.147 and 1910.333(b)"
    assert said["B.isolate.texts.1.label"] == "Which disconnect"
    unread = {"multimeter_ac_voltage", "voltage", "prove_dead", "live_dead_live", "three_phase", "common practice"}
    assert not unread & {*said.values()}


def test_a_language_that_lacks_a_word_or_has_one_too_many_is_refused() -> None:
    group = checklists()[5]
    said = words(group)
    with pytest.raises(ChecklistError, match=r"F\.tag\.title has no words"):
        reworded(group, {key: text for key, text in said.items() if key != "F.tag.title"})
    with pytest.raises(ChecklistError, match=r"F\.tag\.colour is no key"):
        reworded(group, said | {"F.tag.colour": "red"})


def test_the_files_of_the_folder_are_those_that_are_read() -> None:
    there = {path.name for path in files("ingest.visit").joinpath("checks").iterdir()}
    assert there == {f"{name}.toml" for name in GROUPS}


MEASURED = {"prove_dead", "discharge", "start", "opened"}
"""What is dead, empty, live or tight is measured, and never as usual."""
OWN_TOUCH = {"isolate": "dead_first", "what_is_in_it": "flammable", "close_panel": "cover_needed"}
"""What is locked, what burns, and what covers live parts: never one line of several (common practice, no source)."""
THOUGHT_ABOUT = {
    ("what_is_in_it", "cylinder"), ("connections", "found"), ("moving", "panel_closed"), ("readings_before", "settled"),
    ("handover", "complaint"), ("handover", "left"), ("cause", "cause"), ("air", "condition"),
    ("air", "dampers"), ("air", "stages"), ("air", "coil"), ("look_first", "bypassed"), ("leaks", "by"),
    ("leaks", "oil"), ("leaks", "caps_and_cores"), ("leaks", "joints"), ("leaks", "coil_ends"),
    ("conductor", "pull"), ("contactor", "travel"),
    ("what_is_in_it", "area_checked"), ("what_is_in_it", "ventilated"), ("what_is_in_it", "no_ignition"),
    ("what_is_in_it", "extinguisher"), ("what_is_in_it", "rated_tools"),
    ("close_panel", "earthed"), ("close_panel", "cover"), ("close_panel", "inside"), ("close_panel", "screws_back"),
    ("moving", "hose"),
}  # fmt: skip
"""No answer to these is usual (common practice, no source): nor of what no photograph shows."""


def test_one_look_finds_only_what_stands_beside_each_other_at_the_unit() -> None:
    seen = {(word, it.name): it.glance for word, one in guided().items() for it in one.check.choices if it.glance}
    assert seen == {("air", "dampers"): "closed", ("air", "stages"): "all", ("air", "coil"): "dry"}
    assert not {word for word, _ in seen} & (MEASURED | OWN_TOUCH.keys())


def test_one_touch_answers_only_what_was_looked_at_and_never_what_is_measured() -> None:
    usual = {
        (word, choice.name): choice.usual
        for word, one in guided().items()
        for choice in one.check.choices
        if choice.usual
    }
    assert not {word for word, _ in usual} & MEASURED
    assert not usual.keys() & THOUGHT_ABOUT
    assert usual["as_it_was", "power"] == "throughout"  # whose lock it was, and who took it off, is never usual
    words = {(word, text.name) for word, one in guided().items() for text in one.check.texts if text.usual}
    assert ("handover", "owner") not in words  # nobody has told them anything before anything is opened
    assert {word: one.check.apart for word, one in guided().items() if one.check.apart} == OWN_TOUCH
    in_making_dead = {word for word, _ in usual if guided()[word].check.place.startswith("B")}
    assert in_making_dead <= OWN_TOUCH.keys()
    for (word, name), option in usual.items():
        rules = [rule for rule in guided()[word].rules if isinstance(rule, Chosen) and rule.choice == name]
        assert all(option in rule.met for rule in rules), (word, name)  # it is as it should be, or nothing hangs on it


def test_only_what_is_of_one_place_is_taken_from_the_link_by_itself() -> None:
    """A multimeter's leads may lie anywhere; what was at rest, before or after is not what stands there now."""
    live = {(word, it.name) for word, one in guided().items() for it in one.check.figures if it.live}
    assert ("probes_on", "pressure") in live
    assert not {word for word, _ in live} & {"prove_dead", "discharge", "supply", "capacitor_measured", "joint_drop"}
    text = files("ingest.visit").joinpath("checks", "d_electrical_live.toml").read_text(encoding="utf-8")
    coil = 'label = "Coil volts"\nquantity = "voltage"\n'
    with pytest.raises(ChecklistError, match="coil_volts is live, and a multimeter's leads may lie anywhere"):
        read(text.replace(coil, f"{coil}live = true\n").encode(), "d_electrical_live")


def test_a_usual_option_that_is_none_of_the_choice_is_refused() -> None:
    text = files("ingest.visit").joinpath("checks", "f_closing.toml").read_text(encoding="utf-8")
    with pytest.raises(ChecklistError, match="as_it_was: everything is no option of tools"):
        read(text.replace('usual = "all"', 'usual = "everything"').encode(), "f_closing")


def test_the_amps_of_a_capacitors_lead_are_no_motors_amps() -> None:
    (amps,) = (figure for figure in guided()["capacitor_under_load"].check.figures if figure.name == "amps")
    assert not amps.channels


@pytest.mark.parametrize(
    ("word", "values", "choices", "lacks"),
    [
        ("connections", {}, {"torque_by": "table"}, {"gauge", "slot", "torque"}),
        ("connections", {}, {"torque_by": "marked"}, {"marked", "torque"}),
        ("connections", {}, {"torque_by": "feel"}, set()),
        ("replacement", {"old_label.herm": 45e-6}, {}, {"new_label.herm", "measured.herm"}),
        ("replacement", {"old_label.herm": 45e-6, "old_label.fan": 5e-6}, {},
         {"new_label.herm", "new_label.fan", "measured.herm", "measured.fan"}),
        ("replacement", {}, {}, {"old_label.herm", "old_label.fan"}),
    ],
)  # fmt: skip
def test_what_a_rule_cannot_do_without_is_said_to_be_needed(
    word: str, values: dict[str, float], choices: dict[str, str], lacks: set[str]
) -> None:
    """What the rules cannot tell without (test_rules.py): the page names it before it is recorded."""
    check, needed = guided()[word].check, set()
    for it in (*check.figures, *check.choices):
        for of in getattr(it, "per", {}) or ("",):
            name = f"{it.name}.{of}" if of else it.name
            beside = {f"{other}.{of}" if of else other: said for other, said in it.needed_with.items()}
            if any(choices.get(other) in said if said else other in values for other, said in beside.items()):
                needed.add(name)
            if getattr(it, "one_at_least", False) and not any(f"{it.name}.{each}" in values for each in it.per):
                needed.add(name)
    assert needed == lacks
