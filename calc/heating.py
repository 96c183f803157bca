"""Whether a unit heats or cools, by whatever of it is measured, and which air its condenser stands in.

`calc.mode` tells a mode where it is known on which valve the gauge sits. Nobody says so of a situation: on a true
suction port the pressures part in heating as they do in cooling. So cooling is told by the air alone, and heating by
what two air probes that were exchanged do not show: air that leaves warmer than a room is, and colder outdoors than in.
"""

from calc.errors import CalcRangeError
from calc.estimate import Estimate
from calc.mode import FROST_K, Mode, tell_mode
from calc.saturation import bubble_point
from calc.situation import Situation

_WARM_SUPPLY_K = 300.15
"""27 °C, 81 °F: a heat pump's air is warmer, a room's rarely: common practice, no source."""
_FAN_RUNS_A = 0.25
_ALIKE = 1.15
"""As `calc.mode` has it: common practice, no source."""
_SURE = 2.0  # standard uncertainties
_COMPRESSOR = ("compressor_current", "compressor_current_a", "compressor_current_b", "compressor_current_c")


def mode_of(now: Situation) -> Mode:
    """Tell the mode of a unit from what is measured of it; `Mode.CANNOT_TELL` where that leaves it open.

    >>> air = {"return_air_temperature": Estimate(297.0, 0.2), "supply_air_temperature": Estimate(286.0, 0.2)}
    >>> around = {"outdoor_air_temperature": Estimate(305.0, 0.3), "compressor_current": Estimate(9.0, 0.1)}
    >>> mode_of(Situation(measured=air | around)).value
    'cooling'

    """
    seen = now.measured
    fan_a = now.value("condenser_fan_current")
    amps = [found for name in _COMPRESSOR if (found := seen.get(name))]
    try:
        by_air, by_lines = (
            tell_mode(
                return_air=seen.get("return_air_temperature"),
                supply_air=seen.get("supply_air_temperature"),
                vapour_line_pressure=vapour,
                liquid_line_pressure=liquid,
                compressor_current=max(amps, key=lambda drawn: drawn.value, default=None),
                rated_load_a=now.compressor_rla_a,
                outdoor_air=seen.get("outdoor_air_temperature"),
                outdoor_fan_runs=None if fan_a is None else fan_a > _FAN_RUNS_A,
            ).mode
            for vapour, liquid in ((None, None), (seen.get("suction_pressure"), seen.get("liquid_pressure")))
        )
        if by_air in (Mode.COOLING, Mode.OFF):
            return by_air
        if _condenses_indoors(now, fan_runs=fan_a is not None and fan_a > _FAN_RUNS_A):
            return Mode.HEATING
    except CalcRangeError:  # a reading beyond all physics is a doubt, and told as such
        return Mode.CANNOT_TELL
    cools = _is_above(now.difference("return_air_temperature", "supply_air_temperature"))
    is_told = _are_alike(now) if by_lines is Mode.HEATING else by_lines is Mode.DEFROST or cools
    return by_lines if is_told else Mode.CANNOT_TELL


def _condenses_indoors(now: Situation, *, fan_runs: bool) -> bool:
    """Tell whether it is the indoor coil that gives off the heat.

    The air leaves it warm, and comes to it warmer than it is outdoors. What heats air is warmer than the air that it
    has heated: in a defrost beside electric heat the refrigerant condenses among ice. Else the outdoor fan tells,
    which stands in a defrost.
    """
    supply_k, liquid_pa = now.value("supply_air_temperature"), now.value("liquid_pressure")
    warmer = now.difference("supply_air_temperature", "return_air_temperature")
    colder = now.difference("return_air_temperature", "outdoor_air_temperature")
    if supply_k is None or supply_k < _WARM_SUPPLY_K or not _is_above(warmer) or not _is_above(colder):
        return False
    if liquid_pa is None or not now.refrigerant:
        return fan_runs
    return bubble_point(now.refrigerant, liquid_pa) > supply_k


def _are_alike(now: Situation) -> bool:
    """Tell whether the large line has the liquid line's pressure, nearly, or more: there stands the discharge."""
    vapour_pa, liquid_pa = now.value("suction_pressure"), now.value("liquid_pressure")
    return vapour_pa is not None and liquid_pa is not None and liquid_pa < _ALIKE * vapour_pa


def _is_above(difference: Estimate | None) -> bool:
    return difference is not None and difference.value > _SURE * difference.standard_uncertainty


def may_defrost(now: Situation) -> bool:
    """Tell whether it may be a defrost: the outdoor fan stands, and it is cold enough for frost.

    Whatever its pressures are meanwhile: they meet and part again as the valve turns.
    """
    fan_a, outdoor_k = now.value("condenser_fan_current"), now.value("outdoor_air_temperature")
    return fan_a is not None and fan_a <= _FAN_RUNS_A and outdoor_k is not None and outdoor_k < FROST_K


def may_condense_indoors(now: Situation) -> bool:
    """Tell whether the condenser stands indoors, or may: not in cooling, nor where it is as warm outdoors as indoors.

    In a defrost it stands in ice, and no air tells how warm it ought to be: then the warmer air counts, too.
    """
    mode = mode_of(now)
    if mode is Mode.COOLING:
        return False
    return mode is Mode.HEATING or _is_above(now.difference("return_air_temperature", "outdoor_air_temperature"))
