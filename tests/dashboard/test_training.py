"""An exercise on the bench as the page words it, and who may end it."""

import json
from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Literal, get_args

import msgspec
import pytest

from dashboard import display, words
from dashboard.errors import AskError
from dashboard.hub import Hub
from dashboard.invitations import make_invitation
from dashboard.roles import Visitor
from dashboard.training import exercise as training
from dashboard.training.acts import do
from dashboard.training.hands import controls
from dashboard.training.told import told as told_in_words
from dashboard.training.verdicts import commit
from ingest.wire.bench_acts import (
    ACTS,
    ANY_ACT,
    PLACES,
    Act,
    BenchState,
    CapacitorSection,
    ChangeFilter,
    CloseJaw,
    Evacuate,
    FitCapacitor,
    Hose,
    MeterFunction,
    MoveProbes,
    Panel,
    PlaceLeads,
    Recover,
    ScrewProbes,
    SetLug,
    SetSupply,
    SetThermostat,
    ThrowDisconnect,
    is_arranged,
)
from ingest.wire.bench_messages import BenchAbout, BenchPoints, BenchReveal
from ingest.wire.held_back import held_back
from ingest.wire.messages import (
    Advice,
    AlarmMessage,
    AwaitedMessage,
    DoubtMessage,
    NextStepMessage,
    Wording,
    encode,
    topic,
)
from simulators.bench.training import FAULTS, Move, Truth, score
from simulators.unit.electric.panel import joint_names
from simulators.unit.electric.supply import Supply
from tests import wire_rig
from tests.page import cookie_of, enter, request, serving_page, settings
from tests.wire_rig import RIG

SAM, ROBIN = Visitor("technician", "Sam"), Visitor("lead", "Robin")
BLIND = BenchAbout("", "The fan runs.\nIt is still warm.\n", blind=True, speed=10.0, faults=dict(FAULTS))
REVEALED = BenchReveal(
    scenario="A little low",
    verdict="restriction",
    fault="undercharge",
    reading="Subcooling is\nfar below.",
    right=False,
    points=1,
    parts=(BenchPoints("for the fault", 0, 6), BenchPoints("for the charge as it was left", 1, 2)),
    time_s=3900.0,
    added_kg=0.17009714,  # 6 oz: NIST SP 811, B.8
    recovered_kg=0.0,
    charge_error_kg=-0.226796,  # 8 oz, likewise
    wrong_moves=("after a change of the charge neither had it settled nor were 15 min over, 2 times",),
)


def hub(*, simulated: bool = True, bench: BenchAbout | None = BLIND, reveal: BenchReveal | None = None) -> Hub:
    known = Hub()
    known.receive(topic(RIG, "about"), encode(wire_rig.about(started_s=1.7e9, simulated=simulated)))
    known.receive(topic(RIG, "advice"), encode(wire_rig.advice(time_s=1.7e9)))
    if bench is not None:
        known.receive(topic(RIG, "bench/about"), encode(bench))
    if reveal is not None:
        known.receive(topic(RIG, "bench/reveal"), encode(reveal))
    return known


async def seen(known: Hub, units: str = "us") -> dict[str, dict]:
    """What a page that opens now is told, by kind."""
    text = (await known.join(units).take()).decode()
    blocks = [block.split("\n", 1) for block in text.strip().split("\n\n")]
    return {kind.removeprefix("event: "): json.loads(data.removeprefix("data: ")) for kind, data in blocks}


# --- in words


def test_an_exercise_tells_its_story_and_nothing_else() -> None:
    told = training.exercise(BLIND, None, "us")
    assert told == {
        "title": "is anything wrong?",
        "story": "The fan runs. It is still warm.",
        "open": True,
        "reveal": None,
    }


