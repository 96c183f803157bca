"""What the display of a multimeter says: its number, and the signs lit around it.

A meter sends what it shows, and it shows what its dial is set to. So the field is named after the function, AC and DC
apart, and every other field says at the same time that the meter is set to something else: a channel of AC current
never takes a DC reading, and tells why it has none. A held, extreme or relative number is none of the present, and
with a low battery the meter's reference is no longer sure; neither comes out as a number. That a display is held is
told apart: a hand pressed the key at that moment. UNDER means less than the range can tell.

The numbers come in the unit without prefix: A, V, ohm, F, Hz, %.
"""

from collections.abc import Mapping
from types import MappingProxyType

from ingest.frames import FrameError, Unreadable, Value

FIELDS = (
    "ac_current",
    "dc_current",
    "ac_voltage",
    "dc_voltage",
    "resistance",
    "capacitance",
    "frequency",
    "duty_cycle",
    "diode_voltage",
    "temperature_degc",
    "temperature_degf",
)

_FUNCTIONS: Mapping[str, str] = MappingProxyType(
    {
        "A": "current",
        "V": "voltage",
        "ohm": "resistance",
        "F": "capacitance",
        "Hz": "frequency",
        "%": "duty_cycle",
        "degC": "temperature_degc",
        "degF": "temperature_degf",
        "hFE": "",
    }
)
"""The unit lit to the function; empty for one that no field carries."""

_EXPONENTS: Mapping[str, int] = MappingProxyType({"n": -9, "u": -6, "m": -3, "k": 3, "M": 6})
_NOT_LIVE = frozenset({"MAX", "MIN", "REL"})
_COUPLINGS = frozenset({"AC", "DC"})
_OTHERS: Mapping[str, Value] = MappingProxyType(dict.fromkeys(FIELDS, Unreadable.OTHER_FUNCTION))


def read_display(digits: int | None, decimals: int, signs: frozenset[str]) -> Mapping[str, Value]:
    """Give the value of every field. digits: the number without its point, None where it shows an overload.

    >>> read_display(1842, 2, frozenset({"A", "AC", "AUTO"}))["ac_current"]
    18.42

    Raises:
        FrameError: no display shows these signs together.

    """
    exponents = [_EXPONENTS[sign] for sign in signs & _EXPONENTS.keys()]
    if len(exponents) > 1:
        raise FrameError("two prefixes are lit at once")
    function = _function(signs)
    if not function:
        return dict(_OTHERS)
    return {**_OTHERS, function: _value(digits, sum(exponents) - decimals, signs)}


def _function(signs: frozenset[str]) -> str:
    units = signs & _FUNCTIONS.keys()
    if len(units) > 1:
        raise FrameError(f"two units are lit at once: {', '.join(sorted(units))}")
    couplings = signs & _COUPLINGS
    if len(couplings) > 1:
        raise FrameError("AC and DC are lit at once")
    if not units:
        return ""
    function = _FUNCTIONS[next(iter(units))]
    if function == "voltage" and "DIODE" in signs:
        return "diode_voltage"
    if function not in ("current", "voltage"):
        return function
    if not couplings:
        raise FrameError(f"a {function} of neither AC nor DC")
    return f"{next(iter(couplings)).lower()}_{function}"


def _value(digits: int | None, exponent: int, signs: frozenset[str]) -> Value:
    if "BATTERY" in signs:
        return Unreadable.LOW_BATTERY
    if signs & _NOT_LIVE:
        return Unreadable.NOT_LIVE
    if "HOLD" in signs:
        return Unreadable.HELD
    if digits is None:
        return Unreadable.OVERLOAD
    if "UNDER" in signs:
        return Unreadable.UNKNOWN
    return float(f"{digits}e{exponent}")  # rounds once, where a product would round twice
