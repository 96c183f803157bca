"""The routes of who has access. Passwords are tried one at a time: each takes 64 MiB while it is."""

import asyncio
import time
from collections.abc import Callable, Collection
from http import HTTPStatus
from typing import get_args
from urllib.parse import parse_qs

from fastapi import FastAPI, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from dashboard.auth import cookie_name
from dashboard.errors import InvitationError, SettingsError
from dashboard.invitations import LOGIN_LIFETIME_S, Doorkeeper, invitation_url, reaches_others
from dashboard.people.attempts import Attempts
from dashboard.people.page import enter_page, people_page
from dashboard.roles import ENTER, PEOPLE, PersonRole
from dashboard.sentences import say
from dashboard.settings import Settings

MOST_WAITING = 4
"""Passwords that wait to be tried; more are sent away, so that strangers cannot fill the machine with them."""


def add_people_routes(
    server: FastAPI, settings: Settings, doorkeeper: Doorkeeper, looking: Callable[[], Collection[str]]
) -> None:
    """Add the list of who has access, where links are made and access is ended. looking: who has a page open now."""

    def page(*, told: str = "", link: str = "") -> Response:
        content = people_page(
            doorkeeper.accounts.all(),
            doorkeeper.entered(),
            looking=looking(),
            link=link,
            only_here=not reaches_others(settings),
            told=told,
        )
        return HTMLResponse(content)

    @server.get(PEOPLE)
    async def people() -> Response:
        return page()

    @server.post(PEOPLE)
    async def do(request: Request) -> Response:
        form = await _form(request)
        name = form.get("name", "")
        role = next((it for it in get_args(PersonRole) if it == form.get("role")), None)
        match form.get("act"):
            case "end" if name:
                doorkeeper.end_logins(name)
                return page(told=say("people.ended", name=name))
            case "remove" if name:
                doorkeeper.accounts.remove(name)
                doorkeeper.end_logins(name)
                return page(told=say("people.removed", name=name))
            case "link" if role is not None:
                return page(link=invitation_url(settings, doorkeeper.invite(role)))
        return HTMLResponse(say("people.not_that"), HTTPStatus.BAD_REQUEST)


def add_enter_route(server: FastAPI, settings: Settings, doorkeeper: Doorkeeper) -> None:
    """Add the door for who has a name and a password."""
    attempts, one_at_a_time, waiting = Attempts(), asyncio.Lock(), 0

    @server.get(ENTER)
    async def door() -> Response:
        return HTMLResponse(enter_page())

    @server.post(ENTER)
    async def enter(request: Request) -> Response:
        nonlocal waiting
        form = await _form(request)
        name, password = form.get("name", "").strip(), form.get("password", "")
        # The address of a relay is everybody's behind it: there each name is bounded alone.
        address = request.client.host if request.client else ""
        sources = [f"name {name.casefold()}", *([f"from {address}"] if address not in settings.relays else [])]
        waits_s = max(attempts.waits_s(of, time.monotonic()) for of in sources)
        if waits_s:
            said = say("people.wait", minutes=int(waits_s // 60) + 1)
            return HTMLResponse(enter_page(error=said), HTTPStatus.TOO_MANY_REQUESTS)
        if waiting >= MOST_WAITING:
            return HTMLResponse(enter_page(error=say("people.busy")), HTTPStatus.SERVICE_UNAVAILABLE)
        for of in sources:  # before it is tried: so that tries that are made at once are counted, too
            attempts.failed(of, time.monotonic())
        waiting += 1
        try:
            async with one_at_a_time:
                login = await asyncio.to_thread(doorkeeper.enter, name, password)
        except InvitationError:
            login = None  # no name that anybody has
        except (OSError, SettingsError) as error:
            return HTMLResponse(enter_page(error=str(error)), HTTPStatus.SERVICE_UNAVAILABLE)
        finally:
            waiting -= 1
        if login is None:
            return HTMLResponse(enter_page(error=say("people.wrong")), HTTPStatus.FORBIDDEN)
        for of in sources:
            attempts.succeeded(of)
        response = RedirectResponse("/", HTTPStatus.SEE_OTHER)
        response.set_cookie(
            cookie_name(settings), login,
            max_age=LOGIN_LIFETIME_S, secure=settings.secure, httponly=True, samesite="lax",
        )  # fmt: skip
        return response


async def _form(request: Request) -> dict[str, str]:
    fields = parse_qs((await request.body()).decode("utf-8", "replace"), keep_blank_values=True)
    return {name: values[0] for name, values in fields.items()}
