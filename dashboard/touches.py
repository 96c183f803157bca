"""What a browser sends when somebody touches something, looked at before Dash takes it for its own.

Dash answers a body that it cannot read with an error of the server and a traceback; it is an error of whoever sent it.
"""

import logging
from collections.abc import Mapping, Sequence
from http import HTTPStatus
from types import NoneType
from typing import Any

import msgspec
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

logger = logging.getLogger(__name__)

PATH = "/_dash-update-component"


class _Property(msgspec.Struct, frozen=True):
    id: str
    property: str
    value: Any = None


class _Touch(msgspec.Struct, frozen=True):
    output: str
    outputs: _Property | list[_Property]
    inputs: list[_Property]
    changedPropIds: list[str]  # noqa: N815 - as Dash spells it
    state: list[_Property] = []


_HOLDS: Mapping[str, tuple[type, ...]] = {
    "n_clicks": (int, NoneType),
    "value": (str, NoneType),
    "data": (str, dict, NoneType),
}
"""What the properties that our callbacks read can hold."""

_decoder = msgspec.json.Decoder(_Touch)


def fault(body: bytes, callbacks: Mapping[str, Mapping[str, Any]]) -> str:
    """Say what is wrong with a body; empty where it is a touch that one of the callbacks is for."""
    try:
        touch = _decoder.decode(body)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError) as error:
        return f"The request cannot be read: {error}"
    callback = callbacks.get(touch.output)
    if callback is None:
        return f"Nothing on this page writes {touch.output[:80]!r}."
    for name, given in (("inputs", touch.inputs), ("state", touch.state)):
        if _names(given) != [(it["id"], it["property"]) for it in callback[name]]:
            return f"The {name} are not those of {touch.output[:80]!r}."
        for it in given:
            if not isinstance(it.value, _HOLDS.get(it.property, object)):
                return f"{it.id}.{it.property} holds no {type(it.value).__name__}."
    return ""


def _names(properties: Sequence[_Property]) -> list[tuple[str, str]]:
    return [(it.id, it.property) for it in properties]


def tell(error: Exception) -> None:
    """Log what went wrong in a callback, which Dash answers with 500 and keeps to itself.

    Raises:
        Exception: always, what was told.

    """
    logger.error("a touch could not be answered", exc_info=error)
    raise error


class Touches:
    """Lets only touches through to Dash that it can read; everything else passes as it is."""

    def __init__(self, app: ASGIApp, callbacks: Mapping[str, Mapping[str, Any]]) -> None:
        self._app = app
        self._callbacks = callbacks

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer 400 to what cannot be read, and tell it in one line."""
        if scope["type"] != "http" or scope["path"] != PATH or scope["method"] != "POST":
            await self._app(scope, receive, send)
            return
        body = await Request(scope, receive).body()
        if wrong := fault(body, self._callbacks):
            logger.info("a touch is refused: %.200s", wrong)
            await PlainTextResponse(wrong, HTTPStatus.BAD_REQUEST)(scope, receive, send)
            return
        unread = [body]

        async def again() -> Message:
            return {"type": "http.request", "body": unread.pop(), "more_body": False} if unread else await receive()

        await self._app(scope, again, send)
