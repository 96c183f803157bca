"""The guided checks, as cards; and of each, for its part or circuit, what became of it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import TypeVar, cast

from calc.cautions import Step
from calc.quantities import CHANNELS, QUANTITIES
from calc.units import Kind, System, to_display
from dashboard import words
from dashboard.display import Json
from dashboard.sentences import say
from dashboard.visit.cards import Answering, Card, Field, InIt, Key, Table, laid_out, unit_of
from dashboard.visit.held import held, named
from ingest.wire.checklist import Choice, Figure, Shot, Text
from ingest.wire.messages import About, ByHold, Check, Checklist, Finding, FindingStands, Mark, Outcome, Visit
from ingest.wire.sheet import Capacitor, Contactor, Motor, Part

SIGNS: Mapping[Outcome, tuple[str, str]] = {
    "met": ("check", "good"),
    "not_met": ("cross", "bad"),
    "cannot_tell": ("unknown", "care"),
    "skipped": ("skip", "unsure"),
    "unjudged": ("unknown", "unsure"),
}
"""Of an outcome: an icon and a mood, beside its word."""

_CHOSEN = "chosen "
"""Before the names of what is chosen or written: a figure of the same check may have the same name."""

DERIVED = frozenset(QUANTITIES) - frozenset(CHANNELS)
"""What the rig works out of several channels, such as superheat: a key says itself where it is not known."""

_OF_MOTORS = frozenset({"windings", "start", "motor_amps"})
"""Checks of a part that is a motor; those of capacitors are named after them."""
_OF_A_CONTACTOR = frozenset({"contactor", "contactor_live"})

_OF_A_CAPACITOR = frozenset({"capacitor_by_eye", "capacitor_measured", "capacitor_under_load"})
_MOTOR = "motor"
_LASTS, _MAKING_DEAD = "A", "B"
"""The groups of what is said before anything is opened, and of what comes before every hand in the panel."""
_AT_A_PANEL = frozenset("BCD")
"""The groups of what is done at a panel: it is made dead, worked on, and live again."""

T = TypeVar("T")
"""Of a field: what it begins with, or what it offers."""

_SAID: tuple[Outcome, ...] = ("met", "not_met", "cannot_tell")


def cards(
    checklists: Sequence[Checklist],
    about: About,
    parts: Sequence[Part],
    system: System,
    tables: Mapping[str, tuple[Table, ...]] = MappingProxyType({}),
    offers: Mapping[str, Mapping[str, str]] = MappingProxyType({}),
    found: str = "",
    circuits: Sequence[str] = (),
) -> Json:
    """Lay out the card of every check, by its word. They change with the unit, its parts and what was found in it.

    tables: what is remembered of earlier visits, by the check that asks for it. offers: likewise what may be taken of
    that by a touch, by the name of its figure or text. found: the safety class that the visit found. circuits: of the
    unit.
    """
    in_it = InIt(about.unit.refrigerant, found)
    channels = DERIVED | {channel.name for channel in about.channels}
    return {
        "cards": {
            check.word: laid_out(
                _offering(
                    replace(
                        _card(check, channels, parts, system, circuits),
                        tables=tables.get(check.word, ()),
                        at_a_panel=checklist.group in _AT_A_PANEL,
                    ),
                    offers.get(check.word, {}),
                ),
                in_it,
            )
            for checklist in checklists
            for check in checklist.checks
        }
    }


def _offering(card: Card, offers: Mapping[str, str]) -> Card:
    """Offer what was found last time first; nothing of it stands in a field before it is touched."""
    fields = tuple(
        replace(it, offers=tuple(dict.fromkeys((offers[it.to or it.name], *it.offers))))
        if (it.to or it.name) in offers
        else it
        for it in card.fields
    )
    return replace(card, fields=fields)


_LOOKED_FOR, _PROBES_OFF, _LOOK_FIRST = "looked_for", "probes_off", "look_first"


def _which_circuit(circuits: Sequence[str]) -> Field:
    """Ask at which of several eyes were, wherever the probes are."""
    options = tuple((name, say("visit.circuit", name=name)) for name in circuits)
    return Field("circuit", say("checks.which_circuit"), "choice", options=options, needed=True)


def _card(
    check: Check, channels: frozenset[str], parts: Sequence[Part], system: System, circuits: Sequence[str]
) -> Card:
    head = {"fields": {"check": check.word}}
    photographs = ", ".join(check.photographs)
    return Card(
        check.word,
        check.title,
        (say("checks.met_when", met=check.met),),
        steps=tuple(Step(step) for step in check.steps if step not in check.steps_at.values()),
        apprentice=check.apprentice,
        more=_more(check),
        fields=(
            *([_part(check, parts)] if check.of == "part" else []),
            *([_which_circuit(circuits)] if check.word == _LOOKED_FOR and len(circuits) > 1 else []),
            *(
                _at(check, it.name, _choice(it, check, by_eye=bool(photographs)))
                for it in check.choices
                if not (it.last or _is_told_by_its_part(it, check, parts))
            ),
            *(
                _at(check, figure.name, field) if index == 0 else field
                for figure in check.figures
                for index, field in enumerate(_numbers(figure, check, channels, system))
            ),
            *map(_text, check.texts),
            *([_photographs(check, photographs)] if photographs else []),
            *(_choice(it, check, by_eye=bool(photographs)) for it in check.choices if it.last),
        ),
        keys=(
            *(
                [Key(say("checks.to_probes"), shows="places", only_for="technician")]
                if check.word == _PROBES_OFF
                else []
            ),
            Key(say("checks.skip"), body=head, bare=True, grades=True, opens=_skip()),
            Key(say("checks.leave"), leaves=True, only_for="technician"),
            Key(say("checks.by_eye"), body=head, grades=True, opens=_by_eye()),
            Key(say("checks.record"), "finding", head, main=True, grades=True),
        ),
    )


def _at(check: Check, name: str, field: Field) -> Field:
    """Give a field the step whose cautions stand at it."""
    return replace(field, step=Step(check.steps_at[name])) if name in check.steps_at else field


def _part(check: Check, parts: Sequence[Part]) -> Field:
    """Ask which part of the unit it is of: one of its sheet's of that kind; where it has none, in words, if at all."""
    kind = Contactor if check.word in _OF_A_CONTACTOR else Motor if check.word in _OF_MOTORS else Capacitor
    names = [part.name for part in parts if isinstance(part, kind)]
    if not names:
        return Field("part", say("checks.which_part"), optional=True)
    only = names[0] if len(names) == 1 else ""
    return Field("part", say("checks.which_part"), "choice", options=tuple((name, name) for name in names), value=only)


