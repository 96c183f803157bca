"""One voice: no part of an advice contradicts another, whatever is measured; and the page can be obeyed to its end."""

from collections.abc import Mapping
from dataclasses import replace

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc.errors import CalcError
from calc.estimate import Estimate
from calc.judge.alarms import AlarmKind
from calc.quantities import Quantity
from calc.situation import Situation
from calc.units import parse, parse_difference
from ingest.advice.history import History
from ingest.advice.sentence import Known
from ingest.advice.sentence import advise as advise_on
from ingest.derive import derive
from ingest.wire.messages import Advice, ChannelAbout, Pack, Reading, UnitAbout, Wording
from simulators.bench.scenario import Scenario, load_scenario
from simulators.unit.model import Unit
from tests.ingest.advice.contradictions import contradictions
from tests.ingest.advice.test_sentence import AIR, CHARGED, advise, an_alarm, running, situation
from tests.wire_rig import opinion

DEFAULT_SCENARIO = "long_lines"
STEP_S = 2.0
PATIENCE_S = 3 * 3600.0
# ordinary field instruments, k = 1 (common practice, no source); what is not here is not measured
UNCERTAIN = {
    "suction_pressure": 3.4e3,
    "liquid_pressure": 6.9e3,
    "suction_line_temperature": 0.25,
    "liquid_line_temperature": 0.25,
    "return_air_temperature": 0.15,
    "supply_air_temperature": 0.15,
    "outdoor_air_temperature": 0.15,
    "return_air_humidity": 1.0,
    "compressor_current": 0.1,
}


def settled_on(now: Mapping[str, Reading], known: dict[str, object], unit: UnitAbout) -> Advice:
    history = History()
    for second in range(0, 1000, 2):
        history.add(float(second), now)
    return advise(situation(now, 1000.0, unit).but(**known), history)


@settings(max_examples=40, deadline=None)
@given(
    low_f=st.floats(20, 60),
    high_f=st.floats(90, 145),
    subcooling_f=st.floats(0, 30),
    superheat_f=st.floats(0, 40),
    split_f=st.floats(8, 35),
    outdoor_f=st.floats(45, 110),
    device=st.sampled_from(["txv", "eev", "fixed_orifice"]),
    charge_kg=st.sampled_from([None, 3.4]),
    target_f=st.sampled_from([None, 10.0]),
    poorly=st.sampled_from([1.0, 5.0]),
    alarms=st.booleans(),
)
def test_no_part_contradicts_another(
    low_f, high_f, subcooling_f, superheat_f, split_f, outdoor_f, device, charge_kg, target_f, poorly, alarms
) -> None:
    read = running(low_f=low_f, high_f=high_f, subcooling_f=subcooling_f, superheat_f=superheat_f)
    read = {
        name: msgspec.structs.replace(reading, standard_uncertainty=poorly * (reading.standard_uncertainty or 0.0))
        for name, reading in read.items()
    }
    air = {
        **AIR,
        "supply_air_temperature": Reading(299.82 - split_f / 1.8, 0.0, "ok", "", 0.1),
        "air_split": Reading(split_f / 1.8, 0.0, "ok", "", 0.14),
        "outdoor_air_temperature": Reading((outdoor_f + 459.67) / 1.8, 0.0, "ok", "", 0.1),
    }
    target_dk = None if target_f is None else target_f / 1.8
    unit = msgspec.structs.replace(
        CHARGED,
        metering_device=device,
        nameplate_charge_kg=charge_kg,
        target_subcooling_dk=target_dk,
        target_superheat_dk=target_dk,
    )
    known = {"alarms": (an_alarm(AlarmKind.COMPRESSOR_CURRENT),)} if alarms else {}
    advice = settled_on({**read, **air}, known, unit)
    assert list(contradictions(advice)) == [], f"{advice.state}: {advice.sentence.us}"


class Obedient:
    """Does what the page says, on a simulated unit, and keeps every advice."""

    def __init__(self, scenario: Scenario, *, already_running_s: float) -> None:
        self.unit = Unit(scenario.parameters)
        self.unit.step(already_running_s)
        self.about = scenario
        self.history = History()
        self.said: list[Advice] = []
        self.moves = 0
        self.checked: dict[str, Estimate] = {}

    def known(self, now_s: float) -> Known:
        parameters, plate = self.about.parameters, _plate(self.about)
        return Known(
            situation=replace(
                plate,
                barometric_pressure_pa=parameters.conditions.barometric_pressure_pa,
                running_s=now_s,
                running=True,
                accuracies={name: 2 * limit for name, limit in UNCERTAIN.items()},
                checked=self.checked,
            ),
            as_liquid=True,
            channels=tuple(ChannelAbout(name, "a probe", "", 2 * limit) for name, limit in UNCERTAIN.items()),
            ran_on_arrival=True,
        )

    def go(self) -> Advice:
        now_s = 0.0
        while now_s < PATIENCE_S:
            self.unit.step(STEP_S)
            now_s += STEP_S
            state = self.unit.true_state()
            measured = {name: Reading(state[name], now_s, "ok", "", limit) for name, limit in UNCERTAIN.items()}
            readings = {**measured, **derive(measured, _about(self.about))}
            self.history.add(now_s, readings)
            if now_s % 20:
                continue
            advice = advise_on(self.known(now_s), Pack("rig", 1, 1, 0, now_s, now_s, readings), self.history)
            self.said.append(advice)
            if advice.next_step is not None:
                self.moves += 1
                step_kg = advice.next_step.step_kg
                self.unit.add(step_kg, "liquid") if step_kg > 0 else self.unit.recover(-step_kg)
                self.history.restart("since.moved")
            elif advice.causes and advice.causes[0].held_back is not None:
                self.check(advice.causes[0].held_back)
            elif advice.state in ("near enough", "done") and advice.awaited is None:
                break  # nothing is left to wait for: the last word
        return self.said[-1]

    def check(self, held_back: Wording) -> None:
        """Hold another instrument beside the one that is named: all of these are right."""
        assert held_back.kind == "held_back.instrument_off"
        (channel,) = held_back.parts[0].terms
        assert channel not in self.checked
        self.checked[channel] = Estimate(0.0, UNCERTAIN[channel])


