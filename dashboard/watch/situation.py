"""How one rig stands for a lead who has many: which of them needs somebody first, why, since when, and what comes next.

Pure. Nothing is judged here: what there is to stop for, what speaks against a move and where the figures are heading is
the rig's own word; this puts it in an order.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal, get_args

from dashboard import words
from dashboard.sentences import say
from dashboard.watch.heard import Heard
from ingest.wire.messages import Visit, Warned, Wording

Kind = Literal["stop", "asked", "against", "refused", "stuck", "silent", "concern", "soon", "going", "over"]
ORDER: tuple[Kind, ...] = get_args(Kind)
"""Who needs a lead first: a stop, a question, a move against advice, one that was refused, nothing recorded, silence, a
visit that was signed with a concern, figures that settle soon; then those at work, and the visits that are signed."""
NEEDS_A_LEAD = ORDER.index("refused")
"""The ranks before it need one now."""

SILENT_AFTER_S = 10.0
"""A rig that is there sends its newest pack every second."""
STUCK_AFTER_S = 15 * 60.0
"""Without anything recorded while something is open and nothing is waited for (common practice, no source)."""
_TAKE_LONGER = ("recover", "evacuate")
"""Steps of a charge by weight that go on for longer without a hand: no sign that nobody gets on."""
INTENDED_FOR_S = 5 * 60.0
"""For so long somebody who was warned and did nothing yet may still mean to, and what they did is worth a look (common
practice, no source): that a dialog was closed is told to nobody."""
SOON_S = 10 * 60.0
_MINUTE_S = 60.0


@dataclass(frozen=True, slots=True)
class Ahead:
    """What comes next. at_s: about when, by the rig's clock [s since 1970]; None where nothing tells."""

    says: Wording
    at_s: float | None = None


@dataclass(frozen=True, slots=True)
class Situation:
    """How a rig stands. since_s: by the rig's clock [s since 1970]; None where it is not known.

    also: what else is so of it, the worst first, as (kind, words).
    """

    kind: Kind
    says: Wording
    since_s: float | None = None
    ahead: Ahead | None = None
    also: tuple[tuple[Kind, Wording], ...] = field(default=())

    @property
    def rank(self) -> int:
        """Tell its place in the order: the least needs a lead first."""
        return ORDER.index(self.kind)


def situation(heard: Heard, now_s: float) -> Situation:
    """Tell how a rig stands. now_s: by the clock of this machine [s since 1970]."""
    first, *rest = _found(heard, now_s)
    more = tuple((it.kind, it.says) for it in rest if it.kind not in ("soon", "going"))
    ahead = None if first.kind in ("stuck", "silent", "concern", "over") else _ahead(heard)
    return Situation(first.kind, first.says, first.since_s, ahead, more)


def _found(heard: Heard, now_s: float) -> Iterator[Situation]:
    """Give all that is so of a rig, in order; at least one."""
    silent = _silent(heard, now_s)
    is_signed = heard.visit is not None and heard.visit.progress.state == "signed"
    yield from _stop(heard)
    if not (is_signed and silent):  # what the readings said last of a rig that was taken home stands for nothing
        yield from _alarms(heard)
    if heard.visit:
        yield from _asked(heard.visit)
    if against := _against(heard, now_s):
        yield against
    if heard.visit and is_signed:
        yield _signed(heard.visit)
        return
    if silent:
        yield silent
        return
    if stuck := _stuck(heard, now_s):
        yield stuck
    yield _at_work(heard)


def _signed(visit: Visit) -> Situation:
    """Tell of a visit that is over, and what was left at the unit or not met as it was signed."""
    concerns = [say("watch.hose_open", port=words.PORTS.get(port, port)) for port in visit.hoses]
    concerns += [say("watch.lock_stands", whom=whom or say("watch.somebody")) for whom in visit.locks]
    concerns += [
        say("watch.check_left", check=words.check(it.check), outcome=words.OUTCOMES[it.outcome])
        for it in visit.findings
        if it.outcome in ("not_met", "cannot_tell")
    ]
    if left := visit.charge_left:
        concerns.append(say("watch.charge_left", why=words.left_for(left.reason, left.text)))
    if not concerns:
        return Situation("over", _plain(say("progress.signed")), visit.progress.since_s)
    return Situation("concern", _plain(say("watch.concern", concerns="; ".join(concerns))), visit.progress.since_s)


def _plain(text: str) -> Wording:
    return Wording(us=text, si=text)


def _stop(heard: Heard) -> Iterator[Situation]:
    """Give a stop for which no lead has said go on."""
    stop = heard.visit.stop if heard.visit else None
    if stop and stop.released_s is None:
        asked = say("watch.stop_asked", by=stop.by, text=words.stop(stop))
        yield Situation("stop", _plain(f"{words.stop_course(stop)} {asked}"), stop.delivered_s)


