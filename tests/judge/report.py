"""What was measured, as docs/judge.md and its drawing."""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from statistics import median

from calc.diagnosis import Fault
from tests.judge import Results, beyond, drawing
from tests.judge.cases import DDEGF, NO_FAULT
from tests.judge.diagnosis import CATEGORIES, CHARGE, Answer, Judged, category
from tests.judge.guidance import Start
from tests.judge.obedience import at_most
from tests.judge.obedient import Visit
from tests.judge.settling import NEAR_DK, RAMP_TOLD_S, SHARES, Forecasts, Ramp

Row = Sequence[str]
NINETY = 1.645
OTHER_PHYSICS, AFTER_IT = "### Units of other physics", "## When it has settled"
_AFTER_SETTLING = "## Guidance"
MOST_CONFUSIONS = 8


def write(results: Results, folder: Path) -> None:
    """Write docs/judge.md and docs/judge.svg."""
    (folder / "judge.svg").write_text(drawing.draw(results.judged), encoding="utf-8")
    (folder / "judge.md").write_text(_text(results), encoding="utf-8")


def write_other_physics(judged: Sequence[Judged], visits: Sequence[Visit], folder: Path) -> None:
    """Write that section of docs/judge.md anew, and leave the others as they are."""
    page = folder / "judge.md"
    text = page.read_text("utf-8")
    before, found, rest = text.partition(f"{OTHER_PHYSICS}\n")
    if not found:
        before, rest = text.partition(AFTER_IT)[::2]
        rest = AFTER_IT + rest
    page.write_text(f"{before}{_other_physics(judged, visits)}\n{rest[rest.index(AFTER_IT) :]}", "utf-8")


def write_settling(
    forecasts: Sequence[Forecasts], by_itself: Sequence[Forecasts], ramps: Sequence[Ramp], folder: Path
) -> None:
    """Write that section of docs/judge.md anew, and leave the others as they are."""
    page = folder / "judge.md"
    text = page.read_text("utf-8")
    before, after = text[: text.index(AFTER_IT)], text[text.index(_AFTER_SETTLING) :]
    page.write_text(f"{before}{_settling(forecasts, by_itself, ramps)}\n{after}", "utf-8")


def _settling(forecasts: Sequence[Forecasts], by_itself: Sequence[Forecasts], ramps: Sequence[Ramp]) -> str:
    return _SETTLING.format(
        changes=len(forecasts),
        forecasts=_table(
            (
                "change",
                "n",
                "rule fires",
                "known, as a share of that",
                "by itself",
                "within ± 0.5 °F at 40 %",
                "rule's own error",
                "settled too early",
            ),
            _forecasts(forecasts, by_itself),
        ),
        coverage=_table(("at this share of that time", *(f"{share:.0%}" for share in SHARES)), _coverage(forecasts)),
        ramp_count=len(ramps),
        ramps=_table(("after", *(f"{told_s} s" for told_s in RAMP_TOLD_S)), _ramps(ramps)),
    )


def _text(results: Results) -> str:
    return _TEXT.format(
        other_physics=_other_physics(results.other, results.other_visits),
        cases=len(results.judged),
        sound=sum(case.truth == NO_FAULT for case in results.judged),
        headline=_table(("what", "while running", "with the pressure at rest", "asked for"), _headline(results.judged)),
        categories=_table(("", *(name for name, _ in _RESPONSES)), _categories(results.judged)),
        faults=_table(
            ("what is true", "cases", "first", "among two", "held back", "first, with the pressure at rest"),
            _faults(results.judged),
        ),
        wide_cases=len(results.wide),
        wide=_table(("what", "while running", "asked for"), _wide(results.wide)),
        wide_faults=_table(("what is true", "cases", "first", "among two"), _wide_faults(results.wide)),
        wide_calibration=_table(_BANDS, _calibration(results.wide)),
        all_wide=len(results.wide) + len(results.pairs),
        all_calibration=_table(_BANDS, beyond.band_rows(beyond.wide_firsts(results))),
        pair_cases=len(results.pairs),
        two=_table(("what", "", "asked for"), beyond.two_rows(results.pairs)),
        each_two=_table(("what is true", "cases", "found", "nothing wrong first"), beyond.pair_rows(results.pairs)),
        remembered_cases=len(results.remembered),
        memory=_table(("what", "first visit", "with the memory", "asked for"), beyond.memory_rows(results.remembered)),
        memory_calibration=_table(_BANDS, beyond.band_rows(beyond.memory_firsts(results))),
        calibration=_table(_BANDS, _calibration(results.judged)),
        settling=_settling(results.forecasts, results.by_itself, results.ramps),
        starts=_table(
            ("metering device", "starts", "in 3 moves", "moves (median)", "overshot"), _starts(results.starts)
        ),
    )


