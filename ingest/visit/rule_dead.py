"""Rules of the checks that are made while it is dead: live-dead-live, capacitors, windings, conductors, screws."""

import math

from calc.comparing import Met, NotMet, compare
from calc.elementwise import within
from calc.estimate import Estimate
from calc.motor import Condition, Winding, WindingState, capacitor_verdict, insulation_verdict, winding_check
from calc.motor.capacitor import USUAL_TOLERANCE_RATIO
from calc.motor.supply import DEAD_V, LIVE_V
from calc.sentences import Part, Sentence, count, reading, term, text
from calc.wiring import Fit, Slot, ampacity, terminal_fit, torque
from ingest.visit.answers import (
    CONFIDENCE,
    AnswerError,
    Answers,
    Verdict,
    find_figure,
    held_against,
    lacking,
    missing,
    worst,
)
from ingest.visit.cover import COVER, NEVER_OFF

EMPTY_BELOW_V = 5.0
GOES_NEXT_SHARE = 0.05
"""Of the label, lost since the last reading of the same can. All of these: common practice, no source."""
OPEN_FROM_OHM = 1e6
"""A winding that reads so much is open: a meter shows no number then."""
WINDING_SHARE = 0.05
TORQUE_SHARE = 0.10
"""How far a torque as left may be off the one that is due. Both: common practice, no source."""
_BESIDE_THE_PAIRS = ("load_side", "control")
"""What must be dead too, and is no pair of the line side: a contactor that is open leaves its load side dead."""
LITTLE_OHM = 0.5
_SAME_SHARE = 0.01
_COLUMN_C = 60
"""Where no rating is known: the lowest column (NEC 110.14(C), for up to 100 A)."""


def live_dead_live(answers: Answers, trick: str) -> Verdict:
    """Count the pairs on which live-dead-live was seen, and name what is missing. It never says safe."""
    volts = {name: _size(value) for name, value in answers.of("volts").items()}
    volts |= {name: _size(answers.values[name]) for name in _BESIDE_THE_PAIRS if name in answers.values}
    for name, value in volts.items():
        live = held_against(value, LIVE_V, math.inf, what=answers.label(name), kind="voltage", trick=trick)
        if live.told == "met":
            return Verdict("not_met", Sentence("finding.live", _reads(answers, name, value)))
    if answers.choices.get("tester_kind") == "non_contact":
        return Verdict("cannot_tell", Sentence("finding.non_contact"), lacks=True)
    dead = {
        name
        for name, value in volts.items()
        if held_against(value, -math.inf, DEAD_V, what="", kind="voltage", trick=trick, closed=False).told == "met"
    }
    for name, value in volts.items():
        if name not in dead:
            return Verdict("cannot_tell", Sentence("finding.some_volts", _reads(answers, name, value)))
    pairs = [name for name in volts if name not in _BESIDE_THE_PAIRS]
    counted = (count("count", len(pairs)), count("of", len(pairs) + len(answers.missing_of("volts"))))
    lacks = _not_yet(answers)
    if lacks:
        return Verdict(
            "cannot_tell",
            Sentence("finding.live_dead_live_missing", (*counted, text("what", ", ".join(lacks)))),
            lacks=True,
        )
    return Verdict("met", Sentence("finding.live_dead_live", counted))


def _not_yet(answers: Answers) -> list[str]:
    """Name what live-dead-live still lacks."""
    lacks = []
    for name in ("source_before", "source_after"):
        seen = answers.values.get(name)
        told = seen and held_against(_size(seen), LIVE_V, math.inf, what="", kind="voltage", trick="finer_meter").told
        if told != "met":
            lacks.append(find_figure(answers.check, name)[0].label)
    lacks += [*answers.missing_of("volts"), *answers.missing_of("control")]
    for choice in answers.check.choices:
        if choice.only and choice.only not in answers.facts:
            continue
        chosen = answers.choices.get(choice.name)
        if chosen is None or (choice.name == "at_place_of_work" and chosen != "yes"):
            lacks.append(choice.label)
    return lacks


def discharged(answers: Answers, trick: str) -> Verdict:
    """Tell whether every pair of a capacitor is empty: of a single one its pair, whichever it is; of a dual one all."""
    sections = answers.choices.get("sections")
    if sections is None:
        return missing("Sections")
    names = [f"volts.{pair}" for pair in ("herm_common", "fan_common", "herm_fan")]
    lacks = [answers.label(name) for name in names if name not in answers.values]
    if sections == "single":
        lacks = [] if answers.of("volts") else lacks[:1]
    told = [
        held_against(
            _size(value), -math.inf, EMPTY_BELOW_V, what=answers.label(name), kind="voltage", trick=trick, closed=False
        )
        for name, value in answers.of("volts").items()
    ]
    return lacking(told, lacks)


