"""Holds what a TOML file says against the structs it should fill, and reports everything that does not fit.

msgspec stops at the first mistake. A person who wrote twenty lines on a roof wants to hear of all of them.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from typing import Any

from msgspec import inspect

from ingest.wire.texts import LONGEST_NAME, fault, shown

LONGEST_PATH = 1000
"""Of any text in a file: paths and addresses are the longest."""

_SECRET = re.compile(r"(pas+|secret|token)\w*(?<!_file)$")
"""A key that looks as if somebody wrote a secret there, though none of ours takes one: the value is not told."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong: its key, the value found (None where it is missing), and what would do."""

    key: str
    value: object
    expected: str

    def __str__(self) -> str:
        key = shown(self.key)
        if self.value is None:
            return f"{key}: {self.expected}"
        value = '"..."' if _SECRET.search(self.key) and isinstance(self.value, str) else _as_toml(self.value)
        return f"{key} = {value}: {self.expected}"


def suggestion(word: str, words: Iterable[str]) -> str:
    """Offer the nearest of the words that would do, as the end of a sentence.

    >>> suggestion("refrigerent", ["refrigerant", "tag"])
    '; did you mean "refrigerant"?'

    """
    close = get_close_matches(word, list(words), n=1)
    return f'; did you mean "{close[0]}"?' if close else "."


def find_problems(value: object, struct: type) -> list[Problem]:
    """Compare a decoded TOML or JSON document with the struct it should fill."""
    return list(_problems(value, _wanted_of(struct), ""))


@cache
def _wanted_of(struct: type) -> inspect.Type:
    return inspect.type_info(struct)


def _as_toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{shown(value)}"'
    if isinstance(value, dict | list):
        return "a table" if isinstance(value, dict) else "a list"
    return str(value)


def _problems(value: object, kind: inspect.Type, key: str) -> Iterator[Problem]:
    match kind:
        case inspect.StructType():
            yield from _struct_problems(value, kind, key)
        case inspect.ListType():
            yield from _list_problems(value, kind, key)
        case inspect.DictType():
            yield from _dict_problems(value, kind, key)
        case inspect.UnionType() if tagged := _tagged(kind):
            yield from _choice_problems(value, tagged, key)
        case inspect.UnionType(types=[inspect.StructType() as table, inspect.NoneType()]):
            if value is not None:  # null, as JSON has it
                yield from _struct_problems(value, table, key)
        case inspect.TupleType() | inspect.UnionType(types=[inspect.TupleType(), inspect.NoneType()]):
            yield from _tuple_problems(value, kind, key)
        case _:
            yield from _leaf_problems(value, kind, key)


def _struct_problems(value: object, kind: inspect.StructType, key: str) -> Iterator[Problem]:
    if not isinstance(value, dict):
        yield Problem(key, value, f"a table was expected, [{key}]")
        return
    fields = {field.encode_name: field for field in kind.fields}
    known = [*fields, kind.tag_field] if kind.tag_field else [*fields]
    for name in value:
        if name not in known:
            hint = suggestion(name, [other for other in known if other not in value])
            yield Problem(_join(key, name), value[name], f"there is no such key here{hint} Known: {', '.join(known)}")
    for name, field in fields.items():
        if name in value:
            yield from _problems(value[name], field.type, _join(key, name))
        elif field.required:
            yield Problem(_join(key, name), None, f"is missing; {_wanted(field.type)} was expected")


def _list_problems(value: object, kind: inspect.ListType, key: str) -> Iterator[Problem]:
    if not isinstance(value, list):
        yield Problem(key, value, f"{_wanted(kind)} was expected")
        return
    for index, item in enumerate(value):
        yield from _problems(item, kind.item_type, f"{key}[{index}]")


