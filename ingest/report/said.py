"""How a report says things: statements with what they rest on, amounts, lists, and people's own words."""

import re
from collections.abc import Iterable, Sequence

from calc.estimate import Estimate
from calc.quantities import QUANTITIES, STANDARD_PRESSURE_PA, Quantity
from calc.units import System, difference_to_display, to_display
from calc.wording import limit, measured
from ingest.report.document import Statement
from ingest.visit.checklist import guided
from ingest.wire.messages import Grade

NOT_RECORDED = "not recorded"
NOTHING = Statement("", ())
"""An empty cell."""
CODE_LEFT_OUT = "(a code is left out here)"
_LOCK = (
    r"(?<!date )(?<!error )(?<!fault )\b"
    r"(?:codes?|pin|password|combination|keypad|key ?box|lock ?box|door|gate(?! valve)|hatch|entry)\b"
)
_NUMBER = r"[#*]?\d(?:[ -]?\d){2,}[#*]?"
"""Of fewer figures no lock is made: common practice, no source."""
_CODE = re.compile(rf"{_LOCK}[^.;\n]{{0,40}}{_NUMBER}|{_NUMBER}[^.;,\n]{{0,20}}\b(?:code|pin)\b", re.IGNORECASE)
_SURE = {"measured": "we measured", "typed": "we measured", "seen": "we saw, photographed", "said": "we saw"}
"""How sure something is, in words, by the grade of its evidence."""


def said(text: str, *evidence: str | Iterable[str]) -> Statement:
    """Say something that rests on this: ids, each once."""
    ids = [it for each in evidence for it in ([each] if isinstance(each, str) else each) if it]
    return Statement(text, tuple(dict.fromkeys(ids)))


def missing_last(rows: Iterable[tuple[str, Statement]]) -> list[tuple[str, Statement]]:
    """Put what is not recorded of some fields together, behind the others."""
    every = list(rows)
    missing = [(label, it) for label, it in every if it.text == NOT_RECORDED]
    if not missing:
        return every
    names = ", ".join(
        [missing[0][0], *(label[:1].lower() + label[1:] if label[1:2].islower() else label for label, _ in missing[1:])]
    )
    told = said(names, *(it.evidence for _, it in missing))
    return [*(row for row in every if row not in missing), ("Not recorded", told)]


def on_one_line(text: str) -> str:
    r"""Put the lines of an address behind each other.

    >>> on_one_line("Jo Field\n 2 Mill Street")
    'Jo Field, 2 Mill Street'
    """
    return ", ".join(filter(None, (line.strip() for line in text.splitlines())))


def sure(grade: str) -> str:
    """Tell in words how something is known."""
    return _SURE[grade]


def told_by(*grades: Grade) -> str:
    """Tell behind a figure that no instrument of ours sent it; nothing where one did.

    >>> told_by("measured", "typed"), told_by("seen"), told_by("measured")
    (' (as typed)', ' (as said)', '')
    """
    others = {"typed": " (as typed)", "seen": " (as said)", "said": " (as said)"}
    return next((others[grade] for grade in ("said", "seen", "typed") if grade in grades), "")


def listed(things: Sequence[str], joint: str = " and ") -> str:
    """Put things into one phrase.

    >>> listed(["a fan", "a belt", "a filter"])
    'a fan, a belt and a filter'
    """
    return joint.join(filter(None, [", ".join(things[:-1]), *things[-1:]]))


def sentence(text: str) -> str:
    """Give it a capital and a full stop.

    >>> sentence("the coil was matted"), sentence("Done!")
    ('The coil was matted.', 'Done!')
    """
    text = text.strip()
    return f"{text[:1].upper()}{text[1:]}{'' if text.endswith(('.', '!', '?', '.”')) else '.'}"


def own_words(text: str) -> str:
    """Give what a person wrote: on one line, and without the code of a door, which is kept with the unit.

    >>> own_words("Stairs at the back; door code: 47 11#, then left"), own_words("Date code 2009, hatch 2")
    ('Stairs at the back; (a code is left out here), then left', 'Date code 2009, hatch 2')
    """
    return _CODE.sub(CODE_LEFT_OUT, " ".join(text.split()))


def quoted(text: str) -> str:
    """Quote a person.

    >>> quoted("It stops every hot afternoon. ")
    '“It stops every hot afternoon.”'
    """
    return f"“{own_words(text)}”"


def is_offered(check: str, name: str, text: str) -> bool:
    """Tell whether a text of a check is no more than what the page offered for a touch.

    >>> is_offered("connections", "terminal", "Every terminal proved dead"), is_offered("connections", "terminal", "T1")
    (True, False)
    """
    return any(it.name == name and text in it.offers for it in guided()[check].check.texts)


def figure(name: str, value: float, spread: float | None, system: System, site_pa: float = STANDARD_PRESSURE_PA) -> str:
    """Tell a channel or a figure with what it may be off by, k = 2, in the reader's units. spread: its standard one."""
    quantity = QUANTITIES[name]
    if quantity in (Quantity.CAPACITANCE, Quantity.RESISTANCE, Quantity.AIR_PRESSURE, Quantity.AIR_FLOW):
        return rounded(value, quantity, system, site_pa)
    if spread is None:
        return limit(value, quantity, system, site_pa)
    return measured(Estimate(value, spread), quantity, system, site_pa)


def rounded(value: float, quantity: Quantity, system: System, site_pa: float = STANDARD_PRESSURE_PA) -> str:
    """Tell a value as the owner reads it, to two figures that matter."""
    if quantity is Quantity.TEMPERATURE_DIFFERENCE:
        number, unit = difference_to_display(value, quantity, system)
    else:
        number, unit = to_display(value, quantity, system, barometric_pressure_pa=site_pa)
    places = 1 if quantity is Quantity.CURRENT and abs(number) < _WHOLE_FROM else 0
    return f"{round(number, places) + 0.0:.{places}f} {unit}".replace("-", "−")


_WHOLE_FROM = 20.0
