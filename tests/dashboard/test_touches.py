"""A touch that Dash could not read is the sender's error, told in a sentence and without a traceback."""

import asyncio
import json
import logging
from collections.abc import AsyncIterator, Callable, Mapping, Sequence
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import pytest
from starlette.types import Message, Receive, Scope, Send

from dashboard.settings import Settings
from dashboard.touches import PATH, Touches
from ingest.asks import Asks
from ingest.backoff import Backoff
from ingest.publish import Publisher
from ingest.wire.messages import Added, Checked, Mark, Note, ReadingTaken, encode
from tests import wire_rig
from tests.brokers import mosquitto
from tests.ingest.test_asks import NOW_S, Book, surroundings
from tests.ingest.test_publish import Shelf, running
from tests.page import request, serving_page, settings
from tests.processes import eventually

TOUCH: dict[str, Any] = {
    "output": "outcome.children",
    "outputs": {"id": "outcome", "property": "children"},
    "inputs": [{"id": "take-reading", "property": "n_clicks", "value": 1}],
    "changedPropIds": ["take-reading.n_clicks"],
    "state": [{"id": "opening", "property": "data", "value": "o1"}],
}


async def test_a_touch_that_cannot_be_read_is_refused_with_a_reason(
    tmp_path: Path, free_port: Callable[[], int], caplog: pytest.LogCaptureFixture, capfd: pytest.CaptureFixture[str]
) -> None:
    known = settings(tmp_path, free_port())
    malformed = {
        b"nonsense": "cannot be read",
        b"[]": "cannot be read",
        b"{}": "cannot be read",
        b"\xff\xfe": "cannot be read",
        b"[" * 50_000: "cannot be read",
        json.dumps(TOUCH | {"inputs": 5}).encode(): "cannot be read",
        json.dumps(TOUCH | {"output": "no-such.thing"}).encode(): "Nothing on this page writes",
        json.dumps(TOUCH | {"inputs": []}).encode(): "The inputs are not those of",
        json.dumps(TOUCH | {"inputs": [TOUCH["inputs"][0] | {"value": {"a": 1}}]}).encode(): "n_clicks holds no dict",
        json.dumps(TOUCH | {"state": [{"id": "a", "property": "b"}]}).encode(): "The state are not those of",
    }
    headers = {"Content-Type": "application/json"}
    async with serving_page(known):
        for body, reason in malformed.items():
            answer = await request(known, "POST", "/_dash-update-component", body=body, headers=headers)
            assert (answer.status, len(answer.text) < 300) == (400, True), body[:80]
            assert reason in answer.text, body[:80]
        sound = await request(
            known, "POST", "/_dash-update-component", body=json.dumps(TOUCH).encode(), headers=headers
        )
        assert sound.status == 200
        assert "No rig has been heard yet." in sound.text
    assert "Traceback" not in caplog.text + capfd.readouterr().err
    assert [record for record in caplog.records if record.levelno >= logging.ERROR] == []


async def test_a_touch_that_a_callback_fails_at_is_told_in_the_log(
    tmp_path: Path, free_port: Callable[[], int], caplog: pytest.LogCaptureFixture
) -> None:
    known = settings(tmp_path, free_port())
    writes = [
        ("correction-body", "children"),
        ("correction-phase", "data"),
        ("correction-draft", "data"),
        ("correction-result", "children"),
    ]
    touch = {
        "output": f"..{'...'.join(f'{name}.{of}' for name, of in writes)}..",
        "outputs": [{"id": name, "property": of} for name, of in writes],
        "inputs": [{"id": "correction-of", "property": "data", "value": {}}],  # no mark: our page sends none such
        "changedPropIds": ["correction-of.data"],
        "state": [{"id": "units", "property": "data", "value": "us"}],
    }
    async with serving_page(known):
        headers = {"Content-Type": "application/json"}
        answer = await request(
            known, "POST", "/_dash-update-component", body=json.dumps(touch).encode(), headers=headers
        )
    assert answer.status == 500
    assert "a touch could not be answered" in caplog.text


async def test_a_touch_is_passed_on_once_and_then_what_the_server_says() -> None:
    """ASGI, HTTP: a body comes once; who asks on waits for the end of the connection."""
    heard = []

    async def dash(_scope: Scope, receive: Receive, _send: Send) -> None:
        heard.extend([await receive(), await receive()])

    given = iter([{"type": "http.request", "body": json.dumps(TOUCH).encode()}, {"type": "http.disconnect"}])

    async def receive() -> Message:
        return next(given)

    async def send(message: Message) -> None:
        raise AssertionError(message)

    callbacks = {TOUCH["output"]: {"inputs": TOUCH["inputs"], "state": TOUCH["state"]}}
    await Touches(dash, callbacks)({"type": "http", "method": "POST", "path": PATH, "headers": []}, receive, send)
    touched, ended = heard
    assert (json.loads(touched["body"]), touched["more_body"]) == (TOUCH, False)
    assert ended == {"type": "http.disconnect"}


