"""What is known at a moment, without what is not to be relied on."""

from calc.estimate import Estimate
from calc.situation import Repetition, Situation


def test_what_is_late_is_left_out_and_what_is_a_figure_or_not_relied_on_too() -> None:
    names = ("suction_pressure", "liquid_pressure", "outdoor_air_temperature", "superheat")
    now = Situation(
        measured={name: Estimate(1.0, 0.1) for name in names},
        repetitions={name: Repetition(5, 2, 1.0) for name in names},
        late=frozenset({"liquid_pressure"}),
        unreliable=frozenset({"outdoor_air_temperature"}),
    )
    fresh = ["suction_pressure", "outdoor_air_temperature", "superheat"]
    assert (list(now.fresh().measured), list(now.fresh().repetitions)) == (fresh, fresh)
    assert list(now.relied_on().measured) == ["suction_pressure"]
