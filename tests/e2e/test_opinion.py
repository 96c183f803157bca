"""What the rig makes of the unit, from simulated instruments to the pages of a technician and of a lead."""

import asyncio
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import aiomqtt
import pytest
from playwright.async_api import expect

from dewline import main
from ingest.wire.messages import topic
from tests.bench import RIG, Bench, answers, bench, numbers
from tests.browser import chromium, new_page
from tests.processes import eventually, running

ALARM_K = 45 / 1.8  # over the outdoor air; common practice, no source


async def hear(it: Bench, until: Callable[[str, Any], bool], patience_s: float = 120.0) -> list[tuple[str, Any]]:
    """What comes over the broker, in order, up to and with the first message that will do."""
    heard = []
    async with asyncio.timeout(patience_s), aiomqtt.Client(**it.address.client_arguments()) as client:
        for kind in ("readings", "advice"):
            await client.subscribe(topic(RIG, kind), qos=1)
        async for message in client.messages:
            kind, said = str(message.topic).rpartition("/")[2], json.loads(bytes(message.payload))
            heard.append((kind, said))
            if until(kind, said):
                break
    return heard


@pytest.mark.browser
async def test_an_alarm_reaches_technician_and_lead_within_one_tick(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    """The fan of this unit stands, and the head rises: slowly enough that both pages are seen before it cuts out."""
    lead_port = free_port()
    async with bench(tmp_path, free_port, scenario="fan_stands", speed=2.0) as it:
        heard = await hear(it, lambda kind, said: kind == "advice" and bool(said["alarms"]))
        over = [
            numbers(pack)["condensing_over_ambient"] > ALARM_K
            for kind, pack in heard
            if kind == "readings" and "condensing_over_ambient" in numbers(pack)
        ]
        assert sum(over) <= 1, "the advice comes with the pack that raised it, or before it"
        lead = ["dashboard", "--broker", f"mqtt://127.0.0.1:{it.broker_port}", "--port", str(lead_port)]
        lead += ["--role", "lead", "--name", "Robin", "--data", str(tmp_path / "lead")]
        async with running(lead, tmp_path / "lead.log"), chromium() as browser:
            await eventually("the lead's page", lambda: asyncio.to_thread(answers, f"http://127.0.0.1:{lead_port}"))
            page = await new_page(browser)
            for address in (it.page, f"http://127.0.0.1:{lead_port}"):
                await page.goto(address)
                stop = page.get_by_role("alert", name="Stop")
                await expect(stop).to_contain_text("head pressure. It condenses far above the outdoor air")
                await expect(stop).to_contain_text("at most 45 °F")
                await expect(page.locator("[data-live=sentence]")).to_have_text("Add nothing: head pressure.")
                await expect(page.locator("[data-live=log]")).to_contain_text("head pressure", ignore_case=True)


@pytest.mark.browser
async def test_the_cause_is_named_with_its_evidence_and_the_record_bears_it_out(
    tmp_path: Path, free_port: Callable[[], int], capsys: pytest.CaptureFixture[str]
) -> None:
    """A unit that is low on charge: the page says so, by how much, and why; the record gives the same again."""
    async with bench(tmp_path, free_port, scenario="low_charge", speed=60.0) as it, chromium() as browser:
        page = await new_page(browser)
        await page.goto(it.page)
        sentence = page.locator("[data-live=sentence]")
        await expect(sentence).to_contain_text("as liquid, note it here, and wait", timeout=90_000)
        cause = page.locator(".cause").first
        await expect(cause).to_contain_text("Undercharge")
        await expect(cause.locator(".evidence")).to_contain_text("Subcooling")
        await page.locator("[data-live=others]").click()
        await page.get_by_text("May the charge be judged?").click()
        await expect(page.locator("[data-live=conditions] li")).to_have_count(12)
    assert main(["rerun", str(tmp_path / "bench.sqlite")]) == 0
    assert "do not" in capsys.readouterr().out


@pytest.mark.browser
async def test_what_somebody_saw_who_looked_is_kept_by_a_touch_and_counts_at_once(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    """A condenser that is dirty by the figures; who looks at it sees nothing: it is less likely, and not impossible."""
    async with bench(tmp_path, free_port, scenario="dirty_condenser", speed=60.0) as it, chromium() as browser:
        page = await new_page(browser)
        await page.goto(it.page)
        cause = page.locator('.cause[data-fault^="Condenser fouling"]')
        await cause.wait_for(state="attached", timeout=90_000)
        await page.locator("[data-live=others]").click()
        if await cause.get_attribute("open") is None:
            await cause.locator("summary").click()
        before = await cause.locator(".chance").inner_text()
        await cause.get_by_role("button", name="Looked: nothing of it").click()
        await expect(page.locator("#outcome")).to_contain_text("Recorded. Looked: nothing of it.")
        await expect(cause.locator(".chance")).not_to_have_text(before, timeout=30_000)
