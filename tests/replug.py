"""An instrument under supervision, unplugged and plugged in again: how long until it is read again."""

import asyncio
import random
from collections.abc import Awaitable, Callable, Mapping
from contextlib import AsyncExitStack
from pathlib import Path

from ingest.backoff import Backoff
from ingest.decode.gatt import GattDecoder
from ingest.decode.lines import LineDecoder
from ingest.decode.modbus import ModbusDecoder
from ingest.decode.register_map import Register, blocks
from ingest.decode.scpi import decode_scpi
from ingest.frames import Decode, Link, Stamp, Value
from ingest.link.bluetooth import BluetoothInstrument
from ingest.link.modbus_rtu import ModbusRtu, rtu_settings
from ingest.link.modbus_tcp import ModbusTcp
from ingest.link.port_settings import PortSettings
from ingest.link.scpi import ScpiMeter
from ingest.link.serial_lines import SerialLines
from ingest.supervise import Instrument, LinkState, Surroundings
from simulators.device.bluetooth import BluetoothDevice
from simulators.device.device import SimulatedDevice
from simulators.device.fake_bluez import FakeBluez
from simulators.device.modbus import ModbusRtuDevice, ModbusTcpDevice
from simulators.device.modbus_frames import SimulatedRegister
from simulators.device.scpi import ScpiDevice
from simulators.device.serial import SerialProbe
from tests.bluetooth import ADDRESS, reached

Make = Callable[[AsyncExitStack, Path], Awaitable[tuple[SimulatedDevice, Link, Decode]]]

_BLOCKS = blocks([Register(field="suction", device=1, table="holding", address=0, number_type="f32")])
_SIMULATED = {"suction": SimulatedRegister(address=0)}


async def serial_lines(stack: AsyncExitStack, directory: Path) -> tuple[SimulatedDevice, Link, Decode]:
    probe = SerialProbe(lambda: {"suction": 118.0}, address=directory / "probe", interval_s=0.05, form="json")
    await stack.enter_async_context(probe)
    return probe, SerialLines(PortSettings(probe.address, 9600)), LineDecoder()


async def scpi(stack: AsyncExitStack, directory: Path) -> tuple[SimulatedDevice, Link, Decode]:
    meter = ScpiDevice(lambda: {"suction": 118.0}, address=directory / "meter", queries={"MEAS?": "suction"})
    await stack.enter_async_context(meter)
    return meter, ScpiMeter(PortSettings(meter.address, 9600), {"suction": "MEAS?"}, poll_s=0.2), decode_scpi


async def modbus_rtu(stack: AsyncExitStack, directory: Path) -> tuple[SimulatedDevice, Link, Decode]:
    device = ModbusRtuDevice(lambda: {"suction": 118.0}, address=directory / "bus", registers=_SIMULATED)
    await stack.enter_async_context(device)
    return device, ModbusRtu(rtu_settings(device.address, 19200, "none"), _BLOCKS, 0.2), ModbusDecoder(_BLOCKS)


async def modbus_tcp(stack: AsyncExitStack, _: Path) -> tuple[SimulatedDevice, Link, Decode]:
    device = ModbusTcpDevice(lambda: {"suction": 118.0}, registers=_SIMULATED)
    await stack.enter_async_context(device)
    return device, ModbusTcp("127.0.0.1", device.port, _BLOCKS, 0.2), ModbusDecoder(_BLOCKS)


async def bluetooth(stack: AsyncExitStack, _: Path) -> tuple[SimulatedDevice, Link, Decode]:
    bluez = await stack.enter_async_context(reached(FakeBluez()))
    probe = BluetoothDevice(
        lambda: {"suction": 23.45},
        bluez=bluez,
        address=ADDRESS,
        name="probe",
        characteristics={"suction": "2a6e"},
        interval_s=0.05,
    )
    await stack.enter_async_context(probe)
    return probe, BluetoothInstrument(device_name="probe"), GattDecoder()


LINKS: Mapping[str, Make] = {
    "serial_lines": serial_lines,
    "scpi": scpi,
    "modbus_rtu": modbus_rtu,
    "modbus_tcp": modbus_tcp,
    "bluetooth": bluetooth,
}


async def back_after_s(kind: str, directory: Path, cycles: int, away_s: tuple[float, float]) -> list[float]:
    """Unplug and replug many times; gives from each replugging how long it took to the next value [s]."""
    heard = asyncio.Event()

    def accept(_name: str, _stamp: Stamp, values: Mapping[str, Value]) -> None:
        if values:
            heard.set()

    def changed(_name: str, _former: LinkState, _state: LinkState) -> None:
        return

    chance = random.Random(kind)
    clock = asyncio.get_running_loop().time
    taken_s = []
    async with AsyncExitStack() as stack:
        device, link, decode = await LINKS[kind](stack, directory)
        instrument = Instrument("it", kind, lambda: (link, decode), Surroundings(accept, changed, clock), Backoff())
        supervising = asyncio.create_task(instrument.supervise())
        try:
            for _ in range(cycles + 1):
                async with asyncio.timeout(60):
                    await heard.wait()
                device.unplug()
                await asyncio.sleep(chance.uniform(*away_s))
                heard.clear()
                device.replug()
                started_s = clock()
                async with asyncio.timeout(60):
                    await heard.wait()
                taken_s.append(clock() - started_s)
        finally:
            supervising.cancel()
            await asyncio.wait([supervising])
    return taken_s[1:]
