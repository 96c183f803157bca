"""Whole visits by touches of an 820 x 1180 screen alone, from power-off to caps: what they ask of a person."""

import asyncio
import os
import time
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from ingest.visit.checklist import checklists
from ingest.wire.messages import kind_of_sheet
from simulators.bench.scenario import load_scenario
from tests.bench import bench
from tests.bluetooth import needs_fake_bluez
from tests.browser import launched
from tests.e2e.at_the_page import answer_check, doubted, emptied, leave_charge, put_all_on
from tests.e2e.finds_of_visits import FINDS, Seen
from tests.e2e.hands_of_visits import HANDS, Step
from tests.stock_client import Client, stock_client
from tests.touching import TABLET, Answers, Technician

pytestmark = [
    needs_fake_bluez,
    pytest.mark.skipif("DEWLINE_REHEARSAL" not in os.environ, reason="a quarter of an hour: make rehearsal"),
]

BEFORE_IT_IS_SOUGHT_S = 4.0
"""So long somebody waits for a check to be offered before they open it from the work card."""
OF_A_GROUP = {
    group.group: tuple(check.word for check in group.checks if check.word != "close_panel") for group in checklists()
}
OF_A_GROUP["C"] = ("look_first", *OF_A_GROUP["C"])
"""What stands in one list; a panel is closed by itself, once nobody measures anything more in it. Before the rest, what
is behind it is looked at: a bypassed safety is seen there alone."""
TRIES = 8
"""So often what is left is looked for before the visit is signed without a handover: each takes some seconds."""
SPEED = 20.0
WHO = "Sam"
"""At the unit, and by name: on the lock and below the visit it stands written."""
MOST_TOUCHES = 12
"""Of a whole visit, beside photographs and what only takes a reading of an instrument. A visit that needs more names
each touch above it, and why it is not done without: no safety is left out for a number."""
OWNER_TOLD = "what the owner was told: nobody is said to have told them before they have"
"""At the end of every visit."""
EARTHED = "the ground is continuous, where what is in it burns: no photograph shows it"
OF_A_HOSE = "the hose was evacuated: no photograph shows it"
LOCK_OFF = "who placed the lock took it off, by name: no instrument sees a lock"
FEEDS = "every other feed was looked for: no photograph shows what is not there"
TRIED = "a start was tried after the lock, and nothing started: no photograph shows that"
MADE_DEAD_AGAIN = (FEEDS, LOCK_OFF, TRIED)
"""The second time: of the first all three are among the twelve. A lock of before locks nothing now."""
OF_AN_UNKNOWN_CAN = (
    "how many sections the capacitor has: no register has it, and each pair of it may hold a charge",
    "so much is recorded: a pair that is not there is not measured, and the page does not guess which",
)
OF_A_STATE = "in which state it left the cylinder: no scale tells that"
CORES = "by what the cores were checked: no photograph shows bubbles that are not there"
LEAKS = (
    "by what the leak was looked for, after an addition",
    "its joints",
    "its coil ends: each place was looked at by somebody, and no photograph shows none there",
)
"""Its cores are under the probes, which is known: they are looked at as those come off."""
INSIDE = "no safety is bypassed behind the panel either, which nobody sees before it is off and dead"
BY_HAND = "the contactor's travel, by hand: what a hand did is never usual"
WHY = "why a part failed, which stays open for the next visit where nobody knows: no instrument tells a cause"
RENEWED = "the renewed part, recorded while it is open what it measures; why stands there, as the old one was measured"
LEFT = "the charge is left"
LEAST_UNTYPED = 0.8
"""What of its fields is known without typing."""