def capacitor_sections(answers: Answers, trick: str) -> Verdict:
    """Judge each section against its label; the worse one decides. Met may still say that it goes next."""
    sections = {"herm": ("herm",), "fan": ("fan",), "dual": ("herm", "fan")}.get(answers.choices.get("sections", ""))
    if sections is None:
        return missing("Sections")
    return _sections(answers, "label", sections, trick)


def _sections(answers: Answers, label: str, sections: tuple[str, ...], trick: str) -> Verdict:
    told = []
    for section in sections:
        names = (f"measured.{section}", f"{label}.{section}")
        lacks = [answers.label(name) for name in names if name not in answers.values]
        if lacks:
            told.append(missing(", ".join(lacks)))
            continue
        told.append(
            capacitance(
                answers.values[names[0]],
                answers.values[names[1]].value,
                answers.number("tolerance"),
                what=answers.label(names[0]),
                trick=trick,
                earlier=answers.values.get(f"earlier.{section}"),
            )
        )
    return worst(sorted(told, key=_loss_first)) or missing("Measured")


_LOSSES = ("finding.goes_next", "finding.may_go_next")


def _loss_first(told: Verdict) -> int:
    """Put a section that goes next before others, and one of which that cannot be told: all of them are met."""
    kind = told.says.kind if told.says else ""
    return _LOSSES.index(kind) if kind in _LOSSES else len(_LOSSES)


def capacitance(
    measured: Estimate,
    label_f: float,
    tolerance_ratio: float | None,
    *,
    what: str,
    trick: str,
    earlier: Estimate | None = None,
) -> Verdict:
    """Judge one section of a capacitor, cold or under load. earlier: the last reading of the same can."""
    tolerance = USUAL_TOLERANCE_RATIO if tolerance_ratio is None else tolerance_ratio
    verdict = capacitor_verdict(measured, label_f, tolerance_ratio=tolerance)
    told = held_against(
        measured,
        label_f * (1 - tolerance),
        label_f * (1 + tolerance),
        what=what,
        kind="capacitance",
        trick=trick,
    )
    if told.told == "not_met" and measured.value <= measured.expanded():
        return Verdict("not_met", Sentence("finding.capacitor_open", (text("what", what),)))
    is_sound = told.told == "met" and verdict.condition is Condition.SOUND
    return (_lost(measured, earlier, label_f, what) if is_sound and earlier is not None else None) or told


def _lost(measured: Estimate, earlier: Estimate, label_f: float, what: str) -> Verdict | None:
    """Tell whether a sound section has lost 5 % of its label since; None where it has not. Both meters' ± count.

    A meter that is the same both times errs alike, so that this ± is rather too wide than too narrow.
    """
    spread_f = math.hypot(measured.standard_uncertainty, earlier.standard_uncertainty)
    lost = Estimate((earlier.value - measured.value) / label_f, spread_f / label_f)
    parts = (
        text("what", what),
        reading("found", measured.value, measured.expanded(), "capacitance"),
        reading("earlier", earlier.value, earlier.expanded(), "capacitance"),
        reading("lost", 100 * lost.value, 100 * lost.expanded(), "percentage"),
    )
    match compare(lost, GOES_NEXT_SHARE, math.inf, confidence=CONFIDENCE):
        case Met():
            return Verdict("met", Sentence("finding.goes_next", parts))
        case NotMet():
            return None
    return Verdict("met", Sentence("finding.may_go_next", parts))


LABELS, ALIKE = "labels", "alike"
"""That both labels of an exchanged capacitor were seen to say the same."""


