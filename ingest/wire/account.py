"""The account of each circuit at a visit: what went in and came out, its leak rate, and what the law asks of it."""

from collections.abc import Sequence
from typing import Literal

import msgspec

from ingest.wire.wording import Wording

Method = Literal["annualizing", "rolling"]


class LeakRate(msgspec.Struct, frozen=True, omit_defaults=True):
    """A leak rate by one method of 40 CFR 82.152 and 84.102 [% of the full charge a year].

    limit_percent: of the kind of appliance; None where the owner has not said which it is. is_over: over it, strictly.
    """

    method: Method
    percent: float
    limit_percent: float | None = None
    is_over: bool | None = None


class CircuitAccount(msgspec.Struct, frozen=True, omit_defaults=True):
    """What a circuit has taken and given at this visit, with every correction [kg], and what follows from it.

    moves: how many. last_move_s: when the last was. added_before_kg, visits_before: at earlier visits of the record.
    rule: the paragraph on leaks that covers it; empty where none does or nobody knows; says: why. rates: only where a
    rule covers it and refrigerant was added that counts. co2_equivalent_t, check_months: of its charge, and how often
    (EU) 2024/573 asks for a check for leaks; checks_say: in words, or why that is not told. recheck_by: the day by
    which to look again, after an addition (ISO 8601); recheck_says: in words.
    """

    circuit: str
    added_kg: float
    recovered_kg: float
    net_kg: float
    moves: int
    last_move_s: float | None = None
    added_before_kg: float = 0.0
    visits_before: int = 0
    rule: str = ""
    says: Wording | None = None
    rates: Sequence[LeakRate] = ()
    co2_equivalent_t: float | None = None
    check_months: int | None = None
    checks_say: Wording | None = None
    recheck_by: str = ""
    recheck_says: Wording | None = None


class ByWeight(msgspec.Struct, frozen=True, omit_defaults=True):
    """A charge by weight, step by step: recover, evacuate, weigh in.

    step: where it is; says: what to do there. recovered_kg: so far. level_pa: down to which it is recovered, absolute
    (40 CFR 82.156), level_row: of its table; level_reached, vacuum_held: outcomes of the checks, empty while there are
    none. nameplate_kg, lines_kg: the plate's charge, and what the lines beyond those included take. hose_kg: what the
    hose held as the scale was set to zero, which goes in as it is emptied into the circuit. mass_kg: to be weighed in,
    all of the first two less the last; weighed_in_kg: so far; left_kg: still to go.
    """

    circuit: str
    step: Literal["recover", "evacuate", "weigh_in", "done"]
    says: Wording
    recovered_kg: float
    level_pa: float | None = None
    level_row: str = ""
    level_reached: str = ""
    vacuum_held: str = ""
    nameplate_kg: float | None = None
    lines_kg: float | None = None
    hose_kg: float | None = None
    mass_kg: float | None = None
    weighed_in_kg: float = 0.0
    left_kg: float | None = None
