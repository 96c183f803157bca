"""What the page says over a whole visit at which it is obeyed: is it one voice, and is its last word true?

Each visit goes through everything between readings and sentences, as the daemon has it: sensors that lag and err, the
figures, alarms, doubts, the course, the judge and its words. Whoever obeys moves what is asked for, looks where it
points and says what is there, holds another instrument beside one that is named, and stops it for the check at rest.
"""

import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from multiprocessing import Pool
from pathlib import Path
from tempfile import TemporaryDirectory

import msgspec
from msgspec.structs import replace as with_fields

from calc.diagnosis import Fault
from calc.looks import LOOKED_FOR
from ingest.advice.advisor import Advisor
from ingest.config.load import load, resolve
from ingest.derive import derive
from ingest.rig import Rig
from ingest.wire.messages import Added, Advice, Checked, CheckFound, Finding, Mark, Pack, Reading, Recovered
from simulators.bench.configuration import configuration_text
from simulators.bench.instruments import Instrument, Sensor
from simulators.bench.scenario import Scenario, file_of, load_scenario, names
from simulators.unit.model import Unit
from simulators.unit.parameters import UnitParameters
from tests.ingest.advice.contradictions import contradictions
from tests.judge.cases import FAULTS, NO_FAULT, OWN, WIDE, draw_conditions, draw_design, draw_fault
from tests.judge.diagnosis import FULL_NAME

STEP_S, ADVICE_S, LONGEST_S = 2.0, 10.0, 2.5 * 3600.0
RESTS_FOR_S = 2700.0
AN_EVENT_IS_FRESH_S = 20.0
"""After a move, a look or a check what is said may change at once, and is no change without an event."""
MOST_MOVES = 12
T0_S = 1_700_000_000.0
HELD_OUT = 8_000_000
_CAUSE_OF = {fault: word for word, fault in LOOKED_FOR.items()}
_TRUTHS = {
    "none": "",
    "undercharge": "undercharge",
    "overcharge": "overcharge",
    "non_condensables": "non-condensables",
    "condenser_airflow": Fault.CONDENSER_FOULING.value,
    "evaporator_airflow": "low evaporator airflow",
    "restriction": "liquid-line restriction",
    "compressor_leakage": "compressor valve leakage",
}
"""What a scenario calls what is wrong, as the judge does; those of electrics and instruments are not played here."""
_IN_ORDER = ("undercharge", "undercharge", *FAULTS, "", "", "")


@dataclass
class Visit:
    """What was said, and what came of it. truth: a `Fault` by its value, or empty where nothing is wrong.

    changes: of the sentence without an event before, as a unit settles and is judged. flips: those to what had been
    said since the newest event already. end: the last state, and what leads then. of_right: the charge. within: how
    near to right the last word says that it is, as a share of it; None where it does not. named: what that does not
    rule out.
    """

    name: str
    truth: str
    against_itself: Counter[str] = field(default_factory=Counter)
    changes: int = 0
    flips: int = 0
    moves: int = 0
    end: tuple[str, str] = ("", "")
    last: str = ""
    minutes: float = 0.0
    of_right: float = 1.0
    within: float | None = None
    named: tuple[str, ...] = ()
    is_mended: bool = False

    @property
    def is_true(self) -> bool | None:
        """Whether the last word is; None where it says itself that it is still open."""
        state, lead = self.end
        is_sound = self.is_mended or self.truth in ("", "undercharge", "overcharge")
        match state:
            case "near enough" | "done" if not is_sound and self.truth in self.named:
                return None
            case "near enough" | "done":
                return is_sound and self.is_as_near_as_said
            case "stop":
                return bool(self.truth) and not self.is_mended
            case "look" if lead == self.truth:
                return True
        return None

    @property
    def is_as_near_as_said(self) -> bool:
        """Whether the charge is as near to right as the last word says; where it says nothing of it, within 5 %."""
        return abs(self.of_right - 1.0) <= (0.05 if self.within is None else self.within)


