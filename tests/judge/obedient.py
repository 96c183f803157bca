"""Visits at which all is done that the judge says: is refrigerant added to a full unit, or taken out of a right one?

Each visit is at a random unit in random weather, with or without a fault, with instruments that err within what they
state; at four of five something is wrong with what is read beside: an instrument by one to three times its stated limit
and a little more, a clamp that sits badly, a nameplate that was typed wrongly. Nobody hurries and nobody thinks: what
"Add" or "Recover" says is done, what is to be checked is checked and answered truthfully, what is to be looked for is
found and mended where it is there. The unit settles between; what it reads then is the simulator's.
"""

import math
import random
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from calc.comparing import NotMet
from calc.diagnosis import Fault
from calc.doubts.observed import LIKELY, Doubt
from calc.doubts.plausibility import doubts
from calc.estimate import Estimate
from calc.governing import governing_figure
from calc.judge.alarms import alarms
from calc.judge.state import Decision, Reason, State, decide
from calc.looks import LOOKED_FOR
from calc.protocols import tolerances
from calc.quantities import derived_from
from calc.sensors import field_checks
from calc.settling import Settled
from calc.situation import Move, Seen, Situation
from calc.superheat import subcooling, superheat
from tests.judge import cases
from tests.judge.cases import (
    ACCURACIES,
    DDEGF,
    FAULTS,
    NO_FAULT,
    PSI,
    Design,
    Family,
    charted,
)
from tests.judge.diagnosis import FULL_NAME
from tests.judge.families import (
    NAMES,
    AnyFamily,
    AnyParameters,
    at_rest,
    draw_design,
    draw_unit,
    mended,
    running,
)
from tests.judge.guidance import true_deviation

FULL, RIGHT_UNTIL = 0.97, 1.03
"""Of the right charge: from the first on a unit is full, and up to the second there is nothing to take out."""

MOST_STEPS = 24
_NOISE_K = 0.1
_ALIKE: Mapping[str, str] = {
    "R-410A": "R-454B",
    "R-454B": "R-410A",
    "R-32": "R-410A",
    "R-22": "R-407C",
    "R-407C": "R-22",
}
"""A refrigerant that stands in for another, so that one is typed for the other."""


class Slip(NamedTuple):
    """What is wrong with what is read. channel: of which; empty for a plate. by: [unit of the channel]."""

    kind: str
    channel: str = ""
    by: float = 0.0


SLIPS = (
    "none",
    "within three limits",
    "liquid clamp",
    "suction clamp",
    "gauge",
    "target typed",
    "refrigerant typed",
)


class Wrong(NamedTuple):
    """A move that ought not to have been: which way, from which share of the right charge, by which share of it.

    by_protocol: whether exact instruments, and a plate typed rightly, have that figure beyond its tolerance as well, so
    that the protocol itself asks for it: this unit's maker charged it otherwise than the table of its target has it.
    """

    way: str
    of_right: float
    by: float
    by_protocol: bool


@dataclass
class Visit:
    """One visit, and what came of it.

    left: what share of its charge the last word had missing, with its ±; None where it told of none.
    last_ounces: of a unit that came short, where each addition to 97 % and more of its right charge ended that did not
    go beyond 103 %, as shares of it: no wrong moves.
    """

    truth: str
    metering_device: str
    family: str
    slip: Slip
    right_kg: float
    seed: int
    end: str = ""
    moves: int = 0
    checks: int = 0
    wrong: list[Wrong] = field(default_factory=list)
    last_ounces: list[float] = field(default_factory=list)
    of_right: float = 0.0
    left: Estimate | None = None

    @property
    def is_as_near_as_said(self) -> bool:
        """Whether the charge is as near to right as the last word says."""
        left = self.left
        return left is not None and abs(self.of_right - 1.0) <= abs(left.value) + left.expanded()


