"""A rig that is newer than the page says what the page does not know: that part is told as not understood, no more."""

import json
import time
from collections.abc import Iterator
from typing import Any

import msgspec
import pytest

from calc.cautions import Step, beware_at_steps
from dashboard.hub import Hub
from ingest.wire.messages import Added, Status, Visit, encode, encode_pack
from tests import wire_rig

KINDS = {
    "status": Status("online", 1),
    "about": wire_rig.about(started_s=time.time()),
    "visit": Visit("visit-1", 0.0, 0.0, 0, safety_class="A2L"),
    "advice": wire_rig.opinion(time_s=time.time()),
    "marks": Added("m1", time.time(), "Sam", mass_kg=0.1, phase="liquid"),
}
MESSAGES: dict[str, Any] = {kind: json.loads(encode(message)) for kind, message in KINDS.items()}


def texts(message: object, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Give the way to each text in a message."""
    if isinstance(message, dict):
        for name, part in message.items():
            yield from texts(part, (*path, name))
    elif isinstance(message, list):
        for place, part in enumerate(message):
            yield from texts(part, (*path, place))
    elif isinstance(message, str):
        yield path


def with_unknown(message: object, path: tuple[Any, ...]) -> Any:
    """Give the message with a text at one place that nobody here has heard of."""
    changed = json.loads(json.dumps(message))
    part = changed
    for name in path[:-1]:
        part = part[name]
    part[path[-1]] = "zeppelin"
    return changed


PLACES = [(kind, path) for kind, message in MESSAGES.items() for path in texts(message)]


def hear(hub: Hub, kind: str, message: object) -> None:
    hub.receive(f"dewline/1/{wire_rig.RIG}/{kind}", json.dumps(message).encode())


def heard() -> Hub:
    """A hub whose pages are open in both systems of units, and which has heard all of it once."""
    hub = Hub(wire_rig.RIG)
    for page in ("charge", "visit", "unit"):
        for system in ("us", "si"):
            hub.join(system, page)
    for kind, message in MESSAGES.items():
        hear(hub, kind, message)
    assert not_understood(hub) == []
    return hub


def not_understood(hub: Hub) -> list[str]:
    told: list[str] = hub._status()["not_understood"]
    return told


@pytest.mark.parametrize(("kind", "path"), PLACES, ids=["/".join(map(str, (kind, *path))) for kind, path in PLACES])
async def test_a_text_that_nobody_knows_ends_nothing(kind: str, path: tuple[Any, ...]) -> None:
    hub = heard()
    hear(hub, kind, with_unknown(MESSAGES[kind], path))
    for other, message in MESSAGES.items():
        hear(hub, other, message)
    hub.receive(
        f"dewline/1/{wire_rig.RIG}/readings", encode_pack(wire_rig.pack(1, wire_rig.values(), time_s=time.time()))
    )
    assert hub.newest is not None, "readings go on"
    assert [it for it in not_understood(hub) if it != "what was recorded"] == []


@pytest.mark.parametrize(
    ("kind", "told"),
    [("about", "its setup"), ("visit", "the visit"), ("advice", "its advice"), ("marks", "what was recorded")],
)
async def test_of_what_cannot_be_read_the_page_says_that_it_shows_older(kind: str, told: str) -> None:
    hub = heard()
    hear(hub, kind, {"kind": "zeppelin"})
    assert not_understood(hub) == [told]
    hear(hub, kind, MESSAGES[kind])
    if kind == "marks":
        assert not_understood(hub) == [told], "the one that was missed is not told again"
        hear(hub, "about", MESSAGES["about"] | {"visit": "visit-2"})
    assert not_understood(hub) == []


async def test_what_cannot_be_shown_is_told_once_and_ends_nothing_else(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    hub = heard()
    with monkeypatch.context() as broken:
        broken.setattr("dashboard.display.advice", lambda *_: {}["zeppelin"])
        for _ in range(3):
            hear(hub, "advice", MESSAGES["advice"])
        assert not_understood(hub) == ["its advice"]
    assert len([it for it in caplog.records if "cannot be shown" in it.message]) == 1
    hear(hub, "advice", MESSAGES["advice"])
    assert not_understood(hub) == []


async def test_an_alarm_that_only_a_newer_rig_knows_stops_everything() -> None:
    hub = heard()
    alarm = MESSAGES["advice"]["alarms"][0] | {"kind": "zeppelin"}
    hear(hub, "advice", MESSAGES["advice"] | {"alarms": [alarm]})
    told = hub._data("advice", "us")
    assert told is not None
    (shown,) = told["alarms"]
    assert shown["stop"].startswith("Stop everything: zeppelin.")
    assert shown["says"] == "No superheat: stop adding."


@pytest.mark.parametrize(
    ("refrigerant", "found"), [("R-9999", ""), ("R-410A", "C7"), (None, "zeppelin"), ("R-32", "C7")]
)
def test_what_is_not_known_is_taken_for_what_may_burn(refrigerant: str | None, found: str) -> None:
    """ASHRAE 34 has classes A1 to B3. Of what has none of them nobody can say that it does not burn."""
    told = beware_at_steps(refrigerant, (Step.CHARGE,), found=found)
    assert told.now[0].kind == beware_at_steps(None, (Step.CHARGE,), found="not_known").now[0].kind
    assert str(told.now[0]).startswith("Not known: treat it as if it burns.")


def test_nothing_of_the_messages_is_left_untried() -> None:
    assert len(PLACES) > 60
    assert all(isinstance(it, msgspec.Struct) for it in KINDS.values())
