"""Figures from print and open data, as they lie in tests/published: each names its source."""

import csv
from pathlib import Path

PUBLISHED = Path(__file__).parent / "published"


def published(name: str) -> list[dict[str, str]]:
    """Read the rows of a file; a line that begins with # tells where they are from."""
    lines = (PUBLISHED / name).read_text("utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))
