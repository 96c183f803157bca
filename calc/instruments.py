"""How good instruments are taken to be where nobody says: the arguments that say so, and what stands in for them."""

from calc.entry import Given
from calc.quantities import Quantity
from calc.units import parse_difference

COMMON = "(common practice, no source)"


def _gauge(of: str, limit: str) -> Given:
    return Given("1psi", otherwise=f"the {of} within ±{limit}, the instrument limit of California Title 24, RA3.2")


_LOW_SIDE, _HIGH_SIDE = "3.5 psi", "7 psi"
SUCTION_LIMIT_PA, LIQUID_LIMIT_PA = (parse_difference(limit, Quantity.PRESSURE) for limit in (_LOW_SIDE, _HIGH_SIDE))
SUCTION_GAUGE = _gauge("suction pressure", _LOW_SIDE)
LIQUID_GAUGE = _gauge("liquid pressure", _HIGH_SIDE)
DISCHARGE_GAUGE = _gauge("discharge pressure", _HIGH_SIDE)
HYGROMETER = Given("3%RH", Quantity.HUMIDITY, otherwise=f"relative humidity within ±3 %RH {COMMON}")


def thermometer(of: str) -> Given:
    """Take temperatures for good to half a degree. of: which, such as "the line temperature"."""
    return Given("0.5degC", otherwise=f"{of} within ±0.5 °C {COMMON}")