def draw_slip(chance: random.Random, design: Design) -> Slip:
    """Draw what is wrong with what is read."""
    kind = chance.choice(SLIPS)
    sign = chance.choice((-1.0, 1.0))
    match kind:
        case "within three limits":
            channel = chance.choice([name for name in ACCURACIES if name != "discharge_line_temperature"])
            return Slip(kind, channel, sign * chance.uniform(1.0, 3.5) * ACCURACIES[channel])
        case "liquid clamp":
            return Slip(kind, "liquid_line_temperature", chance.uniform(3.0, 8.0) * DDEGF)
        case "suction clamp":
            return Slip(kind, "suction_line_temperature", chance.uniform(3.0, 8.0) * DDEGF)
        case "gauge":
            channel = chance.choice(("suction_pressure", "liquid_pressure"))
            return Slip(kind, channel, sign * chance.uniform(3.0, 20.0) * PSI)
        case "target typed" if design.target_subcooling_dk is not None:
            return Slip(kind, "", sign * chance.uniform(2.0, 6.0) * DDEGF)
        case "refrigerant typed":
            return Slip(kind)
    return Slip("none")


def play(seed: int, family: AnyFamily) -> Visit:
    """Play one visit to its end. The same seed plays the same visit."""
    chance = random.Random(f"obedient {seed}")
    design = draw_design(chance, family)
    truth = chance.choice((NO_FAULT, NO_FAULT, NO_FAULT, *FAULTS))
    _, parameters = draw_unit(chance, design, truth)
    right_kg = design.parameters.charge_kg
    visit = Visit(truth, design.metering_device, NAMES[family], draw_slip(chance, design), right_kg, seed)
    return _Player(chance, design, parameters, visit).play()


def play_short(seed: int, family: Family, *, has_chart: bool, is_exact: bool = False) -> Visit:
    """Play a visit at a unit with a fixed orifice that is short and else right, with its maker's chart or without.

    is_exact: every instrument reads what is true, though nobody knows it; else each errs within its limit.
    """
    chance = random.Random(f"short {seed}")
    design = cases.draw_design(chance, valve=False, family=family)
    _, parameters = draw_unit(chance, design, "undercharge")
    design = charted(design) if has_chart else design
    right_kg = design.parameters.charge_kg
    visit = Visit("undercharge", design.metering_device, NAMES[family], Slip("none"), right_kg, seed)
    player = _Player(chance, design, parameters, visit)
    if is_exact:
        player.errors = dict.fromkeys(player.errors, 0.0)
    return player.play()


