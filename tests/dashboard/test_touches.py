"""A touch that Dash could not read is the sender's error, told in a sentence and without a traceback."""

import json
import logging
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.page import request, serving_page, settings

TOUCH: dict[str, Any] = {
    "output": "outcome.children",
    "outputs": {"id": "outcome", "property": "children"},
    "inputs": [{"id": "take-reading", "property": "n_clicks", "value": 1}],
    "changedPropIds": ["take-reading.n_clicks"],
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
