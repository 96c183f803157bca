"""The account of a circuit: its sums at this visit, its leak rate with what the record knows, and what the law asks.

A circuit is an appliance of its own (40 CFR 82.152, 84.102). Additions of one visit are one; what is recovered at it is
taken off, so that a charge renewed by weight counts with what was missing (common practice, no source). What a new
installation, a retrofit or the season took counts for no rate. Days are those of universal time, as the record has it.
"""

from calendar import monthrange
from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime

from calc.errors import CalcRangeError
from calc.leak_duty import Checks, checks, checks_not_told, duty
from calc.leakage import (
    Addition,
    annualized_rate,
    exceeds_threshold,
    merged,
    of_the_last_year,
    rolling_rate,
    threshold,
)
from calc.refrigerants import get
from calc.sentences import Sentence, text
from ingest.visit.tally import Entry, summed
from ingest.wire.account import Method
from ingest.wire.messages import CircuitAccount, LeakRate
from ingest.wire.sheet import Circuit
from ingest.wire.wording import worded

COUNTED_FOR_NO_RATE = ("new_installation", "retrofit", "seasonal")
_YEAR_DAYS = 365
_DECEMBER = 12
_NOTHING_KG = 1e-9


def account(circuit: Circuit, entries: Sequence[Entry], earlier: Sequence[Sequence[Entry]]) -> CircuitAccount:
    """Draw up the account of a circuit.

    entries: its moves at this visit. earlier: those of each visit before, oldest first.
    """
    sums = summed(entries)
    law = duty(circuit.refrigerant, circuit.charge_kg, is_light_commercial=circuit.is_light_commercial)
    added_days = [day(entry.time_s) for entry in entries if entry.sign > 0]
    by = month_later(max(added_days)) if added_days else None
    eu = _checks(circuit)
    return CircuitAccount(
        circuit=circuit.name,
        added_kg=round(sums.added_kg, 6),
        recovered_kg=round(sums.recovered_kg, 6),
        net_kg=round(sums.net_kg, 6),
        moves=sums.moves,
        last_move_s=sums.last_move_s,
        added_before_kg=round(sum(summed(visit).added_kg for visit in earlier), 6),
        visits_before=sum(any(entry.sign > 0 for entry in visit) for visit in earlier),
        rule=law.paragraph,
        says=worded(law.says),
        rates=leak_rates(circuit, entries, earlier) if law.paragraph else (),
        co2_equivalent_t=None if eu is None else round(eu.tonnes, 3),
        check_months=None if eu is None else eu.months,
        checks_say=worded(checks_not_told(circuit.refrigerant) if eu is None else eu.says),
        recheck_by="" if by is None else by.isoformat(),
        recheck_says=None if by is None else worded(Sentence("leak_check.again", (text("day", by.isoformat()),))),
    )


def leak_rates(circuit: Circuit, entries: Sequence[Entry], earlier: Sequence[Sequence[Entry]]) -> tuple[LeakRate, ...]:
    """Compute the leak rate of a circuit by both methods; none where nothing was added at this visit that counts."""
    now = addition(entries)
    if now is None or not circuit.charge_kg:
        return ()
    known = merged(it for visit in [*earlier, entries] if (it := addition(visit)))
    newest = known[-1]
    days = (newest.day - known[-2].day).days if len(known) > 1 else _YEAR_DAYS
    year = [it.mass for it in of_the_last_year(known, on=newest.day)]
    try:
        annualizing = annualized_rate(newest.mass, circuit.charge_kg, days_since_last_addition=days)
        rolling = rolling_rate(year, circuit.charge_kg)
    except CalcRangeError:  # more than twice the charge at once: the charge that the sheet has cannot be right
        return ()
    return (_held(circuit, "annualizing", annualizing), _held(circuit, "rolling", rolling))


def _held(circuit: Circuit, method: Method, percent: float) -> LeakRate:
    if not circuit.appliance:
        return LeakRate(method, round(percent, 6))
    return LeakRate(
        method, round(percent, 6), threshold(circuit.appliance), exceeds_threshold(percent, circuit.appliance)
    )


def addition(entries: Iterable[Entry]) -> Addition | None:
    """Add up what a visit added that counts for a leak rate, on the day of its last addition; None for nothing."""
    known = list(entries)
    counted = [it for it in known if it.sign > 0 and it.purpose not in COUNTED_FOR_NO_RATE]
    recovered_kg = summed(known).recovered_kg
    mass_kg = summed(counted).added_kg - recovered_kg
    if not counted or mass_kg <= _NOTHING_KG:
        return None
    return Addition(max(day(it.time_s) for it in counted), mass_kg)


def _checks(circuit: Circuit) -> Checks | None:
    if circuit.charge_kg is None or get(circuit.refrigerant).is_ozone_depleting:
        return None
    return checks(
        circuit.refrigerant,
        circuit.charge_kg,
        has_leak_detection=circuit.has_leak_detection,
        is_sealed=circuit.is_sealed,
    )


def day(time_s: float) -> date:
    """Give the day of a moment [s since 1970]."""
    return datetime.fromtimestamp(time_s, UTC).date()


def month_later(start: date) -> date:
    """Give the day a calendar month later, or the last of that month.

    >>> month_later(date(2027, 12, 31)), month_later(date(2028, 1, 31)), month_later(date(2027, 1, 31))
    (datetime.date(2028, 1, 31), datetime.date(2028, 2, 29), datetime.date(2027, 2, 28))
    """
    year, month = (start.year + 1, 1) if start.month == _DECEMBER else (start.year, start.month + 1)
    return date(year, month, min(start.day, monthrange(year, month)[1]))
