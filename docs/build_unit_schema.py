"""Writes docs/unit.schema.json, the schema of a file of units. Run as `python -m docs.build_unit_schema`."""

import json
from pathlib import Path

import msgspec

from ingest.wire.messages import Sheet

FILE = Path(__file__).with_name("unit.schema.json")


def schema() -> str:
    """Write the schema of an array of sheets, by JSON Schema 2020-12, as the structs have it."""
    told = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "Units: an array of sheets"}
    return json.dumps(told | msgspec.json.schema(list[Sheet]), indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    FILE.write_text(schema(), encoding="utf-8")
