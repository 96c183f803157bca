"""What it costs to watch eight rigs, and how soon a stop from there is at the unit and its acknowledgement back."""

import asyncio
import tempfile
import time
from collections.abc import AsyncIterator, Sequence
from contextlib import AsyncExitStack, asynccontextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from statistics import median

import psutil
from playwright.async_api import Page, expect

from dashboard.invitations import make_invitation
from dashboard.settings import Settings
from tests import wire_rig
from tests.bench import answers, bench
from tests.brokers import mosquitto
from tests.browser import chromium, new_page
from tests.figures import Figure
from tests.figures.stop_shown import NOTE_STOPS
from tests.page import cookie_of, enter, request, settings, watching
from tests.processes import eventually, running, unused_port
from tests.touching import TABLET
from tests.watched import RIGS, Watched, arrive, eight_rigs

WATCHED_S = 30.0
WARM_UP_S = 5.0
TICKS_A_SECOND = 4
STOPS = 20
BETWEEN_S = 0.37
"""From one that is acknowledged to the next: no whole number of ticks, so that they come at every moment of one."""
MILLISECONDS = 1000.0

NOTE_TOUCHES = 'addEventListener("click", () => { window.touchedAt = Date.now(); }, true);'
"""When the technician said so: how long a browser that is steered takes to touch is not of the way."""


async def measure() -> AsyncIterator[Figure]:
    """Take the load of one rig with one lead, of eight with two, and of eight at ten times their pace; then stops."""
    one = await load(["van-6"], leads=1)
    eight = await load(list(RIGS), leads=2)
    fast = await load(list(RIGS), leads=2, pace=10.0)
    yield Figure("the page's server: one rig at 4 Hz, one lead on Watch", one.said(), "-")
    yield Figure("the page's server: eight rigs at 4 Hz, two leads on Watch", eight.said(), "-")
    yield Figure("the same, as a ratio to one rig and one lead", f"{eight.share / one.share:.1f}", "<= 4 (the house's)")
    yield Figure("the same at ten times the pace", fast.said(), "-")
    async for figure in stops():
        yield figure


@dataclass
class Load:
    """What a server did: its share of one core, the messages that it took and the cards that a lead got, a second."""

    share: float
    messages: float
    cards: float

    def said(self) -> str:
        return f"{100 * self.share:.1f} % of a core, {self.messages:.0f} messages/s, {self.cards:.1f} cards/s"


async def load(names: Sequence[str], *, leads: int, pace: float = 1.0) -> Load:
    """Watch these rigs for a while."""
    async with AsyncExitStack() as opened:
        directory = Path(opened.enter_context(tempfile.TemporaryDirectory()))
        broker = await opened.enter_async_context(mosquitto(unused_port(), directory))
        rigs = await opened.enter_async_context(eight_rigs(broker.address.port))
        known = settings(directory, unused_port(), broker=broker.address)
        process = await opened.enter_async_context(dashboard(known, directory))
        for name in names:
            await arrive(rigs.rigs[name], time.time())
        talking = asyncio.create_task(talk(rigs, names, pace))
        login = cookie_of(await enter(known, make_invitation(known, "lead")))
        counts = [0] * leads
        seen = [asyncio.create_task(count(known, login, counts, number)) for number in range(leads)]
        await asyncio.sleep(WARM_UP_S)
        began_s, before, cards = time.monotonic(), process.cpu_times(), counts[0]
        await asyncio.sleep(WATCHED_S)
        took_s, after = time.monotonic() - began_s, process.cpu_times()
        for task in (talking, *seen):
            task.cancel()
        cpu_s = after.user + after.system - before.user - before.system
        a_second = len(names) * pace * (1 + 1) + TICKS_A_SECOND * pace  # in brief, and every tick of the page's own rig
        return Load(cpu_s / took_s, a_second, (counts[0] - cards) / took_s)


