"""What was found of a part before, and a check asks for again: nobody looks it up, and nobody types a label twice.

The last reading of the same can is of an earlier visit; what its label says may be of this one.
"""

from collections.abc import Mapping

from calc.estimate import Estimate
from ingest.visit.deciding import Facts
from ingest.visit.part_readings import REPLACED, UNDER_LOAD, Key, PartReadings, key_of
from ingest.visit.rule_dead import ALIKE, LABELS

SECTIONS = ("herm", "fan")
MEASURED = "capacitor_measured"


def recalled(
    check: str, part: str, choices: Mapping[str, str], known: Mapping[str, float], facts: Facts, visit: str
) -> dict[str, Estimate]:
    """Give values of a check that nobody gave, and the sheet has not, by their names.

    known: those that somebody gave, or the sheet has. visit: the one under way.
    """
    if facts.part_readings is None or check not in (MEASURED, UNDER_LOAD, REPLACED):
        return {}
    key = key_of("capacitor", part, {}, facts.sheets.get(facts.unit.tag))
    labels = {
        name: value
        for name, value in _labels(check, choices.get("section", ""), key, facts.part_readings, visit).items()
        if name not in known
    }
    found = {name: Estimate(value, 0.0) for name, value in labels.items()}
    if check == MEASURED:
        found |= _last(key, labels | dict(known), facts.part_readings, visit)
    return found


_OF_THE_NEW: Mapping[str, str] = {
    "old_label.herm": "new_label.herm",
    "old_label.fan": "new_label.fan",
    "rated_volts.old": "rated_volts.new",
    "hertz.old": "hertz.new",
}
"""What stands on the label of a new can, by what stands on the old one's."""


def read_alike(check: str, choices: Mapping[str, str], known: Mapping[str, float]) -> dict[str, Estimate]:
    """Give what the label of a new can says, where both labels were seen to say the same, and nobody gave it.

    known: what somebody gave, the sheet has, or was read before.
    """
    if check != REPLACED or choices.get(LABELS) != ALIKE:
        return {}
    there = {new: known[old] for old, new in _OF_THE_NEW.items() if old in known and new not in known}
    return {name: Estimate(value, 0.0) for name, value in there.items()}


def _labels(check: str, section: str, key: Key, readings: PartReadings, visit: str) -> dict[str, float]:
    """Name what was read off the label as the check does; of a replacement it is the can that came out."""
    label = readings.label(key, but_fitted_in=visit if check == REPLACED else "")
    match check:
        case "capacitor_measured":
            names = {"herm": "label.herm", "fan": "label.fan", "tolerance": "tolerance"}
        case "capacitor_under_load":
            names = {section: "label", "tolerance": "tolerance"}
        case _:
            names = {"herm": "old_label.herm", "fan": "old_label.fan", "volts": "rated_volts.old", "hertz": "hertz.old"}
    return {names[what]: value for what, value in label.items() if what in names}


def _last(key: Key, known: Mapping[str, float], readings: PartReadings, visit: str) -> dict[str, Estimate]:
    """Give the last reading of the same can, section by section."""
    last = {
        section: readings.last(key, section, known.get(f"label.{section}"), before=visit)
        for section in SECTIONS
        if f"earlier.{section}" not in known
    }
    return {f"earlier.{section}": found for section, found in last.items() if found is not None}
