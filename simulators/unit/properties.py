"""Properties of the refrigerant, from the shipped tables: SI, per kilogram, pressures absolute."""

import math
from bisect import bisect_right
from functools import cache
from importlib import resources
from typing import NamedTuple

import msgspec

from simulators.errors import SimulatorError

_LEAST_PA = 1e-3


class PropertyTables(msgspec.Struct, frozen=True):
    """What `simulators.data.build_properties` writes, on even grids of ln p.

    Lists run along ln p from the lowest to the highest pressure. The three `..._over_dew` tables hold, for each
    pressure, columns on an even grid of the square root of superheat, from none to the highest: enthalpy and
    entropy less those of the dew point [J/kg, J/(kg K)], and volume as a ratio to the dew point's.
    """

    refrigerant: str
    source: str
    lowest_pressure_pa: float
    highest_pressure_pa: float
    highest_superheat_dk: float
    bubble_point_k: list[float]
    dew_point_k: list[float]
    liquid_enthalpy: list[float]
    vapour_enthalpy: list[float]
    liquid_density: list[float]
    vapour_volume: list[float]
    liquid_heat_capacity: list[float]
    dew_entropy: list[float]
    enthalpy_over_dew: list[list[float]]
    volume_over_dew: list[list[float]]
    entropy_over_dew: list[list[float]]


class Saturation(NamedTuple):
    """The two ends of evaporation at one pressure. Enthalpy [J/kg], density [kg/m³], entropy [J/(kg K)].

    along: how far along the tables' ln p, 0 to 1, so that nobody has to look for the place again.
    """

    pressure_pa: float
    bubble_point_k: float
    dew_point_k: float
    liquid_enthalpy: float
    vapour_enthalpy: float
    liquid_density: float
    vapour_density: float
    liquid_heat_capacity: float
    dew_entropy: float
    along: float

    @property
    def latent_heat(self) -> float:
        """From bubble to dew point [J/kg]."""
        return self.vapour_enthalpy - self.liquid_enthalpy

    @property
    def mean_temperature_k(self) -> float:
        """Half-way between bubble and dew point, what a two-phase zone with glide exchanges heat at [K]."""
        return 0.5 * (self.bubble_point_k + self.dew_point_k)


