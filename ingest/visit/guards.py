"""What speaks against a move before it is noted: one small function a reason, in one table, the worst first.

Each looks at what is intended and gives a sentence that says what is wrong and what to do, or nothing. What may be
unlikely and is so all the same is asked about; what cannot be right is refused. They warn and never unlock: nameplate,
maker, local codes and licensed practice come first. Which is worse than which: common practice, no source.
"""

from collections.abc import Callable, Sequence
from datetime import UTC, datetime

from calc.amounts import objection
from calc.ledger import Doubtful
from calc.quantities import Quantity
from calc.sentences import Part, Sentence, amount, count, minutes, seconds, term, text, weighed, within
from ingest.visit.intended import Intended
from ingest.wire.wording import Wording, worded

VACUUM_PA = 50e3
"""Below half an atmosphere a running compressor works in a vacuum: common practice, no source."""
LEAST_WAIT_S = 300.0
"""After a move: 5, 10 and 15 min are in print by makers; the least of them."""
_ROUNDING = 1e-6

Guard = Callable[[Intended], Sentence | None]


def other_refrigerant(it: Intended) -> Sentence | None:
    """Refuse to mix: the cylinder holds another refrigerant than the circuit runs on (40 CFR 82, common practice)."""
    content = it.cylinder.refrigerant if it.cylinder else ""
    if it.cylinder is None or content in ("", it.refrigerant.designation):
        return None
    parts = (
        text("cylinder", it.cylinder.name),
        text("content", content),
        text("refrigerant", it.refrigerant.designation),
    )
    return Sentence("guard.other_refrigerant" if it.is_added else "guard.other_refrigerant_out", parts)


def no_phase(it: Intended) -> Sentence | None:
    """Ask for what is missing: it came out of the cylinder as liquid or as vapour."""
    return Sentence("guard.no_phase") if it.is_added and not it.phase and not it.is_correction else None


def impossible(it: Intended) -> Sentence | None:
    """Refuse what no unit of this size takes, or holds."""
    return _objection(it, Doubtful.IMPOSSIBLE)


def open_panel(it: Intended) -> Sentence | None:
    """Warn of a live part exposed while what burns is moved (servicing clauses after IEC 60335-2-40)."""
    by_its_name = it.refrigerant.is_flammable
    if not (by_its_name or it.found_to_burn) or it.cover == "closed" or it.is_correction:
        return None
    if not by_its_name:
        return Sentence("guard.panel_open_found" if it.cover == "open" else "guard.panel_unknown_found")
    parts = (text("name", it.refrigerant.designation), text("safety_class", it.refrigerant.safety_class))
    return Sentence("guard.panel_open" if it.cover == "open" else "guard.panel_unknown", parts)


def runs_in_vacuum(it: Intended) -> Sentence | None:
    """Warn that a compressor which runs in a vacuum arcs at its terminals (common practice, no source)."""
    if not it.runs or it.vacuum_pa is None or it.vacuum_pa >= VACUUM_PA or it.is_correction:
        return None
    return Sentence("guard.runs_in_vacuum", (amount("pressure", it.vacuum_pa, Quantity.PRESSURE),))


def cylinder_full(it: Intended) -> Sentence | None:
    """Warn of a recovery cylinder beyond what it may hold (`calc.charging.safe_fill_mass`)."""
    cylinder = it.cylinder
    if it.is_added or cylinder is None or cylinder.holds_kg is None or cylinder.most_kg is None:
        return None
    held_kg = cylinder.holds_kg + it.mass_kg
    if held_kg <= cylinder.most_kg * (1 + _ROUNDING):
        return None
    parts = (
        weighed("amount", it.mass_kg),
        text("cylinder", cylinder.name),
        amount("held", held_kg, Quantity.MASS),
        amount("most", cylinder.most_kg, Quantity.MASS),
    )
    return Sentence("guard.cylinder_full", parts)


def not_for_recovery(it: Intended) -> Sentence | None:
    """Warn that a disposable cylinder is never filled again (49 CFR 178.65, from memory)."""
    if it.is_added or it.cylinder is None or it.cylinder.use == "recovery":
        return None
    return Sentence("guard.not_for_recovery", (text("cylinder", it.cylinder.name),))


def runs_into_vacuum(it: Intended) -> Sentence | None:
    """Warn of a compressor that runs: by weight into a vacuum, liquid side, compressor off (from memory)."""
    return Sentence("guard.runs_into_vacuum") if it.is_added and it.into_vacuum and it.runs else None


