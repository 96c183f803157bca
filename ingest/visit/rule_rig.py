"""Rules that hold what somebody says against what the rig itself reads at that moment: it is never met against that."""

import math
from collections.abc import Mapping

from calc.estimate import Estimate
from calc.sentences import Sentence, reading, text
from ingest.visit.answers import Answers, Verdict, missing
from ingest.visit.locking import is_nobody, without
from ingest.visit.power import MOTORS, PAIRS, power_in
from ingest.visit.rule_dead import live_dead_live

_PORTS = {"suction_pressure": "suction", "liquid_pressure": "liquid", "discharge_pressure": "discharge"}
_WHOSE_LOCK = "whose lock it was, and that they took it off"
OTHER_FEEDS = (
    "control_feed",
    "crankcase_heater",
    "electric_heat",
    "convenience_outlet",
    "second_feed",
    "solar",
    "generator",
)


def nothing_feeds_it(answers: Answers, _: str) -> Verdict:
    """Tell that a linked clamp or voltmeter shows power, whatever was said to be open."""
    return _live(answers) or Verdict("met")


def proved_dead(answers: Answers, trick: str) -> Verdict:
    """Tell that the rig's own voltmeter or clamps show power; else what was seen on the pairs."""
    return _live(answers) or live_dead_live(answers, trick)


def _live(answers: Answers) -> Verdict | None:
    """Tell of what is live by the rig: a pair at 50 V or more, a current above its ±, a compressor that runs.

    What it read before the lock was on tells of none of these: its next reading is waited for. Nor does what may still
    be at another unit.
    """
    if power := power_in(answers.before.rig):
        return _against(power.kind, power.what, power.found, power.of)
    if awaited := [what for name, what in {**PAIRS, **MOTORS}.items() if name in answers.before.awaited]:
        return Verdict("cannot_tell", Sentence("finding.rig_awaited", (text("what", ", ".join(awaited)),)), lacks=True)
    if unsaid := [what for name, what in {**PAIRS, **MOTORS}.items() if name in answers.before.unsaid]:
        return Verdict("cannot_tell", Sentence("finding.rig_unsaid", (text("what", ", ".join(unsaid)),)), lacks=True)
    return Verdict("not_met", Sentence("finding.rig_runs")) if answers.before.runs else None


def _against(kind: str, what: str, found: Estimate, of: str) -> Verdict:
    parts = (text("what", what), reading("found", found.value, found.expanded(), of))
    return Verdict("not_met", Sentence(kind, parts))


def locked_by_name(answers: Answers, _: str) -> Verdict:
    """Tell whether the lock has a person's name: a role is nobody's."""
    name = answers.choices.get("locked_by", "")
    label = next(each.label for each in answers.check.texts if each.name == "locked_by")
    return missing(label) if is_nobody(name) else Verdict("met")


def lock_is_off(answers: Answers, _: str) -> Verdict:
    """Tell whether all who put a lock on at this visit have taken theirs off; where nobody did nothing is asked."""
    locks, name = answers.before.locks, answers.choices.get("lock_removed_by", "")
    still_on = without(locks, name)
    if not still_on:
        return Verdict("met")
    if not still_on[0]:
        return missing(_WHOSE_LOCK)
    if is_nobody(name):
        return missing(next(each.label for each in answers.check.texts if each.name == "lock_removed_by"))
    return Verdict("not_met", Sentence("finding.lock_of_another", (text("by", still_on[0]),)))


def power_is_left_on(answers: Answers, _: str) -> Verdict:
    """Tell that a lock stands, by what was said of it, or that it was isolated, where it is said to have been on."""
    power, before = answers.choices.get("power"), answers.before
    if power in ("on", "throughout") and before.locks:
        by = before.locks[0]
        return (
            Verdict("not_met", Sentence("finding.lock_of_another", (text("by", by),))) if by else missing(_WHOSE_LOCK)
        )
    if power == "throughout" and before.isolated:
        return Verdict("not_met", Sentence("finding.was_isolated"))
    return Verdict("met")


