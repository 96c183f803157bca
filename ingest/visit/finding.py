"""What a guided check found, decided by its rules: the person's word counts only where none of them tells."""

import dataclasses
import math
from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from msgspec.structs import replace

from calc.estimate import Estimate
from calc.judge.state import State
from calc.mode import Mode
from calc.refrigerants import propagates_flame
from calc.sentences import Part, Sentence, ahead, reading, text
from ingest.visit.answers import AnswerError, Answers, Before, Verdict, find_figure, label_of
from ingest.visit.bounds import check_values
from ingest.visit.checklist import Guided, guided
from ingest.visit.circumstances import CONTENT, Place, place_of
from ingest.visit.cover import CLOSE, COVER, NEVER_OFF, looked_behind
from ingest.visit.deciding import Asked, DoubtfulError, Facts, Head, RefusedError, to_ask
from ingest.visit.grading import away, graded, grades_of, is_linked, needed_by, read_of, spread_of, weakest
from ingest.visit.looked import LOOKED_FOR
from ingest.visit.making_dead import makes_dead
from ingest.visit.moving import mode_now
from ingest.visit.plated import plated, sections_known
from ingest.visit.power import MOTORS, believed, power_in
from ingest.visit.recalled import read_alike, recalled
from ingest.visit.rules import AllOf, Chosen
from ingest.visit.ruling import ruled
from ingest.visit.shots import check_shown
from ingest.visit.until_verdict import SAYS, is_held_back, said_by
from ingest.wire.checklist import Check
from ingest.wire.held_back import LEAD_STOPPED
from ingest.wire.judging import Forecast, Steadiness
from ingest.wire.messages import Finding, FindingAsk, Grade, Outcome, ProposedFinding
from ingest.wire.sheet import Motor
from ingest.wire.texts import LONGEST_TEXT, fault, is_empty, shown
from ingest.wire.wording import Wording, worded

if TYPE_CHECKING:
    from ingest.visit.standing import Standing

MOST_PHOTOGRAPHS = 20
STOOD_S = 1.0
"""So long a lock is on at least before its photograph has come in, or its check is recorded: common practice."""
ISOLATE, PROVE_DEAD = "isolate", "prove_dead"
_NOT_SHOWN = frozenset({"look_first", CONTENT})
"""Their photographs show parts and labels, and what goes by a word only where one was taken of that: an aired room."""
SECTIONS = "sections"
"""The answer that says which sections a capacitor has."""
MOTOR = "motor"
"""The answer that names a motor by what it drives."""
_GREATEST = 1e12


@dataclass(frozen=True, slots=True)
class _Taken:
    """All that counts for a check now: what was asked, what it builds on, and what the unit's sheet says.

    grade: of the whole; grades: of each value. recalled: what was found of the part before, and nobody gave.
    by_photograph: choices that one answered which was taken for that.
    """

    values: Mapping[str, Estimate]
    choices: Mapping[str, str]
    photographs: Sequence[str]
    grade: Grade
    grades: Mapping[str, Grade] = field(default_factory=dict)
    plated: Mapping[str, float] = field(default_factory=dict)
    recalled: Mapping[str, Estimate] = field(default_factory=dict)
    by_photograph: Mapping[str, str] = field(default_factory=dict)