def _tuple_problems(value: object, kind: inspect.TupleType | inspect.UnionType, key: str) -> Iterator[Problem]:
    wanted = next(each for each in _choices(kind) if isinstance(each, inspect.TupleType))
    if value is None and kind is not wanted:
        return
    if not isinstance(value, list) or len(value) != len(wanted.item_types):
        yield Problem(key, value, f"{_wanted(wanted)} was expected")
        return
    for index, (item, item_type) in enumerate(zip(value, wanted.item_types, strict=True)):
        yield from _problems(item, item_type, f"{key}[{index}]")


def _dict_problems(value: object, kind: inspect.DictType, key: str) -> Iterator[Problem]:
    if not isinstance(value, dict):
        yield Problem(key, value, f"{_wanted(kind)} was expected")
        return
    for name, item in value.items():
        if wrong := fault(name, LONGEST_NAME):
            yield Problem(_join(key, name), None, f"this name {wrong}")
        yield from _problems(item, kind.value_type, _join(key, name))


def _tagged(kind: inspect.UnionType) -> dict[str, inspect.StructType]:
    structs = [choice for choice in kind.types if isinstance(choice, inspect.StructType)]
    return {str(struct.tag): struct for struct in structs if struct.tag_field}


def _choice_problems(value: object, choices: Mapping[str, inspect.StructType], key: str) -> Iterator[Problem]:
    tag_field = str(next(iter(choices.values())).tag_field)
    if not isinstance(value, dict):
        yield Problem(key, value, f"a table with a {tag_field} was expected")
        return
    tag = value.get(tag_field)
    if isinstance(tag, str) and tag in choices:
        yield from _struct_problems(value, choices[tag], key)
        return
    start = "is missing; " if tag is None else ""
    hint = suggestion(str(tag), choices)
    yield Problem(_join(key, tag_field), tag, f"{start}one of {', '.join(choices)} was expected{hint}")


def _leaf_problems(value: object, kind: inspect.Type, key: str) -> Iterator[Problem]:
    if any(_fits(value, choice) for choice in _choices(kind)):
        if isinstance(value, str) and (wrong := fault(value, LONGEST_PATH)):
            yield Problem(key, value, wrong)
        return
    hint = ""
    for choice in _choices(kind):
        if isinstance(choice, inspect.LiteralType):
            hint = suggestion(str(value), map(str, choice.values))
    yield Problem(key, value, f"{_wanted(kind)} was expected{hint}")


def _choices(kind: inspect.Type) -> tuple[inspect.Type, ...]:
    return kind.types if isinstance(kind, inspect.UnionType) else (kind,)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


_LEAVES: Mapping[type[inspect.Type], tuple[str, Callable[[Any], bool]]] = {
    inspect.StrType: ("a text in quotes", lambda value: isinstance(value, str)),
    inspect.BoolType: ("true or false", lambda value: isinstance(value, bool)),
    inspect.IntType: ("a whole number", lambda value: _is_number(value) and isinstance(value, int)),
    inspect.FloatType: ("a number", _is_number),
    inspect.NoneType: ("nothing", lambda value: value is None),
}


def _fits(value: object, kind: inspect.Type) -> bool:
    if isinstance(kind, inspect.LiteralType):
        return value in kind.values
    return type(kind) in _LEAVES and _LEAVES[type(kind)][1](value)


def _wanted(kind: inspect.Type) -> str:
    match kind:
        case inspect.StructType():
            return "a table"
        case inspect.ListType(item_type=inspect.StructType()):
            return "a list of tables, each under a [[heading]],"
        case inspect.ListType():
            return f"a list, each item {_wanted(kind.item_type)},"
        case inspect.TupleType():
            return f"a list of {len(kind.item_types)}"
        case inspect.DictType():
            return f"a table, each value {_wanted(kind.value_type)},"
        case inspect.LiteralType():
            return "one of " + ", ".join(map(str, kind.values))
        case inspect.UnionType() if tagged := _tagged(kind):
            return f"a table with a kind ({', '.join(tagged)})"
        case inspect.UnionType():
            return " or ".join(_wanted(choice) for choice in kind.types if not isinstance(choice, inspect.NoneType))
    return _LEAVES[type(kind)][0]


def _join(key: str, name: str) -> str:
    return f"{key}.{name}" if key else name