_BEFORE: Answers = {
    "complaint": {"complaint": "Does not cool."},
    "which_unit": {},
    "look_first": {"bypassed": "outside"},
    "what_is_in_it": {
        "cylinder": "same",
        "area_checked": "yes", "ventilated": "yes", "no_ignition": "yes", "extinguisher": "yes", "rated_tools": "yes",
    },
}  # fmt: skip
_MAKING_DEAD: Answers = {
    "isolate": {"tried": "nothing", "other_feeds": "none", "locked_by": WHO},
    "discharge": {"sections": "dual", "no_spark": "yes", "means": "resistor"},
}
_PANEL: Answers = {
    **_MAKING_DEAD,
    "wiring_photograph": {},
    "capacitor_by_eye": {},
    "connections": {"found": "tight", "torque_by": "feel"},
    "contactor": {"travel": "free"},
    "cause": {"cause": "unknown"},
    "close_panel": {},
}
_REFRIGERANT: Answers = {
    "probes_on": {},
    "air": {"dampers": "closed", "stages": "all", "coil": "dry", "condition": "met"},
    "readings_before": {"settled": "yes"},
}
_CLOSING: Answers = {
    "probes_off": {"cores": "bubbles"},
    "as_it_was": {"leak_detector": "none"},
    "panels": {},
    "tag": {},
    "handover": {"owner": "Told what was found and done.", "complaint": "gone", "left": "running"},
}
_AFTER_A_LOCK: Answers = {**_CLOSING, "as_it_was": {**_CLOSING["as_it_was"], "power": "on"}}
_LIVE: Answers = {"joints": {"joint": "Terminal of the compressor"}}
_MOVED: Answers = {
    "moving": {"panel_closed": "yes", "hose": "evacuated"},
    "leaks": {"caps_and_cores": "as_they_come_off", "joints": "tight", "coil_ends": "tight", "by": "bubbles"},
    "readings_after": {"settled": "yes"},
}
"""What is otherwise than written, and what must be thought about: all else is read, and recorded as it stands."""


_COMPRESSOR = {"kind": "motor", "drives": "compressor", "rated_current_a": 12.0}
_CAN = {
    "kind": "capacitor", "name": "can",
    "herm_f": 45e-6, "fan_f": 5e-6, "tolerance_share": 0.06, "volts": 440.0, "hertz": 60.0,
}  # fmt: skip
_HERM, _FAN = "Herm to common", "Fan to common"
_SECTIONS = {"43.60": _HERM, "45.00": _HERM, "9.00": _HERM, "5.00": _FAN}
"""By what the meter reads in these visits: the section that the leads are on."""
_LIKE_FOR_LIKE = {"why": "It measured outside its label.", "labels": "alike", "strap": "strapped", "leads": "yes"}
"""What the register has of the old label is not written again, nor what the meter shows of the new part."""
_ONE_PHASE = {"volts": 230.0, "phases": 1, "hertz": 60.0, "parts": [_CAN]}
_THREE_PHASES = {"volts": 230.0, "phases": 3, "hertz": 60.0}


@dataclass(frozen=True)
class Visit:
    """A visit to play. work: what seems to be needed. also: one more instrument, or more of the scenario.

    sheet: what the register has of the unit besides what the rig is told; parts and circuits are more of those, and a
    circuit is like the first in what it does not say. at_first: what is answered the first time, where
    a check is answered twice. beyond: each touch besides reading that it needs above `MOST_TOUCHES`, in words.
    """

    scenario: str
    work: str
    answers: Mapping[str, Mapping[str, str]]
    instead: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    also: str = ""
    sheet: Mapping[str, Any] = field(default_factory=dict)
    at_first: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    speed: float = SPEED
    beyond: Sequence[str] = ()