_BANDS = ("probability of the first", "cases", "mean", "right")


def _table(head: Row, rows: Iterable[Row]) -> str:
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def _share(things: Iterable[bool]) -> str:
    counted = list(things)
    return f"{sum(counted) / len(counted):.1%}" if counted else "–"


def _first(case: Judged, answer: Answer) -> bool:
    return answer.ranking[0][0] == case.truth


def _among_two(case: Judged, answer: Answer) -> bool:
    return case.truth in [fault for fault, _ in answer.ranking[:2]]


_METERED: tuple[tuple[str, Callable[[Judged], bool]], ...] = (
    ("expansion valve", lambda case: case.metering_device != "fixed_orifice"),
    ("fixed orifice", lambda case: case.metering_device == "fixed_orifice"),
)


def _headline(judged: Sequence[Judged]) -> list[Row]:
    sound = [case for case in judged if case.truth == NO_FAULT]
    other = [case for case in judged if case.truth not in CHARGE]

    def row(name: str, cases: Sequence[Judged], holds: Callable[[Judged, Answer], bool], asked: str) -> Row:
        shares = [_share(holds(case, answer(case)) for case in cases) for answer in (_running, _rested)]
        return (name, *shares, asked)

    return [
        row("the truth comes first", judged, _first, "≥ 85 %"),
        row("the truth is among the first two", judged, _among_two, "≥ 95 %"),
        row("false alarm, of sound units", sound, lambda case, answer: not _first(case, answer), "≤ 5 %"),
        row("charge named first, of units rightly charged", other, lambda _, answer: answer.named in CHARGE, "≤ 5 %"),
        row("the same, and not held back", other, lambda _, answer: answer.acted_upon in CHARGE, ""),
        *(
            row(f"the truth comes first, {name}", [case for case in judged if chosen(case)], _first, "")
            for name, chosen in _METERED
        ),
    ]


def _running(case: Judged) -> Answer:
    return case.running


def _rested(case: Judged) -> Answer:
    return case.with_rest


_RESPONSES: tuple[tuple[str, Callable[[Judged], str]], ...] = (
    ("judge: named first", lambda case: case.running.named),
    ("judge: sent to look at first", lambda case: case.running.acted_upon),
    ("named first, with the pressure at rest", lambda case: case.with_rest.named),
    ("sent to look at first, with the pressure at rest", lambda case: case.with_rest.acted_upon),
    ("plain protocol", lambda case: case.plain),
)


def _categories(judged: Sequence[Judged]) -> list[Row]:
    counted = [Counter(category(case.truth, response(case)) for case in judged) for _, response in _RESPONSES]
    return [(name, *(f"{count[name] / len(judged):.1%}" for count in counted)) for name in CATEGORIES]


def _faults(judged: Sequence[Judged]) -> list[Row]:
    rows = []
    for fault in Fault:
        cases = [case for case in judged if case.truth == fault]
        if cases:
            rows.append(
                (
                    fault.value,
                    str(len(cases)),
                    _share(_first(case, case.running) for case in cases),
                    _share(_among_two(case, case.running) for case in cases),
                    _share(case.running.held_back for case in cases),
                    _share(_first(case, case.with_rest) for case in cases),
                )
            )
    return rows


def _calibration(judged: Sequence[Judged]) -> list[Row]:
    return [
        (
            f"{low:.0%} to {high:.0%}",
            str(len(group)),
            f"{sum(probability for probability, _ in group) / len(group):.0%}" if group else "–",
            _share(right for _, right in group),
        )
        for low, high, group in drawing.calibration_groups(judged)
    ]


