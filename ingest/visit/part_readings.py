"""What was measured of each part over the visits: a fold over findings. A part that is replaced begins anew."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from calc.errors import CalcError
from calc.estimate import Estimate
from calc.motor import capacitance_under_load
from ingest.visit.answers import find_figure, label_of
from ingest.visit.checklist import guided
from ingest.visit.grading import grades_of, weakest
from ingest.visit.rule_dead import capacitance
from ingest.wire.checklist import Check
from ingest.wire.messages import Finding, Mark, Outcome, PartHistory, PartKind, PartReading, Sheet
from ingest.wire.sheet import Motor

REPLACED = "replacement"
_CONTACTOR_LIVE = "contactor_live"
_NOW_OF = {"contactor": _CONTACTOR_LIVE}
"""A check that once had these figures, as older records have them, and the one that has them now."""
UNDER_LOAD = "capacitor_under_load"
COLD = ("capacitor_measured", REPLACED)
"""The checks in which a section is measured with its leads off."""
BY_EYE = "capacitor_by_eye"
_FIGURES: Mapping[str, tuple[PartKind, Sequence[str]]] = {
    "capacitor_measured": ("capacitor", ["measured"]),
    REPLACED: ("capacitor", ["measured"]),
    "windings": ("motor", ["ohms", "to_case"]),
    "start": ("motor", ["peak"]),
    "motor_amps": ("motor", ["amps"]),
    "contactor": ("contactor", ["coil_volts", "drop"]),
    _CONTACTOR_LIVE: ("contactor", ["coil_volts", "drop"]),
}
"""Of each check, the kind of its part, and which of its figures are measured of that; those of labels are not."""
_LABELS: Mapping[str, Mapping[str, str]] = {
    BY_EYE: {
        "label.herm": "herm",
        "label.fan": "fan",
        "tolerance": "tolerance",
        "rated_volts": "volts",
        "hertz": "hertz",
    },
    "capacitor_measured": {"label.herm": "herm", "label.fan": "fan", "tolerance": "tolerance"},
    REPLACED: {
        "new_label.herm": "herm",
        "new_label.fan": "fan",
        "tolerance": "tolerance",
        "rated_volts.new": "volts",
        "hertz.new": "hertz",
    },
}
"""What each check reads off the label of a can, and what that is."""
_SAME_LABEL_SHARE = 0.01


@dataclass(frozen=True, slots=True)
class Key:
    """Which part: by its name, or where nobody named it by its kind and what it drives."""

    kind: PartKind
    part: str = ""
    drives: str = ""


@dataclass(slots=True)
class _Life:
    """One part from when it was fitted, and at which visit. label: of a capacitor, as it was read on the can."""

    since_s: float | None = None
    until_s: float | None = None
    fitted_in: str = ""
    date_code: str = ""
    label: dict[str, float] = field(default_factory=dict)
    readings: list[PartReading] = field(default_factory=list)


class PartReadings:
    """What was measured of the parts of a unit. sheet: the newest; a part that nobody named is its only one alike."""

    def __init__(self, sheet: Sheet | None) -> None:
        self._sheet = sheet
        self._lives: dict[Key, list[_Life]] = {}

    def take(self, visit: str, mark: Mark) -> None:
        """Take the next mark of a visit."""
        if not isinstance(mark, Finding) or mark.outcome == "skipped":
            return
        if mark.check in _FIGURES:
            key = key_of(_FIGURES[mark.check][0], mark.part, mark.choices, self._sheet)
            self._measured(key, visit, mark)
        elif mark.check in (UNDER_LOAD, BY_EYE):
            key = key_of("capacitor", mark.part, mark.choices, self._sheet)
            if mark.check == UNDER_LOAD:
                self._add(key, mark, _under_load(visit, mark))
            else:
                self._seen(key, mark)

    def last(self, key: Key, section: str, label_f: float | None, *, before: str) -> Estimate | None:
        """Give the last cold reading of a section of the can that is in, of a visit before this one; None without one.

        label_f: what its label says now [F]: one that reads otherwise is another can. before: the visit.
        """
        if not (lives := self._lives.get(key)):
            return None
        for reading in reversed(lives[-1].readings):
            if reading.check in COLD and reading.of == section and reading.visit != before:
                is_same = _is_same_label(reading.label_value, label_f)
                return Estimate(reading.value, (reading.accuracy or 0.0) / 2) if is_same else None
        return None

    def label(self, key: Key, *, but_fitted_in: str = "") -> Mapping[str, float]:
        """Give what was read off the label of the can that is in: herm, fan, tolerance, volts, hertz [SI].

        but_fitted_in: of the one that was in before those that were fitted at this visit.
        """
        lives = [it for it in self._lives.get(key, []) if not (but_fitted_in and it.fitted_in == but_fitted_in)]
        return lives[-1].label if lives else {}

    def message(self) -> list[PartHistory]:
        """Give the history of every part, the one that is in before those that were, readings newest first."""
        return [
            PartHistory(
                key.kind,
                _newest_first(life.readings),
                key.part,
                key.drives,
                label=dict(life.label),
                since_s=life.since_s,
                until_s=life.until_s,
            )
            for key, lives in self._lives.items()
            for life in reversed(lives)
            if life.readings or life.label
        ]

    def _measured(self, key: Key, visit: str, found: Finding) -> None:
        if found.check == REPLACED and not found.builds_on:  # else it is the same one, gone on with
            lives = self._lives.setdefault(key, [_Life()])
            lives[-1].until_s = found.time_s
            lives.append(_Life(since_s=found.time_s, fitted_in=visit))
        self._labelled(key, found)
        self._add(key, found, _readings(visit, found))

    def _seen(self, key: Key, found: Finding) -> None:
        """Take the date code of a can: another one than before is of another can, whoever put it in."""
        code = found.choices.get("date_code", "").strip()
        lives = self._lives.setdefault(key, [_Life()])
        if code and lives[-1].date_code and code != lives[-1].date_code:
            lives[-1].until_s = found.time_s
            lives.append(_Life())
        lives[-1].date_code = code or lives[-1].date_code
        self._labelled(key, found)

    def _labelled(self, key: Key, found: Finding) -> None:
        """Keep what somebody read off the label: it is typed once. A new one may be seen to be as the old."""
        names = _LABELS.get(found.check, {})
        seen = {**found.recalled, **found.values} if found.check == REPLACED else found.values
        read = {names[name]: value for name, value in seen.items() if name in names}
        if read:
            self._lives.setdefault(key, [_Life()])[-1].label |= read

    def _add(self, key: Key, found: Finding, readings: Iterator[PartReading]) -> None:
        life = self._lives.setdefault(key, [_Life()])[-1]
        if found.builds_on:  # it holds all that this one held, too
            life.readings = [it for it in life.readings if it.id != found.builds_on]
        life.readings += readings


def _newest_first(readings: Sequence[PartReading]) -> list[PartReading]:
    """Put them in order; those of one finding stay in theirs."""
    return sorted(readings, key=lambda it: -it.time_s)


def key_of(kind: PartKind, part: str, choices: Mapping[str, str], sheet: Sheet | None) -> Key:
    """Tell which part a check is of: the one named; else the only one of its kind that the sheet has."""
    if part:
        return Key(kind, part)
    drives = choices.get("motor", "") if kind == "motor" else ""
    alike = [
        each.name
        for each in (sheet.parts if sheet else ())
        if each.kind == kind and (not drives or (isinstance(each, Motor) and each.drives == drives))
    ]
    return Key(kind, alike[0]) if len(alike) == 1 else Key(kind, "", drives)


def _is_same_label(before_f: float | None, now_f: float | None) -> bool:
    """Whether two labels may be of one can: where either was not read, nothing speaks against it."""
    return before_f is None or now_f is None or abs(before_f - now_f) <= _SAME_LABEL_SHARE * now_f


def _readings(visit: str, found: Finding) -> Iterator[PartReading]:
    check = guided()[_NOW_OF.get(found.check, found.check)].check
    turns = _turns(found.values)
    for name, value in found.values.items():
        figure, _, of = name.partition(".")
        if figure not in _FIGURES[found.check][1]:
            continue
        through = turns if figure == "amps" else 1.0  # of the lead through the clamp's jaw
        yield _reading(visit, found, check, name, of or figure, value / through, _accuracy(found, name, through))


def _turns(values: Mapping[str, float]) -> float:
    """Tell how often the lead went through the clamp's jaw: once, where nobody said, or said what cannot be."""
    return max(values.get("turns", 1.0), 1.0)


