"""What was heard of one rig: the newest of each kind, and no more of its past than tells how it stands."""

from dataclasses import dataclass, replace

from dashboard.lateness import Now
from ingest.wire.bench_messages import BenchAbout, BenchReveal
from ingest.wire.held_back import held_back
from ingest.wire.messages import (
    About,
    Advice,
    Correction,
    Mark,
    Moved,
    Pack,
    Signed,
    Status,
    Visit,
    Warned,
)


@dataclass(frozen=True, slots=True)
class Heard:
    """What is known of one rig.

    pack_s: when its newest pack was made, by the clock of this machine [s since 1970]; None before one came. alarms_s:
    since when there is something to stop for; acted_s: when a technician last did something that is a mark, both by the
    rig's clock; None where that is not known. warned: what speaks against what a technician means to do, or has done;
    done_s: when they did it all the same.
    """

    rig: str
    status: Status | None = None
    about: About | None = None
    advice: Advice | None = None
    visit: Visit | None = None
    pack: Pack | None = None
    pack_s: float | None = None
    alarms_s: float | None = None
    acted_s: float | None = None
    warned: Warned | None = None
    done_s: float | None = None
    bench: BenchAbout | None = None
    reveal: BenchReveal | None = None

    @property
    def told(self) -> Advice | None:
        """The advice, without what a blind exercise keeps from everybody until its verdict."""
        blind = self.bench and self.bench.blind and self.reveal is None and self.about and self.about.simulated
        return held_back(self.advice) if self.advice and blind else self.advice

    def rig_time_s(self, now_s: float) -> float:
        """Tell the rig's own time, as far as its packs tell it [s since 1970]."""
        if self.pack is None or self.pack_s is None:
            return now_s
        return self.pack.time_s + now_s - self.pack_s


def with_about(heard: Heard, about: About) -> Heard:
    """Take in what the rig says of itself; another visit begins with nothing known of it."""
    if heard.about and heard.about.visit != about.visit:
        heard = Heard(heard.rig, heard.status, pack=heard.pack, pack_s=heard.pack_s, bench=heard.bench)
    heard = replace(heard, about=about)
    for mark in about.marks:
        heard = with_mark(heard, mark)
    return heard


def with_advice(heard: Heard, advice: Advice) -> Heard:
    """Take in an advice; what there is to stop for began with the first that says so."""
    since_s = (heard.alarms_s or advice.time_s) if advice.alarms else None
    return replace(heard, advice=advice, alarms_s=since_s)


def with_pack(heard: Heard, pack: Pack, now: Now, late_s: float) -> Heard:
    """Take in a pack, unless a newer one is known. late_s: how late it came.

    The first that is heard may have been kept by the broker: it is as old as its stamp says, if that lies in the past.
    """
    if heard.pack and (pack.session, pack.monotonic_s) <= (heard.pack.session, heard.pack.monotonic_s):
        return heard
    kept_s = max(0.0, now.time_s - pack.time_s) if heard.pack is None else 0.0
    return replace(heard, pack=pack, pack_s=now.time_s - max(late_s, kept_s))


_ENDS_IT = Moved | Correction | Signed
"""What somebody does instead of what they were warned of."""


def with_mark(heard: Heard, mark: Mark) -> Heard:
    """Take in a mark: it may be heard twice, and late."""
    if mark.role == "technician" and mark.time_s > (heard.acted_s or 0.0):
        heard = replace(heard, acted_s=mark.time_s)
    known = heard.warned
    if isinstance(mark, Warned):
        return heard if known and mark.time_s <= known.time_s else replace(heard, warned=mark, done_s=None)
    if known and mark.id == known.of:
        return replace(heard, done_s=mark.time_s)
    if known and heard.done_s is None and isinstance(mark, _ENDS_IT) and mark.time_s > known.time_s:
        return replace(heard, warned=None)
    return heard
