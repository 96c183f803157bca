"""The configuration of a rig, as TOML text, that describes the bench exactly as it stands."""

import json
from collections.abc import Iterator, Mapping, Sequence

import msgspec

from simulators.bench.instruments import SCPI_QUERIES, VACUUM_REGISTER, Instrument
from simulators.bench.scenario import Scenario


def configuration_text(
    scenario: Scenario,
    instruments: Sequence[tuple[Instrument, str]],
    *,
    rig: str,
    record: str,
    speed: float,
    broker: Mapping[str, str],
    blind: bool = False,
) -> str:
    """Write the configuration. instruments: each with the address at which it is reached."""
    file = scenario.file
    nameplate = {key: value for key, value in msgspec.structs.asdict(file.nameplate).items() if value is not None}
    lines = [
        *_table(
            "rig",
            {
                "name": rig,
                "record": record,
                "elevation": f"{scenario.elevation_m:g} m",
                "simulated": True,
                "blind": blind,
                "speed": speed,
            },
        ),
        *_table("broker", broker),
        *_table("unit", msgspec.structs.asdict(file.unit) | {"refrigerant": file.selected or file.unit.refrigerant}),
        *_table("unit.nameplate", nameplate),
    ]
    for instrument, address in instruments:
        lines += _instrument(instrument, address)
    return "\n".join(lines) + "\n"


def _instrument(instrument: Instrument, address: str) -> Iterator[str]:
    yield "[[instrument]]"
    yield from _members({"name": instrument.name, "interval": f"{instrument.interval_s:g} s"})
    yield from _members(_link(instrument, address), "link.")
    yield ""
    for output in instrument.outputs:
        yield "[[instrument.channel]]"
        yield from _members(
            {
                "channel": output.channel,
                "field": output.field,
                "unit": output.unit,
                "accuracy": output.accuracy_text,
            }
        )
        if output.reference is not None:
            yield from _members({"reference": output.reference})
        yield ""


def _link(instrument: Instrument, address: str) -> dict[str, object]:
    match instrument.link:
        case "csv lines" | "json lines":
            return {"kind": "serial_lines", "port": address}
        case "scpi":
            queries = {
                f"queries.{json.dumps(output.field)}": SCPI_QUERIES[output.field] for output in instrument.outputs
            }
            return {"kind": "scpi", "port": address, "poll": _poll(instrument), **queries}
        case "meter":
            return {"kind": "serial_meter", "port": address, "chip": "fs9721"}
        case "modbus":
            registers = {
                f"registers.{output.field}.{key}": value
                for output in instrument.outputs
                for key, value in VACUUM_REGISTER.items()
            }
            return {"kind": "modbus_rtu", "port": address, "parity": "none", "poll": _poll(instrument), **registers}
        case "bluetooth":
            return {"kind": "bluetooth", "address": address}


def _poll(instrument: Instrument) -> str:
    """Give a pace twice as quick as the instrument's own: none of its samples is missed."""
    return f"{instrument.interval_s / 2.0:g} s"


def _table(name: str, members: Mapping[str, object]) -> list[str]:
    return [f"[{name}]", *_members(members), ""]


def _members(members: Mapping[str, object], prefix: str = "") -> list[str]:
    """Write keys with their values: text, numbers and truth values look in TOML as they do in JSON."""
    return [f"{prefix}{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in members.items()]