def finding(ask: FindingAsk, head: Head, standing: "Standing", known: Facts, *, seen: bool = False) -> Finding:
    """Keep what a check found.

    seen: the instruments showed it themselves, whatever they show now: its grade is not asked about.
    """
    try:
        one = _named(ask.check)
        standing.talk.wants.check(ask.want, "check")
        _check_names_circuit(ask, known)
        if one.check.of == "circuit" and not ask.circuit:
            ask = replace(ask, circuit=standing.placing.circuit)
        ask = _of_one_motor(ask, one.check, known)
        earlier = _earlier(ask, standing)
        _check_asked(ask, one.check, known)
        standing.photographs.check(ask.photographs)
        check_shown(ask, one.check, earlier, standing)
        if ask.outcome == "skipped":
            return _found(ask, head, None, "skipped", _Taken({}, ask.choices, ask.photographs, ask.grade))
        asked = [] if seen else _ask_of_hands(ask, standing, known)
        if not seen:
            _check_grade(ask, one.check, known, earlier)
        taken = _taken(ask, one.check, known, earlier, graded(ask, one.check, known, seen=seen))
        _check_never_off(one.check, taken, standing)
        taken = _with_sections(taken, ask, standing, known)
        taken = _remembering(taken, ask, known, standing.visit)
        before = _before(ask.circuit, standing, known)
        kept = dataclasses.replace(before, was_seen=True, stops=asks_for_a_stop(known), rig=_against_kept(ask, known))
        before = kept if seen else _beside(before, ask, earlier, taken, standing, known)
        verdict, needed = _told(one, taken, before, standing, known)
        asked += _ask_of_the_photograph(ask, verdict, standing)
        asked += [] if seen else [*_ask_of_rest(one.check, taken.grades, ask, known), *_ask_of_running(ask, known)]
        if asked and not ask.confirmed:
            raise DoubtfulError(*asked)
        grade = weakest(*read_of(one.check, taken.grades, needed), taken.grade)
        taken = dataclasses.replace(taken, grade=_no_better(grade, one, taken))
        if verdict is not None and is_held_back(one.check, verdict, known):
            return _found(ask, head, dataclasses.replace(verdict, says=SAYS), said_by(ask), taken)
        return _found(ask, head, verdict, _outcome(ask, verdict), taken)
    except AnswerError as error:
        raise RefusedError(str(error)) from error


def _named(word: str) -> Guided:
    one = guided().get(word)
    if one is None:
        raise AnswerError(f"check: there is no check {shown(word)!r}; the checklist names them")
    return one


def _check_names_circuit(ask: FindingAsk, known: Facts) -> None:
    """Refuse a look that names no circuit where there are several: eyes were at one, wherever the probes are."""
    if ask.check == LOOKED_FOR and not ask.circuit and len(known.circuits) > 1:
        raise AnswerError(f"circuit is missing: the unit has {', '.join(known.circuits)}; which one was looked at?")


def _check_never_off(check: Check, taken: _Taken, standing: "Standing") -> None:
    """Refuse that a cover was never off which was off, as this visit has it: it is then closed by hands."""
    was_off = standing.findings.cover_was_off
    if check.word == CLOSE and taken.choices.get(COVER) == NEVER_OFF and was_off:
        raise AnswerError(
            f"choices: cover is said to be never off, and by {was_off} it was off at this visit: "
            "say whether it is on again"
        )


def _of_one_motor(ask: FindingAsk, check: Check, known: Facts) -> FindingAsk:
    """Tell of a motor by its part which it is, and by what it drives which part: nobody says both.

    What goes on is of the part that it was of.
    """
    choice = next((each for each in check.choices if each.name == MOTOR), None)
    sheet = known.sheets.get(known.unit.tag)
    if choice is None or sheet is None:
        return ask
    said = ask.choices.get(MOTOR, "")
    motors = [part for part in sheet.parts if isinstance(part, Motor)]
    if not ask.part:
        driven = [motor.name for motor in motors if motor.drives == said]
        return replace(ask, part=driven[0]) if len(driven) == 1 and not ask.builds_on else ask
    drives = next((motor.drives for motor in motors if motor.name == ask.part), "")
    if said and drives and said != drives:
        raise AnswerError(f"choices: motor is {said}, and {shown(ask.part)} drives {drives}: leave one of them out")
    return replace(ask, choices={**ask.choices, MOTOR: drives}) if not said and drives in choice.options else ask


def _no_better(grade: Grade, one: Guided, taken: _Taken) -> Grade:
    """Grade it no better than a person's word, where a rule goes by an answer that nothing but a person tells."""
    inner = [each for rule in one.rules if isinstance(rule, AllOf) for each in rule.rules]
    by_word = {
        rule.choice
        for rule in (*one.rules, *inner)
        if isinstance(rule, Chosen) and rule.graded and rule.choice in taken.choices
    }
    if not by_word:
        return grade
    is_shown = by_word <= taken.by_photograph.keys() or one.check.word not in _NOT_SHOWN
    answer: Grade = "seen" if taken.photographs and is_shown else "said"
    return weakest({"figures": grade, "answer": answer}, ["figures", "answer"], grade)


