"""The configuration of a rig: read from TOML, checked as a whole, and resolved into SI.

Nothing starts on a configuration with a mistake in it, and every mistake is told at once.
"""

import tomllib
from collections.abc import Iterable
from pathlib import Path

import msgspec

from ingest.checking.check import Check
from ingest.checking.structure import Problem, find_problems
from ingest.config.broker import whole_path, with_whole_paths
from ingest.config.resolve import Sections, resolve_sections, sound_sections
from ingest.config.structs import Config, InstrumentConfig
from ingest.rig import Rig
from ingest.whole_file import NotSmallFileError, read_whole

LARGEST_FILE_BYTES = 1_000_000
DEEPEST_NESTING = 20
"""Both far beyond what any rig needs; common practice, no source."""

__all__ = ["Config", "ConfigError", "load", "resolve"]


class ConfigError(Exception):
    """What is wrong with a configuration file: all of it."""

    def __init__(self, path: Path, problems: list[Problem]) -> None:
        super().__init__(path, problems)
        self.path = path
        self.problems = problems

    def __str__(self) -> str:
        return "\n  ".join([f"{self.path} cannot be used:", *map(str, self.problems)])


def load(path: Path) -> Config:
    """Read and check a configuration file. Files that it names come back as paths that hold from anywhere.

    Raises:
        ConfigError: with everything that is wrong with it.

    """
    data = in_small_letters(read_toml(path))
    problems = find_problems(data, Config)
    check = Check(problems)
    if data.get("instrument") == []:
        check.wrong("instrument", None, "is empty; at least one [[instrument]] was expected")
    sections = sound_sections(data, problems)
    resolve_sections(check, sections, path.parent)
    if sections.rig and (path.parent / sections.rig.record).resolve() == path.resolve():
        check.wrong("rig.record", sections.rig.record, "is this file itself; the name of another was expected")
    if problems:
        raise ConfigError(path, problems)
    config = msgspec.convert(data, Config)
    return msgspec.structs.replace(
        config,
        broker=with_whole_paths(config.broker, path.parent),
        instruments=[_with_whole_paths(instrument, path.parent) for instrument in config.instruments],
    )


def in_small_letters(data: dict[str, object]) -> dict[str, object]:
    """Take a metering device as the trade writes it, TXV or EEV, for the word of the configuration."""
    unit = data.get("unit")
    if not isinstance(unit, dict) or not isinstance(unit.get("metering_device"), str):
        return data
    return {**data, "unit": {**unit, "metering_device": unit["metering_device"].lower()}}


def _with_whole_paths(instrument: InstrumentConfig, directory: Path) -> InstrumentConfig:
    """Turn the files that a link names, relative to the configuration, into paths that hold from anywhere."""
    whole = {
        field.name: whole_path(getattr(instrument.link, field.name), directory)
        for field in msgspec.structs.fields(instrument.link)
        if field.name.endswith("_file")
    }
    return msgspec.structs.replace(instrument, link=msgspec.structs.replace(instrument.link, **whole))


def resolve(config: Config, path: Path) -> Rig:
    """Read every text of a configuration into SI. path: of its file, since the record lies relative to it.

    Raises:
        ConfigError: a value cannot be read; never after `load`.

    """
    check = Check([])
    instruments = dict(enumerate(config.instruments))
    rig = resolve_sections(
        check, Sections(config.rig, config.unit, config.broker, config.recovery_cylinder, instruments), path.parent
    )
    if rig is None or check.problems:
        raise ConfigError(path, check.problems)
    return rig


def read_toml(path: Path) -> dict[str, object]:
    """Read a TOML file of bounded size and depth.

    Raises:
        ConfigError: it cannot be read, or is none.

    """
    try:
        return _parsed(_text(path))
    except NotSmallFileError as error:
        wrong = error.wrong
    except OSError as error:
        wrong = f"cannot be read: {error.strerror}"
    except RecursionError:
        wrong = _TOO_DEEP
    except ValueError as error:  # no TOML, no UTF-8, or a number of thousands of digits
        wrong = f"is not TOML: {error}"
    except _UnfitError as error:
        wrong = str(error)
    raise ConfigError(path, [Problem("the file", None, wrong)])


class _UnfitError(Exception):
    """What a file is that cannot be a configuration."""


_TOO_DEEP = f"is nested too deeply; at most {DEEPEST_NESTING} tables or lists within each other are read"


def _text(path: Path) -> str:
    text = read_whole(path, LARGEST_FILE_BYTES).decode("utf-8")
    if text.startswith("\ufeff"):
        raise _UnfitError("begins with a byte order mark; save it as plain UTF-8, without one")
    return text.replace("\r\n", "\n")


def _parsed(text: str) -> dict[str, object]:
    data = tomllib.loads(text)
    level: list[object] = [data]
    for _ in range(DEEPEST_NESTING + 1):
        level = [member for each in level for member in _members(each)]
    if level:
        raise _UnfitError(_TOO_DEEP)
    return data


def _members(value: object) -> Iterable[object]:
    if isinstance(value, dict):
        return value.values()
    return value if isinstance(value, list) else ()
