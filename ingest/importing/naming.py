"""Which channel a column is, by the words of its name."""

import re
from collections.abc import Sequence

from calc.quantities import CHANNELS, Quantity
from ingest.importing.stated import kinds

_WORDS: Sequence[tuple[str, Sequence[str]]] = (
    ("suction_pressure", ("suction|suc|low side|low", "pressure|press|p")),
    ("discharge_pressure", ("discharge|dis", "pressure|press|p")),
    ("liquid_pressure", ("liquid|liq|high side|high", "pressure|press|p")),
    ("barometric_pressure", ("barometric|barometer|atmospheric", "")),
    ("suction_line_temperature", ("suction|suc|vapor|vapour", "temperature|temp|t")),
    ("discharge_line_temperature", ("discharge|dis|hot gas", "temperature|temp|t")),
    ("liquid_line_temperature", ("liquid|liq", "temperature|temp|t")),
    ("return_air_wet_bulb", ("return|entering|indoor", "wet bulb|wb")),
    ("return_air_humidity", ("return|entering|indoor", "humidity|rh")),
    ("supply_air_humidity", ("supply|leaving", "humidity|rh")),
    ("return_air_temperature", ("return|entering|indoor", "temperature|temp|t|air|dry bulb")),
    ("supply_air_temperature", ("supply|leaving|discharge air", "temperature|temp|t|air|dry bulb")),
    ("outdoor_air_temperature", ("outdoor|outside|ambient", "temperature|temp|t|air|dry bulb")),
    ("compressor_current", ("compressor|comp", "current|amps|a")),
    ("condenser_fan_current", ("condenser fan|outdoor fan|cond fan", "current|amps|a")),
    ("blower_current", ("blower|indoor fan", "current|amps|a")),
    ("line_voltage_ab", ("line|supply|mains", "voltage|volts|v")),
    ("cylinder_mass", ("cylinder|scale", "mass|weight")),
)
"""Words of a header by which a channel is known, all of them, the first that fits: the trade's own."""
_OF_NO_PROBE = re.compile(
    r" (set ?point|target|limit|min|minimum|max|maximum|std|dev|deviation|alarm|status|count|quality|uncertainty|age|"
    r"sat|saturated|saturation|dew|bubble|evaporating|condensing|superheat|subcooling|sh|sc|split|delta|"
    r"difference|ratio) "
)
"""Of what a logger works out, or was told, and no probe reads: a saturation temperature is not that of a line."""


def channel_of(name: str, unit: str, taken: set[str]) -> str:
    """Name the channel that a column is; empty where its words do not say it, or say that no probe reads it.

    >>> channel_of("Suction line temp", "degF", set()), channel_of("Sat. suction temp", "degF", set())
    ('suction_line_temperature', '')
    """
    plain = " " + re.sub(r"[^a-z]+", " ", name.casefold()).strip() + " "
    if _OF_NO_PROBE.search(plain):
        return ""
    found = (channel for channel, words in _WORDS if channel not in taken and _is_named(plain, words, unit, channel))
    return next(found, "")


def _is_named(plain: str, words: Sequence[str], unit: str, channel: str) -> bool:
    where, what = words
    if " air " in plain and channel.endswith("_line_temperature"):
        return False
    if not any(f" {word} " in plain for word in where.split("|")):
        return False
    if any(f" {word} " in plain for word in what.split("|")) or not what:
        return not unit or not kinds(unit) or CHANNELS[channel] in kinds(unit)
    return kinds(unit) - {Quantity.AIR_PRESSURE} == {CHANNELS[channel]}
