"""What a report shows, against CoolProp: within what is rounded on the wire, and a figure that is off is seen."""

from dataclasses import replace

import msgspec
import pytest

from ingest.report.clock import Clock
from ingest.report.course import Course
from ingest.report.known import read_known
from ingest.report.proof import is_there, prove
from tests.ingest.report.recorded import Shelf, names, read


def course_of(name: str) -> Course:
    visit = read(name)
    return Course(read_known(Shelf(visit), visit.id), "us", Clock("UTC"))


@pytest.mark.parametrize("name", names())
def test_the_figures_of_recorded_visits_are_those_of_another_library(name):
    """CoolProp 8.0.0. A curve may be off by 1 mK; pressure and temperature travel with 0.1 Pa and 0.1 mK."""
    found = prove(course_of(name))
    assert found.library.startswith("CoolProp ")
    assert found.worst_dk <= 2e-3


def test_most_visits_have_figures_to_prove():
    assert is_there()
    figures = [prove(course_of(name)).figures for name in ("low_blend", "a2l", "two_circuits")]
    assert min(figures) >= 4


def test_a_figure_that_was_shown_wrongly_is_seen():
    course = course_of("low_blend")
    mark, pack = next(
        (mark, pack)
        for mark, pack in course.known.moments.items()
        if "subcooling" in pack.readings and pack.readings["subcooling"].value is not None
    )
    wrong = msgspec.structs.replace(pack.readings["subcooling"], value=pack.readings["subcooling"].value + 0.5)
    moments = {
        **course.known.moments,
        mark: msgspec.structs.replace(pack, readings={**pack.readings, "subcooling": wrong}),
    }
    off = Course(replace(course.known, moments=moments), "us", Clock("UTC"))
    assert prove(off).worst_dk == pytest.approx(0.5, abs=2e-3)