def _ask_of_hands(ask: FindingAsk, standing: "Standing", known: Facts) -> list[Asked]:
    """Ask first where hands were in the panel and what makes it dead is open, or the rig itself reads power."""
    is_live = power_in(believed(known.readings)) is not None
    still = standing.findings.before_hands(
        ask.check, is_live=is_live, goes_on=ask.choices.get(COVER) == "on", behind=looked_behind(ask)
    )
    titles = ", ".join(guided()[word].check.title for word in still)
    return [to_ask(worded(Sentence("question.hands_in_the_panel", (text("checks", titles),))))] if still else []


def _ask_of_the_photograph(ask: FindingAsk, verdict: Verdict | None, standing: "Standing") -> list[Asked]:
    """Ask first where a panel would be closed as in a photograph that nobody took: it is on no page alone."""
    if ask.check != CLOSE or verdict is None or verdict.told != "met" or ask.choices.get(COVER) == NEVER_OFF:
        return []
    title = standing.findings.without_photograph()
    return [to_ask(worded(Sentence("question.no_photograph", (text("check", title),))))] if title else []


def _ask_of_rest(check: Check, grades: Mapping[str, Grade], ask: FindingAsk, known: Facts) -> list[Asked]:
    """Ask first where what is of another moment than one of running is typed while it runs; what is live is refused."""
    drawn = power_in({name: it for name, it in believed(known.readings).items() if name in MOTORS})
    if not known.runs and drawn is None:
        return []
    names = [name for name in ask.values if find_figure(check, name)[0].not_while == "runs"]
    if live := [name for name in names if grades[name] == "measured"]:
        raise AnswerError(
            f"values: {', '.join(live)} is measured now, while it runs or draws current: at rest was expected. Read it "
            "before the unit starts, or type what was read then"
        )
    labels = ", ".join(label_of(*find_figure(check, name)) for name in names)
    return [to_ask(worded(Sentence("question.rest_while_it_runs", (text("what", labels),))))] if names else []


def _ask_of_running(ask: FindingAsk, known: Facts) -> list[Asked]:
    """Ask first where what only one that runs shows is said of a motor that stands, by what the rig reads of it."""
    motor = ask.choices.get(MOTOR, "compressor")
    rig = {name: it for name, it in believed(known.readings).items() if name.startswith(f"{motor}_current")}
    stands = (motor == "compressor" and known.runs is False) or (bool(rig) and power_in(rig) is None)
    if not stands or known.runs or not _says_it_runs(ask):
        return []
    read = next(iter(rig.values()), Estimate(0.0, 0.0))
    parts = (text("motor", motor.replace("_", " ")), reading("found", read.value, read.expanded(), "current"))
    kind = "question.stands_by_its_amps" if rig else "question.stands"
    return [to_ask(worded(Sentence(kind, parts if rig else parts[:1])))]


def _says_it_runs(ask: FindingAsk) -> bool:
    match ask.check:
        case "start":
            return ask.choices.get("course") == "ran"
        case "motor_amps" | "joint_drop":
            return any(name.partition(".")[0] == "amps" for name in ask.values)
        case "contactor_live":
            return ask.choices.get("when_called") == "in" or any(name.startswith("drop.") for name in ask.values)
    return False


def _earlier(ask: FindingAsk, standing: "Standing") -> Finding | None:
    """Find what an ask builds on: the newest finding of the same check and part or circuit."""
    if not ask.builds_on:
        return None
    newest = standing.findings.newest(ask.check, ask.part or ask.circuit)
    if newest is None or newest.id != ask.builds_on:
        stands = "none stands" if newest is None else f"{newest.id!r} is the newest"
        raise AnswerError(f"builds_on: {shown(ask.builds_on)!r} is not the newest finding of {ask.check}: {stands}")
    if standing.findings.is_of_old_part(newest):
        raise AnswerError(f"builds_on: {shown(ask.builds_on)!r} was found of the part that was exchanged since")
    if newest.outcome == "skipped":
        raise AnswerError(f"builds_on: {shown(ask.builds_on)!r} was skipped, and holds nothing")
    if standing.findings.proves_nothing(newest):
        raise AnswerError(
            f"builds_on: {shown(ask.builds_on)!r} proves nothing any more: since it was recorded there was power, or a "
            "lock, or the visit was left alone. Begin the check anew"
        )
    return newest


