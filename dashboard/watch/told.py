"""One rig as its card on the Watch page shows it."""

from calc.quantities import Quantity
from calc.units import System, to_display
from dashboard import display, words
from dashboard.display import Json
from dashboard.opinion import heats
from dashboard.ring import PLOTTED_QUALITIES
from dashboard.sentences import say
from dashboard.watch.heard import Heard
from dashboard.watch.situation import Situation
from ingest.wire.messages import Visit

ON_THE_RULER = (
    "suction_dew_point",
    "suction_line_temperature",
    "liquid_line_temperature",
    "liquid_bubble_point",
    "superheat",
    "subcooling",
)
_HELD_OPEN = 3
"""Of what else is so of a rig, as many stand on its card."""


def card(heard: Heard, stands: Situation, system: System) -> Json:
    """Lay out one rig, with its figures in one system of units. Times are the rig's own [s since 1970]."""
    about, visit = heard.about, heard.visit
    return {
        "rig": heard.rig,
        "tag": about.unit.tag if about else heard.rig,
        "place": about.unit.place if about else "",
        "who": visit.progress.technician if visit else "",
        "simulated": bool(about and about.simulated),
        "played": bool(about and about.played),
        "rank": stands.rank,
        "kind": stands.kind,
        "word": words.SITUATIONS[stands.kind],
        "says": getattr(stands.says, system),
        "since": stands.since_s,
        "ahead": None
        if stands.ahead is None
        else {"says": getattr(stands.ahead.says, system), "at": stands.ahead.at_s},
        "also": [
            {"word": words.SITUATIONS[kind], "says": getattr(says, system)} for kind, says in stands.also[:_HELD_OPEN]
        ],
        "answered": _answered(visit) if visit else None,
        "not_saved": bool(heard.status and heard.status.not_saved),
        "ruler": _ruler(heard, system),
    }


def _answered(visit: Visit) -> Json | None:
    """Tell which lead answered last, so that no other does it once more; None where no answer waits to be read."""
    answers = [it.last for it in visit.questions if it.waits_for == "technician" and it.last]
    if not answers:
        return None
    last = max(answers, key=lambda it: it.time_s)
    return {"says": say("watch.answered", by=last.by), "text": last.text, "time": last.time_s}


def _ruler(heard: Heard, system: System) -> Json | None:
    """Lay out the charging page's ruler, reduced: four marks, two gaps, their targets and how they stand."""
    if heard.pack is None or heard.about is None:
        return None
    values = display.frame(heard.pack, heard.about, system)["values"]
    advice = heard.told
    return {
        "unit": to_display(0.0, Quantity.TEMPERATURE_DIFFERENCE, system)[1],
        "values": {
            name: values[name][:2] for name in ON_THE_RULER if name in values and values[name][3] in PLOTTED_QUALITIES
        },
        "targets": {} if advice and heats(advice) else display.targets(heard.about, advice, system),
        "steadiness": {name: it.state for name, it in advice.steadiness.items()} if advice else {},
    }
