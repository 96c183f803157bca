r"""Lines as boards, scales, meters and loggers send them, read by configuration alone.

The shapes are those of public documentation: serial monitors and plotters of hobby boards, logging sketches of sensor
libraries, command sets that many bench scales share, loggers' CSV; all from memory, with figures made up here. Each is
read through the configuration of its link and cut out of a stream of bytes, as a port gives it.
"""

import math
from typing import Any, NamedTuple

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.quantities import Quantity
from calc.units import conversion
from ingest.decode.line_splitter import LineSplitter
from ingest.decode.lines import LineDecoder
from ingest.decode.text_form import TextForm
from ingest.frames import Frame, FrameError, InUnit, Malformed, Stamp, Unreadable, Value
from ingest.kinds.serial_lines import SerialLinesConfig
from tests.fuzzing import fuzz

OVER, UNKNOWN, FAULT, UNSTEADY = Unreadable.OVERLOAD, Unreadable.UNKNOWN, Unreadable.SENSOR_FAULT, Unreadable.UNSTEADY


class Shape(NamedTuple):
    """What comes, how the link is configured, and what is read: each line's values, or a part of why it is refused."""

    comes: bytes
    told: dict[str, Any]
    read: list[dict[str, Any] | str]


WEIGHT = r"(?P<weight>[-+]?\s*[0-9.]+)\s*(?P<unit>kg|g|lb|oz)"