def scenarios() -> list[str]:
    """Name the scenarios whose trouble is in the refrigerant circuit or its air, with one circuit, while it cools."""
    return [
        name
        for name in names()
        if (truth := file_of(name).truth) is not None
        and truth.fault in _TRUTHS
        and name not in ("one_of_two", "cold_gusts")
        and load_scenario(name).correlated is None
    ]


def of_scenario(name: str, advice_s: float = ADVICE_S) -> Visit:
    """Play a scenario that comes along. advice_s: from one advice to the next [s]."""
    scenario = load_scenario(name)
    assert scenario.truth is not None
    right_kg = scenario.truth.right_charge_kg or scenario.parameters.charge_kg
    visit = Visit(name, _TRUTHS[scenario.truth.fault])
    return Player(visit, scenario.parameters, rig_of(scenario), scenario.instruments, right_kg).play(advice_s)


def of_seed(seed: int) -> Visit:
    """Play a random unit in random weather, with or without a fault; every second one of the wider designs."""
    chance = random.Random(f"voice {seed}")
    design = draw_design(chance, family=WIDE if seed % 2 else OWN)
    truth = _IN_ORDER[seed % len(_IN_ORDER)]
    _, charge, faults = draw_fault(chance, truth or NO_FAULT)
    right_kg = design.parameters.charge_kg
    parameters = replace(
        design.parameters, conditions=draw_conditions(chance), charge_kg=right_kg * charge, faults=faults
    )
    plain = load_scenario("all_is_well")
    rig = rig_of(plain)
    unit = with_fields(
        rig.unit,
        refrigerant=parameters.refrigerant,
        metering_device=design.metering_device,
        target_subcooling_dk=design.target_subcooling_dk,
        compressor_rla_a=design.compressor_rla_a,
        nameplate_charge_kg=right_kg,
        condenser_fan_fla_a=None,
    )
    visit = Visit(f"{seed}", FULL_NAME.get(truth, truth))
    return Player(visit, parameters, replace(rig, unit=unit, simulated=False), plain.instruments, right_kg).play()


def rig_of(scenario: Scenario) -> Rig:
    """Give the rig that describes the bench, as the daemon reads it."""
    at = {"bluetooth": "AA:BB:CC:DD:EE:FF"}
    reached = [(it, at.get(it.link, f"/dev/{it.port_name}")) for it in scenario.instruments]
    broker = {"listen": "127.0.0.1:1883"}
    text = configuration_text(scenario, reached, rig="voice", record="voice.sqlite", speed=1.0, broker=broker)
    with TemporaryDirectory() as directory:
        path = Path(directory) / "rig.toml"
        path.write_text(text, encoding="utf-8")
        return resolve(load(path), path)


