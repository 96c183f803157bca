"""From what travels on the wire to what a person reads, in one system of units. Pure; every conversion is calc's.

Numbers go to the page rounded, with the count of decimals beside the unit: the browser writes them down and places
them, and does no arithmetic of the trade.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, cast

import numpy as np

from calc.protocols import tolerances
from calc.quantities import QUANTITIES, Quantity, derived_from
from calc.units import Kind, System, difference_to_display, display_unit, to_display
from dashboard import words
from dashboard.binning import Binned
from dashboard.looked_for import Looks
from dashboard.opinion import NO_LOOKS, opinion
from dashboard.ring import Column
from dashboard.sentences import say
from ingest.wire.messages import (
    About,
    Advice,
    AwaitedMessage,
    DoubtMessage,
    Forecast,
    InstrumentAbout,
    Pack,
    Steadiness,
    UnitAbout,
    VerificationMessage,
    Wording,
)

Json = dict[str, Any]

_DECIMALS: Mapping[Quantity, int] = {
    Quantity.PRESSURE: 1,
    Quantity.TEMPERATURE: 1,
    Quantity.TEMPERATURE_DIFFERENCE: 1,
    Quantity.HUMIDITY: 0,
    Quantity.CURRENT: 1,
    Quantity.VOLTAGE: 0,
    Quantity.CAPACITANCE: 1,
    Quantity.MASS: 2,
    Quantity.RESISTANCE: 1,
    Quantity.AIR_PRESSURE: 2,
    Quantity.AIR_FLOW: 0,
    Quantity.CONCENTRATION: 0,
    Quantity.RATIO: 2,
}
_OF_A_MULTIMETER = {"multimeter_ac_voltage": 3, "multimeter_dc_voltage": 3}
_HISTORY_EXTRA_DECIMALS = 1
_LARGE = 1e9
"""A value for which the larger unit of its kind is chosen: of a channel every number stands in that one."""
_COVERAGE = 2
"""The factor k with which a standard uncertainty is shown (about 95 %)."""

_PROTOCOL = tolerances("title_24_installer")
"""Where its tolerances stand, and those of which the advice speaks."""

_CONE_STEPS = 12
_TIME_CONSTANTS_TO_SETTLE = 3.0


def decimals(quantity: Quantity, system: System) -> int:
    """How many decimals are worth reading: a kilopascal is finer than any gauge on a roof."""
    return 0 if quantity is Quantity.PRESSURE and system == "si" else _DECIMALS[quantity]


def _places(name: str, system: System) -> int:
    """Count the decimals of a channel: a multimeter's go to the page fine enough for the millivolts over a lug."""
    return _OF_A_MULTIMETER.get(name, decimals(QUANTITIES[name], system))


def frame(pack: Pack, about: About | None, system: System, *, since_s: float = 0.0) -> Json:
    """Lay out one pack: by name `[value, ±, age in seconds, quality, reason]`.

    An age is taken within the rig's own clock, which may differ from the page's. since_s: how long ago the pack
    was heard, for a page that opens in a silence [s].
    """
    return {
        "time": pack.time_s,
        "sequence": pack.sequence,
        "since": round(since_s, 2),
        "saved": pack.saved,
        "unsaved": pack.unsaved_packs,
        "values": {
            name: [
                _number(name, reading.value, about, system),
                plus_minus(name, reading.standard_uncertainty, system),
                max(0.0, round(pack.time_s - reading.time_s, 1)),
                reading.quality,
                reading.reason or words.QUALITIES[reading.quality],
            ]
            for name, reading in pack.readings.items()
        },
    }


def about(rig: About, system: System) -> Json:
    """Lay out what the rig and the unit are, with the unit of measure and the decimals of every quantity."""
    unit = rig.unit
    return {
        "tag": unit.tag,
        "visit": rig.visit,
        "place": unit.place,
        "facts": " · ".join([unit.refrigerant, unit.safety_class, words.METERING_DEVICES[unit.metering_device]]),
        "circuit": say("visit.circuit", name=unit.circuit) if unit.circuit else "",
        "simulated": rig.simulated,
        "speed": rig.speed,
        "played": rig.played,
        "visit_started": rig.visit_started_s,
        "quantities": {name: _quantity(name, rig, system) for name in QUANTITIES},
        "instruments": [_instrument(instrument, rig) for instrument in rig.instruments],
        "limits": _limits(unit, system),
    }


def _quantity(name: str, rig: About, system: System) -> Json:
    _, unit = _convert(name, 0.0, rig, system)
    places = _places(name, system)
    return {"label": words.channel(name), "unit": unit, "decimals": places}


