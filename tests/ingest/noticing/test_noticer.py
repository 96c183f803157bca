"""A visit that is noticed: nothing of a unit that idles or runs, nothing twice after a start, nothing in doubt."""

import ast
from collections.abc import Sequence
from pathlib import Path
from typing import cast

import pytest
from msgspec.structs import replace

import ingest.noticing
from calc.sentences import ENGLISH, Sentence, weighed
from ingest.noticing.noticer import Noticer
from ingest.noticing.sight import Known, Seen, Sight
from ingest.noticing.table import RECOGNISERS
from ingest.parts.noticing import NoticedVisit, Noticing
from ingest.visit.checklist import guided
from ingest.visit.deciding import Facts
from ingest.visit.decisions import DECISIONS
from ingest.visit.standing import Standing
from ingest.wire.bench_acts import SetThermostat
from ingest.wire.messages import (
    Added,
    Dismissed,
    Finding,
    KeepAsk,
    Mark,
    Pack,
    Proposed,
    ProposedFinding,
    ProposedMove,
    Reading,
    Recovered,
    Reloaded,
    decode,
    encode,
)
from simulators.bench.script import load_script
from tests.ingest.noticing.courses import AIR_PA, KNOWN, T0_S, TICK_S, UNIT, Bench, Course, kinds, known, pack
from tests.ingest.noticing.test_electrical_dead import AT_REST, OFF, RUNS

ROOM = Path(ingest.noticing.__file__).parent
SCRIPTS = Path(__file__).parents[3] / "simulators" / "scripts"
REST_PA = 1.5e6
EIGHT_HOURS_S = 8 * 3600.0
LATE_PACKS = 4800  # twenty minutes of four a second, less than the record gives back


def test_every_kind_that_is_noticed_has_its_sentence() -> None:
    said = {
        node.value
        for path in ROOM.glob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value.startswith("noticed.")
    }
    spelt_out = {kind for kind in said if not kind.endswith(("_", "."))}
    assert len(spelt_out) > 25
    assert spelt_out <= ENGLISH.sentences.keys()
    assert all(pattern.endswith(("?", ".")) for kind, pattern in ENGLISH.sentences.items() if kind in spelt_out)
    assert all("?" in ENGLISH.sentences[kind] for kind in spelt_out)


def test_every_recogniser_that_a_check_names_is_there() -> None:
    named = {it.check.recogniser for it in guided().values() if it.check.recogniser}
    names = {*RECOGNISERS, "power"}  # the power goes off and comes back
    elsewhere = {"conditions", "pressure_at_rest", "resistance"}
    assert named - names <= elsewhere


RUNNING = ["noticed.compressor_amps", "noticed.amps_within"]
CYCLING = {
    *RUNNING, "noticed.supply", "noticed.started", "noticed.start_cannot_tell", "noticed.first_seconds_started",
}  # fmt: skip


@pytest.mark.parametrize(
    ("scenario", "told"), [("all_is_well", RUNNING), pytest.param("hums_and_trips", [], marks=pytest.mark.hours)]
)
def test_an_hour_of_the_instruments_noise_shows_nothing_more(scenario: str, told: list[str], tmp_path: Path) -> None:
    """A unit that has settled, or never ran, with every instrument of the bench; its own hours are tried below."""
    bench, noticer = Bench(scenario, tmp_path, tick_s=2.0), Noticer("v1")
    bench.of_instruments_alone = True
    assert kinds(bench.follow(EIGHT_HOURS_S / 8, noticer)) == told


@pytest.mark.hours
def test_eight_hours_of_a_running_unit_show_nothing_more(tmp_path: Path) -> None:
    bench = Bench("all_is_well", tmp_path, tick_s=1.0)
    assert kinds(bench.follow(EIGHT_HOURS_S, Noticer("v1"))) == RUNNING


@pytest.mark.hours
def test_eight_hours_of_a_unit_at_rest_show_nothing(tmp_path: Path) -> None:
    bench = Bench("all_is_well", tmp_path, tick_s=1.0)
    bench.rig.hands.do(SetThermostat(calls=False))
    assert bench.follow(EIGHT_HOURS_S, Noticer("v1")) == []


