"""Visits at the bench by somebody who has nothing but a stock MQTT client."""

import asyncio
import base64
import hashlib
import io
import json
import os
import secrets
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from ingest.wire.messages import Ask, decode_pack, encode
from simulators.bench.script import Script, load_script
from simulators.unit.transfers import OUNCE_KG
from tests.bench import bench, kill
from tests.bluetooth import needs_fake_bluez
from tests.stock_client import Client, RefusedError, stock_client

pytestmark = needs_fake_bluez


async def test_a_hose_at_the_port_takes_superheat_away_and_gives_it_back(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with bench(tmp_path, free_port, speed=20) as it, stock_client(it.broker_port) as sam:
        await sam.until("superheat", lambda: sam.value("superheat") is not None)
        await sam.ask("hose", port="suction", on=True)
        await sam.until("no superheat", lambda: sam.value("superheat") is None)
        assert sam.value("suction_pressure") is not None  # which the record keeps: it is of the hose now
        assert sam.visit["elsewhere"] == {"suction_pressure": "a hose is on the suction port"}
        await sam.until(
            "what is silent",
            lambda: "alarms by the suction pressure" in str(sam.newest["advice"]["details"]),
            patience_s=10,
        )
        with pytest.raises(RefusedError, match="A hose still stands open at the suction port"):
            await sam.ask("sign", name="Sam")
        await sam.ask("hose", port="suction", on=False)
        await sam.until("superheat again", lambda: sam.value("superheat") is not None)
        signed = await sam.ask("sign", name="Sam", confirmed=True)  # no check was made in it
        await sam.until("the seal", lambda: sam.visit["progress"].get("digest") == signed["digest"])


OTHER = {
    "tag": "RTU-M2D-1",
    "place": "Mill Street bakery, roof",
    "circuits": [
        {"name": "1", "refrigerant": "R-407C", "metering_device": "fixed_orifice", "charge_kg": 2.5},
        {"name": "2", "refrigerant": "R-407C", "metering_device": "txv", "charge_kg": 2.0},
    ],
}
"""The unit beside it, invented."""


async def test_the_next_unit_is_two_touches_away_and_the_way_back_too(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with bench(tmp_path, free_port, speed=20) as it, stock_client(it.broker_port) as sam:
        first = sam.newest["about"]["unit"]["tag"]
        visit = sam.visit["visit"]
        await sam.ask("added", mass_kg=0.1, phase="liquid", confirmed=True)
        await sam.ask("describe", sheet=OTHER)
        assert (await sam.ask("open", unit="RTU-M2D-1"))["circuit"] == "1"
        await sam.until("the other visit", lambda: sam.visit["visit"] != visit and sam.visit.get("circuit") == "1")
        other = sam.visit["visit"]
        await sam.until("that all tell of it", lambda: sam.newest["about"]["visit"] == other)
        assert sam.visit["moves"] == 0
        unit = sam.newest["about"]["unit"]
        assert (unit["tag"], unit["refrigerant"], unit["metering_device"]) == ("RTU-M2D-1", "R-407C", "fixed_orifice")
        await sam.ask("place", on="2")
        await sam.until("the second circuit", lambda: sam.newest["about"]["unit"]["metering_device"] == "txv")
        await sam.ask("note", text="Two circuits.")
        killed = it.daemon()
        assert killed is not None
        kill(killed)
        session = sam.newest["about"]["session"]
        await sam.until("the daemon again", lambda: sam.newest["about"]["session"] > session)
        assert (sam.visit["visit"], sam.newest["about"]["unit"]["circuit"]) == (other, "2")
        await sam.ask("open", unit=first)
        await sam.until("the first visit", lambda: sam.visit["visit"] == visit)
        assert sam.visit["moves"] == 1
        packs = [decode_pack(payload) for _, payload in it.packs_on_disk()]
    assert [pack.sequence for pack in packs] == list(range(1, len(packs) + 1))  # none is lost on the way


async def test_a_charge_is_left_as_it_is_against_advice_and_closing_follows_until_it_is_moved_again(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with (
        bench(tmp_path, free_port, speed=20, scenario="low_charge") as it,
        stock_client(it.broker_port) as sam,
        stock_client(it.broker_port, user="lead", name="Robin") as robin,
    ):

        def closing() -> bool:
            return "probes_off" in sam.visit.get("next", ())

        with pytest.raises(RefusedError, match="nothing is asked of the charge"):
            await sam.ask("leave_charge", reason="none_today")
        await sam.until("a step", lambda: sam.newest["advice"].get("next_step"), patience_s=120)
        await sam.until("that it is asked for", lambda: "charge_asked" in sam.visit["facts"])
        assert not closing()
        stop = await robin.ask("stop", text="Wait for me.")
        await sam.ask("acknowledge", of=stop["id"])
        with pytest.raises(RefusedError, match="Robin asked to stop"):
            await sam.ask("leave_charge", reason="none_today")
        go_on = await robin.ask("release", of=stop["id"])

        def advised_anew() -> bool:
            advice = sam.newest["advice"]
            return advice["time_s"] > go_on["time_s"] and advice.get("next_step") is not None

        await sam.until("a step of after that", advised_anew)
        step_kg = sam.newest["advice"]["next_step"]["step_kg"]
        mark = await sam.ask("leave_charge", reason="none_today")
        assert mark["advised_kg"] == pytest.approx(step_kg, rel=0.2)
        assert mark["advised"]["kind"].startswith("headline.add")
        left = await robin.until("that the lead is told", lambda: robin.visit.get("charge_left"))
        assert (left["by"], left["reason"], left["id"]) == ("Sam", "none_today", mark["id"])
        await sam.until("closing", closing)
        killed = it.daemon()
        assert killed is not None
        kill(killed)
        session = sam.newest["about"]["session"]
        await sam.until("the daemon again", lambda: sam.newest["about"]["session"] > session)
        await sam.until("closing still", closing)
        await sam.ask("added", mass_kg=0.1, phase="liquid", confirmed=True)
        await sam.until("that it is not left any more", lambda: not sam.visit.get("charge_left"))
        assert not any(mark["kind"] == "found_sound" for mark in sam.marks)


ANSWERS: Mapping[str, dict[str, Any]] = {
    "complaint": {
        "grade": "said",
        "choices": {
            "when": "always",
            "thermostat": "somebody",
            "last_visit": "none",
            "work": "both",
            "complaint": "The hall has not cooled since the afternoon.",
        },
    },
    "which_unit": {"grade": "seen", "choices": {"told_by": "tag", "tag": "SPL-Q6N-2"}},
    "look_first": {"grade": "seen", "choices": {"found": "nothing", "bypassed": "outside", "trips": "trips"}},
    "what_is_in_it": {
        "grade": "seen",
        "choices": {
            "safety_class": "A2L",
            "cylinder": "same",
            "at_rest": "saturation",
            "leak_detector": "none",
            "refrigerant": "R-454B",
            "area_checked": "yes",
            "ventilated": "yes",
            "no_ignition": "yes",
            "extinguisher": "yes",
            "rated_tools": "yes",
        },
    },
    "isolate": {
        "grade": "seen",
        "choices": {
            "disconnect_state": "locked_by_me",
            "tried": "nothing",
            "other_feeds": "none",
            "disconnect": "At the unit",
            "locked_by": "Sam",
        },
    },
    "prove_dead": {
        "grade": "typed",
        "choices": {
            "phases": "single",
            "tester_kind": "meter",
            "at_place_of_work": "yes",
            "tester": "Multimeter",
            "known_source": "The supply",
        },
        "values": {
            "source_before": 238.0,
            "volts.a_b": 0.0,
            "volts.a_earth": 0.0,
            "volts.b_earth": 0.0,
            "control": 0.0,
            "source_after": 238.0,
        },
    },
    "probes_off": {"grade": "seen", "choices": {"hoses": "emptied", "cores": "bubbles", "caps": "sealed"}},
    "as_it_was": {
        "grade": "seen",
        "choices": {
            "cut_outs_reset": "none",
            "leak_detector": "none",
            "thermostat": "back",
            "power": "on",
            "runs": "own_call",
            "tools": "all",
        },
        "values": {"jumpers.in": 0, "jumpers.out": 0},
    },
    "panels": {"grade": "seen", "values": {"screws.out": 8, "screws.back": 8}},
    "tag": {"grade": "seen", "choices": {"kind": "engraved", "readable": "yes"}},
    "handover": {
        "grade": "said",
        "choices": {
            "complaint": "gone",
            "left": "running",
            "next_person": "Read it again in four weeks.",
            "next_reading": "2027-01-04",
            "owner": "Told what was done; wants the leak looked for.",
        },
    },
}
"""What a technician answers who does the work well, by check; what the instruments show they need not say."""

WHILE_DEAD = ("isolate", "prove_dead")
"""Answered while it is: once the power is back the rig reads it, and nothing is met against that."""


@pytest.mark.skipif("DEWLINE_REHEARSAL" not in os.environ, reason="two minutes: make rehearsal")
async def test_a_whole_visit_from_opening_to_handover(tmp_path: Path, free_port: Callable[[], int]) -> None:
    """A capacitor that holds a fifth of its label, a loose lug, and a few ounces of a blend that burns."""
    script, speed = load_script(Path("simulators/scripts/whole_visit.toml")), 20.0
    async with (
        bench(tmp_path, free_port, speed=speed, scenario="hums_and_trips") as it,
        stock_client(it.broker_port) as sam,
    ):
        hands = asyncio.create_task(do(script, sam, speed))
        kept = await keep_what_is_proposed(sam, hands)
        for check in ANSWERS:
            if check not in WHILE_DEAD:
                await give(sam, check)
        await sam.until("the last check", lambda: sam.visit["findings"][-1]["check"] == "handover")
        stands = {finding["check"]: finding["outcome"] for finding in sam.visit["findings"]}
        await sam.ask("sign", name="Sam", confirmed=True)
        marks = list(sam.marks)
    still_on = {"probes_off": "not_met"}  # nothing takes the bench's probes off, and the rig reads that they are on
    assert {check: stands[check] for check in ANSWERS} == dict.fromkeys(ANSWERS, "met") | still_on
    moved = [mark for mark in marks if mark["kind"] == "added"]
    assert sum(mark["mass_kg"] for mark in moved) == pytest.approx(3 * OUNCE_KG, abs=0.5 * OUNCE_KG)
    assert {"isolate", "power_back", "supply", "motor_amps", "readings_before"} <= kept


async def keep_what_is_proposed(sam: Client, while_at_work: asyncio.Task[None]) -> set[str]:
    """Keep by one touch whatever the instruments show, as liquid where it is a move; gives the checks kept so."""
    kept: set[str] = set()
    touched: set[str] = set()
    while not while_at_work.done():
        for proposal in sam.visit.get("proposals", []):
            if proposal["id"] not in touched:
                touched.add(proposal["id"])
                what = proposal["what"]
                as_what = {"phase": "liquid"} if what["kind"] == "move" else {}
                answer = await sam.answer("keep", of=proposal["id"], confirmed=True, **as_what)
                if answer["ok"] and what["kind"] == "finding":
                    kept.add(what["check"])
                    for check in WHILE_DEAD if what["check"] == WHILE_DEAD[0] else ():
                        await give(sam, check)
        await asyncio.sleep(1.0)
    await while_at_work
    return kept


async def give(sam: Client, check: str) -> None:
    """Answer a check, beside its photograph where one is taken of it."""
    answered = ANSWERS[check]
    photographs = [await photograph(sam, check)] if answered["grade"] == "seen" else []
    await sam.ask("finding", check=check, photographs=photographs, **answered)


async def photograph(sam: Client, check: str) -> str:
    """Take a photograph, here of one colour; gives its id."""
    taken = io.BytesIO()
    Image.new("RGB", (320, 240), "grey").save(taken, "JPEG")
    data = taken.getvalue()
    name = f"photograph-{check}-{secrets.token_hex(4)}"
    await sam.ask(
        "photograph",
        check=check,
        photograph=name,
        digest=hashlib.sha256(data).hexdigest(),
        part_number=1,
        part_count=1,
        data=base64.b64encode(data).decode(),
    )
    return name


async def do(script: Script, sam: Client, speed: float) -> None:
    """Do what hands do in a script, each act at its time."""
    loop = asyncio.get_running_loop()
    began_s = loop.time()
    for step in script.steps:
        await asyncio.sleep(max(0.0, began_s + step.at_s / speed - loop.time()))
        if not isinstance(step.does, Ask):
            await sam.publish("bench/act", json.loads(encode(step.does)))


async def test_what_the_instruments_show_waits_through_a_kill_and_is_kept_by_one_touch(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    def waiting(check: str) -> list[dict[str, Any]]:
        return [it for it in sam.visit.get("proposals", ()) if it["what"].get("check") == check]

    async with bench(tmp_path, free_port, speed=5) as it, stock_client(it.broker_port) as sam:
        await sam.until("the unit runs", lambda: (sam.value("compressor_current") or 0.0) > 5.0)
        await sam.act("disconnect", closed=False)
        await sam.until("power off, proposed", lambda: bool(waiting("isolate")), patience_s=30)
        (seen,) = waiting("isolate")
        assert "proves nothing dead" in seen["says"]["us"]
        assert seen["from_s"] < seen["to_s"]
        session = sam.newest["about"]["session"]
        killed = it.daemon()
        assert killed is not None
        kill(killed)
        await sam.until("the daemon again", lambda: sam.newest["about"]["session"] > session)
        assert waiting("isolate") == [seen]
        kept = await sam.ask("keep", of=seen["id"])
        assert (kept["check"], kept["grade"], kept["proposal"]) == ("isolate", "measured", seen["id"])
        await sam.until("nothing waits", lambda: not waiting("isolate"))
        with pytest.raises(RefusedError, match="was kept already"):
            await sam.ask("dismiss", of=seen["id"])
