"""What the protocols of charge verification ask for: tolerances, conditions and instruments, each with its source."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import NamedTuple

from calc.errors import UnknownNameError
from calc.quantities import Quantity
from calc.units import parse, parse_difference

LEAST_TARGET_DK = parse_difference("5 degF")
"""Below this a target superheat is no valid test: California Title 24, 2008, page RA3-14."""


class Limits(NamedTuple):
    """The least and the greatest value of a quantity that will do [SI; infinite: none], and where that stands."""

    low: float
    high: float
    source: str


@dataclass(frozen=True, slots=True)
class Protocol:
    """What one protocol of charge verification asks for.

    Attributes:
        name: one of `protocols()`.
        scope: which units it is meant for, and for whom.
        limits: by what they limit; what a protocol does not limit is not there. `superheat`, `subcooling` and
            `air_split` are less their targets [K]; `target_superheat`, `expansion_valve_superheat` [K];
            `outdoor_air_temperature` [K]; `running_time`, `undisturbed_time`: since the start and since the charge was
            last changed [s]; `airflow_per_capacity` [m³/s per W]; `airflow_over_design` [ratio]; the ± limits of the
            instruments: `suction_pressure_accuracy`, `liquid_pressure_accuracy` [Pa], `temperature_accuracy` [K]; and
            `line_sensor_settling` after a step of 40 °F [s], which only the instrument's papers can answer for.

    """

    name: str
    scope: str
    limits: Mapping[str, Limits]


def protocols() -> tuple[str, ...]:
    """List the protocols of which `tolerances` knows."""
    return tuple(_PROTOCOLS)


def tolerances(protocol: str) -> Protocol:
    """Give what a protocol asks for.

    Raises:
        UnknownNameError: it is none of `protocols()`.

    >>> low_dk, high_dk, source = tolerances("title_24_installer").limits["superheat"]
    >>> round(high_dk * 9 / 5), source
    (5, 'California Title 24, 2008, page RA3-14')

    """
    if protocol not in _PROTOCOLS:
        raise UnknownNameError("protocol", protocol, protocols())
    return _PROTOCOLS[protocol]


def _either_way(limit: str, source: str) -> Limits:
    half = parse_difference(limit)
    return Limits(-half, half, source)


def _at_most(limit: str, source: str, kind: Quantity = Quantity.TEMPERATURE) -> Limits:
    return Limits(0.0, parse_difference(limit, kind), source)


_TITLE_24 = "California Title 24"
_CFM_PER_TON = 0.3048**3 / 60 / (12000 * 1055.056 / 3600)
_TITLE_24_CONDITIONS: Mapping[str, Limits] = MappingProxyType(
    {
        "target_superheat": Limits(LEAST_TARGET_DK, math.inf, f"{_TITLE_24}, 2008, page RA3-14"),
        "outdoor_air_temperature": Limits(
            parse("55 degF", Quantity.TEMPERATURE), math.inf, f"{_TITLE_24}, 2013, RA3.2.1.1(d)"
        ),
        "running_time": Limits(15 * 60.0, math.inf, f"{_TITLE_24}, 2008, RA3.2.2.5"),
        "undisturbed_time": Limits(15 * 60.0, math.inf, f"{_TITLE_24}, 2008, RA3.2.2.5"),
        "airflow_per_capacity": Limits(300 * _CFM_PER_TON, math.inf, f"{_TITLE_24}, 2008, RA3.2.2.7"),
        "suction_pressure_accuracy": _at_most("3.5 psi", f"{_TITLE_24}, 2013, RA3.2.2.2", Quantity.PRESSURE),
        "liquid_pressure_accuracy": _at_most("7 psi", f"{_TITLE_24}, 2013, RA3.2.2.2", Quantity.PRESSURE),
        "line_sensor_settling": Limits(0.0, 90.0, f"{_TITLE_24}, 2013, RA3.2.2.2.2"),
        "temperature_accuracy": _at_most("1.3 degF", f"{_TITLE_24}, 2008, RA3.2.2.2.1, which adds 0.1 % of reading"),
    }
)
_ACCA_5 = "ANSI/ACCA 5 QI (from memory)"

_PROTOCOLS: Mapping[str, Protocol] = MappingProxyType(
    {
        protocol.name: protocol
        for protocol in (
            Protocol(
                "title_24_installer",
                "ducted split systems; packaged units only by the 2013 text, and only where it applies; the installer",
                MappingProxyType(
                    {
                        **_TITLE_24_CONDITIONS,
                        "superheat": _either_way("5 degF", f"{_TITLE_24}, 2008, page RA3-14"),
                        "subcooling": _either_way("3 degF", f"{_TITLE_24}, 2008, page RA3-15"),
                        "expansion_valve_superheat": Limits(
                            parse_difference("4 degF"), parse_difference("25 degF"), f"{_TITLE_24}, 2008, page RA3-15"
                        ),
                        "air_split": _either_way("3 degF", f"{_TITLE_24}, 2008, page RA3-16"),
                    }
                ),
            ),
            Protocol(
                "title_24_verifier",
                "as title_24_installer; the independent verifier",
                MappingProxyType(
                    {
                        **_TITLE_24_CONDITIONS,
                        "superheat": _either_way("6 degF", f"{_TITLE_24}, 2008, page RA3-14"),
                        "subcooling": _either_way("4 degF", f"{_TITLE_24}, 2008, page RA3-15 (from memory)"),
                        "expansion_valve_superheat": Limits(
                            parse_difference("3 degF"), parse_difference("26 degF"), f"{_TITLE_24}, 2008, page RA3-15"
                        ),
                        "air_split": _either_way("4 degF", f"{_TITLE_24}, 2008, page RA3-16"),
                    }
                ),
            ),
            Protocol(
                "acca_5",
                "quality installation of comfort cooling, where the maker gives the values; figures from memory",
                MappingProxyType(
                    {
                        "superheat": _either_way("5 degF", _ACCA_5),
                        "subcooling": _either_way("3 degF", _ACCA_5),
                        "airflow_over_design": Limits(0.85, 1.15, _ACCA_5),
                    }
                ),
            ),
        )
    }
)