@pytest.mark.hours
def test_a_unit_that_cycles_is_told_of_once(tmp_path: Path) -> None:
    bench, noticer, seen = Bench("all_is_well", tmp_path), Noticer("v1"), []
    for _ in range(3):
        for calls in (False, True):
            bench.rig.hands.do(SetThermostat(calls=calls))
            seen += bench.follow(500.0, noticer)
    told = kinds(seen)
    assert sorted(set(told)) == sorted(told)
    assert {"noticed.supply", *RUNNING} <= set(told) <= CYCLING


@pytest.fixture(scope="module")
def visit(tmp_path_factory: pytest.TempPathFactory) -> tuple[list[Pack], Known]:
    """The packs of a scripted visit, up to the first minutes of running."""
    script = load_script(SCRIPTS / "whole_visit.toml")
    bench = Bench("hums_and_trips", tmp_path_factory.mktemp("bench"), script)
    return list(bench.packs(900.0)), Known(bench.unit, bench.air_pa)


VISIT = [
    "noticed.power_off",
    "noticed.dead_unnamed",
    "noticed.dead_unnamed",
    "noticed.capacitor_unnamed",
    "noticed.capacitor_unnamed",
    "noticed.power_back",
    "noticed.started",
    "noticed.supply",
    "noticed.joint",
    "noticed.compressor_amps",
    "noticed.amps_within",
]


def test_a_scripted_visit_writes_itself(visit: tuple[list[Pack], Known]) -> None:
    packs, of = visit
    noticer = Noticer("v1")
    seen = [it for each in packs for it in noticer.follow(each, of)]
    assert kinds(seen) == VISIT
    assert len({it.id for it in seen}) == len(seen)
    off, at_the_disconnect, dead, old, new, back, *_ = seen
    assert off.from_s - T0_S == pytest.approx(50.0, abs=1.0)  # the script opens the disconnect there
    assert (old.what.values, new.what.values) == (  # type: ignore[union-attr]
        {"measured.?": pytest.approx(9e-6, rel=0.01)}, {"measured.?": pytest.approx(45e-6, rel=0.01)}
    )  # fmt: skip
    assert at_the_disconnect.to_s - T0_S == pytest.approx(72.5, abs=1.0)
    assert dead.to_s - T0_S == pytest.approx(103.5, abs=1.0)
    assert back.from_s - T0_S == pytest.approx(260.5, abs=1.0)


ALL = pytest.mark.hours
"""Around every proposal, where a part of the moments will do otherwise."""


@pytest.mark.parametrize(
    ("lost_s", "step"),
    [pytest.param(0.0, 16, marks=ALL), (1.0, 15), pytest.param(0.0, 1, marks=ALL), pytest.param(1.0, 1, marks=ALL)],
    ids=["recorded", "the last second not", "recorded, every moment", "the last second not, every moment"],
)
def test_a_kill_at_any_moment_proposes_nothing_twice_and_loses_nothing(
    visit: tuple[list[Pack], Known], lost_s: float, step: int
) -> None:
    packs, of = visit
    noticer = Noticer("v1")
    whole = [(each, list(noticer.follow(each, of))) for each in packs]
    cuts = sorted(
        {int(4 * (it.time_s - T0_S)) + shift for _, came in whole for it in came for shift in (-8, -1, 0, 1, 8)}
    )
    for cut in cuts[::step]:
        recorded = [it for each, came in whole[:cut] for it in came if it.time_s <= packs[cut].time_s - lost_s]
        marks = [decode(encode(it), Mark) for it in recorded]  # type: ignore[arg-type]
        after = Noticer("v1")
        again = list(after.go_on(packs[max(0, cut - LATE_PACKS) : cut], marks, of))
        again += [it for each in packs[cut + 8 :] for it in after.follow(each, of)]  # two seconds until it is back
        assert sorted(kinds([*recorded, *again])) == sorted(VISIT), cut
        assert len({it.id for it in (*recorded, *again)}) == len(VISIT), cut


