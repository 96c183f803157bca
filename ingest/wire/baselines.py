"""Baselines of a unit: that one does not count any more, and what is told of all of them.

A baseline is what a circuit showed when all was right with it, which the rig keeps by itself (`FoundSound`).
"""

from typing import Literal

import msgspec

from ingest.wire.events import Ask, MarkBase

Ended = Literal["", "moved", "put_right", "instruments", "newer", "withdrawn", "left"]
"""Why a baseline counts no more: refrigerant was moved after it, something was put right, an instrument was found off
at the visit at which it was kept, a newer one of the same visit took its place, somebody said so, or the
charge was left as it was against what was advised."""


class WithdrawBaselineAsk(Ask, frozen=True, omit_defaults=True, tag="withdraw_baseline", kw_only=True):
    """A baseline does not count any more. of: the id of its mark. text: why."""

    of: str
    text: str


class BaselineWithdrawn(MarkBase, frozen=True, omit_defaults=True, tag="baseline_withdrawn", kw_only=True):
    """A baseline does not count any more. of: the id of its mark; the text says why."""

    of: str


class Baseline(msgspec.Struct, frozen=True, omit_defaults=True):
    """One that was kept. id: of its mark. time_s: when [s since 1970]. ended: why it counts no more, or empty.

    circuit: as it is called now; empty where nobody named it. by, ended_s, text: who withdrew it, when, and why.
    """

    id: str
    visit: str
    time_s: float
    circuit: str = ""
    ended: Ended = ""
    by: str = ""
    ended_s: float | None = None
    text: str = ""
