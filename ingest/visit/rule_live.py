"""Rules of the checks that are made while it runs: supply, amps, joints, a capacitor under load."""

import math

from calc.errors import CalcRangeError
from calc.estimate import Estimate
from calc.expected_current import Conditions, current_by_nameplate
from calc.motor import capacitance_under_load as under_load
from calc.motor import supply_limits, unbalance
from calc.motor.current_trace import LONGEST_START_S
from calc.motor.supply import (
    CURRENT_UNBALANCE_LIMIT_RATIO,
    GREATEST_UNBALANCE_RATIO,
    VOLTAGE_UNBALANCE_LIMIT_RATIO,
    is_single_phasing,
)
from calc.sentences import Sentence, reading, text
from calc.start_diagnosis import START_SAG_SHARE
from calc.uncertainty import propagate
from calc.wiring import joint
from calc.wiring.terminal import SUSPECT_DROP_V
from ingest.visit.answers import AnswerError, Answers, Verdict, held_against, lacking, missing, worst
from ingest.visit.rule_dead import capacitance

RUNNING_SHARE = 0.1
"""Of its rated current: a motor that draws less is off. Common practice, no source."""
STOP_RATIO = 1.4
"""Of RLA: from memory."""
FAR_BELOW_RATIO = 0.5
"""Of RLA: a light load, low charge, leaking valves, or it turns backwards. Common practice, no source."""
SAG_SHARE = 0.05
"""From rest to running: an informational note of the NEC, from memory."""
STANDS_OUT_RATIO, STANDS_OUT_V = 2.0, 0.02
"""Against the mean of the other legs, and at all: common practice, no source."""


def compressor_runs(answers: Answers, trick: str) -> Verdict:
    """Tell whether the compressor draws what one that runs does."""
    if answers.before.runs is False and answers.choices.get("contactor") == "in":
        return Verdict("not_met", Sentence("finding.rig_rests"))
    found, rated_a = answers.values.get("compressor"), _rated_a(answers, "compressor")
    if found is None or rated_a is None:
        return missing("Compressor amps" if found is None else "RLA on the nameplate")
    what = answers.label("compressor")
    return held_against(found, RUNNING_SHARE * rated_a, math.inf, what=what, kind="current", trick=trick)


def supply_within(answers: Answers, trick: str) -> Verdict:
    """Hold each pair's volts, running, against the nameplate's."""
    low, high = answers.number("nameplate.low"), answers.number("nameplate.high")
    if low is None:
        return missing(answers.label("nameplate.low"))
    least_v, most_v = supply_limits(low, high)
    told = [
        held_against(value, least_v, most_v, what=answers.label(name), kind="voltage", trick=trick)
        for name, value in answers.of("running").items()
    ]
    return lacking(told, answers.missing_of("running"))


def supply_balance(answers: Answers, trick: str) -> Verdict:
    """Tell whether the three pairs are balanced, and whether so badly that it is not to run."""
    return _balance(answers, "running", VOLTAGE_UNBALANCE_LIMIT_RATIO, "Unbalance of the three pairs", trick)


def supply_sag(answers: Answers, trick: str) -> Verdict:
    """Tell how far each pair falls from rest to running."""
    lacks = [*answers.missing_of("rest"), *answers.missing_of("running")]
    if lacks:
        return missing(", ".join(lacks))
    told = []
    for name, rest in answers.of("rest").items():
        running = answers.values.get(name.replace("rest", "running"))
        if running is None:
            raise AnswerError(f"values: {name} is given, and the same pair running is not")
        if rest.value <= 0:
            raise AnswerError(f"values: {name} is {rest.value:g} V at rest: more than nothing was expected")
        share = running.value / rest.value
        spread = math.hypot(running.standard_uncertainty, share * rest.standard_uncertainty) / rest.value
        what = f"{answers.label(name)}, fall"
        told.append(
            held_against(Estimate(1 - share, spread), -math.inf, SAG_SHARE, what=what, kind="ratio", trick=trick)
        )
    return worst(told) or missing("Volts")


def time_to_speed(answers: Answers, trick: str) -> Verdict:
    """Tell whether it came up to speed in time; where the record was too slow to see it, nobody is asked for it."""
    found, label = answers.values.get("to_speed"), answers.label("to_speed")
    if found is not None:
        return held_against(found, -math.inf, LONGEST_START_S, what=label, kind="time", trick=trick, closed=False)
    if answers.choices.get("caught") == "not_seen":
        return Verdict("cannot_tell", Sentence("finding.too_fast_to_see"))
    return missing(label)