@pytest.mark.parametrize(
    ("units", "added", "left"), [("us", "6 oz", "8 oz too little"), ("si", "170 g", "227 g too little")]
)
def test_the_result_is_told_in_the_readers_units(units: str, added: str, left: str) -> None:
    told = training.exercise(BLIND, REVEALED, units)
    assert not told["open"]
    result = told["reveal"]
    assert result["brief"] == "Not right · Too little refrigerant · 1 of 8 points"
    rows = dict(result["rows"])
    assert rows["The truth"] == "Too little refrigerant"
    assert rows["The verdict"] == "A restricted liquid line"
    assert rows["Time, by the unit's clock"] == "1 h 5 min"
    assert (rows["Refrigerant added"], rows["Refrigerant recovered"]) == (added, "none")
    assert rows["Charge left in the unit"] == left
    assert result["parts"] == [["for the fault", "0 of 6"], ["for the charge as it was left", "1 of 2"]]
    assert result["reading"] == "Subcooling is far below."
    assert result["wrong_moves"] == [
        "After a change of the charge neither had it settled nor were 15 min over, 2 times."
    ]


@pytest.mark.parametrize(
    ("error_kg", "said"),
    [(0.0, "as it should be"), (-0.0004, "as it should be"), (0.0015, "2 g too much"), (-1.25, "1.25 kg too little")],
)
def test_the_charge_that_was_left(error_kg: float, said: str) -> None:
    assert training.charge_left(error_kg, "si") == said


def test_every_score_of_the_bench_adds_up_on_the_page() -> None:
    truth = Truth("undercharge", 3.4, "Low.")
    moves = [Move("added", 60.0, 0.1, has_settled=False)]
    result = score(truth, "undercharge", time_s=3600.0, charge_kg=3.1, moves=moves, has_settled=True)
    assert sum(part.points for part in result.parts) == result.points
    assert sum(part.of for part in result.parts) == 12


# --- what the page tells


async def test_the_advice_is_held_back_until_the_verdict() -> None:
    doubt = DoubtMessage(("suction_pressure",), wire_rig.said("It reads wrong."), wire_rig.said("See."), 0.9, "")
    doubted = msgspec.structs.replace(wire_rig.advice(time_s=1.7e9), doubts=[doubt])
    known = hub()
    known.receive(topic(RIG, "advice"), encode(doubted))
    advice = (await seen(known))["advice"]
    assert advice["sentence"] == "You judge."
    assert "low charge" not in json.dumps(advice)
    assert advice["doubts"] == {}
    assert advice["cautions"] == list(doubted.cautions)
    assert advice["steadiness"]["subcooling"]["state"] == "settling"
    known.receive(topic(RIG, "bench/reveal"), encode(REVEALED))
    after = (await seen(known))["advice"]
    assert after["sentence"] == doubted.sentence.us
    assert "suction_pressure" in after["doubts"]


def test_nothing_that_would_give_the_fault_away_is_told_before_the_verdict() -> None:
    step = NextStepMessage(0.1, 0.3, 0.2, 0.4, "liquid", limited_by="")
    given = msgspec.structs.replace(wire_rig.opinion(time_s=1.7e9), alarms=[], next_step=step)
    assert given.verification is not None
    assert given.causes
    kept = held_back(given)
    assert kept.verification is None
    assert (list(kept.causes), list(kept.doubts), kept.next_step) == ([], [], None)
    shown = display.advice(kept, None, "us")
    assert (shown["judgement"], shown["explanations"], shown["alarms"]) == (None, [], [])


def test_an_alarm_is_never_held_back() -> None:
    alarm = AlarmMessage(
        "head pressure", wire_rig.said("The head is too high."), wire_rig.said("700 psig"), "the nameplate"
    )
    stop = Wording("Stop: the head is too high.", "Stop: the head is too high.")
    given = msgspec.structs.replace(wire_rig.advice(time_s=1.7e9), sentence=stop, alarms=[alarm])
    kept = held_back(given)
    assert (kept.sentence, kept.details, kept.alarms) == (stop, given.details, given.alarms)


def test_nothing_of_the_judgement_shows_before_the_verdict() -> None:
    """Neither causes, verification, amounts, state nor what is not judged: any of them names what is on the bench."""
    told = held_back(wire_rig.opinion(time_s=1.7e9))
    assert (told.causes, told.verification, told.next_step, told.doubts, told.not_judged) == ((), None, None, (), ())
    assert told.state == Advice.__struct_defaults__[0]
    near = msgspec.structs.replace(
        wire_rig.advice(time_s=1.7e9), state="near enough", awaited=AwaitedMessage("verification", 300.0, 900.0)
    )
    assert held_back(near).awaited is None
    assert held_back(wire_rig.advice(time_s=1.7e9)).awaited == AwaitedMessage("subcooling", 225.0, 600.0)