def _is_told_by_its_part(choice: Choice, check: Check, parts: Sequence[Part]) -> bool:
    """Tell whether the part that is chosen says what is asked: which motor it is, by what its sheet says it drives."""
    motors = [part for part in parts if isinstance(part, Motor)]
    of_a_motor = choice.name == _MOTOR and check.of == "part"
    return of_a_motor and bool(motors) and all(motor.drives in choice.options for motor in motors)


def _photographs(check: Check, what: str) -> Field:
    label = say("checks.photograph", what=what)
    shots = tuple(_answering(shot, check) for shot in check.shots)
    return Field("photographs", label, "photographs", several=True, about={"check": check.word}, shots=shots)


def _answering(shot: Shot, check: Check) -> Answering:
    """Say of a photograph what it answers, before it is taken."""
    choices = {each.name: each for each in check.choices}
    said = (f"{choices[name].label}: {choices[name].options[option]}" for name, option in shot.answers.items())
    return Answering(
        shot.word,
        shot.label,
        {f"{_CHOSEN}{name}": option for name, option in shot.answers.items()},
        say("checks.shot_says", what=" · ".join(said)),
        shot.only,
    )


def _more(check: Check) -> tuple[str, ...]:
    """Tell what follows where it is not met, what is read without typing, and of each rule who says so."""
    sources = (say("checks.source", text=it.text, known=words.KNOWN[it.known]) for it in check.sources)
    not_met = [say("checks.not_met_when", text=check.not_met)] if check.not_met else []
    automatic = [say("checks.automatic", text=check.automatic)] if check.automatic else []
    return say("checks.more"), *not_met, *automatic, *sources


