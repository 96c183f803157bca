"""One gate before everything the page serves: pages, callbacks, the stream and the API.

In this order, each with its own refusal: the Host header (DNS rebinding), the size of a request, the origin of
a POST (cross-site requests), who it is, and whether a rule lets that role use that route. Whoever is on this
machine is the technician, if the settings say so and no relay stands between; anyone else needs a login from an
invitation. A relay that hides itself cannot be told from this machine: behind one, run with `--role none`.
"""

import logging
import socket
from collections.abc import Mapping
from http import HTTPStatus
from http.cookies import CookieError, SimpleCookie
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import ClientDisconnect
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from dashboard.invitations import Doorkeeper, make_invitation
from dashboard.roles import ENTER, JOIN, LARGEST_REQUEST_BYTES, LEAVE, RULES, Rule, Visitor, may_not, visitor
from dashboard.settings import Settings, is_address, is_loopback

__all__ = ["Gate", "cookie_name", "make_invitation"]

logger = logging.getLogger(__name__)

NOTHING_HERE = "There is nothing here."
NO_LOGIN = f"This page opens with an invitation link. Ask the technician for one; with a password, open {ENTER}."
ENDED = "Your login has ended. Ask the technician for a new link."
ENDED_HERE = f"{ENDED} If you are the technician at this machine, open {LEAVE} once to give the ended login back."
"""A login that ended must not turn into the technician's own page by itself, on whose machine it was used."""

_FORWARDED = ("forwarded", "x-forwarded-", "x-real-ip", "x-client-ip", "true-client-ip", "via")
"""How the headers begin by which a relay tells that it asks for somebody else."""
_OVER_TLS_ONLY = "max-age=31536000"
"""RFC 6797; never said in clear text (section 7.2)."""
_POLICY = "Content-Security-Policy"
_SAFE_METHODS = ("GET", "HEAD")


class Refusal(Exception):  # noqa: N818 - it is an answer, not a mistake
    """A request that is not served, with the answer that says why."""

    def __init__(self, status: HTTPStatus, reason: str) -> None:
        super().__init__(reason)
        self.status = status
        self.reason = reason


def cookie_name(settings: Settings) -> str:
    """Name the login's cookie; over TLS its prefix binds it to this host and to TLS (RFC 6265bis)."""
    return "__Host-dewline" if settings.secure else "dewline"


