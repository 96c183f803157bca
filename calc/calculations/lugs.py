"""Lugs with a hexagon."""

from collections.abc import Mapping
from functools import partial

from calc import wiring
from calc.arguments import TEXT, Choice
from calc.calculation import Calculation, Unknown, Values
from calc.entry import Given, entry
from calc.errors import UnknownNameError
from calc.wiring import terminal


def _hexagon(gauge: str, connector: wiring.Connector, maker_n_m: float | None = None) -> Values:
    found = wiring.hexagon_torque(gauge, wiring.Connector(connector), maker_n_m=maker_n_m)
    return {
        "torque_n_m": found.torque_n_m,
        "says": found.source,
        **{f"slotted_{slot}_n_m": _slotted(gauge, slot) for slot in wiring.Slot},
        "caution": terminal.TORQUE_CAUTION,
    }


def _slotted(gauge: str, slot: wiring.Slot) -> float | Unknown:
    try:
        return wiring.torque(gauge, slot).torque_n_m
    except UnknownNameError:
        return Unknown("slotted screws here go up to 2 AWG")


_GIVEN = {
    "gauge": Given("4AWG", TEXT, also=("awg",)),
    "connector": Given(
        "other",
        Choice("connector", tuple(wiring.Connector), (("box_lug", "other"), ("lug", "other"))),
        says="a lug, box lugs too, is an other connector",
    ),
    "across_flats_m": Given("1/4in", low=3.075e-3, high=14.3875e-3, says="of the socket, or of the key that fits it"),
    "maker_n_m": Given("120lbf in", low=0.01, high=1000.0, otherwise="the maker gives no torque: it would win"),
}
_lug = partial(entry, given=_GIVEN, test="tests/calc/wiring/test_lug.py")

CALCULATIONS: Mapping[str, Calculation] = {
    "hexagon_torque": _lug(
        _hexagon,
        "how tight a hexagon head must be, turned by a wrench, beside a slotted screw",
        source="the maker, else NEC informative annex I, table I.1",
    ),
    "socket_torque": _lug(
        wiring.socket_torque,
        "how tight a lug's screw with a hexagon or square socket must be",
        result=lambda it: {"torque_n_m": it.torque_n_m, "says": it.source, "caution": terminal.TORQUE_CAUTION},
        source="the maker, else NEC informative annex I, table I.3",
    ),
}