def _taken(ask: FindingAsk, check: Check, known: Facts, earlier: Finding | None, grades: Mapping[str, Grade]) -> _Taken:
    """Put together what counts: a new value stands in the place of an earlier one of its name."""
    values = {name: _estimate(name, ask, check, known, grades[name]) for name in ask.values}
    by_photograph = dict(ask.by_photograph)
    choices, photographs = dict(ask.choices), list(ask.photographs)
    if earlier is not None:
        spreads = earlier.standard_uncertainties
        before = {name: Estimate(value, spreads.get(name, 0.0)) for name, value in earlier.values.items()}
        values, choices = before | values, {**earlier.choices, **choices}
        by_photograph = {
            name: it for name, it in earlier.by_photograph.items() if choices[name] == earlier.choices.get(name)
        } | by_photograph
        grades = {**grades_of(earlier), **grades}
        photographs = [*earlier.photographs, *photographs]
    sheet = known.sheets.get(known.unit.tag)
    said = {} if sheet is None else plated(check.word, ask.part, choices, sheet)
    untyped = {name: value for name, value in said.items() if name not in values}
    return _Taken(
        values, choices, tuple(dict.fromkeys(photographs)), ask.grade, grades, untyped, by_photograph=by_photograph
    )


def _with_sections(taken: _Taken, ask: FindingAsk, standing: "Standing", known: Facts) -> _Taken:
    """Put beside it which sections a capacitor has, where nobody said that and the visit knows it."""
    discharged = standing.findings.newest("discharge", ask.part) or standing.findings.newest("discharge")
    said = "" if discharged is None else discharged.choices.get(SECTIONS, "")
    there = sections_known(ask.check, ask.part, known.sheets.get(known.unit.tag), said)
    return dataclasses.replace(taken, choices={**there, **taken.choices})


def _remembering(taken: _Taken, ask: FindingAsk, known: Facts, visit: str) -> _Taken:
    """Put beside it what was found of the same part before; what somebody gave, or the sheet has, is taken first."""
    there = dict(taken.plated) | {name: each.value for name, each in taken.values.items()}
    found = recalled(ask.check, ask.part, taken.choices, there, known, visit)
    there |= {name: each.value for name, each in found.items()}
    return dataclasses.replace(taken, recalled=found | read_alike(ask.check, taken.choices, there))


def _told(
    one: Guided, taken: _Taken, before: Before, standing: "Standing", known: Facts
) -> tuple[Verdict | None, list[str]]:
    """Tell what the rules come to, and which of the values they need for it."""
    sheet = known.sheets.get(known.unit.tag)
    place = place_of(known.unit, known.readings, sheet)
    if one.check.word == CONTENT and propagates_flame(taken.choices.get("safety_class", "")):
        place = Place(is_flammable=True, is_three_phase=place.is_three_phase)
    if one.check.word == PROVE_DEAD and taken.choices.get("phases") == "three":
        place = Place(is_flammable=place.is_flammable, is_three_phase=True)
    so = standing.findings.facts(place)
    plated_values = {name: Estimate(value, 0.0) for name, value in taken.plated.items()}
    beside = plated_values | dict(taken.recalled)
    counting = [it for it in taken.photographs if not (makes_dead(one.check.word) and standing.findings.is_past(it))]
    photographs = standing.photographs.of_check(counting, one.check.word)

    def rule(values: Mapping[str, Estimate]) -> Verdict | None:
        known_now = beside | dict(values)
        answers = Answers(one.check, known_now, taken.choices, photographs, so, known.unit, before)
        return ruled(one.rules, answers)

    verdict = rule(taken.values)
    return verdict, needed_by(rule, taken.values, verdict)


