"""A lead on another machine: a page of their own, over TLS, against a shop's broker with passwords and an access list.

The broker is a stock mosquitto with a configuration written here, as a shop would have one.
"""

import asyncio
import json
import os
import subprocess
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from functools import partial
from pathlib import Path

import aiomqtt
import pytest
import trustme
from playwright.async_api import Page, expect

from ingest.broker.find_program import find_program
from ingest.wire.messages import BrokerAddress, topic
from simulators.bench.bench import RIG_NAME, SimulatedRig
from simulators.bench.scenario import load_scenario
from tests.bench import answers
from tests.browser import chromium, figure, new_page
from tests.processes import eventually, running

PASSWORDS = {"van-3": "one for the van", "roof-page": "one for the tablet", "lead-1": "one for the lead"}
ACCESS = f"""
user van-3
topic readwrite dewline/1/{RIG_NAME}/#
user roof-page
topic read dewline/1/{RIG_NAME}/#
topic write dewline/1/{RIG_NAME}/ask/roof-page/#
topic write dewline/1/{RIG_NAME}/ask/roof-page:technician/#
topic write dewline/1/{RIG_NAME}/ask/roof-page:lead/note
user lead-1
topic read dewline/1/{RIG_NAME}/#
topic write dewline/1/{RIG_NAME}/ask/lead-1/#
topic write dewline/1/{RIG_NAME}/ask/lead-1:lead/#
"""
CONFIGURATION = """
user {user}
listener {port} 127.0.0.1
allow_anonymous false
password_file {directory}/passwords
acl_file {directory}/access
cafile {directory}/authority.pem
certfile {directory}/broker.pem
keyfile {directory}/broker.key
"""


def write_shop_files(port: int, directory: Path) -> Path:
    """Write the broker's certificate, passwords, access list and configuration; gives the last."""
    authority = trustme.CA()
    certificate = authority.issue_cert("127.0.0.1", "localhost")
    authority.cert_pem.write_to_path(directory / "authority.pem")
    certificate.private_key_pem.write_to_path(directory / "broker.key")
    certificate.cert_chain_pems[0].write_to_path(directory / "broker.pem")
    (directory / "access").write_text(ACCESS, encoding="utf-8")
    passwords = directory / "passwords"
    passwords.touch(mode=0o600)
    for user, password in PASSWORDS.items():
        (directory / user).write_text(password, encoding="utf-8")
        subprocess.run(["mosquitto_passwd", "-b", passwords, user, password], check=True, capture_output=True)
    configuration = directory / "mosquitto.conf"
    user = "root" if os.geteuid() == 0 else "mosquitto"
    configuration.write_text(CONFIGURATION.format(port=port, directory=directory, user=user), encoding="utf-8")
    return configuration


@asynccontextmanager
async def shop_broker(port: int, directory: Path) -> AsyncIterator[str]:
    """A stock mosquitto with TLS, passwords and an access list; gives its host and port."""
    configuration = write_shop_files(port, directory)
    program = find_program("mosquitto")
    assert program is not None
    process = await asyncio.create_subprocess_exec(program, "-c", configuration, stderr=asyncio.subprocess.DEVNULL)
    try:
        yield f"127.0.0.1:{port}"
    finally:
        process.terminate()
        await process.wait()


async def reads(page: Page, name: str) -> bool:
    return await figure(page, name) is not None


