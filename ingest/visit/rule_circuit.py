"""Rules of the checks of the unit, its refrigerant circuit, and of closing."""

import math

from calc.comparing import Met, compare
from calc.estimate import Estimate
from calc.governing import governing_figure
from calc.judge.after_move import least_wait_s
from calc.judge.alike import apart
from calc.leaked_air import flammable_share
from calc.nitrogen import NOTICEABLE_LOSS_PA, nitrogen_test
from calc.nitrogen import Finding as Nitrogen
from calc.pattern import TOLD_FROM
from calc.sentences import Part, Sentence, reading, term, text
from calc.settling import RULE
from ingest.visit.answers import CONFIDENCE, AnswerError, Answers, Verdict, held_against, missing
from ingest.visit.rule_rig import pressing

CHARGE_SHARE = 0.02
"""How far what was weighed in may be off what is due: common practice, no source."""
SECOND_ADDITION = 2
QUARTER = 0.25
"""Of the lower flammable limit: servicing clauses after IEC 60335-2-40."""


def which_unit(answers: Answers, trick: str) -> Verdict:
    """Tell whether the unit is known: by its tag, seen in a photograph, or by a pattern of its fan."""
    told_by = answers.choices.get("told_by")
    if told_by is None:
        return missing("How it was told")
    choice = answers.check.choices[0]
    said = Sentence("finding.chosen", (text("what", choice.label), text("chosen", choice.options[told_by])))
    if told_by == "tag":
        return (
            Verdict("met", said) if answers.photographs and "tag" in answers.choices else missing("Tag, photographed")
        )
    if told_by != "pattern":
        return Verdict("cannot_tell", said)
    found = answers.values.get("probability")
    if found is None:
        return missing(answers.label("probability"))
    told = held_against(found, TOLD_FROM, 1.0, what=answers.label("probability"), kind="ratio", trick=trick)
    return told if told.told == "met" else Verdict("cannot_tell", told.says)


def look_first(answers: Answers, _: str) -> Verdict:
    """Tell whether what explains the complaint by itself is repaired."""
    found = answers.choices.get("found")
    if found is None:
        return missing("What was found")
    choice = answers.check.choices[0]
    said = Sentence("finding.chosen", (text("what", choice.label), text("chosen", choice.options[found])))
    is_open = found == "explains" and answers.choices.get("repaired") != "yes"
    return Verdict("not_met" if is_open else "met", said)


def nothing_open_of_the_first_look(answers: Answers, _: str) -> Verdict:
    """Tell whether the first look left nothing open."""
    match answers.before.outcomes.get("look_first"):
        case "met":
            return Verdict("met")
        case "not_met":
            return Verdict("not_met", Sentence("finding.open_before", (text("what", "Look first"),)))
    return missing("Look first")


def pressures_agree(answers: Answers, trick: str) -> Verdict:
    """Tell whether both pressures are one at rest, or suction is below liquid while it runs."""
    runs = answers.choices.get("unit_is")
    lacks = answers.missing_of("pressure")
    if runs is None or lacks:
        return missing(", ".join(lacks) or "The unit")
    if runs == "runs" and answers.before.runs is False:
        return Verdict("not_met", Sentence("finding.rig_rests"))
    suction, liquid = answers.values["pressure.suction"], answers.values["pressure.liquid"]
    apart = Estimate(
        liquid.value - suction.value, math.hypot(liquid.standard_uncertainty, suction.standard_uncertainty)
    )
    if runs == "runs":
        what = "Liquid over suction"
        return held_against(apart, 0.0, math.inf, what=what, kind="pressure_swing", trick=trick)
    parts = (
        text("what", "The two pressures at rest"),
        reading("found", apart.value, apart.expanded(), "pressure_swing"),
    )
    if any(each.value - each.expanded() <= answers.before.site_pa for each in (suction, liquid)):
        return Verdict("not_met", Sentence("finding.open_hoses"))  # two hoses in open air agree, too
    agree = abs(apart.value) <= apart.expanded()
    return Verdict("met" if agree else "not_met", Sentence("finding.agree" if agree else "finding.apart", parts))


def a_figure_is_there(answers: Answers, _: str) -> Verdict:
    """Tell whether superheat or subcooling was kept."""
    known = {"superheat", "subcooling"} & answers.values.keys()
    return Verdict("met") if known else missing("Superheat or subcooling")