def other_feeds_open(answers: Answers, _: str) -> Verdict:
    """Tell whether every other feed was looked for: by one answer for all of them, or one for each."""
    labels = {each.name: each.label for each in answers.check.choices}
    if any(answers.choices.get(name) == "closed" for name in OTHER_FEEDS):
        closed = next(name for name in OTHER_FEEDS if answers.choices.get(name) == "closed")
        said = (text("what", labels[closed]), text("chosen", "Not open, or not locked"))
        return Verdict("not_met", Sentence("finding.chosen", said))
    match answers.choices.get("other_feeds"):
        case "none" | "locked":
            return Verdict("met")
        case "closed":
            said = (text("what", labels["other_feeds"]), text("chosen", "Found, and not open or not locked"))
            return Verdict("not_met", Sentence("finding.chosen", said))
    lacks = [labels[name] for name in OTHER_FEEDS if name not in answers.choices]
    if not lacks:
        return Verdict("met")
    return missing(labels["other_feeds"] if len(lacks) == len(OTHER_FEEDS) else ", ".join(lacks))


def cools_as_said(answers: Answers, _: str) -> Verdict:
    """Tell that it heats by what the rig reads, where it is said to cool: its figures are of another cycle."""
    is_against = answers.choices.get("mode") == "cooling" and answers.before.heats
    return Verdict("not_met", Sentence("finding.rig_heats")) if is_against else Verdict("met")


def air_is_moved(answers: Answers, _: str) -> Verdict:
    """Tell that no air condition can be met: the compressor does not run, or runs and pumps nothing."""
    before = answers.before
    if before.runs is False:
        return Verdict("not_met", Sentence("finding.rig_rests"))
    suction, liquid = before.rig.get("suction_pressure"), before.rig.get("liquid_pressure")
    if before.runs and suction is not None and liquid is not None:
        spread = math.hypot(suction.standard_uncertainty, liquid.standard_uncertainty)
        apart = Estimate(liquid.value - suction.value, spread)
        if apart.value <= apart.expanded():
            parts = (reading("found", apart.value, apart.expanded(), "pressure_swing"),)
            return Verdict("not_met", Sentence("finding.pumps_nothing", parts))
    return Verdict("met")


def ports_are_shut(answers: Answers, _: str) -> Verdict:
    """Tell that a probe which is said to be off still reads more than the air presses there, by more than its ±."""
    for port, found in pressing(answers.before.rig, answers.before.site_pa).items():
        return _against("finding.rig_presses", port, found, "pressure")
    return Verdict("met")


def pressing(rig: Mapping[str, Estimate], site_pa: float) -> dict[str, Estimate]:
    """Give by port what presses at its probe with more than the air does, by more than its ± [Pa]."""
    read = {port: rig[name] for name, port in _PORTS.items() if name in rig}
    return {port: it for port, it in read.items() if it.value - it.expanded() > site_pa}


def are_both_pressed(rig: Mapping[str, Estimate], site_pa: float) -> bool:
    """Tell whether both sides of a circuit press at a probe, the high side at either of its ports."""
    return pressing(rig, site_pa).keys() > {"suction"}


def runs_by_itself(answers: Answers, _: str) -> Verdict:
    """Tell whether it runs as is said: the rig sees it, or a photograph does, and nothing asks for a stop."""
    before = answers.before
    if answers.choices.get("runs") != "own_call":
        return Verdict("met")
    if before.runs is False:
        return Verdict("not_met", Sentence("finding.rig_rests"))
    if before.stops:  # whatever was seen before: nothing runs as it was while something asks for a stop
        return Verdict("not_met", Sentence("finding.stop_stands"))
    if before.was_seen:
        return Verdict("met")
    if before.runs is None and not answers.photographs:
        label = next(each.label for each in answers.check.choices if each.name == "runs")
        return missing(f"{label}, seen by a linked clamp or in a photograph")
    return Verdict("met")


def left_as_read(answers: Answers, _: str) -> Verdict:
    """Tell that the compressor rests by what the rig reads, where the unit is said to be left running.

    Where it was seen to run before, the clamps may be off by now: then it cannot be told.
    """
    before = answers.before
    if before.runs is not False or answers.choices.get("left") not in ("running", "concern"):
        return Verdict("met")
    ran = before.outcomes.get("as_it_was") == "met"
    return Verdict("cannot_tell" if ran else "not_met", Sentence("finding.rig_rests"))