async def test_a_verdict_that_an_earlier_bench_revealed_is_taken_back() -> None:
    known = hub(reveal=REVEALED)
    assert known.exercise is None
    known.receive(topic(RIG, "bench/reveal"), b"")
    assert known.exercise == BLIND
    assert (await seen(known))["bench"]["reveal"] is None


@pytest.mark.parametrize("known", [hub(bench=None), hub(simulated=False)], ids=["no bench", "a real unit"])
async def test_a_rig_that_is_no_bench_has_no_exercise(known: Hub) -> None:
    told = await seen(known)
    assert "bench" not in told
    assert told["advice"]["sentence"] == "Wait. Still settling."
    with pytest.raises(AskError, match="no exercise on this rig"):
        await commit(known, SAM, "undercharge")


# --- who may end it


async def test_what_is_no_verdict_never_leaves_the_page() -> None:
    known = hub()
    for who, fault, reason in [
        (ROBIN, "undercharge", "A lead watches"),
        (SAM, "", "Choose what is wrong first"),
        (SAM, "gremlins", "Choose what is wrong first"),
        (SAM, "undercharge", "lost the rig's broker"),
    ]:
        with pytest.raises(AskError, match=reason):
            await commit(known, who, fault)
    with pytest.raises(AskError, match="or it has ended"):
        await commit(hub(reveal=REVEALED), SAM, "undercharge")


async def test_a_bench_that_does_not_answer_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("dashboard.training.verdicts.REVEALED_WITHIN_S", 0.05)
    sent = []

    async def publish(to: str, payload: bytes) -> None:
        sent.append((to, json.loads(payload)))

    known = hub()
    known.connected(publish)
    with pytest.raises(AskError, match="has not answered"):
        await commit(known, SAM, "undercharge")
    assert sent == [("dewline/1/bench/bench/verdict", {"fault": "undercharge"})]


async def test_a_lead_commits_nothing_even_past_the_page(tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port())
    press = {
        "output": "verdict-result.children",
        "outputs": {"id": "verdict-result", "property": "children"},
        "inputs": [{"id": "verdict-commit", "property": "n_clicks", "value": 1}],
        "state": [{"id": "verdict-draft", "property": "data", "value": "undercharge"}],
        "changedPropIds": ["verdict-commit.n_clicks"],
    }
    async with serving_page(known, hub()):
        lead = cookie_of(await enter(known, make_invitation(known, "lead")))
        assert '"verdict-commit"' not in (await request(known, "GET", "/_dash-layout", headers=lead)).text
        body, headers = json.dumps(press).encode(), {"Content-Type": "application/json"}
        answer = await request(known, "POST", "/_dash-update-component", body=body, headers=lead | headers)
        assert "A lead watches" in answer.text
        own = await request(known, "POST", "/_dash-update-component", body=body, headers=headers)
        assert "lost the rig's broker" in own.text


# --- the controls at a simulated unit

STANDS = BenchState(
    disconnect_closed=True, thermostat_calls=False, panel_on=True, hoses=("suction",), cylinder_open_ratio=0.5,
    cylinder_phase="vapour", recovery_runs=False, vacuum_pump_runs=True,
    points=("line_a", "contactor_line_a", "contactor_line_b", "earth", "capacitor_herm", "capacitor_common"),
    leads=("contactor_line_a", "earth"), dial="ac_voltage", jaw="compressor_common", turns=10, legs=("a", "b", "c"),
    lugs=("compressor_common", "capacitor_herm"), lugs_off=("capacitor_herm",),
    sections=(
        CapacitorSection(name="herm", can="outdoor", label_f=4e-5, lug="capacitor_herm", common="capacitor_common"),
        CapacitorSection(name="fan", can="outdoor", label_f=5e-6, lug="capacitor_fan", common="capacitor_common"),
    ),
    motors=("compressor", "fan"), supply=SetSupply(lost=("c",)), blocked=("fan",),
    condenser_air_ratio=0.5, evaporator_air_ratio=1.1, sound="runs", circuits=("1", "2"), probes_at="1",
    refused="shut the cylinder first", refused_act="nitrogen", done=4,
    last=(SetLug(lug="capacitor_herm", off=True), Panel(on=False)),
)  # fmt: skip
METERS = ("multimeter_ac_voltage", "cylinder_mass", "vacuum_pressure")


