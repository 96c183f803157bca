"""The guided checks and their rules, from the files in `checks/`: read once, and refused where they do not fit.

A file is one group: its checks, as they travel (`ingest.wire.checklist`), and under `rules`, by the check's word, when
each is met (`ingest.visit.rules`). What is read is shipped with the program, as calc's tables are.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import msgspec
from msgspec.structs import replace

from calc.cautions import Step
from calc.quantities import QUANTITIES
from calc.sentences import ENGLISH
from calc.units import kinds
from ingest.visit.rule_table import RULES
from ingest.visit.rules import Alike, AllOf, Below, Between, Called, Chosen, Given, Rule, ShareOf
from ingest.wire.checklist import Check, Checklist, Choice, Figure

GROUPS = ("a_before", "b_making_dead", "c_electrical_dead", "d_electrical_live", "e_refrigerant", "f_closing")


class ChecklistError(ValueError):
    """A file of checks cannot be used: says which check, what is wrong, and what would do."""


class GroupFile(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a file holds."""

    group: str
    title: str
    checks: Sequence[Check]
    rules: Mapping[str, Sequence[Rule]]


@dataclass(frozen=True, slots=True)
class Guided:
    """A check with its rules."""

    check: Check
    rules: Sequence[Rule]


@cache
def checklists() -> tuple[Checklist, ...]:
    """Give the groups as they travel, in order.

    >>> [group.group for group in checklists()]
    ['A', 'B', 'C', 'D', 'E', 'F']
    """
    return tuple(Checklist(file.group, file.title, file.checks) for file in _shipped())


@cache
def guided() -> Mapping[str, Guided]:
    """Give every check with its rules, by its word, in order.

    >>> guided()["prove_dead"].check.place
    'B2'
    """
    found: dict[str, Guided] = {}
    for file in _shipped():
        for check in file.checks:
            if check.word in found:
                raise ChecklistError(f"{check.word} stands twice")
            found[check.word] = Guided(check, file.rules[check.word])
    return found


@cache
def _shipped() -> tuple[GroupFile, ...]:
    folder = files("ingest.visit").joinpath("checks")
    return tuple(read(folder.joinpath(f"{name}.toml").read_bytes(), name) for name in GROUPS)


def read(content: bytes, name: str) -> GroupFile:
    """Read one file.

    Raises:
        ChecklistError: it is no TOML, or does not fit together.

    """
    try:
        file = msgspec.toml.decode(content, type=GroupFile)
    except msgspec.MsgspecError as error:
        raise ChecklistError(f"{name}.toml: {error}") from error
    wrong = [*_unknown(msgspec.toml.decode(content), msgspec.to_builtins(file), name), *_wrong(file)]
    if wrong:
        raise ChecklistError(f"{name}.toml: {'; '.join(wrong)}")
    return replace(file, checks=[_with_fails(check, file.rules[check.word]) for check in file.checks])


def _with_fails(check: Check, rules: Sequence[Rule]) -> Check:
    """Tell of each choice by which of its options the check is not met, so that a page can say it before."""
    fails = {rule.choice: rule.not_met for rule in rules if isinstance(rule, Chosen) and rule.not_met}
    return replace(check, choices=[replace(it, fails=fails.get(it.name, ())) for it in check.choices])


_WORDS = frozenset({"title", "met", "not_met", "automatic", "apprentice", "label"})
_TABLES_OF_WORDS = frozenset({"options", "per"})
_LISTS_OF_WORDS = frozenset({"photographs", "offers"})


def words(checklist: Checklist) -> dict[str, str]:
    """Give every text of a group that people read, by where it stands: what a second language writes anew.

    >>> [text for key, text in words(checklists()[1]).items() if key == "B.prove_dead.title"]
    ['Prove dead']

    """
    return dict(_words(msgspec.to_builtins(checklist), checklist.group))


