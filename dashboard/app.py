"""Puts the page together and serves it."""

import asyncio
import json
import logging
import re
import secrets
import socket
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from functools import partial
from http import HTTPStatus
from pathlib import Path

import uvicorn
from dash import Dash
from dash.exceptions import DependencyException
from fastapi import FastAPI
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.staticfiles import StaticFiles

from dashboard.api import (
    add_ask_routes,
    add_bench_routes,
    add_door_routes,
    add_live_routes,
    add_photograph_routes,
    add_unit_route,
    add_visit_route,
    add_watch_routes,
    add_worker_route,
)
from dashboard.auth import NOTHING_HERE, Gate
from dashboard.charge.callbacks import amount, checks, invite, marks
from dashboard.charge.layout.page import charge_page
from dashboard.hub import Hub
from dashboard.invitations import Doorkeeper
from dashboard.patience import HANDSHAKE_WITHIN_S, PatientProtocol, WaitingRoom
from dashboard.people.routes import add_enter_route, add_people_routes
from dashboard.reports import ReportMaker, add_report_route
from dashboard.rigs import AtRig, Rigs, at_hand, root_at_hand
from dashboard.roles import visitor
from dashboard.security import response_headers
from dashboard.settings import Settings
from dashboard.touches import Touches, tell
from dashboard.training import callbacks as verdict

logger = logging.getLogger(__name__)

HERE = Path(__file__).parent
BROWSER = ("shared/browser", "charge/browser", "training/browser", "visit/browser", "unit/browser", "watch/browser")
"""The folders whose files go to browsers, beside the layout and callbacks that they belong to. Nothing else does."""

_INDEX = """<!DOCTYPE html>
<html lang="en">
<head>
{%metas%}
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{%title%}</title>
<link rel="icon" href="/assets/shared/browser/icons/dewline.svg">
<link rel="manifest" href="/assets/shared/browser/dewline.webmanifest" crossorigin="use-credentials">
<link rel="stylesheet" href="/assets/shared/browser/page.css">
<link rel="stylesheet" href="/assets/shared/browser/glance.css">
<link rel="stylesheet" href="/assets/charge/browser/charge.css">
<link rel="stylesheet" href="/assets/charge/browser/opinion.css">
<link rel="stylesheet" href="/assets/training/browser/training.css">
<script src="/assets/shared/browser/theme.js"></script>
<script defer src="/assets/shared/browser/plotly-basic.min.js"></script>
<script type="module" src="/assets/charge/browser/live.js"></script>
{%css%}
</head>
<body>
{%app_entry%}
{%config%}
{%scripts%}
{%renderer%}
</body>
</html>
"""


def create_app(settings: Settings, hub: Hub, reports: ReportMaker | None = None) -> Dash:
    """Make the application; its `server` is what an ASGI server runs. reports: makes the report of a visit.

    Raises:
        SettingsError: it would serve the page to people who should not see it.

    """
    settings.check()
    doorkeeper = Doorkeeper(settings.data_directory)
    boot = secrets.token_hex(8)
    rigs = Rigs(settings, hub, boot)
    server = FastAPI(lifespan=_feeding(rigs), docs_url=None, redoc_url=None, openapi_url=None)
    server.state.rigs = rigs
    add_live_routes(server, at_hand, boot)
    add_watch_routes(server, rigs.wall, boot)
    add_ask_routes(server, at_hand)
    add_photograph_routes(server, hub, settings.record)
    add_visit_route(server)
    add_unit_route(server)
    add_worker_route(server, HERE / BROWSER[0] / "service_worker.js")
    add_report_route(server, reports)
    add_bench_routes(server, hub)
    add_door_routes(server, settings, doorkeeper)
    add_people_routes(server, settings, doorkeeper, lambda: hub.people)
    add_enter_route(server, settings, doorkeeper)
    for folder in BROWSER:
        server.mount(f"/assets/{folder}", StaticFiles(directory=HERE / folder))
    app = _App(
        __name__,
        server=server,  # type: ignore[arg-type] # Dash's annotation lags behind its FastAPI support
        title="Dewline",
        update_title="",
        assets_folder=str(HERE / BROWSER[0]),
        include_assets_files=False,
        index_string=_INDEX,
        suppress_callback_exceptions=True,
        on_error=tell,
    )
    app.backend.websocket_capability = False  # or every page would open one, which the gate refuses
    app.layout = lambda: charge_page(visitor.get())
    amount.register(app, hub)
    checks.register(app, hub)
    marks.register(app)
    verdict.register(app, hub)
    invite.register(app, settings, doorkeeper)
    server.add_exception_handler(DependencyException, _no_such_file)
    server.add_middleware(Touches, callbacks=app.callback_map)
    server.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=6)
    server.add_middleware(AtRig, rigs=rigs)
    server.add_middleware(
        Gate,
        settings=settings,
        doorkeeper=doorkeeper,
        response_headers=response_headers(app.csp_hashes()),
    )
    return app