VISITS = {
    "low blend, scale": Visit(
        "hums_and_trips",
        "both",
        {**_BEFORE, **_PANEL, **_LIVE, **_REFRIGERANT, **_MOVED, **_AFTER_A_LOCK},
        {
            "connections": {"found": "a_turn", "torque_by": "feel"},
            "proposals": _SECTIONS,
            "replacement": _LIKE_FOR_LIKE,
            "close_panel": {"earthed": "yes"},
        },
        sheet=_ONE_PHASE,
        beyond=(
            EARTHED,
            "it was emptied without a spark",
            "how the joints were found, which lists with a hand in the panel",
            INSIDE,
            BY_HAND,
            WHY,
            RENEWED,
            OF_A_HOSE,
            OF_A_STATE,
            *LEAKS,
            CORES,
        ),
    ),
    "two circuits, one low": Visit(
        "one_of_two",
        "circuit",
        {**_BEFORE, **_LIVE, **_REFRIGERANT, **_MOVED, **_CLOSING},
        {"close_panel": {"cover": "never_off"}},
        sheet={"circuits": [{"name": "2"}], "parts": [{**_COMPRESSOR, "name": "compressor 2", "circuit": "2"}]},
        beyond=(
            OF_A_STATE,
            *LEAKS,
            "the form of probes is opened",
            "all of them were taken to the other circuit: the rig never guesses of which circuit a pressure is",
        ),
    ),
    "A2L unit": Visit(
        "new_and_short",
        "circuit",
        {**_BEFORE, **_MAKING_DEAD, **_LIVE, **_REFRIGERANT, **_MOVED, **_AFTER_A_LOCK},
        {"close_panel": {"cover": "on", "earthed": "yes"}},
        at_first={"close_panel": {"cover": "off", "earthed": "yes"}},
        sheet=_ONE_PHASE,
        speed=10.0,
        beyond=(
            "it was emptied without a spark",
            INSIDE,
            EARTHED,
            OF_A_HOSE,
            OF_A_STATE,
            *LEAKS,
            CORES,
        ),
    ),
    "weak capacitor, hot": Visit(
        "fades_when_hot",
        "panel",
        {**_BEFORE, **_PANEL, **_LIVE, **_AFTER_A_LOCK},
        {"proposals": _SECTIONS},
        also='[sensors.multimeter_capacitance]\naccuracy = "0.05 uF"',  # a meter that can tell of 5 uF
        sheet=_ONE_PHASE,
        speed=10.0,  # of each pair that is proved dead the meter shows something
        beyond=(INSIDE, BY_HAND, WHY, *MADE_DEAD_AGAIN),
    ),
    "loose lug": Visit(
        "warm_lug",
        "panel",
        {**_BEFORE, **_PANEL, **_LIVE, **_AFTER_A_LOCK},
        {"connections": {"found": "a_turn", "torque_by": "feel"}},
        also='also = ["multimeter"]\n\n[sensors.multimeter_ac_voltage]\naccuracy = "0.02 V"',
        sheet=_THREE_PHASES,
        beyond=(INSIDE, BY_HAND, WHY, *OF_AN_UNKNOWN_CAN, *OF_AN_UNKNOWN_CAN, *MADE_DEAD_AGAIN),
        speed=10.0,  # what the meter shows and what the clamp shows are told apart by seconds
    ),
    "turns backwards": Visit(
        "turns_backwards",
        "panel",
        {**_BEFORE, **_PANEL, **_LIVE, **_AFTER_A_LOCK},
        sheet=_THREE_PHASES,
        beyond=(INSIDE, *OF_AN_UNKNOWN_CAN),  # that it is left running is known
        speed=5.0,  # a start is seen by samples that are near enough to each other
    ),
    "not to be charged": Visit(
        "dirty_condenser",
        "circuit",
        {**_BEFORE, **_LIVE, **_REFRIGERANT, **_CLOSING},
        {
            "look_first": {"found": "explains", "repaired": "yes"},
            "readings_before": {"then": "leave"},
            "connections": {"found": "tight", "torque_by": "feel"},
            "as_it_was": {"power": "throughout"},
        },
        beyond=(
            "that it was on throughout: it is not seen to run as it is closed",
            "a line is opened to say that what was found explains the complaint, and is repaired",
        ),
    ),
    "heating": Visit(
        "cold_gusts",
        "circuit",
        {**_BEFORE, **_LIVE, "probes_on": _REFRIGERANT["probes_on"], "air": _REFRIGERANT["air"], **_CLOSING},
        {"air": {"mode": "heating"}},  # and no readings: what there are is of cooling
    ),
}
"""Units are invented, as in simulators/scenarios."""


@pytest.mark.parametrize("name", VISITS)
async def test_a_whole_visit_by_touches(name: str, tmp_path: Path, free_port: Callable[[], int]) -> None:
    visit = VISITS[name]
    sees = tmp_path / "seen"
    sees.mkdir()
    async with (
        bench(tmp_path, free_port, speed=visit.speed, scenario=scenario(visit, tmp_path), name=WHO) as it,
        stock_client(it.broker_port) as sam,
        launched() as browser,
    ):
        if visit.sheet:
            await register(sam, visit.sheet)
        began_s = time.monotonic()
        context = await browser.new_context(viewport=TABLET, has_touch=True, reduced_motion="reduce")  # type: ignore[arg-type]
        page = await context.new_page()
        page.set_default_timeout(30_000)
        await page.goto(f"{it.page}/visit")
        at_work = Technician(page, sam, answers(visit), sees)
        await page.locator("[data-live=round] .round-line").first.wait_for()
        await at_work.make_all(_BEFORE)
        seen_inside = {**at_work.answers["look_first"], "bypassed": "none"}
        at_work.answers = {**at_work.answers, "look_first": seen_inside}
        between = Between(at_work, visit)
        hands = asyncio.create_task(do(HANDS[visit.scenario](visit.speed), between))
        while not hands.done():
            async with between.turn:
                kept = await at_work.keep()
            if not kept:
                await asyncio.sleep(0.5)
        await hands
        truth = await between.verdict("undercharge")
        await keep_and_make_all(at_work)
        for _ in range(TRIES):  # the judge may ask for more, or be about to say that it is enough
            if any(mark.get("check") == "handover" for mark in sam.marks):
                break
            if await page.locator('[data-card="leave-charge"] .key').count():
                await leave_charge(at_work, "No more refrigerant today")
            await keep_and_make_all(at_work)
        refused = await at_work.sign()
        await at_work.look("signed")
        minutes = (time.monotonic() - began_s) * visit.speed / 60.0
        marks = list(sam.marks)
        added_kg = {it.get("circuit", ""): it.get("added_kg", 0.0) for it in sam.visit["circuits"]}
    print(f"\n{told(name, at_work, marks, minutes)}")
    for line in at_work.cost.told:
        print("   ", line)
    for touch in at_work.cost.touches:
        print("    touch,", "reading" if touch.is_reading else "besides", f"- {touch.at}: {touch.says}")
    print("    pictures:", sees)
    beyond = (OWNER_TOLD, *visit.beyond, *only_sometimes(at_work))
    assert len(at_work.cost.besides) <= MOST_TOUCHES + len(beyond), beyond
    assert untyped(at_work, marks) >= LEAST_UNTYPED
    assert not refused
    assert [mark["name"] for mark in marks if mark["kind"] == "sign"] == [WHO]
    asked = [said for said in at_work.cost.told if said.startswith("asked at")]
    found = Seen(load_scenario(visit.scenario), marks, truth, added_kg, between.advice, asked, between.doubted)
    FINDS[visit.scenario](found)