def _reading(
    visit: str, found: Finding, check: Check, name: str, of: str, value: float, accuracy: float | None
) -> PartReading:
    figure, place = find_figure(check, name)
    return PartReading(
        visit=visit,
        id=found.id,
        time_s=found.time_s,
        check=found.check,
        of=of,
        label=label_of(figure, place),
        quantity=figure.quantity,
        value=value,
        grade=grades_of(found)[name],
        outcome=_outcome(found, of, value),
        accuracy=accuracy,
        label_value=_label_f(found, of),
    )


def _accuracy(found: Finding, name: str, through: float) -> float | None:
    spread = found.standard_uncertainties.get(name)
    return None if spread is None else 2 * spread / through


def _outcome(found: Finding, of: str, value: float) -> Outcome:
    """Tell what a figure of its own came to: a sound section of a can is not failed by the other one.

    As the check tells it of that section; where it is the only one, of what has no label, and of anything else, as the
    finding has it.
    """
    is_one_of_several = sum(name.startswith("measured.") for name in found.values) > 1
    label_f = _label_f(found, of) if found.check in COLD and is_one_of_several else None
    if label_f is None:
        return found.outcome
    measured = Estimate(value, found.standard_uncertainties.get(f"measured.{of}", 0.0))
    known = {**found.recalled, **found.plated, **found.values}
    try:
        return capacitance(measured, label_f, known.get("tolerance"), what="", trick="").told
    except CalcError:  # what a record of before such limits may hold
        return found.outcome