OUNCE_KG = 0.028349523125  # NIST SP 811, B.8


@pytest.mark.parametrize(
    ("written_kg", "told"),
    [(None, ["weighed"]), (6 * OUNCE_KG, []), (20 * OUNCE_KG, ["weighed"]), (-6 * OUNCE_KG, ["weighed"])],
    ids=["nobody wrote it", "it was written", "something else was written", "recovered"],
)
def test_what_left_a_cylinder_is_proposed_unless_somebody_wrote_it_already(
    written_kg: float | None, told: list[str]
) -> None:
    course = Course(spreads={"cylinder_mass": 0.007})
    course.go(300.0, cylinder_mass=10.0)
    course.go(60.0, cylinder_mass=lambda t_s: 10.0 - 6.2 * OUNCE_KG * t_s / 60.0)
    course.go(10.0, cylinder_mass=10.0 - 6.2 * OUNCE_KG)
    if written_kg is not None:
        kind = Added if written_kg > 0 else Recovered
        course.noticer.take(kind("m1", course.time_s, "Sam", "technician", mass_kg=abs(written_kg)))
    course.go(300.0)
    assert [it.says.kind.partition(".")[0] for it in course.proposed] == told
    for it in course.proposed:
        assert isinstance(it.what, ProposedMove)
        assert it.what.mass_kg == pytest.approx(6.2 * OUNCE_KG, abs=0.1 * OUNCE_KG)


def weigh(course: Course, times: int) -> None:
    """Let 6.2 oz leave the cylinder, with three minutes and a half in which it stands."""
    from_kg = 10.0 - 6.2 * OUNCE_KG * times
    course.go(60.0, cylinder_mass=lambda t_s: from_kg - 6.2 * OUNCE_KG * t_s / 60.0)
    course.go(210.0, cylinder_mass=from_kg - 6.2 * OUNCE_KG)


@pytest.mark.parametrize("how", ["kept", "by hand", "dismissed"])
def test_what_was_kept_of_one_proposal_is_not_the_next_move(how: str) -> None:
    """Half a minute before it may be told as its beginning, when the one before was kept."""
    course = Course(spreads={"cylinder_mass": 0.007})
    course.go(300.0, cylinder_mass=10.0)
    weigh(course, 0)
    (first,) = course.proposed
    soon_s = course.time_s + 15.0
    marks: dict[str, Mark] = {
        "kept": Added("k1", soon_s, "Sam", "technician", mass_kg=6.2 * OUNCE_KG, proposal=first.id),
        "by hand": Added("m1", soon_s, "Sam", "technician", mass_kg=6.2 * OUNCE_KG),
        "dismissed": Dismissed("d1", soon_s, "Sam", "technician", of=first.id),
    }
    course.noticer.take(marks[how])
    weigh(course, 1)
    assert [it.says.kind for it in course.proposed] == ["weighed.left_in_view"] * 2


class Shows:
    """A scale that shows two moves alike, the second as soon as the first is told: the ends of each are inexact."""

    latency_s = 1.0

    def take(self, sight: Sight) -> Sequence[Seen]:
        from_s = sight.time_s - 100.0
        says = Sentence("weighed.left", (weighed("mass", 0.17),))
        return [Seen(ProposedMove(0.17, 0.01), from_s + at_s, from_s + at_s + 10.0, says) for at_s in (0.0, 20.0)]


def test_an_amount_that_was_noted_by_hand_stands_for_one_move_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(cast(dict[str, object], RECOGNISERS), "scale", Shows)
    course = Course()
    course.noticer.take(Added("m1", T0_S - 50.0, "Sam", "technician", mass_kg=0.17))
    course.go(TICK_S)
    assert [it.from_s for it in course.proposed] == [T0_S + TICK_S - 80.0]


