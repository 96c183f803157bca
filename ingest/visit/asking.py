"""Questions and replies: a thread begins with a question or a note, and waits for whoever has not spoken last.

A question waits until a lead has replied; what was replied waits until the other side has read it or says more.
"""

from typing import TYPE_CHECKING

from msgspec.structs import replace

from ingest.visit.deciding import DoubtfulError, Facts, Head, RefusedError, to_ask
from ingest.visit.missing import missing
from ingest.visit.moment import moment
from ingest.wire.messages import Acknowledged, Mark, Note, Question, QuestionAsk, Reply, ReplyAsk, Role
from ingest.wire.talk import Said, ThreadStands
from ingest.wire.texts import is_empty

if TYPE_CHECKING:
    from ingest.visit.standing import Standing

MOST_PHOTOGRAPHS = 10
"""Of one question."""


class Threads:
    """The threads of a visit. open: those that wait for somebody, the longest open first."""

    def __init__(self) -> None:
        self._begun: dict[str, Question | Note] = {}
        self._open: dict[str, ThreadStands] = {}
        self._replied: dict[str, int] = {}
        self._closed: set[str] = set()

    @property
    def open(self) -> list[ThreadStands]:
        """Those that wait for somebody, the one that was opened first before the others."""
        return list(self._open.values())

    @property
    def closed(self) -> int:
        """How many wait for nobody any more."""
        return len(self._closed)

    def has(self, begun: str) -> bool:
        """Whether there is such a question or note in this visit."""
        return begun in self._begun

    def may_be_read(self, begun: str, by: Role) -> bool:
        """Whether a reply stands in such a thread that this side has not read yet."""
        thread = self._open.get(begun)
        return thread is not None and thread.waits_for == by and thread.last is not None

    def take(self, mark: Mark) -> None:
        """Take the next mark."""
        match mark:
            case Question():
                self._begun[mark.id] = mark
                self._open[mark.id] = _begun(mark, "lead")
            case Note():
                self._begun[mark.id] = mark
            case Reply() if mark.of in self._begun:
                self._say(mark)
            case Acknowledged() if mark.role in ("technician", "lead"):
                side: Role = "lead" if mark.role == "lead" else "technician"
                if self.may_be_read(mark.of, side):
                    del self._open[mark.of]
                    self._closed.add(mark.of)

    def _say(self, reply: Reply) -> None:
        others: Role = "technician" if reply.role == "lead" else "lead"
        self._closed.discard(reply.of)
        count = self._replied[reply.of] = self._replied.get(reply.of, 0) + 1
        thread = self._open.get(reply.of) or _begun(self._begun[reply.of], others)
        last = Said(reply.id, reply.by, reply.time_s, reply.text)
        self._open[reply.of] = replace(thread, waits_for=others, replies=count, last=last)


def _begun(mark: Question | Note, waits_for: Role) -> ThreadStands:
    about = (mark.check, tuple(mark.photographs)) if isinstance(mark, Question) else ("", ())
    return ThreadStands(mark.id, mark.by, mark.time_s, mark.text, waits_for, *about)


def question(ask: QuestionAsk, head: Head, standing: "Standing", facts: Facts) -> Question:
    """Ask a lead, with the readings of this moment; name first what is missing, as whoever answers would."""
    if is_empty(ask.text):
        raise RefusedError("a question needs a text")
    if len(ask.photographs) > MOST_PHOTOGRAPHS:
        raise RefusedError(f"photographs names {len(ask.photographs)}; at most {MOST_PHOTOGRAPHS} go with a question")
    standing.photographs.check(ask.photographs)
    said = missing(ask.check, standing.findings.outcomes(), facts)
    if said and not ask.confirmed:
        raise DoubtfulError(to_ask(said))
    return Question(
        *head,
        text=ask.text.strip(),
        check=ask.check,
        photographs=tuple(dict.fromkeys(ask.photographs)),
        **moment(facts)._asdict(),
        missing=said,
    )


def reply(ask: ReplyAsk, head: Head, standing: "Standing", _: Facts) -> Reply:
    """Say something to a question or a note."""
    if is_empty(ask.text):
        raise RefusedError("a reply needs a text")
    if not standing.talk.threads.has(ask.of):
        raise RefusedError(f"there is no question and no note {ask.of!r} in this visit to reply to")
    return Reply(*head, text=ask.text.strip(), of=ask.of)
