"""`python -m tests.judge [RESULTS]`: try the judge on held-out cases, and write docs/judge.md and docs/judge.svg.

With the name of a file of results, the measuring is left out where it is there, and its results are kept in it.
"""

import sys
from multiprocessing import Pool
from pathlib import Path

import msgspec

from tests.judge import Results, report
from tests.judge.cases import FAULTS, NO_FAULT
from tests.judge.diagnosis import judge_case
from tests.judge.guidance import try_start
from tests.judge.settling import try_changes

HELD_OUT = 700_000
"""Seeds from here on were never used while the judge was made; its sizes and spreads were set on seeds below."""

EACH_FAULT, SOUND, STARTS = 112, 240, 20
CHANGES = {"one lag": 220, "two lags": 220, "simulated unit": 70}
METERING = ("expansion valve", "fixed orifice")


def measure() -> Results:
    """Try everything; it takes some fifteen minutes on two cores."""
    cases = [(HELD_OUT + index, fault) for index in range(EACH_FAULT) for fault in FAULTS]
    cases += [(HELD_OUT + index, NO_FAULT) for index in range(SOUND)]
    changes = [(kind, HELD_OUT + index) for kind, count in CHANGES.items() for index in range(count)]
    starts = [(HELD_OUT + index, metering) for metering in METERING for index in range(STARTS)]
    with Pool() as pool:
        print("starts", len(starts), file=sys.stderr)
        tried_starts = pool.starmap(try_start, starts, chunksize=2)
        print("changes", len(changes), file=sys.stderr)
        tried_changes = pool.starmap(try_changes, changes, chunksize=4)
        print("cases", len(cases), file=sys.stderr)
        judged = pool.starmap(judge_case, cases, chunksize=4)
    return Results(judged, [tried for each in tried_changes for tried in each], tried_starts)


def main() -> None:
    """Measure, or take what was measured, and write the report."""
    kept = Path(sys.argv[1]) if sys.argv[1:] else None
    if kept is not None and kept.exists():
        results = msgspec.json.decode(kept.read_bytes(), type=Results)
    else:
        results = measure()
        if kept is not None:
            kept.write_bytes(msgspec.json.encode(results))
    report.write(results, Path("docs"))


if __name__ == "__main__":
    main()