class _Player:
    """Somebody who does what is said."""

    def __init__(self, chance: random.Random, design: Design, parameters: AnyParameters, visit: Visit) -> None:
        self.chance, self.design, self.parameters, self.visit = chance, design, parameters, visit
        self.errors = {name: chance.gauss(0.0, limit / 2) for name, limit in ACCURACIES.items()}
        self.slip = visit.slip
        self.state = running(parameters)
        self.moves: list[Move] = []
        self.checked: dict[str, Estimate] = {}
        self.failed: tuple[Doubt, ...] = ()
        self.at_rest: dict[str, Estimate] = {}
        self.looked: set[Fault] = set()
        self.seen: dict[str, Seen] = {}
        self.has_read_plate = False

    def play(self) -> Visit:
        """Go on until the judge has nothing more to say, or what it says can no longer be done."""
        visit = self.visit
        for _ in range(MOST_STEPS):
            now = self.read()
            found = (*self.failed, *doubts(now))
            decision = self.decide(now, found)
            visit.end, visit.left = f"{decision.state.value}: {decision.reason.value}", decision.charge_left
            if not self.obey(decision, now):
                break
        visit.of_right = self.parameters.charge_kg / visit.right_kg
        return visit

    def read(self) -> Situation:
        """Read every instrument, and what is typed."""
        plate, read = self.design, {name: self.state[name] + error for name, error in self.errors.items()}
        if self.slip.channel:
            read[self.slip.channel] += self.slip.by
        read["return_air_humidity"] = min(max(read["return_air_humidity"], 1.0), 100.0)
        typed = self.slip.by if self.slip.kind == "target typed" else 0.0
        refrigerant = self.parameters.refrigerant
        if self.slip.kind == "refrigerant typed":
            refrigerant = _ALIKE[refrigerant]
        target_dk = plate.target_subcooling_dk
        return Situation(
            refrigerant=refrigerant,
            metering_device=plate.metering_device,
            measured={name: Estimate(value, ACCURACIES[name] / 2) for name, value in read.items()},
            accuracies=ACCURACIES,
            references={"suction_pressure": "gauge", "liquid_pressure": "gauge"},
            running=True,
            running_s=3600.0,
            undisturbed_s=1800.0,
            at_rest=self.at_rest,
            checked=self.checked,
            looked=self.seen,
            moves=tuple(self.moves),
            target_subcooling_dk=None if target_dk is None else max(target_dk + typed, 2.0 * DDEGF),
            nameplate_charge_kg=self.visit.right_kg,
            compressor_rla_a=plate.compressor_rla_a,
            superheat_chart=plate.superheat_chart,
        )

    def decide(self, now: Situation, found: tuple[Doubt, ...]) -> Decision:
        """Ask the judge, as the daemon does."""
        figure, doubted = (
            governing_figure(now.metering_device or "none"),
            {name for doubt in found if doubt.confidence >= LIKELY for name in doubt.channels},
        )
        figures = _figures(now, self.chance)
        known = replace(
            now,
            measured={**now.measured, **figures},
            unreliable=frozenset(doubted) | derived_from(doubted),
        )
        course = Settled(figures[figure])
        return decide(
            known, known.relied_on(), course, doubts=found, alarms=alarms(known, math.inf, frozenset(doubted))
        )

    def obey(self, decision: Decision, now: Situation) -> bool:
        """Do what is said; tells whether there is anything to look at again."""
        if decision.doubt is not None:
            return self.put_right(decision.doubt)
        step, lead = decision.next_step, decision.lead
        if decision.state is State.MOVE and step is not None:
            if self.read_plate_again():
                return True
            return self.move(step.step_kg, now)
        if decision.reason is Reason.TABLE_ALONE:
            return self.read_plate_again()
        if decision.state is not State.LOOK or lead is None:
            return False
        sought = lead.rule_out_first or lead.fault
        if sought is Fault.INSTRUMENT_OFF:
            channel = next(cause.channel for cause in decision.causes if cause.fault is sought)
            return self.check(channel, now)
        return self.look(sought)

    def put_right(self, doubt: Doubt) -> bool:
        """Put right what is doubted, where something is wrong with it."""
        is_it = self.slip.channel in doubt.channels or (
            not self.slip.channel and any(name.endswith("_pressure") for name in doubt.channels)
        )
        if self.slip.kind == "none" or not is_it:
            return False
        self.slip, self.failed = Slip("none"), ()
        self.measure_anew(doubt.channels)
        return True

    def measure_anew(self, channels: Collection[str]) -> None:
        """Forget what was read at rest by what is put right now: air is looked for anew, where that is still asked."""
        if not self.at_rest.keys().isdisjoint(channels):
            self.at_rest = {}
            self.looked.discard(Fault.NON_CONDENSABLES)

    def check(self, channel: str, now: Situation) -> bool:
        """Check an instrument where it measures; one that is beyond its limit is put right."""
        self.visit.checks += 1
        name = "return_air_humidity" if channel == "return_air_wet_bulb" else channel
        if name in self.checked:
            return False
        off = self.errors[name] + (self.slip.by if name == self.slip.channel else 0.0)
        limit = ACCURACIES[name]
        spread = math.hypot(limit / 2, 0.245 if name.endswith("temperature") else 0.0)
        offset = Estimate(off + self.chance.gauss(0.0, spread / 2), spread)
        found = field_checks.check(offset, Estimate(0.0, 0.0), limit)
        if isinstance(found.verdict, NotMet):
            self.slip = Slip("none") if name == self.slip.channel else self.slip
            offset = Estimate(self.errors[name], spread)
            self.measure_anew((name,))
        self.checked[name] = offset
        return True

    def read_plate_again(self) -> bool:
        """Read the plate again before the first move, as that asks for; tells whether it was typed wrongly."""
        is_first, self.has_read_plate = not self.has_read_plate, True
        if not is_first or self.slip.kind not in ("target typed", "refrigerant typed"):
            return False
        self.slip = Slip("none")
        return True

    def look(self, sought: Fault) -> bool:
        """Look for a fault: mended where it is there."""
        if sought in self.looked:
            return False
        self.looked.add(sought)
        if sought is Fault.NON_CONDENSABLES:
            rest = at_rest(self.parameters, self.chance.gauss(0.0, 1.0))
            self.at_rest = {
                name: Estimate(
                    value + self.errors[name] + (self.slip.by if name == self.slip.channel else 0.0),
                    ACCURACIES[name] / 2,
                )
                for name, value in rest.items()
            }
            return True
        self.seen[sought.value] = "clear"
        if sought.value != FULL_NAME.get(self.visit.truth, self.visit.truth) or self.parameters == mended(
            self.parameters
        ):
            return sought.value in LOOKED_FOR.values()
        self.parameters = mended(self.parameters)
        self.state = running(self.parameters)
        return True

    def asks_the_protocol(self, step_kg: float) -> bool:
        """Tell whether the figure, read exactly, is beyond its tolerance on this side too."""
        if self.visit.truth not in (NO_FAULT, "undercharge", "overcharge"):
            return False  # with a fault in the unit no protocol has a charge judged
        figure = governing_figure(self.design.metering_device)
        over_dk = true_deviation(self.parameters.refrigerant, self.state, self.design)
        is_short = (over_dk < 0) == (figure == "subcooling")
        return abs(over_dk) > tolerances("title_24_installer").limits[figure].high and is_short == (step_kg > 0)

    def move(self, step_kg: float, now: Situation) -> bool:
        """Move refrigerant, and note where that ought not to have been."""
        visit = self.visit
        of_right = self.parameters.charge_kg / visit.right_kg
        if (step_kg > 0 and of_right >= FULL) or (step_kg < 0 and of_right <= RIGHT_UNTIL):
            way, after = "added" if step_kg > 0 else "recovered", of_right + step_kg / visit.right_kg
            if visit.truth == "undercharge" and step_kg > 0 and after <= RIGHT_UNTIL:
                visit.last_ounces.append(after)
            else:
                visit.wrong.append(Wrong(way, of_right, step_kg / visit.right_kg, self.asks_the_protocol(step_kg)))
        visit.moves += 1
        before = _figures(now, None)[governing_figure(self.design.metering_device)]
        self.parameters = replace(self.parameters, charge_kg=self.parameters.charge_kg + step_kg)
        if visit.wrong:
            return False
        self.state = running(self.parameters)
        after = _figures(self.read(), self.chance)[governing_figure(self.design.metering_device)]
        self.moves.append(Move(step_kg, before, after))
        return True


def _figures(now: Situation, chance: random.Random | None) -> dict[str, Estimate]:
    measured = now.measured
    found = {
        "superheat": superheat(
            now.refrigerant,
            measured["suction_pressure"].value,
            suction_line_temperature_k=measured["suction_line_temperature"].value,
            pressure_standard_uncertainty_pa=measured["suction_pressure"].standard_uncertainty,
            temperature_standard_uncertainty_k=measured["suction_line_temperature"].standard_uncertainty,
        ),
        "subcooling": subcooling(
            now.refrigerant,
            measured["liquid_pressure"].value,
            liquid_line_temperature_k=measured["liquid_line_temperature"].value,
            pressure_standard_uncertainty_pa=measured["liquid_pressure"].standard_uncertainty,
            temperature_standard_uncertainty_k=measured["liquid_line_temperature"].standard_uncertainty,
        ),
    }
    if chance is None:
        return found
    return {
        name: Estimate(each.value + chance.gauss(0.0, _NOISE_K), each.standard_uncertainty)
        for name, each in found.items()
    }