class Properties:
    """Properties of one refrigerant. Raises SimulatorError outside the pressures of the tables."""

    def __init__(self, tables: PropertyTables) -> None:
        self._tables = tables
        self.lowest_pressure_pa = tables.lowest_pressure_pa
        self.highest_pressure_pa = tables.highest_pressure_pa
        self._least_pa = tables.lowest_pressure_pa * (1 - 1e-9)
        self._greatest_pa = tables.highest_pressure_pa * (1 + 1e-9)
        self._log_low = math.log(tables.lowest_pressure_pa)
        self._log_span = math.log(tables.highest_pressure_pa) - self._log_low
        self._rows = tuple(
            zip(
                tables.bubble_point_k,
                tables.dew_point_k,
                tables.liquid_enthalpy,
                tables.vapour_enthalpy,
                tables.liquid_density,
                tables.vapour_volume,
                tables.liquid_heat_capacity,
                tables.dew_entropy,
                strict=True,
            )
        )
        self._last_row = len(self._rows) - 2

    def __deepcopy__(self, memo: object) -> "Properties":
        """Give itself: tables never change, and a copy of a unit shares them."""
        return self

    def saturation(self, pressure_pa: float) -> Saturation:
        """Find bubble and dew point at this pressure."""
        along = self._along(pressure_pa)
        place = along * (self._last_row + 1)
        row = min(int(place), self._last_row)
        part = place - row
        rest = 1.0 - part
        bubble_k, dew_k, liquid, vapour, density, volume, capacity, entropy = self._rows[row]
        next_bubble_k, next_dew_k, next_liquid, next_vapour, next_density, next_volume, next_capacity, next_entropy = (
            self._rows[row + 1]
        )
        return Saturation(
            pressure_pa,
            rest * bubble_k + part * next_bubble_k,
            rest * dew_k + part * next_dew_k,
            rest * liquid + part * next_liquid,
            rest * vapour + part * next_vapour,
            rest * density + part * next_density,
            1.0 / (rest * volume + part * next_volume),
            rest * capacity + part * next_capacity,
            rest * entropy + part * next_entropy,
            along,
        )

    def thin_vapour(self, pressure_pa: float) -> Saturation:
        """Give the dew point at this pressure; below the tables, their end, thinned as an ideal gas is."""
        if pressure_pa >= self.lowest_pressure_pa:
            return self.saturation(pressure_pa)
        end = self.saturation(self.lowest_pressure_pa)
        kept_pa = max(pressure_pa, _LEAST_PA)
        return end._replace(pressure_pa=kept_pa, vapour_density=end.vapour_density * kept_pa / end.pressure_pa)

    def vapour_enthalpy(self, at: Saturation, superheat_dk: float) -> float:
        """Find the enthalpy of superheated vapour [J/kg]."""
        return at.vapour_enthalpy + self._over_dew(self._tables.enthalpy_over_dew, at.along, superheat_dk)

    def vapour_density(self, at: Saturation, superheat_dk: float) -> float:
        """Find the density of superheated vapour [kg/m³]."""
        return at.vapour_density / self._over_dew(self._tables.volume_over_dew, at.along, superheat_dk)

    def vapour_entropy(self, at: Saturation, superheat_dk: float) -> float:
        """Find the entropy of superheated vapour [J/(kg K)]."""
        return at.dew_entropy + self._over_dew(self._tables.entropy_over_dew, at.along, superheat_dk)

    def superheat_of_enthalpy(self, at: Saturation, enthalpy: float) -> float:
        """Find how far above the dew point vapour of this enthalpy is [K]; 0 for wet vapour."""
        return self._superheat(self._tables.enthalpy_over_dew, at.along, enthalpy - at.vapour_enthalpy)

    def superheat_of_entropy(self, at: Saturation, entropy: float) -> float:
        """Find how far above the dew point vapour of this entropy is [K]; 0 for wet vapour."""
        return self._superheat(self._tables.entropy_over_dew, at.along, entropy - at.dew_entropy)

    def bubble_pressure(self, temperature_k: float) -> float:
        """Find where liquid of this temperature begins to boil, kept within the tables [Pa]."""
        column = self._tables.bubble_point_k
        row = min(max(bisect_right(column, temperature_k) - 1, 0), len(column) - 2)
        part = (temperature_k - column[row]) / (column[row + 1] - column[row])
        place = (row + min(max(part, 0.0), 1.0)) / (len(column) - 1)
        return math.exp(self._log_low + place * self._log_span)

    def _along(self, pressure_pa: float) -> float:
        if not self._least_pa <= pressure_pa <= self._greatest_pa:
            raise SimulatorError(
                f"{self._tables.refrigerant} at {pressure_pa:.0f} Pa is outside the tables, "
                f"{self.lowest_pressure_pa:.0f} to {self.highest_pressure_pa:.0f} Pa"
            )
        along = (math.log(pressure_pa) - self._log_low) / self._log_span
        return along if along > 0.0 else 0.0

    def _over_dew(self, table: list[list[float]], along: float, superheat_dk: float) -> float:
        row, part = _split(along * (len(table) - 1), len(table))
        lower, upper, rest = table[row], table[row + 1], 1.0 - part
        fraction = superheat_dk / self._tables.highest_superheat_dk
        fraction = 0.0 if fraction < 0.0 else 1.0 if fraction > 1.0 else fraction
        column, across = _split(math.sqrt(fraction) * (len(lower) - 1), len(lower))
        left = rest * lower[column] + part * upper[column]
        right = rest * lower[column + 1] + part * upper[column + 1]
        return left + across * (right - left)

    def _superheat(self, table: list[list[float]], along: float, over_dew: float) -> float:
        """Undo `_over_dew`, exactly."""
        row, part = _split(along * (len(table) - 1), len(table))
        lower, upper, rest = table[row], table[row + 1], 1.0 - part
        last = len(lower) - 1
        one, other = bisect_right(lower, over_dew), bisect_right(upper, over_dew)
        if one > other:
            one, other = other, one
        while one < other and rest * lower[one] + part * upper[one] <= over_dew:  # it lies between those of two rows
            one += 1
        column = min(max(one - 1, 0), last - 1)
        left = rest * lower[column] + part * upper[column]
        right = rest * lower[column + 1] + part * upper[column + 1]
        across = (over_dew - left) / (right - left)
        root = (column + min(max(across, 0.0), 1.0)) / last
        return root * root * self._tables.highest_superheat_dk


def _split(place: float, length: int) -> tuple[int, float]:
    index = int(place)
    if index > length - 2:
        index = length - 2
    return index, place - index


@cache
def load(refrigerant: str) -> Properties:
    """Load the properties of a refrigerant that the simulators know.

    Raises:
        SimulatorError: it is not one of them.

    """
    if refrigerant not in names():
        raise SimulatorError(
            f"refrigerant {refrigerant!r} cannot be simulated; there are tables for {', '.join(names())}"
        )
    return Properties(load_tables(refrigerant))


def load_tables(refrigerant: str) -> PropertyTables:
    """Read the tables of a refrigerant as they are shipped."""
    file = resources.files("simulators.data") / f"{refrigerant}.json"
    return msgspec.json.decode(file.read_bytes(), type=PropertyTables)


def names() -> list[str]:
    """List the refrigerants that can be simulated."""
    folder = resources.files("simulators.data")
    return sorted(file.name.removesuffix(".json") for file in folder.iterdir() if file.name.endswith(".json"))