async def _no_such_file(request: Request, error: Exception) -> Response:
    """Refuse a file that Dash does not have, as any path that is not there; of itself it would end in a 500."""
    logger.info("GET %.100r refused: %.200s", request.url.path, error)
    return PlainTextResponse(NOTHING_HERE, HTTPStatus.NOT_FOUND)


class _App(Dash):
    """Dash, whose callbacks from the page of a rig go to that rig: the browser asks where its page says."""

    def interpolate_index(self, config: str = "", **parts: str) -> str:  # type: ignore[override] # Dash names each
        """Write the page, with the way to the rig that it is of.

        Raises:
            RuntimeError: this Dash tells its way otherwise: what is touched there would go to another rig.

        """
        way = f'"requests_pathname_prefix":{json.dumps(root_at_hand())}'
        config, count = re.subn(r'"requests_pathname_prefix":"[^"]*"', way, config)
        if count != 1:
            raise RuntimeError("the configuration that Dash writes has no requests_pathname_prefix: pin another")
        written: str = super().interpolate_index(config=config, **parts)  # type: ignore[no-untyped-call]
        return written


def _feeding(rigs: Rigs) -> Callable[[FastAPI], AbstractAsyncContextManager[None]]:
    """Make the span of the server's life, during which the hubs are fed."""

    @asynccontextmanager
    async def lifespan(_server: FastAPI) -> AsyncIterator[None]:
        async with asyncio.TaskGroup() as group:
            task = group.create_task(rigs.run())
            yield
            task.cancel()

    return lifespan


class PageServer(uvicorn.Server):
    """A server that ends its streams before it waits for connections to close."""

    def __init__(self, config: uvicorn.Config, rigs: Rigs) -> None:
        super().__init__(config)
        self._rigs = rigs

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Begin to serve. uvicorn has no setting for how long a TLS handshake may take; asyncio allows a minute."""
        loop = asyncio.get_running_loop()
        create = loop.create_server
        if self.config.is_ssl:
            loop.create_server = partial(create, ssl_handshake_timeout=HANDSHAKE_WITHIN_S)  # type: ignore[method-assign]
        try:
            await super().startup(sockets)
        finally:
            loop.create_server = create  # type: ignore[method-assign]

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Stop serving."""
        self._rigs.dismiss_viewers()
        await super().shutdown(sockets)


def page_server(settings: Settings, hub: Hub, reports: ReportMaker | None = None) -> PageServer:
    """Make the server of the page. It keeps no log of requests: an invitation is part of an address.

    Raises:
        SettingsError: as `create_app`.

    """
    server = create_app(settings, hub, reports).server
    config = uvicorn.Config(
        server,
        http=partial(PatientProtocol, room=WaitingRoom()),  # type: ignore[arg-type] # whatever makes a protocol
        ws="none",
        host=settings.host,
        port=settings.port,
        ssl_certfile=settings.certificate,
        ssl_keyfile=settings.key,
        timeout_graceful_shutdown=1,
        proxy_headers=False,
        server_header=False,
        access_log=False,
        log_config=None,
    )
    return PageServer(config, server.state.rigs)


async def serve(settings: Settings, reports: ReportMaker | None = None) -> None:
    """Serve the page until the process is told to stop. reports: makes the report of a visit.

    Raises:
        SettingsError: as `create_app`.

    """
    await page_server(settings, Hub(settings.rig, broker_user=settings.broker.user), reports).serve()