def _skip() -> Card:
    """Ask why a check is skipped: each reason is a key of its own, and skips it by one touch."""
    return Card(
        "skip",
        say("checks.skip_it"),
        fields=(Field("text", say("checks.in_words"), "words"),),
        keys=tuple(
            Key(said, "finding", {"fields": {"outcome": "skipped", "reason": reason}})
            for reason, said in words.SKIPPED.items()
        ),
    )


def _by_eye() -> Card:
    """Ask for an outcome that no rule tells, or for words beside it."""
    outcomes = tuple((outcome, words.OUTCOMES[outcome].capitalize()) for outcome in _SAID)
    return Card(
        "by-eye",
        say("checks.say_it"),
        (say("checks.rules_first"),),
        fields=(
            Field("outcome", say("checks.outcome"), "choice", options=outcomes),
            Field("text", say("checks.in_words"), "words"),
        ),
        keys=(Key(say("checks.record"), "finding", main=True),),
    )


def _numbers(figure: Figure, check: Check, channels: frozenset[str], system: System) -> list[Field]:
    """Ask for a figure once at each place where it is taken.

    What other figures make needed stands open from the first: nothing opens under whoever types these.
    """
    return [
        Field(
            f"{figure.name}.{place}" if place else figure.name,
            " · ".join(filter(None, [figure.label, said])),
            "number",
            into="fields.values",
            unit=unit_of(cast("Kind", figure.quantity), system) if figure.quantity else "",
            quantity=figure.quantity or "number",
            channels=tuple(name for name in _shown_by(figure, place) if name in channels),
            only=figure.only,
            optional=figure.optional,
            offers=tuple(_offered(value, figure.quantity, system) for value in figure.offers),
            live=figure.live,
            not_while=figure.not_while,
            unfolded=figure.one_at_least or (bool(figure.needed_with) and not any(figure.needed_with.values())),
            needed_with=_needed_with(figure, check, place),
            needed_without=tuple(f"{figure.name}.{it}" for it in figure.per if it != place)
            if figure.one_at_least
            else (),
        )
        for place, said in (figure.per or {"": ""}).items()
    ]


def _needed_with(it: Figure | Choice, check: Check, place: str) -> dict[str, tuple[str, ...]]:
    """Name the fields beside which it is needed: choices as they are, figures of the same place."""
    placed = {each.name for each in check.figures if place in each.per}
    return {
        (f"{_CHOSEN}{name}" if said else f"{name}.{place}" if name in placed else name): tuple(said)
        for name, said in it.needed_with.items()
    }


def _offered(value: float, quantity: str, system: System) -> str:
    if not quantity:
        return f"{value:g}"
    shown, unit = to_display(value, cast("Kind", quantity), system, barometric_pressure_pa=0.0)
    return f"{shown:g} {unit}"


def _shown_by(figure: Figure, place: str) -> list[str]:
    return [*figure.channels.get(place, ()), *(figure.channels.get("", ()) if place else ())]


def _choice(choice: Choice, check: Check, *, by_eye: bool) -> Field:
    """Ask for a choice. by_eye: its check has photographs, and what is usual stands only beside one of them."""
    options = tuple(choice.options.items())
    return Field(
        f"{_CHOSEN}{choice.name}",
        choice.label,
        "choice",
        "fields.choices",
        options,
        to=choice.name,
        only=choice.only,
        optional=choice.optional,
        usual=choice.usual,
        usual_when=choice.usual_when,
        known_by={str(fact): option for fact, option in choice.known_by.items()},
        by_eye=by_eye and bool(choice.usual),
        unfolded=choice.unfolded,
        glance=choice.glance,
        photographed=tuple(choice.photographed),
        fails=tuple(choice.fails),
        offered_when={option: str(fact) for option, fact in choice.offered_when.items()},
        needed_with=_needed_with(choice, check, ""),
    )