def start_sag(answers: Answers, trick: str) -> Verdict:
    """Tell how far the volts fall while it starts, as a share of those before: as far as the record shows it."""
    rest, sag = answers.values.get("rest"), answers.values.get("sag")
    if rest is None or sag is None:
        return missing(answers.label("rest" if rest is None else "sag"))
    if rest.value <= 0:
        raise AnswerError(f"values: rest is {rest.value:g} V before it: more than nothing was expected")
    share = sag.value / rest.value
    spread = math.hypot(sag.standard_uncertainty, share * rest.standard_uncertainty) / rest.value
    what = answers.label("sag")
    return held_against(Estimate(share, spread), -math.inf, START_SAG_SHARE, what=what, kind="ratio", trick=trick)


def amps_against_plate(answers: Answers, trick: str) -> Verdict:
    """Hold a motor's amps against its plate: FLA is a fan's limit, RLA is none."""
    motor = answers.choices.get("motor")
    if motor is None:
        return missing("Motor")
    rated_a = _rated_a(answers, motor)
    if rated_a is None:
        return missing("RLA or FLA on the nameplate")
    told = []
    for name, drawn in answers.of("amps").items():
        found, what = _of_one_turn(answers, drawn), answers.label(name)
        if motor == "compressor":
            told.append(_against_rla(found, rated_a, answers, what, trick))
        else:
            told.append(held_against(found, -math.inf, rated_a, what=what, kind="current", trick=trick, closed=False))
    return lacking(told, answers.missing_of("amps"))


def _against_rla(found: Estimate, rated_a: float, answers: Answers, what: str, trick: str) -> Verdict:
    parts = (
        text("what", what),
        reading("found", found.value, found.expanded(), "current"),
        reading("rated", rated_a, None, "current"),
    )
    stop = held_against(found, STOP_RATIO * rated_a, math.inf, what=what, kind="current", trick=trick)
    if stop.told == "met":
        return Verdict("not_met", Sentence("finding.far_above_rla", parts))
    below = held_against(found, -math.inf, rated_a, what=what, kind="current", trick=trick)
    if below.told != "met":
        return Verdict("cannot_tell", Sentence("finding.above_rla", parts))
    if held_against(found, FAR_BELOW_RATIO * rated_a, math.inf, what=what, kind="current", trick=trick).told != "met":
        return Verdict("cannot_tell", Sentence("finding.far_below_rla", parts))
    expected = _expected(answers, rated_a)
    if expected is None:
        return Verdict("met", Sentence("finding.below_rla", parts))  # RLA is no limit, so it is not told as one
    beside = (*parts, reading("expected", expected.value, expected.expanded(), "current"))
    off = 2 * math.hypot(found.standard_uncertainty, expected.standard_uncertainty)
    if abs(found.value - expected.value) <= off:
        return Verdict("met", Sentence("finding.amps_as_expected", beside))
    way = "above" if found.value > expected.value else "below"
    return Verdict("cannot_tell", Sentence(f"finding.amps_{way}_expected", beside))


def _expected(answers: Answers, rated_a: float) -> Estimate | None:
    """Say what the conditions let expect; None where one of them was not read, or is beyond what can be said."""
    read = [answers.number(name) for name in ("wet_bulb", "outdoor", "volts")]
    known, nameplate_v = [each for each in read if each is not None], answers.number("nameplate")
    if len(known) < len(read) or nameplate_v is None:
        return None
    try:
        return current_by_nameplate(rated_a, now=Conditions(*known), nameplate_v=nameplate_v)
    except CalcRangeError:  # weather or volts of which nothing is known: then nothing is expected
        return None


def amps_balance(answers: Answers, trick: str) -> Verdict:
    """Tell whether the three legs draw alike; one that draws next to nothing is told first."""
    drawn = [value.value for value in answers.of("amps").values()]
    if not answers.missing_of("amps") and is_single_phasing(drawn):
        return Verdict("not_met", Sentence("finding.single_phasing"))
    return _balance(answers, "amps", CURRENT_UNBALANCE_LIMIT_RATIO, "Unbalance of the three legs", trick)


