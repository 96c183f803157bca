"""CITATION.cff by the Citation File Format 1.2.0: its required keys, and the version and licence of the package."""

import tomllib
from pathlib import Path

import yaml

ROOT = Path(__file__).parents[2]


def test_the_citation_is_whole_and_says_what_the_package_says() -> None:
    citation = yaml.safe_load((ROOT / "CITATION.cff").read_text("utf-8"))
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    assert {"cff-version", "message", "title", "authors"} <= citation.keys()
    assert (str(citation["cff-version"]), citation["type"]) == ("1.2.0", "software")
    assert (citation["version"], citation["license"]) == (project["version"], project["license"])
