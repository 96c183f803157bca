"""Whether power is read where something stands as made dead. 50 V or more is live: common practice, no source."""

from collections.abc import Mapping

import pytest

from ingest.parts.power_watch import PowerWatch
from ingest.wire.messages import Reading

MADE_DEAD_S = 100.0


class Panel:
    """A panel made dead at MADE_DEAD_S, read by a voltmeter and a clamp; and what was told."""

    def __init__(self) -> None:
        self.made_dead_s: float | None = MADE_DEAD_S
        self.told: list[tuple[str, float]] = []
        self.watch = PowerWatch(lambda: self.made_dead_s, lambda channel, value: self.told.append((channel, value)))

    def reads(self, at_s: float, channel: str = "line_voltage_ab", value: float = 230.0, **fields: str) -> None:
        """Read a channel at a moment, which two ticks see."""
        readings = {channel: Reading(value, at_s, standard_uncertainty=0.1, **fields)}
        self.sees(readings, at_s)
        self.sees(readings, at_s + 0.25)

    def sees(self, readings: Mapping[str, Reading], now_s: float) -> None:
        """Take a tick."""
        self.watch.follow(readings, {name: it.time_s for name, it in readings.items()}, now_s)


@pytest.mark.parametrize(
    ("channel", "value", "told"),
    [
        ("line_voltage_ab", 50.0, True),
        ("line_voltage_ca", 49.9, False),
        ("blower_current", 0.3, True),
        ("compressor_current", 0.2, False),  # within its ±
        ("multimeter_ac_voltage", 230.0, False),  # on a known source
    ],
)
def test_power_on_a_pair_and_amps_at_a_motor_are_told(channel: str, value: float, told: bool) -> None:
    panel = Panel()
    panel.reads(101.0, channel, value)
    panel.reads(102.0, channel, value)
    assert panel.told == ([(channel, value)] if told else [])


def test_one_reading_that_is_off_tells_nothing() -> None:
    panel = Panel()
    for at_s, volts in ((101.0, 230.0), (102.0, 0.0), (103.0, 230.0), (104.0, 0.0)):
        panel.reads(at_s, value=volts)
    assert panel.told == []


def test_what_was_read_before_it_was_made_dead_or_elsewhere_tells_nothing() -> None:
    panel = Panel()
    for at_s in (98.0, 99.0, 100.0):
        panel.reads(at_s)
    for at_s in (101.0, 102.0):
        panel.reads(at_s, quality="elsewhere")
    panel.made_dead_s = None
    for at_s in (103.0, 104.0):
        panel.reads(at_s)
    assert panel.told == []


def test_it_is_told_until_it_is_a_mark_though_it_is_dead_again_and_anew_once_it_was_made_dead_anew() -> None:
    panel = Panel()
    for at_s in (101.0, 102.0, 103.0):
        panel.reads(at_s)
    panel.reads(104.0, value=0.0)
    assert len(panel.told) == 1
    panel.reads(112.5, value=0.0)  # the disk refused it
    assert len(panel.told) == 2
    panel.made_dead_s = None  # it is a mark
    panel.reads(130.0)
    panel.made_dead_s = 131.0
    panel.reads(132.0)
    assert len(panel.told) == 2
    panel.reads(133.0)
    assert len(panel.told) == 3


def test_another_visit_knows_nothing_of_it() -> None:
    panel = Panel()
    panel.reads(101.0)
    panel.watch.begin()
    panel.reads(102.0)
    assert panel.told == []