def only_sometimes(at_work: Technician) -> list[str]:
    """Name the touches that a visit needs only where the judge advises so: to leave the charge, or to add against it.

    What is made live and stands open then is signed as open, and costs none. All of it a person decides, and says why.
    """
    return [
        f"{touch.at}: {touch.says}"
        for touch in at_work.cost.besides
        if touch.at == LEFT or (touch.at == "proposals" and touch.says == "Yes, record it")
    ]


async def keep_and_make_all(at_work: Technician) -> None:
    """Keep what the instruments showed, answer what stands open, and keep what they showed meanwhile."""
    while await at_work.keep_all() or await at_work.keep(last=True):
        pass
    await at_work.make_all()
    while await at_work.keep_all() or await at_work.keep(last=True):
        pass


def scenario(visit: Visit, directory: Path) -> str:
    """Give the scenario, with what the visit needs besides."""
    if not visit.also:
        return visit.scenario
    text = Path(f"simulators/scenarios/{visit.scenario}.toml").read_text(encoding="utf-8")
    own = directory / f"{visit.scenario}.toml"
    own.write_text(text.replace("\n[unit]", f"{visit.also}\n\n[unit]", 1), encoding="utf-8")
    return str(own)


def answers(visit: Visit) -> Answers:
    """Give what the technician answers, with what is so on this visit alone."""
    instead = {"complaint": {"work": visit.work}, **visit.instead}
    return {check: {**fields, **instead.get(check, {})} for check, fields in ({**instead, **visit.answers}).items()}


async def do(acts: Sequence[Step], between: "Between") -> None:
    """Do each act at its time; for what is done at the page the hands wait."""
    loop = asyncio.get_running_loop()
    began_s = loop.time()
    for at_s, act in acts:
        await asyncio.sleep(max(0.0, began_s + at_s / between.visit.speed - loop.time()))
        if "page" in act:
            at_the_page_s = loop.time()
            await between.do(act["page"], act["what"])
            began_s += loop.time() - at_the_page_s
        else:
            await between.at_work.sam.publish("bench/act", act)