def places(state: BenchState = STANDS, **how: object) -> dict[str, dict]:
    told = controls(state, **{"refrigerant": "R-454B", "channels": METERS, **how})  # type: ignore[arg-type]
    return {place["name"]: place for place in told["places"]}


def test_at_a_unit_in_which_something_else_was_found_its_cautions_stand() -> None:
    off = msgspec.structs.replace(STANDS, panel_on=False)
    for refrigerant in ("R-410A", None):
        cylinder = places(off, refrigerant=refrigerant, found="A3")["cylinder"]
        assert cylinder["cautions"][0].startswith("What is in it burns (A3)")
        assert any("panel is off" in it for it in cylinder["says"])
        as_said = places(off, refrigerant=refrigerant)["cylinder"]
        assert not any("burns" in it for it in as_said["cautions"])
        assert not any("panel is off" in it for it in as_said["says"])


def control(place: str, name: str, state: BenchState = STANDS) -> dict:
    return next(it for it in places(state)[place]["controls"] if it["name"] == name)


def key(place: str, name: str, says: str, *chosen: str) -> Act:
    """The act of a key, with what is chosen in the fields put into it as the page does."""
    it = control(place, name)
    act = deepcopy(dict(it["keys"])[says])
    for field, choice in zip(it["fields"], chosen, strict=bool(chosen)):
        for name_in_act, value in next(
            dict(options)[choice] for _, options in field["groups"] if choice in dict(options)
        ).items():
            act[name_in_act] = act[name_in_act] | value if isinstance(value, dict) else value
    return msgspec.convert(act, type=ANY_ACT)


def test_each_key_is_an_act_that_the_bench_reads() -> None:
    assert key("power", "Disconnect", "Open") == ThrowDisconnect(closed=False)
    assert key("power", "Thermostat", "Call") == SetThermostat(calls=True)
    assert key("hoses", "Hose, suction port", "Take off") == Hose(port="suction", on=False)
    assert key("hoses", "Hose, liquid port", "Put on, full of air") == Hose(port="liquid", on=True, purged=False)
    assert key("probes", "Pressure probes", "Screw them off") == ScrewProbes(on=False)
    assert key("probes", "Circuit 2", "Take them to circuit 2") == MoveProbes(circuit="2")
    assert key("vacuum", "Vacuum pump", "Stop") == Evacuate(runs=False)
    assert key("recovery", "Recovery machine", "Start") == Recover(runs=True)
    pair = "Contactor, line side L1 to Ground (earth)"
    assert key("meter", "Both leads at once", "Place", pair) == PlaceLeads(red="contactor_line_a", black="earth")
    any_two = key("meter", "Any two points", "Place", "Supply L1", "Ground (earth)")
    assert any_two == PlaceLeads(red="line_a", black="earth")
    assert key("meter", "Both leads at once", "Take leads off") == PlaceLeads()
    assert key("clamp", "Jaw", "Close", "Compressor common", "5 ×") == CloseJaw(lead="compressor_common", turns=5)
    assert key("panel", "Lug", "Tighten", "Compressor common") == SetLug(lug="compressor_common")
    fitted = FitCapacitor(can="outdoor", sections_f={"herm": 45e-6, "fan": 5e-6})
    assert key("capacitor", "Exchange, outdoor can", "Exchange", "45 µF", "5 µF") == fitted


