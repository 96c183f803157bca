"""What judging a visit goes on from after the daemon was started anew."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import msgspec

from calc.judge.moves import OpenStep
from calc.judge.running import Compressor
from ingest.advice.history import JUDGED_CHANNELS
from ingest.rig import Rig
from ingest.visit.found_sound import FoundSounds
from ingest.wire.messages import Mark, Pack

MeasuredAs = tuple[tuple[str | float, ...], ...]


class Memory(msgspec.Struct, frozen=True):
    """What an advisor remembers that neither the packs nor its advice show.

    newest_mark: the id of the last mark that was taken; empty before the first. measured_as: how superheat and
    subcooling are measured. compressor: in the unit's own time. open_step: what was moved and has not settled yet.
    """

    newest_mark: str
    measured_as: MeasuredAs
    compressor: Compressor
    open_step: OpenStep


@dataclass(frozen=True, slots=True)
class Earlier:
    """What the record holds of a visit.

    grounds: of its newest advice. packs: those that history is made of, oldest first, by the same monotonic clock.
    marks: all of them, with by how much each changed the charge [kg]. found_sound: what each circuit of the unit showed
    when it was sound, at the visits before, by its name.
    """

    grounds: bytes | None = None
    packs: Sequence[Pack] = ()
    marks: Sequence[Mark] = ()
    changes_kg: Mapping[str, float] = field(default_factory=dict)
    found_sound: FoundSounds = field(default_factory=dict)

    def marks_after(self, mark_id: str) -> list[Mark]:
        """Give the marks that came after one; all of them if that is empty."""
        ids = [mark.id for mark in self.marks]
        return list(self.marks[ids.index(mark_id) + 1 :] if mark_id in ids else self.marks)


def measured_as(rig: Rig) -> MeasuredAs:
    """Say what the figures that are judged come from: other channels, or another refrigerant, are another course."""
    channels = (it for it in rig.channels if it.name in JUDGED_CHANNELS)
    return (
        (rig.unit.refrigerant,),
        *((it.name, it.instrument, it.field, it.unit, it.reference, it.slope, it.offset) for it in channels),
    )
