"""The AsyncAPI document of the wire, and the code: neither may say what the other does not."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest
import yaml

from calc.quantities import QUANTITIES
from ingest.supervise import LinkState
from ingest.wire import bench_acts, bench_messages, judging, messages
from ingest.wire.messages import ANY_ASK, MAY_ASK, topic
from tests.cases import case

ROOT = Path(__file__).parents[2]
DOCUMENT: dict[str, Any] = yaml.load((ROOT / "docs" / "asyncapi.yaml").read_bytes(), yaml.CSafeLoader)
SCHEMAS: dict[str, Any] = DOCUMENT["components"]["schemas"]

PAYLOADS: dict[str, Any] = {
    "status": messages.Status,
    "about": messages.About,
    "advice": judging.Advice,
    "mark": messages.Mark,
    "ask": ANY_ASK,
    "answer": messages.Answer,
    "visit": messages.Visit,
    "checklist": messages.Checklist,
    "units": messages.Units,
    "sheet": messages.Sheet,
    "history": messages.UnitHistory,
    "watching": messages.Watching,
    "benchAbout": bench_messages.BenchAbout,
    "benchAsk": bench_messages.BenchAsk,
    "benchAct": bench_acts.ANY_ACT,
    "benchState": bench_acts.BenchState,
    "benchVerdict": bench_messages.BenchVerdict,
    "benchReveal": bench_messages.BenchReveal,
}
"""The struct of every message but the pack."""

UNIONS: dict[str, Any] = {"Mark": messages.Mark, "Ask": ANY_ASK, "Act": bench_acts.ANY_ACT}
"""What is one of several structs, told apart by its kind; the document gives it a name."""

_SCHEMAS, CODE_SCHEMAS = msgspec.json.schema_components(
    [*UNIONS.values(), *PAYLOADS.values(), messages.SenmlRecord], ref_template="#/components/schemas/{name}"
)
CHOICES = dict(zip(UNIONS, _SCHEMAS, strict=False))


def named(schema: Any) -> Any:
    """A schema with the name of a union in the place of all its choices."""
    for name, choices in CHOICES.items():
        if schema == choices:
            return {"$ref": f"#/components/schemas/{name}"}
    if isinstance(schema, list):
        return [named(each) for each in schema]
    return {key: named(each) for key, each in schema.items()} if isinstance(schema, dict) else schema


WORDS_ABOUT = {"title", "description", "default"}
"""What a schema may say about a field without changing which messages are valid."""


def essence(schema: Any) -> Any:
    """A schema without words about it, and with `T or null` in one form."""
    if isinstance(schema, list):
        return [essence(each) for each in schema]
    if not isinstance(schema, dict):
        return schema
    alternatives = schema.get("anyOf", [])
    if alternatives and all(each.keys() == {"type"} for each in alternatives):
        return {"type": [each["type"] for each in alternatives]}
    if "properties" in schema:
        schema = schema | {"properties": {name: essence(each) for name, each in schema["properties"].items()}}
        return {key: value for key, value in schema.items() if key not in WORDS_ABOUT}
    return {key: essence(value) for key, value in schema.items() if key not in WORDS_ABOUT}


def resolve(reference: dict[str, str]) -> Any:
    """What a `$ref` within the document points to. KeyError where it points to nothing."""
    found: Any = DOCUMENT
    for step in reference["$ref"].removeprefix("#/").split("/"):
        found = found[step]
    return found


def references(node: Any) -> Iterator[dict[str, str]]:
    if isinstance(node, dict):
        if "$ref" in node:
            yield node
        for each in node.values():
            yield from references(each)
    elif isinstance(node, list):
        for each in node:
            yield from references(each)


def test_every_reference_points_to_something() -> None:
    for reference in references(DOCUMENT):
        resolve(reference)


def test_describes_the_structs_of_the_code_and_no_others() -> None:
    assert SCHEMAS.keys() == CODE_SCHEMAS.keys() | UNIONS.keys() | {"Pack"}


def test_a_schema_is_that_of_the_code() -> None:
    for name in sorted(CODE_SCHEMAS):
        with case(name):
            assert essence(SCHEMAS[name]) == essence(named(CODE_SCHEMAS[name]))


@pytest.mark.parametrize("name", UNIONS)
def test_a_union_has_the_choices_of_the_code(name: str) -> None:
    ours, theirs = SCHEMAS[name], CHOICES[name]
    assert sorted(each["$ref"] for each in ours["anyOf"]) == sorted(each["$ref"] for each in theirs["anyOf"])
    assert ours["discriminator"] == theirs["discriminator"]


@pytest.mark.parametrize("name", sorted(PAYLOADS))
def test_an_example_is_a_message_that_the_code_reads_and_writes(name: str) -> None:
    message = DOCUMENT["components"]["messages"][name]
    named_so = next((union for union, kind in UNIONS.items() if kind is PAYLOADS[name]), "")
    assert resolve(message["payload"]) is SCHEMAS[named_so or PAYLOADS[name].__name__]
    for example in message["examples"]:
        read = messages.decode(msgspec.json.encode(example["payload"]), PAYLOADS[name])
        written = msgspec.json.decode(messages.encode(read))
        assert holds(written, example["payload"])


def holds(whole: Any, part: Any) -> bool:
    """Whether all that is in `part` is in `whole`, which may have more fields."""
    if isinstance(part, dict):
        return all(name in whole and holds(whole[name], part[name]) for name in part)
    if isinstance(part, list):
        return len(whole) == len(part) and all(map(holds, whole, part))
    return bool(whole == part)


def test_the_example_of_a_pack_is_one_that_the_code_reads_and_writes() -> None:
    message = DOCUMENT["components"]["messages"]["pack"]
    for example in message["examples"]:
        pack = messages.decode_pack(msgspec.json.encode(example["payload"]))
        assert holds(msgspec.json.decode(messages.encode_pack(pack)), example["payload"])


def test_names_every_unit_and_quality_of_the_readings() -> None:
    fields = SCHEMAS["SenmlRecord"]["properties"]
    units = set(re.findall(r"[%\w/]+", fields["u"]["description"].partition(": ")[2])) - {"or"}
    assert units == {quantity.senml_unit for quantity in QUANTITIES.values()}
    qualities = re.findall(r"\w+", fields["q"]["description"].partition(": ")[2])
    assert [*qualities, "ok"] == list(messages.QUALITIES)


def test_names_every_kind_of_request_and_state_of_a_link() -> None:
    assert DOCUMENT["channels"]["ask"]["parameters"]["kind"]["enum"] == list(MAY_ASK)
    states = SCHEMAS["InstrumentAbout"]["properties"]["state"]["description"].partition(": ")[2]
    assert re.findall(r"\w+", states.replace(" or ", " ")) == [state.value for state in LinkState]


def test_every_topic_is_of_the_codes_form() -> None:
    for channel in DOCUMENT["channels"].values():
        address = channel["address"].replace("{rig}", "van-3")
        assert topic(*messages.rig_and_kind(address)) == address
        assert address != channel["address"]
        assert set(re.findall(r"{(\w+)}", channel["address"])) == channel["parameters"].keys()


def test_every_channel_has_an_operation() -> None:
    used = [each["channel"]["$ref"] for each in DOCUMENT["operations"].values()]
    used += [each["reply"]["channel"]["$ref"] for each in DOCUMENT["operations"].values() if "reply" in each]
    assert sorted(used) == sorted(f"#/channels/{name}" for name in DOCUMENT["channels"])


def kinds_in_code() -> Iterator[str]:
    """Yield what the code calls `topic` with, where that is a text; {} where the text has a variable."""
    for path in [*ROOT.glob("ingest/**/*.py"), *ROOT.glob("dashboard/**/*.py"), *ROOT.glob("simulators/**/*.py")]:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            match node:
                case ast.Call(func=ast.Name(id="topic"), args=[_, ast.Constant(value=str(kind))]):
                    yield kind
                case ast.Call(func=ast.Name(id="topic"), args=[_, ast.JoinedStr(values=parts)]):
                    yield "".join(part.value if isinstance(part, ast.Constant) else "{}" for part in parts)


def test_the_code_uses_no_topic_that_is_not_described() -> None:
    addresses = [channel["address"].split("/", 3)[3] for channel in DOCUMENT["channels"].values()]
    described = {re.sub(r"{\w+}", "{}", address) for address in addresses}
    used = {kind.replace("+", "{}") for kind in kinds_in_code()} - {"#"}
    assert "ask/{}/{}" in used
    assert used <= described
