"""The bench: its instruments send what the unit is at, and what is recorded on the rig happens to the unit."""

import asyncio
import json
import logging
import math
import os
import statistics
import time
from collections.abc import Callable
from pathlib import Path

import aiomqtt
import pytest

from ingest.config import load as config
from ingest.wire.bench_acts import BenchState, MoveProbes, ScrewProbes
from ingest.wire.messages import (
    Added,
    Correction,
    Mark,
    MessageError,
    Note,
    ReadingTaken,
    Recovered,
    SessionBegan,
    decode,
    encode,
    topic,
)
from simulators.bench.bench import RIG_NAME, STARTS_ANEW, SimulatedRig
from simulators.bench.instruments import Sensor, SensorSetting, bench_instruments
from simulators.bench.scenario import Scenario, load_scenario
from simulators.errors import SimulatorError
from simulators.unit.model import Unit
from simulators.unit.transfers import OUNCE_KG, Transfers
from tests.bluetooth import needs_fake_bluez
from tests.brokers import listening_to, mosquitto
from tests.processes import eventually


def low_charge() -> Scenario:
    return load_scenario("low_charge")


@pytest.fixture
def rig(tmp_path: Path) -> SimulatedRig:
    return SimulatedRig(low_charge(), directory=tmp_path)


def test_two_circuits_are_read_where_the_probes_are(tmp_path: Path) -> None:
    """As its scenario says: the first is as its nameplate has it, the second is short, and both cool one air."""
    rig = SimulatedRig(load_scenario("one_of_two"), directory=tmp_path)
    liquid = next(output for output in rig._readings if output.channel == "liquid_pressure")
    first, second = rig.hands._circuits.values()
    for circuit, unit in (("1", first), ("2", second)):
        rig.hands.do(MoveProbes(circuit=circuit))
        rig.advance(1.0)
        assert rig._readings[liquid] == pytest.approx(unit.true_state()["liquid_pressure"], abs=1e4)
    assert second.true_state()["liquid_pressure"] < first.true_state()["liquid_pressure"] - 3e4
    assert rig.reveal("undercharge").charge_error_kg == pytest.approx(-7 * OUNCE_KG, abs=1e-6)


def test_probes_that_a_hand_took_off_read_the_air_until_they_are_on_again(tmp_path: Path) -> None:
    """101.325 kPa at sea level: the standard atmosphere, ISO 2533. The clamps stay on their pipes."""
    rig = SimulatedRig(load_scenario("low_charge"), directory=tmp_path)
    outputs = {output.channel: output for output in rig._readings}
    rig.advance(1.0)
    on = {name: rig._readings[output] for name, output in outputs.items()}
    rig.hands.do(ScrewProbes(on=False))
    rig.advance(1.0)
    assert not rig.hands.state.probes_on
    for name in ("suction_pressure", "liquid_pressure"):
        assert rig._readings[outputs[name]] == pytest.approx(101_325.0, abs=1e4)
    for name in ("suction_line_temperature", "liquid_line_temperature"):
        assert rig._readings[outputs[name]] == pytest.approx(on[name], abs=2.0)
    rig.hands.do(ScrewProbes(on=True))
    rig.advance(1.0)
    assert rig._readings[outputs["liquid_pressure"]] == pytest.approx(on["liquid_pressure"], abs=1e5)