def _wide(judged: Sequence[Judged]) -> list[Row]:
    """Count those apart that the judge does not know yet: nothing is likelier than not."""
    known = [case for case in judged if case.running.is_known]
    sound = [case for case in judged if case.truth == NO_FAULT]
    stated = sum(case.running.ranking[0][1] for case in judged) / len(judged) if judged else 0.0
    return [
        ("the truth comes first", _share(_first(case, case.running) for case in judged), "≥ 75 %"),
        ("the truth is among the first two", _share(_among_two(case, case.running) for case in judged), ""),
        ("known: something is likelier than not", _share(case.running.is_known for case in judged), ""),
        ("the truth comes first, of the known", _share(_first(case, case.running) for case in known), ""),
        (
            "sound, and a fault is likelier than not",
            _share(case.running.is_known and not _first(case, case.running) for case in sound),
            "≤ 5 %",
        ),
        ("sound, and a fault comes first", _share(not _first(case, case.running) for case in sound), ""),
        ("mean of the probabilities of what comes first", f"{stated:.1%}", ""),
        *(
            (
                f"the truth comes first, {name}",
                _share(_first(case, case.running) for case in judged if chosen(case)),
                "",
            )
            for name, chosen in _METERED
        ),
    ]


def _wide_faults(judged: Sequence[Judged]) -> list[Row]:
    return [(name, cases, first, two) for name, cases, first, two, *_ in _faults(judged)]


def _other_physics(judged: Sequence[Judged], visits: Sequence[Visit]) -> str:
    return _OTHER_PHYSICS.format(
        heading=OTHER_PHYSICS,
        cases=len(judged),
        headline=_table(("what", "while running", "with the pressure at rest", "asked for"), _other_headline(judged)),
        categories=_table(("", *(name for name, _ in _RESPONSES)), _categories(judged)),
        faults=_table(
            ("what is true", "cases", "first", "among two", "held back", "first, with the pressure at rest"),
            _faults(judged),
        ),
        confusions=_table(("what is true", "what comes first", "device", "cases", "of those"), _confusions(judged)),
        calibration=_table(("probability of the first", "cases", "mean", "right"), _calibration(judged)),
        wrong=_table(
            ("seed", "what is true", "device", "read wrongly", "of the right charge", "moved", "the protocol asks it"),
            _wrong_moves(visits),
        ),
        visits=_table(
            (
                "device",
                "visits",
                "moves",
                "checks, mean",
                "added to a full unit",
                "recovered from a right one",
                "at most",
            ),
            _visits(visits),
        ),
    )


def _other_headline(judged: Sequence[Judged]) -> list[Row]:
    """Give the rows of `_headline`, how many units are known, and whether what is stated holds."""
    sound = [case for case in judged if case.truth == NO_FAULT]

    def row(name: str, cases: Sequence[Judged], holds: Callable[[Judged, Answer], bool]) -> Row:
        return (name, *(_share(holds(case, answer(case)) for case in cases) for answer in (_running, _rested)), "")

    stated = [
        f"{sum(answer(case).ranking[0][1] for case in judged) / len(judged):.1%}" if judged else "–"
        for answer in (_running, _rested)
    ]
    return [
        *((*row[:-1], "") for row in _headline(judged)),
        row("known: something is likelier than not", judged, lambda _, answer: answer.is_known),
        row("sound, and a fault is likelier than not", sound, lambda case, it: it.is_known and not _first(case, it)),
        ("mean of the probabilities of what comes first", *stated, "as the first row"),
    ]


def _confusions(judged: Sequence[Judged]) -> list[Row]:
    """Count what is taken for what, the most frequent first, by device."""
    rows = []
    for device, chosen in _METERED:
        cases = [case for case in judged if chosen(case)]
        of = Counter(case.truth for case in cases)
        taken = Counter((case.truth, case.running.ranking[0][0]) for case in cases if not _first(case, case.running))
        rows += [
            (count, (truth, said, device, str(count), f"{count / of[truth]:.0%}"))
            for (truth, said), count in taken.items()
        ]
    return [row for _, row in sorted(rows, key=lambda each: -each[0])[:MOST_CONFUSIONS]]


