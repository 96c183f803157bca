"""Who may do what. The technician at the unit acts; a lead elsewhere watches and may write a note."""

import re
from contextvars import ContextVar

import msgspec

from ingest.wire.asks import MAY_ASK
from ingest.wire.messages import Role
from ingest.wire.photographs import LARGEST_PHOTOGRAPH_BYTES
from ingest.wire.roles import EVERYONE, LEAD, TECHNICIAN

LARGEST_REQUEST_BYTES = 64 * 1024
"""Of any but a photograph."""
MAY_INVITE = TECHNICIAN
MAY_COMMIT = TECHNICIAN
"""Who gives the verdict that ends an exercise on the bench."""


class Visitor(msgspec.Struct, frozen=True):
    """Who is looking at the page."""

    role: Role
    name: str


def may_not(role: Role) -> str:
    """Say to somebody that what they asked for is the other role's."""
    if role == "lead":
        return "A lead watches; only the technician at the unit does that."
    return "A technician acts at the unit; only a lead does that."


class Rule(msgspec.Struct, frozen=True):
    """A route of the page and who may use it. What no rule names is refused. largest_bytes: of a request."""

    method: str
    pattern: str
    roles: frozenset[Role]
    largest_bytes: int = LARGEST_REQUEST_BYTES

    def covers(self, method: str, path: str) -> bool:
        """Whether a request falls under this rule."""
        return method == self.method and re.fullmatch(self.pattern, path) is not None


_AT_ONE_RIG: tuple[Rule, ...] = (
    Rule("GET", "/", EVERYONE),
    Rule("GET", "/visit", EVERYONE),
    Rule("GET", "/unit", EVERYONE),
    Rule("GET", "/service_worker.js", EVERYONE),
    Rule("GET", "/_dash-layout", EVERYONE),
    Rule("GET", "/_dash-dependencies", EVERYONE),
    Rule("GET", "/_dash-component-suites/[^/]+/.+", EVERYONE),
    Rule("POST", "/_dash-update-component", EVERYONE),
    Rule("GET", "/assets/.+", EVERYONE),
    Rule("GET", "/api/stream", EVERYONE),
    Rule("GET", "/api/history", EVERYONE),
    *(Rule("POST", f"/api/ask/{kind}", roles) for kind, roles in MAY_ASK.items()),
    Rule("POST", "/api/photograph", TECHNICIAN, LARGEST_PHOTOGRAPH_BYTES),
    Rule("GET", "/photograph/[A-Za-z0-9_-]{1,64}", EVERYONE),
    Rule("GET", r"/report/[A-Za-z0-9_-]{1,64}\.(pdf|html)", EVERYONE),
    Rule("POST", "/api/bench/act", TECHNICIAN),
)

_ANY_RIG = "/rig/[A-Za-z0-9][A-Za-z0-9_-]{0,62}"
OF_A_RIG = "/rig/(?P<rig>[A-Za-z0-9][A-Za-z0-9_-]{0,62})(?P<path>/.*)"
"""A path that is for a rig by its name, and what it asks of that rig."""

RULES: tuple[Rule, ...] = (
    *_AT_ONE_RIG,
    Rule("GET", "/watch", LEAD),
    Rule("GET", "/api/watch", LEAD),
    *(
        Rule(rule.method, f"{_ANY_RIG}{rule.pattern}", LEAD, rule.largest_bytes)
        for rule in _AT_ONE_RIG
        if rule.roles & LEAD
    ),
)
"""A lead looks at any rig by its name. A technician acts at the page's own, so that no touch goes to another."""

JOIN = "/join"
"""The one path that serves strangers, and only those who hold a valid invitation."""

LEAVE = "/leave"
"""Gives a login back. Anybody may: it takes nothing but the visitor's own."""

_NOBODY = Visitor("lead", "")
visitor: ContextVar[Visitor] = ContextVar("visitor", default=_NOBODY)
"""Who made the request at hand; outside a request, the one who may do least."""
