"""Misbehaving instruments of the bench: from a scenario's file, and over bench/ask."""

import json
from pathlib import Path

import pytest

from ingest.wire.messages import MessageError, topic
from simulators.bench.bench import RIG_NAME, SimulatedRig
from simulators.bench.instruments import bench_instruments
from simulators.bench.other_unit import other_units
from simulators.bench.scenario import ScenarioError, load_scenario, parse_scenario
from simulators.device import fake_bluez
from simulators.device.faults import DeviceFault
from simulators.errors import SimulatorError

FILE = """
title = "A tired probe"
story = "The low side probe has lain in the rain."
charge = "7.5 lb"
[unit]
tag = "RTU-K7Q-4"
place = "Harbour Street library, roof, north row"
refrigerant = "R-410A"
metering_device = "txv"
[misbehaves."low side probe"]
"""


@pytest.fixture
def without_bluetooth(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fake_bluez, "available", lambda: "left out of this test")


def test_a_scenario_says_how_an_instrument_misbehaves() -> None:
    text = FILE + 'drop = "20 %"\ndelay = "2 s"\nfrozen = true\noverload = false\n'
    scenario = parse_scenario(text.encode(), "rain.toml")
    assert scenario.misbehaviour == {
        "low side probe": [(DeviceFault.DROP, 0.2), (DeviceFault.DELAY, 2.0), (DeviceFault.FROZEN, None)]
    }


@pytest.mark.parametrize(
    ("lines", "reason"),
    [
        ('drop = "much"', "misbehaves.low side probe.drop = 'much'"),
        ('drop = "2 s"', "misbehaves.low side probe.drop = '2 s'"),
        ("reboot = true", "no fault that lasts"),
        ("rust = true", "no fault that lasts; those are drop, delay"),
        ('[misbehaves."oil probe"]\ndrop = true', "the bench has low side probe"),
    ],
)
def test_what_cannot_be_is_refused_with_its_key(lines: str, reason: str) -> None:
    with pytest.raises(ScenarioError, match=reason):
        parse_scenario((FILE + lines).encode(), "rain.toml")


async def test_it_begins_with_the_bench(tmp_path: Path, without_bluetooth: None) -> None:
    scenario = parse_scenario((FILE + "frozen = true").encode(), "rain.toml")
    async with SimulatedRig(scenario, directory=tmp_path) as rig:
        assert DeviceFault.FROZEN in rig._devices["low side probe"].faults
        assert DeviceFault.FROZEN not in rig._devices["high side probe"].faults


async def test_it_can_be_asked_for_and_mended(tmp_path: Path, without_bluetooth: None) -> None:
    async with SimulatedRig(load_scenario("low_charge"), directory=tmp_path) as rig:

        def tell(**ask: object) -> None:
            rig.receive(topic(RIG_NAME, "bench/ask"), json.dumps(ask).encode())

        faults = rig._devices["clamp meter"].faults
        for fault in set(DeviceFault) - {DeviceFault.REBOOT}:
            tell(instrument="clamp meter", do=fault)
            assert fault in faults
        tell(instrument="clamp meter", do="mend")
        assert not any(fault in faults for fault in DeviceFault)
        port = tmp_path / "ports" / "clamp-meter"
        tell(instrument="clamp meter", do="reboot")
        assert not port.is_symlink()
        with pytest.raises(SimulatorError, match="at most 1, was expected"):
            tell(instrument="clamp meter", do="drop", size=2.0)
        with pytest.raises(SimulatorError, match="no instrument 'oil probe'"):
            tell(instrument="oil probe", do="drop")
        with pytest.raises(MessageError):
            tell(instrument="clamp meter", do="rust")


def test_the_other_unit_of_each_instrument() -> None:
    """NIST SP 811, B.8: 1 psi = 6.894757 kPa, and 32 °F = 0 °C."""
    low, high, meter, air = (other_units(instrument) for instrument in bench_instruments())
    assert low["pressure"](100.0) == pytest.approx(689.4757)
    assert low["temperature"](32.0) == pytest.approx(0.0)
    assert high["pressure"](689.4757) == pytest.approx(100.0)
    assert high["temperature"](100.0) == pytest.approx(212.0)
    assert meter["compressor"](7.6) == 7600.0
    assert "return air humidity" not in air
