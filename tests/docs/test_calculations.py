"""docs/calculations.md says what the code does: every calculation and every public function, as they are now."""

import pytest

from calc import catalogue
from docs.build_calculations import PAGE, page

WRITTEN = PAGE.read_text("utf-8")


def test_the_page_is_as_the_generator_writes_it():
    assert page() == WRITTEN, "run: python -m docs.build_calculations"


@pytest.mark.parametrize("name", catalogue.names())
def test_every_calculation_has_a_line_with_its_question(name):
    (line,) = [line for line in WRITTEN.splitlines() if line.startswith(f"| `{name}` |")]
    assert f"| {catalogue.question(name)} |" in line
    assert "| `calc/" in line


@pytest.mark.parametrize(
    "heading", ["calc.superheat", "calc.saturation", "calc.leakage", "superheat", "dew_point", "annualized_rate"]
)
def test_public_modules_and_functions_have_a_section(heading):
    assert f"# {heading}\n" in WRITTEN


def test_no_section_without_words():
    assert all(section.count("\n") > 4 for section in WRITTEN.split("\n### ")[1:])