class Gate:
    """The middleware. `response_headers` are set on everything that leaves."""

    def __init__(
        self, app: ASGIApp, *, settings: Settings, doorkeeper: Doorkeeper, response_headers: Mapping[str, str]
    ) -> None:
        self._app = app
        self._settings = settings
        self._doorkeeper = doorkeeper
        self._response_headers = response_headers
        self._own_names = {settings.public_name, settings.host, socket.gethostname().lower()} - {""}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or refuse it."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008, "reason": "this page has no websocket"})
            return
        sender = self._with_headers(send, scope)
        try:
            who = self._admit(scope)
        except Refusal as refusal:
            logger.info("%s %.100r refused: %s", scope["method"], scope["path"], refusal.reason)
            await PlainTextResponse(refusal.reason, refusal.status)(scope, receive, sender)
            return
        token = visitor.set(who)
        try:
            await self._app(scope, receive, sender)
        except ClientDisconnect:
            logger.info("%s %.100r was given up by its sender", scope["method"], scope["path"])
        finally:
            visitor.reset(token)

    def _admit(self, scope: Scope) -> Visitor:
        headers = Headers(scope=scope)
        self._check_host(headers)
        if "transfer-encoding" in headers:  # what is chunked has no length that could be checked before it is read
            raise Refusal(HTTPStatus.LENGTH_REQUIRED, "A request must say how long it is, and come in one piece.")
        if scope["method"] not in _SAFE_METHODS:
            self._check_size(headers, _rule(scope))
            self._check_origin(headers)
        if scope["path"] in (JOIN, ENTER, LEAVE):
            return Visitor("viewer", "")
        who = self._recognise(scope, headers)
        if who is None:
            raise Refusal(
                HTTPStatus.UNAUTHORIZED,
                NO_LOGIN,
            )
        self._check_rules(scope, who)
        return who

    def _check_host(self, headers: Headers) -> None:
        """Accept our own names and plain addresses: only a name can be made to point here by a stranger."""
        host = _host(headers)
        if is_loopback(host) or host in self._own_names:
            return
        if not is_loopback(self._settings.host) and is_address(host):
            return
        raise Refusal(HTTPStatus.MISDIRECTED_REQUEST, "This page is not served under that name.")

    def _check_size(self, headers: Headers, rule: Rule | None) -> None:
        length = headers.get("content-length", "")
        if not length.isdigit():
            raise Refusal(HTTPStatus.LENGTH_REQUIRED, "A request must say how long it is.")
        largest = rule.largest_bytes if rule else LARGEST_REQUEST_BYTES
        if int(length) > largest:
            raise Refusal(HTTPStatus.REQUEST_ENTITY_TOO_LARGE, f"At most {largest} bytes are accepted.")

    def _check_origin(self, headers: Headers) -> None:
        schemes = {"https" if self._settings.tls else "http"} | ({"https"} if self._settings.relays else set())
        if headers.get("origin") not in {f"{scheme}://{headers['host']}" for scheme in schemes}:
            raise Refusal(HTTPStatus.FORBIDDEN, "Only this page itself may send that: the Origin header differs.")

    def _recognise(self, scope: Scope, headers: Headers) -> Visitor | None:
        login = _cookie(headers, cookie_name(self._settings))
        known = self._doorkeeper.recognise(login) if login else None
        if known is not None:
            scope["still_admitted"] = lambda: self._doorkeeper.recognise(login) is not None
            return known
        is_local = self._settings.open_loopback_role is not None and self._is_local(scope, headers)
        if login:
            raise Refusal(HTTPStatus.UNAUTHORIZED, ENDED_HERE if is_local else ENDED)
        if self._settings.open_loopback_role and is_local:
            return Visitor(self._settings.open_loopback_role, self._settings.technician)
        return None

    def _is_local(self, scope: Scope, headers: Headers) -> bool:
        """Whether the request began on this machine, and no relay asks for somebody elsewhere."""
        client = scope.get("client")
        return (
            client is not None
            and is_loopback(client[0])
            and client[0] not in self._settings.relays
            and is_loopback(_host(headers))
            and not any(name.startswith(_FORWARDED) for name in headers)
        )

    def _check_rules(self, scope: Scope, who: Visitor) -> None:
        rule = _rule(scope)
        if rule is None or ".." in scope["path"].split("/"):
            raise Refusal(HTTPStatus.NOT_FOUND, NOTHING_HERE)
        if who.role not in rule.roles:
            raise Refusal(HTTPStatus.FORBIDDEN, may_not(who.role))

    def _with_headers(self, send: Send, scope: Scope) -> Send:
        cacheable = scope["path"].startswith(("/assets/", "/_dash-component-suites/"))
        client = scope.get("client")
        over_tls = scope["scheme"] == "https" or (client is not None and client[0] in self._settings.relays)

        async def sender(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                policy = headers.get(_POLICY)
                headers.update(self._response_headers)
                if policy is not None:  # a file with scripts in it: its route says which, and that it fetches nothing
                    headers[_POLICY] = policy
                if over_tls:
                    headers["Strict-Transport-Security"] = _OVER_TLS_ONLY
                headers.setdefault("Cache-Control", "no-cache" if cacheable else "no-store")
            await send(message)

        return sender


def _rule(scope: Scope) -> Rule | None:
    """Find the rule that a request falls under; None where there is none."""
    return next((rule for rule in RULES if rule.covers(scope["method"], scope["path"])), None)


def _host(headers: Headers) -> str:
    """Read the host name of the request, without its port; empty where there is none that could be one."""
    try:
        return urlsplit(f"//{headers.get('host', '')}").hostname or ""
    except ValueError:
        return ""


def _cookie(headers: Headers, name: str) -> str:
    try:
        cookies = SimpleCookie(headers.get("cookie", ""))
    except CookieError:
        return ""
    return cookies[name].value if name in cookies else ""