@dataclass
class Between:
    """What a technician does at the page between the acts of the hands. turn: one thing at a time is done there.

    doubted: what the rig asked, and was let be. advice: what it advised when it was looked at.
    """

    at_work: Technician
    visit: Visit
    turn: asyncio.Lock = field(default_factory=asyncio.Lock)
    doubted: list[str] = field(default_factory=list)
    advice: dict[str, Any] = field(default_factory=dict)
    _answered: set[str] = field(default_factory=set)
    _found: dict[str, int] = field(default_factory=dict)

    async def do(self, does: str, what: str) -> None:
        """Do one thing, by its name in `hands_of_visits`."""
        if does == "until":  # what is proposed meanwhile is kept
            await self._kept(what)
            return
        async with self.turn:
            await self._do(does, what)

    async def _do(self, does: str, what: str) -> None:
        match does:
            case "lock":
                await self._lock(what)
            case "empty":
                await emptied(self.at_work, what)
            case "answer":
                await self._answer_as_offered(OF_A_GROUP.get(what, (what,)))
            case "keep all":
                assert await self.at_work.keep_all()
                assert not what or await self.at_work.keep(last=True)
            case "put all on":
                await put_all_on(self.at_work, what)
            case "doubted":
                self.at_work.errs = True
                self.doubted.append(await doubted(self.at_work, {"mass": what, "phase": "liquid"}))
                self.at_work.errs = False
            case "check":
                await self._answer(what)
            case "advice":
                self.advice = self.at_work.sam.newest["advice"]
            case "verdict":
                await self.verdict(what)
            case _:
                raise ValueError(does)

    async def _answer(self, check: str) -> None:
        """Answer a check that is opened by hand; the first time as it is at first."""
        usual = self.at_work.answers
        if check not in self._answered:
            self.at_work.answers, self.at_work.errs = {**usual, **self.visit.at_first}, bool(self.visit.at_first)
        self._answered.add(check)
        await answer_check(self.at_work, check)
        self.at_work.answers, self.at_work.errs = usual, False

    async def _answer_as_offered(self, checks: Sequence[str]) -> None:
        """Answer what is offered; a check that is not is opened from the work card."""
        if await self.at_work.answer_next(checks, patience_s=BEFORE_IT_IS_SOUGHT_S):
            if len(checks) > 1:  # one that lacks a reading yet is not recorded again without it
                await self.at_work.make_all(checks)
            return
        (check,) = checks
        await answer_check(self.at_work, check)

    async def _kept(self, check: str) -> None:
        """Wait until a check has one more finding that is met, or was measured."""
        had = self._found.get(check, 0)

        def found() -> int:
            return sum(it["kind"] == "finding" and it["check"] == check for it in self.at_work.sam.marks)

        await self.at_work.sam.until(f"a finding of {check}", lambda: found() > had)
        self._found[check] = found()

    async def _lock(self, check: str) -> None:
        """Answer that it is locked, once the rig has seen that the power went."""
        sam = self.at_work.sam
        await sam.until("power off", lambda: any(it["what"].get("check") == check for it in sam.visit["proposals"]))
        assert await self.at_work.answer_next((check,))

    async def verdict(self, fault: str) -> dict[str, Any]:
        """Ask the bench for the truth: the first time counts."""
        sam = self.at_work.sam
        if not sam.newest.get("bench/reveal"):
            await sam.publish("bench/verdict", {"fault": fault})
        truth: dict[str, Any] = await sam.until("the truth", lambda: sam.newest.get("bench/reveal"))
        return truth


async def register(sam: Client, more: Mapping[str, Any]) -> None:
    """Let the register have what it knows of the unit besides."""
    sheet = await sam.until("the sheet", lambda: sam.newest.get(kind_of_sheet(sam.newest["about"]["unit"]["tag"])))
    first, *_ = sheet["circuits"]
    circuits = [*sheet["circuits"], *({**first, **it} for it in more.get("circuits", ()))]
    parts = [*sheet.get("parts", ()), *more.get("parts", ())]
    await sam.ask("describe", sheet={**sheet, **more, "circuits": circuits, "parts": parts}, confirmed=True)


def newest(marks: list[dict[str, Any]]) -> dict[tuple[str, str], dict[str, Any]]:
    """Give the newest finding of each check and part or circuit."""
    return {
        (mark["check"], mark.get("part") or mark.get("circuit", "")): mark
        for mark in marks
        if mark["kind"] == "finding"
    }


def untyped(at_work: Technician, marks: list[dict[str, Any]]) -> float:
    """Give the share of what was recorded that nobody typed."""
    fields = typed = 0
    for (check, _), mark in newest(marks).items():
        names = {*mark.get("values", {}), *mark.get("choices", {}), *mark.get("plated", {})}
        fields += len(names)
        typed += len(names & at_work.cost.typed_fields.get(check, set()))
    return 1 - typed / max(1, fields)


def told(name: str, at_work: Technician, marks: list[dict[str, Any]], minutes: float) -> str:
    """Put a visit in one line."""
    findings = newest(marks)
    outcomes = Counter(mark["outcome"] for mark in findings.values())
    cost = at_work.cost
    return (
        f"{name:22} touches of reading {cost.reading:2}, besides {len(cost.besides):2}, in error {cost.mistaken}"
        f"  typed {cost.typed:4}"
        f"  without typing {untyped(at_work, marks):4.0%}"
        f"  met {outcomes['met']} not {outcomes['not_met']} cannot tell {outcomes['cannot_tell']}"
        f" skipped {outcomes['skipped']}  {minutes:.0f} min  photographs {cost.photographs}"
    )
