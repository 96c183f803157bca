"""docs/calculations.md says what the code does: every calculation and every public function, as they are now."""

import pytest

from calc import catalogue
from calc.calculations import CALCULATIONS
from docs import from_memory
from docs.build_calculations import PAGE, page
from docs.sources import IN_FULL
from tests.cases import case

WRITTEN = PAGE.read_text("utf-8")


def test_the_page_is_as_the_generator_writes_it():
    assert page() == WRITTEN, "run: python -m docs.build_calculations"


def test_every_calculation_has_a_line_with_its_question():
    for name in catalogue.names():
        with case(name):
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


def test_what_is_only_from_memory_is_listed():
    written = from_memory.PAGE.read_text("utf-8")
    assert from_memory.page() == written, "run: python -m docs.build_calculations"
    for known in ("ANSI/ACCA 5 QI", "49 CFR 173.304", "unbalance_ratio 0.03, factor 0.88", "999.0", "IEC 60335-2-40"):
        assert known in written, known
    assert "ASTM B258" not in written  # read in print


STANDARDS = (
    "CFR",
    "ASHRAE",
    "IEC",
    "IEEE",
    "JCGM",
    "NEC ",
    "NEMA",
    "NIST",
    "ASTM",
    "AHRI",
    "NAMUR",
    "Title 24",
    "Steinhart",
    "UL ",
)


def test_every_document_that_a_calculation_names_is_given_in_full():
    for name in catalogue.names():
        with case(name):
            source = CALCULATIONS[name].source
            for standard in STANDARDS:
                if standard in source:
                    assert any(
                        short in source for short, what in IN_FULL.items() if standard.strip() in short + what
                    ), standard