def _instrument(instrument: InstrumentAbout, rig: About) -> Json:
    return {
        "name": instrument.name,
        "link": instrument.link,
        "connected": instrument.state == "connected",
        "state": words.LINK_STATES.get(instrument.state, instrument.state),
        "reason": instrument.reason,
        "since": instrument.since_s,
        "channels": [
            channel.name
            for channel in rig.channels
            if channel.instrument == instrument.name and channel.name in QUANTITIES
        ],
    }


def _limits(unit: UnitAbout, system: System) -> Json:
    targets = {"superheat": unit.target_superheat_dk, "subcooling": unit.target_subcooling_dk}
    return {
        "targets": {
            name: _target(name, target_dk, system) for name, target_dk in targets.items() if target_dk is not None
        },
        "compressor_current": unit.compressor_rla_a,
        "condenser_fan_current": unit.condenser_fan_fla_a,
        "blower_current": unit.blower_fla_a,
    }


def _target(figure: str, target_dk: float, system: System) -> Json:
    limits = _PROTOCOL.limits[figure]
    return {
        "value": _difference(target_dk, system),
        "low": _difference(target_dk + limits.low, system),
        "high": _difference(target_dk + limits.high, system),
    }


def targets(rig: About, given: Advice | None, system: System) -> Json:
    """Give the value of each target there is: the nameplate's stands above one that moves with the air."""
    all_of_them = _targets_now(given.verification if given else None, system) | _limits(rig.unit, system)["targets"]
    return {name: target["value"] for name, target in all_of_them.items()}


def _targets_now(given: VerificationMessage | None, system: System) -> Json:
    """Lay out the target that moves with the air: of a fixed orifice, by the table."""
    if given is None or given.target_dk is None or given.figure not in _PROTOCOL.limits:
        return {}
    return {given.figure: _target(given.figure, given.target_dk, system)}


def advice(given: Advice, newest: Pack | None, system: System, looks: Looks = NO_LOOKS) -> Json:
    """Lay out the advice; forecasts start from the newest value. looks: what may be looked at."""
    return {
        "time": given.time_s,
        "sentence": getattr(given.sentence, system),
        **_details(given.details, system),
        "cautions": list(given.cautions),
        "cautions_once": list(given.cautions_once),
        "doubts": _doubts(given.doubts, system),
        "awaited": _awaited(given.awaited),
        "targets": _targets_now(given.verification, system),
        "steadiness": {
            name: _steadiness(steadiness, _value(newest, name), system) for name, steadiness in given.steadiness.items()
        },
        **opinion(given, system, looks),
    }


def _details(details: Sequence[Wording], system: System) -> Json:
    """Lay out what speaks for the advice: one line in the open, and with it what has to be done before the act."""
    first = [it for it in details if it.kind in _BEFORE_THE_ACT]
    others = [it for it in details if it.kind not in _BEFORE_THE_ACT]
    in_order = [*others[:1], *first, *others[1:]]
    return {"details": [getattr(it, system) for it in in_order], "in_the_open": len(others[:1]) + len(first)}


_BEFORE_THE_ACT = ("check.undercharge", "detail.plate_again", "detail.plate_again_target")
"""Sentences without which nobody adds refrigerant: a leak's repair, and the plate once more."""


def _doubts(doubts: Sequence[DoubtMessage], system: System) -> dict[str, str]:
    """Say beside each channel why it is in doubt, and what to do: in full at the first that a doubt concerns.

    A figure that comes from one of them is in doubt with it.
    """
    said: dict[str, str] = {}
    for doubt in doubts:
        for name in doubt.channels:
            first = doubt.channels[0]
            full = f"In doubt. {getattr(doubt.reason, system)} {getattr(doubt.fix, system)}"
            said.setdefault(name, full if name == first else say("figures.in_doubt", other=words.channel(first)))
    for name in sorted(derived_from(said)):
        said[name] = say("figures.in_doubt_with_inputs")
    return said


def _value(pack: Pack | None, name: str) -> float | None:
    reading = pack.readings.get(name) if pack else None
    return reading.value if reading else None


def _steadiness(steadiness: Steadiness, now_dk: float | None, system: System) -> Json:
    forecast = steadiness.forecast
    return {
        "state": steadiness.state,
        "word": words.STEADINESS[steadiness.state],
        "value": _difference(steadiness.value_dk, system),
        "plus_minus": _difference(steadiness.expanded_dk, system),
        "reason": "" if steadiness.reason is None else getattr(steadiness.reason, system),
        "slope": _difference(steadiness.slope_dk_per_min, system),
        "forecast": None if forecast is None else _forecast(forecast, now_dk, system),
    }