@pytest.fixture
def without_bluetooth(monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine without dbus-daemon, as far as this process can see."""
    monkeypatch.setenv("PATH", "")


async def line_from(path: str, accept: Callable[[bytes], bool], query: bytes = b"") -> str:
    """A whole line from a serial port, as any program would read it."""
    port = os.open(path, os.O_RDWR | os.O_NONBLOCK | os.O_NOCTTY)
    received = b""
    try:
        os.write(port, query)
        async with asyncio.timeout(5):
            while True:
                try:
                    received += os.read(port, 4096)
                except BlockingIOError:
                    await asyncio.sleep(0.01)
                for line in received.split(b"\n")[:-1]:
                    if accept(line):
                        return line.decode().strip()
    finally:
        os.close(port)


def mark(kind: str, ounces: float, *, name: str = "m1", time_s: float | None = None) -> Mark:
    moment = time.time() + 60.0 if time_s is None else time_s  # after the bench starts, however slow the machine
    make = Added if kind == "added" else Recovered
    return make(name, moment, by="Sam", role="technician", mass_kg=ounces * OUNCE_KG, phase="liquid")


# --- sensors


def test_a_pipe_sensor_settles_as_title_24_asks() -> None:
    """California Title 24 RA3.2: within 90 s of a 40 °F step; taken as within 0.5 °C, the clamp's limit."""
    clamp = bench_instruments()[0].outputs[1]
    sensor = Sensor(SensorSetting(noise=0.0, lag_s=clamp.setting.lag_s), "step")
    sensor.feel(280.0, 0.25)
    for _ in range(90 * 4):
        reading = sensor.feel(280.0 + 40 / 1.8, 0.25)
    assert abs(reading - 280.0 - 40 / 1.8) < 0.5


def test_noise_has_its_size_and_hangs_together_for_seconds() -> None:
    sensor = Sensor(SensorSetting(noise=2.0, offset=1.0), "noise")
    readings = [sensor.feel(100.0, 0.25) for _ in range(40_000)]
    assert statistics.mean(readings) == pytest.approx(101.0, abs=0.3)
    assert statistics.stdev(readings) == pytest.approx(2.0, rel=0.1)
    after_a_second = statistics.correlation(readings[:-4], readings[4:])
    assert after_a_second == pytest.approx(math.exp(-1 / 8), abs=0.03)


def test_noise_is_the_same_with_the_same_seed() -> None:
    first, second, other = (Sensor(SensorSetting(noise=1.0), seed) for seed in ("1", "1", "2"))
    assert [first.feel(0.0, 1.0) for _ in range(5)] == [second.feel(0.0, 1.0) for _ in range(5)]
    assert first.feel(0.0, 1.0) != other.feel(0.0, 1.0)


# --- refrigerant on its way


def test_an_ounce_takes_ten_seconds_in_and_out_in_turn() -> None:
    unit, transfers = Unit(low_charge().parameters), Transfers()
    before = unit.charge_kg
    transfers.add(6 * OUNCE_KG, "liquid")
    transfers.recover(2 * OUNCE_KG)
    transfers.move(unit, 30.0)
    assert unit.charge_kg - before == pytest.approx(3 * OUNCE_KG)
    transfers.move(unit, 40.0)
    assert unit.charge_kg - before == pytest.approx(5 * OUNCE_KG)
    transfers.move(unit, 100.0)
    assert unit.charge_kg - before == pytest.approx(4 * OUNCE_KG)
    assert transfers.waiting_kg == 0.0


@pytest.mark.hours
def test_what_the_unit_cannot_give_is_given_up_and_the_rest_goes_on(rig: SimulatedRig) -> None:
    rig.transfers.recover(50.0)
    rig.transfers.add(OUNCE_KG, "vapour")
    for _ in range(30):
        rig.advance(60.0)
    assert rig.transfers.waiting_kg == 0.0
    assert 0.0 < rig.unit.charge_kg < 1.0


# --- what it hears


def test_a_recorded_addition_goes_in_once(rig: SimulatedRig) -> None:
    added = encode(mark("added", 6.0))
    rig.receive(topic(RIG_NAME, "marks"), added)
    rig.receive(topic(RIG_NAME, "marks"), added)
    assert rig.transfers.waiting_kg == pytest.approx(6 * OUNCE_KG)
    before = rig.unit.charge_kg
    rig.advance(70.0)
    assert rig.unit.charge_kg - before == pytest.approx(6 * OUNCE_KG)


@pytest.mark.parametrize(("ounces", "left"), [(4.0, 4.0), (None, 0.0), (8.0, 8.0)])
def test_a_correction_leaves_in_the_unit_what_it_says(rig: SimulatedRig, ounces: float | None, left: float) -> None:
    before = rig.unit.charge_kg
    rig.receive(topic(RIG_NAME, "marks"), encode(mark("added", 6.0)))
    rig.advance(70.0)
    mass_kg = None if ounces is None else ounces * OUNCE_KG
    rig.receive(topic(RIG_NAME, "marks"), encode(Correction("c1", time.time() + 60.0, of="m1", mass_kg=mass_kg)))
    rig.advance(90.0)
    assert rig.unit.charge_kg - before == pytest.approx(left * OUNCE_KG, abs=1e-9)


def test_other_marks_move_nothing(rig: SimulatedRig) -> None:
    for other in (Note, ReadingTaken, SessionBegan):
        rig.receive(topic(RIG_NAME, "marks"), encode(other(other.__name__, time.time() + 60.0)))
    assert rig.transfers.waiting_kg == 0.0


async def test_marks_missed_are_made_up_from_about_and_old_ones_left(tmp_path: Path, without_bluetooth: None) -> None:
    about = json.loads(ABOUT)
    old, new = mark("added", 3.0, name="old", time_s=time.time() - 60.0), mark("recovered", 2.0, name="new")
    about["marks"] = [json.loads(encode(old)), json.loads(encode(new))]
    async with SimulatedRig(low_charge(), directory=tmp_path) as rig:
        rig.receive(topic(RIG_NAME, "about"), json.dumps(about).encode())
        rig.receive(topic(RIG_NAME, "marks"), encode(new))
        assert rig.transfers.waiting_kg == pytest.approx(2 * OUNCE_KG, abs=1e-3)


ABOUT = """{"rig": "bench", "boot": "b", "session": 1, "started_s": 0, "visit": "v", "visit_started_s": 0, "unit": {
"tag": "RTU-K7Q-4", "place": "", "refrigerant": "R-410A", "safety_class": "A1", "metering_device": "txv",
"charge_as_liquid": true}, "barometric_pressure_pa": 101325, "channels": [], "instruments": []}"""


def test_what_makes_no_sense_is_refused(rig: SimulatedRig) -> None:
    with pytest.raises(MessageError):
        rig.receive(topic(RIG_NAME, "marks"), b"{")
    with pytest.raises(MessageError):
        rig.receive(topic(RIG_NAME, "bench/ask"), b'{"instrument": "air probe", "do": "paint"}')
    with pytest.raises(SimulatorError, match="no instrument 'oil probe'"):
        rig.receive(topic(RIG_NAME, "bench/ask"), b'{"instrument": "oil probe", "do": "unplug"}')


@pytest.mark.parametrize("speed", [0.0, -1.0, 1000.0, math.nan])
def test_impossible_speed(tmp_path: Path, speed: float) -> None:
    with pytest.raises(SimulatorError, match="times as fast as life"):
        SimulatedRig(low_charge(), directory=tmp_path, speed=speed)


# --- what it shows


async def test_ports_carry_what_the_unit_is_at(tmp_path: Path, without_bluetooth: None) -> None:
    """Units by hand: 1 psi is 6894.757 Pa (NIST SP 811)."""
    async with SimulatedRig(low_charge(), directory=tmp_path) as rig:
        ports = tmp_path / "ports"
        low = await line_from(str(ports / "low-side-probe"), lambda line: line[:1].isdigit())
        high = await line_from(str(ports / "high-side-probe"), lambda line: line.startswith(b"{"))
        amps = await line_from(str(ports / "clamp-meter"), lambda _: True, b"MEAS:CURR:AC? (@1)\n")
        state = rig.unit.true_state()
    pressure_psi, temperature_f = map(float, low.split(","))
    gauge_pa = state["suction_pressure"] - state["barometric_pressure"]
    assert pressure_psi == pytest.approx(gauge_pa / 6894.757, abs=1.0)
    assert temperature_f == pytest.approx((state["suction_line_temperature"] - 273.15) * 1.8 + 32, abs=0.5)
    liquid = json.loads(high)
    assert liquid["pressure"] == pytest.approx((state["liquid_pressure"] - state["barometric_pressure"]) / 1e3, abs=9)
    assert liquid["temperature"] == pytest.approx(state["liquid_line_temperature"] - 273.15, abs=0.3)
    assert float(amps) == pytest.approx(state["compressor_current"], abs=0.1)


async def test_speed_makes_the_unit_run_ahead(tmp_path: Path, without_bluetooth: None) -> None:
    async with SimulatedRig(low_charge(), directory=tmp_path, speed=100.0) as rig:
        rig.transfers.add(6 * OUNCE_KG, "liquid")
        before = rig.unit.charge_kg

        async def all_in() -> bool:
            return rig.unit.charge_kg - before == pytest.approx(6 * OUNCE_KG)

        await eventually("a minute's addition went in", all_in, within_s=10.0)


async def test_daemon_accepts_the_configuration(
    tmp_path: Path, without_bluetooth: None, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.WARNING):
        async with SimulatedRig(low_charge(), directory=tmp_path, speed=5.0) as rig:
            (tmp_path / "rig.toml").write_text(rig.configuration(18830, "mosquitto"))
            assert rig.environment() == {}
            loaded = config.load(tmp_path / "rig.toml")
    assert [item.name for item in loaded.instruments] == ["low side probe", "high side probe", "clamp meter"]
    assert "runs without its Bluetooth instrument: dbus-daemon is missing" in caplog.text
    assert loaded.rig.speed == 5.0
    assert loaded.rig.record == str(rig.record)
    assert loaded.broker.listen == "127.0.0.1:18830"


@needs_fake_bluez
async def test_air_probe_is_there_where_bluetooth_can_be(rig: SimulatedRig, tmp_path: Path) -> None:
    async with rig:
        (tmp_path / "rig.toml").write_text(rig.configuration(18830))
        loaded = config.load(tmp_path / "rig.toml")
        assert rig.environment()["DBUS_SYSTEM_BUS_ADDRESS"].startswith("unix:")
    assert {channel.channel for channel in loaded.instruments[-1].channels} == {
        "return_air_temperature",
        "supply_air_temperature",
        "outdoor_air_temperature",
        "return_air_humidity",
    }


async def test_it_follows_the_rig_over_a_dead_broker(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with mosquitto(free_port(), tmp_path) as broker, SimulatedRig(low_charge(), directory=tmp_path) as rig:
        following = asyncio.create_task(rig.follow(broker.address))
        try:
            await told_until_heard(rig, broker.address.port, mark("added", 6.0, name="m1"))
            await broker.kill()
            await broker.start()
            await told_until_heard(rig, broker.address.port, mark("added", 4.0, name="m2"))
            port = tmp_path / "ports" / "clamp-meter"
            async with aiomqtt.Client("127.0.0.1", broker.address.port) as client:
                await client.publish(topic(RIG_NAME, "bench/ask"), b"never mind", qos=1)
                unplug = b'{"instrument": "clamp meter", "do": "unplug"}'
                await client.publish(topic(RIG_NAME, "bench/ask"), unplug, qos=1)
                await eventually("the clamp meter is gone", lambda: missing(port, gone=True))
                await client.publish(topic(RIG_NAME, "bench/ask"), unplug.replace(b"unplug", b"replug"), qos=1)
                await eventually("the clamp meter is back", lambda: missing(port, gone=False))
        finally:
            following.cancel()
            await asyncio.wait([following])


async def missing(port: Path, *, gone: bool) -> bool:
    return gone != await asyncio.to_thread(os.path.lexists, port)


async def told_until_heard(rig: SimulatedRig, port: int, told: Mark) -> None:
    """Repeat the mark until the bench has heard: a repeated one changes nothing."""
    assert told.mass_kg is not None
    expected = rig.unit.charge_kg + rig.transfers.waiting_kg + told.mass_kg

    async def heard() -> bool:
        async with aiomqtt.Client("127.0.0.1", port) as client:
            await client.publish(topic(RIG_NAME, "marks"), encode(told), qos=1)
        return rig.unit.charge_kg + rig.transfers.waiting_kg == pytest.approx(expected)

    await eventually(f"{told.id} is in or on its way", heard)


async def test_a_verdict_is_answered_over_the_broker_and_stays_for_a_latecomer(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    about, reveal = (topic(RIG_NAME, kind) for kind in ("bench/about", "bench/reveal"))
    async with mosquitto(free_port(), tmp_path) as broker, aiomqtt.Client("127.0.0.1", broker.address.port) as client:
        await client.publish(reveal, b"what an earlier bench revealed", qos=1, retain=True)
        rig = SimulatedRig(low_charge(), directory=tmp_path, blind=True)
        async with listening_to(broker.address) as ear:
            following = asyncio.create_task(rig.follow(broker.address))
            try:
                await ear.until(lambda: len(ear.payloads(about)) == 1)
                blind = json.loads(ear.payloads(about)[0])
                assert (blind["blind"], blind["scenario"]) == (True, "")
                await client.publish(topic(RIG_NAME, "bench/verdict"), b'{"fault": "undercharge"}', qos=1)
                await ear.until(lambda: len(ear.payloads(about)) == 2)
            finally:
                following.cancel()
                await asyncio.wait([following])
        assert json.loads(ear.payloads(about)[1])["scenario"] == low_charge().file.title
        *_, cleared, revealed = ear.payloads(reveal)
        assert cleared == b""
        assert json.loads(revealed)["right"]
        async with listening_to(broker.address) as latecomer:
            await latecomer.until(lambda: latecomer.payloads(reveal) == [revealed])


def test_the_thermostat_can_be_set(rig: SimulatedRig) -> None:
    def ask(instrument: str, do: str) -> None:
        payload = json.dumps({"instrument": instrument, "do": do}).encode()
        rig.receive(topic(RIG_NAME, "bench/ask"), payload)

    ask("thermostat", "off")
    rig.advance(1.0)
    assert not rig.unit.is_running
    ask("thermostat", "on")
    rig.advance(1.0)
    assert rig.unit.held_by == "delay timer"
    rig.unit.step(300.0)
    assert rig.unit.is_running
    with pytest.raises(SimulatorError, match="only the thermostat goes on and off, not 'clamp meter'"):
        ask("clamp meter", "off")


async def test_a_unit_that_fails_ends_its_bench(
    tmp_path: Path, without_bluetooth: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    def breaks(_: float) -> None:
        raise SimulatorError("the model has no root here")

    async def broken() -> None:
        async with SimulatedRig(low_charge(), directory=tmp_path) as rig:
            monkeypatch.setattr(rig.unit, "step", breaks)
            with pytest.raises(SimulatorError, match="no root"):
                await asyncio.wait_for(rig.lasts(), 10)

    with pytest.raises(SimulatorError, match="no root"):  # nor is it forgotten when nobody waited
        await broken()


@pytest.mark.parametrize(
    ("payload", "why"),
    [
        (b'{"act": "panel", "on": true, "on": false}', "'on' is given twice"),
        (b'{"act": "hose"}', "missing required field `port`"),
        (b'{"act": "leads", "red": "' + 5000 * b"x" + b'"}', "an act of 5027 bytes; at most 4096"),
        (b"", "truncated"),
    ],
)
def test_an_act_that_cannot_be_read_is_refused_where_everyone_sees_it(
    rig: SimulatedRig, payload: bytes, why: str
) -> None:
    with pytest.raises(MessageError, match=why):
        rig.receive(topic(RIG_NAME, "bench/act"), payload)
    told = decode(rig._outbox._waiting[-1].payload, BenchState)
    assert why in told.refused
    assert (told.refused_act, told.done) == ("", 0)


def test_a_unit_at_rest_is_called_for_when_its_scenario_says(tmp_path: Path) -> None:
    rig = SimulatedRig(load_scenario("slow_start"), directory=tmp_path)
    rig.advance(59.0)
    assert not rig.unit.is_running
    rig.advance(2.0)
    assert rig.unit.is_running


def test_what_is_heard_is_told_as_it_changes_without_a_hand(tmp_path: Path) -> None:
    """What chatters falls still as its volts go: a coil that has none holds nothing."""
    rig = SimulatedRig(load_scenario("chatters"), directory=tmp_path)

    def told() -> list[str]:
        return [decode(it.payload, BenchState).sound for it in rig._outbox._waiting]

    for _ in range(8):
        rig.advance(0.25)
    assert told()[-1] == "chatters"
    before = len(told())
    rig.receive(topic(RIG_NAME, "bench/act"), b'{"act": "disconnect", "closed": false}')
    for _ in range(8):
        rig.advance(0.25)
    assert told()[-1] == ""
    assert len(told()) <= before + 2  # with what the hand did, and once more as it changes


def test_a_bench_that_has_forgotten_what_its_record_has_says_so_on_the_page(tmp_path: Path) -> None:
    assert STARTS_ANEW not in SimulatedRig(low_charge(), directory=tmp_path).about().story
    (tmp_path / "bench.sqlite").touch()
    assert SimulatedRig(low_charge(), directory=tmp_path).about().story.startswith(STARTS_ANEW)