def _text(text: Text) -> Field:
    first = "days" if text.days else next(iter(text.offers), "")
    return Field(
        f"{_CHOSEN}{text.name}",
        text.label,
        into="fields.choices",
        to=text.name,
        optional=text.optional,
        offers=tuple(text.offers),
        days=tuple(text.days),
        usual=first if text.usual else "",
        unfolded=text.unfolded,
    )


def rows(
    checklists: Sequence[Checklist],
    visit: Visit,
    begins: Mapping[str, Mapping[str, str]],
    marks: Mapping[str, Mark] = MappingProxyType({}),
    offers: Mapping[str, Mapping[str, Mapping[str, str]]] = MappingProxyType({}),
    on_label: Callable[[str, str], Mapping[str, float]] = lambda _check, _part: {},
) -> list[Json]:
    """Lay out a line for every check, and for every part or circuit that it was answered of.

    begins: by the check's word, with what its fields begin, by their names on the wire. marks: by id; what was said
    first of all does not go out of date, so that whoever opens it again corrects it, and loses nothing. offers: what
    may be said by a touch, by the check and the name of its field. on_label: what is known of a label, by the check and
    the part.
    """
    return [
        {
            **_row(check, checklist.group, found, visit, is_asked=index == asked),
            **_held(check, found, visit, marks, on_label),
            "offers": _as_named(check, offers),
            "begins": _as_named(check, begins)
            | _stood(check, checklist.group, found, visit, marks, is_asked=index == asked),
        }
        for checklist in checklists
        for check in checklist.checks
        for stand in [_stand(check, visit)]
        for asked in [_asked(check, stand, visit)]
        for index, found in enumerate(stand)
    ]


def _held(
    check: Check,
    found: FindingStands | None,
    visit: Visit,
    marks: Mapping[str, Mark],
    on_label: Callable[[str, str], Mapping[str, float]],
) -> Json:
    """Give what the rig has of it already; and where that was missing when it was answered, that it is known since."""
    mark = marks.get(found.id) if found and _goes_on(found, visit) else None
    before = mark if isinstance(mark, Finding) else None
    label = on_label(check.word, found.part if found else "")
    there = held(check, before, label)
    since = {name for name in label if before and name not in {**before.values, **before.plated, **before.recalled}}
    if not since or found is None or found.says is None or found.says.kind != "finding.missing":
        return {"held": there}
    words_of = [
        ", ".join(f"{named(check, name)} {there[name][index]}" for name in label if name in since) for index in (0, 1)
    ]
    return {"held": there, "why": [say("checks.known_since", what=what) for what in words_of]}


def _stand(check: Check, visit: Visit) -> list[FindingStands | None]:
    """Give what a check found of each part or circuit; None for what was not answered yet, such as of a new one."""
    found = [it for it in visit.findings if it.check == check.word]
    is_new = check.of == "circuit" and visit.circuit and all(it.circuit not in ("", visit.circuit) for it in found)
    is_of_another_part = check.of == "part" and all(it.outcome in ("met", "skipped") and not it.past for it in found)
    is_asked = check.word in visit.next and (is_new or is_of_another_part)
    return [*found, None] if not found or is_asked else [*found]


def _asked(check: Check, stand: Sequence[FindingStands | None], visit: Visit) -> int | None:
    """Tell which of these is asked for: what was not answered, else what was not met or not told, else the newest."""
    if check.word not in visit.next:
        return None
    open_ones = [
        index for index, it in enumerate(stand) if it is None or it.past or it.outcome in ("not_met", "cannot_tell")
    ]
    return open_ones[-1] if open_ones else len(stand) - 1


def _as_named(check: Check, of_checks: Mapping[str, Mapping[str, T]]) -> dict[str, T]:
    """Name what is of the fields of a check as its card names them."""
    chosen = {it.name for it in check.choices} | {it.name for it in check.texts}
    given = of_checks.get(check.word, {})
    return {f"{_CHOSEN}{name}" if name in chosen else name: value for name, value in given.items()}