def like_for_like(answers: Answers, trick: str) -> Verdict:
    """Tell whether a new capacitor is what came out: sections, volts, hertz; and whether it was measured."""
    sections = [section for section in ("herm", "fan") if f"old_label.{section}" in answers.values]
    if not sections:
        return missing(", ".join(answers.missing_of("old_label")))
    for section in ("herm", "fan"):
        old, new = answers.number(f"old_label.{section}"), answers.number(f"new_label.{section}")
        if old is not None and new is None:
            return missing(answers.label(f"new_label.{section}"))
        if new is not None and (old is None or abs(new - old) > _SAME_SHARE * old):
            return Verdict(
                "not_met", Sentence("finding.other_part", (text("what", answers.label(f"new_label.{section}")),))
            )
    lacks = [*answers.missing_of("rated_volts"), *answers.missing_of("hertz")]
    if lacks and answers.choices.get(LABELS) != ALIKE:  # what was seen to be the same may be of no figure
        return missing(", ".join(lacks))
    old_v, new_v = (answers.number(f"rated_volts.{of}") for of in ("old", "new"))
    old_hz, new_hz = (answers.number(f"hertz.{of}") for of in ("old", "new"))
    lower = old_v is not None and new_v is not None and new_v < old_v
    if lower or (None not in (old_hz, new_hz) and new_hz != old_hz):
        name = "rated_volts.new" if lower else "hertz.new"
        return Verdict("not_met", Sentence("finding.other_part", (text("what", answers.label(name)),)))
    return _sections(answers, "new_label", tuple(sections), trick)


def winding_sum(answers: Answers, trick: str) -> Verdict:
    """Tell whether start to run is the sum of the other two."""
    lacks = answers.missing_of("ohms")
    if lacks:
        return missing(", ".join(lacks))
    found = {of: answers.values[f"ohms.{of}"] for of in ("start_common", "run_common", "start_run")}
    ohms = {of: math.inf if value.value >= OPEN_FROM_OHM else value.value for of, value in found.items()}
    verdict = winding_check(
        ohms["start_common"], ohms["run_common"], start_run_ohm=ohms["start_run"], tolerance_ratio=WINDING_SHARE
    )
    state = term("state", f"winding {verdict.state}")
    if math.inf in ohms.values():
        return Verdict("not_met", Sentence("finding.winding", (state,)))
    if min(ohms.values()) < LITTLE_OHM:
        return Verdict("cannot_tell", Sentence("finding.little_ohm"))
    if verdict.leads_may_be_swapped and verdict.state is WindingState.CONSISTENT:
        return Verdict("cannot_tell", Sentence("finding.leads_swapped"))
    together = found["start_common"].value + found["run_common"].value
    share = found["start_run"].value / together
    spread = math.hypot(
        found["start_run"].standard_uncertainty,
        share * found["start_common"].standard_uncertainty,
        share * found["run_common"].standard_uncertainty,
    )
    return held_against(
        Estimate(share, spread / together), 1 - WINDING_SHARE, 1 + WINDING_SHARE,
        what="Start to run, as a share of the two windings together", kind="ratio", trick=trick,
    )  # fmt: skip


def insulation(answers: Answers, trick: str) -> Verdict:
    """Tell whether the winding's megohms to the case reach the maker's, else what a rule of thumb asks for."""
    found = answers.values.get("to_case")
    if found is None:
        return missing(", ".join(answers.missing_of("to_case")))
    verdict = insulation_verdict(
        found,
        Winding.HERMETIC,
        rated_voltage_v=240.0,  # counts for windings of before 1970 alone
        maker_ohm=answers.number("maker"),
    )
    return held_against(
        found, verdict.least_ohm, math.inf, what=answers.label("to_case"), kind="insulation_resistance", trick=trick
    )


def conductor_fits(answers: Answers, _: str) -> Verdict:
    """Tell whether copper fits its terminal, is not thinner than what it replaces, and carries its load."""
    numbers = [answers.number(name) for name in ("gauge", "range.thinnest", "range.thickest")]
    if any(number is None for number in numbers):
        return missing(", ".join([*answers.missing_of("gauge"), *answers.missing_of("range")]))
    gauge, thinnest, thickest = (awg(number) for number in numbers if number is not None)
    fit = terminal_fit(gauge, thinnest=thinnest, thickest=thickest)
    if fit is not Fit.FITS:
        return Verdict("not_met", Sentence("finding.no_fit", (text("gauge", gauge), term("fit", f"terminal {fit}"))))
    replaced = answers.number("replaced")
    if replaced is not None and (answers.number("gauge") or 0.0) > replaced:
        return Verdict("not_met", Sentence("finding.thinner", (text("gauge", gauge), text("old", awg(replaced)))))
    load_a, rating_k = answers.number("load"), answers.number("rating")
    if load_a is not None:
        column = _COLUMN_C if rating_k is None else next((c for c in (90, 75, 60) if rating_k - 273.15 >= c - 0.5), 0)
        carries_a = ampacity(gauge, column)
        return held_against(
            Estimate(load_a, 0.0), -math.inf, carries_a, what=answers.label("load"), kind="current", trick="finer_meter"
        )
    return Verdict("met", Sentence("finding.fits", (text("gauge", gauge),)))


