"""What is proposed in a blind exercise, before the verdict: what was measured, and nothing of what it may mean.

It is worded so as it is proposed, since a mark stays in the record, and is published, as it was made.
"""

from collections.abc import Mapping
from dataclasses import replace

from msgspec.structs import replace as replaced

from calc.sentences import Sentence
from ingest.noticing.sight import Seen
from ingest.wire.messages import ProposedFinding

_OF_A_START = "noticed.start_unjudged"
_OF_A_SECTION = "noticed.capacitor_unjudged"
_OF_AMPS = "noticed.amps_unjudged"
_OF_NITROGEN = "noticed.nitrogen_unjudged"
_OF_A_VACUUM = "noticed.vacuum_unjudged"

MEASURED: Mapping[str, tuple[str, tuple[str, ...]]] = {
    **dict.fromkeys(
        (
            "noticed.started",
            "noticed.start_cannot_tell",
            "noticed.start_slow",
            "noticed.start_stalled",
            "noticed.restarted",
            "noticed.first_seconds_started",
            "noticed.first_seconds_stalled",
            "noticed.first_seconds_backwards",
            "noticed.first_seconds_lost_phase",
            "noticed.first_seconds_weak_capacitor",
            "noticed.first_seconds_fan",
        ),
        (_OF_A_START, ()),
    ),
    **dict.fromkeys(
        (
            "noticed.capacitor_sound",
            "noticed.capacitor_failed",
            "noticed.capacitor_undecided",
            "noticed.capacitor_only_sound",
            "noticed.capacitor_only_failed",
            "noticed.capacitor_only_undecided",
            "noticed.capacitor_other_sound",
            "noticed.capacitor_other_undecided",
        ),
        (_OF_A_SECTION, ("section", "reads")),
    ),
    "noticed.capacitor_under_load": ("noticed.capacitor_under_load_unjudged", ("amps", "volts", "section")),
    **dict.fromkeys(
        (
            "noticed.amps_within",
            "noticed.amps_above",
            "noticed.amps_cannot_tell",
            "noticed.compressor_amps",
            "noticed.compressor_amps_half",
            "noticed.compressor_amps_as",
            "noticed.compressor_amps_more",
            "noticed.compressor_amps_less",
        ),
        (_OF_AMPS, ("motor", "amps", "rated")),
    ),
    **dict.fromkeys(
        ("noticed.nitrogen_held", "noticed.nitrogen_leak", "noticed.nitrogen_cannot_tell"),
        (_OF_NITROGEN, ("stood", "found")),
    ),
    **dict.fromkeys(
        ("noticed.vacuum_tight", "noticed.vacuum_moisture", "noticed.vacuum_leak"),
        (_OF_A_VACUUM, ("lowest", "now", "stood")),
    ),
}
"""By a sentence that judges: the one in its place, and which of its figures that tells. Nitrogen that rises is told as
ever: a regulator that stands open is no fault of the unit, and whoever is at it must know."""

JUDGED = frozenset({"course", "caught", "vacuum_course"})
"""Choices of a check that say what was made of the figures: whoever keeps it says them."""


def unjudged(seen: Seen) -> Seen:
    """Keep of what was seen what was measured."""
    kind, places = MEASURED.get(seen.says.kind, (seen.says.kind, None))
    told = seen.says.parts if places is None else tuple(part for part in seen.says.parts if part.place in places)
    what = seen.what
    if isinstance(what, ProposedFinding):
        what = replaced(what, choices={name: said for name, said in what.choices.items() if name not in JUDGED})
    return replace(seen, what=what, says=Sentence(kind, told))