def _awaited(awaited: AwaitedMessage | None) -> Json | None:
    """Lay out what is awaited, with how much of the time has passed, 0 to 1."""
    if awaited is None:
        return None
    done = 1 - awaited.seconds_left / awaited.of_seconds if awaited.of_seconds else 0.0
    return {
        "what": words.AWAITED.get(awaited.what, words.channel(awaited.what)),
        "ahead": words.duration_ahead(awaited.seconds_left),
        "seconds_left": awaited.seconds_left,
        "done": round(min(max(done, 0.0), 1.0), 3),
    }


def _forecast(forecast: Forecast, now_dk: float | None, system: System) -> Json:
    value, plus_minus = (_difference(each, system) or 0.0 for each in (forecast.value_dk, forecast.expanded_dk))
    unit = to_display(0.0, Quantity.TEMPERATURE_DIFFERENCE, system)[1]
    return {
        "seconds": forecast.seconds,
        "end": f"{value:z.1f} ± {plus_minus:.1f} {unit}".replace("-", "−"),
        "ahead": words.duration_ahead(forecast.seconds),
        "cone": []
        if now_dk is None
        else [
            [round(time_s, 1), *(_difference(edge, system) for edge in edges)]
            for time_s, *edges in _cone(forecast, now_dk)
        ],
    }


def _cone(forecast: Forecast, now_dk: float) -> Iterable[tuple[float, float, float, float]]:
    """Draw the way to the forecast as a first-order approach: seconds ahead, low, middle, high [K].

    The forecast gives the end with its interval and the time to reach it; the curve between is for the eye.
    """
    for step in range(_CONE_STEPS + 1):
        done = step / _CONE_STEPS
        approach = 1 - math.exp(-_TIME_CONSTANTS_TO_SETTLE * done)
        share = approach / (1 - math.exp(-_TIME_CONSTANTS_TO_SETTLE))
        middle = now_dk + (forecast.value_dk - now_dk) * share
        half_width = forecast.expanded_dk * share
        yield forecast.seconds * done, middle - half_width, middle, middle + half_width


def worded(name: str, value: float, rig: About | None, system: System) -> str:
    """Word a value with its unit."""
    number, unit = _convert(name, value, rig, system)
    return f"{number:.{decimals(QUANTITIES[name], system)}f} {unit}".replace("-", "−").rstrip()


def history(
    binned: Binned,
    rig: About | None,
    *,
    newest_s: float,
    system: System,
    missing: Sequence[tuple[float, float]] = (),
) -> Json:
    """Lay out binned columns for the charts; None marks a gap, and `missing` those that only the record can fill."""
    return {
        "time": newest_s,
        "missing": [[round(edge, 2) for edge in stretch] for stretch in missing],
        "times": _rounded(binned.time_s, 2),
        "values": {
            name: {
                "low": _column(name, binned.low[name], rig, system),
                "high": _column(name, binned.high[name], rig, system),
            }
            for name in binned.low
            if name in QUANTITIES
        },
    }


def _column(name: str, values: Column, rig: About | None, system: System) -> list[float | None]:
    places = _places(name, system) + _HISTORY_EXTRA_DECIMALS
    converted, _ = _convert(name, cast("float", values), rig, system)
    return _rounded(cast("Column", converted), places)


def _rounded(values: Column, places: int) -> list[float | None]:
    return [None if math.isnan(value) else value for value in np.round(values, places).tolist()]


_ABSOLUTE_KINDS = frozenset({"barometric_pressure", "vacuum_pressure"})


def _convert(name: str, value: float, rig: About | None, system: System) -> tuple[float, str]:
    """Convert a value, or a column of them. Before the rig has told its barometric pressure, pressures are absolute."""
    kind = _kind(name)
    unit = display_unit(_LARGE, kind, system)
    if rig is None or name in _ABSOLUTE_KINDS:
        return to_display(value, kind, system, reference="absolute", unit=unit)
    return to_display(value, kind, system, barometric_pressure_pa=rig.barometric_pressure_pa, unit=unit)


def _kind(name: str) -> Kind:
    return name if name in _ABSOLUTE_KINDS else QUANTITIES[name]


def _number(name: str, value: float | None, rig: About | None, system: System) -> float | None:
    if value is None:
        return None
    return round(_convert(name, value, rig, system)[0], _places(name, system))


def plus_minus(name: str, standard_uncertainty: float | None, system: System) -> float | None:
    """Give the ± that is shown beside a value, to two figures; None where it is not known."""
    if standard_uncertainty is None:
        return None
    unit = display_unit(_LARGE, _kind(name), system)
    number, _ = difference_to_display(_COVERAGE * standard_uncertainty, _kind(name), system, unit=unit)
    return float(f"{number:.2g}")


def _difference(value_dk: float | None, system: System) -> float | None:
    if value_dk is None:
        return None
    return round(difference_to_display(value_dk, Quantity.TEMPERATURE_DIFFERENCE, system)[0], 2)
