"""With what the fields of a check begin: what the rig knows already, to be read and kept by a touch, or corrected."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import get_args

from dashboard.sentences import say
from dashboard.words import left_for
from ingest.wire.messages import About, Advice, Checklist, Finding, Mark, Role, Visit
from ingest.wire.sheet import Capacitor, Part

_CLOSING, _MAKING_DEAD = "F", "B"
"""The groups of what is done last, and of what comes before every hand in the panel."""

_CLOSE, _LEAKS, _REPLACEMENT = "close_panel", "leaks", "replacement"
_MEASURED = "capacitor_measured"
_FAILS_BY = (_MEASURED, "capacitor_under_load")
"""Checks by which a capacitor fails, whatever it looks like."""
_OF_THE_AIR = frozenset({"air_split", "airflow_per_capacity", "airflow_over_design"})
"""Conditions of a protocol, of which one proves the airflow, as `calc.judge.verification` names them."""
_ANSWERED: Mapping[str, str] = {"met": "met", "not met": "not_met"}

_ALONE = ("herm", "fan")
"""Of a capacitor with one section, which it is."""

_ROLES = get_args(Role)
"""A rig with one password has a role for a name: at a lock, or below a visit, that is nobody's."""


def beginning(
    checklists: Sequence[Checklist],
    about: About,
    visit: Visit,
    judged: Mapping[str, str],
    parts: Sequence[Part] = (),
    marks: Mapping[str, Mark] = MappingProxyType({}),
) -> dict[str, dict[str, str]]:
    """Give it by the check's word and the name of a choice or text. What is not known is left out.

    parts: those of the unit's sheet. judged: what of it the judge says, as `judged_of` gives it. marks: of the visit,
    as far as they are known, by id.
    """
    known = " ".join(left_open(checklists, visit, besides=(_CLOSING,))) or say("beginning.nothing_open")
    name, sections = whose_name(visit, marks), _sections(parts)
    begins_with = {
        "which_unit": {"tag": about.unit.tag},
        "what_is_in_it": {"safety_class": about.unit.safety_class},
        "isolate": {"locked_by": name},
        "discharge": {"sections": "single" if sections in _ALONE else sections},
        _MEASURED: {"sections": sections or _discharged(visit, marks)},
        _REPLACEMENT: {"why": _why_replaced(visit)},
        "air": {"mode": "heating" if "heating" in visit.facts else "", "condition": judged.get("air", "")},
        "moving": {"panel_closed": "yes" if _is_closed(visit) else ""},
        "readings_before": {"settled": "yes" if visit.settled else ""},
        "readings_after": {"settled": "yes" if visit.settled else ""},
        "leaks": {"read_again": _recheck(visit)},
        "tag": {"tag": about.unit.tag},
        "handover": {"next_person": known, "next_reading": _read_again(visit, marks)},
    }
    return {check: {name: text for name, text in begins.items() if text} for check, begins in begins_with.items()}


def offered(visit: Visit) -> dict[str, dict[str, dict[str, str]]]:
    """Give what may be said by a touch, and by that alone: by the check and the field what is kept, with its words.

    That a lock is off stands nowhere before somebody has said so.
    """
    off = {name: say("beginning.lock_off", name=name) for name in map(named, visit.locks) if name}
    return {"power_back": {"lock_removed_by": off}} if off else {}


def judged_of(advice: Advice | None) -> dict[str, str]:
    """Give what the judge says now that a check asks for too: if the air is as a protocol has it.

    What it cannot tell is left out: that is for a person to look at.
    """
    if advice is None:
        return {}
    states = advice.verification.conditions if advice.verification else ()
    air = {_ANSWERED[it.state] for it in states if it.name in _OF_THE_AIR and it.state in _ANSWERED}
    return {"air": air.pop()} if len(air) == 1 else {}


def _sections(parts: Sequence[Part]) -> str:
    """Give which sections the one capacitor of the sheet has; of none or several a person says it."""
    cans = [part for part in parts if isinstance(part, Capacitor)]
    if len(cans) != 1:
        return ""
    farads = {"herm": cans[0].herm_f, "fan": cans[0].fan_f}
    there = [name for name, farad in farads.items() if farad is not None]
    return there[0] if len(there) == 1 else "dual" if there else ""


def _discharged(visit: Visit, marks: Mapping[str, Mark]) -> str:
    """Give the sections that were said as every capacitor was discharged; of one alone that does not tell which."""
    found = [marks.get(it.id) for it in visit.findings if it.check == "discharge" and it.outcome != "skipped"]
    said = {it.choices.get("sections", "") for it in found if isinstance(it, Finding)}
    return "dual" if said == {"dual"} else ""