def liquid_at_rest(it: Intended) -> Sentence | None:
    """Warn of liquid into the suction side of a compressor that is off (common practice, no source)."""
    is_so = it.is_added and it.phase == "liquid" and it.port == "suction" and it.runs is False
    return Sentence("guard.liquid_at_rest") if is_so and not it.is_correction else None


def liquid_side_runs(it: Intended) -> Sentence | None:
    """Warn of a compressor that runs and is charged on its high side: it fills the cylinder (common practice)."""
    is_so = it.is_added and it.port in ("liquid", "discharge") and it.runs is True and not it.into_vacuum
    return Sentence("guard.liquid_side_runs") if is_so and not it.is_correction else None


def unknown_content(it: Intended) -> Sentence | None:
    """Warn of a cylinder of which nobody has said what it holds (never mix: common practice, no source)."""
    if not it.is_added or it.cylinder is None or it.cylinder.refrigerant:
        return None
    return Sentence(
        "guard.unknown_content",
        (text("cylinder", it.cylinder.name), text("refrigerant", it.refrigerant.designation)),
    )


def noted_by_both(it: Intended) -> Sentence | None:
    """Ask whether two people at one unit note the same refrigerant (common practice, no source)."""
    if it.twin is None or it.is_correction:
        return None
    parts = (text("other", it.twin.by), weighed("noted", it.twin.mass_kg), seconds("noted_ago", it.twin.ago_s))
    return Sentence("guard.noted_by_both" if it.is_added else "guard.noted_by_both_out", parts)


def noted_by_hand(it: Intended) -> Sentence | None:
    """Ask whether what a scale saw is what was noted by hand since: it would count twice (common practice)."""
    if it.by_hand is None or it.is_correction:
        return None
    parts = (weighed("by_hand", it.by_hand.mass_kg), minutes("hand_ago", it.by_hand.ago_s))
    return Sentence("amount.noted_by_hand", parts)


def stop_stands(it: Intended) -> Sentence | None:
    """Tell of a lead who asked to stop and has not said go on."""
    return Sentence(it.stop.kind, it.stop.parts) if it.stop and not it.is_correction else None


def hold_point(it: Intended) -> Sentence | None:
    """Tell of a lead who wants to be asked first: the oldest such wish that stands."""
    if not it.holds or it.is_correction:
        return None
    return Sentence(it.holds[0].kind, it.holds[0].parts)


def leak_open(it: Intended) -> Sentence | None:
    """Warn of a leak that was found and not repaired (its repair first: common practice, no source)."""
    if not it.is_added or it.leak_found_s is None or it.is_correction:
        return None
    return Sentence("guard.leak_open", (text("leak_day", day_of(it.leak_found_s)),))


def added_before(it: Intended) -> Sentence | None:
    """Warn of a second addition to a circuit: find the leak before adding (common practice, no source)."""
    if not (it.is_added and it.added_before_s and it.by_figure) or it.leak_sought or it.leak_found_s is not None:
        return None
    parts = (count("visits", len(it.added_before_s) + 1), text("added_day", day_of(max(it.added_before_s))))
    return Sentence("guard.added_before", parts)


def leaks_first(it: Intended) -> Sentence | None:
    """Warn where the advice is to look for leaks first, and nobody has."""
    is_so = it.is_added and it.by_figure and it.leaks_first and not it.leak_sought
    return Sentence("guard.leaks_first") if is_so and it.leak_found_s is None and not it.added_before_s else None


def wrong_way(it: Intended) -> Sentence | None:
    """Warn where the advice is to move refrigerant the other way."""
    if not it.by_figure or it.advised == ("add" if it.is_added else "recover"):
        return None
    return Sentence("guard.advised_out" if it.is_added else "guard.advised_in") if it.advised else None


def nothing_to_move(it: Intended) -> Sentence | None:
    """Warn where the advice is to leave the charge alone, and repeat what it says."""
    if it.to_leave is None or not it.by_figure or it.heats:
        return None
    said = it.to_leave
    told = (*said.parts, within("headline", said.kind)) if said.kind else (text("headline", said.us),)
    return Sentence("guard.nothing_to_move", told)


def unlikely_sum(it: Intended) -> Sentence | None:
    """Warn where the sum of the ledger passes the nameplate: stop and think (common practice, no source)."""
    return _objection(it, Doubtful.SUM_PASSES_NAMEPLATE, Doubtful.MORE_THAN_NAMEPLATE_OUT)


