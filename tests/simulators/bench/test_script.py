"""A visit from a file: it is read with its units, done at its times over the real wire, and the same every time."""

import asyncio
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import aiomqtt
import pytest

import simulators
from calc.units import parse
from ingest.wire.bench_acts import (
    Act,
    BenchState,
    CloseJaw,
    Discharge,
    FitCapacitor,
    Hose,
    OpenCylinder,
    Panel,
    PlaceLeads,
    SetLug,
    SetThermostat,
    ThrowDisconnect,
    TurnDial,
)
from ingest.wire.messages import AddedAsk, Answer, Ask, FindingAsk, NoteAsk, decode, decode_ask, encode, topic
from simulators.bench.bench import RIG_NAME, SimulatedRig
from simulators.bench.following import Outgoing
from simulators.bench.scenario import ScenarioError
from simulators.bench.script import ScriptError, load_script
from simulators.errors import SimulatorError
from tests import wire_rig
from tests.brokers import listening_to, mosquitto

HEAD = 'title = "A visit"\nscenario = "low_charge"\nby = "Sam"\n'
OFF = '[[step]]\nat = "1 s"\nact = "panel"\non = false\n'


def script_of(directory: Path, steps: str, head: str = HEAD) -> Path:
    path = directory / "visit.toml"
    path.write_text(head + steps, encoding="utf-8")
    return path


def test_a_step_is_an_act_or_an_ask_with_its_values_in_the_trades_units(tmp_path: Path) -> None:
    script = load_script(
        script_of(
            tmp_path,
            """
            ends = "30 min"
            [[step]]
            at = "0 s"
            act = "cylinder"
            open = "50 %"
            says = "slowly"
            [[step]]
            at = "2 min"
            ask = "added"
            mass = "6 oz"
            phase = "liquid"
            """,
        )
    )
    opened, added = script.steps
    assert (opened.at_s, opened.does, opened.says) == (0.0, OpenCylinder(open_ratio=0.5), "slowly")
    assert added.does == AddedAsk("script-2", "Sam", mass_kg=pytest.approx(0.170097, abs=1e-6), phase="liquid")
    assert list(script.due(0.0, 0.25)) == [opened]
    assert list(script.due(0.25, 120.0)) == []
    assert list(script.due(120.0, 120.25)) == [added]
    assert script.ends_s == 1800.0


def test_a_gauge_pressure_counts_from_the_barometer_of_its_scenario(tmp_path: Path) -> None:
    step = '[[step]]\nat = "1 s"\nact = "nitrogen"\npressure = "150 psig"\n'
    script = load_script(script_of(tmp_path, step))
    barometric_pa = script.scenario.parameters.conditions.barometric_pressure_pa
    expected_pa = parse("150 psig", "pressure", barometric_pressure_pa=barometric_pa)
    assert script.steps[0].does.pressure_pa == pytest.approx(expected_pa)  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("steps", "says"),
    [
        ('[[step]]\nat = "soon"\nact = "panel"\non = true\n', "step 1: .*soon"),
        ('[[step]]\nact = "panel"\non = true\n', "step 1"),
        ('[[step]]\nat = "1 s"\nact = "kick"\n', "step 1: .*kick"),
        ('[[step]]\nat = "1 s"\nact = "panel"\nopen = true\n', "step 1: .*open"),
        ('[[step]]\nat = "1 s"\nask = "added"\nmass = "6 feet"\n', "step 1: .*feet"),
        (
            '[[step]]\nat = "2 s"\nact = "panel"\non = true\n[[step]]\nat = "1 s"\nact = "panel"\non = true\n',
            "another order than their times",
        ),
        ('ends = "never"\n', "ends: .*never"),
        ('[[step]]\nat = "1 s"\nsays = {a = "b"}\nact = "panel"\non = true\n', "step 1: Expected `str`"),
        (
            '[[step]]\nat = "1 s"\nact = "cylinder"\nopen = "5 %"\nopen_ratio = 0.7\n',
            "step 1: open and open_ratio say the same",
        ),
        ('[[step]]\nat = "-1 s"\nact = "panel"\non = true\n', "step 1: at = '-1 s' is before the start"),
        ('[[step]]\nat = "1 s"\nask = "note"\ntext = "x"\nmass = "1 oz"\nact = "panel"\n', "act, mass.* ask = 'note'"),
        ('[[step]]\nat = "1 s"\nask = "note"\ntext = "x"\nid = "mine"\n', "step 1: id cannot be given"),
        (f'[[step]]\nat = "1 s"\nask = "note"\ntext = "{"x" * 70_000}"\n', "step 1: .* bytes; at most"),
        ('ends = "-1 s"\n', "ends = '-1 s' comes before"),
        ('ends = "1 s"\n[[step]]\nat = "1 s"\nact = "panel"\non = true\n', "ends = '1 s' comes before"),
        ("steps = 3\n", "steps"),
        (
            f'{OFF}[[step]]\nat = "2 s"\nact = "lug"\nlug = "fan_comon"\n',
            "line 8, step 2: there is no lug 'fan_comon'; there are .*; was 'fan_common' meant",
        ),
        (
            f'{OFF}\n[[step]]\nat = "2 s"\nact = "leads"\nred = "line_a"\nblack = "line_d"\n',
            "line 9, step 2: there is no point 'line_d'; there are .*; was 'line_[abc]' meant",
        ),
        (
            f'{OFF}[[step]]\nat = "2 s"\nact = "clamp"\nlead = "fan_run"\nturns = 50\n',
            "line 8, step 2: .* 1 to 20 times",
        ),
        (
            f'{OFF}[[step]]\nat = "2 s"\nact = "swap_leads"\none = "a"\nother = "d"\n',
            "line 8, step 2: there is no leg 'd'",
        ),
        (
            '[[step]]\nat = "2 s"\nact = "lug"\nlug = "fan_common"\n',
            "line 4, step 1: the panel is on: take it off first",
        ),
        (
            'step = [{at = "2 s", act = "block", motor = "pump", blocked = true}]\n',
            "toml: step 1: there is no motor 'pump'",
        ),
    ],
)
def test_a_mistake_is_told_with_the_step_it_is_in(tmp_path: Path, steps: str, says: str) -> None:
    with pytest.raises(ScriptError, match=says):
        load_script(script_of(tmp_path, steps))