def _why_replaced(visit: Visit) -> str:
    """Say by which check the one capacitor failed that was not renewed since; of several a person says it."""
    found = list(visit.findings)
    failed = [
        it
        for index, it in enumerate(found)
        if it.check in _FAILS_BY and it.outcome == "not_met"
        if not any(later.check == _REPLACEMENT and later.part in ("", it.part) for later in found[index:])
    ]
    if len({it.part for it in failed}) != 1:
        return ""
    return say("beginning.measured_outside" if failed[-1].check == _MEASURED else "beginning.failed_under_load")


def _is_closed(visit: Visit) -> bool:
    """Tell whether the panel was found closed, with a photograph, and no hand was in it since.

    While a lead's stop stands the rig names nothing to be made anew: then nobody can tell.
    """
    closed = [it.outcome == "met" for it in visit.findings if it.check == _CLOSE]
    return bool(closed) and all(closed) and _CLOSE not in visit.next and not visit.is_stopped


def whose_name(visit: Visit, marks: Mapping[str, Mark]) -> str:
    """Give the name of who is at work, else the one that was written at the lock, so that it is asked for once."""
    locks = [mark for it in visit.findings if it.check == "isolate" and isinstance(mark := marks.get(it.id), Finding)]
    return named(visit.progress.technician) or named(locks[-1].choices.get("locked_by", "") if locks else "")


def named(technician: str) -> str:
    """Give the name of a person, with which a field begins; nothing where only a role is known."""
    return technician if technician not in _ROLES else ""


def _recheck(visit: Visit) -> str:
    """Give the day by which the circuit in view is to be looked at again, where something sets one."""
    return next((it.recheck_by for it in visit.circuits if it.circuit == visit.circuit), "")


def _read_again(visit: Visit, marks: Mapping[str, Mark]) -> str:
    """Give the day that the newest look for leaks asks for, so that a visit names one; else as `_recheck`."""
    looks = [mark for it in visit.findings if it.check == _LEAKS and isinstance(mark := marks.get(it.id), Finding)]
    return (looks[-1].choices.get("read_again", "") if looks else "") or _recheck(visit)


def left_open(checklists: Sequence[Checklist], visit: Visit, *, besides: Collection[str] = ()) -> list[str]:
    """Name what is not met, not told, not made, to be made again, or skipped though it makes dead.

    besides: groups of which what is not made is left out.
    """
    checks = [(group.group, check) for group in checklists for check in group.checks]
    titles: Mapping[str, str] = {check.word: check.title for _, check in checks}
    left_out = {check.word for group, check in checks if group in besides}
    making_dead = {check.word for group, check in checks if group == _MAKING_DEAD}
    found = {it.check: it.outcome for it in visit.findings}
    skipped = [word for word, outcome in found.items() if outcome == "skipped" and word in making_dead]

    def titled(words: Iterable[str]) -> str:
        return ", ".join(dict.fromkeys(titles[word] for word in words if word in titles))

    not_met = titled(it.check for it in visit.findings if it.outcome == "not_met")
    not_told = titled(it.check for it in visit.findings if it.outcome == "cannot_tell")
    to_make = (*visit.next, *visit.left_in_the_panel)
    not_made = titled(word for word in to_make if word not in found and word not in left_out)
    again = titled(word for word in to_make if found.get(word) == "met")
    skipped_ones = titled(skipped)
    said = [
        say("beginning.stopped") if visit.is_stopped else "",
        _of_the_charge(visit),
        say("beginning.not_met", checks=not_met) if not_met else "",
        say("beginning.cannot_tell", checks=not_told) if not_told else "",
        say("beginning.not_made", checks=not_made) if not_made else "",
        say("beginning.again", checks=again) if again else "",
        say("beginning.skipped", checks=skipped_ones) if skipped_ones else "",
    ]
    return [each for each in said if each]


def _of_the_charge(visit: Visit) -> str:
    """Say that the judge asks for more, or that it was left so and why; empty where neither is."""
    if left := visit.charge_left:
        return say("beginning.charge_left", why=left_for(left.reason, left.text).removesuffix("."))
    return say("beginning.charge_asked") if "charge_asked" in visit.facts else ""


def words_open(checklists: Sequence[Checklist], visit: Visit) -> list[str]:
    """Give the checks that `left_open` names, by their words."""
    making_dead = {check.word for group in checklists if group.group == _MAKING_DEAD for check in group.checks}
    known = {check.word for group in checklists for check in group.checks}
    found = {it.check: it.outcome for it in visit.findings}
    not_done = [it.check for it in visit.findings if it.outcome in ("not_met", "cannot_tell")]
    to_make = [word for word in (*visit.next, *visit.left_in_the_panel) if found.get(word, "met") == "met"]
    skipped = [word for word, outcome in found.items() if outcome == "skipped" and word in making_dead]
    return [word for word in dict.fromkeys([*not_done, *to_make, *skipped]) if word in known]