def reworded(checklist: Checklist, said: Mapping[str, str]) -> Checklist:
    """Lay another language over a group. said: its words, by the keys of `words`.

    Raises:
        ChecklistError: one is missing, or is of nothing.

    """
    known = words(checklist)
    wrong = [f"{key} has no words" for key in known if key not in said]
    wrong += [f"{key} is no key" for key in said if key not in known]
    if wrong:
        raise ChecklistError("; ".join(wrong))
    plain = msgspec.to_builtins(checklist)
    return msgspec.convert(_reworded(plain, checklist.group, said), Checklist)


def _words(node: object, where: str) -> Iterator[tuple[str, str]]:
    for key, value, at in _places(node, where):
        if isinstance(value, str):
            if _is_read(key, where):
                yield at, value
        else:
            yield from _words(value, at)


def _reworded(node: object, where: str, said: Mapping[str, str]) -> object:
    new = {
        key: said.get(at, value) if isinstance(value, str) else _reworded(value, at, said)
        for key, value, at in _places(node, where)
    }
    return new if isinstance(node, dict) else list(new.values()) if isinstance(node, list) else node


def _places(node: object, where: str) -> Iterator[tuple[str, object, str]]:
    """Name what is in a table or a list, and where it stands: by its word or name, or its number."""
    if isinstance(node, dict):
        yield from ((key, value, where if key == "checks" else f"{where}.{key}") for key, value in node.items())
    elif isinstance(node, list):
        for number, value in enumerate(node, 1):
            named = value.get("word", number) if isinstance(value, dict) else number
            yield str(number), value, f"{where}.{named}"


def _is_read(key: str, where: str) -> bool:
    """Whether people read a text: by its key, as one of a table of words, a photograph or a source."""
    kind = where.rpartition(".")[2]
    return key in _WORDS or kind in _TABLES_OF_WORDS | _LISTS_OF_WORDS or (key == "text" and "sources" in where)


def _unknown(written: object, known: object, where: str) -> Iterator[str]:
    """Name the keys that nothing reads: on the wire unknown ones are skipped, in a file they are a mistake."""
    if isinstance(written, dict) and isinstance(known, dict):
        for key, value in written.items():
            if key not in known and value not in ("", False, [], {}):
                yield f"{where}.{key} is no key"
            yield from _unknown(value, known.get(key), f"{where}.{key}")
    if isinstance(written, list) and isinstance(known, list):
        for number, (value, one) in enumerate(zip(written, known, strict=True), 1):
            yield from _unknown(value, one, f"{where}[{number}]")


def _wrong(file: GroupFile) -> Iterator[str]:
    words = [check.word for check in file.checks]
    yield from (f"rules are given for {word}, which is no check" for word in file.rules if word not in words)
    for check in file.checks:
        rules = file.rules.get(check.word, ())
        if not rules:
            yield f"{check.word} has no rules"
        if not check.place.startswith(file.group):
            yield f"{check.word} stands at {check.place}, in group {file.group}"
        yield from (f"{check.word}: {wrong}" for wrong in (*_wrong_check(check), *_wrong_rules(check, rules)))


