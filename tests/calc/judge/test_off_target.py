"""When a figure is off: surely so before the first move, by its reading while it is brought back.

Tolerances: 3 °F for subcooling, 5 °F for superheat (California Title 24, 2008, pages RA3-15 and RA3-27).
"""

import pytest

from calc.estimate import Estimate
from calc.governing import Figure
from calc.judge.off_target import is_brought_back, is_off, leaves_more_to_add, reads_beyond
from calc.judge.verification import Verification, judge
from calc.situation import Move, Situation
from calc.targets import Target
from calc.uncertainty import Budget

DDEGF = 5 / 9
TARGET_F = 11.0


def verified(off_f: float, figure: Figure = "subcooling", spread_f: float = 0.5) -> Verification:
    """A figure so far off, by instruments of so much standard uncertainty."""
    device = "txv" if figure == "subcooling" else "fixed_orifice"
    value = Estimate((TARGET_F + off_f) * DDEGF, spread_f * DDEGF)
    return judge(value, Target(Budget(TARGET_F * DDEGF, {}), "nameplate"), Situation(metering_device=device))


def move(mass_kg: float, before_off_f: float, after_off_f: float) -> Move:
    before, after = (Estimate((TARGET_F + off_f) * DDEGF, 0.3) for off_f in (before_off_f, after_off_f))
    return Move(mass_kg, before, after)


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize(
    ("off_f", "spread_f", "sure"),
    [
        (3.2, 0.5, False),  # 66 % by the normal distribution
        (3.6, 0.5, False),  # 88.5 %
        (3.7, 0.5, True),  # 91.9 %
        (3.6, 0.4, True),  # 93.3 %
        (5.0, 2.0, False),  # 84.1 %
        (2.9, 0.1, False),
    ],
)
def test_a_first_move_takes_nine_chances_in_ten(sign: float, off_f: float, spread_f: float, sure: bool) -> None:
    assert is_off(verified(sign * off_f, spread_f=spread_f), (), 3 * DDEGF) is sure


def test_whether_it_reads_beyond_takes_no_sureness() -> None:
    assert reads_beyond(verified(3.1), 3 * DDEGF)
    assert reads_beyond(verified(-3.1), 3 * DDEGF)
    assert not reads_beyond(verified(2.9), 3 * DDEGF)
    assert not reads_beyond(judge(Estimate(1.0, 0.1), None, Situation(metering_device="txv")), 3 * DDEGF)


@pytest.mark.parametrize(
    ("figure", "limit_f", "off_f", "moves", "is_so"),
    [
        ("subcooling", 3.0, -3.2, (move(0.3, -8.0, -3.2),), True),
        ("subcooling", 3.0, -1.0, (move(0.3, -8.0, -1.0),), True),
        ("subcooling", 3.0, -3.2, (move(0.3, -8.0, -5.0), move(0.1, -5.0, -3.2)), True),
        ("subcooling", 3.0, -3.2, (move(0.3, -8.0, -3.3), move(0.01, -3.3, -3.2)), True),
        ("subcooling", 3.0, 3.2, (move(0.3, -8.0, 3.2),), False),  # too much went in: that is another move
        ("subcooling", 3.0, 3.2, (move(-0.3, 8.0, 3.2),), True),
        ("subcooling", 3.0, -3.2, (move(0.3, -3.3, -3.2),), False),  # it never was surely off
        ("subcooling", 3.0, -3.2, (move(0.3, -8.0, 4.0), move(-0.2, 4.0, -3.2)), False),
        ("subcooling", 3.0, -3.2, (move(0.3, 8.0, -3.2),), False),
        ("subcooling", 3.0, -3.2, (), False),
        ("superheat", 5.0, 5.2, (move(0.3, 12.0, 5.2),), True),
        ("superheat", 5.0, -5.2, (move(-0.3, -9.0, -5.2),), True),
        ("superheat", 5.0, 5.2, (move(-0.3, -9.0, 5.2),), False),
    ],
)
def test_what_was_surely_off_is_brought_to_its_target(
    figure: Figure, limit_f: float, off_f: float, moves: tuple[Move, ...], is_so: bool
) -> None:
    now = verified(off_f, figure)
    assert is_brought_back(now, moves, limit_f * DDEGF) is is_so
    assert is_off(now, moves, limit_f * DDEGF) is (is_so and abs(off_f) > limit_f)


def test_without_a_target_nothing_is_off() -> None:
    unknown = judge(Estimate(1.0, 0.1), None, Situation(metering_device="txv"))
    assert not is_brought_back(unknown, (move(0.3, -8.0, -3.2),), 3 * DDEGF)
    assert not is_off(unknown, (move(0.3, -8.0, -3.2),), 3 * DDEGF)


@pytest.mark.parametrize(
    ("figure", "limit_f", "off_f", "spread_f", "moves", "is_so"),
    [
        ("subcooling", 3.0, -2.0, 0.6, (move(0.3, -8.0, -2.0),), True),  # within its tolerance, and 4 % short
        ("subcooling", 3.0, -0.5, 0.6, (move(0.3, -8.0, -0.5),), False),  # nearer than its own ± can tell
        ("subcooling", 3.0, -2.0, 1.6, (move(0.3, -8.0, -2.0),), False),  # not known well
        ("subcooling", 3.0, -2.0, 0.6, (), False),  # nobody was adding
        ("subcooling", 3.0, -2.0, 0.6, (move(0.3, -3.3, -2.0),), False),  # it never was surely off
        ("subcooling", 3.0, 2.0, 0.6, (move(-0.3, 8.0, 2.0),), False),  # what is taken out may stay within it
        ("subcooling", 3.0, 2.0, 0.6, (move(0.3, -4.0, 8.0), move(-0.3, 8.0, 2.0)), False),  # nor what went in before
        ("subcooling", 3.0, -2.0, 0.6, (move(-0.3, 8.0, -8.0), move(0.3, -8.0, -2.0)), True),
        ("superheat", 5.0, 3.0, 0.8, (move(0.3, 12.0, 3.0),), True),
        ("superheat", 5.0, -3.0, 0.8, (move(-0.3, -9.0, -3.0),), False),
    ],
)
def test_what_is_filled_up_is_filled_to_its_target_as_far_as_the_figure_can_tell(
    figure: Figure, limit_f: float, off_f: float, spread_f: float, moves: tuple[Move, ...], is_so: bool
) -> None:
    assert leaves_more_to_add(verified(off_f, figure, spread_f), moves, limit_f * DDEGF) is is_so


@pytest.mark.parametrize(("off_f", "is_so"), [(3.4, False), (4.5, True)])
def test_a_target_that_is_one_for_all_units_is_no_target_to_the_last_ounce(off_f: float, is_so: bool) -> None:
    now, moves = verified(off_f, "superheat", 0.8), (move(0.3, 12.0, off_f),)
    assert leaves_more_to_add(now, moves, 5 * DDEGF, target_spread_dk=3.5 * DDEGF) is is_so
    assert leaves_more_to_add(now, moves, 5 * DDEGF)
