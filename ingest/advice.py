"""What to do now, in one sentence: wait, look at an instrument, or read a figure that has settled.

The figure that counts is the one the metering device leaves free: subcooling behind an expansion valve,
superheat behind a fixed orifice. Nothing is said that the instruments cannot support, and nothing yet about
the cause: charge is judged last.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from calc.air import wet_bulb
from calc.cautions import Step, cautions
from calc.conformity import OutOfTolerance, WithinTolerance, judge
from calc.errors import CalcRangeError
from calc.estimate import Estimate
from calc.observed import LIKELY
from calc.protocols import tolerances
from calc.quantities import Quantity
from calc.targets import NoTarget, find_target_superheat
from calc.units import System, difference_to_display
from calc.verification import governing_figure
from ingest.messages import Advice, Doubt, Forecast, Reading, UnitAbout, Wording
from ingest.steadiness import JUDGED_FIGURES, History, Judged, assess_figure

AT_REST_RATIO = 1.15
"""Liquid over suction pressure below which the pressures have equalized: common practice, no source."""

PROTOCOL = tolerances("title_24_installer")

_INPUTS: Mapping[str, tuple[str, ...]] = {
    "superheat": ("suction_pressure", "suction_line_temperature"),
    "subcooling": ("liquid_pressure", "liquid_line_temperature"),
}


@dataclass(frozen=True, slots=True)
class Situation:
    """What advice rests on, at one moment.

    instruments: of each channel, the name of its instrument. doubts: of the readings, the surest first.
    """

    time_s: float
    monotonic_s: float
    unit: UnitAbout
    barometric_pressure_pa: float
    readings: Mapping[str, Reading]
    instruments: Mapping[str, str]
    doubts: Sequence[Doubt] = ()

    def estimate(self, name: str) -> Estimate | None:
        """Give a reading with its uncertainty; None where it is unknown."""
        reading = self.readings.get(name)
        if reading is None or reading.value is None:
            return None
        return Estimate(reading.value, reading.standard_uncertainty or 0.0)


@dataclass(frozen=True, slots=True)
class TargetFigure:
    """What the figure should be [K], where that stands, and the source where that is not the nameplate."""

    value_dk: Estimate
    stands: str
    source: str = ""


Words = tuple[Wording, list[Wording]]
"""The sentence, and its details."""


def advise(now: Situation, history: History) -> Advice:
    """Say what to do now."""
    judged = {name: assess_figure(name, now.readings.get(name), history) for name in JUDGED_FIGURES}
    figure = governing_figure(now.unit.metering_device)
    sentence, details = _words(figure, judged[figure], now, history)
    return Advice(
        time_s=round(now.time_s, 3),
        sentence=sentence,
        details=details,
        cautions=cautions(now.unit.refrigerant, Step.CHARGE),
        steadiness={name: found.steadiness for name, found in judged.items()},
        doubts=now.doubts,
    )


def _words(figure: str, judged: Judged, now: Situation, history: History) -> Words:
    steadiness, value = judged
    because = [_same(f"{figure.capitalize()}: {steadiness.reason}.")]
    if value is None:
        return _same(_what_to_connect(figure, now)), because
    if now.readings[figure].quality == "stale":
        return _same("Wait for fresh readings."), [_same(f"{figure.capitalize()}: an instrument is late.")]
    doubted = _doubted(figure, now)
    if doubted is not None:
        return _same(f"Check the {_names(doubted.channels)}."), [_same(doubted.reason), _same(doubted.fix)]
    if _is_at_rest(now):
        return _same("Start the unit: its pressures are equalized."), []
    if steadiness.state == "not_steady":
        return _same("Wait. Not steady yet."), because
    if steadiness.forecast is not None:
        return _same("Wait. Still settling."), [_forecast(figure, steadiness.forecast)]
    return _settled(figure, value, now, history)


def _what_to_connect(figure: str, now: Situation) -> str:
    for name in _INPUTS[figure]:
        channel = name.replace("_", " ")
        if name not in now.instruments:
            return f"Add an instrument for the {channel}: {figure} needs it."
        reading = now.readings.get(name)
        if reading is None or reading.value is None:
            return f"Connect the {now.instruments[name]}: no {channel}."
    return f"Check the pressure: no {figure} follows from it."


def _doubted(figure: str, now: Situation) -> Doubt | None:
    """Find what is too doubtful among the readings that a figure comes from to go on."""
    for doubt in now.doubts:
        if doubt.confidence >= LIKELY and set(doubt.channels) & set(_INPUTS[figure]):
            return doubt
    return None


def _names(channels: Sequence[str]) -> str:
    return " and the ".join(channel.replace("_", " ") for channel in channels)


def _is_at_rest(now: Situation) -> bool:
    suction, liquid = now.estimate("suction_pressure"), now.estimate("liquid_pressure")
    return suction is not None and liquid is not None and liquid.value < AT_REST_RATIO * suction.value


def _forecast(figure: str, ahead: Forecast) -> Wording:
    minutes = max(1, round(ahead.seconds / 60))
    return _in_both(
        lambda system: (
            f"{figure.capitalize()} is heading for {_limits(ahead.value_dk, ahead.expanded_dk, system)}, "
            f"in about {minutes} min."
        )
    )


def _settled(figure: str, value: Estimate, now: Situation, history: History) -> Words:
    target = _target(figure, now)
    waited_s = history.undisturbed_s(now.monotonic_s)
    undisturbed = PROTOCOL.limits["undisturbed_time"]

    def sentence(system: System) -> str:
        found = f"Settled. {figure.capitalize()} {_limits(value.value, value.expanded(), system)}"
        if isinstance(target, NoTarget):
            return f"{found}; no target is known."
        return f"{found} against {_difference(target.value_dk.value, system)} {target.stands}."

    if isinstance(target, NoTarget):
        details = [_same(f"{target.reason[0].upper()}{target.reason[1:]}.")]
    else:
        details = [_verdict(figure, value, target)]
        if target.source:
            details.append(_same(f"The target: {target.source}."))
    if waited_s < undisturbed.low:
        details.append(
            _same(
                f"Left alone for {waited_s / 60:.0f} min. A formal verification waits "
                f"{undisturbed.low / 60:.0f} min after the start and every change ({undisturbed.source})."
            )
        )
    return _in_both(sentence), details


def _target(figure: str, now: Situation) -> TargetFigure | NoTarget:
    """Take the target from the nameplate; for a fixed orifice whose nameplate is silent from the table."""
    unit = now.unit
    nameplate_dk = unit.target_superheat_dk if figure == "superheat" else unit.target_subcooling_dk
    if nameplate_dk is not None:
        return TargetFigure(Estimate(nameplate_dk, 0.0), "on the nameplate")
    if figure == "subcooling":
        return NoTarget("the nameplate's target is not configured: read it there, or in the maker's chart")
    try:
        return _table_target(_return_wet_bulb(now), now.estimate("outdoor_air_temperature"))
    except CalcRangeError as error:
        return NoTarget(str(error))


def _table_target(return_wet_bulb: Estimate | None, outdoor: Estimate | None) -> TargetFigure | NoTarget:
    if return_wet_bulb is None or outdoor is None:
        return NoTarget(
            "take the target from the maker's chart; to look it up in a table, the wet bulb of the return air "
            "and the outdoor temperature are needed"
        )
    found = find_target_superheat(return_wet_bulb, outdoor)
    if isinstance(found, NoTarget):
        return found
    return TargetFigure(found.value.estimate, "by the table", found.source)


def _return_wet_bulb(now: Situation) -> Estimate | None:
    """Take the wet bulb as measured, or compute it from the return air's temperature and humidity."""
    measured = now.estimate("return_air_wet_bulb")
    if measured is not None:
        return measured
    dry_bulb, humidity = now.estimate("return_air_temperature"), now.estimate("return_air_humidity")
    if dry_bulb is None or humidity is None:
        return None
    pressure_pa = now.barometric_pressure_pa
    value_k = wet_bulb(dry_bulb.value, humidity.value, pressure_pa=pressure_pa)
    warmer_k = wet_bulb(dry_bulb.value + dry_bulb.standard_uncertainty, humidity.value, pressure_pa=pressure_pa)
    drier_k = wet_bulb(dry_bulb.value, humidity.value - humidity.standard_uncertainty, pressure_pa=pressure_pa)
    return Estimate(value_k, math.hypot(warmer_k - value_k, drier_k - value_k))


