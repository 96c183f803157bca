"""What is kept of a moment and of what people say: readings, notes, and that something was read."""

from ingest.visit.deciding import Facts, Head, RefusedError
from ingest.visit.moment import moment
from ingest.visit.standing import Standing
from ingest.wire.messages import AcknowledgeAsk, Acknowledged, Note, NoteAsk, ReadingAsk, ReadingTaken
from ingest.wire.texts import is_empty


def reading(ask: ReadingAsk, head: Head, standing: Standing, facts: Facts) -> ReadingTaken:
    """Keep all values of this moment, with what is in doubt among them."""
    standing.talk.wants.check(ask.want, "reading")
    return ReadingTaken(*head, **moment(facts)._asdict(), want=ask.want)


def note(ask: NoteAsk, head: Head, _: Standing, __: Facts) -> Note:
    """Keep these words."""
    if is_empty(ask.text):
        raise RefusedError("a note needs a text")
    if ask.at_s is not None and not 0 <= ask.at_s <= head[1]:
        raise RefusedError("a note is about a moment of the trace, which lies before now")
    return Note(*head, text=ask.text.strip(), at_s=ask.at_s)


def acknowledge(ask: AcknowledgeAsk, head: Head, standing: Standing, __: Facts) -> Acknowledged:
    """Keep that a note, a stop or a reply was read. What a lead wrote only a technician has read, and conversely."""
    *_, role = head
    talk = standing.talk
    if role == "lead" and not talk.threads.may_be_read(ask.of, "lead"):
        raise RefusedError(f"no reply to a lead waits under {ask.of!r}; a question is answered by a reply")
    if not (standing.has_note(ask.of) or talk.threads.has(ask.of) or standing.stops.has(ask.of)):
        raise RefusedError(f"there is no note {ask.of!r} to acknowledge, and no question and no stop")
    return Acknowledged(*head, of=ask.of)