def _beside(
    before: Before, ask: FindingAsk, earlier: Finding | None, taken: _Taken, standing: "Standing", known: Facts
) -> Before:
    """Put beside it what the rig reads at this moment, of the circuit in view; nothing is said against that."""
    if ask.circuit and ask.circuit != standing.placing.circuit:
        return before
    rig, since_s = believed(known.readings), _locked_s(ask, earlier, standing)
    awaited = {name for name in rig if known.read_s.get(name, known.readings[name].time_s) < since_s}
    return dataclasses.replace(
        before,
        unsettled={name: why_unsettled(name, known) for name in _unsettled(ask, earlier, standing, known)},
        stood=_stood(ask, standing),
        read={
            name: Estimate(rig[name].value, 0.0) if taken.grades[name] == "measured" else rig[name]
            for name in ask.values.keys() & rig.keys()
        },
        rig={name: it for name, it in rig.items() if name not in awaited},
        awaited=awaited,
        unsaid=standing.placing.unsaid,
        runs=known.runs,
        heats=mode_now(known) is Mode.HEATING,
        stops=asks_for_a_stop(known),
    )


def _against_kept(ask: FindingAsk, known: Facts) -> dict[str, Estimate]:
    """Give what the rig reads now against what the instruments saw earlier: no proof outlives the power that is there.

    Of any other check what was seen counts for its own moment.
    """
    return believed(known.readings) if makes_dead(ask.check) else {}


def _locked_s(ask: FindingAsk, earlier: Finding | None, standing: "Standing") -> float:
    """Tell since when the lock is on by what shows it [s]: its photograph, and later the check of it.

    By the clock that nobody sets: one that is set back would call all that is read from then on read before the lock.
    Only what is read after that proves it dead. It stood for a moment before it was recorded: who sees it and goes on
    at once is not to wait for the next reading. Of any other check, whatever is read counts.
    """
    if ask.check == ISOLATE:
        photographs = [*(earlier.photographs if earlier else ()), *ask.photographs]
        shown_by = standing.photographs.newest(photographs, ISOLATE)
        return standing.at_s(shown_by) - STOOD_S if shown_by else 0.0
    isolated = standing.findings.newest(ISOLATE) if ask.check == PROVE_DEAD else None
    return standing.at_s(isolated.id) - STOOD_S if isolated is not None and isolated.outcome == "met" else 0.0


def asks_for_a_stop(known: Facts) -> bool:
    """Tell whether an alarm stands, or the advice is to stop it, as far as that may be told."""
    advice = known.advice
    return advice is not None and (advice.state == State.STOP or bool(advice.alarms))


_BEFORE_A_MOVE = frozenset(
    f"headline.{kind}"
    for kind in ("condition", "some_cause", "held_back", "several", "renew", "no_charge", "table_alone")
)
"""Sentences of a look without which nobody knows what to move, at a circuit that has settled."""


def asks_of_charge(known: Facts) -> bool:
    """Tell whether the advice is to move refrigerant, or to look before that; not in a blind exercise.

    While a lead's stop stands nobody can tell, and nothing is closed.
    """
    advice = known.advice
    if advice is not None and advice.sentence.kind == LEAD_STOPPED:
        return True
    if advice is None or known.is_blind:
        return False
    return advice.state == State.MOVE or (advice.state == State.LOOK and advice.sentence.kind in _BEFORE_A_MOVE)


def _unsettled(ask: FindingAsk, earlier: Finding | None, standing: "Standing", known: Facts) -> AbstractSet[str]:
    """Name what has not settled, by what the rig reads now of this circuit; none where nothing but words is added."""
    is_old = earlier is not None and not ask.values
    if is_old and earlier is not None and ask.choices.get("settled") in (None, earlier.choices.get("settled")):
        return frozenset()
    is_in_view = not ask.circuit or ask.circuit == standing.placing.circuit
    return known.unsettled & known.readings.keys() if is_in_view else frozenset()