class Player:
    """Somebody who does what the page says, with the unit, its instruments and the rig's own advisor."""

    step_s = STEP_S
    """From one pack to the next [s]."""

    def __init__(
        self,
        visit: Visit,
        parameters: UnitParameters,
        rig: Rig,
        instruments: Sequence[Instrument],
        right_kg: float,
        ends_after_s: float = LONGEST_S,
    ) -> None:
        self.visit, self.rig, self.right_kg = visit, rig, right_kg
        self.ends_after_s = ends_after_s
        self.unit = Unit(parameters)
        self.conditions = parameters.conditions
        outputs = [output for instrument in instruments for output in instrument.outputs]
        self.sensors = [(output, Sensor(output.setting, f"{visit.name} {output.channel}")) for output in outputs]
        self.spreads = {channel.name: channel.standard_uncertainty for channel in rig.channels}
        self.advisor = Advisor(1.0, None)
        self.now_s, self.event_s, self.number = 0.0, 0.0, 0
        self.spoken: tuple[str, str] = ("", "")
        self.since_event: set[tuple[str, str]] = set()
        self.looked: set[str] = set()
        self.rests_until_s = 0.0

    def play(self, advice_s: float = ADVICE_S) -> Visit:
        """Go on until there is nothing more to do, or it takes too long."""
        advice = None
        while self.now_s < self.ends_after_s and self.visit.moves <= MOST_MOVES:
            pack = self.tick()
            if self.rests_until_s and self.now_s >= self.rests_until_s:
                self.rests_until_s = 0.0
                self.unit.call(cooling=True)
                self.happened()
            if self.now_s % advice_s:
                continue
            advice = self.advise(pack)
            self.listen(advice)
            if not self.rests_until_s and not self.obey(advice):
                break
        assert advice is not None
        lead = advice.causes[0].fault if advice.causes else ""
        self.visit.end, self.visit.last = (advice.state, lead), advice.sentence.us
        known = next((part for part in advice.sentence.parts if part.place == "within"), None)
        self.visit.within = None if known is None else known.value / 100.0
        self.visit.named = tuple(
            fault
            for detail in advice.details
            if detail.kind == "detail.not_ruled_out"
            for fault in detail.parts[0].terms
        )
        self.visit.minutes, self.visit.of_right = self.now_s / 60.0, self.unit.charge_kg / self.right_kg
        return self.visit

    def advise(self, pack: Pack) -> Advice:
        """Ask for advice on a pack."""
        given = self.advisor.advise(pack, self.rig, self.rig.barometric_pressure_pa, {})
        return msgspec.json.decode(given.payload, type=Advice)

    def tick(self) -> Pack:
        """Let the unit go on, and follow what it reads."""
        pack = self.read()
        self.advisor.follow(pack, self.rig, self.rig.barometric_pressure_pa)
        return pack

    def read(self) -> Pack:
        """Let the unit go on, and read it."""
        self.unit.step(self.step_s)
        self.now_s += self.step_s
        state = self.unit.true_state()
        measured = {
            output.channel: Reading(
                sensor.feel(output.truth(state), self.step_s), T0_S + self.now_s, "ok", "", self.spreads[output.channel]
            )
            for output, sensor in self.sensors
            if (output.found_at or output.channel) in state
        }
        readings = {**measured, **derive(measured, self.rig.unit)}
        return Pack("voice", 1, 1, 0, self.now_s, T0_S + self.now_s, readings)

    def listen(self, advice: Advice) -> None:
        """Note what it says against itself, and that it says something else than before though nothing happened."""
        self.visit.against_itself.update(contradictions(advice))
        speaks = (advice.state, advice.sentence.kind)
        if speaks != self.spoken and self.spoken[0] and self.now_s - self.event_s > AN_EVENT_IS_FRESH_S:
            self.visit.changes += 1
            self.visit.flips += speaks in self.since_event
        self.since_event.add(speaks)
        self.spoken = speaks

    def obey(self, advice: Advice) -> bool:
        """Do what it says; tells whether there is anything to wait for."""
        if advice.next_step is not None:
            self.move(advice.next_step.step_kg)
            return True
        if advice.state in ("settling", "starting", "not running") or advice.awaited is not None:
            return True
        if advice.state != "look" or not advice.causes:
            return False
        if advice.sentence.kind == "headline.condition" and "air_split" in advice.sentence.parts[0].terms:
            return self.look(Fault.LOW_EVAPORATOR_AIRFLOW.value)
        lead = advice.causes[0]
        held = lead.held_back
        if held is not None and held.kind == "held_back.instrument_off":
            return self.hold_another(held.parts[0].terms[0])
        sought = held.kind.removeprefix("held_back.") if held is not None else ""
        fault = next((it.value for it in Fault if it.name.lower() == sought), lead.fault)
        if fault == Fault.NON_CONDENSABLES.value:
            return self.rest()
        return self.look(fault)

    def move(self, step_kg: float) -> None:
        """Add or recover what is asked for, and note it."""
        self.visit.moves += 1
        if step_kg > 0:
            self.unit.add(step_kg, "liquid")
            self.take(Added(self.id(), T0_S + self.now_s, mass_kg=step_kg, phase="liquid"), step_kg)
        else:
            self.unit.recover(-step_kg)
            self.take(Recovered(self.id(), T0_S + self.now_s, mass_kg=-step_kg), step_kg)

    def look(self, fault: str) -> bool:
        """Look for a fault: it ends there where it is found, and is said where it is not."""
        word = _CAUSE_OF.get(fault)
        if word is None or fault in self.looked or fault == self.visit.truth:
            return False
        self.looked.add(fault)
        choices = {"cause": word, "seen": "nothing"}
        self.take(
            Finding(self.id(), T0_S + self.now_s, check="looked_for", grade="said", outcome="met", choices=choices)
        )
        return True

    def rest(self) -> bool:
        """Stop it for the check at rest, once."""
        if "rest" in self.looked:
            return False
        self.looked.add("rest")
        self.unit.call(cooling=False)
        self.rests_until_s = self.now_s + RESTS_FOR_S
        self.happened()
        return True

    def hold_another(self, channel: str) -> bool:
        """Hold another instrument beside one: here all are right, as far as they state."""
        if channel in self.looked:
            return False
        self.looked.add(channel)
        spread = self.spreads[channel]
        kind = "open_to_air" if channel.endswith("_pressure") else "one_pipe"
        found = CheckFound(kind, channel, 300.0, 300.0, 300.0, 0.0, 2 * spread, spread, "within", other="another")
        self.take(Checked(self.id(), T0_S + self.now_s, "Sam", "technician", check=found))
        return True

    def take(self, mark: Mark, change_kg: float = 0.0) -> None:
        self.advisor.take(mark, change_kg)
        self.happened()

    def happened(self) -> None:
        self.event_s = self.now_s
        self.since_event.clear()

    def id(self) -> str:
        self.number += 1
        return f"m{self.number}"