def _visits(visits: Sequence[Visit]) -> list[Row]:
    rows = []
    for device, chosen in (("expansion valve", False), ("fixed orifice", True)):
        group = [visit for visit in visits if (visit.metering_device == "fixed_orifice") == chosen]
        wrong = [move.way for visit in group for move in visit.wrong]
        if group:
            rows.append(
                (
                    device,
                    str(len(group)),
                    str(sum(visit.moves for visit in group)),
                    f"{sum(visit.checks for visit in group) / len(group):.2f}",
                    str(wrong.count("added")),
                    str(wrong.count("recovered")),
                    f"{at_most(len(wrong), len(group)):.2%}",
                )
            )
    return rows


def _wrong_moves(visits: Sequence[Visit]) -> list[Row]:
    return [
        (
            str(visit.seed),
            visit.truth,
            visit.metering_device,
            visit.slip.kind if not visit.slip.channel else f"{visit.slip.kind}: {visit.slip.channel}",
            f"{move.of_right:.1%}",
            f"{move.by:+.1%}",
            "yes" if move.by_protocol else "",
        )
        for visit in visits
        for move in visit.wrong
    ]


def _kinds(forecasts: Sequence[Forecasts]) -> list[tuple[str, list[Forecasts]]]:
    kinds = dict.fromkeys(each.kind for each in forecasts)
    groups = [(kind, [each for each in forecasts if each.kind == kind]) for kind in kinds]
    return [*groups, ("all", list(forecasts))]


def _known(forecasts: Sequence[Forecasts]) -> str:
    shares = sorted(1.0 if each.known_s is None else each.known_s / each.fired_s for each in forecasts)
    return f"{median(shares):.0%} ({_at(shares, 0.1):.0%} to {_at(shares, 0.9):.0%})"


def _forecasts(forecasts: Sequence[Forecasts], by_itself: Sequence[Forecasts]) -> list[Row]:
    at_40 = SHARES.index(0.4)
    rows = []
    for (kind, group), (_, alone) in zip(_kinds(forecasts), _kinds(by_itself), strict=True):
        near = [(said := each.said[at_40]) is not None and abs(said[0]) <= NEAR_DK for each in group]
        rows.append(
            (
                kind,
                str(len(group)),
                f"{median(each.fired_s for each in group):.0f} s",
                _known(group),
                _known(alone),
                _share(near),
                f"{median(each.plain_error_dk for each in group) / DDEGF:.2f} °F",
                _share(each.falsely_settled for each in group),
            )
        )
    return rows


def _at(ordered: Sequence[float], share: float) -> float:
    return ordered[min(int(share * len(ordered)), len(ordered) - 1)]


def _coverage(forecasts: Sequence[Forecasts]) -> list[Row]:
    rows = []
    for kind, group in _kinds(forecasts):
        for name, of in (("90 % interval holds the truth", _holds), ("± of it, median", None)):
            cells = []
            for column in range(len(SHARES)):
                said = [found for each in group if (found := each.said[column]) is not None]
                if of is None:
                    widths = [NINETY * uncertainty / DDEGF for _, uncertainty in said]
                    cells.append(f"{median(widths):.2f} °F" if widths else "–")
                else:
                    cells.append(_share(of(found) for found in said))
            rows.append((f"{kind}: {name}", *cells))
    return rows


def _ramps(ramps: Sequence[Ramp]) -> list[Row]:
    at = range(len(RAMP_TOLD_S))
    return [
        (name, *(_share(ramp.said[column] == name for ramp in ramps) for column in at))
        for name in ("drifting", "an end", "settled")
    ]


def _holds(said: tuple[float, float]) -> bool:
    error, uncertainty = said
    return abs(error) <= NINETY * uncertainty


def _starts(starts: Sequence[Start]) -> list[Row]:
    rows = []
    for name, chosen in (("expansion valve", False), ("fixed orifice", True)):
        group = [start for start in starts if (start.metering_device == "fixed_orifice") == chosen]
        moves = [99 if start.moves_to_tolerance is None else start.moves_to_tolerance for start in group]
        rows.append(
            (
                name,
                str(len(group)),
                _share(count <= 3 for count in moves),
                f"{median(moves):g}",
                _share(start.overshot for start in group),
            )
        )
    return rows


