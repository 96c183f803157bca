"""docs/unit.schema.json is the schema of a file of units, as the structs and the reading of it have it."""

import json
from pathlib import Path

import jsonschema

from docs.build_unit_schema import FILE, schema
from ingest.register.json_file import as_json, read_json
from ingest.wire.messages import Circuit, Motor, Sheet

WRITTEN = FILE.read_text("utf-8")


def test_the_schema_is_as_the_structs_have_it() -> None:
    assert schema() == WRITTEN, "run: python -m docs.build_unit_schema"


def test_what_it_names_is_read_and_nothing_else(tmp_path: Path) -> None:
    """One sheet with every property that the schema names, of its type, is read; one with another name is not."""
    known = json.loads(WRITTEN)
    assert (known["$schema"], known["type"]) == ("https://json-schema.org/draft/2020-12/schema", "array")
    sheet = known["$defs"]["Sheet"]
    assert sheet["required"] == ["tag", "circuits"]
    circuit = {"name": "1", "refrigerant": "R-410A", "metering_device": "txv"}
    assert known["$defs"]["Circuit"]["required"] == [*circuit]
    told = {name: told["default"] for name, told in sheet["properties"].items() if "default" in told}
    assert told.keys() | {"tag", "circuits"} == sheet["properties"].keys()
    file = tmp_path / "units.json"
    file.write_text(json.dumps([{"tag": "AHU-9", "circuits": [circuit]} | told]))
    assert read_json(file)[0].tag == "AHU-9"


def test_what_is_given_out_fits_it() -> None:
    """Held by an independent validator of JSON Schema 2020-12."""
    motor = Motor("compressor", drives="compressor", circuit="1", rated_current_a=12.0)
    sheet = Sheet("AHU-9", [Circuit("1", "R-410A", "txv", charge_kg=3.4, charge_known_by="nameplate")], parts=[motor])
    validator = jsonschema.Draft202012Validator(json.loads(WRITTEN))
    validator.check_schema(validator.schema)
    validator.validate(json.loads(as_json([sheet])))
    assert not validator.is_valid([{"tag": "AHU-9"}])