def _label_f(found: Finding, section: str) -> float | None:
    """Give what a label says of a section, as the finding has it."""
    name = f"new_label.{section}" if found.check == REPLACED else f"label.{section}"
    return next((known[name] for known in (found.values, found.plated, found.recalled) if name in known), None)


def _under_load(visit: str, found: Finding) -> Iterator[PartReading]:
    """Work out what a section measures by the amps into it and the volts across it."""
    known = {**found.recalled, **found.plated, **found.values}
    section = found.choices.get("section", "")
    if not section or not {"amps", "volts", "hertz"} <= known.keys():
        return
    turns, spreads = _turns(known), found.standard_uncertainties
    try:
        measured = capacitance_under_load(
            known["amps"] / turns,
            known["volts"],
            frequency_hz=known["hertz"],
            current_standard_uncertainty_a=spreads.get("amps", 0.0) / turns,
            voltage_standard_uncertainty_v=spreads.get("volts", 0.0),
        )
    except CalcError:  # what a record of before such limits may hold
        return
    check = guided()[UNDER_LOAD].check
    said = next(choice.options.get(section, section) for choice in check.choices if choice.name == "section")
    yield PartReading(
        visit=visit,
        id=found.id,
        time_s=found.time_s,
        check=UNDER_LOAD,
        of=section,
        label=f"Under load: {said}",
        quantity="capacitance",
        value=measured.value,
        grade=weakest(grades_of(found), ("amps", "volts"), found.grade),
        outcome=found.outcome,
        accuracy=measured.expanded() or None,
        label_value=known.get("label"),
    )