@pytest.mark.browser
async def test_a_lead_elsewhere_watches_and_writes_a_note_and_nothing_else(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    roof_port, lead_port = free_port(), free_port()
    async with (
        shop_broker(free_port(), tmp_path) as broker,
        SimulatedRig(load_scenario("low_charge"), directory=tmp_path) as rig,
        running(
            ["daemon", "--config", str(configure(rig, broker, tmp_path))], tmp_path / "daemon.log", rig.environment()
        ),
        running(page(broker, "roof-page", roof_port, tmp_path, "technician"), tmp_path / "roof.log"),
        running(page(broker, "lead-1", lead_port, tmp_path, "lead"), tmp_path / "lead.log"),
        chromium() as browser,
    ):
        roof, lead = await new_page(browser), await new_page(browser)
        for browser_page, port in ((roof, roof_port), (lead, lead_port)):
            url = f"http://127.0.0.1:{port}"
            await eventually("the page is served", partial(asyncio.to_thread, answers, url))
            await browser_page.goto(url)
        await lead.locator("[data-figure=subcooling]").wait_for(timeout=15_000)
        await eventually("the lead sees a figure", lambda: reads(lead, "subcooling"))
        await expect(lead.locator("#added-open")).to_have_count(0)

        await lead.fill("#note-text", "Let it sit, you are close.")
        await lead.click("#note-send")
        await expect(roof.locator("[data-live=note-text]")).to_contain_text(
            "Let it sit, you are close.", timeout=10_000
        )
        await roof.click("#got-it")
        await expect(roof.locator("[data-live=note]")).to_be_hidden(timeout=10_000)
        await expect(lead.locator("[data-live=note]")).to_be_hidden(timeout=10_000)

        assert await marks_after_a_lead_asks_for_more_than_a_note(broker, tmp_path) == {"note", "acknowledge"}
        for log in ("daemon.log", "roof.log", "lead.log"):
            text = (tmp_path / log).read_text(encoding="utf-8")
            assert not any(password in text for password in PASSWORDS.values())


def configure(rig: SimulatedRig, broker: str, directory: Path) -> Path:
    """The bench's own configuration, but for the broker: the shop's instead of one of ours."""
    text = rig.configuration(0)
    before, _, rest = text.partition("[broker]")
    _, _, after = rest.partition("[unit]")
    ours = f'[broker]\nurl = "mqtts://van-3@{broker}"\npassword_file = "van-3"\nauthority_file = "authority.pem"\n'
    ours += (
        '[[broker.user]]\nname = "roof-page"\nrole = "technician"\n[[broker.user]]\nname = "lead-1"\nrole = "lead"\n'
    )
    path = directory / "rig.toml"
    path.write_text(f"{before}{ours}[unit]{after}", encoding="utf-8")
    return path


def page(broker: str, user: str, port: int, directory: Path, role: str) -> list[str]:
    """The arguments of a page that reaches the shop's broker as `user`."""
    (directory / f"{user} data").mkdir()
    return [
        *("dashboard", "--broker", f"mqtts://{user}@{broker}", "--password-file", str(directory / user)),
        *("--authority-file", str(directory / "authority.pem"), "--port", str(port), "--role", role),
        *("--data-directory", str(directory / f"{user} data"), "--rig", RIG_NAME),
    ]


async def marks_after_a_lead_asks_for_more_than_a_note(broker: str, directory: Path) -> set[str]:
    """Ask to record refrigerant with the lead's credential, past the page; tells the kinds of marks people made."""
    address = BrokerAddress.parse(
        f"mqtts://lead-1@{broker}", password=PASSWORDS["lead-1"], authority_file=str(directory / "authority.pem")
    )
    ask = {"kind": "added", "by": "Robin", "role": "technician", "mass_kg": 0.1, "phase": "liquid"}
    ways = ["lead-1", "lead-1:technician", "roof-page", "roof-page:technician", "technician"]
    async with aiomqtt.Client(**address.client_arguments()) as client:
        for number, way in enumerate(ways):
            payload = json.dumps(ask | {"id": f"past-the-page-{number}"})
            await client.publish(topic(RIG_NAME, f"ask/{way}/added"), payload, qos=1)
        await asyncio.sleep(1.5)  # a denied publish is acknowledged and dropped: only its absence can be seen
        await client.subscribe(topic(RIG_NAME, "about"), qos=1)
        message = await anext(aiter(client.messages))
    marks = json.loads(message.payload)["marks"]
    return {mark["kind"] for mark in marks if mark.get("by")}
