"""Whether a federal rule on leaks covers a circuit, why or why not, and what the European Union asks, as sentences."""

from dataclasses import dataclass

from calc.countries import countries
from calc.leak_checks import check_interval_months, co2_equivalent_t
from calc.leakage import RecordField, rules
from calc.quantities import Quantity
from calc.refrigerants import Refrigerant, get
from calc.sentences import Part, Sentence, amount, count, text

_POUND_KG = 0.45359237


@dataclass(frozen=True, slots=True)
class Duty:
    """What US law asks of a circuit. paragraph: of the rule that covers it; empty where none does, or nobody knows."""

    paragraph: str
    says: Sentence


@dataclass(frozen=True, slots=True)
class Checks:
    """What (EU) 2024/573 asks. months: between two checks for leaks; None where none is asked for regularly."""

    tonnes: float
    months: int | None
    says: Sentence


def duty(refrigerant: str, full_charge_kg: float | None, *, is_light_commercial: bool | None) -> Duty:
    """Tell whether 40 CFR 82.157 or 84.106 covers a circuit.

    Args:
        refrigerant: what it runs on.
        full_charge_kg: of the circuit; None where nobody knows [kg].
        is_light_commercial: it is residential or light commercial comfort cooling; None where nobody has said so.

    Raises:
        CalcRangeError: no full charge.
        UnknownNameError: an unknown refrigerant.

    >>> str(duty("R-410A", 3.40194, is_light_commercial=None).says).partition(", and ")[0]
    'No federal leak rule covers this circuit, because R-410A depletes no ozone (40 CFR 82.157)'

    """
    if full_charge_kg is None:
        return Duty("", Sentence("leak_rule.no_charge"))
    facts = get(refrigerant)
    parts = _figures(facts, full_charge_kg)
    ozone, substitute = rules(facts, full_charge_kg, is_residential_or_light_commercial=bool(is_light_commercial))
    if ozone.holds:
        return Duty(ozone.paragraph, Sentence("leak_rule.covers_ozone", parts))
    if substitute.holds and is_light_commercial is None:
        return Duty("", Sentence("leak_rule.ask_owner", parts))
    if substitute.holds:
        return Duty(substitute.paragraph, Sentence("leak_rule.covers_substitute", parts))
    because = (
        Part("ozone", "sentence", terms=(f"leak_rule.{ozone.exempt}",)),
        Part("substitute", "sentence", terms=(f"leak_rule.{substitute.exempt}",)),
    )
    return Duty("", Sentence("leak_rule.none", (*parts, *because)))


def checks(refrigerant: str, charge_kg: float, *, has_leak_detection: bool, is_sealed: bool) -> Checks:
    """Tell how often (EU) 2024/573 asks for a check for leaks; arguments as `leak_checks.check_interval_months`.

    >>> str(checks("R-410A", 3.0, has_leak_detection=False, is_sealed=False).says).split(": ")[0]
    '6 lb 10 oz of R-410A is 6.3 t of CO2 equivalent'

    """
    tonnes = co2_equivalent_t(refrigerant, charge_kg)
    months = check_interval_months(refrigerant, charge_kg, has_leak_detection=has_leak_detection, is_sealed=is_sealed)
    told = (*_figures(get(refrigerant), charge_kg), text("tonnes", f"{tonnes:.1f}"))
    if months is None:
        return Checks(tonnes, None, Sentence("leak_check.none", told))
    return Checks(tonnes, months, Sentence("leak_check.every", (*told, count("months", months))))


def checks_not_told(refrigerant: str) -> Sentence:
    """Say why it is not told what the European Union asks of a circuit: another law holds, or its charge is not known.

    Of what depletes ozone that is (EU) 2024/590; from memory.

    >>> str(checks_not_told("R-22"))
    'R-22 depletes ozone: what Regulation (EU) 2024/590 asks for is not told here.'
    """
    facts = get(refrigerant)
    if facts.is_ozone_depleting:
        return Sentence("leak_check.ozone", (text("refrigerant", facts.designation),))
    return Sentence("leak_check.no_charge")


def elsewhere(country: str) -> Sentence:
    """Say of a country, by its code, whose law is not among these that it is not told.

    >>> str(elsewhere("CH"))
    'What the law of Switzerland asks for about leaks is not told here: ask there.'
    """
    return Sentence("leak_rule.elsewhere", (text("country", countries()[country]),))


def record_fields() -> tuple[RecordField, ...]:
    """List what the record of an appliance has to say in the European Union: (EU) 2024/573, Article 7(1).

    Read in print for Article 6(1) of its predecessor, (EU) 517/2014; that the list and its letters are the same is from
    memory. It holds where checks for leaks are asked for; national law can ask for more.

    >>> [field.basis[-3:] for field in record_fields()]
    ['(a)', '(b)', '(c)', '(d)', '(e)', '(f)', '(g)']
    """
    return _RECORD_FIELDS


_RECORD_FIELDS = tuple(
    RecordField(name, f"(EU) 2024/573, Article 7(1)({letter})")
    for letter, name in (
        ("a", "quantity and type of the gas that it holds"),
        ("b", "quantity added, at a service or because of a leak"),
        ("c", "whether what was put in is recycled or reclaimed, and by whom"),
        ("d", "quantity recovered"),
        ("e", "who serviced it, with their certificate"),
        ("f", "days and results of the checks for leaks"),
        ("g", "of one that is taken out of use: how its gas was recovered and disposed of"),
    )
)


def _figures(facts: Refrigerant, charge_kg: float) -> tuple[Part, ...]:
    return (
        text("refrigerant", facts.designation),
        count("potential", facts.global_warming_potential("AR4")),
        amount("charge", charge_kg, Quantity.MASS),
        amount("fifty", 50 * _POUND_KG, Quantity.MASS),
        amount("fifteen", 15 * _POUND_KG, Quantity.MASS),
    )