_OTHER_PHYSICS = """{heading}

{cases} cases of the same faults at units of a second family, which shares nothing with the first and nothing with
what judges (simulators/second_family; import contracts hold it). Nothing is balanced there: what a sound unit reads is
linear in outdoor air and wet bulb about what makers print as normal, catalogues give capacity and power, and what a
fault does is a published share, a published sum of subcooling and superheat, or the trade's direction with a size that
has no source, each marked. Splits, packaged and wall-mounted units on R-410A, R-32 and R-454B, and older ones on R-22,
with both devices; figures depart together as published. Faults: charge off by 15 to 30 %, evaporator air 30 to 55 % and
condenser air 30 to 60 % short, 12 to 28 % more pressure difference in the liquid line, 15 to 40 % leaking back, 30 to
90 % of the air that fills an open circuit. The pressure at rest is simulated, at the colder of both coils.

Nothing in calc was set on this family. Its levels come in part from the same printed tables as what the judge expects
of a sound unit, so that they prove less than what it makes of the faults.

{headline}

{categories}

{faults}

The largest confusions, while running:

{confusions}

{calibration}

Visits at which the judge is obeyed (docs/obedience.md says how), at units of this family, and every wrong move:

{visits}

{wrong}

Air reads little at rest: all that an open circuit holds is 4 to 5 °F over saturation, half of it 2. A coil that is 1 to
2 K colder than the air around it hides that, and then what air adds to the subcooling is taken for charge.
"""


_SETTLING = """\
## When it has settled

{changes} changes: one lag, two lags, two lags in a row after a dead time of 5 to 40 s, a quick move beyond the end with
a slow return, ringing (damping of 0.45 to 0.9), and the simulated unit after refrigerant was added or recovered,
through clamps that lag by 12 s; noise of 0.03 to 0.2 K that remembers itself for 0 to 33 s. "Known" is when the
forecast came within ± 0.5 °F of the end and stayed there; median, and the tenth and ninetieth of a hundred. "Settled
too early" is a change that was called settled more than 1 °F from its end. Asked for: 40 % of the time at which the
plain rule fires, an interval that holds the truth in 85 to 95 %, and 0.5 % settled too early at most. The rule cannot
fire before 240 s, and many a change of the simulated unit is over by then.

Each is judged beside a second figure, as superheat is beside subcooling. That of a formula goes by the same constants,
each part by -8 to 8 K, with noise of its own: so much is assumed there. Of the simulated unit both are as they are, and
share their constants about. "By itself" is every third change without it.

{forecasts}

{coverage}

By itself an observer who knew the kind of change, the spreads from which its constants and sizes are drawn, and size
and memory of the noise exactly, would know the end at 29 % of the rule's time with one lag, at 43 % with two, and at
43 % with a quick move beyond the end (80 changes each, of other seeds, reckoned once apart from this trial). How likely
each kind of course and each of its constants is held beforehand, and how likely both figures share their constants, was
set on other seeds; the first once before after a look at these. How finely the constants are divided was set against
finer divisions alone (tests/calc/test_course_by_the_textbook.py). A median of sixty is sure to some 3 %, one of twenty
to 6 %.

{ramp_count} ramps of 0.15 to 0.2 °F per minute, of a figure that was at rest, as weather or load makes them, beside one
that they move by 0.15 °F per minute at most, with the same noise: what is said of them. Asked for: drifting within four
minutes in 90 %. The price of it is that a few changes of the charge are called drifting, too, for a while, and so known
later: in noise that remembers itself for 20 s and more, four minutes of a ramp and of a slow lag look alike.

{ramps}
"""