def settled_by_the_judge(answers: Answers, _: str) -> Verdict:
    """Tell whether the figure that shows the charge has settled, where the rig reads it, whatever was said.

    It may look anew at what it proposes itself as settled: what still reads the same, by its own rule, has. What is
    said otherwise than it reads is not what has settled.
    """
    figure, before = governing_figure(answers.unit.metering_device), answers.before
    found, read = answers.values.get(figure), before.read.get(figure)
    if found is not None and read is not None and not _reads_so(found, read):
        parts = (
            term("figure", figure),
            reading("found", found.value, None, "temperature_difference"),
            reading("read", read.value, None, "temperature_difference"),
        )
        return Verdict("not_met", Sentence("finding.not_as_read", parts))
    if figure not in before.unsettled or _stands_still(found, before.stood.get(figure)):
        return Verdict("met")
    why = before.unsettled[figure]
    said = (*why.parts, term("figure", figure), Part("why", "sentence", terms=(why.kind,)))
    return Verdict("not_met", Sentence("finding.not_settled", said))


def _reads_so(found: Estimate, read: Estimate) -> bool:
    """Tell whether a figure is what the rig reads, within twice the scatter of what has settled and what both are off.

    read: of what was taken from the rig itself its uncertainty is nothing, for both are off alike.
    """
    off_k = 2 * math.hypot(found.standard_uncertainty, read.standard_uncertainty) if read.standard_uncertainty else 0.0
    return abs(found.value - read.value) <= 2 * RULE.deviation_limit_k + off_k


def _stands_still(found: Estimate | None, stood_dk: float | None) -> bool:
    """Tell whether a figure is where it stood, within twice the scatter of what has settled."""
    return found is not None and stood_dk is not None and abs(found.value - stood_dk) <= 2 * RULE.deviation_limit_k


def conditions_as_said(answers: Answers, _: str) -> Verdict:
    """Tell whether the air is as it was before, where that is said and both were read: else the difference is told."""
    differs = apart(answers.before.was, {name: it.value for name, it in answers.values.items()})
    if answers.choices.get("conditions") != "same" or not differs:
        return Verdict("met")
    name = differs[0]
    parts = (
        text("what", answers.label(name)),
        reading("was", answers.before.was[name], None, "temperature"),
        reading("found", answers.values[name].value, None, "temperature"),
    )
    return Verdict("cannot_tell", Sentence("finding.conditions_differ", parts))


def waited_after_the_move(answers: Answers, trick: str) -> Verdict:
    """Tell whether it was waited as long as the maker asks, and a protocol that is claimed; else settled is enough."""
    claimed = answers.choices.get("claimed", "none")
    protocol = "" if claimed == "none" else claimed
    least_s = least_wait_s(maker_s=answers.number("maker_wait"), protocol=protocol)
    found, label = answers.values.get("since_move"), answers.label("since_move")
    if found is None:
        return missing(label) if least_s else Verdict("met")
    return held_against(found, least_s, math.inf, what=label, kind="time", trick=trick)


def ledger_below_the_nameplate(answers: Answers, _: str) -> Verdict:
    """Tell whether what was moved comes to no more than the nameplate's charge."""
    plate_kg = answers.unit.nameplate_charge_kg
    if plate_kg is None:
        return missing("Charge on the nameplate")
    parts = (
        text("what", "What the moves come to"),
        reading("found", answers.before.net_kg, None, "mass"),
        reading("high", plate_kg, None, "mass"),
    )
    over = answers.before.net_kg > plate_kg
    return Verdict("not_met", Sentence("finding.over_the_plate", parts)) if over else Verdict("met")


def nothing_that_burns_is_purged(answers: Answers, _: str) -> Verdict:
    """Tell that a hose was purged with what burns: it goes into the room (servicing clauses after IEC 60335-2-40)."""
    is_purged = answers.choices.get("hose") == "purged"
    return Verdict("not_met", Sentence("finding.purged_what_burns")) if is_purged else Verdict("met")


def liquid_side_at_rest(answers: Answers, _: str) -> Verdict:
    """Tell that it is charged on its liquid side while it runs (`guards.liquid_side_runs`); taken out it may be so."""
    before = answers.before
    is_so = answers.choices.get("port") == "liquid_side" and before.runs is True and before.net_kg >= 0.0
    return Verdict("not_met", Sentence("guard.liquid_side_runs")) if is_so else Verdict("met")


