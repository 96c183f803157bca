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


class Instance(msgspec.Struct, frozen=True, order=True):
    """One daemon from its start to its end. since_s: when it started [s since 1970]; of two, the earlier goes first."""

    since_s: float
    id: str


class Status(msgspec.Struct, frozen=True, omit_defaults=True):
    """Whether the rig is there, and whether it records. The broker says `lost` for a daemon that vanished (its will).

    session: 0 before a record could first be opened. not_saved: None while packs are saved. daemon: which one says so.
    another: another daemon claims the same rig name, and waits. left_out: what proposes nothing any more of what the
    instruments show, since it failed, until the configuration is read again; all else goes on.
    """

    s: Literal["online", "offline", "lost"]
    session: int
    not_saved: NotSaved | None = None
    daemon: Instance | None = None
    another: bool = False
    left_out: tuple[str, ...] = ()
