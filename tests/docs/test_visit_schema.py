"""docs/visit.schema.json is the schema of an exported visit, as the structs have it."""

from docs.build_visit_schema import FILE, schema


def test_the_schema_is_as_the_structs_have_it() -> None:
    assert schema() == FILE.read_text("utf-8"), "run: python -m docs.build_visit_schema"
