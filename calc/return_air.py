"""What the return air is, at the site's barometric pressure: its wet bulb, and the target that hangs on it."""

from calc.air import measured_wet_bulb
from calc.charging_chart import find_chart_superheat
from calc.errors import CalcRangeError
from calc.estimate import Estimate
from calc.governing import Figure
from calc.sentences import Sentence, text
from calc.situation import Situation
from calc.targets import NAMEPLATE_SOURCE, NoTarget, Target, find_target_superheat
from calc.uncertainty import Budget


def return_wet_bulb(now: Situation) -> Estimate | None:
    """Take the wet bulb of the return air as measured, or from its temperature and humidity; None: neither is known.

    Raises:
        CalcRangeError: a temperature or a humidity that is none of air.

    """
    measured = now.measured.get("return_air_wet_bulb")
    dry_bulb, humidity = (now.measured.get(f"return_air_{name}") for name in ("temperature", "humidity"))
    if measured is not None or dry_bulb is None or humidity is None:
        return measured
    return measured_wet_bulb(dry_bulb, humidity, barometric_pressure_pa=now.site_pressure_pa)


def target_inputs(figure: Figure, now: Situation) -> tuple[str, ...]:
    """Name the channels that the target hangs on: those of an orifice's chart or table, unless the nameplate has it."""
    if figure == "subcooling" or now.target_superheat_dk is not None:
        return ()
    wet_bulb = "return_air_wet_bulb"
    air = (wet_bulb,) if wet_bulb in now.measured else ("return_air_temperature", "return_air_humidity")
    return (*air, "outdoor_air_temperature")


def find_target(figure: Figure, now: Situation) -> Target | NoTarget:
    """Take the target from the nameplate; for a fixed orifice whose nameplate is silent from its maker's chart.

    Without a chart the table for all makers stands in; beyond a chart nothing does.
    """
    nameplate_dk = now.target_superheat_dk if figure == "superheat" else now.target_subcooling_dk
    if nameplate_dk is not None:
        return Target(Budget(nameplate_dk, {}), NAMEPLATE_SOURCE)
    if figure == "subcooling":
        return NoTarget(Sentence("no_target.no_subcooling"))
    try:
        wet, outdoor = return_wet_bulb(now), now.measured.get("outdoor_air_temperature")
        if wet is None or outdoor is None:
            return NoTarget(Sentence("no_target.no_air"))
        if now.superheat_chart:
            return find_chart_superheat(now.superheat_chart, wet, outdoor)
        return find_target_superheat(wet, outdoor)
    except CalcRangeError as error:
        return NoTarget(Sentence("as_it_stands", (text("said", str(error)),)))