def _stood(ask: FindingAsk, standing: "Standing") -> Mapping[str, float]:
    """Give what the rig itself proposes of the same check and circuit, seen since its last move, and not answered."""
    moved_s = standing.moved_s(ask.circuit or standing.placing.circuit)
    seen = [
        it.what.values
        for it in standing.proposals.all_waiting
        if isinstance(it.what, ProposedFinding) and (it.what.check, it.what.circuit) == (ask.check, ask.circuit)
        if moved_s is None or it.from_s > moved_s
    ]
    return seen[-1] if seen else {}


def why_unsettled(name: str, known: Facts) -> Sentence:
    """Say why the judge does not call a figure settled, and for how long it moves yet, as far as that is told."""
    advice = known.advice
    steadiness = advice.steadiness.get(name) if advice else None
    match steadiness:
        case Steadiness(state="settled"):
            return Sentence("unsettled.not_at_work")
        case Steadiness(state="settling", forecast=Forecast(seconds=left_s)):
            return Sentence("unsettled.moves", (ahead("left", left_s),))
        case Steadiness(state="unknown", reason=Wording(kind="condition.at_rest")):
            return Sentence("unsettled.at_rest")
        case Steadiness(state="not_steady", reason=Wording(kind=kind, parts=parts)):
            if advice is None or advice.awaited is None:
                return Sentence(kind, parts)
            reason = Part("reason", "sentence", terms=(kind,))
            return Sentence("unsettled.more_later", (*parts, ahead("left", advice.awaited.seconds_left), reason))
    return Sentence("unsettled.unknown")


def _before(circuit: str, standing: "Standing", known: Facts) -> Before:
    """Tell what the visit knows of a circuit. Whatever went in at one visit is one addition, in however many steps."""
    moved = standing.moved
    now = moved.ledgers.sums(circuit)
    additions = sum(any(entry.sign > 0 for entry in entries) for entries in moved.earlier(circuit))
    return Before(
        standing.findings.outcomes(),
        additions + (now.added_kg > 0.0),
        now.net_kg,
        locks=standing.findings.locks,
        isolated=standing.findings.has_been_isolated,
        site_pa=known.site_pa,
        was=standing.read_before(circuit),
    )


def _check_asked(ask: FindingAsk, check: Check, known: Facts) -> None:
    """Refuse what no such check asks for."""
    if ask.outcome == "skipped" and not ask.reason:
        raise AnswerError("reason is empty: a check is skipped for a reason, such as not_fitted or not_reachable")
    if ask.outcome == "skipped" and ask.reason == "other" and is_empty(ask.text):
        raise AnswerError("text is empty: a reason that is none of the others was expected in words")
    if ask.outcome != "skipped" and ask.reason:
        raise AnswerError("reason is given, and the check is not skipped")
    if len(ask.photographs) > MOST_PHOTOGRAPHS:
        raise AnswerError(f"photographs: {len(ask.photographs)} are named; at most {MOST_PHOTOGRAPHS} are kept")
    _check_of(ask, check, known)
    _check_answers(ask.values, ask.choices, check)
    for name, accuracy in ask.accuracies.items():
        if name not in ask.values or not 0 <= accuracy < _GREATEST:
            raise AnswerError(f"accuracies: {shown(name)!r} was expected to be a value, and its ± limit 0 or more")


def _check_of(ask: FindingAsk, check: Check, known: Facts) -> None:
    """Refuse a part or a circuit that the unit has not, or that the check is not of."""
    for of, named, there in (("part", ask.part, known.parts), ("circuit", ask.circuit, known.circuits)):
        if named and check.of != of:
            raise AnswerError(f"{of}: {check.word} is of {check.of or 'the unit'}")
        if named and there and named not in there:
            raise AnswerError(f"{of}: this unit has no {shown(named)!r}; it has {', '.join(there)}")


