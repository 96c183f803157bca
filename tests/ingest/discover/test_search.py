"""`dewline instruments`: what is found at real ports and on a simulated radio; each proposal is a configuration."""

import asyncio
import os
import sys
from collections.abc import AsyncIterator, Callable
from contextlib import AsyncExitStack, asynccontextmanager
from dataclasses import replace
from pathlib import Path

import msgspec
import pytest

from ingest.config.load import load
from ingest.config.structs import Config
from ingest.discover.propose import Found, as_configuration
from ingest.discover.search import Search, find_instruments
from ingest.kinds.bluetooth import BluetoothConfig
from ingest.kinds.bluetooth_adverts import BluetoothAdvertsConfig
from ingest.kinds.modbus_tcp import ModbusTcpConfig
from ingest.kinds.scpi import ScpiConfig
from ingest.kinds.serial_lines import SerialLinesConfig
from ingest.kinds.serial_meter import SerialMeterConfig
from ingest.link.port_settings import PortSettings
from ingest.link.serial_thread import open_port
from simulators.device.adverts import AdvertisingDevice
from simulators.device.bluetooth import BluetoothDevice
from simulators.device.bluez_objects import Characteristic, Peripheral
from simulators.device.device import SimulatedDevice
from simulators.device.fake_bluez import FakeBluez
from simulators.device.meter import MakeFrame, MeterDevice
from simulators.device.meter_frames_es51922 import frame as es51922_frame
from simulators.device.modbus import ModbusTcpDevice
from simulators.device.modbus_frames import SimulatedRegister
from simulators.device.pty_port import PtyPort
from simulators.device.scpi import ScpiDevice
from simulators.device.serial import SerialProbe
from tests.bluetooth import ADDRESS, AIR_PROBE, needs_fake_bluez, reached

HEAD = """
[rig]
name = "bench"
record = "bench.sqlite"
elevation = "0 m"

[unit]
tag = "RTU-K7Q-4"
refrigerant = "R-410A"
metering_device = "txv"

"""


def read_proposal(found: list[Found], directory: Path) -> Config:
    """Paste the proposal under a head, and load it."""
    path = directory / "rig.toml"
    path.write_text(HEAD + as_configuration(found), encoding="utf-8")
    return load(path)


@asynccontextmanager
async def at_ports(*devices: SimulatedDevice) -> AsyncIterator[Search]:
    """Devices at their ports, and a search of those."""
    async with AsyncExitStack() as stack:
        for device in devices:
            await stack.enter_async_context(device)
        ports = [device.address for device in devices]
        yield Search(seconds=0.6, ports=ports, bluetooth=False)


def probe(address: Path, **changes: object) -> SerialProbe:
    values = {"pressure": 118.0, "temperature": 50.0}
    return SerialProbe(lambda: values, address=address, interval_s=0.1, **changes)  # type: ignore[arg-type]


async def test_probes_that_send_lines(tmp_path: Path) -> None:
    high = SerialProbe(
        lambda: {"pressure": 2413.0, "temp_degc": 36.0}, address=tmp_path / "high-side", interval_s=0.1, form="json"
    )
    async with at_ports(probe(tmp_path / "low-side"), high) as search:
        found = await find_instruments(search)
    one, two = read_proposal(found, tmp_path).instruments
    assert one.link == SerialLinesConfig(port=f"{tmp_path}/high-side")
    assert [(it.channel, it.field, it.unit, it.reference) for it in one.channels] == [
        ("liquid_pressure", "pressure", "kPa", "gauge"),  # 2413 psi would be more than any unit has
        ("liquid_line_temperature", "temp_degc", "degC", None),
    ]
    assert [(it.channel, it.unit) for it in two.channels] == [
        ("suction_pressure", "psi"),
        ("suction_line_temperature", "degF"),
    ]
    assert {one.interval, two.interval} == {"0.1 s"}
    assert all("sent nothing" in it.notes[0] for it in found)


