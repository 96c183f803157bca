"""`python -m tests.judge.other_physics`: try the judge on units of other physics; writes its section of docs/judge.md.

Seeds from here on were never looked at; the sizes of this family were set by their sources, and those without one
before its first trial.
"""

from multiprocessing import Pool
from pathlib import Path

from tests.judge import report
from tests.judge.diagnosis import Judged, judge_unit
from tests.judge.families import CORRELATED
from tests.judge.obedient import Visit, play

HELD_OUT = 7_000_000
UNITS, VISITS = 200, 2000


def measure() -> tuple[list[Judged], list[Visit]]:
    """Judge the cases and play the visits: some two minutes on two cores."""
    with Pool() as pool:
        judged = pool.starmap(judge_unit, [(HELD_OUT + index, CORRELATED) for index in range(UNITS)], chunksize=4)
        visits = pool.starmap(play, [(HELD_OUT + index, CORRELATED) for index in range(VISITS)], chunksize=16)
    return [case for each in judged for case in each], visits


if __name__ == "__main__":
    report.write_other_physics(*measure(), Path("docs"))