SHAPES = {
    # --- boards: columns
    "a number on each line": Shape(b"118.2\n118.4\n", {"columns": ["low"]}, [{"low": 118.2}, {"low": 118.4}]),
    "two, by a comma": Shape(b"118.2,57.3\r\n", {"columns": ["low", "suction"]}, [{"low": 118.2, "suction": 57.3}]),
    "a comma and a space": Shape(
        b"118.2, 57.3\r\n", {"columns": ["low", "suction"]}, [{"low": 118.2, "suction": 57.3}]
    ),
    "by a tab": Shape(
        b"118.2\t57.3\n", {"columns": ["low", "suction"], "separator": "tab"}, [{"low": 118.2, "suction": 57.3}]
    ),
    "by spaces, set in columns": Shape(
        b"  118.2    57.3  45.1\n",
        {"columns": ["low", "suction", "liquid"], "separator": "space"},
        [{"low": 118.2, "suction": 57.3, "liquid": 45.1}],
    ),
    "by semicolons, decimal commas": Shape(
        b"118,2;57,3\r\n",
        {"columns": ["low", "suction"], "separator": ";", "decimal": "comma"},
        [{"low": 118.2, "suction": 57.3}],
    ),
    "a time first, which is left out": Shape(
        b"2026-06-02 14:02:07,118.2,57.3\n", {"columns": ["", "low", "suction"]}, [{"low": 118.2, "suction": 57.3}]
    ),
    "milliseconds since it began": Shape(b"184223,118.2\n", {"columns": ["", "low"]}, [{"low": 118.2}]),
    "a comma at the end": Shape(b"118.2,57.3,\n", {"columns": ["low", "suction"]}, [{"low": 118.2, "suction": 57.3}]),
    "a header once, without a sign": Shape(
        b"time,low_psi,suction_c\n1,118.2,14.1\n2,118.3,14.0\n",
        {"separator": ","},
        [{}, {"time": 1.0, "low_psi": 118.2, "suction_c": 14.1}, {"time": 2.0, "low_psi": 118.3, "suction_c": 14.0}],
    ),
    "a header with a sign": Shape(b"# low,suction\n118.2,57.3\n", {}, [{}, {"low": 118.2, "suction": 57.3}]),
    "CR alone": Shape(b"118.2\r118.4\r", {"columns": ["low"]}, [{"low": 118.2}, {"low": 118.4}]),
    "padded with NUL": Shape(b"118.2\x00\x00\n\x00\x00118.4\n", {"columns": ["low"]}, [{"low": 118.2}, {"low": 118.4}]),
    "a mark of byte order": Shape(
        b"\xef\xbb\xbf118.2,57.3\n", {"columns": ["low", "suction"]}, [{"low": 118.2, "suction": 57.3}]
    ),
    "an open sensor": Shape(
        b"118.2,nan\n118.2,-127.00\n",
        {"columns": ["low", "suction"]},
        [{"low": 118.2, "suction": UNKNOWN}, {"low": 118.2, "suction": -127.0}],
    ),
    "units in the places": Shape(
        b"118.2 psi, 57.3 \xc2\xb0F\n",
        {"columns": ["low", "suction"]},
        [{"low": ("psi", 118.2), "suction": ("°F", 57.3)}],
    ),
    # --- boards: pairs
    "pairs by equals signs": Shape(b"T1=23.5 P1=118.2\n", {"pairs": "="}, [{"T1": 23.5, "P1": 118.2}]),
    "pairs with units": Shape(b"T1=23.5C,P1=118.2psi\n", {"pairs": "="}, [{"T1": ("C", 23.5), "P1": ("psi", 118.2)}]),
    "a plotter's labels": Shape(b"low:118.2,suction:57.3\n", {"pairs": ":"}, [{"low": 118.2, "suction": 57.3}]),
    "labels by spaces": Shape(b"Temp:23.5 Hum:40\n", {"pairs": ":"}, [{"Temp": 23.5, "Hum": 40.0}]),
    "a sentence of a library's example": Shape(
        b"Humidity: 40.20 %\tTemperature: 23.50 *C\n",
        {"pairs": ":"},
        [{"Humidity": ("%", 40.2), "Temperature": ("*C", 23.5)}],
    ),
    "one name of several words a line": Shape(
        b"Low side pressure: 118.2 psi\n", {"pairs": ":"}, [{"Low side pressure": ("psi", 118.2)}]
    ),
    "pairs, decimal commas": Shape(
        b"T1=23,5; T2=24,0\n", {"pairs": "=", "decimal": "comma"}, [{"T1": 23.5, "T2": 24.0}]
    ),
    "a pair whose sensor failed": Shape(b"T1=err T2=24.0\n", {"pairs": "="}, [{"T1": FAULT, "T2": 24.0}]),
    # --- boards: JSON
    "an object": Shape(b'{"low":118.2,"name":"van","ok":true}\n', {}, [{"low": 118.2}]),
    "an object within one": Shape(
        b'{"id":"x1","sensors":[{"t":23.5},{"t":24.0}]}\n', {}, [{"/sensors/0/t": 23.5, "/sensors/1/t": 24.0}]
    ),
    "a list": Shape(b"[118.2, 57.3]\n", {}, [{"/0": 118.2, "/1": 57.3}]),
    "numbers as texts, with units": Shape(b'{"t":"23.5 C","p":null}\n', {}, [{"t": ("C", 23.5), "p": UNKNOWN}]),
    # --- scales
    "a state, gross, a weight": Shape(
        b"ST,GS,+00012.5kg\r\nUS,GS,+00013.1kg\r\n",
        {"columns": ["", "", "weight"], "unsteady": ["US"]},
        [{"weight": ("kg", 12.5)}, {"weight": UNSTEADY}],
    ),
    "an overload of it": Shape(
        b"OL,GS,+-------kg\r\n", {"columns": ["", "", "weight"], "unsteady": ["US"]}, [{"weight": OVER}]
    ),
    "a letter for steady": Shape(
        b"S S      12.50 g\r\nS D      12.61 g\r\n",
        {"pattern": r"^S (?P<state>[SD])\s+(?P<weight>[-+0-9.]+ (?:kg|g|lb|oz))", "unsteady": ["D"]},
        [{"weight": ("g", 12.5), "state": "is not a number"}, {"weight": UNSTEADY, "state": UNSTEADY}],
    ),
    "a sign apart from its number": Shape(
        b"-  1.250 kg\r\n+  1.250 kg\r\n",
        {"columns": ["weight"]},
        [{"weight": ("kg", -1.25)}, {"weight": ("kg", 1.25)}],
    ),
    "pounds and ounces": Shape(b"7 lb 4.5 oz\r\n", {"columns": ["weight"]}, [{"weight": ("oz", 116.5)}]),
    "STX and ETX about it": Shape(b"\x0212.50kg\x03\r\n", {"columns": ["weight"]}, [{"weight": ("kg", 12.5)}]),
    "a question mark while it moves": Shape(
        b"12.61 kg ?\r\n12.50 kg\r\n", {"pattern": r"^(?P<weight>[-+0-9.]+ kg)$"}, [{}, {"weight": ("kg", 12.5)}]
    ),
    "a printed slip": Shape(
        b"Gross:   12.50 kg\r\nTare:     0.20 kg\r\n", {"pairs": ":"}, [{"Gross": ("kg", 12.5)}, {"Tare": ("kg", 0.2)}]
    ),
    "asked, with its echo and prompt": Shape(
        b"READ?\r\n118.2\r\nOK\r\n> \r\n", {"columns": ["low"], "ask": "READ?"}, [{}, {"low": 118.2}, {}, {}]
    ),
    # --- meters
    "words about a number": Shape(
        b"DC: 24.05 V  AUTO\r\n", {"pattern": r"DC:\s*(?P<volts>[-+0-9.]+ m?V)"}, [{"volts": ("V", 24.05)}]
    ),
    "a meter's overload": Shape(b"-OL\r\n----\r\n", {"columns": ["ohms"]}, [{"ohms": OVER}, {"ohms": OVER}]),
    # --- what is refused, and why
    "fewer places than named": Shape(
        b"118.2\n", {"columns": ["low", "suction"]}, ["1 places where 2 columns are named"]
    ),
    "a row before any names": Shape(b"118.2,57.3\n", {"separator": ","}, ["name its places by `columns`"]),
}


