"""`python -m tests.judge.settled`: try when it has settled and where it heads; writes its section of docs/judge.md."""

from functools import partial
from multiprocessing import Pool
from pathlib import Path

from tests.judge import report
from tests.judge.settling import KINDS, Forecasts, Ramp, try_changes, try_ramp

HELD_OUT = 1_100_000
CHANGES = 60
RAMPS = 200


def measure() -> tuple[list[Forecasts], list[Forecasts], list[Ramp]]:
    """Try every change beside the other figure, every third by itself, and the ramps: five minutes on two cores."""
    changes = [(kind, HELD_OUT + index) for kind in KINDS for index in range(CHANGES)]
    with Pool() as pool:
        beside = pool.starmap(try_changes, changes, chunksize=4)
        by_itself = pool.starmap(partial(try_changes, by_itself=True), changes[::3], chunksize=4)
        ramps = pool.map(try_ramp, [HELD_OUT + index for index in range(RAMPS)], chunksize=8)
    return [it for each in beside for it in each], [it for each in by_itself for it in each], ramps


if __name__ == "__main__":
    report.write_settling(*measure(), Path("docs"))
