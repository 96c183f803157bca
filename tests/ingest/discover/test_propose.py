"""The proposal of a configuration: always TOML, never a channel twice, and what is a guess says so."""

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.quantities import CHANNELS, Quantity
from ingest.decode.meter_display import FIELDS
from ingest.discover.guess import (
    Output,
    advertised_output,
    described_output,
    displayed_outputs,
    interval_s,
    named_output,
)
from ingest.discover.propose import Found, as_configuration
from ingest.frames import Unreadable
from ingest.kinds.bluetooth import BluetoothConfig
from ingest.kinds.serial_lines import SerialLinesConfig
from ingest.kinds.serial_meter import UNITS

LINK = SerialLinesConfig(port="/dev/ttyUSB0", baud=9600)


@pytest.mark.parametrize(
    ("output", "quantity", "unit"),
    [
        (named_output("pressure", 118.0), Quantity.PRESSURE, ""),
        (named_output("suction pressure kPa", 800.0), Quantity.PRESSURE, "kPa"),
        (named_output("Temp_F", 50.0), Quantity.TEMPERATURE, ""),
        (named_output("amps", 11.0), Quantity.CURRENT, ""),
        (named_output("rpm", 1100.0), None, ""),
        (described_output("2a6e:return air", "return air", 23.45), Quantity.TEMPERATURE, "degC"),
        (described_output("2a19:Battery Level", "Battery Level", 90.0), None, ""),
        (described_output("6e400003-b5a3:pipe", "pipe [degF]", 50.0), Quantity.TEMPERATURE, "degF"),
        (advertised_output("temperature 2", 20.0), Quantity.TEMPERATURE, "degC"),
        (advertised_output("packet id", 7.0), None, ""),
    ],
)
def test_what_an_output_is(output: Output, quantity: Quantity | None, unit: str) -> None:
    assert (output.quantity, output.unit) == (quantity, unit)


def test_a_multimeter_is_proposed_for_what_its_dial_is_set_to() -> None:
    values = dict.fromkeys(FIELDS, Unreadable.OTHER_FUNCTION) | {"ac_voltage": Unreadable.OVERLOAD}
    assert [output.field for output in displayed_outputs(values, UNITS)] == ["ac_voltage"]


@pytest.mark.parametrize(
    ("arrivals_s", "expected_s"),
    [
        ([], 1.0),
        ([3.0], 1.0),
        ([0.0, 0.11, 0.19], 0.1),
        ([0, 1.02, 2.0, 9.0], 1.0),
        ([0.0, 0.7], 1.0),
        ([0, 500], 60.0),
    ],
)
def test_an_interval_is_a_round_number(arrivals_s: list[float], expected_s: float) -> None:
    assert interval_s(arrivals_s) == expected_s


def test_what_is_guessed_is_marked() -> None:
    text = as_configuration(
        [Found("here", ("heard lines",), "low side", LINK, 0.5, (named_output("pressure", 118.0),))]
    )
    lines = dict(line.partition(" = ")[::2] for line in text.splitlines() if " = " in line)
    assert lines["channel"].startswith('"suction_pressure"  # CHECK: or liquid_pressure')
    assert lines["unit"].startswith('"psi"  # CHECK: a guess; or kPa')
    assert lines["reference"].startswith('"gauge"  # CHECK')
    assert lines["accuracy"].startswith('"1 psi"  # CHECK')
    assert lines["interval"] == '"0.5 s"'


def test_a_channel_is_proposed_once_and_the_rest_is_named() -> None:
    outputs = tuple(named_output(f"temp {number}", 20.0) for number in range(12))
    document = as_configuration(
        [Found("here", (), "one", LINK, 1.0, outputs[:6]), Found("there", (), "one", LINK, 1.0, outputs)]
    )
    instruments = msgspec.toml.decode(document)["instrument"]
    channels = [channel["channel"] for instrument in instruments for channel in instrument["channel"]]
    temperatures = [name for name, quantity in CHANNELS.items() if quantity is Quantity.TEMPERATURE]
    assert sorted(channels) == sorted(temperatures)
    assert [instrument["name"] for instrument in instruments] == ["one 1", "one 2"]
    assert document.count("# it also sends temp") == 18 - len(temperatures)


def test_an_instrument_without_a_channel_is_proposed_in_comments_only() -> None:
    document = as_configuration([Found("here", (), "counter", LINK, 1.0, (named_output("rpm", 1100.0),))])
    assert msgspec.toml.decode(document) == {}
    assert '# name = "counter"' in document


anything = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)


@given(anything, anything, anything, anything)
def test_whatever_a_strangers_device_calls_itself_it_stays_toml(where: str, note: str, name: str, field: str) -> None:
    outputs = (Output(field, 20.0, Quantity.TEMPERATURE, "degC"), Output(field, 1.0, None))
    found = Found(where, (note,), name, BluetoothConfig(address="C0:00:5E:00:53:01"), 1.0, outputs)
    [instrument] = msgspec.toml.decode(as_configuration([found]))["instrument"]
    assert instrument["channel"][0]["field"] == field
    assert instrument["link"] == {"kind": "bluetooth", "address": "C0:00:5E:00:53:01"}