def decoded(shape: Shape) -> list[dict[str, Value] | str]:
    link = msgspec.convert({"kind": "serial_lines", "port": "/dev/x", **shape.told}, SerialLinesConfig)
    decode = LineDecoder(link.form)
    found: list[dict[str, Value] | str] = []
    for line in LineSplitter().feed(b"cut off\n" + shape.comes):
        try:
            found.append(dict(decode(Frame(line, Stamp(0, 0)))))
        except FrameError as error:
            found.append(str(error))
    return found


def is_as(found: Value, expected: Any) -> bool:
    """Whether a value is the number, the number in its unit, the reason for none, or says that it cannot be read."""
    match expected:
        case (unit, number):
            return isinstance(found, InUnit) and (found.unit, float(found)) == (unit, number)
        case str():
            return isinstance(found, Malformed) and expected in found.reason
        case Unreadable():
            return found is expected
    return not isinstance(found, InUnit) and found == expected


@pytest.mark.parametrize("name", SHAPES)
def test_a_shape_is_read_by_its_configuration_alone(name: str) -> None:
    shape = SHAPES[name]
    found = decoded(shape)
    assert len(found) == len(shape.read), found
    for one, expected in zip(found, shape.read, strict=True):
        if isinstance(expected, str):
            assert isinstance(one, str)
            assert expected in one
            continue
        assert isinstance(one, dict), one
        known = {field: value for field, value in one.items() if not _is_nothing(value) or field in expected}
        assert known.keys() == expected.keys()
        assert [field for field, value in expected.items() if not is_as(one[field], value)] == [], one


def _is_nothing(value: Value) -> bool:
    """Whether a member of an object is no value of any kind, which is told as not known."""
    return value is UNKNOWN


FORMS = [
    TextForm(columns=("a", "", "b")),
    TextForm(columns=("a", "b"), separator="space", unsteady=("US",)),
    TextForm(separator=";", decimal=","),
    TextForm(pairs="="),
    TextForm(pairs=":", decimal=","),
    TextForm(pattern=r"(?P<a>[-+0-9.]+)\s*(?P<b>\w+)?"),
]


@pytest.mark.parametrize("form", FORMS, ids=range(len(FORMS)))
@fuzz
@given(
    lines=st.lists(
        st.one_of(
            st.binary(max_size=60),
            st.text(alphabet='0123456789.,;:=+-eEOL kgpsiUS\t#{}[]"', max_size=60).map(str.encode),
        ),
        max_size=6,
    )
)
def test_whatever_comes_is_values_or_refused(form: TextForm, lines: list[bytes]) -> None:
    decode = LineDecoder(form)
    for line in lines:
        try:
            values = decode(Frame(line, Stamp(0, 0)))
        except FrameError:
            continue
        assert all(isinstance(value, float | Unreadable | Malformed) for value in values.values())
        assert all(math.isfinite(value) for value in values.values() if isinstance(value, float))


def test_a_pattern_takes_a_time_that_grows_with_the_line_alone() -> None:
    """Of this one a backtracking engine takes two to the power of the letters: RE2, "linear time", from memory."""
    form = TextForm(pattern=r"(?P<a>(x+x+)+)y")
    assert LineDecoder(form)(Frame(b"x" * 4096, Stamp(0, 0))) == {}


def test_enough_shapes_are_tried() -> None:
    assert len(SHAPES) >= 39
    assert sum(isinstance(line, str) for shape in SHAPES.values() for line in shape.read) == 2


@pytest.mark.parametrize("unit", ["kg", "g", "lb", "oz", "psi", "C", "°F", "%", "V"])
def test_units_of_lines_are_units_of_the_trade(unit: str) -> None:
    kinds = (Quantity.MASS, Quantity.PRESSURE, Quantity.TEMPERATURE, Quantity.HUMIDITY, Quantity.VOLTAGE)
    found = 0
    for kind in kinds:
        try:
            conversion(unit, kind, reference="gauge" if kind is Quantity.PRESSURE else None, barometric_pressure_pa=0.0)
            found += 1
        except Exception:  # noqa: BLE001 - it is of another kind
            continue
    assert found == 1