def test_every_act_has_its_key_at_its_place() -> None:
    """The table of the wire is the page's: none is missing, and none stands at a place that is not its own."""
    found = {
        name: {type(msgspec.convert(act, type=ANY_ACT)) for it in place["controls"] for _, act in it["keys"]}
        for name, place in places().items()
    }
    assert set(found) == set(PLACES)
    alone = msgspec.structs.replace(STANDS, circuits=("1",))
    assert set(places(alone)) == set(PLACES)
    (only,) = places(alone)["probes"]["controls"]
    assert only["name"] == "Pressure probes"  # one circuit: there is no other to take them to
    for name, place in PLACES.items():
        assert set(place.acts) <= found[name]
    assert sorted(act.__name__ for place in PLACES.values() for act in place.acts) == sorted(it.__name__ for it in ACTS)
    assert set(words.PLACES) == set(PLACES)
    assert set(words.DIAL) >= set(get_args(MeterFunction))


@pytest.mark.parametrize(("phases", "legs"), [(1, 2), (3, 3)])
def test_every_point_and_lug_of_a_panel_has_a_name_of_its_own(phases: Literal[1, 3], legs: int) -> None:
    lugs = joint_names(Supply(phases=phases))
    points = [*lugs, *(f"{lug}_wire" for lug in lugs), "earth", "secondary_r", "fan_windings", "fan_switch"]
    assert len({words.point_in_full(point) for point in points}) == len(set(points))
    assert sum(words.point(lug)[0] == "Disconnect" for lug in lugs) == legs


def test_how_it_stands_is_said_beside_each_control_and_on_its_closed_place() -> None:
    assert control("power", "Disconnect")["stands"] == "closed"
    assert control("power", "Thermostat")["stands"] == "no call"
    assert control("cylinder", "Valve")["stands"] == "open 50 %, vapour"
    assert control("vacuum", "Vacuum pump")["stands"] == "runs"
    assert control("capacitor", "Section herm")["stands"] == "40 µF, lead off"
    assert control("arranged", "Condenser fan")["stands"] == "held fast"
    stands = {name: place["stands"] for name, place in places().items()}
    assert stands["meter"] == "Volts AC, mV, Contactor, line side L1 to Ground (earth)"
    assert stands["clamp"] == "Compressor common, 10 ×"
    assert stands["panel"] == "panel on, off: Capacitor herm"
    assert stands["probes"] == "circuit 1, on"
    assert control("probes", "Circuit 1")["stands"] == "they are there"
    assert stands["arranged"] == "L3 lost, held fast: fan"


def test_what_was_done_last_and_what_was_not_done_is_told() -> None:
    told = controls(STANDS, refrigerant=None, channels=())
    assert told["last"] == "Done last: Lead off at Capacitor herm"
    assert told["before"] == ["Panel taken off"]
    assert (told["refused"], told["refused_act"]) == ("Not done: shut the cylinder first.", "nitrogen")
    assert control("nitrogen", "Regulator")["act"] == "nitrogen"
    assert "with refrigerant in the circuit" in control("nitrogen", "Regulator")["refuses"]


@pytest.mark.parametrize("act", ACTS, ids=lambda act: act.__name__)
def test_every_act_is_told_in_words(act: type[Act]) -> None:
    given = {
        "closed": True, "calls": True, "senses": True, "port": "suction", "on": True, "open_ratio": 0.5, "runs": True,
        "pressure_pa": 1e6, "air_ratio": 0.6, "function": "resistance", "lug": "fan_common", "can": "outdoor",
        "sections_f": {"fan": 5e-6}, "section": "fan", "resistance_ohm": 2e4, "duration_s": 8.0, "one": "a",
        "other": "b", "motor": "fan", "blocked": True, "circuit": "2",
    }  # fmt: skip
    required = {field.name: given[field.name] for field in msgspec.structs.fields(act) if field.required}
    assert len(told_in_words(act(**required)).split()) >= 2


def test_a_filter_that_is_out_is_told_as_that() -> None:
    assert told_in_words(ChangeFilter(air_ratio=1.1)) == "filter taken out"
    assert told_in_words(ChangeFilter(air_ratio=0.6)) == "evaporator left 60 % of its air"


