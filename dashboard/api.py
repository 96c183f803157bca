"""The routes beside Dash's own: the stream, the past, requests to the rig, and the door for the invited."""

import asyncio
import time
from collections.abc import AsyncIterator, Callable
from http import HTTPStatus
from pathlib import Path
from typing import Annotated, get_args
from urllib.parse import parse_qs

import msgspec
from fastapi import FastAPI, Query, Request
from starlette.responses import FileResponse, HTMLResponse, RedirectResponse, Response, StreamingResponse
from starlette.types import Receive, Scope, Send

from calc.units import System
from dashboard import display, words
from dashboard.asks import AskBody, submit
from dashboard.auth import cookie_name
from dashboard.binning import bin_extremes
from dashboard.door import door_page
from dashboard.errors import AskError, AskQuestionError, AskWaitsError, FullError, InvitationError
from dashboard.hub import Hub, PageName, Viewer, encode_event
from dashboard.invitations import LOGIN_LIFETIME_S, Doorkeeper
from dashboard.photographs import About, Photographs
from dashboard.roles import JOIN, LEAVE, visitor
from dashboard.settings import Settings
from dashboard.training.acts import do
from dashboard.unit.page import unit_page
from dashboard.visit.page import visit_page
from dashboard.watch.page import watch_page
from dashboard.watch.wall import Wall
from ingest.record.reading import RecordError, RecordFile
from ingest.wire.bench_acts import ANY_ACT
from ingest.wire.messages import MessageError, check_names, decode

KEEPALIVE_S = 5.0
LONGEST_HISTORY_MIN = 240.0
KEPT_FOR_A_YEAR = "private, max-age=31536000, immutable"
"""A mark is never changed, nor is its photograph (RFC 8246); and only who was let in may keep it."""


At = Callable[[], Hub]
"""Gives the hub of the rig that a request is for."""


def add_live_routes(server: FastAPI, at: At, boot: str) -> None:
    """Add the routes that show the rig: its stream and its past."""

    @server.get("/api/stream")
    async def stream(units: System, request: Request, page: PageName = "charge") -> Response:
        hub = at()
        try:
            viewer = hub.join(units, page)
        except FullError as error:
            return _refused(str(error), HTTPStatus.SERVICE_UNAVAILABLE)
        hello = encode_event("hello", {"time": time.time(), "boot": boot, "units": units})
        return _Stream(lambda: hub.leave(viewer), _events(viewer, hello, _admitted(request)))

    @server.get("/api/history")
    async def history(
        units: System,
        minutes: Annotated[float, Query(gt=0, le=LONGEST_HISTORY_MIN)] = 20.0,
        names: str = "",
    ) -> Response:
        hub = at()
        if hub.newest is None:
            return _json({"time": None, "missing": [], "times": [], "values": {}})
        newest_s = hub.newest.time_s
        span = (newest_s - 60 * minutes, newest_s)
        rows, missing = hub.ring.since(*span), hub.ring.missing(*span)
        if names:
            rows = {name: column for name, column in rows.items() if name in {"time_s", *names.split(",")}}
        if not len(rows["time_s"]):
            return _json({"time": newest_s, "missing": [], "times": [], "values": {}})
        binned = bin_extremes(rows)
        return _json(display.history(binned, hub.about, newest_s=newest_s, system=units, missing=missing))


def add_visit_route(server: FastAPI) -> None:
    """Add the Visit page. It is plain HTML: what it shows comes by the stream, and nothing of Dash is sent for it."""

    @server.get("/visit")
    async def visit() -> Response:
        return HTMLResponse(visit_page(visitor.get()))


def add_unit_route(server: FastAPI) -> None:
    """Add the Unit page, plain HTML likewise."""

    @server.get("/unit")
    async def unit() -> Response:
        return HTMLResponse(unit_page(visitor.get()))


def add_worker_route(server: FastAPI, script: Path) -> None:
    """Add the script that tells of a rig out of reach: a browser lets it speak for no more than the folder it is in."""

    @server.get("/service_worker.js")
    async def worker() -> Response:
        return FileResponse(script, media_type="text/javascript", headers={"Cache-Control": "no-cache"})


def add_watch_routes(server: FastAPI, wall: Wall, boot: str) -> None:
    """Add the page of all rigs, and its stream."""

    @server.get("/watch")
    async def watch() -> Response:
        return HTMLResponse(watch_page(visitor.get()))

    @server.get("/api/watch")
    async def stream(units: System, request: Request, find: str = "") -> Response:
        try:
            viewer = wall.join(units, find)
        except FullError as error:
            return _refused(str(error), HTTPStatus.SERVICE_UNAVAILABLE)
        hello = encode_event("hello", {"time": time.time(), "boot": boot, "units": units})
        return _Stream(lambda: wall.leave(viewer), _events(viewer, hello, _admitted(request)))


