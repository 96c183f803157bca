"""An exercise on the bench, worded: what is on it, and after the verdict what it was and what the way was worth."""

from collections.abc import Mapping

from calc import wording
from calc.units import System
from dashboard.display import Json
from dashboard.sentences import say
from ingest.wire.bench_messages import BenchAbout, BenchReveal

_UNTOLD = say("training.untold")


def exercise(bench: BenchAbout, revealed: BenchReveal | None, system: System) -> Json:
    """Lay out the exercise. open: whether it waits for a verdict; reveal: what came of it, or None."""
    return {
        "title": bench.scenario or _UNTOLD,
        "story": " ".join(bench.story.split()),
        "open": bench.blind and revealed is None,
        "reveal": None if revealed is None else _result(revealed, bench.faults, system),
    }


def _result(revealed: BenchReveal, faults: Mapping[str, str], system: System) -> Json:
    truth, verdict = (_sentence_case(faults.get(fault, fault)) for fault in (revealed.fault, revealed.verdict))
    said = "Right" if revealed.right else "Not right"
    return {
        "right": revealed.right,
        "said": said,
        "brief": f"{said} · {truth} · {revealed.points} of {sum(part.of for part in revealed.parts)} points",
        "rows": [
            ["The truth", truth],
            ["The verdict", verdict],
            [say("training.time"), duration(revealed.time_s)],
            ["Refrigerant added", _moved(revealed.added_kg, system)],
            ["Refrigerant recovered", _moved(revealed.recovered_kg, system)],
            [say("training.charge_left"), charge_left(revealed.charge_error_kg, system)],
            ["Points", f"{revealed.points} of {sum(part.of for part in revealed.parts)}"],
        ],
        "parts": [[part.what, f"{part.points} of {part.of}"] for part in revealed.parts],
        "reading": " ".join(revealed.reading.split()),
        "wrong_moves": [f"{_sentence_case(move)}." for move in revealed.wrong_moves],
    }


def duration(seconds: float) -> str:
    """Word a time that has passed.

    >>> duration(40.0), duration(1320.0), duration(3900.0)
    ('1 min', '22 min', '1 h 5 min')
    """
    hours, minutes = divmod(max(round(seconds / 60), 1), 60)
    return f"{hours} h {minutes} min" if hours else f"{minutes} min"


def charge_left(error_kg: float, system: System) -> str:
    """Word how far the charge was left from what the unit should hold [kg].

    >>> charge_left(-0.1, "us"), charge_left(0.1, "si"), charge_left(1e-4, "si")
    ('3.5 oz too little', '100 g too much', 'as it should be')
    """
    if wording.mass(error_kg, system) == wording.mass(0.0, system):
        return say("training.as_it_should_be")
    error = wording.mass(error_kg, system)
    return say("training.too_much" if error_kg > 0 else "training.too_little", mass=error)


def _moved(mass_kg: float, system: System) -> str:
    return wording.mass(mass_kg, system) if mass_kg else "none"


def _sentence_case(text: str) -> str:
    return text[:1].upper() + text[1:]