@pytest.mark.parametrize(
    ("place", "first"),
    [
        ("panel", "lock out and tag"),
        ("meter", "lock out and tag"),
        ("clamp", "live parts"),
        ("capacitor", "lock out and tag"),
        ("hoses", "burns"),
        ("nitrogen", "burns"),
    ],
)
def test_what_to_beware_of_stands_where_work_can_hurt(place: str, first: str) -> None:
    assert first in places()[place]["cautions"][0]
    assert "Discharge the capacitor through a resistor" in " ".join(places()["capacitor"]["cautions"])
    assert "through a regulator" in " ".join(places()["nitrogen"]["cautions"])
    assert "Nameplate, maker" in " ".join(places()[place]["cautions_once"])


def test_the_panel_is_called_live_while_the_disconnect_is_closed_and_never_dead() -> None:
    assert "what is behind the panel is live" in places()["meter"]["says"][0]
    opened = msgspec.structs.replace(STANDS, disconnect_closed=False)
    assert "proves nothing dead" in places(opened)["meter"]["says"][0]
    assert "line side stays live" in places(opened)["meter"]["says"][0]


def test_what_the_bench_refuses_of_bare_hands_is_told_beside_each_key_in_the_panel() -> None:
    told = places()
    for place, act in (("panel", "lug"), ("panel", "swap_leads"), ("capacitor", "discharge")):
        beside = [it["refuses"] for it in told[place]["controls"] if it["act"] == act]
        assert beside
        assert all("panel is on, and at what is live or charged" in says for says in beside)
    for place in ("meter", "clamp"):
        assert any("Refused behind a panel that is on" in it["refuses"] for it in told[place]["controls"])


def test_a_refusal_names_points_and_lugs_as_the_lists_do() -> None:
    told = msgspec.structs.replace(STANDS, refused="contactor_line_a and capacitor_herm are live, not line_as")
    shown = controls(told, refrigerant=None, channels=())["refused"]
    assert shown == "Not done: Contactor, line side L1 and Capacitor herm are live, not line_as."
    bare = msgspec.structs.replace(told, points=(), lugs=())
    assert "contactor_line_a" in controls(bare, refrigerant=None, channels=())["refused"]


def test_before_power_or_a_call_comes_back_its_cautions_stand_at_the_key() -> None:
    def said(*, closed: bool, calls: bool) -> str:
        state = msgspec.structs.replace(STANDS, disconnect_closed=closed, thermostat_calls=calls)
        return " ".join(places(state)["power"]["cautions"])

    for closed, calls in ((False, False), (False, True), (True, False)):
        assert "hands and tools out, every wire on its terminal, panel on" in said(closed=closed, calls=calls)
        assert "Never run the compressor" in said(closed=closed, calls=calls)
    for closed, calls in ((True, False), (True, True)):
        assert "lock out and tag" in said(closed=closed, calls=calls)
    assert "hands and tools out" not in said(closed=True, calls=True)
    assert "start nothing while the circuit is in a vacuum" in " ".join(places()["power"]["says"])
    assert "Off its terminal: Capacitor herm." in " ".join(places()["power"]["says"])
    at_rest = msgspec.structs.replace(STANDS, vacuum_pump_runs=False, lugs_off=())
    assert places(at_rest)["power"]["says"] == []


def test_a_panel_that_is_off_is_told_where_power_comes_back_and_where_what_burns_moves() -> None:
    off = msgspec.structs.replace(STANDS, panel_on=False)
    for refrigerant, where in (
        ("R-454B", {"power", "hoses", "cylinder", "recovery", "vacuum"}), ("R-410A", {"power"}), (None, {"power"}),
    ):  # fmt: skip
        told = places(off, refrigerant=refrigerant).values()
        assert {place["name"] for place in told if "The panel is off" in " ".join(place["says"])} == where
    assert "The panel is off" not in str(places())


