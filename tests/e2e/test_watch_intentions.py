"""Ten wrong intentions at a real daemon, each seen by a lead who watches all rigs before anything of it is noted.

What is wrong with each is the guard's own matter, and its source stands there (`ingest.visit.guards`); here it counts
that the lead reads what the technician is asked, while they are asked.
"""

import asyncio
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from dashboard.invitations import make_invitation
from tests.brokers import mosquitto
from tests.page import Stream, cookie_of, enter, serving_page, settings, watching
from tests.processes import running
from tests.rigs import write_configuration
from tests.stock_client import Client, stock_client

Asked = tuple[str, Mapping[str, Any]]

LIQUID = {"mass_kg": 0.05, "phase": "liquid"}
WRONG: Mapping[str, Asked] = {
    "vapour of a blend": ("added", {"mass_kg": 0.05, "phase": "vapour"}),
    "much in one go": ("added", {"mass_kg": 1.2, "phase": "liquid"}),
    "more than the nameplate has": ("added", {"mass_kg": 3.9, "phase": "liquid"}),
    "more than any such unit takes": ("added", {"mass_kg": 45.0, "phase": "liquid"}),
    "another refrigerant": ("added", LIQUID | {"cylinder": "22"}),
    "a cylinder of unknown content": ("added", LIQUID | {"cylinder": "grey"}),
    "into a disposable cylinder": ("recovered", {"mass_kg": 0.5, "phase": "liquid", "cylinder": "410"}),
    "into a full cylinder": ("recovered", {"mass_kg": 2.0, "phase": "liquid", "cylinder": "small"}),
    "past a hold point": ("added", LIQUID),
    "while a lead's stop stands": ("recovered", LIQUID),
}
"""By what is wrong with it. Masses are of a unit of 7.5 lb (3.4 kg) of R-410A."""


async def cylinders(sam: Client) -> None:
    """Describe those at hand. The small one holds 1 kg of water, and is nearly full."""
    await sam.ask("cylinder", name="22", use="virgin", refrigerant="R-22", confirmed=True)
    await sam.ask("cylinder", name="410", use="virgin", refrigerant="R-410A", confirmed=True)
    await sam.ask("cylinder", name="grey", use="recovery", confirmed=True)
    small = {"tare_kg": 1.0, "water_capacity_kg": 1.0, "gross_kg": 1.6, "refrigerant": "R-410A"}
    await sam.ask("cylinder", name="small", use="recovery", **small)


async def seen_by_the_lead(events: Stream, text: str) -> dict[str, Any]:
    """Wait for a card that says so."""
    async with asyncio.timeout(30):
        while True:
            card: dict[str, Any] = await events.next("card")
            if card["kind"] in ("against", "refused", "stop") and text in str([card["says"], card["also"]]):
                return card


async def test_a_lead_reads_each_before_it_is_confirmed(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with mosquitto(free_port(), tmp_path) as broker:
        port = broker.address.port
        rig = write_configuration(tmp_path, f'url = "mqtt://127.0.0.1:{port}"')
        known = settings(tmp_path, free_port(), broker=broker.address)
        async with (
            running(["daemon", "--config", str(rig)], tmp_path / "daemon.log"),
            stock_client(port) as sam,
            stock_client(port, user="lead", name="Robin") as robin,
            serving_page(known),
        ):
            await cylinders(sam)
            login = cookie_of(await enter(known, make_invitation(known, "lead")))
            async with watching(known, headers=login, path="/api/watch") as events:
                for wrong, (kind, fields) in WRONG.items():
                    if wrong == "past a hold point":
                        await robin.ask("hold", before="each_move", text="Ask me first.")
                    if wrong == "while a lead's stop stands":
                        await robin.ask("stop", text="Shut the cylinder.")
                    answer = await sam.answer(kind, **fields)
                    assert not answer["ok"], wrong
                    said = (answer.get("question") or answer["refusal"])["us"]
                    card = await seen_by_the_lead(events, said)
                    assert said in card["says"] or "stop stands" in wrong, wrong
                    assert "mark" not in answer, wrong
            assert sam.visit["moves"] == 0
            warned = [mark for mark in sam.marks if mark["kind"] == "warned"]
            assert len(warned) == len(WRONG)