def main() -> None:
    """Play the scenarios and sixty random visits, and tell what became of each, and of all."""
    seeds = range(HELD_OUT, HELD_OUT + 60)
    with Pool() as pool:
        visits = [*pool.map(of_scenario, scenarios(), chunksize=1), *pool.map(of_seed, seeds, chunksize=2)]
    for it in visits:
        course = f"moves {it.moves}, changes {it.changes}, flips {it.flips}, {it.minutes:.0f} min"
        said = "" if it.within is None else f" said within {it.within:.0%}"
        ends = f"{' '.join(it.end)}, true: {it.is_true}, charge {it.of_right:.3f}{said}"
        print(f"{it.name:>18} {it.truth or 'sound':40} {ends}; {course} {dict(it.against_itself) or ''}")
    for what, count in told(visits).items():
        print(f"{what}: {count}")


def told(visits: Sequence[Visit]) -> dict[str, int]:
    """Count what is asked of the voice."""
    short = [it for it in visits if it.truth == "undercharge"]
    return {
        "visits": len(visits),
        "last word true": sum(it.is_true is True for it in visits),
        "last word leaves it open, and says so": sum(it.is_true is None for it in visits),
        "last word wrong": sum(it.is_true is False for it in visits),
        "against itself": sum(bool(it.against_itself) for it in visits),
        "more than 6 flips of the sentence without an event": sum(it.flips > 6 for it in visits),
        "undercharges": len(short),
        "undercharges that end within 2 % of right": sum(abs(it.of_right - 1.0) <= 0.02 for it in short),
        "undercharges that end within 5 % of right": sum(abs(it.of_right - 1.0) <= 0.05 for it in short),
        "undercharges that end with a charge as near as is said": sum(
            it.within is not None and it.is_as_near_as_said for it in short
        ),
        "of those, said to be within 5 %": sum(
            it.within is not None and it.is_as_near_as_said and it.within <= 0.05 for it in short
        ),
    }


if __name__ == "__main__":
    main()
