"""What a trainee's verdict on an unknown fault is worth, and the way there. The points are ours; no source.

Half of the points are for the right fault. The rest is for the charge left as it should be (untouched where charge
is not the fault) and, with the right fault, for the time it took and for no wrong moves.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType
from typing import Literal

from ingest.wire.bench_messages import BenchPoints
from simulators.errors import SimulatorError

FAULTS = MappingProxyType(
    {
        "none": "nothing is wrong",
        "undercharge": "too little refrigerant",
        "overcharge": "too much refrigerant",
        "evaporator_airflow": "too little air over the evaporator",
        "condenser_airflow": "a dirty condenser, or too little air over it",
        "restriction": "a restricted liquid line",
        "compressor_leakage": "leaking compressor valves",
        "non_condensables": "non-condensable gas in the refrigerant",
        "loose_bulb": "the valve's bulb is loose",
        "oversized_valve": "a metering device that is too large",
        "capacitor": "a weak or open capacitor section",
        "loose_lug": "a loose lug",
        "supply": "the supply sags, is unbalanced, lost a leg or turns the wrong way",
        "wrong_refrigerant": "another refrigerant than the rig was told",
        "instrument": "an instrument reads wrong, or sits in the wrong place",
    }
)
"""What a verdict may say, with words for the page."""

CHARGE_FAULTS = ("undercharge", "overcharge")

WAIT_S = 900.0
"""Whoever waited so long after a change of the charge need not see it settled: California Title 24 RA3.2, 15 min."""

FOR_THE_FAULT, FOR_THE_CHARGE, FOR_THE_TIME, FOR_THE_WAY = 6, 2, 2, 2
QUICK_S, SLOW_S = 1800.0, 5400.0
"""All points for the time up to the first, none from the second on."""

RIGHTLY_CHARGED, WRONGLY_CHARGED = 0.03, 0.15
"""Charge error over the right charge: all points up to the first, none from the second on."""

MOST_WRONG_MOVES = 2
"""No points for the way from here on."""


@dataclass(frozen=True, slots=True)
class Move:
    """Refrigerant that the trainee moved, when [s since the start] and how much.

    has_settled: the unit had, after the change before this one, by the rule of the advice.
    """

    kind: Literal["added", "recovered"]
    time_s: float
    mass_kg: float
    has_settled: bool


@dataclass(frozen=True, slots=True)
class Truth:
    """What was hidden. right_charge: what the unit should hold. reading: how the figures tell it."""

    fault: str
    right_charge_kg: float
    reading: str

    def __post_init__(self) -> None:
        check_fault(self.fault)


@dataclass(frozen=True, slots=True)
class Score:
    """What the way to the verdict was worth, of twelve points, and why."""

    right: bool
    points: int
    parts: tuple[BenchPoints, ...]
    time_s: float
    added_kg: float
    recovered_kg: float
    charge_error_kg: float
    wrong_moves: tuple[str, ...]


def check_fault(fault: str) -> None:
    """Refuse what is none of the faults.

    Raises:
        SimulatorError: it is none.

    """
    if fault not in FAULTS:
        raise SimulatorError(f"fault {fault!r} is none of {', '.join(FAULTS)}")


def score(
    truth: Truth, verdict: str, *, time_s: float, charge_kg: float, moves: Sequence[Move], has_settled: bool
) -> Score:
    """Judge a verdict and the way to it.

    time: when it was given [s since the start]. charge: what the unit holds then. has_settled: it has, after the last
    change of the charge.

    Raises:
        SimulatorError: the verdict is none of the faults.

    """
    check_fault(verdict)
    right = verdict == truth.fault
    wrong = wrong_moves(truth, moves, time_s=time_s, has_settled=has_settled)
    error_kg = charge_kg - truth.right_charge_kg
    shares = {
        "for the fault": (float(right), FOR_THE_FAULT),
        "for the charge as it was left": (_charge_left(truth, moves, error_kg), FOR_THE_CHARGE),
        "for the time, if the fault is right": (right * _falling(time_s, QUICK_S, SLOW_S), FOR_THE_TIME),
        "for no wrong moves, if the fault is right": (right * _falling(len(wrong), 0, MOST_WRONG_MOVES), FOR_THE_WAY),
    }
    parts = tuple(BenchPoints(what, round(share * of), of) for what, (share, of) in shares.items())
    return Score(
        right=right,
        points=sum(part.points for part in parts),
        parts=parts,
        time_s=time_s,
        added_kg=sum(move.mass_kg for move in moves if move.kind == "added"),
        recovered_kg=sum(move.mass_kg for move in moves if move.kind == "recovered"),
        charge_error_kg=error_kg,
        wrong_moves=wrong,
    )


def wrong_moves(truth: Truth, moves: Sequence[Move], *, time_s: float, has_settled: bool) -> tuple[str, ...]:
    """Say what should not have been done, in the order in which it was."""
    wrong = []
    if truth.fault not in CHARGE_FAULTS and moves:
        wrong.append("refrigerant was moved, but charge was not the fault")
    against = {"undercharge": "recovered", "overcharge": "added"}.get(truth.fault)
    first = next((move for move in moves if move.kind == against), None)
    if first is not None and first is moves[0]:
        wrong.append(f"the first move was the wrong way: refrigerant was {first.kind}")
    ends = [*((move.time_s, move.has_settled) for move in moves), (time_s, has_settled)]
    hasty = sum(later - earlier < WAIT_S and not settled for (earlier, _), (later, settled) in pairwise(ends))
    if hasty:
        times_over = f", {hasty} times" if hasty > 1 else ""
        wrong.append(f"after a change of the charge neither had it settled nor were 15 min over{times_over}")
    return tuple(wrong)


def _charge_left(truth: Truth, moves: Sequence[Move], error_kg: float) -> float:
    if truth.fault in CHARGE_FAULTS:
        return _falling(abs(error_kg) / truth.right_charge_kg, RIGHTLY_CHARGED, WRONGLY_CHARGED)
    return 0.0 if moves else 1.0


def _falling(value: float, full: float, none: float) -> float:
    return min(max((none - value) / (none - full), 0.0), 1.0)
