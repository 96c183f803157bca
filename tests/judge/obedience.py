"""`python -m tests.judge.obedience [VISITS]`: play visits at which the judge is obeyed, and write docs/obedience.md.

Seeds from here on were never used while the judge was made; what waits for a look at an instrument was set on some 900
visits and 500 readings with seeds below.
"""

import sys
from collections import Counter
from collections.abc import Callable, Sequence
from multiprocessing import Pool
from pathlib import Path
from statistics import fmean

from tests.judge.cases import OWN, WIDE
from tests.judge.families import NAMES
from tests.judge.obedient import SLIPS, Visit, play

HELD_OUT = 6_000_000
VISITS = 2000
CONFIDENCE = 0.95

Is = Callable[[Visit], bool]


def measure(count: int) -> list[Visit]:
    """Play visits, one half at units of one family, the other half at wider designs."""
    with Pool() as pool:
        return pool.map(play_one, range(HELD_OUT, HELD_OUT + count), chunksize=4)


def play_one(seed: int) -> Visit:
    """Play one visit: an even seed is one of the own family."""
    return play(seed, WIDE if seed % 2 else OWN)


def at_most(found: int, of: int) -> float:
    """Give the share that is not exceeded with 95 % confidence (Clopper and Pearson 1934, by scipy)."""
    from scipy.stats import binomtest  # dear, and few need it

    return float(binomtest(found, of, alternative="less").proportion_ci(CONFIDENCE, "exact").high)


def write(visits: Sequence[Visit], path: Path) -> None:
    """Write the page."""
    rows: list[tuple[str, Is]] = [
        ("all", lambda visit: True),
        ("one family", lambda visit: visit.family == NAMES[OWN]),
        ("wider designs", lambda visit: visit.family == NAMES[WIDE]),
        *((f"wrong: {kind}" if kind != "none" else "nothing wrong with what is read", _of(kind)) for kind in SLIPS),
    ]
    table = _table(_HEAD, [_row(name, [visit for visit in visits if chosen(visit)]) for name, chosen in rows])
    text = _TEXT.format(
        count=len(visits), table=table, last=_last_ounces(visits), short=_short(visits), ends=_ends(visits)
    )
    path.write_text(text, "utf-8")


_HEAD = (
    "visits",
    "played",
    "checks, mean",
    "added to a full unit",
    "recovered from a right one",
    "asked for by the protocol",
    "at most",
)


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    return "\n".join(f"| {' | '.join(cells)} |" for cells in (head, ["---"] * len(head), *rows))


def _of(kind: str) -> Is:
    return lambda visit: visit.slip.kind == kind


def _row(name: str, visits: Sequence[Visit]) -> Sequence[str]:
    if not visits:
        return (name, "0", "", "", "", "", "")
    wrong = [move for visit in visits for move in visit.wrong]
    return (
        name,
        str(len(visits)),
        f"{fmean(visit.checks for visit in visits):.2f}",
        str(sum(move.way == "added" for move in wrong)),
        str(sum(move.way == "recovered" for move in wrong)),
        str(sum(move.by_protocol for move in wrong)),
        f"{at_most(len(wrong), len(visits)):.2%}",
    )


def _last_ounces(visits: Sequence[Visit]) -> str:
    """Say how many additions only brought a unit that came short to its end, and to where."""
    ended = [share for visit in visits for share in visit.last_ounces]
    if not ended:
        return "there was none"
    return f"there were {len(ended)}, which ended at {min(ended):.1%} to {max(ended):.1%}"


def _short(visits: Sequence[Visit]) -> str:
    """Set out how near units come to their right charge that came short, and got any."""
    moved = [visit for visit in visits if visit.truth == "undercharge" and visit.moves]
    kinds = {
        "expansion valve": [it for it in moved if it.metering_device != "fixed_orifice"],
        "fixed orifice": [it for it in moved if it.metering_device == "fixed_orifice"],
        "all, nothing wrong with what is read": [it for it in moved if it.slip.kind == "none"],
    }
    rows = [
        (
            name,
            str(len(found)),
            f"{fmean(visit.of_right for visit in found):.1%}",
            *(f"{sum(abs(visit.of_right - 1.0) <= by for visit in found) / len(found):.0%}" for by in (0.02, 0.05)),
            *_as_said([visit for visit in found if visit.end.startswith("near enough")]),
        )
        for name, found in kinds.items()
        if found
    ]
    head = (
        "came short, and got some",
        "visits",
        "end, mean",
        "within 2 %",
        "within 5 %",
        "said ±, mean",
        "as near as said",
    )
    return _table(head, rows)


def _as_said(ended: Sequence[Visit]) -> Sequence[str]:
    """Tell to how much of its charge a unit is said to be right where it is left so, and how often it is."""
    said = [abs(visit.left.value) + visit.left.expanded() for visit in ended if visit.left is not None]
    if not said:
        return ("", "")
    return (f"{fmean(said):.1%}", f"{sum(visit.is_as_near_as_said for visit in ended) / len(ended):.0%}")


def _ends(visits: Sequence[Visit]) -> str:
    ends = Counter(visit.end for visit in visits)
    rows = [(end, str(count), f"{count / len(visits):.1%}") for end, count in ends.most_common()]
    return _table(("the last word", "visits", "share"), rows)


_TEXT = """# What becomes of a unit where the judge is obeyed

`make obedient` plays {count} visits and writes this page. Each is at a random unit in random weather (docs/judge.md
says how they are drawn), three in ten of them sound, the others with one fault. What is read is wrong at four of five,
in one way each: any instrument by 1 to 3.5 times its stated limit, the liquid or the suction clamp 3 to 8 °F warm, a
gauge 3 to 20 psi off, the plate's subcooling typed 2 to 6 °F wrong, the refrigerant typed for one that stands in for
it.

Nobody thinks for himself. What "Add" and "Recover" say is done, and the unit settles; what is to be checked is checked
with another instrument that errs too, and put right where it is found beyond its limit; a fault that is looked for is
found and mended where it is there, and where it is not that is said. Before the first move the plate is read again, as
the page asks. The visit ends where the judge has nothing more to say, stops, or asks for what was done already.

Refrigerant that goes into a unit of at least 97 % of its right charge, or out of one of at most 103 %, is a wrong move.
Some of these the protocol itself asks for: exact instruments have the figure of that sound unit beyond its tolerance as
well, because its maker charged it otherwise than the published table of target superheat has it. They are counted as
wrong all the same. "At most" is of all wrong moves together, with 95 % confidence (Clopper and Pearson 1934).

{table}

No wrong move is an addition at a unit that came short, where it is at 97 % and more by then, and at 103 % at most
after it: that brings it to its target. Of these {last}.

{short}

A charge that is right by its figure is right by its maker within a few percent only: a plate has whole degrees, a table
is one for all makers, and in other weather than it was tested in the same charge subcools otherwise. The last word says
within how many: the last two columns are of visits that end near enough, as k = 2, instruments that are off among them,
which no ± knows of. By a table only the maker's own charging chart, or weighing the charge in, comes nearer.

What it does not show: who reads carelessly, checks wrongly or not at all; two instruments off at once; a probe that is
off in the air, which nothing at hand can check; two faults at once; and real units, which differ from simulated ones.

## How they end

{ends}
"""


def main() -> None:
    """Play, and write."""
    write(measure(int(sys.argv[1]) if sys.argv[1:] else VISITS), Path("docs/obedience.md"))


if __name__ == "__main__":
    main()
