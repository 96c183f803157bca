"""How far a visit is: waiting with a reason, gone on with, handed over, signed."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from msgspec.structs import replace

from calc.sentences import Sentence, count, text
from ingest.visit.checklist import guided
from ingest.visit.deciding import Asked, DoubtfulError, Facts, Head, RefusedError, to_ask
from ingest.visit.questions import as_one, name_of
from ingest.visit.signing import as_kept, check_signature
from ingest.visit.stopping import check_none_stands
from ingest.wire.messages import (
    Added,
    Correction,
    CylinderDescribed,
    Described,
    Dismissed,
    Finding,
    HandedOver,
    HandOverAsk,
    HoseSet,
    LeftAlone,
    Mark,
    Placed,
    Progress,
    Recovered,
    ResumeAsk,
    Resumed,
    SignAsk,
    Signed,
    WaitAsk,
    Waiting,
)
from ingest.wire.texts import is_empty
from ingest.wire.wording import Wording, worded

if TYPE_CHECKING:
    from ingest.visit.standing import Standing

GOES_ON = (
    Added, Recovered, Correction, CylinderDescribed, Dismissed, Finding, Described, Placed, HoseSet, HandedOver,
    Resumed, Signed,
)  # fmt: skip
"""What a technician was asked about before it was recorded (`whose`): it says that it is the same visit."""
_NAMED = 12
"""So many checks that are open are named, and the rest counted."""


class ProgressFold:
    """How far a visit is, by its marks."""

    def __init__(self) -> None:
        self.now = Progress()

    def take(self, mark: Mark) -> None:
        """Take the next mark. Who works at it is the technician who last did anything."""
        technician = mark.by if mark.role == "technician" else self.now.technician
        if mark.role == "technician" and isinstance(mark, GOES_ON):
            self.now = replace(self.now, left_s=0.0)
        match mark:
            case LeftAlone() if self.now.state == "open":
                self.now = replace(self.now, left_s=mark.idle_s)
            case Waiting():
                self.now = Progress("waiting", mark.time_s, technician, mark.reason, mark.text)
            case Resumed():
                self.now = Progress("open", mark.time_s, technician)
            case HandedOver():
                self.now = Progress(self.now.state, mark.time_s, mark.to, self.now.reason, mark.text)
            case Signed():
                self.now = Progress("signed", mark.time_s, technician, digest=mark.digest)
            case _ if technician != self.now.technician and self.now.state != "signed":  # theirs it stays who signed
                self.now = replace(self.now, technician=technician)


def wait(ask: WaitAsk, head: Head, _: "Standing", __: Facts) -> Waiting:
    """Let the visit wait for a reason."""
    return Waiting(*head, text=ask.text.strip(), reason=ask.reason)


def resume(_: ResumeAsk, head: Head, standing: "Standing", __: Facts) -> Resumed:
    """Go on after it waited, or was left alone: it is the same visit."""
    if standing.progress.state != "waiting" and not standing.progress.left_s:
        raise RefusedError("the visit neither waits nor was left alone: there is nothing to resume")
    return Resumed(*head)


def hand_over(ask: HandOverAsk, head: Head, _: "Standing", __: Facts) -> HandedOver:
    """Let another technician take over."""
    if is_empty(ask.to):
        raise RefusedError("to is empty: the name of the technician who takes over was expected")
    return HandedOver(*head, text=ask.text.strip(), to=ask.to.strip())


def sign(ask: SignAsk, head: Head, standing: "Standing", facts: Facts) -> Signed:
    """Seal the journal: what comes later is appended. Its digest the record puts in, with what it has by then."""
    if is_empty(ask.name):
        raise RefusedError("name is empty: who signs was expected")
    check_signature(ask)
    check_none_stands(standing)
    asked = [*_stop_stands(standing, head), *_hoses_open(standing), *_checks_open(standing)]
    asked += _charge_open(standing, facts)
    if asked and not ask.confirmed:
        name = worded(Sentence("sign.name", (text("name", ask.name.strip()),)))
        raise DoubtfulError(*asked, to_ask(name, "sign.name"))
    return Signed(*head, digest="", **as_kept(ask))


def _stop_stands(standing: "Standing", head: Head) -> list[Asked]:
    """Ask whoever signs though a lead asked to stop and has not said go on; the lead is told."""
    said = standing.stops.before_all(head[1])
    return [Asked((name_of(said),), lambda _: said, warns=True)] if said else []


def _hoses_open(standing: "Standing") -> list[Asked]:
    hoses = {port: worded(Sentence("sign.hose_open", (text("port", port),))) for port in sorted(standing.placing.hoses)}
    return [to_ask(said, f"sign.hose_open:{port}") for port, said in hoses.items()]


def _checks_open(standing: "Standing") -> list[Asked]:
    """Ask of all checks at once; each has its name, so that a yes covers none that came open since."""
    words = standing.findings.left_open(standing.placing.circuit)
    named = {f"sign.check_open:{word}": guided()[word].check.title for word in words}

    def put(names: Sequence[str]) -> Wording:
        titles, more = [named[name] for name in names[:_NAMED]], len(names) - _NAMED
        told = [text("checks", ", ".join(titles)), *([count("more", more)] if more > 0 else [])]
        return worded(Sentence("sign.more_checks_open" if more > 0 else "sign.checks_open", tuple(told)))

    return [Asked(tuple(named), put)] if named else []


def _charge_open(standing: "Standing", facts: Facts) -> list[Asked]:
    """Say the judge's newest sentence, where refrigerant is still to be moved by it and nobody decided to leave it."""
    if facts.advice is None or facts.advice.next_step is None or standing.charge_left is not None:
        return []
    way = "add" if facts.advice.next_step.step_kg > 0.0 else "recover"
    says = as_one([worded(Sentence("sign.judge_says")), facts.advice.sentence])
    return [Asked((f"sign.judge_says:{way}",), lambda _: says)]
