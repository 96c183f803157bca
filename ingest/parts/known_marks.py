"""The visit's marks as far as they are told to those who have just come."""

from collections import deque
from collections.abc import Sequence

from ingest.wire.messages import Mark, encode

MARKS_BYTES = 40 * 1024
"""How much of a message may be marks; the newest count. The record has them all."""
MARKS_KEPT = 1000


def known_marks(marks: Sequence[Mark] = ()) -> deque[Mark]:
    """Keep the newest marks of a visit."""
    return deque(marks, maxlen=MARKS_KEPT)


def newest_marks(marks: Sequence[Mark]) -> list[Mark]:
    """Take the newest marks that fit into one message, people's before the daemon's own; oldest first."""
    room = MARKS_BYTES
    chosen = set()
    newest_first = list(reversed(marks))
    for mark in sorted(newest_first, key=lambda mark: not mark.by):
        room -= len(encode(mark)) + 1
        if room < 0:
            break
        chosen.add(mark.id)
    return [mark for mark in marks if mark.id in chosen]