async def test_a_silent_meter_is_asked_who_it_is(tmp_path: Path) -> None:
    meter = ScpiDevice(lambda: {"amps": 11.2}, address=tmp_path / "meter", queries={"MEAS:CURR:AC?": "amps"})
    async with at_ports(meter) as search:
        [found] = await find_instruments(search)
        [unasked] = await find_instruments(replace(search, may_ask=False))
    assert "sent *IDN? at 9600 baud" in found.notes[0]
    assert "the answer: SIMULATED,METER,0,1" in found.notes[0]
    [instrument] = read_proposal([found], tmp_path).instruments
    assert isinstance(instrument.link, ScpiConfig)
    assert [it.channel for it in instrument.channels] == ["compressor_current", "line_voltage_ab"]
    assert unasked.notes == ("nothing heard in 0.6 s", "it was not asked")


async def test_nothing_is_sent_to_a_port_that_speaks_and_a_silent_one_gets_one_query(tmp_path: Path) -> None:
    silent, speaking = PtyPort(tmp_path / "silent"), probe(tmp_path / "speaking")
    heard_by = silent.plug()
    async with speaking:
        ports = [str(tmp_path / "silent"), speaking.address]
        found = await find_instruments(Search(seconds=0.5, ports=ports, bluetooth=False))
        assert os.read(heard_by, 4096) == b"*IDN?\n"
        with pytest.raises(BlockingIOError):
            os.read(speaking._port.plug(), 4096)
    silent.unplug()
    assert "no answer" in found[0].notes[1]
    assert found[0].link is None


@pytest.mark.parametrize(("chip", "make_frame"), [("fs9721", None), ("es51922", es51922_frame)])
async def test_a_multimeter_is_known_by_its_frames(tmp_path: Path, chip: str, make_frame: MakeFrame | None) -> None:
    """A pseudo-terminal passes bytes at any speed, so the one that was listened at is in the configuration."""
    meter = MeterDevice(
        lambda: {"ac_current": 11.2},
        address=tmp_path / "dmm",
        function="ac_current",
        interval_s=0.1,
        make_frame=make_frame,
    )
    async with at_ports(meter) as search:
        found = await find_instruments(search)
    [instrument] = read_proposal(found, tmp_path).instruments
    assert isinstance(instrument.link, SerialMeterConfig)
    assert (instrument.link.chip, instrument.link.baud) == (chip, 9600)
    assert [(it.channel, it.field, it.unit) for it in instrument.channels] == [
        ("compressor_current", "ac_current", "A")
    ]


async def test_while_it_looks_it_says_where_and_what_it_found_as_soon_as_it_did(tmp_path: Path) -> None:
    silent = PtyPort(tmp_path / "silent")
    silent.plug()
    lines: list[str] = []
    async with probe(tmp_path / "speaking") as speaking:
        ports = [str(tmp_path / "silent"), speaking.address]
        looking = asyncio.create_task(find_instruments(Search(seconds=0.6, ports=ports, bluetooth=False), lines.append))
        await asyncio.sleep(0.1)  # it listens for six times as long
        assert lines == [f"{port}: listening for 0.6 s" for port in ports]
        found = await looking
    silent.unplug()
    assert sorted(line.partition(": ")[0] for line in lines[2:]) == ports
    assert all(each.notes[0] in " ".join(lines) or each.name in " ".join(lines) for each in found)


async def test_a_port_in_use_is_left_alone(tmp_path: Path) -> None:
    async with at_ports(probe(tmp_path / "taken")) as search:
        with open_port(PortSettings(search.ports[0], 9600)):  # type: ignore[index]
            [found] = await find_instruments(search)
    assert found.link is None
    assert "another program has it open" in found.notes[0]


async def test_a_port_that_is_not_there_is_told(tmp_path: Path) -> None:
    [found] = await find_instruments(Search(ports=[f"{tmp_path}/nothing"], bluetooth=False))
    assert "cannot be opened" in found.notes[0]