def awg(number: float) -> str:
    """Write a gauge by its number, of which 0 is 1/0 and -1 is 2/0.

    Raises:
        AnswerError: it is no whole number.

    """
    if number != int(number):
        raise AnswerError(f"values: a gauge of {number:g} is none: a whole number, 0 for 1/0, was expected")
    within("gauge", number, -3.0, 40.0, "AWG")
    return str(int(number)) if number > 0 else f"{1 - int(number)}/0"


def tightened(answers: Answers, trick: str) -> Verdict:
    """Hold a torque as left against what is marked, else against the table."""
    match answers.choices.get("torque_by"):
        case "marked":
            due = answers.number("marked")
            if due is None:
                return missing(", ".join(answers.missing_of("marked")))
        case "table":
            gauge, slot = answers.number("gauge"), answers.choices.get("slot")
            if gauge is None or slot is None:
                return missing("Gauge, AWG, and slot of the screw")
            due = torque(awg(gauge), Slot(slot)).torque_n_m
        case "feel":
            return Verdict("cannot_tell", Sentence("finding.by_feel"))
        case _:
            return missing("Torque by")
    left = answers.values.get("torque")
    if left is None:
        return missing(", ".join(answers.missing_of("torque")))
    return held_against(
        left, (1 - TORQUE_SHARE) * due, (1 + TORQUE_SHARE) * due, what=answers.label("torque"), kind="torque",
        trick=trick,
    )  # fmt: skip


def cause_answered(answers: Answers, _: str) -> Verdict:
    """Tell whether it is known why a part failed, and what was done about it."""
    cause = answers.choices.get("cause")
    if cause is None:
        return missing("Cause")
    options = answers.check.choices[0].options
    said = Sentence("finding.chosen", (text("what", "Cause"), text("chosen", options[cause])))
    if cause == "unknown":
        return Verdict("cannot_tell", said)
    return Verdict("met", said) if "done" in answers.choices else missing("What was done about it")


def screws_back(answers: Answers, _: str) -> Verdict:
    """Tell whether as many screws are back as came out."""
    return _as_many(answers, "screws.out", "screws.back", "screws_back")


def put_back(answers: Answers, trick: str) -> Verdict:
    """Tell whether what was open is as it was: nothing left inside, every screw back. Of a cover never off nothing."""
    if answers.choices.get(COVER) == NEVER_OFF:
        return Verdict("met")
    told = _chosen(answers, "inside", "nothing")
    return worst([told, screws_back(answers, trick)]) or told


def earthed_again(answers: Answers, _: str) -> Verdict:
    """Tell whether the ground (earth) is continuous once it is closed: of a cover never off nobody can measure that."""
    if answers.choices.get(COVER) == NEVER_OFF and "earthed" not in answers.choices:
        return Verdict("met")
    return _chosen(answers, "earthed", "yes")


def _chosen(answers: Answers, name: str, met: str) -> Verdict:
    """Hold what was chosen against the one option that is met."""
    choice = next(each for each in answers.check.choices if each.name == name)
    chosen = answers.choices.get(name)
    if chosen is None:
        return missing(choice.label)
    said = Sentence("finding.chosen", (text("what", choice.label), text("chosen", choice.options[chosen])))
    return Verdict("met" if chosen == met else "not_met", said)


def jumpers_out(answers: Answers, _: str) -> Verdict:
    """Tell whether as many jumpers are out as went in."""
    return _as_many(answers, "jumpers.in", "jumpers.out", "jumpers_out")


def _as_many(answers: Answers, due: str, found: str, said: str) -> Verdict:
    """Hold one count against the other; without both, what was said of them tells."""
    pair = (answers.number(due), answers.number(found))
    if pair[0] is not None and pair[1] is not None:
        parts = (text("what", answers.label(found)), count("found", pair[1]), count("due", pair[0]))
        return Verdict("met" if pair[0] == pair[1] else "not_met", Sentence("finding.count", parts))
    choice = next(each for each in answers.check.choices if each.name == said)
    chosen = answers.choices.get(said)
    if chosen is None:
        return missing(choice.label)
    told = Sentence("finding.chosen", (text("what", choice.label), text("chosen", choice.options[chosen])))
    return Verdict("not_met" if chosen == "fewer" else "met", told)


def _reads(answers: Answers, name: str, value: Estimate) -> tuple[Part, ...]:
    return (text("what", answers.label(name)), reading("found", value.value, value.expanded(), "voltage"))


def _size(value: Estimate) -> Estimate:
    return Estimate(abs(value.value), value.standard_uncertainty)