def test_a_script_of_no_scenario_or_of_no_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ScenarioError, match="nowhere"):
        load_script(script_of(tmp_path, "", 'title = "A visit"\nscenario = "nowhere"\n'))
    with pytest.raises(ScriptError, match=r"none\.toml"):
        load_script(tmp_path / "none.toml")
    with pytest.raises(ScriptError, match="/dev/zero is a folder, a pipe or a device"):
        load_script(Path("/dev/zero"))  # which has no end
    with pytest.raises(ScriptError, match="by is empty"):
        load_script(script_of(tmp_path, "", HEAD.replace("Sam", " ")))


def test_a_script_is_not_played_on_top_of_another_visit(tmp_path: Path) -> None:
    """Its asks have the ids of the time before, so the rig would take them for the same ones again."""
    script = load_script(script_of(tmp_path, ""))
    (tmp_path / "bench.sqlite").touch()
    with pytest.raises(SimulatorError, match=r"bench\.sqlite holds one: give it a new folder"):
        SimulatedRig(script.scenario, directory=tmp_path, script=script)


def test_what_the_rig_does_not_do_of_a_script_is_told(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    script = load_script(script_of(tmp_path, '[[step]]\nat = "9 s"\nask = "note"\ntext = "x"\n'))
    rig = SimulatedRig(script.scenario, directory=tmp_path, script=script)
    for answer in (Answer("script-1", ok=True), Answer("other", ok=False, reason="no"), Answer("script-1", ok=False)):
        rig.receive(topic(RIG_NAME, f"answer/technician/{answer.id}"), encode(answer))
    rig.receive(topic(RIG_NAME, "answer/technician/script-1"), encode(Answer("script-1", ok=False, reason="not saved")))
    assert caplog.messages[-1] == "the script at 9 s: the rig did not do it: not saved"
    assert len(caplog.messages) == 2


def test_what_a_rig_has_not_answered_is_asked_again_when_it_is_back_and_told_at_the_end(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """A rig that is killed between broker and record has not done what it was asked, and nobody else would know."""
    script = load_script(script_of(tmp_path, 'ends = "3 s"\n[[step]]\nat = "1 s"\nask = "note"\ntext = "x"\n'))
    rig = SimulatedRig(script.scenario, directory=tmp_path, script=script)
    rig.advance(2.0)
    there = encode(wire_rig.about(started_s=0.0))
    rig.receive(topic(RIG_NAME, "about"), there)

    def asked() -> list[Outgoing]:
        return [it for it in rig._outbox._waiting if "/ask/" in it.topic]  # beside what is heard of the compressor

    first, again = asked()
    assert first == again
    rig.advance(2.0)
    rig.advance(2.0)
    assert [text for text in caplog.messages if "not answered script-1" in text] == [
        "the script ends, and the rig has not answered script-1: it may not be in the record"
    ]
    rig.receive(topic(RIG_NAME, "answer/technician/script-1"), encode(Answer("script-1", ok=True)))
    rig.receive(topic(RIG_NAME, "about"), there)
    assert len(asked()) == 2


def test_a_scenario_of_ones_own_stands_beside_its_script(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shipped = Path(simulators.__file__).parent / "scenarios" / "low_charge.toml"
    (tmp_path / "mine.toml").write_bytes(shipped.read_bytes())
    monkeypatch.chdir("/")
    visit = script_of(tmp_path, "", 'title = "A visit"\nscenario = "mine.toml"\n')
    assert load_script(visit).scenario.file.title == "A little low"


SHIPPED = sorted((Path(simulators.__file__).parent / "scripts").glob("*.toml"))


OPENS_A_PANEL = [path for path in SHIPPED if 'act = "panel"' in path.read_text(encoding="utf-8")]
AT_THE_DISCONNECT = {"", "line_a", "line_b", "disconnect_a", "disconnect_b", "earth"}
"""Where leads stand with the panel on."""
LINE = PlaceLeads(red="line_a", black="line_b")
LEADS_OF_THE_WINDING = {"compressor_run", "compressor_common", "capacitor_herm"}
"""The lugs whose leads lie between the compressor's winding and all else, of one phase."""


def of_a_pair(red: str, black: str) -> PlaceLeads:
    return PlaceLeads(red=red, black=black)


def every_pair(place: str) -> list[PlaceLeads]:
    return [of_a_pair(f"{place}_a", f"{place}_b"), *(of_a_pair(f"{place}_{leg}", "earth") for leg in "ab")]


def is_in_this_order(does: Sequence[object], wanted: Sequence[object]) -> bool:
    """Whether all that is wanted is done, one after the other; other things may lie between."""
    left = iter(does)
    return all(any(it == one for it in left) for one in wanted)


def begun(path: Path) -> list[Act | Ask]:
    return [step.does for step in load_script(path).steps]


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_no_hand_and_no_lead_of_a_shipped_visit_comes_into_a_panel_that_is_live(path: Path) -> None:
    """Whoever watches it learns from it: the panel comes off and leads go in after the lock (NFPA 70E, as taught)."""
    closed = called = True
    for act in begun(path):
        match act:
            case ThrowDisconnect():
                assert not called  # it is thrown without its load: common practice, no source
                closed = act.closed
            case SetThermostat():
                called = act.calls
            case Panel():
                assert act.on or not closed
            case PlaceLeads() if closed:
                assert {act.red, act.black} <= AT_THE_DISCONNECT
            case CloseJaw():
                assert not (closed and act.lead)
            case SetLug() | FitCapacitor() | Discharge():
                assert not closed


@pytest.mark.parametrize("path", OPENS_A_PANEL, ids=lambda path: path.stem)
def test_a_shipped_visit_opens_a_panel_in_the_order_of_its_cautions(path: Path) -> None:
    """Live, locked, tried, dead, live (29 CFR 1910.333(b)(2)(iv), from memory; NFPA 70E 120.5, as taught), then again
    at the place of work with the control circuit, then the capacitor; the detector before the panel (servicing clauses
    after IEC 60335-2-40, from memory)."""
    does = begun(path)
    off, on = does.index(Panel(on=False)), does.index(Panel(on=True))
    tried = [ThrowDisconnect(closed=False), SetThermostat(calls=True), SetThermostat(calls=False)]
    assert is_in_this_order(does[:off], [LINE, *tried, *every_pair("disconnect"), LINE])
    detected = [it for it in does[:off] if isinstance(it, FindingAsk) and it.check == "what_is_in_it"]
    assert [it.choices["area_checked"] for it in detected] == ["yes"]
    hands = next(place for place, it in enumerate(does) if isinstance(it, (Discharge, SetLug, FitCapacitor)))
    control = of_a_pair("secondary_r", "secondary_c")
    assert is_in_this_order(does[off:hands], [*every_pair("contactor_line"), control, LINE])
    assert on < does.index(ThrowDisconnect(closed=True)) < len(does) - does[::-1].index(SetThermostat(calls=True))


def capacitor_pairs(fitted: FitCapacitor) -> list[PlaceLeads]:
    sections = [of_a_pair(f"capacitor_{section}", "capacitor_common") for section in fitted.sections_f]
    return [*sections, of_a_pair("capacitor_herm", "capacitor_fan")] if len(sections) > 1 else sections


@pytest.mark.parametrize("path", OPENS_A_PANEL, ids=lambda path: path.stem)
def test_a_shipped_visit_measures_each_pair_of_a_capacitor_before_and_after_it_is_emptied(path: Path) -> None:
    """Herm to fan too: both sections in a row keep what neither shows to common (common practice, no source)."""
    does = begun(path)
    fitted = next(it for it in does if isinstance(it, FitCapacitor))
    emptied = {it.section: place for place, it in enumerate(does) if isinstance(it, Discharge)}
    wired = next(place for place, it in enumerate(does) if isinstance(it, (SetLug, FitCapacitor)))
    assert emptied.keys() == fitted.sections_f.keys()
    before = does[does.index(TurnDial(function="dc_voltage")) : min(emptied.values())]
    assert all(pair in before for pair in capacitor_pairs(fitted))
    assert all(pair in does[max(emptied.values()) : wired] for pair in capacitor_pairs(fitted))


@pytest.mark.parametrize("path", OPENS_A_PANEL, ids=lambda path: path.stem)
def test_a_shipped_visit_tests_insulation_with_the_winding_alone_and_discharges_it_after(path: Path) -> None:
    """Every lead off the winding; then four times as long as the test, leads still on (IEEE 43, from memory)."""
    script = load_script(path)
    off: set[str] = set()
    steps = iter(script.steps)
    for step in steps:
        if isinstance(step.does, SetLug):
            off = off | {step.does.lug} if step.does.off else off - {step.does.lug}
        if step.does == TurnDial(function="insulation"):
            assert off >= LEADS_OF_THE_WINDING
            emptying, taken_off = next(steps), next(steps)
            assert emptying.does == TurnDial(function="dc_voltage")
            assert taken_off.at_s - emptying.at_s >= 4 * (emptying.at_s - step.at_s)


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_a_shipped_visit_looks_for_leaks_after_its_last_hose(path: Path) -> None:
    """Common practice, no source."""
    does = begun(path)
    last_hose = max(place for place, act in enumerate(does) if isinstance(act, Hose) and not act.on)
    assert any("No leak found" in getattr(it, "text", "") for it in does[last_hose:])


def test_what_a_step_says_is_told_to_who_watches_with_its_time(tmp_path: Path) -> None:
    steps = '[[step]]\nat = "65 s"\nact = "panel"\non = false\nsays = "Panel off."\n'
    script, told = load_script(script_of(tmp_path, steps)), []
    rig = SimulatedRig(script.scenario, directory=tmp_path, script=script, tell=told.append)
    rig.simulated_s = 65.0
    rig.advance(0.25)
    assert told == ["  1:05  Panel off."]
    rig.advance(0.25)
    assert len(told) == 1


async def test_it_is_played_over_the_broker_once_the_rig_is_there(tmp_path: Path, free_port: Callable[[], int]) -> None:
    script = load_script(
        script_of(
            tmp_path,
            """
            ends = "8 s"
            [[step]]
            at = "1 s"
            act = "hose"
            port = "suction"
            on = true
            [[step]]
            at = "2 s"
            act = "recovery"
            runs = true
            [[step]]
            at = "3 s"
            ask = "note"
            text = "hose on"
            """,
        )
    )
    note, state = topic(RIG_NAME, "ask/technician/note"), topic(RIG_NAME, "bench/state")
    async with (
        mosquitto(free_port(), tmp_path) as broker,
        listening_to(broker.address) as ear,
        SimulatedRig(script.scenario, directory=tmp_path, speed=10.0, script=script) as rig,
        aiomqtt.Client("127.0.0.1", broker.address.port) as client,
    ):
        following = asyncio.create_task(rig.follow(broker.address))
        try:
            await ear.until(lambda: len(ear.payloads(state)) == 1)
            assert rig.simulated_s == 0.0  # nobody is there yet who could be asked
            await client.publish(topic(RIG_NAME, "about"), encode(wire_rig.about(started_s=time.time())), qos=1)
            async with asyncio.timeout(30):
                await rig.ended.wait()
            await ear.until(lambda: len(ear.payloads(note)) == 1 and len(ear.payloads(state)) == 3)
        finally:
            following.cancel()
            await asyncio.wait([following])
    assert decode_ask(ear.payloads(note)[0]) == NoteAsk("script-3", "Sam", text="hose on")
    stood = [decode(payload, BenchState) for payload in ear.payloads(state)]
    assert [(it.hoses, it.done) for it in stood] == [((), 0), (("suction",), 1), (("suction",), 1)]
    assert "stop the unit" in stood[-1].refused
