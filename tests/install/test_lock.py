"""The lock is whole: every pip from 23.0 on installs it as it stands, and nothing released later can change that.

Each pip here follows the Makefile's own recipe, but from packages made by this test: for each one locked, a wheel
without code that has the real one's metadata, and beside it a later release that nobody could install. `make fresh`
does the same with the real packages.
"""

import os
import re
import subprocess
import sys
import tomllib
import venv
from collections.abc import Iterator, Mapping
from hashlib import sha256
from importlib.metadata import Distribution, distribution, distributions
from pathlib import Path
from zipfile import ZipFile

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]
LOCK = (ROOT / "requirements.lock").read_text(encoding="utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
PIPS = Path(sys.prefix) / "pips"
MACHINES: list[dict[str, str]] = [
    {"python_version": version, "python_full_version": f"{version}.0", "sys_platform": platform, "os_name": os_name,
     "platform_system": system, "platform_machine": machine}
    for version in ("3.11", "3.12", "3.13", "3.14")
    for platform, os_name, system, machine in (
        ("linux", "posix", "Linux", "x86_64"), ("linux", "posix", "Linux", "aarch64"),
        ("darwin", "posix", "Darwin", "arm64"), ("win32", "nt", "Windows", "AMD64"))
]  # fmt: skip


ENTRY = re.compile(r"^([^ #].*?) *\\\n((?: +--hash=sha256:[0-9a-f]{64}(?: \\)?\n)+)", re.MULTILINE)
LOCKED = [Requirement(line) for line, _ in ENTRY.findall(LOCK)]


def wanted() -> list[Requirement]:
    """What pyproject.toml asks for: to run, to build and to test."""
    groups = PROJECT["dependency-groups"]
    return [Requirement(line) for line in PROJECT["project"]["dependencies"] + groups["build"] + groups["dev"]]


def here(requirement: Requirement) -> bool:
    return requirement.marker is None or requirement.marker.evaluate()


def applies(requirement: Requirement, machine: Mapping[str, str], extras: set[str]) -> bool:
    marker = requirement.marker
    return marker is None or any(marker.evaluate({**machine, "extra": extra}) for extra in ("", *extras))


def installed() -> dict[str, Distribution]:
    return {canonicalize_name(found.name): found for found in distributions()}


def missing(machine: Mapping[str, str]) -> Iterator[str]:
    """What is needed on this machine, from pyproject.toml through every package, and is not in the lock."""
    lines = {canonicalize_name(line.name): line for line in LOCKED if applies(line, machine, set())}
    packages = installed()
    to_do = [("pyproject.toml", requirement) for requirement in wanted() if applies(requirement, machine, set())]
    done: set[tuple[str, frozenset[str]]] = set()
    while to_do:
        by, requirement = to_do.pop()
        name = canonicalize_name(requirement.name)
        line = lines.get(name)
        [pin] = line.specifier if line else [None]
        if (
            line is None
            or pin is None
            or not requirement.specifier.contains(pin.version, prereleases=True)
            or not requirement.extras <= line.extras
        ):
            yield f"{by} needs {requirement}, the lock has {line}"
        elif (name, frozenset(requirement.extras)) not in done and name in packages:
            done.add((name, frozenset(requirement.extras)))
            needs = [Requirement(text) for text in packages[name].requires or ()]
            to_do += [(name, need) for need in needs if applies(need, machine, requirement.extras)]


@pytest.mark.parametrize("machine", MACHINES, ids=lambda machine: "-".join(list(machine.values())[::2]))
def test_the_lock_names_all_that_its_packages_need(machine: dict[str, str]) -> None:
    assert list(missing(machine)) == []


def test_every_line_is_pinned_and_has_hashes() -> None:
    assert ENTRY.sub("", LOCK) == "# what the tests need besides\n"
    assert [str(line) for line in LOCKED if [pin.operator for pin in line.specifier] != ["=="]] == []


@pytest.mark.parametrize("name", ["requirements.lock", "pyproject.toml", "Makefile", ".ci/run"])
def test_no_index_and_no_host_is_named(name: str) -> None:
    text = (ROOT / name).read_text(encoding="utf-8")
    assert re.findall(r"://|^-|--(?:extra-)?index|--find-links|--trusted-host", text, re.MULTILINE) == []


def make_wheel(index: Path, name: str, version: str, metadata: str) -> str:
    """Put a wheel that holds no code where pip looks for packages of this name, and return its hash."""
    stem = f"{name.replace('-', '_')}-{version}"
    path = index / name / f"{stem}-py3-none-any.whl"
    path.parent.mkdir(exist_ok=True)
    with (path.parent / "index.html").open("a", encoding="utf-8") as page:
        page.write(f'<a href="{path.name}">{path.name}</a>\n')
    files = {
        "METADATA": metadata,
        "WHEEL": "Wheel-Version: 1.0\nGenerator: tests\nRoot-Is-Purelib: true\nTag: py3-none-any\n",
    }
    record = "".join(f"{stem}.dist-info/{file},,\n" for file in (*files, "RECORD"))
    with ZipFile(path, "w") as wheel:
        for file, text in (files | {"RECORD": record}).items():
            wheel.writestr(f"{stem}.dist-info/{file}", text)
    return sha256(path.read_bytes()).hexdigest()


def header(text: str) -> str:
    """The metadata without the description, in which anything may stand."""
    return text.partition("\n\n")[0] + "\n"


@pytest.fixture(scope="module")
def packages(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An index of wheels, each locked package in the locked and in a later release, and a lock with their hashes."""
    folder = tmp_path_factory.mktemp("packages")

    def with_hash_of_made(entry: re.Match[str]) -> str:
        line = Requirement(entry[1])
        if not here(line):
            return entry[0]
        found = distribution(line.name)
        metadata = header(found.read_text("METADATA") or found.read_text("PKG-INFO") or "")
        made = make_wheel(folder, canonicalize_name(line.name), found.version, metadata)
        later = re.sub(r"^Version: .*", "Version: 9!9\nRequires-Dist: never-released==1", metadata, flags=re.MULTILINE)
        make_wheel(folder, canonicalize_name(line.name), "9!9", later)
        return f"{entry[1]} \\\n    --hash=sha256:{made}\n"

    (folder / "requirements.lock").write_text(ENTRY.sub(with_hash_of_made, LOCK), encoding="utf-8")
    return folder


def recipe() -> list[str]:
    """What the Makefile does between the empty environment and our own package in it."""
    dry = ["make", "--dry-run", "--always-make", "PYTHON=python3", ".venv/.installed-to-test"]
    said = subprocess.run(dry, cwd=ROOT, check=True, capture_output=True, text=True, env=os.environ | {"MAKEFLAGS": ""})
    lines = [line for line in said.stdout.splitlines() if not re.search(r"-m venv|-e \.$|^make|^touch", line)]
    assert sum("pip install" in line for line in lines) == 3
    return lines


@pytest.mark.parametrize("version", ["23.0.1", "23.2.1", "newest"])
def test_every_pip_installs_the_lock_as_it_stands(version: str, packages: Path, tmp_path: Path) -> None:
    pip = PIPS / version / "pip"
    assert pip.is_dir(), "the installers to test with are missing: run `make .venv/pips/.installed`"
    environment = tmp_path / ".venv"
    venv.create(environment, with_pip=False)
    command = environment / "bin" / "pip"
    command.write_text(f'#!/bin/sh\nexec "{environment}/bin/python" "{pip}" "$@"\n', encoding="utf-8")
    command.chmod(0o755)
    (tmp_path / "requirements.lock").write_bytes((packages / "requirements.lock").read_bytes())
    only_here = {"PATH": os.environ["PATH"], "HOME": str(tmp_path), "PIP_INDEX_URL": packages.as_uri()}
    for line in recipe():
        done = subprocess.run(
            line, shell=True, cwd=tmp_path, env=only_here, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, f"{line}\n{done.stdout}{done.stderr}"
    came = {canonicalize_name(found.name): found.version
            for found in distributions(path=[str(next(environment.glob("lib/*/site-packages")))])}  # fmt: skip
    assert came == {canonicalize_name(line.name): next(iter(line.specifier)).version for line in filter(here, LOCKED)}