def _alarms(heard: Heard) -> Iterator[Situation]:
    """Give what the readings say to stop for."""
    for alarm in heard.told.alarms if heard.told else ():
        yield Situation("stop", alarm.says, heard.alarms_s)


def _asked(visit: Visit) -> Iterator[Situation]:
    for thread in visit.questions:
        if thread.waits_for == "lead":
            by, text, time_s = (it := thread.last or thread).by, it.text, it.time_s
            yield Situation("asked", _plain(say("watch.asks", by=by, text=text)), time_s)
    progress = visit.progress
    if progress.state == "waiting" and progress.reason == "lead":
        yield Situation("asked", _plain(say("watch.waits_for_lead", text=progress.text).strip()), progress.since_s)


def _against(heard: Heard, now_s: float) -> Situation | None:
    warned = heard.warned
    if warned is None or heard.rig_time_s(now_s) - (heard.done_s or warned.time_s) > INTENDED_FOR_S:
        return None
    ago_s = heard.rig_time_s(now_s) - warned.time_s
    us, si = (_of_intent(heard.done_s, warned, ago_s, text) for text in (warned.says.us, warned.says.si))
    kind: Kind = "refused" if warned.refused and heard.done_s is None else "against"
    return Situation(kind, Wording(us=us, si=si), heard.done_s or warned.time_s)


def _of_intent(done_s: float | None, warned: Warned, ago_s: float, text: str) -> str:
    whom = warned.whom or say("watch.somebody")
    if done_s is not None:
        return say("watch.did", whom=whom, text=text)
    if warned.refused:
        return say("watch.refused", whom=whom, text=text)
    if ago_s < _MINUTE_S:
        return say("watch.warned_now", whom=whom, text=text)
    return say("watch.warned", whom=whom, minutes=int(ago_s // _MINUTE_S), text=text)


def _stuck(heard: Heard, now_s: float) -> Situation | None:
    """Tell that nothing was recorded for long: something is open, and nothing is waited for."""
    visit, about = heard.visit, heard.about
    if visit is None or about is None or visit.progress.state != "open" or not visit.next:
        return None
    if (heard.told and heard.told.awaited) or any(_asked(visit)):
        return None
    if visit.by_weight and visit.by_weight.step in _TAKE_LONGER:
        return None
    acts = [about.visit_started_s, visit.progress.since_s, visit.last_move_s, heard.acted_s]
    acts += [finding.time_s for finding in visit.findings]
    last_s = max(it for it in acts if it is not None)
    idle_s = heard.rig_time_s(now_s) - last_s
    if idle_s < STUCK_AFTER_S:
        return None
    says = say("watch.stuck", minutes=int(idle_s // _MINUTE_S), check=words.check(visit.next[0]))
    return Situation("stuck", _plain(says), last_s)


def _silent(heard: Heard, now_s: float) -> Situation | None:
    since_s = heard.pack.time_s if heard.pack else None
    state = heard.status.s if heard.status else "unheard"
    if state == "lost":
        return Situation("silent", _plain(say("watch.lost")), since_s)
    if state == "offline":
        return Situation("silent", _plain(say("watch.off")), since_s)
    if heard.pack_s is None or now_s - heard.pack_s > SILENT_AFTER_S:
        return Situation("silent", _plain(say("watch.no_readings")), since_s)
    return None


def _at_work(heard: Heard) -> Situation:
    advice, visit = heard.told, heard.visit
    says = advice.sentence if advice else _plain(say("watch.no_advice"))
    if visit and visit.progress.state == "waiting":
        why = words.WAITS_FOR.get(visit.progress.reason, visit.progress.reason)
        return Situation("going", _plain(say("progress.waits_for", what=why)), visit.progress.since_s)
    if visit and visit.settled:
        return Situation("going", says, visit.settled.since_s)
    if advice and advice.awaited and advice.awaited.seconds_left <= SOON_S:
        return Situation("soon", says)
    return Situation("going", says)


def _ahead(heard: Heard) -> Ahead | None:
    """Tell what is likely next: what is waited for, a proposal to answer, or the check that the visit asks for."""
    advice, visit = heard.told, heard.visit
    if advice and advice.awaited:
        awaited, at_s = advice.awaited, advice.time_s + advice.awaited.seconds_left
        if awaited.what in words.AWAITED:
            return Ahead(_plain(words.AWAITED[awaited.what]), at_s)
        return Ahead(_plain(say("watch.settles", figure=words.channel(awaited.what))), at_s)
    if visit and visit.proposals:
        us, si = (say("watch.proposed", says=it) for it in (visit.proposals[0].says.us, visit.proposals[0].says.si))
        return Ahead(Wording(us=us, si=si))
    return Ahead(_plain(say("watch.next_check", check=words.check(visit.next[0])))) if visit and visit.next else None