_TEXT = """# How good the judge is

`make judge` tries the judge in calc on simulated units that it knows nothing of, and writes this page. The judge
imports nothing of the simulators and shares no figure with them: what it expects comes from the nameplate, published
tables, pressures that makers print as normal and the rules of the trade, and the directions in which faults move the
figures are published. How far they move them, how wide everything is and which share of units is built how was set
after a look at some 2900 simulated cases and 400 changes with other seeds, and at half of the makers' units. Nothing
was set on the cases below; one share, of air against too much refrigerant, was set anew on the others after a first
look at what these came to.

On units that nobody here has simulated it is tried in tests/calc/test_sound_units_met.py: 12 split and packaged units
and a wall-mounted one at the pressures that their makers print as normal, 4 more of which only the suction is printed,
and a unit measured in a laboratory. At a first visit none is called faulty with more than 50 %, at any outdoor air and
load that is printed, and none is to be given or relieved of refrigerant. All are R-410A, nearly all of two makers, and
the wall-mounted one alone stands for compact units.

What it does not show: simulated faults are cleaner than real ones, and all these units but those of one section are of
one family of models. Faults of the supply, of motors and of capacitors are not among them: they are judged by their own
measurements, elsewhere. In the field expect less. What is asked for, a sample may miss by chance: `make judge` fails
where that would be rarer than once in a thousand. The more often two faults at once are reckoned with, the more of
those are found, and the fewer that are alone.

## What is wrong

{cases} units, {sound} of them sound, the others with one fault of moderate size: charge off by 15 to 30 %, evaporator
air 30 to 55 % and condenser air 30 to 60 % short, 55 to 78 % of the liquid line's area blocked, 15 to 40 % leaking back
through the valves, 1 to 3 bar of air. Size, coils, fans, compressor, metering device, refrigerant (R-410A, R-32,
R-454B, R-22, R-407C) and weather are random, and every instrument errs within its accuracy. In the second column the
technician has read the pressure at rest before the start, too, as the check for air in the system asks; how the air
spreads at rest is reckoned, not simulated.

{headline}

![Confusion and calibration](judge.svg)

By the categories of Yuill and Braun (Purdue IRACC 2012, paper 1307). What is the judge's response, where a charge comes
first but is held back until something else is ruled out? Such a charge is named, and the technician is told not to act
upon it yet but to look at something else first. So it is counted both ways: by what is named first, held back or not,
and then a charge wrongly named counts in full; and by what the technician is sent to look at first, and then a right
charge that waits for a check counts as a misdiagnosis, as does one that waits for a look at a clamp: here all of them
are right, and nobody has checked any. What becomes of units where one is not, docs/obedience.md tells. "No response" is
a cause that is not in its list. The plain protocol is California Title 24, RA3.2, on the same cases, each instrument
taken as exact; a superheat of an expansion valve beyond its window counts as a restriction, in its favour, and the
split's target is the judge's, for its own table is not at hand.

{categories}

{faults}

### Are its probabilities to be believed?

Seven in nine of these units have a fault; the judge takes it for three in four before it looks. No judge can say what
is right in units of one family and in those of many makers alike: units of one family are more alike, and here none has
two faults, which the judge reckons with in a quarter. So more is right here than it says. Its probabilities are meant
for wider designs, and held to them below.

{calibration}

### Units that differ as those of many makers do

{wide_cases} cases of the same faults in wider designs: coils up to 30 % and air up to 25 % larger or smaller,
subcooling from 5 to 20 °F on the plate, superheat of an orifice from 7 to 17 °F as tested. Where nothing is likelier
than not, the judge does not know this unit yet, and says what to look at first; that is counted apart.

{wide}

{wide_faults}

{wide_calibration}

Here too no unit has two faults. With those of the next section, {all_wide} cases of which "several at once" is the
truth where two are, it is asked that what is said be right within 5 % wherever 50 cases or more are in a row:

{all_calibration}

### Two faults at once

{pair_cases} cases in such designs, 12 of each pair of the faults above that can be together, each of the size that it
has alone, from the running unit alone. Two that work against each other, such as air beside too little refrigerant, may
leave no figure out of place: then none can be told at a first visit.

{two}

{each_two}

### A unit that was found sound before

{remembered_cases} cases in such designs: at an earlier visit, in other weather, the unit was sound, and left the mark
of what it showed then. Half of the cases are read today by the same instruments, nine tenths of the variance of whose
errors are as they were; the judge is not told, and takes them for others.

{memory}

{memory_calibration}

{other_physics}
{settling}
## Guidance

Random units, 8 to 25 % under- or overcharged and beyond their tolerance, followed step by step. Asked for: within the
tolerance in 3 moves in 90 % of the starts, and never beyond it on the other side in 95 %.

{starts}
"""
