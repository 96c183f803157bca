"""What a bench says and hears over MQTT, beside the messages of its rig. No other rig has these topics."""

from collections.abc import Mapping
from typing import Literal

import msgspec


class BenchAsk(msgspec.Struct, frozen=True):
    """What the topic bench/ask carries: pull an instrument's plug, or put it back; set the thermostat on or off.

    Or have an instrument misbehave (simulators.device.faults), and mend it. size: share of messages, or seconds.
    """

    instrument: str
    do: Literal[
        "unplug", "replug", "on", "off", "mend", "drop", "delay", "garbage", "bit_flips", "out_of_order", "frozen",
        "overload", "low_battery", "wrong_unit", "reboot",
    ]  # fmt: skip
    size: float | None = None


class BenchAbout(msgspec.Struct, frozen=True):
    """What the retained topic bench/about carries. Blind, it tells neither title nor fault.

    faults: what a verdict may say, with words for it; none where the scenario has no hidden fault.
    """

    scenario: str
    story: str
    blind: bool
    speed: float
    faults: Mapping[str, str]


class BenchVerdict(msgspec.Struct, frozen=True):
    """What the topic bench/verdict carries: the fault on which the trainee commits. The first one counts."""

    fault: str


class BenchPoints(msgspec.Struct, frozen=True):
    """What one side of a verdict was worth: points, of so many."""

    what: str
    points: int
    of: int


class BenchReveal(msgspec.Struct, frozen=True):
    """What the retained topic bench/reveal carries in answer: the truth, and what the way to the verdict was worth.

    It stays for those who come later, and is empty (which in MQTT clears it) from the bench's start to the verdict.
    points: the sum of its parts.
    """

    scenario: str
    verdict: str
    fault: str
    reading: str
    right: bool
    points: int
    parts: tuple[BenchPoints, ...]
    time_s: float
    added_kg: float
    recovered_kg: float
    charge_error_kg: float
    wrong_moves: tuple[str, ...]