def add_ask_routes(server: FastAPI, at: At) -> None:
    """Add the route by which people, and scripts on their behalf, ask the rig to record something.

    What the rig answers is an answer, whatever it says: `ok` tells whether it is recorded, and a browser's console is
    left to what went wrong.
    """

    @server.post("/api/ask/{kind}")
    async def ask(kind: str, request: Request) -> Response:
        try:
            payload = await request.body()
            body = decode(payload, AskBody)
            check_names(payload)
            mark = await submit(at(), visitor.get(), kind, body)
        except MessageError as error:
            return _refused(f"The request cannot be read: {error}", HTTPStatus.BAD_REQUEST)
        except AskQuestionError as error:
            return _json({"ok": False, "question": error.question, "asks": error.asks, "offers": error.offers})
        except AskWaitsError as error:
            return _json({"ok": False, "waits": True, "reason": error.reason})
        except AskError as error:
            return _refused(error.reason, HTTPStatus.OK if error.status == HTTPStatus.CONFLICT else error.status)
        says = None if mark is None else {system: words.mark(mark, system) for system in get_args(System)}
        return _json({"ok": True, "mark": mark, "says": says})


def add_photograph_routes(server: FastAPI, hub: Hub, record: Path | None) -> None:
    """Add the routes by which a photograph goes to the rig, as the bytes of its file, and comes from its record."""
    photographs = Photographs(hub)

    @server.post("/api/photograph")
    async def send(request: Request) -> Response:
        try:
            about = msgspec.convert(dict(request.query_params), About)
            mark = await photographs.send(visitor.get(), about, request.stream())
        except msgspec.ValidationError as error:
            return _refused(f"The request cannot be read: {error}", HTTPStatus.BAD_REQUEST)
        except AskError as error:
            return _refused(error.reason, error.status)
        return _json({"ok": True, "mark": mark})

    @server.get("/photograph/{mark_id}")
    async def show(mark_id: str) -> Response:
        if record is None:
            return _refused("The record is not on this machine; its photographs are with it.", HTTPStatus.NOT_FOUND)
        try:
            jpeg = await asyncio.to_thread(RecordFile(record).photograph, mark_id)
        except RecordError as error:
            return _refused(str(error), HTTPStatus.SERVICE_UNAVAILABLE)
        if jpeg is None:
            return _refused("The record has no such photograph.", HTTPStatus.NOT_FOUND)
        return Response(jpeg, media_type="image/jpeg", headers={"Cache-Control": KEPT_FOR_A_YEAR})


def add_bench_routes(server: FastAPI, hub: Hub) -> None:
    """Add the route by which a technician touches a simulated unit."""

    @server.post("/api/bench/act")
    async def touch(request: Request) -> Response:
        try:
            payload = await request.body()
            act = decode(payload, ANY_ACT)
            check_names(payload)
            await do(hub, visitor.get(), act)
        except MessageError as error:
            return _refused(f"The act cannot be read: {error}", HTTPStatus.BAD_REQUEST)
        except AskError as error:
            return _refused(error.reason, error.status)
        return _json({"ok": True})


def add_door_routes(server: FastAPI, settings: Settings, doorkeeper: Doorkeeper) -> None:
    """Add the door: a page that shows what a link gives, and the press of its button that uses it up.

    Opening the link does not use it up, since messengers open links to preview them.
    """

    @server.get(JOIN)
    async def knock(token: str = "") -> Response:
        try:
            role = doorkeeper.inspect(token)
        except InvitationError as error:
            return HTMLResponse(door_page(error=str(error)), HTTPStatus.FORBIDDEN)
        return HTMLResponse(door_page(token=token, role=role))

    @server.post(JOIN)
    async def enter(request: Request) -> Response:
        form = parse_qs((await request.body()).decode("utf-8", "replace"))
        token, name = (form.get(field, [""])[0] for field in ("token", "name"))
        try:
            login = doorkeeper.redeem(token, name)
        except InvitationError as error:
            return HTMLResponse(door_page(error=str(error)), HTTPStatus.FORBIDDEN)
        response = RedirectResponse("/", HTTPStatus.SEE_OTHER)
        response.set_cookie(
            cookie_name(settings), login,
            max_age=LOGIN_LIFETIME_S, secure=settings.secure, httponly=True, samesite="lax",
        )  # fmt: skip
        return response

    @server.get(LEAVE)
    async def leave() -> Response:
        response = RedirectResponse("/", HTTPStatus.SEE_OTHER)
        response.delete_cookie(cookie_name(settings), secure=settings.secure, httponly=True, samesite="lax")
        return response


class _Stream(StreamingResponse):
    """A stream of events to one viewer, who leaves with it, even before its first byte went out."""

    def __init__(self, leave: Callable[[], None], events: AsyncIterator[bytes]) -> None:
        super().__init__(events, media_type="text/event-stream")
        self._leave = leave

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        try:
            await super().__call__(scope, receive, send)
        finally:
            self._leave()


def _admitted(request: Request) -> Callable[[], bool]:
    """Give what tells whether the login of a request still holds."""
    admitted: Callable[[], bool] = request.scope.get("still_admitted", lambda: True)
    return admitted


async def _events(viewer: Viewer, hello: bytes, admitted: Callable[[], bool]) -> AsyncIterator[bytes]:
    """Send events as they come, and a comment in between so that a dead connection is found.

    admitted: whether the visitor's login still holds; the stream ends with it.
    """
    yield hello
    while not viewer.dismissed:
        try:
            async with asyncio.timeout(KEEPALIVE_S):
                events = await viewer.take()
        except TimeoutError:
            events = b": still here\n\n"
        if not admitted():
            return
        yield events


def _refused(reason: str, status: int) -> Response:
    return _json({"ok": False, "reason": reason}, status)


def _json(content: object, status: int = HTTPStatus.OK) -> Response:
    return Response(msgspec.json.encode(content), status, media_type="application/json")
