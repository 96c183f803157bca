"""Writes docs/visit.schema.json, the schema of an exported visit. Run as `python -m docs.build_visit_schema`."""

import json
from pathlib import Path

import msgspec

from ingest.export.visit_json import VisitExport

FILE = Path(__file__).with_name("visit.schema.json")


def schema() -> str:
    """Write the schema of a visit and its unit, by JSON Schema 2020-12, as the structs have it."""
    told = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "A visit, with its unit and journal"}
    return json.dumps(told | msgspec.json.schema(VisitExport), indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    FILE.write_text(schema(), encoding="utf-8")
