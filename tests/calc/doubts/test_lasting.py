"""Which doubts last: half a minute without a break, counted in the unit's own time."""

from calc.doubts.lasting import LASTING_S, LastingDoubts
from calc.doubts.observed import Doubt
from calc.sentences import Sentence

HOSES = Doubt(("suction_pressure", "liquid_pressure"), Sentence("x"), Sentence("y"), 0.95)
CLAMP = Doubt(("liquid_line_temperature",), Sentence("x"), Sentence("y"), 0.8)


def test_a_doubt_lasts_from_half_a_minute_on():
    """30 s: common practice, no source."""
    kept = LastingDoubts()
    assert LASTING_S == 30.0
    assert [kept.follow([HOSES], time_s) for time_s in (100.0, 129.75, 130.0, 131.0)] == [(), (), (HOSES,), (HOSES,)]


def test_one_that_passes_begins_anew_and_leaves_another_alone():
    kept = LastingDoubts()
    kept.follow([HOSES, CLAMP], 0.0)
    kept.follow([CLAMP], 20.0)
    assert kept.follow([HOSES, CLAMP], 30.0) == (CLAMP,)
    assert kept.follow([HOSES, CLAMP], 59.0) == (CLAMP,)
    assert set(kept.follow([HOSES, CLAMP], 60.0)) == {HOSES, CLAMP}


def test_what_lasted_already_goes_on_lasting():
    kept = LastingDoubts([HOSES])
    assert kept.follow([HOSES, CLAMP], 0.0) == (HOSES,)
    kept.follow([], 1.0)
    assert kept.follow([HOSES], 2.0) == ()