@asynccontextmanager
async def dashboard(known: Settings, directory: Path, *more: str) -> AsyncIterator[psutil.Process]:
    """A page's server in a process of its own."""
    broker = f"mqtt://{known.broker.host}:{known.broker.port}"
    arguments = ["dashboard", "--broker", broker, "--port", str(known.port), *more]
    arguments += ["--data-directory", str(known.data_directory)]
    async with running(arguments, directory / f"page-{known.port}.log") as command:
        await eventually("the page is served", partial(asyncio.to_thread, answers, f"http://127.0.0.1:{known.port}"))
        yield psutil.Process(command.process.pid)


async def talk(rigs: Watched, names: Sequence[str], pace: float) -> None:
    """Tell of each rig as a daemon does: a pack a tick, the newest and the advice once a second."""
    ticks = 0
    next_s = time.monotonic()
    while True:
        ticks += 1
        for name in names:
            values = wire_rig.values(18.3 - 0.01 * (ticks % 300))
            pack = wire_rig.pack(ticks, values, time_s=time.time(), rig=name)
            await rigs.rigs[name].say("readings", pack)
            if ticks % TICKS_A_SECOND == 0:
                await rigs.rigs[name].say("latest", pack, retain=True)
                await rigs.rigs[name].say("advice", wire_rig.advice(time_s=time.time()), retain=True)
        next_s += 1.0 / (TICKS_A_SECOND * pace)
        await asyncio.sleep(max(0.0, next_s - time.monotonic()))


async def count(known: Settings, login: dict[str, str], counts: list[int], number: int) -> None:
    """Count the cards that a lead gets."""
    async with watching(known, headers=login, path="/api/watch") as events:
        while True:
            await events.next("card")
            counts[number] += 1


async def stops() -> AsyncIterator[Figure]:
    """Ask for one stop after the other from a server of leads, through a real daemon, to the technician and back."""
    async with AsyncExitStack() as opened:
        directory = Path(opened.enter_context(tempfile.TemporaryDirectory()))
        it = await opened.enter_async_context(bench(directory, unused_port))
        leads = settings(directory / "leads", unused_port(), broker=it.address)
        await opened.enter_async_context(dashboard(leads, directory))
        browser = await opened.enter_async_context(chromium())
        page = await new_page(browser, width=TABLET["width"], height=TABLET["height"], script=NOTE_STOPS + NOTE_TOUCHES)
        await page.goto(f"{it.page}/visit")
        await page.locator(".round-line").first.wait_for()
        login = cookie_of(await enter(leads, make_invitation(leads, "lead")))
        there, back = [], []
        for number in range(STOPS):
            shown_s, told_s = await _stop(page, leads, login, number)
            there.append(shown_s)
            back.append(told_s)
        for what, delays_s in (
            ("a stop from the page of leads -> the technician's screen is full of it", there),
            ("its acknowledgement -> the card of the rig on Watch", back),
        ):
            found = f"median {median(delays_s) * MILLISECONDS:.0f} ms, worst {max(delays_s) * MILLISECONDS:.0f} ms"
            yield Figure(what, f"{found}, n = {len(delays_s)}", "<= 1 s")


async def _stop(page: Page, leads: Settings, login: dict[str, str], number: int) -> tuple[float, float]:
    words = f"Shut the cylinder, for the {number}. time."
    async with watching(leads, headers=login, path="/api/watch") as events:
        asked_s = time.time()
        body = f'{{"fields": {{"text": "{words}"}}}}'.encode()
        answer = await request(leads, "POST", "/rig/bench/api/ask/stop", body=body, headers=login)
        assert answer.json()["ok"], answer.text
        await page.wait_for_function("words => window.stopsShown.some(([, text]) => text === words)", arg=words)
        shown_ms = next(it[0] for it in await page.evaluate("window.stopsShown") if it[1] == words)
        await page.locator("#stop-key").click()
        while "has stopped" not in str(await events.next("card")):
            pass
        told_s = time.time()
        acknowledged_ms = await page.evaluate("window.touchedAt")
    await expect(page.locator("#stop")).to_be_hidden()
    go_on = f'{{"fields": {{"of": "{answer.json()["mark"]["id"]}"}}}}'.encode()
    await request(leads, "POST", "/rig/bench/api/ask/release", body=go_on, headers=login)
    await asyncio.sleep(BETWEEN_S)
    return float(shown_ms) / MILLISECONDS - asked_s, told_s - acknowledged_ms / MILLISECONDS