def _about(scenario: Scenario) -> UnitAbout:
    plate, unit = _plate(scenario), scenario.file.unit
    return UnitAbout(
        tag=unit.tag,
        place=unit.place,
        refrigerant=unit.refrigerant,
        safety_class="A1",
        metering_device=unit.metering_device,  # type: ignore[arg-type]
        charge_as_liquid=True,
        target_subcooling_dk=plate.target_subcooling_dk,
        compressor_rla_a=plate.compressor_rla_a,
    )


def _plate(scenario: Scenario) -> Situation:
    plate, unit = scenario.file.nameplate, scenario.file.unit
    return Situation(
        refrigerant=unit.refrigerant,
        metering_device=unit.metering_device,
        target_subcooling_dk=parse_difference(plate.target_subcooling) if plate.target_subcooling else None,
        nameplate_charge_kg=parse(plate.charge, Quantity.MASS),
        compressor_rla_a=parse(plate.compressor_rla, Quantity.CURRENT) if plate.compressor_rla else None,
    )


@pytest.fixture(scope="module")
def visit() -> Obedient:
    obedient = Obedient(load_scenario(DEFAULT_SCENARIO), already_running_s=1200.0)
    obedient.go()
    return obedient


def test_whoever_obeys_the_page_on_the_default_scenario_comes_to_a_good_end(visit: Obedient) -> None:
    last = visit.said[-1]
    assert last.state in ("near enough", "done"), last.sentence.us
    assert 1 <= visit.moves <= 6
    assert visit.about.truth is not None
    right_kg = visit.about.truth.right_charge_kg
    assert abs(visit.unit.charge_kg - right_kg) < 0.1 * right_kg


def test_on_the_way_no_advice_contradicts_itself(visit: Obedient) -> None:
    assert {it for advice in visit.said for it in contradictions(advice)} == set()


def test_the_first_word_says_what_is_awaited_and_for_how_long(visit: Obedient) -> None:
    first = visit.said[0]
    assert first.state == "settling"
    assert first.awaited is not None
    assert first.awaited.what == "first_forecast"
    assert first.awaited.seconds_left == pytest.approx(60.0 - 18.0, abs=3.0)
    assert first.awaited.of_seconds == 60.0


def test_a_unit_that_ran_and_was_steady_need_not_prove_its_start(visit: Obedient) -> None:
    """California Title 24 asks for 15 min of running: they lie before anyone came."""
    settled = next(advice for advice in visit.said if advice.state == "move")
    assert settled.verification is not None
    waits = {it.name: it for it in settled.verification.conditions if it.name in ("running_time", "undisturbed_time")}
    assert {it.says.kind for it in waits.values()} == {"condition.steady_since_arrival"}


def test_at_altitude_the_target_is_that_of_the_thinner_air() -> None:
    """At 1,600 m the same air has a colder wet bulb: 80 °F and 51.1 %RH are 67.0 °F at the sea (AHRI 210/240, condition
    A) and 66.2 °F up there (ASHRAE Handbook of Fundamentals, ch. 1, by psychrolib; its standard atmosphere: 83.4 kPa).
    California Title 24, RA3.2, at 85 °F outdoors: 15 °F at 66 °F wet bulb and 19 °F at 68 °F, so 17.0 and 15.4 °F.
    """
    air = {**AIR, "outdoor_air_temperature": Reading(273.15 + 53 / 1.8, 0.0, "ok", "", 0.1)}
    unit = msgspec.structs.replace(CHARGED, metering_device="fixed_orifice", target_subcooling_dk=None)
    read = {**running(low_f=40.0, high_f=110.0, subcooling_f=10.0, superheat_f=12.0), **air}
    targets = {}
    for pressure_pa in (101_325.0, 83_436.0):
        now = situation(read, 1000.0, unit)
        now = now.but(situation=replace(now.known.situation, barometric_pressure_pa=pressure_pa))
        history = History()
        for second in range(0, 1000, 2):
            history.add(float(second), read)
        verified = advise(now, history).verification
        assert verified is not None
        targets[pressure_pa] = next(it for it in verified.conditions if it.name == "target").measured.parts[0].value
        assert verified.target_dk == pytest.approx(targets[pressure_pa], abs=0.001)
    assert targets[101_325.0] * 1.8 == pytest.approx(17.0, abs=0.1)
    assert targets[83_436.0] * 1.8 == pytest.approx(15.4, abs=0.1)


def test_the_finder_finds() -> None:
    """A finder that finds nothing would let everything pass."""
    beside = msgspec.structs.replace(opinion(time_s=0.0), state="done", alarms=[])
    assert list(contradictions(beside))


def test_refused_by_name() -> None:
    with pytest.raises(CalcError):
        advise(situation({}, 0.0, msgspec.structs.replace(CHARGED, metering_device="capillary")), History())  # type: ignore[arg-type]