@asynccontextmanager
async def page_of_a_rig(directory: Path, port: Callable[[], int], book: Book) -> AsyncIterator[Settings]:
    """A page, a broker, and a rig that writes into the book what it is asked."""
    async with mosquitto(port(), directory) as broker:
        publisher = Publisher(
            broker.address, "bench",
            outbox=Shelf().outbox, advance=Shelf().advance, handle_ask=Asks(surroundings(book)).handle,
            backoff=Backoff(),
        )  # fmt: skip
        publisher.set_state("about", encode(wire_rig.about(started_s=NOW_S, visit=book.standing().visit)))
        known = settings(directory, port(), broker=broker.address)
        async with serving_page(known) as hub, running(publisher):
            await eventually("the page hears the rig", lambda: asyncio.sleep(0, hub.about is not None))
            yield known


DRAFT = {"id": "d1", "of": "", "mass": "4 oz", "phase": "liquid"}


@pytest.mark.parametrize(
    ("button", "holds", "made"),
    [
        ("added-confirm", {"added-draft": DRAFT, "units": "us"}, Added),
        ("take-reading", {"opening": "o1"}, ReadingTaken),
        ("note-send", {"note-text": "The filter is clogged.", "opening": "o1"}, Note),
        ("check-start", {"opening": "o1", "units": "us"}, Checked),
    ],
)
async def test_a_touch_that_is_sent_twice_records_once(
    button: str, holds: Mapping[str, Any], made: type[Mark], tmp_path: Path, free_port: Callable[[], int]
) -> None:
    """As where the connection broke before the answer came, and the request is sent again."""
    book = Book()
    values = {"check-kind": "ice_point", "check-channel": "suction_line_temperature", **holds}
    async with page_of_a_rig(tmp_path, free_port, book) as known:
        callbacks = (await request(known, "GET", "/_dash-dependencies")).json()
        [callback] = [
            it for it in callbacks if (button, "n_clicks") in [(each["id"], each["property"]) for each in it["inputs"]]
        ]

        async def send(clicks: int) -> str:
            body = touch_of(callback, button, {**values, button: clicks})
            answer = await request(known, "POST", PATH, body=body, headers={"Content-Type": "application/json"})
            assert answer.status == 200, answer.text
            return answer.text

        first, second = await send(1), await send(1)
        assert first == second
        [mark] = book.marks.values()
        assert isinstance(mark, made)
        if button != "added-confirm":  # of which one opening of the dialog records one amount
            await send(2)
            assert len(book.marks) == 2


FILLED = {"added-amount": "6", "added-phase": "liquid", "added-draft": {"id": "d1"}, "units": "us"}
CHOSEN = {"check-kind": "ice_point", "check-channel": "suction_line_temperature", "opening": "o1", "units": "us"}


@pytest.mark.parametrize(
    ("button", "changed", "values", "says"),
    [
        ("added-review", "added-amount.value", FILLED, "6 oz of R-410A added as liquid."),
        ("verdict-review", "verdict-fault.data", {"verdict-fault": "x"}, "outcome-bad"),
        ("check-start", "check-channel.data", CHOSEN, "Suction line reads"),
        ("check-confirm", "check-channel.data", CHOSEN, ""),
    ],
)
async def test_a_field_that_is_filled_as_a_button_is_touched_does_not_swallow_the_touch(
    button: str, changed: str, values: Mapping[str, Any], says: str, tmp_path: Path, free_port: Callable[[], int]
) -> None:
    """Whoever is quick has both in one request. What was confirmed of one channel is not confirmed of another."""
    book = Book()
    async with page_of_a_rig(tmp_path, free_port, book) as known:
        callbacks = (await request(known, "GET", "/_dash-dependencies")).json()
        [callback] = [
            it for it in callbacks if (button, "n_clicks") in [(each["id"], each["property"]) for each in it["inputs"]]
        ]
        for both in ([changed, f"{button}.n_clicks"], [f"{button}.n_clicks", changed]):
            body = touch_of(callback, button, {**values, button: 1}, both)
            answer = await request(known, "POST", PATH, body=body, headers={"Content-Type": "application/json"})
            assert says in answer.text, answer.text
        assert bool(book.marks) is (button == "check-start")


def touch_of(callback: Mapping[str, Any], button: str, values: Mapping[str, Any], changed: Sequence[str] = ()) -> bytes:
    """What Dash sends when that button is pressed, or when all of these changed at once."""
    outputs = [
        dict(zip(("id", "property"), name.partition("@")[0].rsplit(".", 1), strict=True))
        for name in callback["output"].strip(".").split("...")
    ]
    touch = {
        "output": callback["output"],
        "outputs": outputs if callback["output"].startswith("..") else outputs[0],
        "changedPropIds": list(changed) or [f"{button}.n_clicks"],
    }
    for given in ("inputs", "state"):
        touch[given] = [{**it, "value": values.get(it["id"])} for it in callback[given]]
    return json.dumps(touch).encode()