def cores_without_probes(answers: Answers, _: str) -> Verdict:
    """Tell that cores are said to be tight which the probes are still on: nobody sees those (common practice).

    By what was recorded, or by the reading: what presses at a probe, it is on.
    """
    outcomes = answers.before.outcomes
    under = outcomes.get("probes_on", "skipped") != "skipped" and outcomes.get("probes_off", "skipped") == "skipped"
    under = under or bool(pressing(answers.before.rig, answers.before.site_pa))
    if answers.choices.get("caps_and_cores") == "tight" and under:
        return Verdict("cannot_tell", Sentence("finding.cores_under_probes"))
    return Verdict("met")


def not_added_twice(answers: Answers, _: str) -> Verdict:
    """Tell that a circuit was added to a second time, and no leak was found."""
    places = ("caps_and_cores", "joints", "coil_ends")
    is_found = any(answers.choices.get(place) == "leak" for place in places)
    if answers.before.additions >= SECOND_ADDITION and not is_found:
        return Verdict("not_met", Sentence("finding.second_addition"))
    return Verdict("met")


def air_is_far_from_burning(answers: Answers, _: str) -> Verdict:
    """Hold the refrigerant in the air below a quarter of the lower flammable limit, of those known the lowest.

    A share of the air is the same wherever the air is thin.
    """
    share = flammable_share(answers.unit.refrigerant)
    found, label = answers.values.get("in_air"), answers.label("in_air")
    if found is None or share is None:
        return missing(label)
    return held_against(
        found, -math.inf, QUARTER * share, what=label, kind="concentration", trick="finer_meter", closed=False
    )


def nitrogen_held(answers: Answers, trick: str) -> Verdict:
    """Judge the standing pressure test, and hold it below what the plate allows."""
    lacks = [*answers.missing_of("nitrogen"), *answers.missing_of("pipe"), *answers.missing_of("plate_limit")]
    if lacks:
        return missing(", ".join(lacks))
    start, end = answers.values["nitrogen.start"], answers.values["nitrogen.end"]
    plate_pa = answers.values["plate_limit"].value
    for name, value in answers.of("nitrogen").items():
        over = held_against(value, -math.inf, plate_pa, what=answers.label(name), kind="pressure", trick=trick)
        if over.told == "not_met":
            return over
    pipes = answers.values["pipe.start"], answers.values["pipe.end"]
    found = nitrogen_test(
        start.value,
        end.value,
        start_temperature_k=pipes[0].value,
        end_temperature_k=pipes[1].value,
        pressure_standard_uncertainty_pa=max(start.standard_uncertainty, end.standard_uncertainty),
        temperature_standard_uncertainty_k=max(each.standard_uncertainty for each in pipes),
    )
    parts = (
        term("state", f"nitrogen {found.finding}"),
        text("what", "Pressure test"),
        reading("expected", found.expected.value, found.expected.expanded(), "pressure"),
        reading("lost", found.loss.value, found.loss.expanded(), "pressure_swing"),
    )
    said = Sentence("finding.nitrogen", parts)
    if found.finding is Nitrogen.LEAK:
        return Verdict("not_met", said)
    ruled_out = isinstance(compare(found.loss, -math.inf, NOTICEABLE_LOSS_PA, confidence=CONFIDENCE), Met)
    if found.finding is Nitrogen.HELD and ruled_out:
        return Verdict("met", said)
    unknown = Sentence("finding.nitrogen", (term("state", "nitrogen cannot tell"), *parts[1:]))
    return Verdict("cannot_tell", unknown if found.finding is Nitrogen.HELD else said)


def weighed_in(answers: Answers, trick: str) -> Verdict:
    """Hold what was weighed in against what is due."""
    found, due = answers.values.get("weighed_in"), answers.values.get("charge_due")
    if found is None or due is None:
        return missing(", ".join([*answers.missing_of("weighed_in"), *answers.missing_of("charge_due")]))
    if due.value <= 0:
        raise AnswerError("values: charge_due is nothing: the nameplate's charge and what the lines hold was expected")
    spread = math.hypot(found.standard_uncertainty, due.standard_uncertainty) / due.value
    share = Estimate(found.value / due.value, spread)
    what = f"{answers.label('weighed_in')}, as a share of what is due"
    return held_against(share, 1 - CHARGE_SHARE, 1 + CHARGE_SHARE, what=what, kind="ratio", trick=trick)
