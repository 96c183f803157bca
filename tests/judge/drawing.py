"""The drawing of docs/judge.md: which fault was taken for which, and whether the probabilities hold."""

from collections import Counter
from collections.abc import Sequence
from html import escape
from itertools import pairwise

from calc.diagnosis import Fault
from tests.judge.diagnosis import Judged

CELL, LEFT, TOP = 44, 250, 190
PLOT = 260
INK, PAPER, RIGHT, WRONG, FAINT = "#1f2933", "#ffffff", "31,111,120", "176,72,40", "#c9d1d9"
EDGES = (0.0, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.97, 1.0001)


def calibration_groups(judged: Sequence[Judged]) -> list[tuple[float, float, list[tuple[float, bool]]]]:
    """Sort the first answers by their probability: for each range of it, the probabilities, and which were right."""
    firsts = [(case.running.ranking[0][1], case.running.ranking[0][0] == case.truth) for case in judged]
    return [
        (low, min(high, 1.0), [first for first in firsts if low <= first[0] < high]) for low, high in pairwise(EDGES)
    ]


def draw(judged: Sequence[Judged]) -> str:
    """Draw both."""
    truths = [fault.value for fault in Fault if any(case.truth == fault for case in judged)]
    answers = [fault.value for fault in Fault]
    width, height = LEFT + CELL * len(answers) + 90 + PLOT + 30, TOP + CELL * len(truths) + 90
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" role="img">',
        "<title>Confusion matrix and calibration of the judge</title>",
        f'<g font-family="sans-serif" font-size="12" fill="{INK}">',
        f'<rect width="{width}" height="{height}" fill="{PAPER}"/>',
        *_matrix(judged, truths, answers),
        *_calibration(judged, LEFT + CELL * len(answers) + 90, TOP + CELL * len(truths) - PLOT),
        "</g></svg>",
    ]
    return "\n".join(parts) + "\n"


def _matrix(judged: Sequence[Judged], truths: Sequence[str], answers: Sequence[str]) -> list[str]:
    counts = Counter((case.truth, case.running.ranking[0][0]) for case in judged)
    parts = [f'<text x="{LEFT - 8}" y="{TOP - 12}" text-anchor="end" font-weight="bold">what is true</text>']
    for column, answer in enumerate(answers):
        x, y = LEFT + CELL * column + CELL / 2, TOP - 10
        parts.append(f'<text x="{x}" y="{y}" transform="rotate(-40 {x} {y})">{escape(answer)}</text>')
    for row, truth in enumerate(truths):
        y, total = TOP + CELL * row, sum(counts[truth, answer] for answer in answers)
        parts.append(f'<text x="{LEFT - 8}" y="{y + CELL / 2 + 4}" text-anchor="end">{escape(truth)}</text>')
        for column, answer in enumerate(answers):
            x, share = LEFT + CELL * column, counts[truth, answer] / total
            tint = f"rgba({RIGHT if truth == answer else WRONG},{share:.2f})"
            parts.append(
                f'<rect x="{x}" y="{y}" width="{CELL - 2}" height="{CELL - 2}" fill="{tint}" stroke="{FAINT}"/>'
            )
            if share:
                ink = PAPER if share > 0.55 else INK
                middle = f'x="{x + CELL / 2 - 1}" y="{y + CELL / 2 + 4}"'
                parts.append(f'<text {middle} text-anchor="middle" fill="{ink}">{100 * share:.0f}</text>')
    foot = TOP + CELL * len(truths) + 24
    parts.append(f'<text x="{LEFT}" y="{foot}">what comes first, in % of each row, from the running unit alone</text>')
    return parts


def _calibration(judged: Sequence[Judged], x0: float, y0: float) -> list[str]:
    parts = [
        f'<rect x="{x0}" y="{y0}" width="{PLOT}" height="{PLOT}" fill="none" stroke="{FAINT}"/>',
        f'<line x1="{x0}" y1="{y0 + PLOT}" x2="{x0 + PLOT}" y2="{y0}" stroke="{FAINT}" stroke-dasharray="4 4"/>',
        f'<text x="{x0}" y="{y0 - 12}" font-weight="bold">stated probability, and how often right</text>',
    ]
    for tick in (0, 50, 100):
        along = tick / 100 * PLOT
        parts.append(f'<text x="{x0 + along}" y="{y0 + PLOT + 18}" text-anchor="middle">{tick} %</text>')
        parts.append(f'<text x="{x0 - 8}" y="{y0 + PLOT - along + 4}" text-anchor="end">{tick} %</text>')
    for _, _, group in calibration_groups(judged):
        if group:
            stated = sum(probability for probability, _ in group) / len(group)
            right = sum(found for _, found in group) / len(group)
            radius = 2.5 + 10 * (len(group) / len(judged)) ** 0.5
            parts.append(
                f'<circle cx="{x0 + stated * PLOT:.1f}" cy="{y0 + PLOT - right * PLOT:.1f}" r="{radius:.1f}" '
                f'fill="rgb({RIGHT})" fill-opacity="0.75"/>'
            )
    parts.append(f'<text x="{x0}" y="{y0 + PLOT + 40}">a dot: a range of it, by number of cases</text>')
    return parts
