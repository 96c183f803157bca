"""Does the guidance bring a wrong charge into its tolerance, in few moves, and never beyond it?

Each start is a random unit, under- or overcharged and otherwise sound. The same instruments, with the same errors,
read it before and after each move; between moves it settles. The truth is what exact instruments would show.
"""

import random
from collections.abc import Mapping
from dataclasses import dataclass, replace

from calc.air import wet_bulb
from calc.estimate import Estimate
from calc.governing import governing_figure
from calc.judge.next_step import next_addition
from calc.protocols import tolerances
from calc.situation import Move
from calc.superheat import subcooling, superheat
from calc.targets import target_superheat
from simulators.unit.model import Unit
from tests.judge.cases import ACCURACIES, Design, draw_conditions, draw_design, figures_of

MOST_MOVES = 6
NOISE_K = 0.1
"""What differs from one settled reading to the next, beside the error that stays."""


@dataclass(frozen=True)
class Start:
    """One wrong charge and what became of it. deviations_dk: true, at the start and after each move."""

    figure: str
    metering_device: str
    charge_error: float
    deviations_dk: tuple[float, ...]
    tolerance_dk: float

    @property
    def moves_to_tolerance(self) -> int | None:
        """Count the moves until it was first within its tolerance."""
        within = [abs(deviation) <= self.tolerance_dk for deviation in self.deviations_dk]
        return within.index(True) if True in within else None

    @property
    def overshot(self) -> bool:
        """Whether it ever came out beyond the tolerance on the side where it did not start."""
        sign = 1.0 if self.deviations_dk[0] > 0 else -1.0
        return any(sign * deviation < -self.tolerance_dk for deviation in self.deviations_dk)


def try_start(seed: int, metering: str) -> Start:
    """Charge one unit wrongly, and follow the guidance."""
    chance = random.Random(f"guidance {seed} {metering}")
    design = draw_design(chance, valve=metering == "expansion valve")
    right = replace(design.parameters, conditions=draw_conditions(chance))
    offsets = {name: chance.gauss(0.0, limit / 2) for name, limit in ACCURACIES.items()}
    figure = governing_figure(design.metering_device)
    tolerance_dk = tolerances("title_24_installer").limits[figure].high
    while True:
        error = chance.choice((-1, 1)) * chance.uniform(0.08, 0.25)
        charge_kg = right.charge_kg * (1 + error)
        state = Unit(replace(right, charge_kg=charge_kg)).true_state()
        if abs(true_deviation(right.refrigerant, state, design)) > tolerance_dk:
            break
    deviations = [true_deviation(right.refrigerant, state, design)]
    moves: list[Move] = []
    seen = _seen(right.refrigerant, state, design, offsets, chance)
    while len(moves) < MOST_MOVES:
        step = next_addition(figure, seen[0], target_dk=seen[1], nameplate_charge_kg=right.charge_kg, moves=moves)
        if step is None:
            break
        charge_kg += step.step_kg
        state = Unit(replace(right, charge_kg=charge_kg)).true_state()
        before, seen = seen, _seen(right.refrigerant, state, design, offsets, chance)
        moves.append(Move(step.step_kg, before[0], seen[0]))
        deviations.append(true_deviation(right.refrigerant, state, design))
    return Start(figure, design.metering_device, error, tuple(deviations), tolerance_dk)


def _target_dk(state: Mapping[str, float], design: Design, *, otherwise: Mapping[str, float] | None = None) -> float:
    """Give the target [K]; at the edge of the table, that of the other state."""
    if design.target_subcooling_dk is not None:
        return design.target_subcooling_dk
    wet_bulb_k = wet_bulb(
        state["return_air_temperature"], state["return_air_humidity"], pressure_pa=state["barometric_pressure"]
    )
    target_dk = target_superheat(wet_bulb_k, state["outdoor_air_temperature"])
    if target_dk is None and otherwise is not None:
        return _target_dk(otherwise, design)
    if target_dk is None:
        raise ValueError("the conditions were drawn so that the table has a value")
    return target_dk


def true_deviation(refrigerant: str, state: Mapping[str, float], design: Design) -> float:
    """Give how far the figure that shows the charge is over its target, to exact instruments [K]."""
    figures = figures_of(refrigerant, state)
    return figures[governing_figure(design.metering_device)] - _target_dk(state, design)


def _seen(
    refrigerant: str,
    state: Mapping[str, float],
    design: Design,
    offsets: Mapping[str, float],
    chance: random.Random,
) -> tuple[Estimate, Estimate]:
    """Give the figure and its target as the instruments show them."""
    read = {name: state[name] + offset for name, offset in offsets.items()}
    if governing_figure(design.metering_device) == "superheat":
        figure_dk = superheat(
            refrigerant,
            read["suction_pressure"],
            suction_line_temperature_k=read["suction_line_temperature"],
            pressure_standard_uncertainty_pa=ACCURACIES["suction_pressure"] / 2,
            temperature_standard_uncertainty_k=ACCURACIES["suction_line_temperature"] / 2,
        )
    else:
        figure_dk = subcooling(
            refrigerant,
            read["liquid_pressure"],
            liquid_line_temperature_k=read["liquid_line_temperature"],
            pressure_standard_uncertainty_pa=ACCURACIES["liquid_pressure"] / 2,
            temperature_standard_uncertainty_k=ACCURACIES["liquid_line_temperature"] / 2,
        )
    shown = Estimate(figure_dk.value + chance.gauss(0.0, NOISE_K), figure_dk.standard_uncertainty)
    target_dk = _target_dk({**state, **read}, design, otherwise=state)
    return shown, Estimate(target_dk, 0.0)