def heats(it: Intended) -> Sentence | None:
    """Warn that a heat pump in heating is charged by its own chart or by weight (the trade press)."""
    return Sentence("guard.heats") if it.heats and it.by_figure else None


def vapour_of_blend(it: Intended) -> Sentence | None:
    """Warn that the vapour of a blend has another composition (`calc.charging.liquid_feed_required`)."""
    is_so = it.is_added and it.phase == "vapour" and it.refrigerant.charge_as_liquid and not it.is_correction
    return Sentence("guard.vapour_of_blend", (text("name", it.refrigerant.designation),)) if is_so else None


def unsettled(it: Intended) -> Sentence | None:
    """Warn where the figure that shows the charge has not settled since the last move, or at this visit."""
    if not it.by_figure or not it.runs or not it.figure or it.has_settled:
        return None
    figure = term("figure", it.figure)
    if it.moved_ago_s is None:
        return Sentence("guard.never_settled", (figure,))
    return Sentence("guard.not_settled_since", (figure, minutes("ago", it.moved_ago_s)))


def too_soon(it: Intended) -> Sentence | None:
    """Warn where the last move is a few minutes old; where the figure has not settled either, that is told instead."""
    if not it.by_figure or not it.runs or it.since_move_s is None or it.since_move_s >= LEAST_WAIT_S:
        return None
    ago = minutes("ago", it.moved_ago_s or 0.0)
    return Sentence("guard.too_soon", (ago,)) if it.has_settled else None


def large_step(it: Intended) -> Sentence | None:
    """Ask about much in one go, where charging goes in small steps; a charge by weight goes in at once."""
    if not it.by_figure and not it.is_correction and it.charge_kg is not None:
        return None
    return _objection(it, Doubtful.LARGE_STEP, Doubtful.LARGE_WITHOUT_NAMEPLATE)


def _objection(it: Intended, *why: Doubtful) -> Sentence | None:
    if it.doubtful is None or it.doubtful not in why:
        return None
    return objection(
        it.doubtful, it.change_kg, net_kg=it.net_kg, recovered_kg=it.recovered_kg, nameplate_kg=it.charge_kg
    )


REFUSE: Sequence[Guard] = (other_refrigerant, no_phase, impossible)
"""What cannot be noted so."""

ASK: Sequence[Guard] = (
    stop_stands,
    open_panel,
    runs_in_vacuum,
    cylinder_full,
    not_for_recovery,
    liquid_side_runs,
    runs_into_vacuum,
    liquid_at_rest,
    unknown_content,
    noted_by_both,
    noted_by_hand,
    hold_point,
    leak_open,
    added_before,
    leaks_first,
    heats,
    wrong_way,
    nothing_to_move,
    vapour_of_blend,
    unlikely_sum,
    unsettled,
    too_soon,
    large_step,
)
"""What is noted once the person says that it is so."""

_AMONG_OTHERS = {
    "amount.noted_by_hand": "guard.noted_by_hand",
    "amount.in_one_go": "guard.in_one_go",
    "amount.sum": "guard.sum",
    "amount.sum_out": "guard.sum_out",
}
"""What is a question where it stands alone, and a statement among others."""


def refusals(it: Intended) -> list[Sentence]:
    """Say why it cannot be noted, the worst first."""
    return _told(it, REFUSE)


def questions(it: Intended) -> list[Sentence]:
    """Say what speaks against it, the worst first."""
    return _told(it, ASK)


def _told(it: Intended, guards: Sequence[Guard]) -> list[Sentence]:
    return [said for guard in guards if (said := guard(it)) is not None]


def together(said: Sequence[Sentence], *, is_question: bool) -> Wording:
    """Word all of them as one, the worst first."""
    if len(said) == 1 and (said[0].kind in _AMONG_OTHERS or not is_question):
        return worded(said[0])
    kinds = [_AMONG_OTHERS.get(each.kind, each.kind) for each in said]
    parts: dict[str, Part] = {}
    for each in said:
        for part in each.parts:
            parts.setdefault(part.place, part)
    return worded(
        Sentence(
            "question.all_the_same" if is_question else "question.refused",
            (*parts.values(), within("said", *kinds)),
        )
    )


def day_of(time_s: float) -> str:
    """Give the day of a moment, as it is written everywhere (ISO 8601), in universal time as the record keeps it."""
    return datetime.fromtimestamp(time_s, UTC).date().isoformat()
