"""The pages on the configuration say neither more nor less than its structs, and every example is one."""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import msgspec
import pytest

from calc.quantities import CHANNELS
from ingest.config import structs
from ingest.config.load import load
from ingest.decode.meter_display import FIELDS
from ingest.kinds.mqtt import MqttValueConfig
from ingest.kinds.registers import RegisterConfig
from ingest.kinds.table import LinkConfig

TEXT = (Path(__file__).parents[2] / "docs" / "configuration.md").read_text(encoding="utf-8")

SECTIONS: dict[str, Any] = {
    "`[rig]`": structs.RigConfig,
    "`[unit]`": structs.UnitConfig,
    "`[unit.nameplate]`": structs.NameplateConfig,
    "`[recovery_cylinder]`": structs.RecoveryCylinderConfig,
    "`[broker]`": structs.BrokerConfig,
    "`[[broker.user]]`": structs.BrokerUserConfig,
    "`[[instrument]]`": structs.InstrumentConfig,
    "`[[instrument.channel]]`": structs.ChannelConfig,
    "Registers": RegisterConfig,
    "Values": MqttValueConfig,
} | {f'`kind = "{link.__struct_config__.tag}"`': link for link in get_args(LinkConfig)}


def section(title: str) -> str:
    """What stands under a heading, up to the next."""
    [found] = re.findall(rf"^#+ {re.escape(title)}\n(.*?)(?=^#|\Z)", TEXT, re.MULTILINE | re.DOTALL)
    return str(found)


def rows(text: str) -> dict[str, list[str]]:
    """The rows of a table, by the name in their first cell."""
    cells = [
        [cell.strip() for cell in line.strip("|").split("|")] for line in text.splitlines() if line.startswith("|")
    ]
    return {row[0].strip("`"): row for row in cells[2:]}


def default_of(field: msgspec.structs.FieldInfo) -> str:
    if field.required:
        return "required"
    default = field.default
    if field.default_factory is not msgspec.NODEFAULT and not isinstance(field.default_factory, msgspec.Struct):
        default = field.default_factory()
    if default in (None, "") or isinstance(default, msgspec.Struct):
        return "–"
    return json.dumps(default)


def test_every_struct_has_a_section() -> None:
    configured = {
        kind
        for kind in vars(structs).values()
        if isinstance(kind, type) and issubclass(kind, msgspec.Struct) and kind.__module__ == structs.__name__
    }
    links = {*get_args(LinkConfig), RegisterConfig, MqttValueConfig}
    assert (configured | links) - {structs.Config} == set(SECTIONS.values())


@pytest.mark.parametrize("title", SECTIONS)
def test_a_section_has_each_key_with_its_default_and_no_other(title: str) -> None:
    fields = msgspec.structs.fields(SECTIONS[title])
    table = rows(section(title))
    documented = {name: cells[3] for name, cells in table.items()}
    expected = {field.encode_name: default_of(field) for field in fields}
    assert documented == expected
    assert all(len(cells) == 4 and all(cells) for cells in table.values())


@pytest.mark.parametrize("title", SECTIONS)
def test_a_choice_names_all_that_may_be_chosen(title: str) -> None:
    table = rows(section(title))
    for name, choices in choices_of(SECTIONS[title]):
        assert [word.strip() for word in table[name][2].split(",")] == choices, name


def choices_of(struct: type[msgspec.Struct]) -> Iterator[tuple[str, list[str]]]:
    for field in msgspec.inspect.type_info(struct).fields:  # type: ignore[attr-defined]
        kinds = field.type.types if isinstance(field.type, msgspec.inspect.UnionType) else (field.type,)
        for kind in kinds:
            if isinstance(kind, msgspec.inspect.LiteralType):
                yield field.encode_name, in_the_order_of_the_code(struct, field.name, kind)


def in_the_order_of_the_code(struct: type[msgspec.Struct], name: str, kind: msgspec.inspect.LiteralType) -> list[str]:
    """Literals as they are written: msgspec sorts them."""
    [field] = [field for field in msgspec.structs.fields(struct) if field.name == name]
    literal = next((part for part in get_args(field.type) if get_args(part)), field.type)
    choices = [str(choice) for choice in get_args(literal)]
    assert sorted(choices) == sorted(map(str, kind.values))
    return choices


def test_every_channel_and_every_function_of_a_multimeter_is_named() -> None:
    assert set(re.findall(r"`(\w+)`", section("Channels"))) == set(CHANNELS)
    described = section('`kind = "serial_meter"`').partition("|")[0].partition("set to:")[2]
    assert tuple(re.findall(r"`(\w+)`", described)) == FIELDS


EXAMPLES = re.findall(r"```toml\n(.*?)```", TEXT, re.DOTALL)
INSTRUMENTS = [example for example in EXAMPLES if example.startswith("[[instrument]]")]
HEADS = [example for example in EXAMPLES if not example.startswith("[[instrument]]")]


def load_examples(directory: Path, instruments: list[str]) -> structs.Config:
    text = "\n".join([*HEADS, *instruments])
    for name in re.findall(r'_file = "(.+?)"', text):
        (directory / name).touch()
    path = directory / "rig.toml"
    path.write_text(text, encoding="utf-8")
    return load(path)


@pytest.mark.parametrize("example", INSTRUMENTS, ids=lambda example: re.findall(r'kind = "(\w+)"', example)[0])
def test_an_example_is_an_instrument(tmp_path: Path, example: str) -> None:
    assert load_examples(tmp_path, [example]).instruments


def test_the_examples_make_one_rig_with_every_kind_of_link(tmp_path: Path) -> None:
    kinds = {type(instrument.link) for instrument in load_examples(tmp_path, INSTRUMENTS).instruments}
    assert kinds == set(get_args(LinkConfig))


def test_each_command_that_is_named_exists() -> None:
    import dewline

    choices: dict[str, Any] = dewline._parser()._subparsers._group_actions[0].choices  # type: ignore[union-attr, assignment]
    assert set(re.findall(r"`dewline (\w+)", TEXT)) <= set(choices)
