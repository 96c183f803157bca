"""What a technician and a lead say to each other over a rig, each with nothing but a stock MQTT client."""

import base64
import hashlib
import io
import random
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PIL import Image

from tests.brokers import mosquitto
from tests.processes import running
from tests.rigs import write_configuration
from tests.stock_client import RefusedError, stock_client


def cut(data: bytes, pieces: int) -> Iterator[dict[str, object]]:
    """A photograph in parts, as docs/asyncapi.yaml has them, each with all that is said of it."""
    size = -(-len(data) // pieces)
    parts = [data[place : place + size] for place in range(0, len(data), size)]
    for number, part in enumerate(parts, start=1):
        yield {
            "photograph": "p-1",
            "digest": hashlib.sha256(data).hexdigest(),
            "part_number": number,
            "part_count": len(parts),
            "data": base64.b64encode(part).decode(),
        }


async def test_a_lead_stops_wants_holds_and_answers_and_gets_a_photograph_in_parts(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with mosquitto(free_port(), tmp_path) as broker:
        port = broker.address.port
        rig = write_configuration(tmp_path, f'url = "mqtt://127.0.0.1:{port}"')
        async with (
            running(["daemon", "--config", str(rig)], tmp_path / "daemon.log"),
            stock_client(port) as sam,
            stock_client(port, user="lead", name="Robin") as robin,
        ):
            want = (await robin.ask("want", what="photograph", text="the label of the can"))["id"]
            stopped = (await robin.ask("stop", text="Shut the cylinder: the panel is open."))["id"]
            with pytest.raises(RefusedError, match="stop is for a lead"):
                await sam.ask("stop", text="x")
            with pytest.raises(RefusedError, match="a lead may ask for acknowledge"):
                await robin.ask("question", text="x")
            await sam.until("the stop", lambda: sam.visit.get("stop", {}).get("id") == stopped)
            assert "seen_s" not in sam.visit["stop"]
            await sam.ask("seen", of=stopped)
            await sam.ask("acknowledge", of=stopped)
            await robin.until("it was acknowledged", lambda: "acknowledged_s" in robin.visit["stop"])
            stop = robin.visit["stop"]
            assert stop["delivered_s"] < stop["seen_s"] <= stop["acknowledged_s"]
            said_now = lambda: sam.newest["advice"]["sentence"]["kind"]  # noqa: E731
            await sam.until("nothing else to do", lambda: said_now() == "headline.lead_stopped")
            added = {"mass_kg": 0.03, "phase": "liquid"}
            said = "has not said go on"
            for kind, fields in (("added", added), ("sign", {"name": "Sam"})):
                assert said in (await sam.answer(kind, **fields))["question"]["us"]
            with pytest.raises(RefusedError, match="release is for a lead"):
                await sam.ask("release", of=stopped)
            await robin.ask("release", of=stopped)
            await sam.until("they may go on", lambda: sam.visit["stop"].get("released_by") == "Robin")
            await sam.until("what there is to do", lambda: said_now() != "headline.lead_stopped")
            assert said not in str(await sam.answer("sign", name="Sam"))

            held = (await robin.ask("hold", before="each_move", text="Ask me first."))["id"]
            asked = (await sam.ask("question", text="Is that right?", confirmed=True))["id"]
            await robin.until("the question", lambda: [it["id"] for it in robin.visit["questions"]] == [asked])
            answer = await sam.answer("added", **added)
            assert "Ask me first." in answer["question"]["us"]  # before the move, and it is not noted
            await robin.ask("reply", of=asked, text="Let it sit.")
            await robin.ask("release", of=held)
            answer = await sam.answer("added", **added)
            assert "Ask me first." not in str(answer)

            picture = io.BytesIO()
            Image.effect_noise((320, 240), 60).save(picture, "PNG")
            parts = list(cut(picture.getvalue(), 4))
            random.Random(3).shuffle(parts)
            answers = [await sam.answer("photograph", **part, want=want) for part in [*parts[:3], *parts]]
            assert all(answer["ok"] for answer in answers)
            marks = [answer.get("mark") for answer in answers]
            assert marks[:-1] == [None] * 6  # some came twice
            assert (marks[-1]["id"], marks[-1]["width"], marks[-1]["want"]) == ("p-1", 320, want)
            await robin.until("it is wanted no more", lambda: robin.visit["talk"].get("wants_closed") == 1)
            assert robin.visit["photographs"]["newest"][0]["id"] == "p-1"
