"""The air that a charging chart is looked up by, as it is now: a page begins with the printed lines next to it."""

from calc.air import wet_bulb
from calc.errors import CalcRangeError
from dashboard.display import Json
from ingest.wire.messages import About, Pack

_OF_NOW = ("ok", "uncalibrated")


def chart_air(pack: Pack, about: About | None) -> Json | None:
    """Lay out wet bulb inside and outdoor air in both units, each None where it is unknown; None for no fixed orifice.

    A wet bulb that is measured stands; otherwise it comes of temperature and humidity at the site's pressure.
    """
    if about is None or about.unit.metering_device != "fixed_orifice":
        return None
    air_k = (_wet_bulb_k(pack, about.barometric_pressure_pa), _now(pack, "outdoor_air_temperature"))
    return {
        "degF": [None if it is None else round(it * 1.8 - 459.67, 1) for it in air_k],
        "degC": [None if it is None else round(it - 273.15, 1) for it in air_k],
    }


def _wet_bulb_k(pack: Pack, pressure_pa: float) -> float | None:
    measured, dry_bulb_k, humidity = (_now(pack, f"return_air_{it}") for it in ("wet_bulb", "temperature", "humidity"))
    if measured is not None or dry_bulb_k is None or humidity is None:
        return measured
    try:
        return float(wet_bulb(dry_bulb_k, humidity, pressure_pa=pressure_pa))
    except CalcRangeError:
        return None


def _now(pack: Pack, channel: str) -> float | None:
    reading = pack.readings.get(channel)
    return reading.value if reading is not None and reading.quality in _OF_NOW else None
