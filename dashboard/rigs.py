"""The rigs that one page's server shows: its own, and those that a lead opens out of all that the broker lets it read.

Each has a hub of its own. Which one a request is for stands in its path: `/rig/NAME/` before what would be asked of the
page's own rig. Everything behind that asks `at_hand` for the hub and need not know of others.
"""

import asyncio
import re
from contextvars import ContextVar
from http import HTTPStatus

from msgspec.structs import replace
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Receive, Scope, Send

from dashboard import feed, recall
from dashboard.errors import FullError
from dashboard.hub import Hub
from dashboard.roles import OF_A_RIG
from dashboard.settings import Settings
from dashboard.watch.presence import tell_who_watches
from dashboard.watch.wall import Wall
from ingest.wire.messages import topic

MOST_OPEN = 12
"""Rigs that leads have open at the same time, beside the page's own: each keeps its traces in memory."""

_hub: ContextVar[Hub] = ContextVar("hub")


_root: ContextVar[str] = ContextVar("root", default="/")


def at_hand() -> Hub:
    """Give the hub of the rig that the request at hand is for."""
    return _hub.get()


def root_at_hand() -> str:
    """Give the path below which the pages of that rig are."""
    return _root.get()


class Rigs:
    """The hubs that are fed. own: of the page's own rig; wall: of all of them in brief."""

    def __init__(self, settings: Settings, own: Hub, boot: str) -> None:
        self.own = own
        self.wall = Wall()
        self.feed = feed.Feed(settings, self.wall, self._hubs)
        self._settings = settings
        self._boot = boot
        self._group: asyncio.TaskGroup | None = None
        self._opened: dict[str, tuple[Hub, asyncio.Task[None]]] = {}
        own.tell_leads = self.wall.somebody.set

    async def run(self) -> None:
        """Feed the page's own hub, the wall and whatever is opened, until cancelled."""
        user = self._settings.broker.user
        async with asyncio.TaskGroup() as group:
            self._group = group
            group.create_task(recall.run(self._settings, self.own))
            group.create_task(self.feed.run())
            group.create_task(self.wall.run())
            group.create_task(tell_who_watches(self.wall, self._leads_at, user=user, page=self._boot))

    def hub_of(self, rig: str) -> Hub | None:
        """Give the hub of a rig, opened if need be; None where nothing was heard of such a rig.

        Raises:
            FullError: as many are open as are kept, and somebody looks at each.

        """
        if rig == self.own.rig:
            return self.own
        if rig in self._opened:
            return self._opened[rig][0]
        if rig not in self.wall.rigs or self._group is None:
            return None
        self._make_room()
        hub = Hub(rig, broker_user=self.own.broker_user)
        hub.tell_leads = self.wall.somebody.set
        elsewhere = replace(self._settings, record=None)
        self._opened[rig] = (hub, self._group.create_task(recall.run(elsewhere, hub)))
        hub.connected(self.feed.publish)
        for kind, payload in self.wall.newest(rig).items():
            hub.receive(topic(rig, kind), payload)
        self._group.create_task(self.feed.renew())
        return hub

    def _hubs(self) -> list[Hub]:
        return [self.own, *(hub for hub, _ in self._opened.values())]

    def _make_room(self) -> None:
        """Close the rig that nobody has looked at for longest, where as many are open as are kept."""
        if len(self._opened) < MOST_OPEN:
            return
        idle = [rig for rig, (hub, _) in self._opened.items() if not hub.viewers]
        if not idle:
            raise FullError(f"{len(self._opened)} rigs are open already. Close one that nobody looks at.")
        oldest = min(idle, key=lambda rig: self._opened[rig][0].looked_at_s)
        _, task = self._opened.pop(oldest)
        task.cancel()

    def _leads_at(self, rig: str) -> set[str]:
        hub = self.own if rig == self.own.rig else self._opened[rig][0] if rig in self._opened else None
        return hub.leads if hub else set()

    def dismiss_viewers(self) -> None:
        """End every stream, so that the server can stop; the pages come back when it does."""
        self.wall.dismiss_viewers()
        for hub in self._hubs():
            hub.dismiss_viewers()


class AtRig:
    """The middleware that finds the hub of a request, behind the gate, and takes the rig's name off its path."""

    def __init__(self, app: ASGIApp, rigs: Rigs) -> None:
        self._app = app
        self._rigs = rigs

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on as if it were for the page's own rig, with the hub of its rig at hand."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        found = re.fullmatch(OF_A_RIG, scope["path"])
        hub: Hub | None = self._rigs.own
        if found:
            try:
                hub = self._rigs.hub_of(found["rig"])
            except FullError as error:
                await PlainTextResponse(str(error), HTTPStatus.SERVICE_UNAVAILABLE)(scope, receive, send)
                return
            path = found["path"]
            scope = {**scope, "path": path, "raw_path": path.encode()}
        if hub is None:
            reason = f"Nothing was heard of a rig {found['rig'] if found else ''}."
            await PlainTextResponse(reason, HTTPStatus.NOT_FOUND)(scope, receive, send)
            return
        at_hub, at_root = _hub.set(hub), _root.set(f"/rig/{found['rig']}/" if found else "/")
        try:
            await self._app(scope, receive, send)
        finally:
            _hub.reset(at_hub)
            _root.reset(at_root)
