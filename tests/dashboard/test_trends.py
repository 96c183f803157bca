"""How the parts of a unit have gone: what is drawn of their readings, and what is said of the newest.

That a reading is not told from a label within its ±: JCGM 100:2008, 6.2.1, of expanded uncertainty.
A run capacitor of 45 µF ± 6 % may have 42.3 to 47.7 µF: arithmetic of its label.
"""

from typing import Any

import pytest

from dashboard.unit.trends import trends
from ingest.wire.messages import PartHistory, PartReading, UnitHistory

T0_S, DAY_S = 1_780_000_000.0, 86_400.0
CAN = {"herm": 45e-6, "fan": 5e-6, "tolerance": 0.06, "volts": 440.0}


def read(day: float, value: float, of: str = "herm", quantity: str = "capacitance", **more: Any) -> PartReading:
    known = {"grade": "measured", "outcome": "met", "accuracy": 0.9e-6, "label_value": 45e-6} | more
    return PartReading(
        f"v{day}", f"f{day}", T0_S + day * DAY_S, "check", of, f"Measured: {of}", quantity, value, **known
    )


def of(*parts: PartHistory) -> UnitHistory:
    return UnitHistory("RTU-K7Q-4", parts=parts)


def test_readings_stand_oldest_first_with_their_label_and_how_far_from_it_they_may_be() -> None:
    failed = read(600, 41e-6, outcome="not_met")
    (trend,) = trends(of(PartHistory("capacitor", [failed, read(0, 45.2e-6)], "run capacitor", label=CAN)), "us")
    assert trend.title == "Run capacitor, herm"
    assert [(it.time_s, it.value, it.is_right) for it in trend.points] == [
        (T0_S, pytest.approx(45.2), True),
        (T0_S + 600 * DAY_S, pytest.approx(41.0), False),
    ]
    assert [it.plus_minus for it in trend.points] == pytest.approx([0.9, 0.9])
    assert (trend.low, trend.label, trend.high) == pytest.approx((42.3, 45.0, 47.7))
    assert trend.says == "Newest 41.0 ± 0.9 µF, 9 % below its label, 45 µF."


@pytest.mark.parametrize(
    ("value", "more", "says"),
    [
        (45.2e-6, {}, "Newest 45.2 ± 0.9 µF, which its ± does not tell from its label, 45 µF."),
        (45.9e-6, {}, "Newest 45.9 ± 0.9 µF, which its ± does not tell from its label, 45 µF."),
        (22.7e-6, {}, "Newest 22.7 ± 0.9 µF, 50 % below its label, 45 µF."),  # 49.56 %
        (46.0e-6, {}, "Newest 46.0 ± 0.9 µF, 2 % above its label, 45 µF."),
        (45.2e-6, {"accuracy": None}, "Newest 45.2 µF; its label says 45 µF."),
        (45.2e-6, {"label_value": None}, "Newest 45.2 ± 0.9 µF."),
    ],
)
def test_the_newest_is_told_beside_its_label_as_far_as_its_plus_minus_tells_them_apart(
    value: float, more: dict[str, Any], says: str
) -> None:
    (trend,) = trends(of(PartHistory("capacitor", [read(0, value, **more)], label=CAN)), "us")
    assert trend.says == says


def test_of_very_many_readings_the_newest_sixty_are_drawn() -> None:
    """Five years of months: common practice, no source."""
    many = [read(float(day), 45e-6) for day in range(70)]
    (trend,) = trends(of(PartHistory("capacitor", many, label=CAN)), "us")
    assert [round((it.time_s - T0_S) / DAY_S) for it in trend.points] == list(range(10, 70))


def test_a_part_that_was_taken_out_and_what_is_of_its_moment_alone_are_not_drawn() -> None:
    out = PartHistory("capacitor", [read(0, 45e-6)], "old", until_s=T0_S)
    hot = PartHistory("motor", [read(0, 350.0, quantity="temperature")], "fan")
    assert trends(of(out, hot), "us") == trends(of(), "us") == trends(None, "us") == []


def test_each_figure_of_a_part_is_a_trend_in_one_unit_and_amps_say_what_moves_them() -> None:
    none = {"label_value": None, "accuracy": None}
    amps = [read(day, value, "l1", "current", **none) for day, value in ((0, 11.2), (400, 12.1))]
    drops = [read(day, value, "l2", "voltage", **none) for day, value in ((0, 0.02), (400, 1.5))]
    first, second = trends(of(PartHistory("motor", [*amps, *drops], drives="compressor")), "us")
    assert (first.title, second.title) == ("Compressor, l1", "Compressor, l2")
    assert first.says == "Newest 12.1 A. Amps move with the weather and the load: compare like days."
    assert [it.value for it in second.points] == pytest.approx([0.02, 1.5])
    assert (first.label, first.low) == (None, None)