def test_a_plate_that_cannot_be_costs_one_proposal_and_nothing_else() -> None:
    """A sheet is typed by people: locked-rotor amps below the rated ones, 400 Hz."""
    assert KNOWN.sheet is not None
    motor, *others = KNOWN.sheet.parts
    wrong = replace(KNOWN.sheet, hertz=400.0, parts=[replace(motor, locked_rotor_a=1.0), *others])
    course = Course(of=known(sheet=wrong))
    course.go(400.0, **AT_REST)
    course.go(400.0, **RUNS)
    course.go(20.0, multimeter_ac_voltage=370.0, compressor_current=6.3)
    assert {"noticed.supply", "noticed.compressor_amps"} <= set(kinds(course.proposed))
    assert not {"noticed.started", "noticed.start_cannot_tell"} & set(kinds(course.proposed))
    assert course.noticer.refused.keys() == {"start", "under_load"}
    assert "locked_rotor_a" in course.noticer.refused["start"]


class Fails:
    """A recogniser with a mistake in it: it fails at each sight, or what it says cannot be worded."""

    latency_s = 1.0

    def __init__(self, *, says: bool) -> None:
        self._says = says

    def take(self, sight: Sight) -> Sequence[Seen]:
        if not self._says:
            raise ZeroDivisionError
        return [Seen(ProposedFinding("probes_off"), sight.time_s, sight.time_s, Sentence("noticed.probes_off"))]


def short_course() -> Course:
    """A unit that is started, has a probe put on and its power taken; four recognisers tell of it."""
    course = Course(tick_s=0.5)
    course.go(20.0, **AT_REST, suction_pressure=AIR_PA)
    course.go(70.0, **RUNS, suction_pressure=REST_PA)
    course.go(30.0, **OFF, suction_pressure=REST_PA)
    return course


@pytest.fixture(scope="module")
def told_by_all() -> list[str]:
    return kinds(short_course().proposed)


