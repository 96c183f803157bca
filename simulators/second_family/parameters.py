"""What makes one unit of this family: how it was built, its charge, what it stands in, and what is wrong with it."""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from functools import lru_cache
from typing import Literal

from calc.air import wet_bulb
from simulators.errors import SimulatorError
from simulators.second_family.fahrenheit import degf

FANS = 0.15
"""The part of the rated power that fans take, whatever the compressor does (common practice, no source)."""

RATED_CFM_PER_TON = 350.0
"""Standard design of California 2008, RA3.3."""

TON_W = 3516.85
M3_S_PER_CFM = 0.3048**3 / 60.0

Metering = Literal["valve", "orifice"]
Kind = Literal["split", "packaged", "wall-mounted", "older"]


_CONDITION_LIMITS = {
    "outdoor_air_k": (285.0, 320.0),
    "return_air_k": (290.0, 308.0),
    "return_air_humidity": (20.0, 80.0),
    "barometric_pressure_pa": (75e3, 107e3),
}
"""Where the printed tables reach, and somewhat beyond: correlations say nothing further out."""

_FAULT_LIMITS = {
    "evaporator_air": (0.0, 0.6),
    "condenser_air": (0.0, 0.8),
    "restriction": (0.0, 0.3),
    "valve_leakage": (0.0, 0.5),
    "non_condensables": (0.0, 1.2),
    "overfeeding": (0.0, 1.0),
}


def _check(these: "Conditions | Faults", limits: Mapping[str, tuple[float, float]]) -> None:
    for each in fields(these):
        value, (low, high) = getattr(these, each.name), limits[each.name]
        if not low <= value <= high:
            raise SimulatorError(f"{each.name} is {value:g}; this family is simulated with {low:g} to {high:g}")


@dataclass(frozen=True, slots=True)
class Conditions:
    """What the unit stands in. Humidity is relative [%RH]."""

    outdoor_air_k: float = 308.15
    return_air_k: float = 299.817
    return_air_humidity: float = 51.1
    barometric_pressure_pa: float = 101_325.0

    def __post_init__(self) -> None:
        _check(self, _CONDITION_LIMITS)

    @property
    def outdoor_f(self) -> float:
        """The outdoor air [°F]."""
        return degf(self.outdoor_air_k)

    @property
    def return_f(self) -> float:
        """The return air's dry bulb [°F]."""
        return degf(self.return_air_k)

    @property
    def return_wet_bulb_k(self) -> float:
        """The return air's wet bulb [K]."""
        return _wet_bulb_k(self.return_air_k, self.return_air_humidity, self.barometric_pressure_pa)

    @property
    def wet_bulb_f(self) -> float:
        """The same [°F]."""
        return degf(self.return_wet_bulb_k)


@lru_cache(maxsize=64)
def _wet_bulb_k(dry_bulb_k: float, humidity: float, pressure_pa: float) -> float:
    """Keep what is asked for in every step and sought by trial."""
    return wet_bulb(dry_bulb_k, humidity, pressure_pa=pressure_pa)


RATING = Conditions()
"""95 °F outdoors, 80 °F and 67 °F wet bulb inside: condition A of AHRI 210/240."""


@dataclass(frozen=True, slots=True)
class Faults:
    """What is wrong besides the charge, each with its size; all can be there at once.

    evaporator_air, condenser_air: the part of its air that a coil loses. restriction: of the liquid line, the pressure
    that it takes over what is between condenser and evaporator. valve_leakage: the part of the flow that leaks back in
    the compressor. non_condensables: how much of the air that fills the open circuit at one atmosphere is in it.
    overfeeding: how far an expansion valve is from closing to its superheat, 1 where it gives none.
    """

    evaporator_air: float = 0.0
    condenser_air: float = 0.0
    restriction: float = 0.0
    valve_leakage: float = 0.0
    non_condensables: float = 0.0
    overfeeding: float = 0.0

    def __post_init__(self) -> None:
        _check(self, _FAULT_LIMITS)


@dataclass(frozen=True, slots=True)
class Build:
    """A unit as its maker meant it, at the rating conditions and its right charge [°F, shares].

    evaporating: dew point at the suction port. over_outdoor: bubble point at the port of the high side over the outdoor
    air. by_outdoor, by_wet_bulb: what 1 °F there does to a figure; of superheat with an orifice only. split: of the
    air, over what its table has. air: over the rated. discharge: over what its correlation has. sum_by_charge: what the
    whole charge is in subcooling less 0.4 of superheat. port_drop: from discharge to the port of the high side [psi].
    gas_share: the part of the gas space in which a running unit gathers air. liquid_share: of the circuit, filled with
    liquid at rest. slowness: its lags over the usual.
    """

    kind: Kind = "split"
    refrigerant: str = "R-410A"
    metering: Metering = "valve"
    right_kg: float = 3.4
    evaporating_f: float = 51.0
    evaporating_by_outdoor: float = 0.111
    evaporating_by_wet_bulb: float = 0.674
    over_outdoor_f: float = 15.3
    over_outdoor_by_outdoor: float = -0.03
    over_outdoor_by_wet_bulb: float = 0.2
    subcooling_f: float = 9.6
    subcooling_by_outdoor: float = -0.05
    superheat_f: float = 12.0
    superheat_by_outdoor: float = -0.5
    superheat_by_wet_bulb: float = 1.5
    split_f: float = 0.0
    air: float = 1.0
    discharge_f: float = 0.0
    sum_by_charge_f: float = 75.2
    port_drop_psi: float = 14.0
    gas_share: float = 0.27
    liquid_share: float = 0.25
    capacity_w: float = 10_550.0
    cop: float = 3.5
    slowness: float = 1.0

    @property
    def compressor_w(self) -> float:
        """What the compressor takes as rated, without fans."""
        return (1.0 - FANS) * self.capacity_w / self.cop

    @property
    def rated_current_a(self) -> float:
        """The compressor's then, on one phase of 230 V (power factor: common practice, no source)."""
        return self.compressor_w / (230.0 * 0.92)

    @property
    def air_m3_s(self) -> float:
        """What its blower moves."""
        return self.air * RATED_CFM_PER_TON * self.capacity_w / TON_W * M3_S_PER_CFM


@dataclass(frozen=True, slots=True)
class Parameters:
    """A unit; without a charge it holds the right one.

    Raises:
        SimulatorError: a charge that no unit of this build is simulated with.

    """

    build: Build = field(default_factory=Build)
    conditions: Conditions = RATING
    faults: Faults = field(default_factory=Faults)
    charge_kg: float = 0.0

    def __post_init__(self) -> None:
        if self.charge_kg == 0.0:
            object.__setattr__(self, "charge_kg", self.build.right_kg)
        low, high = 0.4 * self.build.right_kg, 1.8 * self.build.right_kg
        if not low <= self.charge_kg <= high:
            raise SimulatorError(
                f"charge_kg is {self.charge_kg:g}; this unit is simulated with {low:.2f} to {high:.2f}"
            )

    @property
    def refrigerant(self) -> str:
        """What is in it."""
        return self.build.refrigerant
