"""Which way a unit runs: cooling, heating, defrost, or off; or that the readings cannot tell.

A heat pump's figures are judged by its own chart while it heats, never by those of cooling: so the mode comes first.
The outdoor fan stands in defrost while the valve is turned to cooling, and the large line is hot in heating: the trade
press. The figures that decide are common practice, no source.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from calc.comparing import Met, NotMet, Outcome, compare, outcome
from calc.elementwise import takes_arrays, within
from calc.estimate import Estimate
from calc.uncertainty import propagate

_RUNNING_SHARE, _RUNNING_A = 0.15, 1.0
"""Of its rated load amps, or where the plate is silent: a crankcase heater takes less, any compressor more."""
_WORKING_RATIO, _RESTING_RATIO = 1.5, 1.15
"""One line's pressure over the other's, of a compressor that works and of a unit at rest."""
_SPLIT_DK = 2.0
"""Less than this a coil hardly does anything to the air."""
FROST_K = 283.15
"""No coil frosts above 10 °C outdoors; mostly it does below 5 °C."""


class Mode(StrEnum):
    """What a unit does."""

    COOLING = "cooling"
    HEATING = "heating"
    DEFROST = "defrost"
    OFF = "off"
    CANNOT_TELL = "cannot tell"


class _Air(StrEnum):
    COOLED = "the air leaves cooler than it came"
    HEATED = "the air leaves warmer than it came"
    AS_IT_CAME = "the air leaves as it came, nearly"
    UNKNOWN = "of the air nothing is sure"


class _Lines(StrEnum):
    AS_IN_COOLING = "the liquid line's pressure is far above the vapour line's: refrigerant goes round as in cooling"
    ALIKE = "the vapour line has the liquid line's pressure or more: as in heating, or at rest"
    UNKNOWN = "of the pressures nothing is sure"


@dataclass(frozen=True, slots=True)
class ModeFound:
    """The mode, what speaks for it, if it cannot be told what would tell, and what then looks wrong."""

    mode: Mode
    reasons: tuple[str, ...]
    would_tell: str = ""
    look: str = ""


@takes_arrays
def tell_mode(
    *,
    return_air: Estimate | None = None,
    supply_air: Estimate | None = None,
    vapour_line_pressure: Estimate | None = None,
    liquid_line_pressure: Estimate | None = None,
    compressor_current: Estimate | None = None,
    rated_load_a: float | None = None,
    outdoor_air: Estimate | None = None,
    outdoor_fan_runs: bool | None = None,
) -> ModeFound:
    """Tell the mode from what is read; whatever is not known is left out.

    Args:
        return_air: dry bulb [K].
        supply_air: dry bulb [K].
        vapour_line_pressure: absolute, at the service valve of the large line, which is the discharge in heating; not
            at a true suction port [Pa].
        liquid_line_pressure: absolute, at the service valve of the small line [Pa].
        compressor_current: [A].
        rated_load_a: RLA on the plate, 0.5 to 1000 [A].
        outdoor_air: dry bulb [K].
        outdoor_fan_runs: seen, or by its amps.

    Raises:
        CalcRangeError: a value that none has.

    >>> tell_mode(return_air=Estimate(297.0, 0.2), supply_air=Estimate(286.0, 0.2), outdoor_air=Estimate(305.0, 0.5),
    ...     compressor_current=Estimate(9.0, 0.1)).mode.value
    'cooling'

    """
    air, lines = _air(return_air, supply_air), _lines(vapour_line_pressure, liquid_line_pressure)
    runs = _runs(compressor_current, rated_load_a, air, lines)
    said = tuple(str(it) for it in (air, lines) if it not in (_Air.UNKNOWN, _Lines.UNKNOWN))
    asked = {
        _AMPS: compressor_current,
        _PRESSURES: None if vapour_line_pressure is None else liquid_line_pressure,
        _AIRS: None if return_air is None else supply_air,
        _HEATS: None if return_air is None else supply_air,
        _OUTDOOR: outdoor_air,
        _OUTDOOR_FAN: outdoor_fan_runs,
    }
    if runs is None:
        return ModeFound(Mode.CANNOT_TELL, said, _missing(asked, (_AMPS, _PRESSURES)))
    if not runs and air is _Air.COOLED and lines is _Lines.AS_IN_COOLING:
        closed = "whether the jaw is closed around one conductor of the compressor: amps and pressures disagree"
        return ModeFound(Mode.CANNOT_TELL, ("no amps", *said), closed)
    if not runs:
        heats = ("something other than the refrigerant circuit heats the air",) if air is _Air.HEATED else ()
        return ModeFound(Mode.OFF, ("the compressor does not run", *said, *heats))
    frost = _may_frost(outdoor_air)
    weather = "" if frost is None else "it is cold enough outdoors for frost" if frost else "it is too warm for frost"
    fan = {None: "", True: "the outdoor fan runs", False: "the outdoor fan stands"}[outdoor_fan_runs]
    reasons = ("the compressor runs", *said, *(it for it in (weather, fan) if it))
    mode, would_tell = _running(air, lines, frost=frost, fan_runs=outdoor_fan_runs)
    if isinstance(would_tell, tuple):
        would_tell = _missing(asked, would_tell)
    stands = outdoor_fan_runs is False and mode in (Mode.HEATING, Mode.COOLING)
    return ModeFound(mode, reasons, would_tell, _FAN_STANDS if stands else "")


_FAN_STANDS = (
    "look: the outdoor fan stands while the compressor runs, and it is no defrost. Unless its control holds the head "
    "in the cold, see its capacitor, motor and board; do not let it run on so"
)
_AMPS = "the compressor's amps"
_PRESSURES = "the pressures of both lines at the outdoor unit"
_AIRS = "the air before and after"
_OUTDOOR = "the outdoor air"
_HEATS = f"{_AIRS}: it heats, or it runs without pumping"
_PUMPS = "the temperature of its discharge line: it heats a little, or it runs without pumping"
_OUTDOOR_FAN = "whether the outdoor fan runs"
_ALL_GIVEN = "the same again once it has changed, or by instruments of a smaller ±: all that would tell was given"


def _missing(asked: Mapping[str, object], would_tell: tuple[str, ...]) -> str:
    """Name what of these was not given."""
    return ", ".join(it for it in would_tell if asked[it] is None) or _ALL_GIVEN


def _running(
    air: _Air, lines: _Lines, *, frost: bool | None, fan_runs: bool | None
) -> tuple[Mode, str | tuple[str, ...]]:
    """Decide for a unit whose compressor runs."""
    if lines is _Lines.ALIKE and air is _Air.HEATED:
        return Mode.HEATING, ""
    if lines is _Lines.ALIKE:
        return Mode.CANNOT_TELL, (_HEATS,) if air is _Air.UNKNOWN else _PUMPS
    may_defrost = frost is not False and fan_runs is not True
    if lines is _Lines.AS_IN_COOLING:
        if frost and fan_runs is False:
            return Mode.DEFROST, ""
        if may_defrost:
            return Mode.CANNOT_TELL, (_OUTDOOR_FAN, _OUTDOOR)
        if air is _Air.HEATED:
            return Mode.CANNOT_TELL, "whether electric heat is on, and whether the port is a true suction port"
        return Mode.COOLING, ""
    if air is _Air.COOLED and not may_defrost:
        return Mode.COOLING, ""
    if air is _Air.HEATED and fan_runs:
        return Mode.HEATING, ""
    return Mode.CANNOT_TELL, (_PRESSURES, _AIRS, _OUTDOOR_FAN, _OUTDOOR)


def _air(return_air: Estimate | None, supply_air: Estimate | None) -> _Air:
    if return_air is None or supply_air is None:
        return _Air.UNKNOWN
    for name, it in (("return_air", return_air), ("supply_air", supply_air)):
        within(name, it.value, 233.15, 353.15, "K")
    split = propagate(lambda entering, leaving: entering - leaving, {"entering": return_air, "leaving": supply_air})
    match compare(split.estimate, -_SPLIT_DK, _SPLIT_DK):
        case Met():
            return _Air.AS_IT_CAME
        case NotMet(side="high"):
            return _Air.COOLED
        case NotMet():
            return _Air.HEATED
        case _:
            return _Air.UNKNOWN


def _lines(vapour: Estimate | None, liquid: Estimate | None) -> _Lines:
    if vapour is None or liquid is None:
        return _Lines.UNKNOWN
    for name, it in (("vapour_line_pressure", vapour), ("liquid_line_pressure", liquid)):
        within(name, it.value, 10e3, 10e6, "Pa", "a pressure of a circuit, absolute")
    ratio = liquid.value / vapour.value
    shares = (it.standard_uncertainty / it.value for it in (vapour, liquid))
    found = Estimate(ratio, ratio * math.hypot(*shares))
    if isinstance(compare(found, _WORKING_RATIO, math.inf), Met):
        return _Lines.AS_IN_COOLING
    if isinstance(compare(found, -math.inf, _RESTING_RATIO), Met):
        return _Lines.ALIKE
    return _Lines.UNKNOWN


def _runs(current: Estimate | None, rated_load_a: float | None, air: _Air, lines: _Lines) -> bool | None:
    """Tell whether the compressor runs: by its amps, else by what is around it; None if neither tells."""
    if rated_load_a is not None:
        within("rated_load_a", rated_load_a, 0.5, 1000.0, "A")
    if current is None:
        at_rest = False if (lines, air) == (_Lines.ALIKE, _Air.AS_IT_CAME) else None
        return True if lines is _Lines.AS_IN_COOLING else at_rest
    within("compressor_current", current.value, 0.0, 1e4, "A")
    least_a = _RUNNING_A if rated_load_a is None else _RUNNING_SHARE * rated_load_a
    return _IS_MET[outcome(compare(current, least_a, math.inf))]


def _may_frost(outdoor_air: Estimate | None) -> bool | None:
    if outdoor_air is None:
        return None
    within("outdoor_air", outdoor_air.value, 213.15, 333.15, "K")
    return _IS_MET[outcome(compare(outdoor_air, -math.inf, FROST_K))]


_IS_MET = {Outcome.MET: True, Outcome.NOT_MET: False, Outcome.CANNOT_TELL: None}
