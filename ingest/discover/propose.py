"""From what was found to a configuration: a block for each instrument, ready to be pasted and corrected.

An instrument says what it measures at best, never where it was clamped on or how good it is. What is guessed is marked
CHECK, with what else it may be. The whole text is TOML: what is said of an instrument stands in comments.
"""

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import msgspec

from calc.quantities import CHANNELS, Quantity
from calc.unit_tables import KINDS
from ingest.decode.numbered import numbered
from ingest.discover.guess import Output, unit_of_size
from ingest.frames import Malformed, Unreadable, Value
from ingest.kinds.table import LinkConfig, kind_of


@dataclass(frozen=True, slots=True)
class Found:
    """A place where an instrument may be. notes: what was heard there, and what was sent. link: how to reach it."""

    where: str
    notes: tuple[str, ...] = ()
    name: str = ""
    link: LinkConfig | None = None
    interval_s: float = 1.0
    outputs: tuple[Output, ...] = ()


_ACCURACIES: Mapping[Quantity, str] = MappingProxyType(
    {
        Quantity.PRESSURE: "1 psi",
        Quantity.TEMPERATURE: "1 degF",
        Quantity.HUMIDITY: "3 %RH",
        Quantity.CURRENT: "0.3 A",
        Quantity.VOLTAGE: "2 V",
        Quantity.CAPACITANCE: "1 uF",
        Quantity.MASS: "0.5 oz",
        Quantity.RESISTANCE: "0.3 ohm",
        Quantity.AIR_PRESSURE: "0.02 inH2O",
        Quantity.AIR_FLOW: "50 cfm",
        Quantity.CONCENTRATION: "100 ppm",
    }
)
"""Of ordinary field instruments; common practice, no source."""

_SYNONYMS: Mapping[str, str] = MappingProxyType(
    {
        "low": "suction",
        "vapor": "suction",
        "vapour": "suction",
        "high": "liquid",
        "ambient": "outdoor",
        "outside": "outdoor",
        "fan": "condenser",
    }
)

_CHECK = "CHECK:"


def as_configuration(found: Sequence[Found]) -> str:
    """Write what was found as TOML. A channel is proposed once; what is left over is named in a comment."""
    names = iter(numbered([_plain(it.name) or "instrument" for it in found if it.link]))
    free = list(CHANNELS)
    blocks = []
    for it in found:
        lines = [f"# {_plain(it.where)}", *(f"#   {_plain(note)}" for note in it.notes)]
        if it.link:
            lines += _instrument(it, it.link, next(names), free)
        blocks.append("\n".join(lines))
    return "\n\n".join(blocks) + "\n"


def _instrument(found: Found, link: LinkConfig, name: str, free: list[str]) -> Iterator[str]:
    chosen = [(output, _choose(found.name, output, free)) for output in found.outputs]
    start = "" if any(channel for _, channel in chosen) else "# "
    yield f"{start}[[instrument]]"
    yield f"{start}name = {_toml(name)}"
    yield f'{start}interval = "{found.interval_s:g} s"'
    yield ""
    yield from (f"{start}{line}" for line in _link(link))
    for output, channel in chosen:
        if channel:
            yield ""
            yield from _channel(output, channel)
        else:
            yield f"# it also sends {_plain(output.field)} ({_shown(output.value)}), for which no channel is left"


def _link(link: LinkConfig) -> Iterator[str]:
    yield "[instrument.link]"
    members = {"kind": kind_of(link).name} | _said(link)
    tables = {key: value for key, value in members.items() if isinstance(value, dict)}
    yield from (f"{key} = {_toml(value)}" for key, value in members.items() if key not in tables)
    for key, table in tables.items():
        yield ""
        yield f"[instrument.link.{key}]"
        yield from (f"{_key(name)} = {_toml(value)}" for name, value in table.items())


def _said(struct: msgspec.Struct) -> dict[str, object]:
    """Give the fields that differ from their defaults."""
    return {
        field.encode_name: getattr(struct, field.name)
        for field in msgspec.structs.fields(struct)
        if getattr(struct, field.name) != field.default
    }


def _choose(name: str, output: Output, free: list[str]) -> str | None:
    """Take the free channel that has most words in common with the output and its instrument."""
    words = set(re.split(r"[^a-z]+", f"{name} {output.field}".casefold()))
    words |= {_SYNONYMS[word] for word in words if word in _SYNONYMS}
    if output.unit == "hPa":
        words.add("barometric")
    fitting = [channel for channel in free if CHANNELS[channel] is output.quantity and _may_be(channel, words)]
    if not fitting:
        return None
    best = max(fitting, key=lambda channel: len(words & set(channel.split("_"))))
    free.remove(best)
    return best


def _may_be(channel: str, words: set[str]) -> bool:
    """Whether a channel may be guessed: a vacuum gauge never, and a multimeter's own where it is called one."""
    return channel != "vacuum_pressure" and ("multimeter" in words or not channel.startswith("multimeter_"))


def _channel(output: Output, channel: str) -> Iterator[str]:
    quantity = CHANNELS[channel]
    others = [other for other in CHANNELS if CHANNELS[other] is quantity and other != channel]
    unit = output.unit or unit_of_size(quantity, output.value)
    yield "[[instrument.channel]]"
    yield _checked("channel", channel, f"or {', '.join(others)}" if others else "")
    yield f"field = {_toml(output.field)}  # was {_shown(output.value)}"
    if output.unit:
        yield f"unit = {_toml(unit)}"
    else:
        yield _checked(
            "unit", unit, f"a guess; or {', '.join(other for other in KINDS[quantity].units if other != unit)}"
        )
    if quantity is Quantity.PRESSURE and channel != "barometric_pressure":
        yield _checked("reference", "gauge", "or absolute; its papers say which")
    yield _checked("accuracy", _ACCURACIES[quantity], "the maker's ± limit, from its papers")


def _checked(key: str, value: str, why: str) -> str:
    return f"{key} = {_toml(value)}" + (f"  # {_CHECK} {why}" if why else "")


def _shown(value: Value) -> str:
    if isinstance(value, Malformed):
        return value.reason
    return value.value if isinstance(value, Unreadable) else f"{value:g}"


def _plain(text: str) -> str:
    """Keep what a stranger's device calls itself within its line."""
    return "".join(character if character.isprintable() else "?" for character in text)


def _key(name: str) -> str:
    return name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else _toml(name)


def _toml(value: object) -> str:
    """Write a value in one line: texts, numbers and truth values look in TOML as they do in JSON."""
    if isinstance(value, msgspec.Struct):
        return "{ " + ", ".join(f"{key} = {_toml(member)}" for key, member in _said(value).items()) + " }"
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