def _wrong_check(check: Check) -> Iterator[str]:
    names = [f"{figure.name}.{of}" for figure in check.figures for of in figure.per or ("",)]
    chosen = [*(each.name for each in check.choices), *(each.name for each in check.texts)]
    for several in (names, chosen):
        yield from (f"{name} stands twice" for name in set(several) if several.count(name) > 1)
    yield from (f"{step} is no step of the cautions" for step in check.steps if step not in list(Step))
    yield from (f"{step} is no step of {check.word}" for step in check.steps_at.values() if step not in check.steps)
    asked = {*(each.name for each in check.choices), *(each.name for each in check.figures)}
    yield from (f"cautions stand at {name}, which is not asked for" for name in check.steps_at if name not in asked)
    yield from (
        f"{each.usual} is no option of {each.name}"
        for each in check.choices
        if each.usual and each.usual not in each.options
    )
    yield from (
        f"{option} is photographed, and is no option of {each.name}, or the check has no photographs"
        for each in check.choices
        for option in each.photographed
        if option not in each.options or not check.photographs
    )
    yield from (
        f"{option} is known by {fact}, and is no option of {each.name}"
        for each in check.choices
        for fact, option in each.known_by.items()
        if option not in each.options
    )
    yield from (
        f"{option} is offered where something is so, and is no option of {each.name}"
        for each in check.choices
        for option in each.offered_when
        if option not in each.options
    )
    yield from _wrong_shots(check)
    yield from _wrong_needs(check)
    glances = [each for each in check.choices if each.glance]
    yield from (f"{each.glance} is no option of {each.name}" for each in glances if each.glance not in each.options)
    yield from (f"{each.name} is usual, and needs no glance" for each in glances if each.usual)
    yield from (f"{each.name} is said at a glance, and a life hangs on {check.word}" for each in glances if check.apart)
    yield from (
        f"{each.name} has a usual answer, and offers none"
        for each in check.texts
        if each.usual and not (each.offers or each.days)
    )
    yield from (
        f"{figure.name} is live, and a multimeter's leads may lie anywhere"
        for figure in check.figures
        if figure.live and any(name.startswith("multimeter") for names in figure.channels.values() for name in names)
    )
    for figure in check.figures:
        if figure.quantity and figure.quantity not in kinds():
            yield f"{figure.name} is a {figure.quantity}, which is no kind of unit"
        for of, channels in figure.channels.items():
            if of and of not in figure.per:
                yield f"{figure.name} has channels for {of}, of which it is not taken"
            yield from (
                f"{figure.name} names no channel {channel}" for channel in channels if channel not in QUANTITIES
            )


def _wrong_shots(check: Check) -> Iterator[str]:
    options = {each.name: set(each.options) for each in check.choices}
    words = [shot.word for shot in check.shots]
    yield from (f"the shot {word} stands twice" for word in set(words) if words.count(word) > 1)
    yield from (
        f"the shot {shot.word} answers {name} by {option}, which is no option of it"
        for shot in check.shots
        for name, option in shot.answers.items()
        if option not in options.get(name, set())
    )
    yield from (f"the shot {shot.word} answers nothing" for shot in check.shots if not shot.answers)
    if check.shots and not check.photographs:
        yield "it has shots, and no photographs"


def _wrong_needs(check: Check) -> Iterator[str]:
    options = {each.name: set(each.options) for each in check.choices}
    conditional: tuple[Figure | Choice, ...] = (*check.figures, *check.choices)
    for it in conditional:
        if it.needed_with and not it.optional:
            yield f"{it.name} is always needed, and says with what it is"
        for name, said in it.needed_with.items():
            known = options.get(name, set()) if said else {each.name for each in check.figures}
            yield from (
                f"{it.name} is needed with {each} of {name}, which is not asked for"
                for each in (said or (name,))
                if each not in known
            )
    yield from (
        f"{it.name} is needed of one at least, and taken of one"
        for it in check.figures
        if it.one_at_least and not (it.optional and len(it.per) > 1)
    )


def _wrong_rules(check: Check, rules: Sequence[Rule]) -> Iterator[str]:
    figures = {figure.name for figure in check.figures}
    values = {f"{figure.name}.{of}" if of else figure.name for figure in check.figures for of in figure.per or ("",)}
    options = {choice.name: set(choice.options) for choice in check.choices}
    for rule in rules:
        if f"trick.{rule.trick}" not in ENGLISH.sentences:
            yield f"{rule.trick} is no trick that has words"
        match rule:
            case Below() | Between() | Alike():
                yield from () if rule.figure in figures else [f"{rule.figure} is no figure of it"]
            case ShareOf():
                yield from (f"{name} is no value of it" for name in (rule.figure, rule.of) if name not in values)
            case Chosen():
                told = {*rule.met, *rule.not_met}
                yield from (f"{each} is no option of {rule.choice}" for each in told - options.get(rule.choice, set()))
            case Given():
                texts = {each.name for each in check.texts}
                yield from (f"{name} is no text of it" for name in rule.names if name not in texts)
            case Called() if rule.function not in RULES:
                yield f"{rule.function} is no function of the rules"
            case AllOf():
                yield from _wrong_rules(check, rule.rules)