def _stood(
    check: Check,
    group: str,
    found: FindingStands | None,
    visit: Visit,
    marks: Mapping[str, Mark],
    *,
    is_asked: bool,
) -> Json:
    """Give what of an earlier answer stands in the fields, as the card names them.

    What was said first of all does not go out of date; and answers that could not tell yet add up, but of what makes
    dead. Of the first look, asked again of what is behind the panel, what it found stays, and that is asked.
    """
    if found is None:
        return {}
    goes_on = _goes_on(found, visit)
    part = {"part": found.part} if goes_on and check.of == "part" else {}
    stays = (goes_on and group != _MAKING_DEAD) or (group == _LASTS and not is_asked)
    said = _said(check, found, marks)
    if check.word == _LOOK_FIRST and is_asked and not stays:
        return {name: answer for name, answer in said.items() if name != f"{_CHOSEN}bypassed"}
    return part | (said if stays else {})


def _said(check: Check, found: FindingStands, marks: Mapping[str, Mark]) -> Json:
    """Give what was answered in a check, as the card names it."""
    mark = marks.get(found.id)
    said = mark.choices if isinstance(mark, Finding) else {}
    names = {it.name for it in check.choices} | {it.name for it in check.texts}
    return {f"{_CHOSEN}{name}": answer for name, answer in said.items() if name in names}


def _goes_on(found: FindingStands, visit: Visit) -> bool:
    """Tell whether what is recorded next goes on with what a check could not tell yet, so that answers add up.

    Of a capacitor that was exchanged since nothing is held beside the one that went in.
    """
    if found.outcome != "cannot_tell" or found.past:
        return False
    later = visit.findings[list(visit.findings).index(found) + 1 :]
    fitted = [it.part for it in later if it.check == "replacement" and it.outcome != "skipped"]
    return found.check not in _OF_A_CAPACITOR or not any(
        "" in (part, found.part) or part == found.part for part in fitted
    )


def _by_hold(it: ByHold) -> list[list[str]]:
    """Say what the HOLD key of a meter takes next, and what came of its last press, in US and in SI units."""
    asks = say("checks.by_hold", number=it.number, of=it.of, label=it.label) if it.name else ""
    return [*([[asks, asks]] if asks else []), *([[it.says.us, it.says.si]] if it.says else [])]


def _row(check: Check, group: str, found: FindingStands | None, visit: Visit, *, is_asked: bool) -> Json:
    of = (found.part or found.circuit) if found else ""
    answered = None if found and found.past and check.word in visit.next else found  # else it is to be made anew
    icon, mood = SIGNS[answered.outcome] if answered else ("", "")
    circuit = (found.circuit if found else visit.circuit) if check.of == "circuit" else ""
    body = {"part": found.part if found else "", "circuit": circuit}
    is_of_key = visit.by_hold is not None and visit.by_hold.check == check.word
    by_hold = visit.by_hold if is_of_key and (is_asked or visit.is_stopped) else None
    return {
        "id": " ".join(filter(None, [check.word, of])),
        "card": check.word,
        "group": group,
        "place": check.place,
        "title": check.title,
        "of": of,
        "body": {name: value for name, value in body.items() if value},
        "goes_on": answered.id if answered and _goes_on(answered, visit) else "",
        "outcome": answered.outcome if answered else "",
        "icon": icon,
        "mood": mood,
        "said": words.OUTCOMES[answered.outcome].capitalize() if answered else "",
        "grade": words.GRADES[answered.grade] if answered and answered.outcome != "skipped" else "",
        "why": [answered.says.us, answered.says.si] if answered and answered.says else [],
        "asks_now": _by_hold(by_hold) if by_hold else [],
        "time": answered.time_s if answered else None,
        "next": is_asked and check.word == next(iter(visit.next), ""),
        "asked": is_asked,
        "apart": bool(check.apart) and check.apart in visit.facts,
        "by_pen": group in _AT_A_PANEL and not (check.steps or check.steps_at),
    }