def test_the_meter_is_offered_a_known_live_source_beside_what_is_proved_dead() -> None:
    legs = msgspec.structs.replace(STANDS, points=("line_a", "line_b", "line_c", *STANDS.points[1:]))
    (title, pairs), (dead, _), *_ = control("meter", "Both leads at once", legs)["fields"][0]["groups"]
    assert title == "Known live source, before and after"
    assert [each["black"] for _, each in pairs] == ["line_b", "line_c", "line_c"]
    assert dead == "Line side, to prove dead"
    assert all(it["reads"] == ["multimeter_ac_voltage"] for it in places(legs)["meter"]["controls"])  # in view there


def test_a_capacitor_is_read_over_each_pair_of_its_lugs_and_a_winding_against_ground() -> None:
    there = (*STANDS.points, "capacitor_fan", "compressor_common", "compressor_a")
    for points, legs, to_ground in (
        (there, ("a", "b"), ["Compressor common", "Compressor L1"]), (there[:-2], ("a", "b"), []),
    ):  # fmt: skip
        state = msgspec.structs.replace(STANDS, points=points, legs=legs)
        told = dict(control("meter", "Both leads at once", state)["fields"][0]["groups"])
        assert [says for says, _ in told["Capacitor"]] == [
            "Capacitor herm to common", "Capacitor fan to common", "Capacitor herm to fan",
        ]  # fmt: skip
        assert [says.split(" to ")[0] for says, _ in told["Windings to ground (earth)"]] == to_ground


@pytest.mark.parametrize(("system", "says"), [("us", "To 150 psig"), ("si", "To 1035 kPa gauge")])
def test_nitrogen_goes_up_in_the_readers_units(system: str, says: str) -> None:
    """150 psi are 1034 kPa: NIST SP 811, B.8; the bench's round figure is 1.136 MPa absolute."""
    assert places(system=system)["nitrogen"]["controls"][0]["keys"][0][0] == says


def test_a_bench_without_a_multimeter_says_so_and_offers_no_leads() -> None:
    meter = places(channels=())["meter"]
    assert meter["controls"] == []
    assert "no multimeter" in meter["says"][-1]


def test_a_blind_exercise_offers_nothing_that_puts_something_wrong() -> None:
    blind = places(blind=True)
    assert "arranged" not in blind
    acts = [msgspec.convert(act, type=ANY_ACT) for it in blind.values() for c in it["controls"] for _, act in c["keys"]]
    assert not [act for act in acts if is_arranged(act)]
    assert "Lost" not in json.dumps([place["stands"] for place in blind.values()]).title()


async def test_a_page_gets_the_controls_of_a_simulated_unit_only() -> None:
    for simulated in (True, False):
        known = hub(simulated=simulated)
        known.receive(topic(RIG, "bench/state"), encode(STANDS))
        assert (b"event: hands" in await known.join("us").take()) is simulated


async def test_an_act_goes_to_the_bench_and_only_from_the_technician_at_a_simulated_unit() -> None:
    sent = []

    async def publish(to: str, payload: bytes) -> None:
        sent.append((to, payload))

    act = Panel(on=False)
    known = hub()
    known.connected(publish)
    await do(known, SAM, act)
    assert sent == [(topic(RIG, "bench/act"), encode(act))]
    with pytest.raises(AskError, match="A lead watches"):
        await do(known, ROBIN, act)
    real = hub(simulated=False)
    real.connected(publish)
    with pytest.raises(AskError, match="This rig is not simulated"):
        await do(real, SAM, act)
    assert len(sent) == 1


async def test_an_act_that_cannot_be_read_is_refused_over_the_page(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        twice = b'{"act": "panel", "on": true, "on": false}'
        for body in (b"", b'{"act": "kick"}', b'{"act": "panel", "on": 3}', twice):
            assert (await request(known, "POST", "/api/bench/act", body=body)).status == 400
        answer = await request(known, "POST", "/api/bench/act", body=b'{"act": "panel", "on": true}')
        assert answer.status == 409


def test_a_sheet_and_a_filter_that_hands_left_are_told_where_they_are_changed() -> None:
    assert control("air", "Condenser")["stands"] == "50 % of its air"
    assert control("air", "Filter")["stands"] == "110 % of its air"
    clean = msgspec.structs.replace(STANDS, condenser_air_ratio=1.0)
    assert control("air", "Condenser", clean)["stands"] == ""