def _check_answers(values: Mapping[str, float], choices: Mapping[str, str], check: Check) -> None:
    for name, value in values.items():
        find_figure(check, name)
        if not (math.isfinite(value) and abs(value) < _GREATEST):
            raise AnswerError(f"values: {name} is {value:g}, which is no sound number")
    check_values(check, values)
    options = {choice.name: choice.options for choice in check.choices}
    texts = {each.name for each in check.texts}
    for name, chosen in choices.items():
        if name in texts:
            wrong = fault(chosen, LONGEST_TEXT, several_lines=True) or ("is empty" if is_empty(chosen) else "")
            if wrong:
                raise AnswerError(f"choices: {name} {wrong}")
        elif name not in options:
            known = ", ".join(sorted({*options, *texts}))
            raise AnswerError(f"choices: {check.word} has no {shown(name)!r}; it has {known or 'none'}")
        elif chosen not in options[name]:
            raise AnswerError(f"choices: {name} is {shown(chosen)!r}; one of {', '.join(options[name])} was expected")


def _check_grade(ask: FindingAsk, check: Check, known: Facts, earlier: Finding | None) -> None:
    """Refuse a grade that the evidence has not; what it builds on counts."""
    if earlier is not None and earlier.grade == ask.grade:
        return
    if ask.grade == "seen" and not ask.photographs:
        raise AnswerError("grade: seen is by a photograph, and none is named; without one it is said")
    if ask.grade == "typed" and not ask.values:
        raise AnswerError("grade: typed is read off a display, and no value is given; without one it is said")
    if ask.grade == "measured" and not any(is_linked(check, name, known) for name in ask.values):
        why = away(check, ask.values, known)
        raise AnswerError(
            f"grade: measured is by a linked instrument beyond doubt, and none here measures it{why and f': {why}'}"
        )


def _estimate(name: str, ask: FindingAsk, check: Check, known: Facts, grade: Grade) -> Estimate:
    """Give a value with its uncertainty: as said, else of the channel that measures it, else what is usual."""
    value = float(ask.values[name])
    if name in ask.accuracies:
        return Estimate(value, ask.accuracies[name] / 2)
    spread = spread_of(check, name, known) if grade == "measured" else None
    if spread is not None:
        return Estimate(value, spread)
    return _usual(name, value, check)


def _usual(name: str, value: float, check: Check) -> Estimate:
    """Take the ± limit that is usual for it."""
    figure, _ = find_figure(check, name)
    return Estimate(value, (figure.accuracy + figure.accuracy_share * abs(value)) / 2)


def _outcome(ask: FindingAsk, verdict: Verdict | None) -> Outcome:
    """Give the outcome: the rules', and the person's where none tells; nobody says met where a rule lacks something."""
    if verdict is None:
        if not ask.outcome:
            raise AnswerError("outcome is empty: no rule tells here, so met, not_met or cannot_tell was expected")
        return ask.outcome
    if not ask.outcome or ask.outcome == verdict.told:
        return verdict.told
    if verdict.lacks and ask.outcome == "not_met":
        return ask.outcome
    why = f": {verdict.says}" if verdict.says else ""
    raise RefusedError(f"outcome is {ask.outcome}, and by its rule the check is {verdict.told.replace('_', ' ')}{why}")


def _found(ask: FindingAsk, head: Head, verdict: Verdict | None, outcome: Outcome, taken: _Taken) -> Finding:
    return Finding(
        *head,
        text=ask.text.strip(),
        check=ask.check,
        grade=taken.grade,
        outcome=outcome,
        said=ask.outcome,
        builds_on=ask.builds_on,
        values={name: each.value for name, each in taken.values.items()},
        grades=dict(taken.grades),
        accuracies=dict(ask.accuracies),
        plated=dict(taken.plated),
        recalled={name: each.value for name, each in taken.recalled.items()},
        standard_uncertainties={
            name: float(f"{each.standard_uncertainty:.4g}")
            for name, each in (*taken.values.items(), *taken.recalled.items())
            if each.standard_uncertainty
        },
        choices=dict(taken.choices),
        photographs=tuple(dict.fromkeys(taken.photographs)),
        by_photograph=dict(taken.by_photograph),
        part=ask.part,
        circuit=ask.circuit,
        reason=ask.reason,
        says=None if verdict is None or verdict.says is None else worded(verdict.says),
        want=ask.want,
    )