@pytest.mark.parametrize("says", [False, True], ids=["fails", "says what cannot be worded"])
@pytest.mark.parametrize("name", RECOGNISERS)
def test_a_recogniser_that_fails_is_left_out_and_the_others_go_on(
    name: str, says: bool, told_by_all: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(cast(dict[str, object], RECOGNISERS), name, lambda: Fails(says=says))
    course = short_course()
    assert course.noticer.failed.keys() == {name}
    assert course.noticer.failed[name].time_s == course.packs[0].time_s
    told = kinds(course.proposed)
    assert [kind for kind in told_by_all if kind in told] == told
    assert len(told_by_all) - len(told) <= 1


def test_a_recogniser_that_failed_looks_again_once_the_configuration_is_read_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    with monkeypatch.context() as broken:
        broken.setitem(cast(dict[str, object], RECOGNISERS), "connection", lambda: Fails(says=False))
        course = short_course()
        assert course.noticer.failed.keys() == {"connection"}
    course.noticer.take(Reloaded("r1", course.time_s, text="the configuration is as it was"))
    assert course.noticer.failed == {}
    course.go(5.0, suction_pressure=AIR_PA)
    course.go(70.0, suction_pressure=REST_PA)
    assert kinds(course.proposed).count("noticed.suction_probe_on") == 1


def test_what_failed_is_logged_and_told_and_the_packs_before_a_start_do_not_fail_it(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """As the daemon does it: the packs that the record gives back at a start are those on which it failed."""
    monkeypatch.setitem(cast(dict[str, object], RECOGNISERS), "connection", lambda: Fails(says=True))
    packs = short_course().packs
    told: list[tuple[str, ...]] = []
    noticing = Noticing(
        NoticedVisit(lambda: KNOWN, lambda: 1.0, lambda: True), lambda _: None, told.append, lambda _: None
    )
    noticing.begin("v1", packs, [])
    for each in packs[-3:]:
        noticing.follow(each)
    (record,) = [it for it in caplog.records if it.levelname == "ERROR"]
    assert f"'connection' failed on the pack of {packs[0].time_s:.3f} s" in record.getMessage()
    assert record.exc_info
    noticing.take(Reloaded("r1", packs[-1].time_s, text="the configuration is as it was"))
    assert told == [("connection",), ()]


def test_what_stood_before_a_long_gap_is_not_told_again() -> None:
    course = Course()
    course.go(10.0, **AT_REST)
    course.go(400.0, **RUNS, capacitance_herm=44e-6)
    told = len(course.proposed)
    assert told >= 4
    course.ticks += 4 * 3600
    course.go(400.0)
    assert len(course.proposed) == told


def test_a_new_visit_is_told_of_anew() -> None:
    first, second = Course(Noticer("v1")), Course(Noticer("v2"))
    for course in (first, second):
        course.go(60.0, **RUNS)
        course.go(60.0, **OFF)
    assert kinds(first.proposed) == kinds(second.proposed) == ["noticed.power_off"]
    assert first.proposed[0].id != second.proposed[0].id


@pytest.mark.parametrize("name", ["compressor_current", "line_voltage_ab"])
def test_nothing_is_said_of_a_channel_that_is_in_doubt(name: str) -> None:
    course = Course(of=known(in_doubt=frozenset({name})))
    course.go(60.0, **AT_REST)
    course.go(400.0, **RUNS)
    assert not [it for it in course.proposed if it.what.check in ("supply", "power_back", "isolate")]  # type: ignore[union-attr]
    assert ("noticed.compressor_amps" in kinds(course.proposed)) == (name != "compressor_current")


@pytest.mark.parametrize("quality", ["stale", "overload", "sensor_fault", "elsewhere"])
def test_nothing_is_said_of_a_reading_that_is_old_at_fault_or_of_another_circuit(quality: str) -> None:
    noticer = Noticer("v1")
    for tick in range(4 * 400):
        reading = Reading(44e-6, T0_S + tick / 4, quality)
        assert noticer.follow(pack(tick, {"capacitance_herm": reading}), KNOWN) == []


def test_a_channel_that_drops_out_now_and_then_still_tells() -> None:
    course = Course()
    for _ in range(30):
        course.go(1.75, **RUNS)
        course.go(0.25, compressor_current=None)
    course.go(60.0, **OFF)
    assert kinds(course.proposed) == ["noticed.power_off"]


def test_after_a_move_readings_are_worth_telling_again_though_the_rig_was_started_anew() -> None:
    first = Course(of=known(settled="subcooling"))
    works = {"suction_pressure": 0.9e6, "liquid_pressure": 2.5e6}
    first.go(60.0, subcooling=5.0, **works)
    (before,) = first.proposed
    again = Noticer("v1")
    again.go_on([], [before], KNOWN)
    second = Course(again, of=known(settled="subcooling"))
    second.ticks = 4 * 3600
    second.go(60.0, subcooling=5.0, **works)
    assert second.proposed == []
    again.take(Added("m1", second.time_s, mass_kg=0.1))
    second.of = known(settled="subcooling", moved_s=second.time_s)
    second.go(60.0)
    assert kinds(second.proposed) == ["noticed.settled_after"]


def keep(proposed: Proposed) -> Finding:
    """Keep a proposal at the moment when it was made, whatever it was taken of."""
    assert isinstance(proposed.what, ProposedFinding)
    standing = Standing("v1", [proposed])
    ask = KeepAsk("k1", "Sam", of=proposed.id, per=tuple(proposed.what.per)[:1])
    facts = Facts(UNIT, {}, frozenset(), frozenset())
    kept = DECISIONS[KeepAsk](ask, ("k1", T0_S, "Sam", "technician"), standing, facts)
    assert isinstance(kept, Finding)
    return kept


def test_every_check_takes_what_is_proposed_of_it_as_measured(visit: tuple[list[Pack], Known]) -> None:
    """Each by its check's own figures and choices, with the part that no meter tells named by the person."""
    packs, of = visit
    noticer = Noticer("v1")
    found = {it.says.kind: keep(it) for each in packs for it in noticer.follow(each, of)}
    assert {it.grade for it in found.values()} == {"measured"}
    assert found["noticed.capacitor_unnamed"].values.keys() == {"measured.herm"}
    assert found["noticed.dead_unnamed"].values.keys() == {"source_before", "source_after", "volts.a_b"}
    assert found["noticed.amps_within"].outcome == "met"
    assert found["noticed.power_off"].outcome == "cannot_tell"  # who locked which disconnect no instrument tells