async def test_registers_are_read_and_guessed(tmp_path: Path) -> None:
    values = {"suction": 118.25, "outdoor": 35.5}
    registers = {
        "suction": SimulatedRegister(address=0, order="CDAB"),
        "outdoor": SimulatedRegister(address=4, table="input", steps_per_unit=10),
    }
    async with ModbusTcpDevice(lambda: values, registers=registers) as device:
        search = Search(ports=[], bluetooth=False, modbus=device.address, registers=(0, 5))
        found = await find_instruments(search)
    [instrument] = read_proposal(found, tmp_path).instruments
    assert isinstance(instrument.link, ModbusTcpConfig)
    assert instrument.link.port == device.port
    guessed = {
        name: (it.table, it.address, it.type, it.order, it.scale) for name, it in instrument.link.registers.items()
    }
    assert guessed == {
        "holding 0": ("holding", 0, "f32", "CDAB", 1.0),
        "input 4": ("input", 4, "i16", None, 0.1),
    }
    assert [it.value for it in found[0].outputs] == [118.25, 35.5]


async def test_a_host_that_does_not_answer_is_told(free_port: Callable[[], int]) -> None:
    [found] = await find_instruments(Search(ports=[], bluetooth=False, modbus=f"127.0.0.1:{free_port()}"))
    assert found.link is None
    assert "takes no connection" in found.notes[1]


@needs_fake_bluez
async def test_bluetooth_devices_in_reach(tmp_path: Path) -> None:
    air = {"return air": 23.45, "supply air": 12.0, "outdoor air": 35.0, "return air humidity": 52.3}
    async with AsyncExitStack() as stack:
        bluez = await stack.enter_async_context(reached(FakeBluez()))
        await stack.enter_async_context(
            BluetoothDevice(
                lambda: air,
                bluez=bluez,
                address=ADDRESS,
                name="air probe",
                characteristics=AIR_PROBE,
                interval_s=0.1,
            )
        )
        await stack.enter_async_context(
            AdvertisingDevice(
                lambda: {"temperature": 35.0, "humidity": 40.0},
                bluez=bluez,
                address="C0:00:5E:00:53:02",
                name="roof sensor",
                objects={"temperature": 0x02, "humidity": 0x03},
                interval_s=0.2,
            )
        )
        bluez.appear(Peripheral("C0:00:5E:00:53:03", "a scale", (Characteristic("2a9d", "weight"),)))
        found = await find_instruments(Search(seconds=1.0, ports=[]))
    probe_found, sensor, scale = found
    assert "no characteristic that we decode" in scale.notes[0]
    first, second = read_proposal(found, tmp_path).instruments
    assert first.link == BluetoothConfig(address=ADDRESS)
    assert {it.field: (it.channel, it.unit) for it in first.channels} == {
        "return air": ("return_air_temperature", "degC"),
        "supply air": ("supply_air_temperature", "degC"),
        "outdoor air": ("outdoor_air_temperature", "degC"),
        "return air humidity": ("return_air_humidity", "%RH"),
    }
    assert {it.field: it.value for it in probe_found.outputs} == air
    assert second.link == BluetoothAdvertsConfig(address="C0:00:5E:00:53:02")
    assert {it.field: it.value for it in sensor.outputs} == {"temperature": 35.0, "humidity": 40.0}


async def test_a_machine_without_bluetooth_says_so(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", f"unix:path={tmp_path}/nothing")
    [found] = await find_instruments(Search(seconds=0.2, ports=[]))
    assert "no system D-Bus" in found.notes[0]


async def test_the_command_prints_toml(tmp_path: Path) -> None:
    async with probe(tmp_path / "low-side") as device:
        process = await asyncio.create_subprocess_exec(
            *(sys.executable, "-m", "dewline", "instruments"),
            *("--port", device.address, "--seconds", "0.6", "--no-bluetooth", "--listen-only"),
            stdout=asyncio.subprocess.PIPE,
        )
        output, _ = await process.communicate()
    assert process.returncode == 0
    path = tmp_path / "rig.toml"
    path.write_text(HEAD + output.decode(), encoding="utf-8")
    assert load(path).instruments[0].link == SerialLinesConfig(port=device.address)
    assert msgspec.toml.decode(output)["instrument"][0]["name"] == "low-side"
