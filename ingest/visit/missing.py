"""Which measurement is missing that whoever answers a question would ask for first: named before it is sent."""

from collections.abc import Container, Iterator

from calc.sentences import Part, Sentence, term, text
from ingest.visit.checklist import guided
from ingest.visit.deciding import Facts, RefusedError
from ingest.wire.texts import shown
from ingest.wire.wording import Wording, worded

_FIGURES = {
    "superheat": ("suction_pressure", "suction_line_temperature"),
    "subcooling": ("liquid_pressure", "liquid_line_temperature"),
}
"""What each needs to be measured (`ingest.derive`)."""

_SHOWS_CHARGE = {"fixed_orifice": "superheat", "txv": "subcooling", "eev": "subcooling"}
"""Which figure shows the charge, by the metering device (California Title 24, RA3.2)."""


def missing(check: str, outcomes: Container[str], facts: Facts) -> Wording | None:
    """Name what is missing; None where nothing is. check: that the question is about, or empty. outcomes: by check.

    Raises:
        RefusedError: there is no such check.

    """
    if check:
        about = guided().get(check)
        if about is None:
            raise RefusedError(f"check: there is no check {shown(check)!r}; the checklist names them")
        return (
            None if check in outcomes else worded(Sentence("question.check_open", (text("about", about.check.title),)))
        )
    for said in (*_not_measured(facts), *_advised(facts)):
        return worded(said)
    return None


def _not_measured(facts: Facts) -> Iterator[Sentence]:
    """Name the channels without which the figure that shows the charge is not known; both where that is unknown."""
    shows = _SHOWS_CHARGE.get(facts.unit.metering_device)
    for figure in (shows,) if shows else _FIGURES:
        lacking = [name for name in _FIGURES[figure] if not _is_measured(name, facts)]
        if lacking:
            yield Sentence("question.not_measured", (term("lacking", *lacking), term("about", figure)))


def _is_measured(name: str, facts: Facts) -> bool:
    reading = facts.readings.get(name)
    return reading is not None and reading.value is not None and reading.quality not in ("elsewhere", "stale")


def _advised(facts: Facts) -> Iterator[Sentence]:
    """Name what the newest advice says to do about a doubt, or to look at next."""
    if facts.advice is None:
        return
    yield from (_with("question.in_doubt", doubt.fix) for doubt in facts.advice.doubts)
    yield from (_with("question.next_check", cause.next_check) for cause in facts.advice.causes)


def _with(kind: str, step: Wording) -> Sentence:
    """Say it with a sentence of the advice in it."""
    return Sentence(kind, (Part("asked_first", "sentence", terms=(step.kind,)), *step.parts))
