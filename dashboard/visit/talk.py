"""What a technician and a lead say to each other, as cards."""

from collections.abc import Iterator
from dataclasses import replace

from dashboard import words
from dashboard.display import Json
from dashboard.sentences import say
from dashboard.visit.cards import Card, Field, Form, Key
from ingest.wire.messages import Role, Visit
from ingest.wire.talk import HoldStands, StopStands, ThreadStands, WantStands


def stop(visit: Visit) -> Json | None:
    """Lay out the stop that fills a technician's screen; None where there is none that they have not acknowledged."""
    it = visit.stop
    if it is None or it.acknowledged_s is not None:
        return None
    return {"id": it.id, "by": it.by, "time": it.delivered_s, "text": words.stop(it)}


def waiting(visit: Visit) -> list[Card]:
    """Make the cards of what waits to be read or answered: a stop, what a lead holds, then the oldest first."""
    return [
        *([_stop(visit.stop)] if visit.stop else []),
        *map(_hold, visit.holds),
        *(
            Card(
                note.id,
                say("talk.note"),
                (note.text,),
                sign=("note", "note"),
                time_s=note.time_s,
                by=note.by,
                keys=(_reply(note.id), _got_it(note.id, "technician")),
            )
            for note in visit.notes
        ),
        *map(_thread, visit.questions),
        *map(_want, visit.wants),
    ]


def _thread(it: ThreadStands) -> Card:
    last = (say("talk.replied", by=it.last.by, text=it.last.text),) if it.last else ()
    got_it = [_got_it(it.id, it.waits_for)] if it.waits_for == "technician" or it.last else []
    return Card(
        it.id,
        say("talk.question") if it.waits_for == "lead" else say("talk.answer"),
        (it.text, *last),
        sign=("note", "note"),
        time_s=it.last.time_s if it.last else it.time_s,
        by=it.by,
        keys=(_reply(it.id), *got_it),
    )


def _got_it(of: str, role: Role) -> Key:
    """Make the key by which somebody says that they have read it: whose turn it is, and nobody else."""
    return Key(say("talk.got_it"), "acknowledge", {"of": of}, main=True, only_for=role)


def _reply(of: str) -> Key:
    """Make the key that opens the form of a reply."""
    form = Card(
        "reply",
        say("talk.reply"),
        fields=(Field("text", say("talk.what_you_say"), "words", needed=True),),
        keys=(Key(say("talk.send"), "reply", {"fields": {"of": of}}, main=True),),
    )
    return Key(say("talk.reply_to_it"), opens=form)


def _want(it: WantStands) -> Card:
    why = Field("text", say("checks.why"), "words", into="", needed=True)
    form = Card("cannot", say("talk.cannot"), fields=(why,), keys=(Key(say("talk.send"), "dismiss", main=True),))
    dismiss = Key(say("talk.cannot_because"), body={"of": it.id}, bare=True, opens=form)
    take = Key(say("talk.take_reading"), "reading", {"fields": {"want": it.id}}, main=True)
    field = Field("photographs", say("talk.photograph"), "photographs", several=True, about={"want": it.id})
    return Card(
        it.id,
        say("talk.wanted", what=words.WANTS[it.what]),
        (it.text,),
        sign=("note", "note"),
        time_s=it.time_s,
        by=it.by,
        fields=(field,) if it.what == "photograph" else (),
        keys=(dismiss, take) if it.what == "reading" else (dismiss,),
    )


def _hold(it: HoldStands) -> Card:
    body = {"fields": {"of": it.id}}
    told = [it.text] if it.text else []
    if it.lets_pass:
        told.append(say("talk.may_once"))
    return Card(
        it.id,
        say("talk.ask_before", before=words.BEFORE[it.before]),
        tuple(told),
        sign=("check", "good") if it.lets_pass else ("warning", "care"),
        time_s=it.time_s,
        by=it.by,
        keys=(
            Key(say("talk.release"), "release", body),
            Key(say("talk.release_once"), "release", {"fields": {"of": it.id, "once": True}}, main=True),
        ),
    )


def _stop(it: StopStands) -> Card:
    """Say how far a stop has come: for the lead who asked for it, and for who looks at it afterwards."""
    return Card(f"stop-{it.id}", say("talk.stop"), tuple(_course(it)), ("warning", "bad"), it.delivered_s, it.by)


def _course(it: StopStands) -> Iterator[str]:
    yield words.stop(it)
    if it.acknowledged_s is not None:
        yield say("talk.stop_acknowledged", by=it.acknowledged_by)
        yield say("talk.stop_stands") if it.released_s is None else say("talk.stop_released", by=it.released_by)
    elif it.seen_s is not None:
        yield say("talk.stop_seen", by=it.seen_by)
    else:
        yield say("talk.stop_delivered")


def forms() -> list[Form]:
    """Make the forms by which something is said; each shows only to who may."""
    said = Field("text", say("talk.what_you_say"), "words", needed=True)
    photographs = Field("photographs", say("talk.photograph"), "photographs", several=True)
    question = Card(
        "question",
        say("talk.ask"),
        (say("talk.readings_go_along"),),
        fields=(said, photographs),
        keys=(Key(say("talk.send"), "question", main=True),),
    )
    stop_at_once = Card(
        "stop",
        say("talk.ask_to_stop"),
        (say("talk.fills_the_screen"),),
        fields=(replace(said, value=say("talk.stop_words")),),  # who must stop somebody does not type first
        keys=(Key(say("talk.stop"), "stop", main=True),),
    )
    wants = tuple((what, named.capitalize()) for what, named in words.WANTS.items())
    want = Card(
        "want",
        say("talk.want"),
        fields=(Field("what", say("talk.want_what"), "choice", options=wants, needed=True), said),
        keys=(Key(say("talk.send"), "want", main=True),),
    )
    before = tuple((name, named.capitalize()) for name, named in words.BEFORE.items())
    hold = Card(
        "hold",
        say("talk.hold"),
        fields=(
            Field("before", say("talk.before_what"), "choice", options=before, needed=True),
            Field("text", say("talk.what_you_say"), "words"),
        ),
        keys=(Key(say("talk.send"), "hold", main=True),),
    )
    note = Card(
        "note",
        say("talk.write_note"),
        fields=(Field("text", say("talk.words"), "words", into="", needed=True),),
        keys=(Key(say("talk.keep"), "note", main=True),),
    )
    return [
        Form("question", say("talk.ask"), (question,)),
        Form("stop", say("talk.stop"), (stop_at_once,)),
        Form("wants", say("talk.want_or_hold"), (want, hold)),
        Form("note", say("talk.write_note"), (note,)),
    ]
