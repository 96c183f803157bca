"""Who may do what. The technician at the unit acts; a lead elsewhere watches and may write a note."""

import re
from contextvars import ContextVar

import msgspec

from ingest.wire.asks import MAY_ASK
from ingest.wire.messages import Role
from ingest.wire.roles import EVERYONE, TECHNICIAN

MAY_INVITE = TECHNICIAN
MAY_COMMIT = TECHNICIAN
"""Who gives the verdict that ends an exercise on the bench."""


class Visitor(msgspec.Struct, frozen=True):
    """Who is looking at the page."""

    role: Role
    name: str


class Rule(msgspec.Struct, frozen=True):
    """A route of the page and who may use it. What no rule names is refused."""

    method: str
    pattern: str
    roles: frozenset[Role]

    def covers(self, method: str, path: str) -> bool:
        """Whether a request falls under this rule."""
        return method == self.method and re.fullmatch(self.pattern, path) is not None


RULES: tuple[Rule, ...] = (
    Rule("GET", "/", EVERYONE),
    Rule("GET", "/_dash-layout", EVERYONE),
    Rule("GET", "/_dash-dependencies", EVERYONE),
    Rule("GET", "/_dash-component-suites/[^/]+/.+", EVERYONE),
    Rule("POST", "/_dash-update-component", EVERYONE),
    Rule("GET", "/assets/.+", EVERYONE),
    Rule("GET", "/api/stream", EVERYONE),
    Rule("GET", "/api/history", EVERYONE),
    *(Rule("POST", f"/api/ask/{kind}", roles) for kind, roles in MAY_ASK.items()),
    Rule("POST", "/api/bench/act", TECHNICIAN),
)

JOIN = "/join"
"""The one path that serves strangers, and only those who hold a valid invitation."""

LEAVE = "/leave"
"""Gives a login back. Anybody may: it takes nothing but the visitor's own."""

_NOBODY = Visitor("lead", "")
visitor: ContextVar[Visitor] = ContextVar("visitor", default=_NOBODY)
"""Who made the request at hand; outside a request, the one who may do least."""
