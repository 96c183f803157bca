"""docs/record.md says what the migrations make: every table and every column, as they are now."""

import pytest

from docs.build_record import PAGE, page

WRITTEN = PAGE.read_text("utf-8")


def test_the_page_is_as_the_migrations_have_it():
    assert page() == WRITTEN, "run: python -m docs.build_record"


@pytest.mark.parametrize(
    "line",
    [
        "## packs",
        "| `payload` | blob | the SenML pack, byte for byte as published |",
        "| `sequence` | integer | without gaps, over all sessions; key |",
        "| `standard_uncertainty` | real | of one reading [SI] |",
    ],
)
def test_a_column_has_its_type_and_what_it_means(line):
    assert line in WRITTEN.splitlines()