def _verdict(figure: str, value: Estimate, target: TargetFigure) -> Wording:
    """Compare with the target, as far as the instruments allow."""
    low_dk, high_dk, source = PROTOCOL.limits[figure]
    uncertainty_dk = math.hypot(value.standard_uncertainty, target.value_dk.standard_uncertainty)
    verdict = judge(Estimate(value.value - target.value_dk.value, uncertainty_dk), low_dk, high_dk)

    def say(system: System) -> str:
        limit = _difference(high_dk, system)
        match verdict:
            case WithinTolerance():
                return f"Within {limit} of it ({source})."
            case OutOfTolerance(side=side):
                found = "below" if side == "low" else "above"
                return (
                    f"More than {limit} {found} it ({source}). "
                    "Look at airflow, filters, coils and restrictions before the charge."
                )
        return f"These instruments cannot tell whether it is within {limit} of it ({source})."

    return _in_both(say)


def _same(text: str) -> Wording:
    return Wording(us=text, si=text)


def _in_both(say: Callable[[System], str]) -> Wording:
    return Wording(us=say("us"), si=say("si"))


def _difference(value_dk: float, system: System) -> str:
    number, unit = difference_to_display(value_dk, Quantity.TEMPERATURE_DIFFERENCE, system)
    return f"{round(number, 1):g} {unit}"


def _limits(value_dk: float, expanded_dk: float, system: System) -> str:
    number, unit = difference_to_display(value_dk, Quantity.TEMPERATURE_DIFFERENCE, system)
    half_width, _ = difference_to_display(expanded_dk, Quantity.TEMPERATURE_DIFFERENCE, system)
    return f"{number:.1f} ± {half_width:.1f} {unit}"