def _balance(answers: Answers, figure: str, limit: float, what: str, trick: str) -> Verdict:
    lacks, three = answers.missing_of(figure), answers.of(figure)
    if lacks or len(three) != 3:
        return missing(", ".join(lacks) or what)
    budget = propagate(
        unbalance,
        dict(zip(("first", "second", "third"), three.values(), strict=True)),
    )
    found = Estimate(budget.value, math.hypot(*budget.contributions.values()))
    far = held_against(found, GREATEST_UNBALANCE_RATIO, math.inf, what=what, kind="ratio", trick=trick)
    if figure == "running" and far.told == "met":
        parts = (text("what", what), reading("found", 100 * found.value, 100 * found.expanded(), "percentage"))
        return Verdict("not_met", Sentence("finding.do_not_run", parts))
    return held_against(found, -math.inf, limit, what=what, kind="ratio", trick=trick)


def capacitance_under_load(answers: Answers, trick: str) -> Verdict:
    """Judge a section by the amps into it and the volts across it."""
    names = ("amps", "volts", "hertz", "label")
    lacks = [answers.label(name) for name in names if name not in answers.values]
    if lacks:
        return missing(", ".join(lacks))
    amps, volts = _of_one_turn(answers, answers.values["amps"]), answers.values["volts"]
    found = under_load(
        amps.value,
        volts.value,
        frequency_hz=answers.values["hertz"].value,
        current_standard_uncertainty_a=amps.standard_uncertainty,
        voltage_standard_uncertainty_v=volts.standard_uncertainty,
    )
    label_f = answers.values["label"].value
    return capacitance(found, label_f, answers.number("tolerance"), what="Under load", trick=trick)


def joints(answers: Answers, trick: str) -> Verdict:
    """Tell what joints drop, and of the worst its milliohms and the heat that it makes."""
    amps = answers.values.get("amps")
    lacks = [*(answers.missing_of("drop") if "drop.a" not in answers.values else []), *answers.missing_of("amps")]
    if lacks or amps is None:
        return missing(", ".join(lacks))
    told = drops(answers, trick)
    if told.told == "met" and "three_phase" in answers.facts:
        told = lacking([told], answers.missing_of("drop"))  # another lead may be the loose one
    if told.told == "cannot_tell":
        return told
    name, drop = max(answers.of("drop").items(), key=lambda item: item[1].value)
    found = joint(
        drop.value,
        amps.value,
        drop_standard_uncertainty_v=drop.standard_uncertainty,
        current_standard_uncertainty_a=amps.standard_uncertainty,
    )
    parts = (
        text("what", answers.label(name)),
        reading("found", drop.value, drop.expanded(), "voltage"),
        reading("milliohm", 1e3 * found.resistance.value, 1e3 * found.resistance.expanded(), ""),
        reading("heat", found.heat.value, found.heat.expanded(), "electric_power"),
    )
    return Verdict(told.told, Sentence(f"finding.joint_{told.told}", parts))


def poles_alike(answers: Answers, trick: str) -> Verdict:
    """Tell what the poles of a contactor drop."""
    return drops(answers, trick) if answers.of("drop") else missing(", ".join(answers.missing_of("drop")))


def drops(answers: Answers, trick: str) -> Verdict:
    """Tell whether like joints drop alike, and none too much."""
    found = answers.of("drop")
    told = [
        held_against(value, -math.inf, SUSPECT_DROP_V, what=answers.label(name), kind="voltage", trick=trick)
        for name, value in found.items()
    ]
    for name, value in found.items():
        others = [each for other, each in found.items() if other != name]
        if not others:
            continue
        mean_v = sum(each.value for each in others) / len(others)
        spread_v = math.hypot(*(each.standard_uncertainty for each in others)) / len(others)
        over = Estimate(
            value.value - STANDS_OUT_RATIO * mean_v, math.hypot(value.standard_uncertainty, STANDS_OUT_RATIO * spread_v)
        )
        if over.value > over.expanded() and value.value > STANDS_OUT_V:
            parts = (text("what", answers.label(name)), reading("found", value.value, value.expanded(), "voltage"))
            told.append(Verdict("not_met", Sentence("finding.stands_out", parts)))
    return worst(told) or missing("Volts across it")


def _rated_a(answers: Answers, motor: str) -> float | None:
    unit = answers.unit
    plate = {
        "compressor": unit.compressor_rla_a,
        "condenser_fan": unit.condenser_fan_fla_a,
        "blower": unit.blower_fla_a,
    }
    given = answers.number("rated")
    return plate.get(motor) if given is None else given


def _of_one_turn(answers: Answers, drawn: Estimate) -> Estimate:
    """Divide what a clamp read by the turns of the lead through its jaw, and its ± as well."""
    turns = answers.number("turns")
    if turns is None:
        return drawn
    return Estimate(drawn.value / turns, drawn.standard_uncertainty / turns)
