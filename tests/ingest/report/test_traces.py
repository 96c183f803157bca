"""The geometry of a trace, against numpy and against the clock of a zone."""

import math
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ingest.report.document import At, Line, Statement, Trace
from ingest.report.drawn.traces import arrays, course, thinned
from tests.ingest.report.made import START_S

ZONE = "America/Chicago"


def drawn(values: list[float | None], every_s: float = 1.0):
    line = Line("Superheat", "K", [START_S + every_s * n for n in range(len(values))], values)
    return course(Trace([line], []), ZONE, columns=50)


@given(st.lists(st.floats(-1e3, 1e3), min_size=10, max_size=3000), st.integers(2, 60))
def test_thinning_keeps_the_extremes_and_the_ends_of_each_column(values: list[float], columns: int) -> None:
    times_s = np.arange(len(values), dtype=float)
    kept_s, kept = thinned(times_s, np.array(values), columns=columns)
    assert kept.max() == max(values)
    assert kept.min() == min(values)
    assert (kept_s[0], kept_s[-1]) == (0.0, len(values) - 1.0)
    assert len(kept) <= max(4 * columns, 4 * columns)
    assert all(values[int(time_s)] == value for time_s, value in zip(kept_s, kept, strict=True))


def test_what_is_not_known_stays_a_gap_however_it_is_thinned() -> None:
    found = drawn([*[1.0] * 2000, *[None] * 10, *[2.0] * 2000])
    assert found is not None
    (line,) = found.panels[0].lines
    assert len(line.pieces) == 2


@given(st.floats(-1e6, 1e6), st.floats(1e-3, 1e6))
def test_a_scale_has_a_few_round_figures_inside(low: float, span: float) -> None:
    found = drawn([low, low + span])
    assert found is not None
    ticks = found.panels[0].ticks
    assert 3 <= len(ticks) <= 8
    assert all(0 <= tick.at <= 1 for tick in ticks)
    values = [float(tick.says.replace("−", "-")) for tick in ticks]
    step = round(values[1] - values[0], 12)
    assert re.fullmatch(r"[125]0*|0", f"{step:.3e}".replace(".", "")[:4].rstrip("0") or "0")


def test_a_figure_that_does_not_move_has_a_scale_too() -> None:
    for value in (0.0, 7.0, -40.0):
        found = drawn([value, value])
        assert found is not None
        assert found.panels[0].ticks


@pytest.mark.parametrize(
    ("minutes", "first", "second"),
    [(0.5, "12:05:00", "12:05:10"), (6, "12:05", "12:06"), (50, "12:10", "12:20"), (600, "12:00", "14:00")],
)
def test_times_are_round_by_the_clock_of_the_zone(minutes: float, first: str, second: str) -> None:
    """START_S is 12:05 in Chicago, as zdump of the IANA's database has it (UTC-5 in May)."""
    found = drawn([1.0] * 61, every_s=minutes)
    assert found is not None
    assert [tick.says for tick in found.times][:2] == [first, second]
    assert len(found.times) <= 9


def test_the_hour_that_comes_twice_is_told_twice() -> None:
    """Clocks in Chicago went back from 02:00 to 01:00 on 1 November 2026 (15 U.S.C. 260a)."""
    midnight_s = 1_793_509_200.0  # 1 November 2026 00:00 CDT
    line = Line("Superheat", "K", [midnight_s, midnight_s + 5 * 3600], [1.0, 2.0])
    found = course(Trace([line], []), ZONE, columns=50)
    assert found is not None
    assert [tick.says for tick in found.times].count("01:00") == 2


def test_neighbours_of_one_unit_share_a_panel_and_moments_are_placed() -> None:
    times_s = [START_S, START_S + 100]
    lines = [Line(name, unit, times_s, [1.0, 2.0]) for name, unit in (("a", "K"), ("b", "K"), ("c", "A"), ("d", "K"))]
    moments = [At(START_S + at_s, Statement("added", ["m1"])) for at_s in (100, 50)]
    found = course(Trace(lines, moments), ZONE, columns=50)
    assert found is not None
    assert [[line.name for line in panel.lines] for panel in found.panels] == [["a", "b"], ["c"], ["d"]]
    assert found.moments == [pytest.approx(at, abs=0.02) for at in (0.5, 1.0)]  # a margin beside them
    assert found.says == "Trace of a, b, c, d from 12:05 to 12:06"


def test_nothing_known_is_no_trace() -> None:
    assert drawn([None, None]) is None
    assert course(Trace([], []), ZONE, columns=50) is None
    values = arrays(Line("a", "K", [0.0, 1.0], [None, 1.0]))[1]
    assert math.isnan(values[0])


def test_a_course_that_hardly_moves_fills_no_scale() -> None:
    """Of so little as instruments are off by no rise is drawn: common practice, no source."""
    found = course(Trace([Line("Superheat", "K", [0.0, 1.0], [10.0, 10.3])], []), ZONE, columns=50)
    assert found is not None
    (points,) = found.panels[0].lines[0].pieces
    assert abs(points[1][1] - points[0][1]) == pytest.approx(0.1, abs=0.02)
