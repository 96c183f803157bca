"""The rig as configured, with every text read into SI: what the rest of the daemon works with."""

from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Literal

from calc.quantities import CHANNELS, Quantity
from calc.units import Conversion, conversion
from ingest.frames import InUnit
from ingest.wire.messages import ChannelAbout, UnitAbout


@lru_cache(maxsize=64)
def _said_in(unit: str, quantity: Quantity, reference: Literal["gauge", "absolute", ""]) -> Conversion:
    """Look up a unit that an instrument writes; a pressure counts from what is configured, and may not say else."""
    if quantity is not Quantity.PRESSURE:
        return conversion(unit, quantity)
    return conversion(unit, quantity, reference=reference or "absolute", barometric_pressure_pa=0.0)


@dataclass(frozen=True, slots=True)
class ChannelSetup:
    """How one channel is measured.

    conversion: from the instrument's unit to SI; of a gauge pressure without the barometric pressure.
    slope, offset: the calibration, in the instrument's own unit. accuracy: the maker's ± limit [SI], k = 2.
    checked_standard_uncertainty: what a check in the field left of it [SI].
    """

    name: str
    instrument: str
    field: str
    unit: str
    reference: Literal["gauge", "absolute", ""]
    conversion: Conversion
    accuracy: float
    interval_s: float
    slope: float = 1.0
    offset: float = 0.0
    calibrated_on: date | None = None
    checked_standard_uncertainty: float | None = None

    @property
    def quantity(self) -> Quantity:
        """What the channel measures."""
        return CHANNELS[self.name]

    @property
    def standard_uncertainty(self) -> float:
        """Of one reading [SI]."""
        return self.accuracy / 2 if self.checked_standard_uncertainty is None else self.checked_standard_uncertainty

    def corrected(self, value: float) -> float:
        """Apply the calibration, then convert to SI, an array too; a gauge pressure stays gauge."""
        return self.conversion.to_si(self.slope * value + self.offset)

    def restated(self, said: InUnit) -> float:
        """Give a number that the instrument wrote with its unit in the unit that is configured.

        Raises:
            CalcError: it is no unit of what is measured here.

        """
        own = _said_in(said.unit, self.quantity, self.reference)
        return (own.to_si(said) - self.conversion.offset) / self.conversion.factor

    def about(self) -> ChannelAbout:
        """Describe the channel to those who watch."""
        return ChannelAbout(
            name=self.name,
            instrument=self.instrument,
            unit=self.unit,
            accuracy=float(f"{self.accuracy:.4g}"),
            reference=self.reference,
            calibrated=self.calibrated_on.isoformat() if self.calibrated_on else "",
        )


@dataclass(frozen=True, slots=True)
class InstrumentSetup:
    """One instrument: the kind of its link, how often it speaks [s], and its channels."""

    name: str
    link: str
    interval_s: float
    channels: tuple[ChannelSetup, ...]


@dataclass(frozen=True, slots=True)
class RecoveryCylinder:
    """The cylinder on the scale while refrigerant is recovered: what is stamped on it [kg]."""

    water_capacity_kg: float
    tare_kg: float


@dataclass(frozen=True, slots=True)
class Rig:
    """Everything the configuration says.

    barometric_pressure_pa: as configured, or following from the elevation, and how well it is known.
    speed: how much faster than life a simulated unit runs. blind: what is wrong with it is hidden until a verdict.
    played: no instrument is read, but a recorded visit.
    """

    name: str
    record: Path
    barometric_pressure_pa: float
    barometric_standard_uncertainty_pa: float
    unit: UnitAbout
    instruments: tuple[InstrumentSetup, ...]
    recovery_cylinder: RecoveryCylinder | None = None
    simulated: bool = False
    blind: bool = False
    speed: float = 1.0
    played: bool = False

    @property
    def channels(self) -> tuple[ChannelSetup, ...]:
        """Every channel of every instrument, in the order of the file."""
        return tuple(channel for instrument in self.instruments for channel in instrument.channels)
