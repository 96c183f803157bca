"""Whether the rig is there, and whether it records."""

from typing import Literal

import msgspec


class NotSaved(msgspec.Struct, frozen=True):
    """Why nothing is recorded now. path: of the record. reason: what is wrong with it. cure: what to do about it.

    since_s: when the first pack was refused [s since 1970].
    """

    path: str
    reason: str
    cure: str
    since_s: float


class Status(msgspec.Struct, frozen=True, omit_defaults=True):
    """Whether the rig is there, and whether it records. The broker says `lost` for a daemon that vanished (its will).

    session: 0 before a record could first be opened. not_saved: None while packs are saved.
    """

    s: Literal["online", "offline", "lost"]
    session: int
    not_saved: NotSaved | None = None
