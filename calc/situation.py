"""What is known of a unit at one moment: the one struct on which every room judges."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from calc.charging_chart import ChartPoint
from calc.estimate import Estimate
from calc.quantities import CHANNELS, STANDARD_PRESSURE_PA

Reference = Literal["gauge", "absolute"]


@dataclass(frozen=True, slots=True)
class Repetition:
    """An instrument that goes on sending the very same number.

    Attributes:
        times: how often in a row, to the last digit.
        usually: the longest such run of late.
        seconds: how long it has lasted [s].

    """

    times: int
    usually: int
    seconds: float


Seen = Literal["clear", "found"]
"""What came of a look: nothing was there, or it was put right; or it is there yet."""


@dataclass(frozen=True, slots=True)
class Move:
    """Refrigerant that was added (above 0) or recovered (below 0) at this visit [kg], and the figure about it [K]."""

    mass_kg: float
    before_dk: Estimate
    after_dk: Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class Situation:
    """What is known of a unit at one moment. What is None, or left out of a mapping, is not known.

    Attributes:
        refrigerant: one of `saturation.names()`.
        metering_device: fixed_orifice, txv or eev.
        measured: channels and figures, as `quantities.QUANTITIES` names them, in SI; pressures absolute.
        late: of those, what an instrument should have renewed and did not.
        unreliable: of those, what is not to be relied on: of bad quality, or in likely doubt.
        barometric_pressure_pa: at the site, unless it is among what is measured [Pa].
        accuracies: the ± limit of the instrument of a channel [unit of the channel].
        references: what a pressure channel is configured to count from.
        repetitions: by channel, where enough was heard to say what is usual.
        running: whether the compressor runs.
        running_s: since its start, or since it was first seen to run [s]; 0 at rest.
        rested_s: since it stopped, or since it was first seen at rest [s]; None where it runs.
        steady_since_arrival: whether it ran when it was first seen, nothing was moved since, and the figure that shows
            the charge has been steady all the time: then start and last change lie farther back than anyone saw.
        undisturbed_s: since the charge was last changed, or since the first reading [s].
        at_rest: measured with the unit off and its pressures equalized, the coils as warm as the air around them:
            liquid_pressure or suction_pressure, outdoor_air_temperature and, where it is known, return_air_temperature.
        found_sound: the departures of this unit at an earlier visit at which it was found sound, by name [K or 1].
        looked: what was looked for at this visit, by the value of a `diagnosis.Fault`, and what was seen of it.
        checked: how much too high a channel was found to read at this visit, there where it measures [its unit].
        moves: of refrigerant at this visit, with what they did to the figure that shows the charge.
        target_air_split_dk: by the protocol's table or the maker, for the return air at hand [K].
        airflow_m3_per_s: measured over the evaporator [m³/s].
        cylinder_refrigerant_kg: in the recovery cylinder, without its tare [kg].
        cylinder_safe_fill_kg: the most that it may hold; `charging.safe_fill_mass` [kg].
        target_subcooling_dk: the nameplate's [K].
        target_superheat_dk: the nameplate's, of a fixed orifice, for these conditions [K]; None: take the table's.
        superheat_chart: the maker's charging chart of a unit with a fixed orifice; empty: take the table.
        maker_superheat_dk: the range that the maker gives for that of an expansion valve; None: the protocol's [K].
        nameplate_charge_kg: of the unit [kg].
        nominal_capacity_w: of the unit [W].
        design_airflow_m3_per_s: by the maker or the design [m³/s].
        design_pressure_pa: the high side's, of the nameplate, absolute [Pa].
        compressor_rla_a: rated load amps [A].
        condenser_fan_fla_a: full load amps [A].

    """

    refrigerant: str = ""
    metering_device: str | None = None
    measured: Mapping[str, Estimate] = field(default_factory=dict)
    late: frozenset[str] = frozenset()
    unreliable: frozenset[str] = frozenset()
    barometric_pressure_pa: float = STANDARD_PRESSURE_PA
    accuracies: Mapping[str, float] = field(default_factory=dict)
    references: Mapping[str, Reference] = field(default_factory=dict)
    repetitions: Mapping[str, Repetition] = field(default_factory=dict)
    running: bool | None = None
    running_s: float | None = None
    rested_s: float | None = None
    steady_since_arrival: bool = False
    undisturbed_s: float | None = None
    at_rest: Mapping[str, Estimate] = field(default_factory=dict)
    found_sound: Mapping[str, Estimate] = field(default_factory=dict)
    looked: Mapping[str, Seen] = field(default_factory=dict)
    checked: Mapping[str, Estimate] = field(default_factory=dict)
    moves: tuple[Move, ...] = ()
    target_air_split_dk: Estimate | None = None
    airflow_m3_per_s: Estimate | None = None
    cylinder_refrigerant_kg: Estimate | None = None
    cylinder_safe_fill_kg: float | None = None
    target_subcooling_dk: float | None = None
    target_superheat_dk: float | None = None
    superheat_chart: tuple[ChartPoint, ...] = ()
    maker_superheat_dk: tuple[float, float] | None = None
    nameplate_charge_kg: float | None = None
    nominal_capacity_w: float | None = None
    design_airflow_m3_per_s: float | None = None
    design_pressure_pa: float | None = None
    compressor_rla_a: float | None = None
    condenser_fan_fla_a: float | None = None

    @property
    def site_pressure_pa(self) -> float:
        """The barometric pressure at the site: measured, else as it was given [Pa]."""
        measured = self.measured.get("barometric_pressure")
        return self.barometric_pressure_pa if measured is None else measured.value

    def value(self, name: str) -> float | None:
        """Give the value of a channel or figure; None where it is not measured."""
        found = self.measured.get(name)
        return None if found is None else found.value

    def difference(self, first: str, second: str) -> Estimate | None:
        """Give how much one channel is above another; None where one is not measured."""
        one, another = self.measured.get(first), self.measured.get(second)
        if one is None or another is None:
            return None
        uncertainty = (one.standard_uncertainty**2 + another.standard_uncertainty**2) ** 0.5
        return Estimate(one.value - another.value, uncertainty)

    def without(self, names: Collection[str]) -> "Situation":
        """Give the same without what some channels and figures say."""
        if self.measured.keys().isdisjoint(names) and self.repetitions.keys().isdisjoint(names):
            return self  # mostly, and a new one has all its fields copied
        return replace(
            self,
            measured={name: found for name, found in self.measured.items() if name not in names},
            repetitions={name: run for name, run in self.repetitions.items() if name not in names},
        )

    def fresh(self) -> "Situation":
        """Give the same without what is late."""
        return self.without(self.late)

    def relied_on(self) -> "Situation":
        """Give the same with channels alone, and of those with what is fresh and to be relied on."""
        figures = self.measured.keys() - CHANNELS.keys()
        return self.without(self.late | self.unreliable | figures)
