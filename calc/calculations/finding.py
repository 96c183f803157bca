"""Finding out by amps: which unit follows a switch, and how a motor starts."""

from collections.abc import Mapping

from calc import motor, pattern
from calc.arguments import Measure, Number, Worded
from calc.calculation import Calculation, Unknown, Value, Values
from calc.entry import Given, entry
from calc.errors import UnitError
from calc.estimate import Estimate
from calc.instruments import COMMON
from calc.motor import start, supply
from calc.quantities import Quantity

_SURE = 0.999
Rows = tuple[tuple[str, tuple[float, ...]], ...]


def _rows(text: str) -> Rows:
    """Read "north: 0 A, 4 A; south: 4 A, 4 A"."""
    rows = []
    for part in text.split(";"):
        name, colon, amps = part.partition(":")
        if not colon or not name.strip():
            raise UnitError(f"{part.strip()!r} cannot be read: write a name and its amps, such as north: 0 A, 4 A")
        measure = Measure(Quantity.CURRENT)
        rows.append((name.strip(), tuple(measure.read(each.strip(), None) for each in amps.split(","))))
    return tuple(rows)


def _pattern(
    switched_s: tuple[float, ...],
    interval_s: float,
    blowers: Rows,
    running_a: tuple[float, ...],
    noise_accuracy_a: float,
    run_on_s: float = 90.0,
    start_delay_s: float = 30.0,
    none_prior: float = 0.1,
) -> Values:
    names = [name for name, _ in blowers]
    lengths = {len(amps) for _, amps in blowers}
    if len(lengths) > 1:
        raise UnitError(f"blowers: each needs as many currents as the others: {sorted(lengths)} are given")
    found = pattern.fan_pattern(
        switched_s,
        [interval_s * index for index in range(lengths.pop())],
        [amps for _, amps in blowers],
        running_a=running_a,
        noise_a=noise_accuracy_a / 2,
        run_on_s=run_on_s,
        start_delay_s=start_delay_s,
        none_prior=none_prior,
    )
    shares = [*zip(names, found.probabilities, strict=True), ("none of these", found.none_probability)]
    return {
        "unit": _told(names, found),
        "probabilities": [f"{name}: {_percent(share)}" for name, share in shares],
        "none_probability": found.none_probability,
        "caution": pattern.CAUTION,
    }


def _percent(share: float) -> str:
    """Say no more than the model knows: it is never quite sure."""
    if share > _SURE:
        return f"above {100 * _SURE:.1f} %"
    return f"below {100 * (1 - _SURE):.1f} %" if share < 1 - _SURE else f"{100 * share:.1f} %"


def _told(names: list[str], found: pattern.Followed) -> str | Unknown:
    if found.told is not None:
        return names[found.told]
    if found.none_probability >= pattern.TOLD_FROM:
        return "none of these: look for another unit, or a fan that its own call holds on"
    return Unknown("none reaches 95 %: switch the fan some more times, by other lengths")


def _start(
    interval_s: float,
    currents_a: tuple[float, ...],
    rated_current_a: float,
    locked_rotor_a: float | None = None,
    inrush_s: float = start.USUAL_INRUSH_S,
) -> Values:
    times_s = [interval_s * index for index in range(len(currents_a))]
    found = motor.diagnose_start(
        times_s, currents_a, rated_current_a=rated_current_a, locked_rotor_a=locked_rotor_a, inrush_s=inrush_s
    )
    return {
        "start": found.start,
        "reason": found.reason,
        "starts": found.starts,
        "peak_a": _or_unknown(found.peak_a, "no start was seen"),
        "peak_is_at_least_that": found.peak_is_least,
        "start_time_s": _start_time(found),
        "resolution_s": _or_unknown(found.resolution_s, "no way to speed was seen"),
        "rate_that_sees_the_inrush_hz": 1 / found.needed_interval_s,
        "caution": supply.CAUTION,
    }


def _start_time(found: motor.StartDiagnosis) -> Value:
    if found.start_time_s is None or found.resolution_s is None:
        return Unknown("no way to speed was seen")
    return Estimate(found.start_time_s, found.resolution_s / 2)


def _or_unknown(value: float | None, reason: str) -> Value:
    return Unknown(reason) if value is None else value


_NORTH = "0 A, 4 A, 4 A, 4 A, 0 A, 0 A, 0 A, 4 A, 4 A, 4 A, 4 A"
_SOUTH = "4 A, 4 A, 4 A, 4 A, 4 A, 4 A, 4 A, 0 A, 0 A, 0 A, 0 A"
_PATTERN = {
    "switched_s": Given("30s, 210s, 390s", says="on, off, on and so on, from the record's first sample"),
    "interval_s": Given("1min", low=0.01, high=600.0),
    "blowers": Given(f"north: {_NORTH}; south: {_SOUTH}", Worded(_rows), says="the amps of each, in order of time"),
    "running_a": Given("4A, 4A", low=0.01, says="what each draws when it runs"),
    "noise_accuracy_a": Given("0.2A", name="current_accuracy"),
    "run_on_s": Given("90s", high=3600.0, otherwise=f"run-ons of up to 90 s {COMMON}"),
    "start_delay_s": Given("30s", high=3600.0, otherwise=f"starts delayed by up to 30 s {COMMON}"),
    "none_prior": Given(
        "0.1",
        Number(1e-6, 0.99),
        otherwise=f"one time in ten (0.1) the unit is none of these {COMMON}",
        name="probability_of_another",
    ),
}
_START = {
    "interval_s": Given("100ms", low=1e-4, high=60.0),
    "currents_a": Given("0 A, 60 A, 55 A, 20 A, 10 A, 10 A, 10 A, 10 A"),
    "rated_current_a": Given("12A", low=0.01),
    "locked_rotor_a": Given("62A", otherwise="the nameplate gives no LRA", name="locked_rotor_current"),
    "inrush_s": Given("0.2s", low=0.02, high=10.0, otherwise=f"an inrush of 0.2 s {COMMON}"),
}

CALCULATIONS: Mapping[str, Calculation] = {
    "fan_switch_pattern": entry(
        _pattern,
        "which unit's blower follows a fan that is switched by a list of times",
        given=_PATTERN,
        source=f"Bayes' theorem; the forward recursion of a chain of two states; its figures: {COMMON[1:-1]}; 5 min "
        "between starts of a compressor: makers",
        tolerance="1e-9 of all sequences of states summed up one by one",
        test="tests/calc/test_pattern.py::test_the_closed_form_is_the_sum_over_all_sequences",
    ),
    "start_diagnosis": entry(
        _start,
        "what a record of a motor's current says of its start, and whether it is fast enough to say it",
        given=_START,
        source=f"{COMMON[1:-1]}; 5 min between starts of a compressor: makers; tried on the run-up of an induction "
        "motor by Kloss's formula",
        tolerance="the sampling interval",
        test="tests/calc/motor/test_start.py",
    ),
}
