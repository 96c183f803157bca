"""`python -m tests.judge [RESULTS]`: try the judge on held-out cases, and write docs/judge.md and docs/judge.svg.

With the name of a file of results, the measuring is left out where it is there, and its results are kept in it.
`python -m tests.judge.other_physics` writes the section of units of other physics alone.
"""

import sys
from multiprocessing import Pool
from pathlib import Path

import msgspec

from tests.judge import Results, beyond, other_physics, report
from tests.judge.cases import OWN, WIDE
from tests.judge.diagnosis import judge_unit
from tests.judge.guidance import try_start
from tests.judge.memory import judge_remembered
from tests.judge.settling import try_changes, try_ramp
from tests.judge.two_faults import judge_pairs

HELD_OUT = 1_100_000
WIDE_HELD_OUT = 2_000_000
"""Seeds from here on were never used while the judge was made; its sizes and spreads were set on seeds below."""

UNITS, WIDE_UNITS, STARTS = 114, 60, 20
CHANGES = {
    "one lag": 180,
    "two lags": 180,
    "two lags with dead time": 180,
    "overshoot with slow return": 180,
    "ringing": 180,
    "simulated unit": 120,
}
RAMPS = 200
PAIR_UNITS, REMEMBERED_UNITS = 12, 60
METERING = ("expansion valve", "fixed orifice")


def measure() -> Results:
    """Try everything; it takes a third of an hour on two free cores."""
    units = [(HELD_OUT + index, OWN) for index in range(UNITS)]
    units += [(WIDE_HELD_OUT + index, WIDE) for index in range(WIDE_UNITS)]
    changes = [(kind, HELD_OUT + index) for kind, count in CHANGES.items() for index in range(count)]
    starts = [(HELD_OUT + index, metering) for metering in METERING for index in range(STARTS)]
    with Pool() as pool:
        tried_starts = pool.starmap(try_start, starts, chunksize=2)
        tried_changes = pool.starmap(try_changes, changes, chunksize=4)
        ramps = pool.map(try_ramp, [HELD_OUT + index for index in range(RAMPS)], chunksize=8)
        judged = pool.starmap(judge_unit, units, chunksize=1)
        pairs = pool.map(judge_pairs, range(WIDE_HELD_OUT, WIDE_HELD_OUT + PAIR_UNITS), chunksize=1)
        remembered = pool.map(judge_remembered, range(WIDE_HELD_OUT, WIDE_HELD_OUT + REMEMBERED_UNITS), chunksize=1)
    other, other_visits = other_physics.measure()
    return Results(
        [case for each in judged[:UNITS] for case in each],
        [case for each in judged[UNITS:] for case in each],
        [tried for each in tried_changes for tried in each],
        ramps,
        tried_starts,
        other,
        other_visits,
        [case for each in pairs for case in each],
        [case for each in remembered for case in each],
    )


def main() -> None:
    """Measure, or take what was measured, and write the report; it fails where clearly less is reached than asked."""
    kept = Path(sys.argv[1]) if sys.argv[1:] else None
    if kept is not None and kept.exists():
        results = msgspec.json.decode(kept.read_bytes(), type=Results)
    else:
        results = measure()
        if kept is not None:
            kept.write_bytes(msgspec.json.encode(results))
    report.write(results, Path("docs"))
    for missed in beyond.unmet(results):
        sys.stderr.write(f"not reached: {missed}\n")
    sys.exit(1 if beyond.unmet(results) else 0)


if __name__ == "__main__":
    main()
